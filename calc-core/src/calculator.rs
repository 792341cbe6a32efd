//! The frame: a calculator is data about itself and one pure function over typed quantities.
//!
//! `ask` describes the inputs and reads them, `work` is the physics, `answers` names what gets a margin, `report` puts
//! it into words. From these follow, for every calculator: the form and its errors, margins, verdicts, working,
//! picture, clipboard, link, and the tests at the end of this file.

use crate::form::ask::{self, Asked, Given, Named, Wanted};
pub use crate::form::{
    Aside, Ask, Choice, Field, Filled, Form, Impossible, Inputs, Kind, Link, Point, Problem, Question,
    Section, Side, ToleranceField, Whose, filled, from_line, if_wanted, to_line, tolerance_id,
};
pub use crate::report::{
    Anchor, Answer, Answered, Axis, Carry, Drawing, Export, Expr, Function, Lazy, Lies, Limit, Margins, Mark,
    Node, Picture, Report, Scale, Series, Shape, Standing, Step, Symbol, Table, Verdict, compared, named,
    named_in, number, two_pi,
};
use crate::report::{unknown, whose};

mod inverse;
#[cfg(test)]
mod tests;

pub use inverse::{Inverse, Made, Solution};

use crate::margin::{Cases, End, propagate_wanted};
pub use crate::sheet::Sheet;

/// A calculator. See `calculators/output_power.rs` for a short one to begin from.
pub trait Calculator: Sized {
    /// What it says of itself.
    const SHEET: &'static Sheet;
    /// The calculators that its answer can be taken on to.
    const LEADS_TO: &'static [&'static Sheet] = &[];
    /// What the bench asks of it the other way round.
    const INVERSE: &'static [Inverse] = &[];
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
    /// What may be wanted of the answers ([`Inverse`]); none of it changes them.
    pub wanted: Vec<Field>,
    /// Names among the inputs that no field asks for with the choices made.
    pub unknown: Vec<String>,
    /// The answer; `None` while some field has a problem.
    pub report: Option<Report>,
}

impl Outcome {
    /// Everything that is in the way of an answer, in the order of the fields.
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
    /// What the bench asks of it the other way round.
    pub inverse: &'static [Inverse],
    solve: fn(&mut Ask) -> Result<Solved, Impossible>,
}

/// One run of a calculator: its answers, and its words to come once their margins are known.
struct Solved {
    answers: Vec<Answer>,
    /// None of another run for the margins.
    words: Option<Words>,
}

type Words = Box<dyn FnOnce(&Margins, &mut Report)>;

/// All that is compiled again for each calculator.
fn solve<C: Calculator + 'static>(ask: &mut Ask) -> Result<Solved, Impossible> {
    let question = C::ask(ask);
    let found = question.work()?;
    let answers = C::answers(&found);
    let words = (!ask.is_replay())
        .then(|| -> Words { Box::new(move |margins, report| question.report(&found, margins, report)) });
    Ok(Solved { answers, words })
}

impl Entry {
    /// The entry of a calculator.
    #[must_use]
    pub const fn of<C: Calculator + 'static>() -> Self {
        Self { sheet: C::SHEET, leads_to: C::LEADS_TO, inverse: C::INVERSE, solve: solve::<C> }
    }

    /// Works it out for these inputs, which are the reader's own. What is absent is at its default, an example.
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
        let Asked { fields, given } = ask.asked();
        let is_known =
            |name: &str| is_asked(name, &fields) || self.inverse.iter().any(|inverse| inverse.id == name);
        let unknown = inputs.keys().filter(|name| !is_known(name)).cloned().collect();
        let answers = solved.as_ref().map_or(&[][..], |solved| &solved.answers);
        let wanted = inverse::wanted(self.inverse, inputs, own, &fields, answers);
        let mut outcome = Outcome { fields, wanted, unknown, report: None };
        if outcome.problems().next().is_some() {
            // A field that could not be read was at its default: what came of that is nobody's answer.
            return outcome;
        }
        match solved {
            Ok(solved) => outcome.report = Some(self.reported(solved, inputs, &given, &outcome.fields)),
            Err(Impossible { field, message }) => {
                let at = outcome.fields.iter().position(|known| known.id == field).unwrap_or(0);
                if let Some(field) = outcome.fields.get_mut(at) {
                    field.problem = Some(Problem { message, offers: vec![] });
                }
            }
        }
        outcome
    }

    /// The answers, and behind them their cases, with each of the uncertain inputs moved by this share of its half width,
    /// from −1 to 1. What nobody looks at may be no number.
    ///
    /// # Errors
    /// Where there are none.
    fn moved(
        &self,
        inputs: &Inputs,
        given: &Given,
        moves: &[f64],
        wanted: Wanted<'_>,
    ) -> Result<Vec<f64>, Impossible> {
        (self.solve)(&mut Ask::replaying(inputs, given, moves, wanted)).map(|solved| values(&solved.answers))
    }

    /// Works out the margins and lets the calculator put everything into words.
    fn reported(&self, solved: Solved, inputs: &Inputs, given: &Given, fields: &[Field]) -> Report {
        let Solved { answers, words } = solved;
        let cases: Vec<Option<Cases>> = answers
            .iter()
            .map(|Answer { cases, .. }| cases.as_ref().map(|(of, all)| Cases { of: *of, many: all.len() }))
            .collect();
        let uncertain = ask::uncertain(&given.parsed);
        let named = named_values(&answers);
        let margins = propagate_wanted(&values(&answers), &cases, uncertain.len(), |moves, wanted| {
            self.moved(inputs, given, moves, Wanted { named: &named, at: wanted }).ok()
        });
        // Words and lists are never uncertain and leave no answer behind: places are counted among the other fields.
        let counted = |field: &&Field| field.kind.is_counted();
        let names: Vec<&str> = fields.iter().filter(counted).map(|field| field.name).collect();
        let name_of = |input: usize| uncertain.get(input).and_then(|at| names.get(*at)).copied();
        let answered = answers.into_iter().zip(margins);
        let mut answered: Vec<Answered> = answered
            .map(|(answer, margin)| {
                let margin = margin.between(answer.bounds.0, answer.bounds.1);
                let most = margin.most.and_then(name_of);
                Answered { answer, margin, most, examples: Vec::new(), unknown: None }
            })
            .collect();
        let moved: Vec<&str> = (0..uncertain.len()).filter_map(name_of).collect();
        let reasons = unknown::reasons(&answered, &moved, |input, end| {
            let mut moves = vec![0.0; uncertain.len()];
            *moves.get_mut(input)? = if end == End::Low { -1.0 } else { 1.0 };
            Some(self.moved(inputs, given, &moves, Wanted::ALL))
        });
        for (answered, reason) in answered.iter_mut().zip(reasons) {
            answered.unknown = reason;
        }
        let mut report = Report::default();
        if let Some(words) = words {
            words(&Margins { answered: &answered }, &mut report);
        }
        let places: Vec<&str> = fields.iter().filter(counted).map(|field| field.id).collect();
        let uncertain: Vec<&str> = uncertain.iter().filter_map(|at| places.get(*at)).copied().collect();
        let is = |id: &&&str| answered.iter().any(|answered| answered.answer.id == **id);
        report.headline = self.sheet.headline.iter().find(is).copied();
        report.answers = answered;
        unknown::say_why(&mut report);
        whose::say_whose(&mut report, fields, &uncertain);
        report
    }
}

/// All answers, and behind them the cases of each.
fn values(answers: &[Answer]) -> Vec<f64> {
    let mut values = Vec::with_capacity(answers.len() + cases(answers).map(<[f64]>::len).sum::<usize>());
    values.extend(answers.iter().map(|answer| answer.value));
    cases(answers).for_each(|cases| values.extend_from_slice(cases));
    values
}

fn cases(answers: &[Answer]) -> impl Iterator<Item = &[f64]> {
    answers.iter().filter_map(|answer| answer.cases.as_ref()).map(|(_, cases)| cases.as_slice())
}

/// What these are called.
fn named_values(answers: &[Answer]) -> Vec<Named> {
    let mut named: Vec<Named> = answers.iter().map(|answer| (answer.id, None)).collect();
    for answer in answers {
        let many = answer.cases.as_ref().map_or(0, |(_, cases)| cases.len());
        named.extend((0..many).map(|case| (answer.id, Some(case))));
    }
    named
}

fn is_asked(name: &str, fields: &[Field]) -> bool {
    fields
        .iter()
        .any(|field| field.id == name || (field.tolerance.is_some() && tolerance_id(field.id) == name))
}
