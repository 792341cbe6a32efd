//! What can be known of an amplifier: one table, from which follow the survey's form, the calculators' inputs, and where
//! an answer or a reading goes. No value has a default: what is unknown stays unknown.
//!
//! ```
//! let known = job::values::find("anode-voltage").unwrap();
//! assert!(known.fills.contains(&"dissipation.anode-voltage"));
//! assert_eq!(known.read("438").unwrap(), "438 V");
//! ```

mod table;

use calc_core::calculator::Problem;
use calc_core::nearest;

use crate::Job;
use crate::length::{LINE, is_longer};
use crate::unit::{Measure, measure};
pub use table::KNOWN;

/// A value that a job can hold.
#[derive(Debug, PartialEq, Eq)]
pub struct Known {
    /// Its name in the file, in blocks (`feeds`) and in limits (`job.NAME`); never changed once published.
    pub id: &'static str,
    /// What it is, in words.
    pub label: &'static str,
    /// Where it is read or found; may be empty.
    pub hint: &'static str,
    /// Where in the survey it belongs.
    pub group: Group,
    /// What may be in it.
    pub kind: Kind,
    /// Whether it is read off a live amplifier: then any change of the amplifier makes it stale. What is marked on a part
    /// or a rating plate stays true until that part is another.
    pub measured: bool,
    /// More than this is no such value: a slip of the finger must not open a gate.
    pub most: Option<&'static str>,
    /// The only numbers that it may be; any where there are none.
    pub only: &'static [&'static str],
    /// The fields it goes into, each `calculator.field`.
    pub fills: &'static [&'static str],
    /// The answers that can be kept in it, each `calculator.answer`.
    pub kept_from: &'static [&'static str],
}

/// The parts of the survey, in the order of the bench.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Group {
    /// Inlet, lead, fuse, earth.
    Mains,
    /// What the amplifier drives.
    Load,
    /// Rectifier, reservoir, high tension.
    Supply,
    /// Output valves and their readings.
    Output,
    /// What holds the grids.
    Grids,
    /// Phase inverter and feedback.
    Inverter,
    /// A control being fitted.
    Control,
}

impl Group {
    /// All of them, in order.
    pub const ALL: [Self; 7] =
        [Self::Mains, Self::Load, Self::Supply, Self::Output, Self::Grids, Self::Inverter, Self::Control];

    /// Its name in the page.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Mains => "mains",
            Self::Load => "load",
            Self::Supply => "supply",
            Self::Output => "output",
            Self::Grids => "grids",
            Self::Inverter => "inverter",
            Self::Control => "control",
        }
    }

    /// The heading over its fields in the survey.
    #[must_use]
    pub const fn title(self) -> &'static str {
        match self {
            Self::Mains => "Mains and earth",
            Self::Load => "Load",
            Self::Supply => "Supply",
            Self::Output => "Output valves",
            Self::Grids => "Grids and bias",
            Self::Inverter => "Phase inverter and feedback",
            Self::Control => "A control being fitted",
        }
    }
}

/// What the limits of the staged power-up are worked out from, but for what it reads on its way; the last ones with fixed bias
/// only. A test holds it against the page.
const FOR_POWER_UP: [&str; 12] = [
    "mains-marked",
    "lamp-power",
    "lamp-voltage",
    "load",
    "rated-power",
    "output-valve",
    "idle-expected",
    "idle-stop",
    "bias-feed",
    "meter-resistance",
    "grid-leak",
    "bias-expected",
];
/// How many of them, from the end, are asked with fixed bias only.
const OF_FIXED_BIAS: usize = 3;

/// The values of a job that the staged power-up needs before it can be gone through.
#[must_use]
pub fn for_power_up(job: &Job) -> Vec<&'static Known> {
    let is_cathode = job.values.get("bias-kind").is_some_and(|kind| kind.text == "cathode");
    let count = FOR_POWER_UP.len() - if is_cathode { OF_FIXED_BIAS } else { 0 };
    FOR_POWER_UP.iter().take(count).filter_map(|id| find(id).ok()).collect()
}

/// What may be in a value.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// A number; the unit is the one that a bare number takes, as `mA`. Empty for a plain number.
    Number(&'static str),
    /// The same, and never above zero: a number without its sign, or with the wrong one, is asked back.
    Negative(&'static str),
    /// One of these: id and label.
    Choice(&'static [(&'static str, &'static str)]),
    /// One of the choices of this `calculator.field`.
    ChoiceOf(&'static str),
    /// Any words, up to the length of a line.
    Words,
}

/// Choices that were called otherwise before version 4 of the file of a job: value, old and new id.
const RENAMED: [(&str, &str, &str); 1] = [("standby", "switch", "dc")];

/// There is no such value.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("no value of a job is called “{id}”{}", nearest.map(|name| format!("; is it “{name}”?")).unwrap_or_default())]
pub struct UnknownValue {
    /// What was asked for.
    pub id: String,
    /// The nearest name there is.
    pub nearest: Option<&'static str>,
}

/// The value with this name.
///
/// # Errors
/// [`UnknownValue`], with the nearest name there is.
pub fn find(id: &str) -> Result<&'static Known, UnknownValue> {
    KNOWN.iter().find(|known| known.id == id).ok_or_else(|| UnknownValue {
        id: id.to_owned(),
        nearest: nearest(id, KNOWN.iter().map(|known| known.id)),
    })
}

/// The values that go into a calculator, each with the field it fills.
pub fn of_calculator(calculator: &str) -> impl Iterator<Item = (&'static Known, &'static str)> {
    KNOWN.iter().flat_map(|known| known.fills.iter().map(move |fills| (known, *fills))).filter_map(
        move |(known, fills)| {
            fills.split_once('.').filter(|(name, _)| *name == calculator).map(|(_, field)| (known, field))
        },
    )
}

/// The value that an answer of a calculator can be kept in.
#[must_use]
pub fn keeping(calculator: &str, answer: &str) -> Option<&'static Known> {
    let is_it = |from: &str| from.split_once('.') == Some((calculator, answer));
    KNOWN.iter().find(|known| known.kept_from.iter().any(|from| is_it(from)))
}

impl Known {
    /// The text as it is kept: with its unit, so that it means the same in every field it fills. Empty is no value.
    ///
    /// # Errors
    /// What is wrong with it, with texts that would be right. The choices of another calculator's field ([`Kind::ChoiceOf`])
    /// are not looked up here: that field says so itself.
    pub fn read(&self, text: &str) -> Result<String, Problem> {
        let text = text.trim();
        if text.is_empty() {
            return Err(Problem { message: format!("{} is empty.", self.label), offers: vec![] });
        }
        if is_longer(text, LINE) {
            let message = format!("{} is longer than {LINE} characters. Shorten it.", self.label);
            return Err(Problem { message, offers: vec![] });
        }
        match self.kind {
            Kind::Words | Kind::ChoiceOf(_) => Ok(text.to_owned()),
            Kind::Choice(choices) => self.chosen(text, choices),
            Kind::Number(unit) => {
                let measure = self.measure(unit);
                let parsed = measure.parse(self.label, text)?;
                if let Some(most) = self.most
                    && let Ok(limit) = measure.parse(self.label, most)
                    && parsed.si > limit.si
                {
                    let message = format!(
                        "{}: “{text}” is more than any valve here can carry; the most is {most}.",
                        self.label
                    );
                    return Err(Problem { message, offers: vec![] });
                }
                if self.only.is_empty() {
                    return Ok(parsed.canonical);
                }
                let same = |one: &&&str| measure.parse("", one).is_ok_and(|one| one.si == parsed.si);
                self.only.iter().find(same).map(|one| (*one).to_owned()).ok_or_else(|| Problem {
                    message: format!(
                        "{}: “{text}” cannot be used; it is one of {}.",
                        self.label,
                        self.only.join(", ")
                    ),
                    offers: self.only.iter().map(|one| (*one).to_owned()).collect(),
                })
            }
            Kind::Negative(unit) => {
                let measure = self.measure(unit);
                let parsed = measure.parse(self.label, text)?;
                if parsed.si > 0.0 {
                    let below = measure.repeated(-parsed.si);
                    let message = if parsed.unsigned() {
                        format!("{}: no sign was typed. Is it {below}?", self.label)
                    } else {
                        format!(
                            "{}: “{text}” is above zero, and this is always below. Is it {below}?",
                            self.label
                        )
                    };
                    let offers = parsed.asked_back(self.label).offers.into_iter().take(1);
                    return Err(Problem { message, offers: offers.collect() });
                }
                Ok(parsed.canonical)
            }
        }
    }

    /// Whether it fills a field of a calculator.
    #[must_use]
    pub fn goes_into(&self, calculator: &str) -> bool {
        self.fills.iter().any(|fills| fills.split_once('.').is_some_and(|(name, _)| name == calculator))
    }

    /// Whether it is a number.
    #[must_use]
    pub const fn is_a_number(&self) -> bool {
        matches!(self.kind, Kind::Number(_) | Kind::Negative(_))
    }

    /// What is kept, in words: the label of a choice, any other text as it is.
    #[must_use]
    pub fn label_of<'t>(&self, text: &'t str) -> &'t str {
        match self.kind {
            Kind::Choice(choices) => {
                choices.iter().find(|(id, _)| *id == text).map_or(text, |(_, label)| *label)
            }
            _ => text,
        }
    }

    /// The unit that a bare number takes; empty where it takes none.
    #[must_use]
    pub const fn unit(&self) -> &'static str {
        match self.kind {
            Kind::Number(unit) | Kind::Negative(unit) => unit,
            _ => "",
        }
    }

    /// What the value is measured in.
    fn measure(&self, unit: &'static str) -> Measure {
        // The table's own test finds a unit that there is not; until then a plain number represents it.
        measure(unit).unwrap_or_default()
    }

    fn chosen(&self, text: &str, choices: &[(&str, &str)]) -> Result<String, Problem> {
        let renamed = RENAMED.iter().find(|(id, old, _)| *id == self.id && *old == text);
        let text = renamed.map_or(text, |(_, _, new)| new);
        let found = choices
            .iter()
            .find(|(id, label)| id.eq_ignore_ascii_case(text) || label.eq_ignore_ascii_case(text));
        found.map(|(id, _)| (*id).to_owned()).ok_or_else(|| {
            let ids: Vec<&str> = choices.iter().map(|(id, _)| *id).collect();
            Problem {
                message: format!(
                    "{}: “{text}” cannot be used; the choices are {}.",
                    self.label,
                    ids.join(", ")
                ),
                offers: nearest(text, ids.iter().copied()).map(str::to_owned).into_iter().collect(),
            }
        })
    }
}

#[cfg(test)]
mod tests;
