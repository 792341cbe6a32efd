//! The one door to `calc-core` and `web`: what press needs to know of calculators and sources.

pub use calc_core::calculator::{Field, Kind};
use calc_core::calculator::{Inputs, tolerance_id};
pub use calc_core::nearest;
use calc_core::source::Source;
use web::job::view;
pub use web::{Block, chart, printed};

/// What is wrong with a calculator's block.
pub enum Wrong {
    /// There is no calculator of this name.
    Calculator,
    /// The calculator asks for no field of this name.
    Field {
        /// The name that was written.
        name: String,
        /// The names it could have been.
        known: Vec<String>,
    },
    /// A field does not take its value.
    Value {
        /// The field.
        field: String,
        /// What is wrong, in the calculator's own words.
        message: String,
        /// What it would take instead.
        offers: Vec<String>,
    },
}

/// The ids of all calculators.
pub fn ids() -> impl Iterator<Item = &'static str> {
    calc_core::calculators().map(|entry| entry.sheet.id)
}

/// Every calculator as the question it answers: id, title, question.
pub fn questions() -> impl Iterator<Item = (&'static str, &'static str, &'static str)> {
    calc_core::calculators().map(|entry| (entry.sheet.id, entry.sheet.title, entry.sheet.question))
}

/// What a calculator asks while every field is at its default; nothing where there is no such calculator.
#[must_use]
pub fn fields(calculator: &str) -> Vec<Field> {
    calc_core::calculate(calculator, &Inputs::new()).map(|outcome| outcome.fields).unwrap_or_default()
}

/// What a block asks that its calculator does not take.
#[must_use]
pub fn check(calculator: &str, inputs: &Inputs) -> Vec<Wrong> {
    let Ok(outcome) = calc_core::calculate(calculator, inputs) else {
        return vec![Wrong::Calculator];
    };
    let (mut known, mut wrongs) = (Vec::new(), Vec::new());
    for field in outcome.fields {
        let tolerance = field.tolerance.map(|tolerance| (tolerance_id(field.id), tolerance.problem));
        for (name, problem) in std::iter::once((field.id.to_string(), field.problem)).chain(tolerance) {
            known.push(name.clone());
            wrongs.extend(problem.map(|wrong| Wrong::Value {
                field: name,
                message: wrong.message,
                offers: wrong.offers,
            }));
        }
    }
    wrongs.extend(outcome.unknown.into_iter().map(|name| Wrong::Field { name, known: known.clone() }));
    wrongs
}

/// All sources, in the order of the list.
#[must_use]
pub fn sources() -> &'static [&'static Source] {
    calc_core::source::all()
}

/// The script that knows the job, on every page that has a use for it.
pub const WITH_JOB: &str = "with-job.js";

/// The block that shows the job, by its name, as it is printed.
#[must_use]
pub fn job(name: &str) -> String {
    let choices = |field: &str| {
        let (calculator, field) = field.split_once('.').unwrap_or_default();
        let found = fields(calculator).into_iter().find(|known| known.id == field).map(|known| known.kind);
        let Some(Kind::Choice(choices)) = found else { return vec![] };
        choices.iter().map(|choice| (choice.id.to_string(), choice.label.to_string())).collect()
    };
    let block = view::Block::ALL.into_iter().find(|block| block.name() == name);
    block.map(|block| view::printed(block, &choices)).unwrap_or_default()
}
