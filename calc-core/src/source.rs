//! Where every figure and formula comes from. The table is `data/sources.toml`; each source is a constant here, so that
//! one that is not in the table does not compile.

/// How far a source may be trusted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Trust {
    /// The text itself was read.
    Read,
    /// A quotation of it was read.
    SecondHand,
    /// Written from memory and not yet confirmed by any publication.
    Memory,
    /// A habit of the trade that nobody published.
    Practice,
    /// The reader typed it from a data sheet of their own.
    Reader,
}

impl Trust {
    /// What the reader is told.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Read => "read",
            Self::SecondHand => "known from a quotation",
            Self::Memory => "not yet confirmed",
            Self::Practice => "common practice, no source",
            Self::Reader => "typed by the reader",
        }
    }

    /// Its name for programs, as `data/sources.toml` has it.
    #[must_use]
    pub const fn id(self) -> &'static str {
        match self {
            Self::Read => "read",
            Self::SecondHand => "second-hand",
            Self::Memory => "memory",
            Self::Practice => "practice",
            Self::Reader => "reader",
        }
    }
}

/// What kind of text a source is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Document {
    /// A maker's data sheet.
    DataSheet,
    /// A handbook of the trade.
    Handbook,
    /// A published standard, such as one of the IEC.
    Standard,
    /// Anything else, or no text at all.
    Other,
}

/// A data sheet, a standard, a book, or the admission that there is none.
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
    /// What kind of text it is.
    pub document: Document,
}

/// What the reader typed: from a data sheet, from what is marked on a part, as a choice.
pub static TYPED: Source = Source {
    id: "typed",
    title: "Typed by the reader",
    seen: "typed by the reader",
    trust: Trust::Reader,
    document: Document::Other,
};

impl Source {
    /// Where a limit comes from, as every sentence says it, after the limit: `100 kΩ (not yet confirmed)`. What
    /// nobody confirmed is never called a data sheet.
    #[must_use]
    pub fn origin(&self) -> String {
        let document = match self.document {
            Document::DataSheet => "data sheet",
            Document::Handbook => "handbook",
            Document::Standard => "standard",
            Document::Other => "",
        };
        match (self.trust, self.document) {
            (Trust::Read, Document::Other) => "published".to_owned(),
            (Trust::Read, _) => document.to_owned(),
            (Trust::SecondHand, Document::Other) => self.trust.words().to_owned(),
            (Trust::SecondHand, _) => format!("{document}, {}", self.trust.words()),
            (Trust::Memory, _) => "not yet confirmed".to_owned(),
            (Trust::Practice, _) => "common practice".to_owned(),
            (Trust::Reader, _) => self.trust.words().to_owned(),
        }
    }

    /// Whether a figure of it is a data sheet's, read or quoted.
    #[must_use]
    pub fn is_data_sheet(&self) -> bool {
        self.document == Document::DataSheet && matches!(self.trust, Trust::Read | Trust::SecondHand)
    }

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
