//! What comes of judging a reading.

use calc_core::calculator::Problem;

use crate::record::Judged;
use crate::values::Known;

/// How a reading stands.
#[derive(Debug, Clone, PartialEq)]
pub enum Judgement {
    /// Within all its limits.
    InRange,
    /// Outside what was expected, to the side that harms nothing: why.
    Noted(String),
    /// Beyond a limit that stops.
    Stop(Stop),
    /// The limit needs what is not known.
    CannotTell(CannotTell),
    /// It has no limits.
    Recorded,
    /// The text is no reading. Nothing was recorded; each offer can be taken with one tap and judged again.
    Unread(Problem),
    /// No meter would show that there. Nothing was recorded; it is taken only if it is confirmed as it is.
    Doubted(Doubt),
    /// Its time has not come. Nothing was recorded; a written reason takes it.
    TooEarly(TooEarly),
}

/// A value that lies outside what is plausible.
#[derive(Debug, Clone, PartialEq)]
pub struct Doubt {
    /// What was typed, with its unit, `2222 V`: the text to be taken as confirmed ([`super::NewReading::confirmed`]).
    pub text: String,
    /// The question to the reader, in a sentence or two.
    pub message: String,
}

/// A reading before its time.
#[derive(Debug, Clone, PartialEq)]
pub struct TooEarly {
    /// What is waited for.
    pub timer: String,
    /// How many seconds are left; `None` where it was not started for this reading.
    pub left: Option<u64>,
    /// What was read, as it was understood.
    pub read: String,
}

/// Why a reading stops.
#[derive(Debug, Clone, PartialEq)]
pub struct Stop {
    /// What was read, as it was understood: `−37 V`.
    pub read: String,
    /// The limit that it passed, in words: `at most −41 V`.
    pub limit: String,
    /// Where the limit comes from.
    pub source: String,
}

/// Why nothing can be said of a reading.
#[derive(Debug, Clone, PartialEq)]
pub struct CannotTell {
    /// The values of the job that the limit needs.
    pub missing_inputs: Vec<MissingInput>,
    /// The reason, in a sentence.
    pub why: String,
}

impl Judgement {
    /// As it is kept with the reading; `None` where there is no reading.
    #[must_use]
    pub const fn judged(&self) -> Option<Judged> {
        Some(match self {
            Self::InRange => Judged::InRange,
            Self::Noted(_) => Judged::Noted,
            Self::Stop(_) => Judged::Stop,
            Self::CannotTell(_) => Judged::CannotTell,
            Self::Recorded => Judged::Recorded,
            Self::Unread(_) | Self::Doubted(_) | Self::TooEarly(_) => return None,
        })
    }
}

/// A value of the job that a limit needs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MissingInput {
    /// The value in the table of what can be known.
    pub known: &'static Known,
    /// Whether it is there but was measured before the amplifier was last changed.
    pub stale: bool,
}
