//! A field as it is on the page: what is asked, what was typed, what is wrong with it.

use super::problem::Problem;
use crate::quantity::unit::Unit;

/// One input of a calculator.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Field {
    /// Its name in links and pages; never changed once published.
    pub id: &'static str,
    /// The trade's symbol, as `I_k`; may be empty.
    pub symbol: &'static str,
    /// What is asked for, in words.
    pub name: &'static str,
    /// Where it is read or found; may be empty.
    pub hint: &'static str,
    /// What kind of answer is expected.
    pub kind: Kind,
    /// What was typed, or the default.
    pub text: String,
    /// How the text was understood, with unit: `438 V`. Empty while it is not.
    pub reading: String,
    /// Whose value it is.
    pub whose: Whose,
    /// What is wrong with the text.
    pub problem: Option<Problem>,
    /// How far the value may be off, where that is asked.
    pub tolerance: Option<ToleranceField>,
}

/// Whose value a field holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Whose {
    /// The reader's: typed, from a link or from the job.
    Own,
    /// An example, of an amplifier that is not the reader's.
    Example,
    /// What is usual for any amplifier, or how the reader goes about it: no example.
    Usual,
}

/// What kind of answer a field expects.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Kind {
    /// A number; the unit is the one that a bare number takes, as `mA`.
    Number {
        /// Prefix and symbol; empty for a plain number.
        unit: String,
        /// From where to where it can be slid as well, where a hand turns it at the bench: plain numbers.
        slides: Option<(&'static str, &'static str)>,
        /// What it is measured in.
        measured_in: &'static Unit,
        /// The least and the most that it may be, as one would type them.
        within: Option<(&'static str, &'static str)>,
        /// The most of something that is counted from 1.
        most: Option<u32>,
    },
    /// One of these, by its id.
    Choice(Vec<Choice>),
    /// Any words: the name of a data sheet.
    Words,
    /// A list of points, written `0:0 5:15% 10:100%`.
    Points,
}

impl Kind {
    /// Whether its answer may be off, or is counted among those that may: words and lists never are.
    pub(crate) const fn is_counted(&self) -> bool {
        !matches!(self, Self::Words | Self::Points)
    }
}

/// One way to answer a choice.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Choice {
    /// Its name in links.
    pub id: String,
    /// What the reader sees.
    pub label: String,
}

/// The tolerance of a field, typed beside it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ToleranceField {
    /// What was typed, or the default, or what a tolerance letter in the value says.
    pub text: String,
    /// Whether the reader says another than the usual one.
    pub is_changed: bool,
    /// What is wrong with the text.
    pub problem: Option<Problem>,
}

impl Field {
    /// Whether another value stands here than the example or the usual one.
    #[must_use]
    pub fn is_changed(&self) -> bool {
        match (&self.kind, self.whose) {
            (_, Whose::Own) => true,
            // What says how the reader goes about it is usual, whatever was chosen.
            (Kind::Choice(choices), Whose::Usual) => {
                choices.first().is_some_and(|first| !first.id.eq_ignore_ascii_case(&self.text))
            }
            _ => false,
        }
    }
}

/// The name under which a field's tolerance is kept among the inputs.
#[must_use]
pub fn tolerance_id(field: &str) -> String {
    format!("{field}.tolerance")
}
