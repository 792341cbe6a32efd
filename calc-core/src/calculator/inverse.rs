//! The question the other way round: which value of a field gives the answer that is wanted.
//!
//! Written once for all calculators; each says as data which field is looked for and by which answer. The field goes through
//! its range in steps, and where the answer passes what is wanted the root is found between two of them: an answer that
//! rises and falls again has more than one. Of a part that is bought, what the nearest preferred values give is worked out
//! as if they had been typed.

use super::{Answer, Answered, Entry, Field, Inputs, Kind, Verdict};
use crate::form::ask::{Ask, Asked, Given, Parsed, Wanted, uncertain};
use crate::margin::propagate;
use crate::numeric::root::root;
use crate::preferred::Series;
use crate::quantity::notation::read;
use crate::quantity::unit::Unit;
use crate::quantity::writing;

/// A question that a calculator answers backwards.
#[derive(Debug)]
pub struct Inverse {
    /// Under which the wanted answer is typed, `wanted.` and the field; never changed once published.
    pub id: &'static str,
    /// As the bench asks it.
    pub question: &'static str,
    /// The field that is looked for.
    pub field: &'static str,
    /// The answer that is wanted.
    pub answer: &'static str,
    /// What of it is wanted until something is typed, as it would be typed.
    pub example: &'static str,
    /// In which values the part is made, where one is bought.
    pub made_in: Option<Series>,
}

/// A value of the field that gives what is wanted.
#[derive(Debug, Clone, PartialEq)]
pub struct Solution {
    /// The value; its margin is what the tolerances of all other fields make of it.
    pub value: Answered,
    /// The same as one would type it.
    pub text: String,
    /// The nearest preferred values, the lower first.
    pub made: Vec<Made>,
}

/// A preferred value, and what it gives with its own tolerance.
#[derive(Debug, Clone, PartialEq)]
pub struct Made {
    /// As it is typed, `1k5`.
    pub text: String,
    /// The answer with this part.
    pub gives: Answered,
    /// The verdict on it that asks for the most attention.
    pub worst: Option<Verdict>,
}

/// As many places of the field's range are looked at, so that two roots are told apart unless they are closer.
const PLACES: u32 = 48;
/// A range that begins at nothing is looked at from this share of its end.
const LEAST: f64 = 1e-6;
/// How near to what is wanted an answer is that does not jump past it, as a share of the furthest.
const MET: f64 = 1e-6;
/// How far away from the value, as a ratio, the nearest preferred one may be.
const NEAR: f64 = 1.6;

/// The fields for what may be wanted of these answers.
pub(super) fn wanted(
    inverse: &[Inverse],
    inputs: &Inputs,
    own: &Inputs,
    fields: &[Field],
    answers: &[Answer],
) -> Vec<Field> {
    let mut ask = Ask::reading(inputs, own);
    for Inverse { id, field, answer, example, .. } in inverse {
        let answer = answers.iter().find(|known| known.id == *answer);
        if let Some(answer) = answer.filter(|_| fields.iter().any(|known| known.id == *field)) {
            let _ = ask.quantity(id, answer.symbol, answer.name, *example).get_in(answer.unit);
        }
    }
    ask.asked().fields
}

/// A search through one field of a calculator.
struct Search<'a> {
    entry: &'a Entry,
    inputs: &'a Inputs,
    /// What the questions were answered with, the field without its tolerance.
    given: Given,
    /// The field's place among them.
    at: usize,
    /// What the answers are called, and the place of the one that is wanted.
    named: Vec<(&'static str, Option<usize>)>,
    answer: [usize; 1],
    wanted: f64,
}

impl Search<'_> {
    /// How far the answer is above what is wanted, with the field at `value` and the others moved; no number where there
    /// is none.
    fn above(&self, value: f64, moves: &[f64]) -> f64 {
        let mut given = Given { parsed: self.given.parsed.clone(), lists: self.given.lists.clone() };
        if let Some(field) = given.parsed.get_mut(self.at) {
            *field = Parsed::Number { value, half_width: 0.0 };
        }
        let wanted = Wanted { named: &self.named, at: Some(&self.answer) };
        let found = self.entry.moved(self.inputs, &given, moves, wanted);
        found.ok().and_then(|found| found.get(self.answer[0]).copied()).unwrap_or(f64::NAN) - self.wanted
    }

    /// The root nearest to these two places, with the others moved.
    fn moved_root(&self, places: &[f64], at: usize, moves: &[f64]) -> Option<f64> {
        (0..places.len()).find_map(|wider| {
            let low = places.get(at.saturating_sub(wider))?;
            let high = places.get(at + 1 + wider).or(places.last())?;
            root(*low, *high, |value| self.above(value, moves)).ok()
        })
    }
}

impl Entry {
    /// Which values of a field give what is wanted, the lowest first; `wanted` is one of [`super::Outcome::wanted`].
    ///
    /// # Errors
    /// Why there is none, in a sentence.
    pub fn solutions(&self, wanted: &Field, own: &Inputs, example: &Inputs) -> Result<Vec<Solution>, String> {
        let again = || "Correct what is marked first.".to_owned();
        let inverse = self.inverse.iter().find(|inverse| inverse.id == wanted.id).ok_or_else(again)?;
        let mut inputs = example.clone();
        inputs.extend(own.clone());
        let mut ask = Ask::reading(&inputs, own);
        let answers = (self.solve)(&mut ask).map_err(|impossible| impossible.message)?.answers;
        let Asked { fields, mut given } = ask.asked();
        let counted = |field: &&Field| field.kind.is_counted();
        let at =
            fields.iter().filter(counted).position(|field| field.id == inverse.field).ok_or_else(again)?;
        let place = answers.iter().position(|answer| answer.id == inverse.answer).ok_or_else(again)?;
        let field = fields.iter().find(|field| field.id == inverse.field).ok_or_else(again)?;
        let (unit, places) = places(field).ok_or_else(again)?;
        let answer = &answers[place];
        let is_wrong = |other: &Field| other.problem.is_some() && other.id != field.id;
        let (false, None) = (fields.iter().any(is_wrong), &wanted.problem) else { return Err(again()) };
        let aim = read(&wanted.reading, answer.unit, 0).map_err(|_| again())?.value;
        if let Some(Parsed::Number { half_width, .. }) = given.parsed.get_mut(at) {
            *half_width = 0.0;
        }
        let many = uncertain(&given.parsed).len();
        let named = super::named_values(&answers);
        let search = Search { entry: self, inputs: &inputs, given, at, named, answer: [place], wanted: aim };
        let still = vec![0.0; many];
        let above: Vec<f64> = places.iter().map(|value| search.above(*value, &still)).collect();
        let passes = above.windows(2).enumerate().filter(|(_, pair)| {
            matches!(pair, [one, other] if !one.is_nan() && !other.is_nan() && (*one <= 0.0) != (*other <= 0.0))
        });
        // The answer may jump past what is wanted: then it is never near it.
        let finite = above.iter().filter(|above| above.is_finite());
        let near = MET * finite.fold(0.0_f64, |most, above| most.max(above.abs()));
        let roots = passes.filter_map(|(at, _)| {
            let value = root(places[at], places[at + 1], |value| search.above(value, &still)).ok()?;
            (search.above(value, &still).abs() <= near).then_some((at, value))
        });
        let found: Vec<Solution> = roots
            .map(|(at, value)| {
                let margin = propagate(&[value], &[None], many, |moves| {
                    search.moved_root(&places, at, moves).map(|value| vec![value])
                });
                let text = writing::bench(value, unit);
                let made = self.made(inverse, value, unit, own, example);
                let value = Answer::in_unit(field.id, field.symbol, field.name, unit, value).signed();
                let value = Answered {
                    answer: value,
                    margin: margin[0],
                    most: None,
                    examples: vec![],
                    unknown: None,
                };
                Solution { value, text, made }
            })
            .collect();
        if found.is_empty() {
            let ends = above.iter().filter(|above| above.is_finite()).map(|above| above + aim);
            let (low, high) = ends
                .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), end| (low.min(end), high.max(end)));
            return Err(format!(
                "No value of this field gives that. From one end of its range to the other the answer is {}.",
                if low <= high { writing::span(low, high, answer.unit) } else { "none".to_owned() }
            ));
        }
        Ok(found)
    }

    /// The preferred values on both sides of this one, each worked out as if it were typed.
    fn made(&self, inverse: &Inverse, value: f64, unit: &Unit, own: &Inputs, example: &Inputs) -> Vec<Made> {
        let Some(series) = inverse.made_in else { return vec![] };
        let same = 1.0 + 1e-6;
        let below = series.between(value / NEAR, value * same).last();
        let next = series.between(value / same, value * NEAR).next();
        let mut near: Vec<String> =
            below.into_iter().chain(next).map(|value| writing::bench(value, unit)).collect();
        near.dedup();
        let made = near.into_iter().filter_map(|text| {
            let mut own = own.clone();
            own.insert(inverse.field.to_owned(), text.clone());
            let report = self.run_beside(&own, example).report?;
            let worst = report.worst().cloned();
            let gives = report.answers.into_iter().find(|answered| answered.answer.id == inverse.answer)?;
            Some(Made { text, gives, worst })
        });
        made.collect()
    }
}

/// The unit of a field, and places from end to end of its range: even where a hand turns it or it may be below nothing,
/// else in equal ratios.
fn places(field: &Field) -> Option<(&'static Unit, Vec<f64>)> {
    let Kind::Number { measured_in: unit, within: Some((low, high)), slides, .. } = &field.kind else {
        return None;
    };
    let end = |text| read(text, unit, 0).ok().map(|read| read.value);
    let (low, high) = (end(low)?, end(high)?);
    let along = |step: u32| f64::from(step) / f64::from(PLACES);
    let places = if slides.is_some() || low < 0.0 {
        (0..=PLACES).map(|step| low + (high - low) * along(step)).collect()
    } else {
        let from = low.max(high * LEAST);
        (0..=PLACES).map(|step| from * libm::pow(high / from, along(step))).collect()
    };
    Some((unit, places))
}
