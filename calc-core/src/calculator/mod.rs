//! The frame: a calculator is data about itself and one pure function over typed quantities.
//!
//! `ask` describes the inputs and reads them, `work` is the physics, `answers` names what gets a margin, `report` puts
//! it into words. From these follow, for every calculator alike: the form and its errors, margins, verdicts, working,
//! picture, clipboard, link, and the tests at the end of this file.

mod ask;
mod drawing;
mod field;
mod later;
mod line;
mod link;
mod picture;
mod points;
mod problem;
mod report;
mod verdict;
mod whose;
mod working;

use std::collections::BTreeMap;

pub use ask::{Ask, Question};
use ask::{Heard, Heeded};
pub use drawing::{Anchor, Drawing, Lies, Shape, Symbol};
pub use field::{Choice, Field, Kind, ToleranceField, Whose, tolerance_id};
pub use later::Later;
pub use line::{from_line, to_line};
pub use link::Link;
pub use picture::{Axis, Mark, Picture, Scale, Series};
pub use points::{Form, Point, Side};
pub use problem::{Impossible, Problem};
pub use report::{Answer, Answered, Carry, Export, Margins, Report, Table};
pub use verdict::{Limit, Standing, Verdict};
pub use working::{Expr, Step, named, named_in, number};

#[cfg(test)]
mod tests;

use crate::margin::propagate;
use crate::source::Source;

/// What the reader typed, by field id; what is absent stands at its default.
pub type Inputs = BTreeMap<String, String>;

/// What a calculator says of itself.
#[derive(Debug, PartialEq)]
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
    /// The calculators that its answer can be taken on to.
    const LEADS_TO: &'static [&'static Sheet] = &[];
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

impl Outcome {
    /// Everything that stands in the way of an answer, in the order of the fields.
    pub fn problems(&self) -> impl Iterator<Item = &Problem> {
        self.fields.iter().flat_map(|field| {
            let tolerance = field.tolerance.as_ref().and_then(|tolerance| tolerance.problem.as_ref());
            field.problem.iter().chain(tolerance)
        })
    }
}

/// A calculator in the register.
pub struct Entry {
    /// What it says of itself.
    pub sheet: &'static Sheet,
    /// The calculators that its answer can be taken on to.
    pub leads_to: &'static [&'static Sheet],
    solve: fn(&mut Ask) -> Result<Solved, Impossible>,
}

/// One run of a calculator: its answers, and its words to come once their margins are known.
struct Solved {
    answers: Vec<Answer>,
    words: Words,
}

type Words = Box<dyn FnOnce(&Margins, &mut Report)>;

/// All that is compiled anew for each calculator.
fn solve<C: Calculator + 'static>(ask: &mut Ask) -> Result<Solved, Impossible> {
    let question = C::ask(ask);
    let found = question.work()?;
    let answers = C::answers(&found);
    Ok(Solved { answers, words: Box::new(move |margins, report| question.report(&found, margins, report)) })
}

/// The same for whoever asks for the answers and nothing else: no verdict, picture or working comes along.
fn solve_alone<C: Calculator + 'static>(ask: &mut Ask) -> Result<Solved, Impossible> {
    let answers = C::answers(&C::ask(ask).work()?);
    Ok(Solved { answers, words: Box::new(|_, _| ()) })
}

impl Entry {
    /// The entry of a calculator.
    #[must_use]
    pub const fn of<C: Calculator + 'static>() -> Self {
        Self { sheet: C::SHEET, leads_to: C::LEADS_TO, solve: solve::<C> }
    }

    /// The entry of a calculator whose report has its answers and nothing else.
    #[must_use]
    pub const fn answers_of<C: Calculator + 'static>() -> Self {
        Self { sheet: C::SHEET, leads_to: C::LEADS_TO, solve: solve_alone::<C> }
    }

    /// Works it out for these inputs, which are the reader's own. What is absent stands at its default, an example.
    #[must_use]
    pub fn run(&self, inputs: &Inputs) -> Outcome {
        self.run_reading(inputs, inputs)
    }

    /// Works it out for the reader's own inputs, and beside them for the example of a page.
    #[must_use]
    pub fn run_beside(&self, own: &Inputs, example: &Inputs) -> Outcome {
        let mut inputs = example.clone();
        inputs.extend(own.clone());
        self.run_reading(&inputs, own)
    }

    fn run_reading(&self, inputs: &Inputs, own: &Inputs) -> Outcome {
        let mut ask = Ask::reading(inputs, own);
        let solved = (self.solve)(&mut ask);
        let Heard { fields, answered } = ask.heard();
        let unknown = inputs.keys().filter(|name| !is_asked(name, &fields)).cloned().collect();
        let mut outcome = Outcome { fields, unknown, report: None };
        if outcome.problems().next().is_some() {
            // A field that could not be read stood at its default: what came of that is nobody's answer.
            return outcome;
        }
        match solved {
            Ok(solved) => outcome.report = Some(self.reported(solved, inputs, &answered, &outcome.fields)),
            Err(Impossible { field, message }) => {
                let at = outcome.fields.iter().position(|known| known.id == field).unwrap_or(0);
                if let Some(field) = outcome.fields.get_mut(at) {
                    field.problem = Some(Problem { message, offers: vec![] });
                }
            }
        }
        outcome
    }

    /// Works out the margins and lets the calculator put everything into words.
    fn reported(&self, solved: Solved, inputs: &Inputs, heard: &[Heeded], fields: &[Field]) -> Report {
        let Solved { answers, words } = solved;
        let centre: Vec<f64> = answers.iter().map(|answer| answer.value).collect();
        let uncertain = ask::uncertain(heard);
        let margins = propagate(&centre, uncertain.len(), |input, end| {
            let mut again = Ask::again(inputs, heard, Some((*uncertain.get(input)?, end)));
            let moved = (self.solve)(&mut again).ok()?;
            Some(moved.answers.iter().map(|answer| answer.value).collect())
        });
        // Words and lists are never uncertain and leave no answer behind: places are counted among the other fields.
        let counted = |field: &&Field| field.kind.is_counted();
        let names: Vec<&str> = fields.iter().filter(counted).map(|field| field.name).collect();
        let name_of = |input: usize| uncertain.get(input).and_then(|at| names.get(*at)).copied();
        let answered = answers.into_iter().zip(margins);
        let answered: Vec<Answered> = answered
            .map(|(answer, margin)| {
                let margin = margin.between(answer.bounds.0, answer.bounds.1);
                Answered { answer, margin, most: margin.most.and_then(name_of), examples: Vec::new() }
            })
            .collect();
        let mut report = Report::default();
        words(&Margins { answered: &answered }, &mut report);
        let places: Vec<&str> = fields.iter().filter(counted).map(|field| field.id).collect();
        let uncertain: Vec<&str> = uncertain.iter().filter_map(|at| places.get(*at)).copied().collect();
        report.answers = answered;
        whose::say_whose(&mut report, fields, &uncertain);
        report
    }
}

fn is_asked(name: &str, fields: &[Field]) -> bool {
    fields
        .iter()
        .any(|field| field.id == name || (field.tolerance.is_some() && tolerance_id(field.id) == name))
}
