//! Holds a reading against its limits. What cannot be read is asked back, never recorded; a limit that needs what is not
//! known, or what was measured before the last change, is *cannot tell*; a margin that a calculator gives counts against
//! the reading.
//!
//! Bias is one-sided (rule 6 of the bench): less negative than the range stops, more negative is noted, and a missing sign
//! is asked back. So is a value that no meter would show there: it counts only once it is confirmed. `OL` is a reading.

mod again;
mod depends;
mod limits;
mod take;

use calc_core::calculator::{Inputs, Outcome, Problem};
use calc_core::calculators::Group;
use calc_core::quantity::notation::LONGEST;

pub(crate) use limits::Limit;
pub use limits::{Lack, Limits, lower};
pub use take::Take;

use crate::Job;
use crate::procedure::{AS_EXPECTED, Alike, NOT_AS_EXPECTED, ReadingSpec};
use crate::record::Judged;
use crate::unit::{Measure, OVER_RANGE, Understood, is_over_range, measure};
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
    /// No meter would show that there. Nothing was recorded; it is taken only if it is confirmed as it is.
    Doubted(Doubt),
    /// Its time has not come. Nothing was recorded; a written reason takes it.
    TooEarly(TooEarly),
}

/// A value that lies outside what is plausible.
#[derive(Debug, Clone, PartialEq)]
pub struct Doubt {
    /// What was typed, with its unit, `2222 V`: the text to be taken as confirmed ([`Take::confirmed`]).
    pub text: String,
    /// What is asked.
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
            Self::Unread(_) | Self::Doubted(_) | Self::TooEarly(_) => return None,
        })
    }
}

/// Judges one text of a reading.
#[must_use]
pub fn judge(spec: &ReadingSpec, text: &str, job: &Job, calculate: &dyn Calculate) -> Judgement {
    weighed(spec, text, false, &Limits::of(spec, job, calculate)).0
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
    /// A number.
    Number(Understood),
    /// More than the meter's range: an open circuit.
    Over,
    /// What is seen.
    Seen(String),
}

impl Meant {
    /// As it is kept, so that it means the same elsewhere.
    fn lasting(&self) -> String {
        match self {
            Self::Number(understood) => understood.lasting.clone(),
            Self::Over => OVER_RANGE.to_owned(),
            Self::Seen(text) => text.clone(),
        }
    }

    /// In words.
    fn written(&self, measure: Measure) -> String {
        match self {
            Self::Number(understood) => measure.repeated(understood.si),
            Self::Over => OVER_RANGE.to_owned(),
            Self::Seen(text) => text.clone(),
        }
    }
}

/// Judges a text against limits that are worked out, and gives what it means, where it is a reading.
fn weighed(spec: &ReadingSpec, text: &str, confirmed: bool, limits: &Limits) -> (Judgement, Option<Meant>) {
    if spec.is_seen() {
        return (seen(spec, text, limits), Some(Meant::Seen(text.trim().to_owned())));
    }
    let measure = match measure(&spec.unit) {
        Ok(measure) => measure,
        Err(right) => {
            let why = format!("“{}” is not a unit; it should be {right}.", spec.unit);
            return (
                Judgement::CannotTell(CannotTell { lacks: vec![], why }),
                Some(Meant::Seen(text.to_owned())),
            );
        }
    };
    let meant = match meant(spec, text, measure, Some(limits)) {
        Ok(meant) => meant,
        Err(problem) => return (Judgement::Unread(problem), None),
    };
    let judgement = match &meant {
        Meant::Number(understood) => match doubt(spec, understood, measure) {
            Some(doubt) if !confirmed => return (Judgement::Doubted(doubt), None),
            _ => limits.judge(understood.si, measure),
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
    let understood = measure.understood(&spec.quantity, text)?;
    let fed = |id: &String| values::find(id).is_ok_and(|known| matches!(known.kind, Kind::Negative(_)));
    let negative = limits.is_some_and(Limits::are_below_nothing) || spec.feeds.iter().any(fed);
    if negative && understood.unsigned() {
        return Err(understood.asked_back(&spec.quantity));
    }
    Ok(Meant::Number(understood))
}

/// Why a value is hard to believe, if it is.
fn doubt(spec: &ReadingSpec, understood: &Understood, measure: Measure) -> Option<Doubt> {
    let plausible = spec.plausible.filter(|plausible| !plausible.holds(understood.si))?;
    let (low, high) = (measure.repeated(plausible.low), measure.repeated(plausible.high));
    // As it was typed, for that is what the meter is looked at for; and what it comes to, for a prefix is soon overlooked.
    let read = understood.lasting.clone();
    let comes_to = measure.repeated(understood.si);
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
/// no reading is not alike, nor is one beyond the meter's range beside one that is not.
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
        numbers.into_iter().map(|text| Some(measure.understood("", text).ok()?.si)).collect();
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
