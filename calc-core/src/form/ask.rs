//! One function of a calculator both describes its inputs and reads them: it is given an [`Ask`] and asks.
//!
//! The first time, the texts typed are read, and every question leaves a [`Field`]. For the margins the same function
//! is run again; then each question is answered from what was read, with the values moved within their tolerances. Which
//! questions are asked may depend on a choice, never on a number, so that both runs ask the same.

mod number;
mod replay;

use std::borrow::Cow;
use std::rc::Rc;

use super::field::{Choice, Field, Kind, Whose, tolerance_id};
use super::line::Inputs;
use super::point::Point;
use super::problem::{Problem, or};
use crate::quantity::notation::read;
use crate::quantity::unit::{ONE, Unit};
use crate::quantity::{Quantity, writing};
use number::{Number, shown_unit};
use replay::Replay;
pub use replay::if_wanted;
pub(crate) use replay::{Asked, Given, Named, Parsed, Wanted, uncertain};

/// Asks for the inputs of a calculator.
pub struct Ask<'a> {
    inputs: &'a Inputs,
    /// Those of the inputs that are the reader's own.
    own: &'a Inputs,
    /// Whether the default of the next question is no example.
    usual: bool,
    fields: Vec<Field>,
    given: Given,
    replay: Option<Replay<'a>>,
    spec: Spec,
}

impl<'a> Ask<'a> {
    /// Reads inputs, of which these are the reader's own.
    pub(crate) fn reading(inputs: &'a Inputs, own: &'a Inputs) -> Self {
        Self {
            inputs,
            own,
            usual: false,
            fields: Vec::new(),
            given: Given::default(),
            replay: None,
            spec: Spec::default(),
        }
    }

    /// Answers as it was answered, with each of the [`uncertain`] values moved by this share of its half width, from −1
    /// to 1.
    pub(crate) fn replaying(
        inputs: &'a Inputs,
        given: &'a Given,
        moves: &'a [f64],
        wanted: Wanted<'a>,
    ) -> Self {
        Self { replay: Some(Replay::of(given, moves, wanted)), ..Self::reading(inputs, inputs) }
    }

    pub(crate) fn asked(self) -> Asked {
        Asked { fields: self.fields, given: self.given }
    }

    /// What the next question is at by default is no example of an amplifier: it is usual for any, or says how the
    /// reader goes about it. `a.usual().quantity(…)`.
    pub fn usual(&mut self) -> &mut Self {
        self.usual = true;
        self
    }

    /// Whose value is in a field that is about to be noted: `way` where the question is not about an amplifier at all
    /// if it is a usual one. Of the others only a default is usual, a page's figure is an example.
    fn whose(&mut self, id: &str, way: bool, is_default: bool) -> Whose {
        let usual = std::mem::take(&mut self.usual);
        match self.own.contains_key(id) {
            _ if usual && way => Whose::Usual,
            true => Whose::Own,
            false if usual && is_default => Whose::Usual,
            false => Whose::Example,
        }
    }

    /// Asks for a quantity. The default is written as one would type it: its prefix (`34 mA`) is the unit that a bare
    /// number takes.
    pub fn quantity(
        &mut self,
        id: &'static str,
        symbol: &'static str,
        name: &'static str,
        default: impl Into<Cow<'static, str>>,
    ) -> Question<'_, 'a> {
        self.begin(id, symbol, name, default.into());
        Question(self)
    }

    /// A published figure as a default is written. Asked again, nobody reads it.
    pub(crate) fn published(&self, value: f64, unit: &Unit) -> String {
        if self.is_replay() { String::new() } else { writing::repeated(value, unit) }
    }

    // Kept out of line, as are the steps of a question: a calculator asks twenty times, and the browser pays for each.
    #[inline(never)]
    fn begin(
        &mut self,
        id: &'static str,
        symbol: &'static str,
        name: &'static str,
        default: Cow<'static, str>,
    ) {
        // Asked again, the question was answered before.
        if !self.is_replay() {
            self.spec = Spec { id, symbol, name, default, ..Spec::default() };
        }
    }

    /// Asks how many, from 1 to `most`.
    pub fn count(&mut self, id: &'static str, name: &'static str, default: &'static str, most: u32) -> u32 {
        self.begin(id, "", name, default.into());
        self.spec.whole = Some(most);
        let value = self.number(&ONE);
        // The range was checked; a refused text counts as the smallest number until it is corrected.
        (1..=most).find(|count| f64::from(*count) >= value).unwrap_or(1)
    }

    /// Asks for one of several; the first is the default.
    pub fn choice<T: Copy, const N: usize>(
        &mut self,
        id: &'static str,
        name: &'static str,
        hint: &'static str,
        options: &[(&'static str, &'static str, T); N],
    ) -> T {
        const { assert!(N > 0, "a choice has something to choose") }
        let listed =
            || options.iter().map(|(id, label, _)| ((*id).to_owned(), (*label).to_owned())).collect();
        let at = self.one_of(id, name, hint, options[0].0, &listed);
        options[at.min(N - 1)].2
    }

    /// Asks for one of a list of ids and labels; gives its place in the list.
    pub fn one_of(
        &mut self,
        id: &'static str,
        name: &'static str,
        hint: &'static str,
        default: &'static str,
        listed: &dyn Fn() -> Vec<(String, String)>,
    ) -> usize {
        if let Some(Parsed::Choice(at)) = self.replayed() {
            return at;
        }
        let choices: Vec<Choice> = listed().into_iter().map(|(id, label)| Choice { id, label }).collect();
        let place = |wanted: &str| choices.iter().position(|choice| choice.id.eq_ignore_ascii_case(wanted));
        let text = self.inputs.get(id).map_or(default, String::as_str).trim().to_owned();
        let found = place(&text);
        let problem = found.is_none().then(|| {
            let ids: Vec<String> = choices.iter().map(|choice| choice.id.clone()).collect();
            let wrong = format!("the choices are {}.", or(&ids));
            let near = crate::nearest(&text, ids.iter().map(String::as_str)).map(str::to_owned);
            Problem::about(name, &text, &wrong, near.into_iter().collect())
        });
        let at = found.or_else(|| place(default)).unwrap_or(0);
        let reading = choices.get(at).filter(|_| found.is_some()).map(|choice| choice.label.clone());
        self.given.parsed.push(Parsed::Choice(at));
        let whose = self.whose(id, true, true);
        self.fields.push(Field {
            id,
            symbol: "",
            name,
            hint,
            kind: Kind::Choice(choices),
            text,
            reading: reading.unwrap_or_default(),
            whose,
            problem,
            tolerance: None,
        });
        at
    }

    /// Asks for words, such as the name of the data sheet that a typed rating was read from.
    pub fn words(
        &mut self,
        id: &'static str,
        name: &'static str,
        hint: &'static str,
        default: &'static str,
    ) -> String {
        let text = self.typed(id).unwrap_or(default).to_owned();
        self.usual().note(id, |whose| Field {
            id,
            symbol: "",
            name,
            hint,
            kind: Kind::Words,
            text: text.clone(),
            reading: text.clone(),
            whose,
            problem: None,
            tolerance: None,
        });
        text
    }

    /// What the reader typed into a field.
    pub(crate) fn typed(&self, id: &str) -> Option<&str> {
        self.inputs.get(id).map(String::as_str)
    }

    /// Whether this is another run for the margins, of which no field is wanted.
    pub(crate) const fn is_replay(&self) -> bool {
        self.replay.is_some()
    }

    /// Whether this run is looked at for an answer that `is_one` knows, by its id, and by its place a case of one. A run for
    /// the margins may be looked at for a few only: what is long to work out, and none of them, may then be no number.
    pub fn is_wanted(&self, is_one: impl Fn(&str, Option<usize>) -> bool) -> bool {
        self.replay.as_ref().is_none_or(|replay| replay.wanted.is_any(is_one))
    }

    /// The same of an answer by its id.
    pub fn wants(&self, id: &str) -> bool {
        self.is_wanted(|answer, _| answer == id)
    }

    /// Leaves the field of a question that has no margin, and so none to answer when it is asked again.
    pub(crate) fn note(&mut self, id: &str, field: impl FnOnce(Whose) -> Field) {
        if !self.is_replay() {
            let whose = self.whose(id, false, true);
            self.fields.push(field(whose));
        }
    }

    /// Refuses what is in a field, though it can be read: it contradicts another. At the ends of the tolerances nothing
    /// is refused, for the readings themselves were not: there the physics gives what it has.
    pub(crate) fn refuse(&mut self, id: &str, message: impl FnOnce() -> String) {
        if self.replay.is_some() || self.fields.iter().any(|field| field.problem.is_some()) {
            return;
        }
        if let Some(field) = self.fields.iter_mut().find(|field| field.id == id) {
            field.problem = Some(Problem { message: message(), offers: vec![] });
        }
    }

    /// The points of the next list, as a first run read them.
    pub(crate) fn replayed_list(&mut self) -> Option<Rc<[Point]>> {
        self.replay.as_mut()?.lists.next().cloned()
    }

    /// Keeps the points of a list for the runs that follow.
    pub(crate) fn keep_list(&mut self, points: &Rc<[Point]>) {
        self.given.lists.push(Rc::clone(points));
    }

    fn replayed(&mut self) -> Option<Parsed> {
        self.replay.as_mut()?.next()
    }
}

/// The number being asked for.
#[derive(Default)]
struct Spec {
    id: &'static str,
    symbol: &'static str,
    name: &'static str,
    hint: &'static str,
    default: Cow<'static, str>,
    range: Option<(&'static str, &'static str)>,
    slides: bool,
    tolerance: Option<&'static str>,
    whole: Option<u32>,
}

/// A number being asked for; [`Question::get`] asks it.
#[must_use]
pub struct Question<'q, 'a>(&'q mut Ask<'a>);

impl Question<'_, '_> {
    /// Where it is read or found, for the reader.
    #[inline(never)]
    pub fn hint(self, hint: &'static str) -> Self {
        self.0.spec.hint = hint;
        self
    }

    /// What lies outside is refused, with both ends named.
    #[inline(never)]
    pub fn within(self, low: &'static str, high: &'static str) -> Self {
        self.0.spec.range = Some((low, high));
        self
    }

    /// Over its whole range it can be slid as well as typed: what a hand turns at the bench. Plain numbers only.
    #[inline(never)]
    pub fn slides(self) -> Self {
        self.0.spec.slides = true;
        self
    }

    /// The value may be off: by this, unless the reader types another tolerance.
    #[inline(never)]
    pub fn tolerance(self, tolerance: &'static str) -> Self {
        self.0.spec.tolerance = Some(tolerance);
        self
    }

    /// Asks. A text that cannot be used leaves its problem in the field, and the default in its place.
    #[must_use]
    pub fn get<Q: Quantity>(self) -> Q {
        Q::of(self.0.number(Q::UNIT))
    }

    /// Asks in another unit than a quantity's own, such as a level in decibels.
    #[must_use]
    pub fn get_in(self, unit: &'static Unit) -> f64 {
        self.0.number(unit)
    }
}

impl Ask<'_> {
    /// Asks for the number that the spec describes.
    #[inline(never)]
    fn number(&mut self, unit: &'static Unit) -> f64 {
        if let Some(Parsed::Number { value, .. }) = self.replayed() {
            return value;
        }
        let spec = std::mem::take(&mut self.spec);
        let default = read(&spec.default, unit, 0).ok();
        let shown = default.map_or(0, |default| default.prefix);
        let text = self.inputs.get(spec.id).map_or(&*spec.default, String::as_str).to_owned();
        let number = Number { spec: &spec, unit, shown };
        let (parsed, problem) = match default.filter(|_| text == spec.default) {
            Some(read) => {
                debug_assert!(number.read(&text).is_ok(), "{}: its default is refused", spec.id);
                (Some(read), None)
            }
            None => match number.read(&text) {
                Ok(read) => (Some(read), None),
                Err(problem) => (None, Some(problem)),
            },
        };
        let off = tolerance_id(spec.id);
        // A letter in the value, as 10kJ, is typed too.
        let is_own = self.own.contains_key(&off) || self.own.contains_key(spec.id);
        let typed = self.inputs.get(&off).cloned();
        let mut tolerance = spec.tolerance.map(|usual| number.tolerance_field(usual, typed, parsed.as_ref()));
        if let Some((field, _)) = &mut tolerance {
            field.is_changed &= is_own;
        }
        let value = parsed.or(default).map_or(0.0, |read| read.value);
        let half_width = match (&parsed, &tolerance) {
            (Some(read), Some((_, Some(tolerance)))) => tolerance.half_width(read),
            _ => 0.0,
        };
        self.given.parsed.push(Parsed::Number { value, half_width });
        // What a hand turns stands somewhere in any amplifier.
        self.usual |= spec.slides;
        let whose = self.whose(spec.id, spec.slides, text == spec.default);
        self.fields.push(Field {
            id: spec.id,
            symbol: spec.symbol,
            name: spec.name,
            hint: spec.hint,
            kind: Kind::Number {
                unit: shown_unit(shown, unit),
                slides: spec.range.filter(|_| spec.slides),
                measured_in: unit,
                within: spec.range,
                most: spec.whole,
            },
            text,
            reading: parsed.map(|read| writing::repeated(read.value, unit)).unwrap_or_default(),
            whose,
            problem,
            tolerance: tolerance.map(|(field, _)| field),
        });
        value
    }
}
