//! One function of a calculator both describes its inputs and reads them: it is given an [`Ask`] and asks.
//!
//! The first time, the texts typed are read, and every question leaves a [`Field`]. For the margins the same function
//! is run again; then each question is answered from what was read, with one value moved to the end of its tolerance.
//! Which questions are asked may depend on a choice, never on a number, so that both runs ask the same.

use std::borrow::Cow;

use super::Inputs;
use super::field::{Choice, Field, Kind, ToleranceField, Whose, tolerance_id};
use super::problem::{Problem, or};
use crate::margin::End;
use crate::quantity::notation::{Read, read, ten_to};
use crate::quantity::tolerance::Tolerance;
use crate::quantity::unit::{ONE, PER_CENT, PREFIXES, Unit};
use crate::quantity::{Quantity, writing};

/// Asks for the inputs of a calculator.
pub struct Ask<'a> {
    inputs: &'a Inputs,
    /// Those of the inputs that are the reader's own.
    own: &'a Inputs,
    /// Whether the default of the next question is no example.
    usual: bool,
    fields: Vec<Field>,
    answered: Vec<Heeded>,
    replay: Option<Replay<'a>>,
    spec: Spec,
}

/// What a question was answered with.
#[derive(Debug, Clone, Copy)]
pub(super) enum Heeded {
    Number { value: f64, half_width: f64 },
    Choice(usize),
}

struct Replay<'a> {
    answered: std::slice::Iter<'a, Heeded>,
    turn: usize,
    moved: Option<(usize, End)>,
}

/// What a first run found: the fields, and what each question was answered with.
pub(super) struct Heard {
    pub(super) fields: Vec<Field>,
    pub(super) answered: Vec<Heeded>,
}

/// The questions whose answers may be off, by their place.
pub(super) fn uncertain(heard: &[Heeded]) -> Vec<usize> {
    let off = |heard: &Heeded| matches!(heard, Heeded::Number { half_width, .. } if *half_width > 0.0);
    heard.iter().enumerate().filter(|(_, heard)| off(heard)).map(|(at, _)| at).collect()
}

impl<'a> Ask<'a> {
    /// Reads inputs, of which these are the reader's own.
    pub(crate) fn reading(inputs: &'a Inputs, own: &'a Inputs) -> Self {
        Self {
            inputs,
            own,
            usual: false,
            fields: Vec::new(),
            answered: Vec::new(),
            replay: None,
            spec: Spec::default(),
        }
    }

    pub(super) fn again(inputs: &'a Inputs, answered: &'a [Heeded], moved: Option<(usize, End)>) -> Self {
        let replay = Replay { answered: answered.iter(), turn: 0, moved };
        Self { replay: Some(replay), ..Self::reading(inputs, inputs) }
    }

    pub(super) fn heard(self) -> Heard {
        Heard { fields: self.fields, answered: self.answered }
    }

    /// What the next question stands at by default is no example of an amplifier: it is usual for any, or says how the
    /// reader goes about it. `a.usual().quantity(…)`.
    pub fn usual(&mut self) -> &mut Self {
        self.usual = true;
        self
    }

    /// Whose value stands in a field that is about to be noted: `way` where the question is not about an amplifier at all
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

    // Kept out of line, as are the steps of a question: a calculator asks twenty times, and the browser pays for each.
    #[inline(never)]
    fn begin(
        &mut self,
        id: &'static str,
        symbol: &'static str,
        name: &'static str,
        default: Cow<'static, str>,
    ) {
        self.spec = Spec { id, symbol, name, default, ..Spec::default() };
    }

    /// Asks how many, from 1 to `most`.
    pub fn count(&mut self, id: &'static str, name: &'static str, default: &'static str, most: u32) -> u32 {
        self.begin(id, "", name, default.into());
        self.spec.whole = Some(most);
        let value = self.number(&ONE);
        // The range was checked; a refused text counts as the smallest number until it is mended.
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
        if let Some(Heeded::Choice(at)) = self.replayed() {
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
        self.answered.push(Heeded::Choice(at));
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

    /// Asks for words, such as the name of the sheet that a typed rating was read from.
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
    pub(super) fn typed(&self, id: &str) -> Option<&str> {
        self.inputs.get(id).map(String::as_str)
    }

    /// Leaves the field of a question that has no margin, and so none to answer when it is asked again.
    pub(super) fn note(&mut self, id: &str, field: impl FnOnce(Whose) -> Field) {
        if self.replay.is_none() {
            let whose = self.whose(id, false, true);
            self.fields.push(field(whose));
        }
    }

    fn replayed(&mut self) -> Option<Heeded> {
        let replay = self.replay.as_mut()?;
        let turn = replay.turn;
        replay.turn += 1;
        let answered = *replay.answered.next()?;
        Some(match (answered, replay.moved) {
            (Heeded::Number { value, half_width }, Some((at, end))) if at == turn => {
                let sign = if end == End::Low { -1.0 } else { 1.0 };
                Heeded::Number { value: value + sign * half_width, half_width }
            }
            (same, _) => same,
        })
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
        let spec = std::mem::take(&mut self.spec);
        if let Some(Heeded::Number { value, .. }) = self.replayed() {
            return value;
        }
        let default = read(&spec.default, unit, 0).ok();
        let shown = default.map_or(0, |default| default.prefix);
        let text = self.inputs.get(spec.id).map_or(&*spec.default, String::as_str).to_owned();
        let number = Number { spec: &spec, unit, shown };
        let (heard, problem) = match default.filter(|_| text == spec.default) {
            Some(read) => {
                debug_assert!(number.understood(&text).is_ok(), "{}: its default is refused", spec.id);
                (Some(read), None)
            }
            None => match number.understood(&text) {
                Ok(read) => (Some(read), None),
                Err(problem) => (None, Some(problem)),
            },
        };
        let typed = self.inputs.get(&tolerance_id(spec.id)).cloned();
        let tolerance = spec.tolerance.map(|usual| number.tolerance_field(usual, typed, heard.as_ref()));
        let value = heard.or(default).map_or(0.0, |read| read.value);
        let half_width = match (&heard, &tolerance) {
            (Some(read), Some((_, Some(tolerance)))) => tolerance.half_width(read),
            _ => 0.0,
        };
        self.answered.push(Heeded::Number { value, half_width });
        // What a hand turns stands somewhere in any amplifier.
        self.usual |= spec.slides;
        let whose = self.whose(spec.id, spec.slides, text == spec.default);
        self.fields.push(Field {
            id: spec.id,
            symbol: spec.symbol,
            name: spec.name,
            hint: spec.hint,
            kind: Kind::Number { unit: shown_unit(shown, unit), slides: spec.range.filter(|_| spec.slides) },
            text,
            reading: heard.map(|read| writing::repeated(read.value, unit)).unwrap_or_default(),
            whose,
            problem,
            tolerance: tolerance.map(|(field, _)| field),
        });
        value
    }
}

/// A number as the field shows it: in `unit`, with the prefix ten to the `shown`.
struct Number<'s> {
    spec: &'s Spec,
    unit: &'static Unit,
    shown: i32,
}

impl Number<'_> {
    /// Reads the text and holds it against the range.
    fn understood(&self, text: &str) -> Result<Read, Problem> {
        let Spec { name, default, whole, .. } = self.spec;
        let heard = read(text, self.unit, self.shown).map_err(|refusal| {
            let mut problem = Problem::refused(refusal, name, text, self.unit, default);
            problem.offers.retain(|offer| self.offered(offer));
            problem
        })?;
        if let Some(most) = whole
            && !(1..=*most).any(|count| f64::from(count) == heard.value)
        {
            let wrong = format!("it must be a whole number from 1 to {most}.");
            return Err(Problem::about(name, text, &wrong, vec![]));
        }
        if !self.in_range(heard.value) {
            return Err(self.out_of_range(text, heard));
        }
        self.asked_back(text, heard)
    }

    /// 0.038 in a field in mA is more likely 38 mA than 38 µA: ask back rather than guess.
    fn asked_back(&self, text: &str, heard: Read) -> Result<Read, Problem> {
        let magnitude = heard.value.abs();
        if self.shown == 0 || heard.explicit || magnitude == 0.0 || magnitude >= ten_to(self.shown) {
            return Ok(heard);
        }
        let base = magnitude.copysign(heard.value) / ten_to(self.shown);
        if !self.in_range(base) {
            return Ok(heard);
        }
        let shown = shown_unit(self.shown, self.unit);
        let (meant, literal) = (writing::bench(base, self.unit), format!("{} {shown}", text.trim()));
        let wrong = format!("a bare number here is in {shown}. Is it {meant}, or {literal}?");
        Err(Problem::about(self.spec.name, text, &wrong, vec![meant, literal]))
    }

    fn in_range(&self, value: f64) -> bool {
        self.limits().is_none_or(|(low, high)| (low..=high).contains(&value))
    }

    fn limits(&self) -> Option<(f64, f64)> {
        let (low, high) = self.spec.range?;
        Some((read(low, self.unit, 0).ok()?.value, read(high, self.unit, 0).ok()?.value))
    }

    fn offered(&self, offer: &str) -> bool {
        read(offer, self.unit, self.shown).is_ok_and(|read| self.in_range(read.value))
    }

    /// Says between what the value must lie, and offers what may have been meant: the other sign, another prefix.
    fn out_of_range(&self, text: &str, heard: Read) -> Problem {
        let (low, high) = self.limits().unwrap_or_default();
        let wrong = format!(
            "it must lie between {} and {}.",
            writing::repeated(low, self.unit),
            writing::repeated(high, self.unit)
        );
        let mut offers = vec![writing::bench(-heard.value, self.unit)];
        if !heard.explicit {
            let bare = heard.value / ten_to(heard.prefix);
            let powers = std::iter::once(0).chain(PREFIXES.iter().map(|(_, power)| *power));
            offers.extend(powers.map(|power| writing::bench(bare * ten_to(power), self.unit)));
        }
        offers.retain(|offer| self.offered(offer));
        offers.dedup();
        offers.truncate(2);
        Problem::about(self.spec.name, text, &wrong, offers)
    }

    /// The tolerance typed beside the value; a tolerance letter in the value itself goes before both.
    fn tolerance_field(
        &self,
        usual: &str,
        typed: Option<String>,
        heard: Option<&Read>,
    ) -> (ToleranceField, Option<Tolerance>) {
        let marked = heard.and_then(|read| read.tolerance).map(|per_cent| format!("{per_cent} %"));
        let text = marked.or(typed).unwrap_or_else(|| usual.to_owned());
        let (tolerance, problem) = match Tolerance::read(&text, self.unit, self.shown) {
            Ok(tolerance) => (Some(tolerance), None),
            Err(refusal) => {
                let name = format!("{}, how far off", self.spec.name);
                let example = format!("{usual}, or as 0.5 % + 2 digits");
                (None, Some(Problem::refused(refusal, &name, &text, &PER_CENT, &example)))
            }
        };
        (ToleranceField { text, problem }, tolerance)
    }
}

/// The prefix and symbol that a bare number takes, as `mA`.
fn shown_unit(shown: i32, unit: &Unit) -> String {
    let prefix = PREFIXES.iter().find(|(_, power)| *power == shown).map(|(letter, _)| *letter);
    let prefix = prefix.map(|letter| if letter == 'u' { 'µ' } else { letter });
    format!("{}{}", prefix.map(String::from).unwrap_or_default(), unit.symbol)
}
