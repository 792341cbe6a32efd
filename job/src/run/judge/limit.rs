//! What one limit comes to for one job: a figure, a value of the job, or the end of a calculator's answer.

use calc_core::calculator::Kind;
use calc_core::quantity::{notation, writing};
use calc_core::source::Trust;

use super::calculators;
use super::depends::Worked;
use super::judgement::{CannotTell, MissingInput};
use crate::Job;
use crate::procedure::{Bound, Of};
use crate::unit::measure;
use crate::values;

/// A limit as it represents one job.
#[derive(Debug, Clone, PartialEq)]
pub struct Limit {
    /// In SI units. Of a margin, the end that leaves less room.
    pub si: f64,
    /// As written: `−41 V`.
    pub written: String,
    /// Where it comes from, in words, with what was taken as usual.
    pub source: String,
    /// Whether it was worked out from a published limit that nobody has confirmed.
    pub unconfirmed: bool,
    /// The values of the job that it was worked out from.
    pub inputs_used: Vec<&'static str>,
}

/// Which part of a margin is meant: the end that leaves less room, or the middle.
#[derive(Clone, Copy)]
pub(super) enum Side {
    Low,
    High,
    Between,
}

impl Limit {
    /// What a bound of a reading in this unit comes to.
    pub(super) fn of(bound: &Bound, side: Side, unit: &str, job: &Job) -> Result<Self, CannotTell> {
        let measure = measure(unit).map_err(|right| CannotTell {
            missing_inputs: vec![],
            why: format!("“{unit}” is not a unit; it should be {right}."),
        })?;
        let found = Found::of(bound, side, job)?;
        if found.unit.is_some_and(|unit| unit != measure.unit.symbol) {
            let why = format!("The limit {} is in another unit.", bound.written(measure));
            return Err(CannotTell { missing_inputs: vec![], why });
        }
        let Found { si, source, unconfirmed, inputs_used, .. } = found;
        Ok(Self { si, written: measure.repeated(si), source, unconfirmed, inputs_used })
    }

    /// What a bound that names a value or an answer comes to, for a sentence: the middle of a margin, rounded as answers are.
    pub(crate) fn said(bound: &Bound, job: &Job) -> Option<String> {
        let found = Found::of(bound, Side::Between, job).ok()?;
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
    /// Whether it rests on a published limit that nobody has confirmed.
    unconfirmed: bool,
    /// The values it was worked out from.
    inputs_used: Vec<&'static str>,
}

impl Found {
    fn of(bound: &Bound, side: Side, job: &Job) -> Result<Self, CannotTell> {
        let found = match &bound.of {
            Of::Fixed(si) => {
                let source = "set by this page".to_owned();
                Self { si: *si, unit: None, source, unconfirmed: false, inputs_used: Vec::new() }
            }
            Of::Job(id) => of_job(id, job)?,
            Of::Answer { calculator, answer } => of_answer(calculator, answer, side, job)?,
        };
        let si = found.si * bound.factor;
        if !si.is_finite() {
            return Err(CannotTell {
                missing_inputs: vec![],
                why: "The limit does not come to a number.".to_owned(),
            });
        }
        let times = if bound.factor == 1.0 { String::new() } else { format!("{} × ", bound.factor) };
        Ok(Self { si, source: format!("{times}{}", found.source), ..found })
    }
}

/// A value of the job.
fn of_job(id: &str, job: &Job) -> Result<Found, CannotTell> {
    let known = values::find(id).map_err(|unknown| CannotTell {
        missing_inputs: vec![],
        why: format!("The limit needs something that does not exist: {unknown}."),
    })?;
    let lack = |stale| cannot_tell(vec![MissingInput { known, stale }]);
    let value = job.values.get(id).ok_or_else(|| lack(false))?;
    if job.is_stale(id) {
        return Err(lack(true));
    }
    let measure = measure(known.unit()).map_err(|_| lack(false))?;
    let si = measure.parse(known.label, &value.text).map_err(|_| lack(false))?.si;
    let source = format!("{} of this job", lower(known.label));
    Ok(Found { si, unit: Some(measure.unit.symbol), source, unconfirmed: false, inputs_used: vec![known.id] })
}

/// The end of a calculator's answer that leaves less room, worked out from the job alone.
fn of_answer(calculator: &str, answer: &str, side: Side, job: &Job) -> Result<Found, CannotTell> {
    let why = |why: String| CannotTell { missing_inputs: vec![], why };
    let filled = job.inputs_for(calculator);
    let outcome = calculators::calculate(calculator, &filled.inputs)
        .ok_or_else(|| why(format!("No limit is worked out by a calculator “{calculator}”.")))?;
    let Some(report) = &outcome.report else {
        // What is missing may be what contradicts the rest: it is at its default.
        let asked = |field: &str| outcome.fields.iter().any(|known| known.id == field);
        let missing = filled.missing.iter().filter(|(field, _)| asked(field));
        let missing_inputs: Vec<MissingInput> =
            missing.map(|(_, known)| MissingInput { known, stale: false }).collect();
        let problem = outcome.problems().next().map(|problem| problem.message.clone());
        let problem = problem.unwrap_or_else(|| format!("The calculator “{calculator}” has no answer."));
        return Err(if missing_inputs.is_empty() { why(problem) } else { cannot_tell(missing_inputs) });
    };
    let found = report.answers.iter().find(|answered| answered.answer.id == answer);
    let found = found.ok_or_else(|| why(format!("“{calculator}” has no answer “{answer}” here.")))?;
    // What the job does not know is at the demonstration amplifier's value, which is nobody's limit.
    let worked = Worked { calculator, inputs: &filled.inputs, fields: &outcome.fields, found };
    let missing_inputs = filled.missing.iter().map(|(field, known)| (*field, *known, false));
    let missing_inputs =
        missing_inputs.chain(filled.stale.iter().map(|(field, known)| (*field, *known, true)));
    let missing_inputs: Vec<MissingInput> = missing_inputs
        .filter(|(field, ..)| worked.depends_on(field))
        .map(|(_, known, stale)| MissingInput { known, stale })
        .collect();
    if !missing_inputs.is_empty() {
        return Err(cannot_tell(missing_inputs));
    }
    if !found.margin.known {
        return Err(why(format!("The tolerance of “{}” is not known.", found.answer.name)));
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
    let used = values::of_calculator(calculator)
        .filter(|(_, field)| filled.inputs.contains_key(*field) && worked.depends_on(field));
    let taken =
        if usual.is_empty() { String::new() } else { format!("; taken as usual: {}", usual.join(", ")) };
    let name = lower(found.answer.name);
    let rests_on = found.answer.rests_on;
    let origin = rests_on.map(|source| format!(", from a limit ({})", source.origin())).unwrap_or_default();
    Ok(Found {
        si,
        unit: Some(found.answer.unit.symbol),
        source: format!("{name} by the calculator {calculator}{origin}, its margin counted{taken}"),
        unconfirmed: rests_on.is_some_and(|source| source.trust == Trust::Memory),
        inputs_used: used.map(|(known, _)| known.id).collect(),
    })
}

fn cannot_tell(missing_inputs: Vec<MissingInput>) -> CannotTell {
    let word = |lack: &MissingInput| {
        let state = if lack.stale { "measured before the last change" } else { "not known" };
        format!("{} ({state})", lower(lack.known.label))
    };
    let words: Vec<String> = missing_inputs.iter().map(word).collect();
    CannotTell { why: format!("The limit needs {}.", words.join(", ")), missing_inputs }
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
