//! Where every figure and formula comes from. The table is `data/sources.toml`; each source is a constant here, so that
//! one that is not in the table does not compile.

/// How far a source may be trusted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Trust {
    /// The text itself was read.
    Read,
    /// A quotation of it was read.
    SecondHand,
    /// From memory, to be confirmed.
    Memory,
    /// A habit of the trade that nobody published.
    Practice,
    /// The reader typed it from a sheet of their own.
    Reader,
}

impl Trust {
    /// What the reader is told.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Read => "read",
            Self::SecondHand => "known from a quotation",
            Self::Memory => "from memory, to be confirmed",
            Self::Practice => "common practice, no source",
            Self::Reader => "typed by the reader",
        }
    }
}

/// A sheet, a standard, a book, or the admission that there is none.
#[derive(Debug, PartialEq, Eq)]
pub struct Source {
    /// Its name in pages: `source:ge-6l6gc`.
    pub id: &'static str,
    /// Maker or body, document, edition.
    pub title: &'static str,
    /// How we know it.
    pub seen: &'static str,
    /// How far it may be trusted.
    pub trust: Trust,
}

/// The reader's own sheet.
pub static TYPED: Source = Source {
    id: "typed",
    title: "The sheet you typed it from",
    seen: "typed by the reader",
    trust: Trust::Reader,
};

impl Source {
    /// The title, and how far the source may be trusted where it was not read itself.
    #[must_use]
    pub fn cited(&self) -> String {
        let words = self.trust.words();
        let said = self.trust == Trust::Read || self.title.eq_ignore_ascii_case(words);
        if said { self.title.to_owned() } else { format!("{} ({words})", self.title) }
    }
}

include!(concat!(env!("OUT_DIR"), "/sources.rs"));

/// Every source there is. Only the press needs them all; the browser holds just those that its calculators name.
#[must_use]
pub fn all() -> &'static [&'static Source] {
    ALL
}
