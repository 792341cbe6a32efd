//! The limits of a reading, worked out for one job.

use std::cmp::Ordering;
use std::collections::BTreeMap;

use calc_core::calculator::Kind;
use calc_core::quantity::unit::OHM;
use calc_core::quantity::{notation, writing};

use super::depends::Worked;
use super::{Calculate, CannotTell, Judgement, Stop};
use crate::Job;
use crate::procedure::words::said;
use crate::procedure::{Bound, Of, ReadingSpec};
use crate::unit::{Measure, OVER_RANGE, measure};
use crate::values::{self, Known};

/// The limits of a reading for one job.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Limits {
    /// Below this it stops.
    pub low: Option<Result<Limit, CannotTell>>,
    /// Above this it stops.
    pub high: Option<Result<Limit, CannotTell>>,
    /// Below this it is noted.
    pub note_low: Option<Result<Limit, CannotTell>>,
    /// Above this it is noted.
    pub note_high: Option<Result<Limit, CannotTell>>,
    /// What is expected of what is judged by eye, in words.
    pub seen: String,
}

/// One limit.
#[derive(Debug, Clone, PartialEq)]
pub struct Limit {
    /// In SI units. Of a margin, the end that leaves less room.
    pub si: f64,
    /// As written: `−41 V`.
    pub written: String,
    /// Where it comes from, in words, with what was taken as usual.
    pub source: String,
    /// The values of the job that it was worked out from.
    pub by: Vec<&'static str>,
}

/// A value of the job that a limit needs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lack {
    /// Which.
    pub known: &'static Known,
    /// Whether it is there but was measured before the amplifier was last changed.
    pub stale: bool,
}

/// Which part of a margin is meant: the end that leaves less room, or the middle.
#[derive(Clone, Copy)]
enum Side {
    Low,
    High,
    Between,
}

/// An ohmmeter shows what is more than some megohms as open (common practice, no source). Where a page says that so many
/// ohms and more are plausible, an open circuit is too.
const OPEN_CIRCUIT: f64 = 1e6;

impl Limits {
    /// Works out the limits of a reading.
    #[must_use]
    pub fn of(spec: &ReadingSpec, job: &Job, calculate: &dyn Calculate) -> Self {
        let limit = |bound: &Option<Bound>, side| {
            bound.as_ref().map(|bound| Limit::of(bound, side, &spec.unit, job, calculate))
        };
        Self {
            low: limit(&spec.low, Side::Low),
            high: limit(&spec.high, Side::High),
            note_low: limit(&spec.note_low, Side::Low),
            note_high: limit(&spec.note_high, Side::High),
            seen: if spec.is_seen() { said(&spec.expect, job, calculate) } else { String::new() },
        }
    }

    /// The limits in words, as they are kept with a reading: `−70 V to −41 V`, `at most 10 V`.
    #[must_use]
    pub fn words(&self) -> String {
        let written = |limit: &Option<Result<Limit, CannotTell>>| match limit {
            Some(Ok(limit)) => Some(limit.written.clone()),
            Some(Err(_)) => Some("unknown".to_owned()),
            None => None,
        };
        match (written(&self.low), written(&self.high)) {
            (Some(low), Some(high)) => format!("{low} to {high}"),
            (Some(low), None) => format!("at least {low}"),
            (None, Some(high)) => format!("at most {high}"),
            (None, None) => String::new(),
        }
    }

    /// What a reading is held against, in words: its limits, or what is expected to be seen.
    pub(super) fn range(&self, spec: &ReadingSpec) -> String {
        if spec.is_seen() { self.seen.clone() } else { self.words() }
    }

    /// The figure at which to stop, `−41 V` or `108 V to 132 V`; `None` where one is not known, or there is none.
    #[must_use]
    pub fn figure(&self) -> Option<String> {
        match (&self.low, &self.high) {
            (Some(Ok(one)), None) | (None, Some(Ok(one))) => Some(one.written.clone()),
            (Some(Ok(low)), Some(Ok(high))) => Some(format!("{} to {}", low.written, high.written)),
            _ => None,
        }
    }

    /// The values that the limits which stop lack, each once.
    #[must_use]
    pub fn lacks(&self) -> Vec<Lack> {
        let mut all: Vec<Lack> = Vec::new();
        for limit in [&self.low, &self.high].into_iter().flatten() {
            for lack in limit.as_ref().err().into_iter().flat_map(|cannot| &cannot.lacks) {
                if !all.contains(lack) {
                    all.push(*lack);
                }
            }
        }
        all
    }

    /// The values that the limits which stop were worked out from, as they are in the job.
    pub(super) fn by(&self, job: &Job) -> BTreeMap<String, String> {
        let ids = [&self.low, &self.high].into_iter().flatten().flatten().flat_map(|limit| &limit.by);
        let mut by = BTreeMap::new();
        by.extend(ids.filter_map(|id| Some(((*id).to_owned(), job.values.get(*id)?.text.clone()))));
        by
    }

    /// Whether a reading in range is below nothing.
    pub(super) fn are_below_nothing(&self) -> bool {
        let below = |limit: &Option<Result<Limit, CannotTell>>| {
            limit.as_ref().and_then(|limit| limit.as_ref().ok()).is_some_and(|limit| limit.si < 0.0)
        };
        below(&self.high) || (self.high.is_none() && below(&self.note_high))
    }

    /// How far a value is from the nearest limit that stops; smaller is worse. `None` where there is no such limit.
    pub(super) fn room(&self, si: f64) -> Option<f64> {
        let known = |limit: &Option<Result<Limit, CannotTell>>| {
            limit.as_ref().and_then(|limit| limit.as_ref().ok()).map(|limit| limit.si)
        };
        match (known(&self.low).map(|low| si - low), known(&self.high).map(|high| high - si)) {
            (Some(below), Some(above)) => Some(below.min(above)),
            (below, above) => below.or(above),
        }
    }

    /// Judges what is beyond the meter's range. Of ohms that is an open circuit: above every limit, and in range of a lower
    /// one alone if an open circuit can honestly be read there; volts and amperes beyond the range are never in range.
    pub(super) fn judge_over(&self, spec: &ReadingSpec, measure: Measure) -> Judgement {
        let stop = |limit: String, source: &str| {
            Judgement::Stop(Stop { read: OVER_RANGE.to_owned(), limit, source: source.to_owned() })
        };
        let written = |limit: &Result<Limit, CannotTell>| {
            limit.as_ref().map_or_else(|_| "an unknown figure".to_owned(), |limit| limit.written.clone())
        };
        let open = spec.plausible.is_some_and(|plausible| plausible.high >= OPEN_CIRCUIT);
        match (&self.low, &self.high) {
            (None, None) => Judgement::Recorded,
            _ if measure.unit.symbol != OHM.symbol => {
                stop(self.words(), "beyond the meter’s range is never in range")
            }
            (_, Some(high)) => stop(format!("at most {}", written(high)), "an open circuit is above it"),
            (Some(Err(lack)), None) => Judgement::CannotTell(lack.clone()),
            (Some(low), None) if !open => stop(
                format!("at least {}", written(low)),
                "an open circuit is not among the ohms that this page accepts here",
            ),
            (Some(Ok(_)), None) if self.note_high.is_some() => {
                Judgement::Noted("an open circuit, or beyond the meter’s range".to_owned())
            }
            (Some(Ok(_)), None) => Judgement::InRange,
        }
    }

    /// Judges a value. One limit that it passes is enough to stop, whatever is not known of the other.
    pub(super) fn judge(&self, si: f64, measure: Measure) -> Judgement {
        let stop = |limit: &Limit, word: &str| {
            Judgement::Stop(Stop {
                read: measure.repeated(si),
                limit: format!("{word} {}", limit.written),
                source: limit.source.clone(),
            })
        };
        match (&self.low, &self.high) {
            (Some(Ok(low)), _) if passes(si, low.si, Ordering::Less) => return stop(low, "at least"),
            (_, Some(Ok(high))) if passes(si, high.si, Ordering::Greater) => return stop(high, "at most"),
            (Some(Err(lack)), _) | (_, Some(Err(lack))) => return Judgement::CannotTell(lack.clone()),
            _ => {}
        }
        let noted = |limit: &Limit, word: &str| {
            Judgement::Noted(format!(
                "{} is {word} {} ({}): outside what is usual, no reason to stop",
                measure.repeated(si),
                limit.written,
                limit.source
            ))
        };
        let untold = |lack: &CannotTell| {
            Judgement::Noted(format!("whether this is usual cannot be told. {}", lack.why))
        };
        match (&self.note_low, &self.note_high) {
            (Some(Ok(low)), _) if passes(si, low.si, Ordering::Less) => noted(low, "below"),
            (_, Some(Ok(high))) if passes(si, high.si, Ordering::Greater) => noted(high, "above"),
            (Some(Err(lack)), _) | (_, Some(Err(lack))) => untold(lack),
            (None, None) if self.low.is_none() && self.high.is_none() => Judgement::Recorded,
            _ => Judgement::InRange,
        }
    }
}

/// Whether a value is beyond a limit, to this side; what cannot be compared does.
fn passes(si: f64, limit: f64, side: Ordering) -> bool {
    si.partial_cmp(&limit).is_none_or(|found| found == side)
}

impl Limit {
    fn of(
        bound: &Bound,
        side: Side,
        unit: &str,
        job: &Job,
        calculate: &dyn Calculate,
    ) -> Result<Self, CannotTell> {
        let measure = measure(unit).map_err(|right| CannotTell {
            lacks: vec![],
            why: format!("“{unit}” is not a unit; it should be {right}."),
        })?;
        let found = Found::of(bound, side, job, calculate)?;
        if found.unit.is_some_and(|unit| unit != measure.unit.symbol) {
            let why = format!("The limit {} is in another unit.", bound.written(measure));
            return Err(CannotTell { lacks: vec![], why });
        }
        Ok(Self { si: found.si, written: measure.repeated(found.si), source: found.source, by: found.by })
    }

    /// What a bound that names a value or an answer comes to, for a sentence: the middle of a margin, rounded as answers are.
    pub(crate) fn said(bound: &Bound, job: &Job, calculate: &dyn Calculate) -> Option<String> {
        let found = Found::of(bound, Side::Between, job, calculate).ok()?;
        let measure = measure(found.unit?).ok()?;
        let rounded = notation::read(&writing::nearest(found.si, measure.unit), measure.unit, 0).ok()?;
        Some(measure.repeated(rounded.value))
    }
}

/// What a bound comes to.
struct Found {
    si: f64,
    /// The symbol of its unit; `None` of a fixed figure, which is in its reading's.
    unit: Option<&'static str>,
    /// Where it comes from.
    source: String,
    /// The values it was worked out from.
    by: Vec<&'static str>,
}

impl Found {
    fn of(bound: &Bound, side: Side, job: &Job, calculate: &dyn Calculate) -> Result<Self, CannotTell> {
        let found = match &bound.of {
            Of::Fixed(si) => {
                Self { si: *si, unit: None, source: "set by this page".to_owned(), by: Vec::new() }
            }
            Of::Job(id) => of_job(id, job)?,
            Of::Answer { calculator, answer } => of_answer(calculator, answer, side, job, calculate)?,
        };
        let si = found.si * bound.factor;
        if !si.is_finite() {
            return Err(CannotTell { lacks: vec![], why: "The limit does not come to a number.".to_owned() });
        }
        let times = if bound.factor == 1.0 { String::new() } else { format!("{} × ", bound.factor) };
        Ok(Self { si, source: format!("{times}{}", found.source), ..found })
    }
}

/// A value of the job.
fn of_job(id: &str, job: &Job) -> Result<Found, CannotTell> {
    let known = values::find(id).map_err(|unknown| CannotTell {
        lacks: vec![],
        why: format!("The limit needs something that does not exist: {unknown}."),
    })?;
    let lack = |stale| cannot_tell(vec![Lack { known, stale }]);
    let value = job.values.get(id).ok_or_else(|| lack(false))?;
    if job.is_stale(id) {
        return Err(lack(true));
    }
    let measure = measure(known.unit()).map_err(|_| lack(false))?;
    let si = measure.understood(known.label, &value.text).map_err(|_| lack(false))?.si;
    let source = format!("{} of this job", lower(known.label));
    Ok(Found { si, unit: Some(measure.unit.symbol), source, by: vec![known.id] })
}

/// The end of a calculator's answer that leaves less room, worked out from the job alone.
fn of_answer(
    calculator: &str,
    answer: &str,
    side: Side,
    job: &Job,
    calculate: &dyn Calculate,
) -> Result<Found, CannotTell> {
    let why = |why: String| CannotTell { lacks: vec![], why };
    let filled = job.inputs_for(calculator);
    let outcome = calculate
        .calculate(calculator, &filled.inputs)
        .ok_or_else(|| why(format!("The calculator “{calculator}” is not available.")))?;
    let Some(report) = &outcome.report else {
        // What is missing may be what contradicts the rest: it is at its default.
        let asked = |field: &str| outcome.fields.iter().any(|known| known.id == field);
        let missing = filled.missing.iter().filter(|(field, _)| asked(field));
        let lacks: Vec<Lack> = missing.map(|(_, known)| Lack { known, stale: false }).collect();
        let problem = outcome.problems().next().map(|problem| problem.message.clone());
        let problem = problem.unwrap_or_else(|| format!("The calculator “{calculator}” has no answer."));
        return Err(if lacks.is_empty() { why(problem) } else { cannot_tell(lacks) });
    };
    let found = report.answers.iter().find(|answered| answered.answer.id == answer);
    let found = found.ok_or_else(|| why(format!("“{calculator}” has no answer “{answer}” here.")))?;
    // What the job does not know is at the demonstration amplifier's value, which is nobody's limit.
    let worked = Worked { calculator, inputs: &filled.inputs, fields: &outcome.fields, found, calculate };
    let lacks = filled.missing.iter().map(|(field, known)| (*field, *known, false));
    let lacks = lacks.chain(filled.stale.iter().map(|(field, known)| (*field, *known, true)));
    let lacks: Vec<Lack> = lacks
        .filter(|(field, ..)| worked.depends_on(field))
        .map(|(_, known, stale)| Lack { known, stale })
        .collect();
    if !lacks.is_empty() {
        return Err(cannot_tell(lacks));
    }
    if !found.margin.known {
        return Err(why(format!("How far “{}” may be wrong is not known.", found.answer.name)));
    }
    let si = match side {
        Side::Low => found.margin.high,
        Side::High => found.margin.low,
        Side::Between => found.margin.value,
    };
    let usual = outcome.fields.iter().filter(|field| {
        matches!(field.kind, Kind::Number { .. })
            && !filled.inputs.contains_key(field.id)
            && worked.depends_on(field.id)
    });
    let usual: Vec<String> = usual.map(|field| format!("{} {}", lower(field.name), field.reading)).collect();
    let by = values::of_calculator(calculator)
        .filter(|(_, field)| filled.inputs.contains_key(*field) && worked.depends_on(field));
    let taken =
        if usual.is_empty() { String::new() } else { format!("; taken as usual: {}", usual.join(", ")) };
    let name = lower(found.answer.name);
    Ok(Found {
        si,
        unit: Some(found.answer.unit.symbol),
        source: format!("{name} by the calculator {calculator}, its margin counted{taken}"),
        by: by.map(|(known, _)| known.id).collect(),
    })
}

fn cannot_tell(lacks: Vec<Lack>) -> CannotTell {
    let word = |lack: &Lack| {
        let state = if lack.stale { "measured before the last change" } else { "not known" };
        format!("{} ({state})", lower(lack.known.label))
    };
    let words: Vec<String> = lacks.iter().map(word).collect();
    CannotTell { why: format!("The limit needs {}.", words.join(", ")), lacks }
}

/// A label within a sentence; abbreviations stay.
#[must_use]
pub fn lower(label: &str) -> String {
    let mut letters = label.chars();
    match (letters.next(), letters.clone().next()) {
        (Some(first), Some(second)) if !second.is_uppercase() => {
            first.to_lowercase().chain(letters).collect()
        }
        _ => label.to_owned(),
    }
}
