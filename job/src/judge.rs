//! Holds a reading against its limits. What cannot be read is asked back, never recorded; a limit that needs what is not
//! known, or what was measured before the last change, is *cannot tell*; a margin that a calculator gives counts against
//! the reading.
//!
//! Bias is one-sided (rule 6 of the bench): less negative than the range stops, more negative is noted, and a missing sign
//! is asked back.

mod depends;
mod limits;
mod take;

use calc_core::calculator::{Inputs, Outcome, Problem};
use calc_core::calculators::Group;

pub use limits::{Lack, Limit, Limits};
pub use take::Take;

use crate::Job;
use crate::procedure::{AS_EXPECTED, Alike, NOT_AS_EXPECTED, ReadingSpec};
use crate::record::Judged;
use crate::unit::{Measure, Understood, measure};
use crate::values::{self, Kind};

/// Works out a calculator: natively all of them, in the browser those of the module that is there.
pub trait Calculate {
    /// What comes of a calculator; `None` where it is not among those known here.
    fn calculate(&self, id: &str, inputs: &Inputs) -> Option<Outcome>;
}

/// The calculators of these groups: `Among(&calc_core::calculators::GROUPS)` is all of them.
pub struct Among<'g>(pub &'g [&'static Group]);

impl Calculate for Among<'_> {
    fn calculate(&self, id: &str, inputs: &Inputs) -> Option<Outcome> {
        let mut entries = self.0.iter().flat_map(|group| group.entries);
        entries.find(|entry| entry.sheet.id == id).map(|entry| entry.run(inputs))
    }
}

/// How a reading stands.
#[derive(Debug, Clone, PartialEq)]
pub enum Judgement {
    /// In range.
    InRange,
    /// Outside what was expected, to the side that harms nothing: why.
    Noted(String),
    /// Out of range.
    Stop(Stop),
    /// The limit needs what is not known.
    CannotTell(CannotTell),
    /// It has no limits.
    Recorded,
    /// The text is no reading. Nothing was recorded; each offer can be taken with one tap and judged again.
    Unread(Problem),
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
    pub lacks: Vec<Lack>,
    /// In a sentence.
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
            Self::Unread(_) => return None,
        })
    }
}

/// Judges one text of a reading.
#[must_use]
pub fn judge(spec: &ReadingSpec, text: &str, job: &Job, calculate: &dyn Calculate) -> Judgement {
    weighed(spec, text, &Limits::of(spec, job, calculate)).0
}

/// Judges a text against limits that are worked out, and gives what was understood, where it is a number.
fn weighed(spec: &ReadingSpec, text: &str, limits: &Limits) -> (Judgement, Option<Understood>) {
    if spec.is_seen() {
        return (seen(spec, text), None);
    }
    let measure = match measure(&spec.unit) {
        Ok(measure) => measure,
        Err(right) => {
            let why = format!("“{}” is no unit; it should be {right}.", spec.unit);
            return (Judgement::CannotTell(CannotTell { lacks: vec![], why }), None);
        }
    };
    match understood(spec, text, measure, limits) {
        Ok(understood) => (limits.judge(understood.si, measure), Some(understood)),
        Err(problem) => (Judgement::Unread(problem), None),
    }
}

/// Understands a text; where the reading must be below nothing, a missing sign is asked back.
fn understood(
    spec: &ReadingSpec,
    text: &str,
    measure: Measure,
    limits: &Limits,
) -> Result<Understood, Problem> {
    let understood = measure.understood(&spec.quantity, text)?;
    let fed = |id: &String| values::find(id).is_ok_and(|known| matches!(known.kind, Kind::Negative(_)));
    let negative = limits.are_below_nothing() || spec.feeds.iter().any(fed);
    if negative && understood.unsigned() {
        return Err(understood.asked_back(&spec.quantity));
    }
    Ok(understood)
}

fn seen(spec: &ReadingSpec, text: &str) -> Judgement {
    match text.trim() {
        AS_EXPECTED => Judgement::InRange,
        NOT_AS_EXPECTED => Judgement::Stop(Stop {
            read: NOT_AS_EXPECTED.to_owned(),
            limit: spec.expect.clone(),
            source: "by eye".to_owned(),
        }),
        other => Judgement::Unread(Problem {
            message: format!(
                "{}: “{other}” cannot be used; it is {AS_EXPECTED} or {NOT_AS_EXPECTED}.",
                spec.quantity
            ),
            offers: vec![AS_EXPECTED.to_owned(), NOT_AS_EXPECTED.to_owned()],
        }),
    }
}

/// Whether readings of several blanks lie as near each other as `alike` asks; `true` where it asks nothing. A text that is
/// no reading is not alike.
#[must_use]
pub fn are_alike<'t>(spec: &ReadingSpec, texts: impl IntoIterator<Item = &'t str>) -> bool {
    let Some(alike) = spec.alike else { return true };
    let Ok(measure) = measure(&spec.unit) else { return false };
    let values: Option<Vec<f64>> =
        texts.into_iter().map(|text| Some(measure.understood("", text).ok()?.si)).collect();
    let Some(values) = values.filter(|values| !values.is_empty()) else { return false };
    let ends = values
        .iter()
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), value| (low.min(*value), high.max(*value)));
    let spread = ends.1 - ends.0;
    let allowed = match alike {
        Alike::Share(share) => share * ends.0.abs().max(ends.1.abs()),
        Alike::Span(span) => span,
    };
    // What binary fractions leave behind them is no difference.
    spread <= allowed + spread.abs() * 1e-12
}

#[cfg(test)]
mod tests;
