//! The frame: a calculator is data about itself and one pure function over typed quantities.
//!
//! `ask` describes the inputs and reads them, `work` is the physics, `answers` names what gets a margin, `report` puts
//! it into words. From these follow, for every calculator alike: the form and its errors, margins, verdicts, working,
//! picture, clipboard, link, and the tests at the end of this file.

mod ask;
mod field;
mod line;
mod picture;
mod problem;
mod report;
mod verdict;
mod working;

use std::collections::BTreeMap;

pub use ask::{Ask, Question};
pub use field::{Choice, Field, Kind, ToleranceField, tolerance_id};
pub use line::{from_line, to_line};
pub use picture::{Axis, Mark, Picture, Series};
pub use problem::{Impossible, Problem};
pub use report::{Answer, Answered, Margins, Report};
pub use verdict::{Limit, Standing, Verdict};
pub use working::{Expr, Step, named, named_in, number};

#[cfg(test)]
mod tests;

use crate::margin::propagate;
use crate::source::Source;

/// What the reader typed, by field id; what is absent stands at its default.
pub type Inputs = BTreeMap<String, String>;

/// What a calculator says of itself.
#[derive(Debug)]
pub struct Sheet {
    /// Its name in pages and links; never changed once published.
    pub id: &'static str,
    /// What it is called.
    pub title: &'static str,
    /// The question it answers.
    pub question: &'static str,
    /// Which set of defaults this is: links name it, so that the same link keeps its inputs for ever.
    pub edition: u32,
    /// What the model leaves out, one line each.
    pub leaves_out: &'static [&'static str],
    /// Where its formulas and figures come from.
    pub sources: &'static [&'static Source],
}

/// A calculator. See `calculators/output_power.rs` for a short one to begin from.
pub trait Calculator: Sized {
    /// What it says of itself.
    const SHEET: &'static Sheet;
    /// What the physics finds.
    type Found;

    /// Asks for the inputs.
    fn ask(ask: &mut Ask) -> Self;
    /// The physics: no words, no rounding, every input that passes `ask` leads to a value or to a typed error.
    ///
    /// # Errors
    /// [`Impossible`] where the inputs contradict each other.
    fn work(&self) -> Result<Self::Found, Impossible>;
    /// What was found, as far as it is a single value: each gets a margin.
    fn answers(found: &Self::Found) -> Vec<Answer>;
    /// The words: summary, verdicts, working, picture.
    fn report(&self, found: &Self::Found, margins: &Margins, report: &mut Report);
}

/// What came of a calculation.
#[derive(Debug, Clone, PartialEq)]
pub struct Outcome {
    /// The fields, in the order they are asked.
    pub fields: Vec<Field>,
    /// Names among the inputs that no field asks for with the choices made.
    pub unknown: Vec<String>,
    /// The answer; `None` while some field has a problem.
    pub report: Option<Report>,
}

/// A calculator in the register.
pub struct Entry {
    /// What it says of itself.
    pub sheet: &'static Sheet,
    /// Works it out for the inputs.
    pub run: fn(&Inputs) -> Outcome,
}

impl Entry {
    /// The entry of a calculator.
    #[must_use]
    pub const fn of<C: Calculator>() -> Self {
        Self { sheet: C::SHEET, run: run::<C> }
    }
}

fn run<C: Calculator>(inputs: &Inputs) -> Outcome {
    let mut ask = Ask::reading(inputs);
    let question = C::ask(&mut ask);
    let mut heard = ask.heard();
    let unknown = inputs.keys().filter(|name| !is_asked(name, &heard.fields)).cloned().collect();
    let readable = heard.fields.iter().all(|field| {
        field.problem.is_none() && field.tolerance.as_ref().is_none_or(|tolerance| tolerance.problem.is_none())
    });
    let mut report = None;
    if readable {
        match question.work() {
            Ok(found) => report = Some(reported(&question, &found, inputs, &heard)),
            Err(impossible) => {
                let problem = Problem { message: impossible.message, offers: vec![] };
                let at = heard.fields.iter().position(|field| field.id == impossible.field).unwrap_or(0);
                if let Some(field) = heard.fields.get_mut(at) {
                    field.problem = Some(problem);
                }
            }
        }
    }
    Outcome { fields: heard.fields, unknown, report }
}

fn is_asked(name: &str, fields: &[Field]) -> bool {
    fields.iter().any(|field| field.id == name || (field.tolerance.is_some() && tolerance_id(field.id) == name))
}

/// Works out the margins and lets the calculator put everything into words.
fn reported<C: Calculator>(question: &C, found: &C::Found, inputs: &Inputs, heard: &ask::Heard) -> Report {
    let answers = C::answers(found);
    let centre: Vec<f64> = answers.iter().map(|answer| answer.value).collect();
    let uncertain = heard.uncertain();
    let margins = propagate(&centre, uncertain.len(), |input, end| {
        let mut again = Ask::again(inputs, &heard.answered, Some((*uncertain.get(input)?, end)));
        let moved = C::ask(&mut again).work().ok()?;
        Some(C::answers(&moved).iter().map(|answer| answer.value).collect())
    });
    // Words are fields that are never answered with a number or a choice, so the places are counted among the others.
    let names: Vec<&str> =
        heard.fields.iter().filter(|field| !matches!(field.kind, Kind::Words)).map(|field| field.name).collect();
    let name_of = |input: usize| uncertain.get(input).and_then(|at| names.get(*at)).copied();
    let answered = answers.into_iter().zip(margins).map(|(answer, margin)| {
        let most = margin.most.and_then(name_of);
        Answered { answer, margin, most }
    });
    let mut report = Report { answers: answered.collect(), ..Report::default() };
    let answered = std::mem::take(&mut report.answers);
    question.report(found, &Margins { answered: &answered }, &mut report);
    report.answers = answered;
    report
}
