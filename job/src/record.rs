//! The record of one amplifier: values, readings, ticks, changes, notes, photographs.
//!
//! Readings are only ever added; the last of the same procedure, reading and blank counts. Order is kept by numbers (the
//! run, how many changes came before), never by the clock, which a tablet may set back.

use std::collections::BTreeMap;

use calc_core::calculator::{Inputs, Problem};
use serde::{Deserialize, Serialize};

use crate::Time;
use crate::values::{self, Known, UnknownValue};

/// One amplifier on the bench.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, Default)]
#[serde(deny_unknown_fields)]
pub struct Job {
    /// Its name among jobs, random, given by the browser.
    pub id: String,
    /// What it is called.
    pub label: String,
    /// Whose it is, in the shop's own words; may be empty.
    pub owner_ref: String,
    /// When the job was begun.
    pub made: Time,
    /// When it last changed.
    pub changed: Time,
    /// What is known of the amplifier, by the ids of [`values::KNOWN`].
    pub values: BTreeMap<String, Value>,
    /// Everything that was read, in order.
    pub readings: Vec<Taken>,
    /// Ticks, by `procedure#tick`.
    pub ticks: BTreeMap<String, Tick>,
    /// Branches taken, by `procedure#choice`.
    pub choices: BTreeMap<String, Choice>,
    /// Why a soft gate was passed, in order.
    pub reasons: Vec<Reason>,
    /// What was done to the amplifier, in order.
    pub changes: Vec<Change>,
    /// What was written down, in order.
    pub notes: Vec<Note>,
    /// What the owner is advised, in order.
    pub advice: Vec<Note>,
    /// Photographs, in order.
    pub photos: Vec<Photo>,
    /// The run of each procedure and where one stopped, by procedure.
    pub places: BTreeMap<String, Place>,
}

/// A value of the amplifier.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Value {
    /// As it is kept: with its unit.
    pub text: String,
    /// When.
    pub at: Time,
    /// How it came here.
    pub from: From,
    /// How many changes had been made to the amplifier by then.
    pub after: usize,
}

/// Where a value came from.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub enum From {
    /// Somebody typed it.
    Typed,
    /// A calculator's answer.
    Answer {
        /// The calculator.
        calculator: String,
        /// The block on the page.
        block: String,
        /// The page.
        page: String,
    },
    /// A reading of a procedure.
    Reading {
        /// The procedure's page.
        procedure: String,
        /// The reading.
        reading: String,
    },
}

/// A reading that was taken.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Taken {
    /// The procedure's page, as `power-up/first-power-up.html`.
    pub procedure: String,
    /// The step, as `step-5`.
    pub step: String,
    /// The reading's id.
    pub reading: String,
    /// Which of its blanks; empty where there is one.
    pub blank: String,
    /// What was read, in words.
    pub quantity: String,
    /// As it was typed.
    pub text: String,
    /// What a bare number was in; `seen` for a judgement by eye.
    pub unit: String,
    /// When.
    pub at: Time,
    /// How it stood to its limits.
    pub judged: Judged,
    /// The limits it was held against, in words; empty where there were none.
    pub range: String,
    /// The run of the procedure; 0 for none, as of a reading that was adopted from a link. It opens no gate.
    pub run: u32,
    /// How many changes had been made to the amplifier by then.
    pub after: usize,
}

/// How a reading stood to its limits when it was taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Judged {
    /// In range.
    InRange,
    /// Outside what was expected, to the side that harms nothing.
    Noted,
    /// Out of range.
    Stop,
    /// Something that the limit needs was not known.
    CannotTell,
    /// It has no limits.
    Recorded,
}

impl Judged {
    /// Whether it passes a gate.
    #[must_use]
    pub const fn passes(self) -> bool {
        matches!(self, Self::InRange | Self::Noted)
    }

    /// The words for it.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::InRange => "in range",
            Self::Noted => "noted",
            Self::Stop => "STOP",
            Self::CannotTell => "cannot tell",
            Self::Recorded => "recorded",
        }
    }
}

/// A tick.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Tick {
    /// Whether it stands; one that was taken back stays, so that the other tab learns of it.
    pub done: bool,
    /// When.
    pub at: Time,
    /// The run of the procedure.
    pub run: u32,
}

/// A branch that was taken.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Choice {
    /// The option's id.
    pub option: String,
    /// When.
    pub at: Time,
    /// The run of the procedure.
    pub run: u32,
}

/// Why a soft gate was passed; the sheet shows it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Reason {
    /// The procedure's page.
    pub procedure: String,
    /// The step.
    pub step: String,
    /// The reading or tick that it stands for.
    pub item: String,
    /// What the reading was of, or what the tick says.
    pub about: String,
    /// The reason.
    pub text: String,
    /// When.
    pub at: Time,
    /// The run of the procedure.
    pub run: u32,
}

/// Something that was done to the amplifier.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Change {
    /// When.
    pub at: Time,
    /// What kind.
    pub kind: ChangeKind,
    /// What: `coupling capacitor`.
    pub what: String,
    /// Where: `C7, side A`; may be empty.
    pub place: String,
    /// What is there now: `100 nF 630 V`; may be empty.
    pub value: String,
    /// What was there before; may be empty.
    pub before: String,
    /// Where what was taken out is kept; may be empty.
    pub kept: String,
}

/// What kind of change.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum ChangeKind {
    /// Something new is in.
    Fitted,
    /// Something is out.
    TakenOut,
    /// Something is set otherwise: a trimmer, a selector.
    Set,
    /// Something new is in where something was.
    Swapped,
}

/// Something written down.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Note {
    /// When.
    pub at: Time,
    /// What.
    pub text: String,
}

/// A photograph. The picture itself lies beside the job in the browser and inside it in a file.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Photo {
    /// Its name in this job.
    pub id: String,
    /// What it shows.
    pub caption: String,
    /// When.
    pub at: Time,
    /// Its media type, `image/jpeg`.
    pub media: String,
    /// In pixels.
    pub width: u32,
    /// In pixels.
    pub height: u32,
    /// The picture in base64 (RFC 4648, 4); only in a file.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bytes: Option<String>,
}

/// A run of a procedure.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Place {
    /// Which run it is, from 1.
    pub run: u32,
    /// When it was begun.
    pub begun: Time,
    /// The step where one stopped.
    pub step: String,
    /// When one was there.
    pub at: Time,
}

/// What a job puts into a calculator.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Filled {
    /// The inputs, by field.
    pub inputs: Inputs,
    /// The fields among them whose value is older than a change of the amplifier, with that value.
    pub stale: Vec<(&'static str, &'static Known)>,
    /// The fields that the job could fill and does not know, with the value.
    pub missing: Vec<(&'static str, &'static Known)>,
}

/// Why a value was not taken.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum NotTaken {
    /// There is no such value.
    #[error(transparent)]
    Unknown(#[from] UnknownValue),
    /// The text cannot be used; the problem has texts that would be right.
    #[error("{}", .0.message)]
    Problem(Problem),
}

impl Job {
    /// A job that has just been begun.
    #[must_use]
    pub fn new(id: &str, label: &str, at: Time) -> Self {
        Self { id: id.to_owned(), label: label.to_owned(), made: at, changed: at, ..Self::default() }
    }

    /// Sets a value.
    ///
    /// # Errors
    /// [`NotTaken`]; the job is as it was.
    pub fn set(&mut self, id: &str, text: &str, from: From, at: Time) -> Result<(), NotTaken> {
        let text = values::find(id)?.read(text).map_err(NotTaken::Problem)?;
        let after = self.changes.len();
        self.values.insert(id.to_owned(), Value { text, at, from, after });
        self.changed = at;
        Ok(())
    }

    /// Takes a value out: it is unknown again.
    pub fn forget(&mut self, id: &str, at: Time) {
        self.values.remove(id);
        self.changed = at;
    }

    /// Whether a value was read off the amplifier before it was last changed.
    #[must_use]
    pub fn is_stale(&self, id: &str) -> bool {
        let measured = values::find(id).is_ok_and(|known| known.measured);
        measured && self.values.get(id).is_some_and(|value| value.after < self.changes.len())
    }

    /// What this job puts into a calculator.
    #[must_use]
    pub fn inputs_for(&self, calculator: &str) -> Filled {
        let mut filled = Filled::default();
        for (known, field) in values::of_calculator(calculator) {
            match self.values.get(known.id) {
                Some(value) => {
                    filled.inputs.insert(field.to_owned(), value.text.clone());
                    if self.is_stale(known.id) {
                        filled.stale.push((field, known));
                    }
                }
                None => filled.missing.push((field, known)),
            }
        }
        filled
    }

    /// Begins a procedure, or begins it anew: readings of earlier runs open nothing any more.
    pub fn begin(&mut self, procedure: &str, first_step: &str, at: Time) {
        let run = self.run(procedure).saturating_add(1);
        let place = Place { run, begun: at, step: first_step.to_owned(), at };
        self.places.insert(procedure.to_owned(), place);
        self.changed = at;
    }

    /// The run of a procedure; 0 where it was never begun.
    #[must_use]
    pub fn run(&self, procedure: &str) -> u32 {
        self.places.get(procedure).map_or(0, |place| place.run)
    }

    /// Keeps at which step of a procedure one is.
    pub fn stop_at(&mut self, procedure: &str, step: &str, at: Time) {
        if let Some(place) = self.places.get_mut(procedure) {
            step.clone_into(&mut place.step);
            place.at = at;
            self.changed = at;
        }
    }

    /// The last reading of a blank, of whatever run.
    #[must_use]
    pub fn last(&self, procedure: &str, reading: &str, blank: &str) -> Option<&Taken> {
        let is_it =
            |taken: &&Taken| taken.procedure == procedure && taken.reading == reading && taken.blank == blank;
        self.readings.iter().rev().find(is_it)
    }

    /// Ticks, or takes the tick back.
    pub fn tick(&mut self, procedure: &str, tick: &str, done: bool, at: Time) {
        let run = self.run(procedure);
        self.ticks.insert(key(procedure, tick), Tick { done, at, run });
        self.changed = at;
    }

    /// Whether something is ticked in this run.
    #[must_use]
    pub fn is_ticked(&self, procedure: &str, tick: &str) -> bool {
        let run = self.run(procedure);
        run > 0 && self.ticks.get(&key(procedure, tick)).is_some_and(|tick| tick.done && tick.run == run)
    }

    /// Takes a branch.
    pub fn choose(&mut self, procedure: &str, choice: &str, option: &str, at: Time) {
        let run = self.run(procedure);
        self.choices.insert(key(procedure, choice), Choice { option: option.to_owned(), at, run });
        self.changed = at;
    }

    /// The branch taken in this run.
    #[must_use]
    pub fn chosen(&self, procedure: &str, choice: &str) -> Option<&str> {
        let run = self.run(procedure);
        let chosen = self.choices.get(&key(procedure, choice));
        chosen.filter(|chosen| run > 0 && chosen.run == run).map(|chosen| chosen.option.as_str())
    }

    /// Writes down a change of the amplifier. What was measured before it is stale from now on.
    pub fn change(&mut self, change: Change) {
        self.changed = change.at;
        self.changes.push(change);
    }

    /// Whether a reading was taken before the first change.
    #[must_use]
    pub const fn is_before(&self, taken: &Taken) -> bool {
        taken.after == 0
    }

    /// Whether a reading was taken after the last change.
    #[must_use]
    pub const fn is_after(&self, taken: &Taken) -> bool {
        !self.changes.is_empty() && taken.after == self.changes.len()
    }

    /// Writes something down.
    pub fn note(&mut self, text: &str, at: Time) {
        self.notes.push(Note { at, text: text.to_owned() });
        self.changed = at;
    }

    /// Writes down what the owner is advised.
    pub fn advise(&mut self, text: &str, at: Time) {
        self.advice.push(Note { at, text: text.to_owned() });
        self.changed = at;
    }
}

/// The name of an item of a procedure in the maps of a job.
fn key(procedure: &str, item: &str) -> String {
    format!("{procedure}#{item}")
}

#[cfg(test)]
mod tests;
