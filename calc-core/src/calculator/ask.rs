//! One function of a calculator both describes its inputs and reads them: it is given an [`Ask`] and asks.
//!
//! The first time, the texts typed are read, and every question leaves a [`Field`]. For the margins the same function
//! is run again; then each question is answered from what was read, with one value moved to the end of its tolerance.
//! Which questions are asked may depend on a choice, never on a number, so that both runs ask the same.

use std::borrow::Cow;
use std::marker::PhantomData;

use super::Inputs;
use super::field::{Choice, Field, Kind, ToleranceField, tolerance_id};
use super::problem::{Problem, or};
use crate::margin::End;
use crate::quantity::notation::{Read, read};
use crate::quantity::tolerance::Tolerance;
use crate::quantity::unit::{ONE, PER_CENT, PREFIXES, Unit};
use crate::quantity::{Quantity, Ratio, writing};

/// Asks for the inputs of a calculator.
pub struct Ask<'a> {
    inputs: &'a Inputs,
    fields: Vec<Field>,
    answered: Vec<Answered>,
    replay: Option<Replay<'a>>,
}

/// What a question was answered with.
#[derive(Debug, Clone, Copy)]
pub(super) enum Answered {
    Number { value: f64, half_width: f64 },
    Choice(usize),
}

struct Replay<'a> {
    answered: std::slice::Iter<'a, Answered>,
    turn: usize,
    moved: Option<(usize, End)>,
}

/// What a first run found: the fields, and what each question was answered with.
pub(super) struct Heard {
    pub(super) fields: Vec<Field>,
    pub(super) answered: Vec<Answered>,
}

impl Heard {
    /// The questions whose answers may be off, by their place.
    pub(super) fn uncertain(&self) -> Vec<usize> {
        let off = |answered: &Answered| matches!(answered, Answered::Number { half_width, .. } if *half_width > 0.0);
        self.answered.iter().enumerate().filter(|(_, answered)| off(answered)).map(|(at, _)| at).collect()
    }
}

impl<'a> Ask<'a> {
    pub(super) fn reading(inputs: &'a Inputs) -> Self {
        Self { inputs, fields: Vec::new(), answered: Vec::new(), replay: None }
    }

    pub(super) fn again(inputs: &'a Inputs, answered: &'a [Answered], moved: Option<(usize, End)>) -> Self {
        let replay = Replay { answered: answered.iter(), turn: 0, moved };
        Self { inputs, fields: Vec::new(), answered: Vec::new(), replay: Some(replay) }
    }

    pub(super) fn heard(self) -> Heard {
        Heard { fields: self.fields, answered: self.answered }
    }

    /// Asks for a quantity. The default is written as one would type it: its prefix (`34 mA`) is the unit that a bare
    /// number takes.
    pub fn quantity<Q: Quantity>(
        &mut self,
        id: &'static str,
        symbol: &'static str,
        name: &'static str,
        default: impl Into<Cow<'static, str>>,
    ) -> Question<'_, 'a, Q> {
        Question::new(self, id, symbol, name, Q::UNIT, default.into())
    }

    /// Asks for a share in per cent.
    pub fn share(
        &mut self,
        id: &'static str,
        symbol: &'static str,
        name: &'static str,
        default: &'static str,
    ) -> Question<'_, 'a, Ratio> {
        Question::new(self, id, symbol, name, &PER_CENT, default.into())
    }

    /// Asks how many, from 1 to `most`.
    pub fn count(&mut self, id: &'static str, name: &'static str, default: &'static str, most: u32) -> u32 {
        let mut question = Question::<Ratio>::new(self, id, "", name, &ONE, default.into());
        question.whole = Some(most);
        // The range was checked; a refused text counts as the smallest number until it is mended.
        let value = question.number();
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
        let listed = || options.iter().map(|(id, label, _)| ((*id).to_owned(), (*label).to_owned())).collect();
        let at = self.one_of(id, name, hint, options[0].0, listed);
        options[at.min(N - 1)].2
    }

    /// Asks for one of a list of ids and labels; gives its place in the list.
    pub fn one_of(
        &mut self,
        id: &'static str,
        name: &'static str,
        hint: &'static str,
        default: &'static str,
        listed: impl FnOnce() -> Vec<(String, String)>,
    ) -> usize {
        if let Some(Answered::Choice(at)) = self.replayed() {
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
        self.answered.push(Answered::Choice(at));
        self.fields.push(Field {
            id,
            symbol: "",
            name,
            hint,
            kind: Kind::Choice(choices),
            text,
            default: default.to_owned(),
            reading: reading.unwrap_or_default(),
            problem,
            tolerance: None,
        });
        at
    }

    /// Asks for words, such as the name of the sheet that a typed rating was read from.
    pub fn words(&mut self, id: &'static str, name: &'static str, hint: &'static str, default: &'static str) -> String {
        let text = self.inputs.get(id).map_or(default, String::as_str).to_owned();
        if self.replay.is_none() {
            self.fields.push(Field {
                id,
                symbol: "",
                name,
                hint,
                kind: Kind::Words,
                text: text.clone(),
                default: default.to_owned(),
                reading: text.clone(),
                problem: None,
                tolerance: None,
            });
        }
        text
    }

    fn replayed(&mut self) -> Option<Answered> {
        let replay = self.replay.as_mut()?;
        let turn = replay.turn;
        replay.turn += 1;
        let answered = *replay.answered.next()?;
        Some(match (answered, replay.moved) {
            (Answered::Number { value, half_width }, Some((at, end))) if at == turn => {
                let sign = if end == End::Low { -1.0 } else { 1.0 };
                Answered::Number { value: value + sign * half_width, half_width }
            }
            (same, _) => same,
        })
    }
}

/// A number being asked for; [`Question::get`] asks it.
pub struct Question<'q, 'a, Q> {
    ask: &'q mut Ask<'a>,
    id: &'static str,
    symbol: &'static str,
    name: &'static str,
    hint: &'static str,
    unit: &'static Unit,
    default: Cow<'static, str>,
    range: Option<(&'static str, &'static str)>,
    tolerance: Option<&'static str>,
    whole: Option<u32>,
    quantity: PhantomData<Q>,
}

impl<'q, 'a, Q: Quantity> Question<'q, 'a, Q> {
    fn new(
        ask: &'q mut Ask<'a>,
        id: &'static str,
        symbol: &'static str,
        name: &'static str,
        unit: &'static Unit,
        default: Cow<'static, str>,
    ) -> Self {
        let quantity = PhantomData;
        Self { ask, id, symbol, name, hint: "", unit, default, range: None, tolerance: None, whole: None, quantity }
    }

    /// Where it is read or found, for the reader.
    #[must_use]
    pub fn hint(mut self, hint: &'static str) -> Self {
        self.hint = hint;
        self
    }

    /// What lies outside is refused, with both ends named.
    #[must_use]
    pub fn within(mut self, low: &'static str, high: &'static str) -> Self {
        self.range = Some((low, high));
        self
    }

    /// The value may be off: by this, unless the reader types another tolerance.
    #[must_use]
    pub fn tolerance(mut self, tolerance: &'static str) -> Self {
        self.tolerance = Some(tolerance);
        self
    }

    /// Asks. A text that cannot be used leaves its problem in the field, and the default in its place.
    #[must_use]
    pub fn get(self) -> Q {
        Q::of(self.number())
    }

    fn number(self) -> f64 {
        if let Some(Answered::Number { value, .. }) = self.ask.replayed() {
            return value;
        }
        let default = read(&self.default, self.unit, 0).ok();
        let shown = default.map_or(0, |default| default.prefix);
        let text = self.ask.inputs.get(self.id).cloned().unwrap_or_else(|| self.default.to_string());
        let (heard, problem) = match self.understood(&text, shown) {
            Ok(read) => (Some(read), None),
            Err(problem) => (None, Some(problem)),
        };
        let tolerance = self.tolerance.map(|usual| self.tolerance_field(usual, heard.as_ref(), shown));
        let value = heard.or(default).map_or(0.0, |read| read.value);
        let half_width = match (&heard, &tolerance) {
            (Some(read), Some((_, Some(tolerance)))) => tolerance.half_width(read),
            _ => 0.0,
        };
        self.ask.answered.push(Answered::Number { value, half_width });
        self.ask.fields.push(Field {
            id: self.id,
            symbol: self.symbol,
            name: self.name,
            hint: self.hint,
            kind: Kind::Number { unit: shown_unit(shown, self.unit) },
            text,
            default: self.default.into_owned(),
            reading: heard.map(|read| writing::repeated(read.value, self.unit)).unwrap_or_default(),
            problem,
            tolerance: tolerance.map(|(field, _)| field),
        });
        value
    }

    /// Reads the text and holds it against the range.
    fn understood(&self, text: &str, shown: i32) -> Result<Read, Problem> {
        let heard = read(text, self.unit, shown).map_err(|refusal| {
            let mut problem = Problem::refused(refusal, self.name, text, self.unit, &self.default);
            problem.offers.retain(|offer| self.offered(offer, shown));
            problem
        })?;
        if let Some(most) = self.whole
            && !(1..=most).any(|count| f64::from(count) == heard.value)
        {
            let wrong = format!("it must be a whole number from 1 to {most}.");
            return Err(Problem::about(self.name, text, &wrong, vec![]));
        }
        if !self.in_range(heard.value) {
            return Err(self.out_of_range(text, heard));
        }
        // 0.038 in a field in mA is more likely 38 mA than 38 µA: ask back rather than guess.
        let typed = text.trim();
        let as_base = format!("{typed} {}", self.unit.symbol);
        if shown != 0 && !heard.explicit && 0.0 < heard.value.abs() && heard.value.abs() < scale(shown) {
            if let Ok(base) = read(&as_base, self.unit, shown)
                && self.in_range(base.value)
            {
                let meant = writing::bench(base.value, self.unit);
                let literal = format!("{typed} {}", shown_unit(shown, self.unit));
                let wrong = format!("a bare number here is in {}. Is it {meant}, or {literal}?", shown_unit(shown, self.unit));
                return Err(Problem::about(self.name, typed, &wrong, vec![meant, literal]));
            }
        }
        Ok(heard)
    }

    fn in_range(&self, value: f64) -> bool {
        self.limits().is_none_or(|(low, high)| (low..=high).contains(&value))
    }

    fn limits(&self) -> Option<(f64, f64)> {
        let (low, high) = self.range?;
        Some((read(low, self.unit, 0).ok()?.value, read(high, self.unit, 0).ok()?.value))
    }

    fn offered(&self, offer: &str, shown: i32) -> bool {
        read(offer, self.unit, shown).is_ok_and(|read| self.in_range(read.value))
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
            let shown = scale(heard.prefix);
            let powers = std::iter::once(0).chain(PREFIXES.iter().map(|(_, power)| *power));
            offers.extend(powers.map(|power| writing::bench(heard.value / shown * scale(power), self.unit)));
        }
        offers.retain(|offer| self.offered(offer, 0));
        offers.dedup();
        offers.truncate(2);
        Problem::about(self.name, text, &wrong, offers)
    }

    /// The tolerance typed beside the value; a tolerance letter in the value itself goes before both.
    fn tolerance_field(&self, usual: &str, heard: Option<&Read>, shown: i32) -> (ToleranceField, Option<Tolerance>) {
        let typed = self.ask.inputs.get(&tolerance_id(self.id)).cloned();
        let marked = heard.and_then(|read| read.tolerance).map(|per_cent| format!("{per_cent} %"));
        let text = marked.or(typed).unwrap_or_else(|| usual.to_owned());
        let name = format!("{}, how far off", self.name);
        let (tolerance, problem) = match Tolerance::read(&text, self.unit, shown) {
            Ok(tolerance) => (Some(tolerance), None),
            Err(refusal) => {
                let example = format!("{usual}, or as 0.5 % + 2 digits");
                (None, Some(Problem::refused(refusal, &name, &text, &PER_CENT, &example)))
            }
        };
        (ToleranceField { text, default: usual.to_owned(), problem }, tolerance)
    }
}

/// The prefix and symbol that a bare number takes, as `mA`.
fn shown_unit(shown: i32, unit: &Unit) -> String {
    let prefix = PREFIXES.iter().find(|(_, power)| *power == shown).map(|(letter, _)| *letter);
    let prefix = prefix.map(|letter| if letter == 'u' { 'µ' } else { letter });
    format!("{}{}", prefix.map(String::from).unwrap_or_default(), unit.symbol)
}

/// Ten to the power of a prefix.
fn scale(power: i32) -> f64 {
    format!("1e{power}").parse().unwrap_or(1.0)
}
