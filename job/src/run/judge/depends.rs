//! Whether an answer depends on a field: the calculator is asked again with that field moved.

use calc_core::calculator::{Answered, Field, Inputs, Kind};

use super::calculators;
use crate::unit::measure;

/// An answer and what it was worked out from.
pub(super) struct Worked<'w> {
    pub(super) calculator: &'w str,
    pub(super) inputs: &'w Inputs,
    pub(super) fields: &'w [Field],
    pub(super) found: &'w Answered,
}

impl Worked<'_> {
    /// Whether the answer is another when this field is. A field that is not asked moves nothing; one that cannot be moved
    /// both ways counts as moving it.
    pub(super) fn depends_on(&self, field: &str) -> bool {
        let Some(field) = self.fields.iter().find(|known| known.id == field) else { return false };
        match &field.kind {
            Kind::Choice(choices) => {
                choices.iter().any(|choice| self.is_same_with(field.id, choice.id.clone()) != Some(true))
            }
            Kind::Number { unit, .. } => {
                // A little, where a limit of the field or of the physics is near; a lot, where the answer has a bend.
                ![[0.5, 0.9], [1.1, 2.0]].iter().all(|factors| {
                    let moved =
                        |factor: &f64| self.is_same_with(field.id, times(&field.text, unit, *factor)?);
                    let seen: Vec<bool> = factors.iter().filter_map(moved).collect();
                    !seen.is_empty() && seen.iter().all(|same| *same)
                })
            }
            Kind::Words => false,
            Kind::Points => true,
        }
    }

    /// Whether the answer and its margin stay with another text in a field; `None` where there is no answer then.
    fn is_same_with(&self, field: &str, text: String) -> Option<bool> {
        let mut inputs = self.inputs.clone();
        inputs.insert(field.to_owned(), text);
        let outcome = calculators::calculate(self.calculator, &inputs)?;
        let report = outcome.report.as_ref()?;
        let again = report.answers.iter().find(|answered| answered.answer.id == self.found.answer.id)?;
        Some(
            again.margin.value == self.found.margin.value
                && again.margin.low == self.found.margin.low
                && again.margin.high == self.found.margin.high,
        )
    }
}

/// A text of a field times a factor; a whole number becomes the one beside it.
fn times(text: &str, unit: &str, factor: f64) -> Option<String> {
    let measure = measure(unit).ok()?;
    let read = measure.parse("", text).ok()?;
    let whole = measure.unit.symbol.is_empty() && read.si.fract() == 0.0;
    let moved = match (whole, factor < 1.0) {
        (true, true) => read.si - 1.0,
        (true, false) => read.si + 1.0,
        // What is nothing is moved too.
        (false, _) if read.si == 0.0 => factor - 1.0,
        (false, _) => read.si * factor,
    };
    Some(calc_core::quantity::writing::bench(moved, measure.unit))
}
