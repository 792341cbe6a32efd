//! What a calculator answers, for anyone who asks: page, clipboard, hand-over sheet, test.

mod compare;
pub(crate) mod depends_on;
mod drawing;
mod lazy;
mod picture;
pub(crate) mod unknown;
pub(crate) mod verdict;
pub(crate) mod whose;
mod working;

pub use compare::compared;
pub use drawing::{Anchor, Drawing, Lies, Shape, Symbol};
pub use lazy::Lazy;
pub use picture::{Axis, Mark, Picture, Scale, Series};
pub use verdict::{Limit, Standing, Verdict};
pub use working::{Expr, Function, Node, Step, named, named_in, number, two_pi};

use crate::form::Inputs;
use crate::margin::{End, Margin};
use crate::quantity::unit::{
    AMPERE, DECIBEL_PER_DEGREE, FARAD, HENRY, HERTZ, JOULE, OHM, SECOND, SIEMENS, Unit, WATT,
};
use crate::quantity::{Quantity, writing};
use crate::sheet::Sheet;
use crate::source::Source;
use depends_on::DependsOn;

/// A scalar that a calculator finds; it is given a margin.
#[derive(Debug, Clone, PartialEq)]
pub struct Answer {
    /// Its name for pages and programs; never changed once published.
    pub id: &'static str,
    /// The symbol, as `P_a`.
    pub symbol: &'static str,
    /// Its label, as `Anode dissipation`.
    pub name: &'static str,
    /// The unit that it is shown in; the value itself is in SI units.
    pub unit: &'static Unit,
    /// The value found for the inputs as typed, in SI units.
    pub value: f64,
    /// The least and the most that it can be at all, in SI units.
    pub bounds: (f64, f64),
    /// The end of its margin at which a job keeps it; `None` is the value itself.
    pub kept_at: Option<End>,
    /// Where the limit comes from that it was worked out from, if there is one: a stop figure is no surer than its rating.
    pub rests_on: Option<&'static Source>,
    pub(crate) depends_on: Option<DependsOn>,
    /// What it is the least or the most of, for its margin.
    pub(crate) cases: Option<(End, Vec<f64>)>,
}

/// An answer that can be anything.
const UNBOUNDED: (f64, f64) = (f64::NEG_INFINITY, f64::INFINITY);
/// The bounds of what is counted from zero.
const NOT_BELOW_ZERO: (f64, f64) = (0.0, f64::INFINITY);
/// What is counted in these is not below zero: currents are counted the way that they flow.
const UNSIGNED: [&Unit; 10] =
    [&OHM, &FARAD, &HENRY, &AMPERE, &WATT, &JOULE, &SIEMENS, &HERTZ, &SECOND, &DECIBEL_PER_DEGREE];

fn bounds(unit: &Unit) -> (f64, f64) {
    if UNSIGNED.contains(&unit) { NOT_BELOW_ZERO } else { UNBOUNDED }
}

impl Answer {
    /// An answer from a quantity.
    pub fn new<Q: Quantity>(id: &'static str, symbol: &'static str, name: &'static str, value: Q) -> Self {
        Self::in_unit(id, symbol, name, Q::UNIT, value.si())
    }

    /// An answer in another unit than its quantity's own, such as a level in dBu.
    // Kept out of line: the calculators have some hundred and fifty answers, and each would write out all its members.
    #[inline(never)]
    #[must_use]
    pub fn in_unit(
        id: &'static str,
        symbol: &'static str,
        name: &'static str,
        unit: &'static Unit,
        value: f64,
    ) -> Self {
        Self {
            id,
            symbol,
            name,
            unit,
            value,
            bounds: bounds(unit),
            kept_at: None,
            rests_on: None,
            depends_on: None,
            cases: None,
        }
    }

    /// The same answer, which cannot be below zero though its unit can, such as a loss: its margin ends there.
    #[must_use]
    pub fn not_below_zero(self) -> Self {
        Self { bounds: NOT_BELOW_ZERO, ..self }
    }

    /// The same answer, which may be below zero though most in its unit cannot.
    #[must_use]
    pub fn signed(self) -> Self {
        Self { bounds: UNBOUNDED, ..self }
    }

    /// The same answer, of which it is known that it is between these, in SI units: its margin ends there.
    #[must_use]
    pub fn between(self, least: f64, most: f64) -> Self {
        Self { bounds: (least, most), ..self }
    }

    /// The same answer, which is the least of these, in SI units: each smooth, and as many and in the same order in every
    /// run. Its margin is that of theirs.
    #[must_use]
    pub fn least_of(self, cases: impl IntoIterator<Item = f64>) -> Self {
        Self { cases: Some((End::Low, cases.into_iter().collect())), ..self }
    }

    /// The same answer, which is the most of these. See [`Self::least_of`].
    #[must_use]
    pub fn most_of(self, cases: impl IntoIterator<Item = f64>) -> Self {
        Self { cases: Some((End::High, cases.into_iter().collect())), ..self }
    }

    /// The same answer, which a job keeps at this end of its margin: where a gate compares a reading with it, a healthy
    /// amplifier at that end must pass.
    #[must_use]
    pub fn kept_at(self, end: End) -> Self {
        Self { kept_at: Some(end), ..self }
    }

    /// The same answer, which was worked out from a limit of this source.
    #[must_use]
    pub fn resting_on(self, source: Option<&'static Source>) -> Self {
        Self { rests_on: source, ..self }
    }

    /// The same answer, which depends on no other fields than these. The frame's own test moves all others.
    #[must_use]
    pub fn depending_on(self, fields: &'static [&'static str]) -> Self {
        Self { depends_on: Some(DependsOn::Fields(fields)), ..self }
    }

    /// The same answer, which depends on every field, though not every small change of one moves it.
    #[must_use]
    pub fn depending_on_all(self) -> Self {
        Self { depends_on: Some(DependsOn::All), ..self }
    }
}

/// An answer as the reader sees it.
#[derive(Debug, Clone, PartialEq)]
pub struct Answered {
    /// The answer as the calculator gave it.
    pub answer: Answer,
    /// How far it may be off.
    pub margin: Margin,
    /// The name of the input that moves it most.
    pub most: Option<&'static str>,
    /// The names of the fields that hold an example and on which it depends.
    pub examples: Vec<&'static str>,
    /// Why its margin is not known: which end of which tolerance has no answer; `None` where it is known.
    pub unknown: Option<String>,
}

impl Answered {
    /// The value with its unit: `14.2 W`.
    #[must_use]
    pub fn value(&self) -> String {
        writing::nearest(self.margin.value, self.answer.unit)
    }

    /// As a job keeps it, where that is not the value itself; `None` too while the margin is not known.
    #[must_use]
    pub fn kept(&self) -> Option<String> {
        let end = self.answer.kept_at.filter(|_| self.margin.known)?;
        let value = if end == End::Low { self.margin.low } else { self.margin.high };
        Some(writing::nearest(value, self.answer.unit))
    }

    /// How far it may be off, worst case, rounded outward: `13.9 to 14.6 W`.
    #[must_use]
    pub fn span(&self) -> String {
        match self.margin {
            Margin { known: false, .. } => match &self.unknown {
                Some(reason) => format!("cannot tell: {reason}"),
                None => "cannot tell".to_owned(),
            },
            Margin { low, high, .. } if low == high => "no tolerance counted".to_owned(),
            Margin { low, high, .. } => writing::span(low, high, self.answer.unit),
        }
    }

    /// Half width by root sum square: `± 0.22 W`.
    #[must_use]
    pub fn likely(&self) -> String {
        let Margin { known, rss, .. } = self.margin;
        let up = writing::Rounding::Up;
        if known {
            format!("± {}", writing::engineering(rss, self.answer.unit, 2, up))
        } else {
            "cannot tell".to_owned()
        }
    }
}

/// All margins of a calculation, by the id of the answer.
pub struct Margins<'a> {
    pub(crate) answered: &'a [Answered],
}

impl Margins<'_> {
    /// The margin of the answer called `id`; an unknown margin if there is no such answer, which can only be judged
    /// *cannot tell* (and which the frame's own test finds).
    #[must_use]
    pub fn of(&self, id: &str) -> Margin {
        let unknown = Margin {
            value: f64::NAN,
            low: f64::NAN,
            high: f64::NAN,
            rss: f64::NAN,
            most: None,
            movers: u64::MAX,
            known: false,
        };
        self.answered
            .iter()
            .find(|answered| answered.answer.id == id)
            .map_or(unknown, |answered| answered.margin)
    }

    /// The name of the input that moves the answer called `id` most.
    #[must_use]
    pub fn most(&self, id: &str) -> Option<&'static str> {
        self.answered.iter().find(|answered| answered.answer.id == id)?.most
    }
}

/// What a calculator answers.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Report {
    /// The answer in one sentence, for the clipboard and for those who listen.
    pub summary: String,
    /// What was found, with margins.
    pub answers: Vec<Answered>,
    /// The id of the answer that is the headline.
    pub headline: Option<&'static str>,
    /// How it stands to the limits.
    pub verdicts: Vec<Verdict>,
    /// The working, in the order in which each step needs those before it.
    pub steps: Vec<Step>,
    /// What the answer looks like.
    pub picture: Option<Picture>,
    /// The circuit and its wiring.
    pub drawings: Vec<Drawing>,
    /// What can be taken along as a file.
    pub exports: Vec<Export>,
    /// Choices side by side: preferred values, faults, valves.
    pub tables: Vec<Lazy<Table>>,
    /// Where the answer can be taken on to.
    pub carries: Vec<Carry>,
    /// What the reader must know about these inputs in particular, one sentence each.
    pub notes: Vec<String>,
    /// The names of the fields that hold an example, in their order.
    pub examples: Vec<&'static str>,
    /// Whether no field holds anything of the reader's own: then the whole is an example.
    pub is_example: bool,
}

/// An answer on its way into another calculator.
#[derive(Debug, Clone, PartialEq)]
pub struct Carry {
    /// The calculator that takes it; one of [`crate::calculator::Calculator::LEADS_TO`].
    pub to: &'static Sheet,
    /// What is taken, in words: `34.0 mA as cathode current`.
    pub what: String,
    /// The inputs it sets there.
    pub inputs: Inputs,
    /// The answers that they are; none represents all.
    pub answers: Vec<&'static str>,
    /// Whether one of them depends on an example: then it is one there too. Said by the frame.
    pub is_example: bool,
}

/// A file that goes with an answer.
#[derive(Debug, Clone, PartialEq)]
pub struct Export {
    /// Its name, with the ending that programs know it by.
    pub name: &'static str,
    /// What it is, in words: `netlist for SPICE`.
    pub what: &'static str,
    /// Its media type, `text/csv`.
    pub media: &'static str,
    /// What is in it.
    pub text: Lazy<String>,
}

/// A table of an answer.
#[derive(Debug, Clone, PartialEq)]
pub struct Table {
    /// What it lists, as its heading.
    pub title: String,
    /// What is in each column.
    pub head: Vec<String>,
    /// The rows; the first cell names the row.
    pub rows: Vec<Vec<String>>,
}

impl Report {
    /// Adds a step of the working and gives its result back as a named value for the next.
    pub fn step<Q: Quantity>(
        &mut self,
        says: impl Into<String>,
        symbol: &'static str,
        formula: Expr,
        result: Q,
    ) -> Expr {
        self.step_in(says, symbol, formula, result.si(), Q::UNIT)
    }

    /// The same, in another unit than the quantity's own.
    pub fn step_in(
        &mut self,
        says: impl Into<String>,
        symbol: &'static str,
        formula: Expr,
        value: f64,
        unit: &'static Unit,
    ) -> Expr {
        let result = writing::nearest(value, unit);
        self.steps.push(Step { says: says.into(), symbol, formula, value, result });
        named_in(symbol, value, unit)
    }

    /// Adds what is stated and not worked out: what a search found, and `says` which condition it satisfies; or what was
    /// typed or looked up.
    pub fn state<Q: Quantity>(&mut self, says: impl Into<String>, symbol: &'static str, value: Q) -> Expr {
        self.state_in(says, symbol, value.si(), Q::UNIT)
    }

    /// The same, in another unit than the quantity's own.
    pub fn state_in(
        &mut self,
        says: impl Into<String>,
        symbol: &'static str,
        value: f64,
        unit: &'static Unit,
    ) -> Expr {
        self.step_in(says, symbol, named_in(symbol, value, unit), value, unit)
    }

    /// The answer that is shown first and largest.
    #[must_use]
    pub fn headline(&self) -> Option<&Answered> {
        let is = |answered: &&Answered| self.headline.is_none_or(|id| answered.answer.id == id);
        self.answers.iter().find(is)
    }

    /// The verdict that asks for the most attention; of several like it the first.
    #[must_use]
    pub fn worst(&self) -> Option<&Verdict> {
        self.verdicts.iter().min_by_key(|verdict| verdict.standing.urgency())
    }

    /// That the whole is an example, or how many example values stand among the reader's own and which; `None` where
    /// every value is the reader's.
    #[must_use]
    pub fn whose_values(&self) -> Option<String> {
        /// More names than these are no help: the fields themselves are marked.
        const NAMED: usize = 4;
        let many = self.examples.len();
        if many > 0 && self.is_example {
            return Some("This is an example. None of these values comes from your amplifier.".to_owned());
        }
        let names: Vec<&str> = self.examples.iter().take(NAMED).copied().collect();
        let names = names.join("; ");
        match many {
            0 => None,
            1 => Some(format!("1 example value decides the answer: {names}.")),
            2..=NAMED => Some(format!("{many} example values decide the answer: {names}.")),
            _ => {
                Some(format!("{many} example values decide the answer: {names}; and {} more.", many - NAMED))
            }
        }
    }

    /// The answer as text to paste: the summary, what was found, the verdicts with their limits.
    #[must_use]
    pub fn as_text(&self, title: &str) -> String {
        let mut lines = vec![title.to_owned(), self.summary.clone()];
        for answered in &self.answers {
            lines.push(format!("{}: {} ({})", answered.answer.name, answered.value(), answered.span()));
        }
        lines.extend(self.whose_values());
        for verdict in &self.verdicts {
            let limit = verdict.limit_and_origin().map(|limit| format!(" ({limit})")).unwrap_or_default();
            lines.push(format!("{}: {}{limit}. {}", verdict.about, verdict.word(), verdict.advice));
        }
        lines.extend(self.notes.iter().cloned());
        lines.join("\n")
    }
}
