//! What a first run was answered with, and how it is answered again with the values moved within their tolerances.

use std::rc::Rc;

use crate::form::field::Field;
use crate::form::point::Point;

/// What a question was answered with.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Parsed {
    Number { value: f64, half_width: f64 },
    Choice(usize),
}

/// What the questions of a run were answered with, in the order asked.
#[derive(Default)]
pub(crate) struct Given {
    pub(crate) parsed: Vec<Parsed>,
    /// Of those that ask for a list of points.
    pub(crate) lists: Vec<Rc<[Point]>>,
}

/// The answers of a first run, to be given again in the same order.
pub(super) struct Replay<'a> {
    parsed: std::slice::Iter<'a, Parsed>,
    pub(super) lists: std::slice::Iter<'a, Rc<[Point]>>,
    /// Of those that may be off, in the order asked, by how much of their half width each is.
    moves: std::slice::Iter<'a, f64>,
    pub(super) wanted: Wanted<'a>,
}

impl<'a> Replay<'a> {
    pub(super) fn of(given: &'a Given, moves: &'a [f64], wanted: Wanted<'a>) -> Self {
        let Given { parsed, lists } = given;
        Self { parsed: parsed.iter(), lists: lists.iter(), moves: moves.iter(), wanted }
    }

    /// The answer to the next question, moved within its tolerance.
    pub(super) fn next(&mut self) -> Option<Parsed> {
        let parsed = *self.parsed.next()?;
        Some(match parsed {
            Parsed::Number { value, half_width } if half_width > 0.0 => {
                let share = self.moves.next().copied().unwrap_or(0.0);
                Parsed::Number { value: value + share * half_width, half_width }
            }
            same => same,
        })
    }
}

/// An answer by its id, or one of its cases by its place among them.
pub(crate) type Named = (&'static str, Option<usize>);

/// What of a run is looked at.
#[derive(Clone, Copy)]
pub(crate) struct Wanted<'a> {
    /// All values of a run, in their order.
    pub(crate) named: &'a [Named],
    /// Those looked at, by their places; `None` are all.
    pub(crate) at: Option<&'a [usize]>,
}

impl Wanted<'_> {
    /// All answers are looked at.
    pub(crate) const ALL: Self = Self { named: &[], at: None };

    /// Whether one of them is what `is_one` knows, by its id, and by its place where it is a case.
    pub(super) fn is_any(&self, is_one: impl Fn(&str, Option<usize>) -> bool) -> bool {
        let Some(at) = self.at else { return true };
        at.iter().filter_map(|at| self.named.get(*at)).any(|(id, case)| is_one(id, *case))
    }
}

/// What a first run found: the fields, and what each question was answered with.
pub(crate) struct Asked {
    pub(crate) fields: Vec<Field>,
    pub(crate) given: Given,
}

/// The questions whose answers may be off, by their place.
pub(crate) fn uncertain(parsed: &[Parsed]) -> Vec<usize> {
    let off = |parsed: &Parsed| matches!(parsed, Parsed::Number { half_width, .. } if *half_width > 0.0);
    parsed.iter().enumerate().filter(|(_, parsed)| off(parsed)).map(|(at, _)| at).collect()
}

/// What is worked out only where it is wanted ([`super::Ask::wants`]), and is else no number.
pub fn if_wanted(wanted: bool, find: impl FnOnce() -> f64) -> f64 {
    if wanted { find() } else { f64::NAN }
}
