//! The record of one amplifier: values, readings, ticks, changes, notes, photographs.
//!
//! Readings are only ever added; the last of the same procedure, reading and blank counts. Order is kept by numbers (the
//! run, how many changes came before), never by the clock, which a tablet may set back.

mod deeds;

use std::collections::BTreeMap;

use calc_core::calculator::Inputs;
use serde::{Deserialize, Serialize};

use crate::Time;
use crate::procedure::Purpose;
use crate::values::Known;
pub use deeds::NotTaken;
pub(crate) use deeds::value_key;

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
    /// What is known of the amplifier, by the ids of [`crate::values::KNOWN`].
    pub values: BTreeMap<String, Value>,
    /// Everything that was read, in order.
    pub readings: Vec<Taken>,
    /// Ticks, by `procedure#tick`.
    pub ticks: BTreeMap<String, Tick>,
    /// Timers started, by `procedure#timer`.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub timers: BTreeMap<String, Started>,
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
    /// What was taken out, by [`Entry::key`]: so it can be put back, and another copy in which it stands learns of it.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub removed: BTreeMap<String, Tick>,
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
    /// What is noted of it, in words; empty of one that is not noted.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub why: String,
    /// What it is evidence of.
    #[serde(default, skip_serializing_if = "Purpose::is_cold")]
    pub purpose: Purpose,
    /// Whether it came with a file and was not judged since: how it stands is what the file says, and opens no gate.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub from_file: bool,
    /// Why it was taken before its time; empty of one that was not.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub early: String,
    /// The run of the procedure; 0 for none, as of a reading that was adopted from a link. It opens no gate.
    pub run: u32,
    /// How many changes had been made to the amplifier by then.
    pub after: usize,
    /// The values that its limits were worked out from, as they stood; `None` where that was not written down.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub by: Option<BTreeMap<String, String>>,
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

impl Taken {
    /// Whether it stands on the sheet: one taken behind the lamp, or for the hands that work, does not.
    #[must_use]
    pub const fn is_for_the_sheet(&self) -> bool {
        self.purpose.tells_of_the_amplifier()
    }

    /// Whether it says of itself that no mains was on: hands, tools or the bench were proven by it.
    #[must_use]
    pub const fn is_of_no_mains(&self) -> bool {
        self.purpose.is_of_no_mains()
    }

    /// How it stands, in words; of one from a file, that the file says so.
    #[must_use]
    pub fn verdict(&self) -> String {
        let words = self.judged.words();
        if self.from_file { format!("{words}, as its file says") } else { words.to_owned() }
    }

    /// How it stands, in words, and what is noted of it.
    #[must_use]
    pub fn standing(&self) -> String {
        let early = (!self.early.is_empty()).then(|| format!("taken before its time: {}", self.early));
        let said =
            [Some(self.why.as_str()).filter(|why| !why.is_empty()), early.as_deref(), self.purpose.aside()];
        let said: Vec<&str> = said.into_iter().flatten().collect();
        let verdict = self.verdict();
        if said.is_empty() { verdict } else { format!("{verdict}: {}", said.join("; ")) }
    }
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

/// A tick, or the last word on whether something is removed.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Tick {
    /// Whether it stands; one that was taken back stays, so that the other tab learns of it.
    pub done: bool,
    /// When.
    pub at: Time,
    /// The run of the procedure.
    pub run: u32,
    /// How many changes had been made to the amplifier by then; 0 too where that was not written down.
    #[serde(default, skip_serializing_if = "is_nothing")]
    pub after: usize,
    /// How many readings had been taken by then; 0 too where that was not written down.
    #[serde(default, skip_serializing_if = "is_nothing")]
    pub readings: usize,
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "as serde asks")]
const fn is_nothing(count: &usize) -> bool {
    *count == 0
}

/// A timer that the reader started.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Started {
    /// When.
    pub at: Time,
    /// The run of the procedure.
    pub run: u32,
    /// How many readings had been taken by then.
    #[serde(default, skip_serializing_if = "is_nothing")]
    pub readings: usize,
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
    /// How many changes had been made to the amplifier by then; 0 too where that was not written down.
    #[serde(default, skip_serializing_if = "is_nothing")]
    pub after: usize,
    /// How many readings had been taken by then; 0 too where that was not written down.
    #[serde(default, skip_serializing_if = "is_nothing")]
    pub readings: usize,
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

/// Something that can be removed.
pub trait Entry {
    /// Its name in [`Job::removed`].
    fn key(&self) -> String;
}

impl Entry for Change {
    fn key(&self) -> String {
        format!("change#{}#{}#{}", self.at, self.what, self.place)
    }
}

impl Entry for Note {
    fn key(&self) -> String {
        format!("note#{}#{}", self.at, self.text)
    }
}

impl Entry for Photo {
    fn key(&self) -> String {
        format!("photo#{}", self.id)
    }
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

#[cfg(test)]
pub(crate) mod tests;
