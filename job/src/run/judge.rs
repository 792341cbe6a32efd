//! Holds a reading against its limits. What cannot be read is asked back, never recorded; a limit that needs what is not
//! known, or what was measured before the last change, is *cannot tell*; a margin that a calculator gives counts against
//! the reading.
//!
//! Bias is one-sided: less negative than the range stops, more negative is noted, and a missing sign
//! is asked back. So is a value that no meter would show there: it counts only once it is confirmed. `OL` is a reading.

mod again;
pub(crate) mod calculators;
mod depends;
mod judgement;
pub(crate) mod limit;
mod limits;
mod record_reading;

use calc_core::calculator::Problem;
use calc_core::quantity::notation::LONGEST;

pub use judgement::{CannotTell, Doubt, Judgement, MissingInput, Stop, TooEarly};
pub use limit::{Limit, lower};
pub use limits::Limits;
pub use record_reading::NewReading;

use crate::Job;
use crate::procedure::{AS_EXPECTED, Alike, NOT_AS_EXPECTED, ReadingSpec};
use crate::unit::{Measure, OVER_RANGE, Parsed, is_over_range, measure};
use crate::values::{self, Kind};

/// Judges one text of a reading.
#[must_use]
pub fn judge(spec: &ReadingSpec, text: &str, job: &Job) -> Judgement {
    judge_text(spec, text, false, &Limits::of(spec, job)).0
}

/// A text as it would be taken, in words and with its unit: `−4 V`.
///
/// # Errors
/// Why it is no reading.
pub fn read_as(spec: &ReadingSpec, text: &str) -> Result<String, Problem> {
    match (spec.is_seen(), measure(&spec.unit)) {
        (true, _) | (_, Err(_)) => Ok(text.trim().to_owned()),
        (_, Ok(measure)) => Ok(meant(spec, text, measure, None)?.written(measure)),
    }
}

/// What a text means.
#[derive(Debug, Clone, PartialEq)]
enum Meant {
    /// A number, as the calculators' reader has it.
    Number(Parsed),
    /// More than the meter's range: an open circuit.
    Over,
    /// What is seen: one of the two words for it.
    Seen(String),
}

impl Meant {
    /// As it is kept, so that it means the same elsewhere.
    fn canonical(&self) -> String {
        match self {
            Self::Number(parsed) => parsed.canonical.clone(),
            Self::Over => OVER_RANGE.to_owned(),
            Self::Seen(text) => text.clone(),
        }
    }

    /// As it is said to the reader, with its unit.
    fn written(&self, measure: Measure) -> String {
        match self {
            Self::Number(parsed) => measure.repeated(parsed.si),
            Self::Over => OVER_RANGE.to_owned(),
            Self::Seen(text) => text.clone(),
        }
    }
}

/// Judges a text against limits that are worked out, and gives what it means, where it is a reading.
fn judge_text(
    spec: &ReadingSpec,
    text: &str,
    confirmed: bool,
    limits: &Limits,
) -> (Judgement, Option<Meant>) {
    if spec.is_seen() {
        return (seen(spec, text, limits), Some(Meant::Seen(text.trim().to_owned())));
    }
    let measure = match measure(&spec.unit) {
        Ok(measure) => measure,
        Err(right) => {
            let why = format!("“{}” is not a unit; it should be {right}.", spec.unit);
            return (
                Judgement::CannotTell(CannotTell { missing_inputs: vec![], why }),
                Some(Meant::Seen(text.to_owned())),
            );
        }
    };
    let meant = match meant(spec, text, measure, Some(limits)) {
        Ok(meant) => meant,
        Err(problem) => return (Judgement::Unread(problem), None),
    };
    let judgement = match &meant {
        Meant::Number(parsed) => match doubt(spec, parsed, measure) {
            Some(doubt) if !confirmed => return (Judgement::Doubted(doubt), None),
            _ => limits.judge(parsed.si, measure),
        },
        Meant::Over | Meant::Seen(_) => limits.judge_over(spec, measure),
    };
    (judgement, Some(meant))
}

/// Understands a text; where the reading must be below nothing, a missing sign is asked back.
fn meant(
    spec: &ReadingSpec,
    text: &str,
    measure: Measure,
    limits: Option<&Limits>,
) -> Result<Meant, Problem> {
    if is_over_range(text, measure) {
        return Ok(Meant::Over);
    }
    let parsed = measure.parse(&spec.quantity, text)?;
    let fed = |id: &String| values::find(id).is_ok_and(|known| matches!(known.kind, Kind::Negative(_)));
    let negative = limits.is_some_and(Limits::are_below_nothing) || spec.feeds.iter().any(fed);
    if negative && parsed.unsigned() {
        return Err(parsed.asked_back(&spec.quantity));
    }
    Ok(Meant::Number(parsed))
}

/// Why a value is hard to believe, if it is.
fn doubt(spec: &ReadingSpec, parsed: &Parsed, measure: Measure) -> Option<Doubt> {
    let plausible = spec.plausible.filter(|plausible| !plausible.holds(parsed.si))?;
    let (low, high) = (measure.repeated(plausible.low), measure.repeated(plausible.high));
    // As it was typed, for that is what the meter is looked at for; and what it comes to, for a prefix is soon overlooked.
    let read = parsed.canonical.clone();
    let comes_to = measure.repeated(parsed.si);
    let comes_to =
        if comes_to.replace('\u{a0}', " ") == read { String::new() } else { format!(", that is {comes_to}") };
    let message = format!(
        "{}: is it {read}{comes_to}? What a meter shows there is between {low} and {high}. Look at the meter again.",
        spec.quantity
    );
    Some(Doubt { text: read, message })
}

fn seen(spec: &ReadingSpec, text: &str, limits: &Limits) -> Judgement {
    match text.trim() {
        AS_EXPECTED => Judgement::InRange,
        NOT_AS_EXPECTED => Judgement::Stop(Stop {
            read: NOT_AS_EXPECTED.to_owned(),
            limit: limits.seen.clone(),
            source: "by eye".to_owned(),
        }),
        other => Judgement::Unread(Problem {
            message: format!(
                "{}: “{}” cannot be used; it is {AS_EXPECTED} or {NOT_AS_EXPECTED}.",
                spec.quantity,
                other.chars().take(LONGEST).collect::<String>()
            ),
            offers: vec![AS_EXPECTED.to_owned(), NOT_AS_EXPECTED.to_owned()],
        }),
    }
}

/// Whether readings of several blanks lie as near each other as `alike` asks; `true` where it asks nothing. A text that is
/// no reading is not the same, nor is one beyond the meter's range beside one that is not.
#[must_use]
pub fn are_alike<'t>(spec: &ReadingSpec, texts: impl IntoIterator<Item = &'t str>) -> bool {
    let Some(alike) = spec.alike else { return true };
    let Ok(measure) = measure(&spec.unit) else { return false };
    let (over, numbers): (Vec<&str>, Vec<&str>) =
        texts.into_iter().partition(|text| is_over_range(text, measure));
    if !over.is_empty() {
        return numbers.is_empty();
    }
    let values: Option<Vec<f64>> =
        numbers.into_iter().map(|text| Some(measure.parse("", text).ok()?.si)).collect();
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
