//! The record of one amplifier: values, readings, ticks, changes, notes, photographs.
//!
//! Readings are only ever added; the last of the same procedure, reading and blank counts. Order is kept by numbers (the
//! run, how many changes came before), never by the clock, which a tablet may set back.

mod edit;
mod reading;

use std::collections::BTreeMap;

use calc_core::calculator::Inputs;
use serde::{Deserialize, Serialize};

use crate::Time;
use crate::values::Known;
pub use edit::NotTaken;
pub(crate) use edit::value_key;
pub use reading::{Judged, Reading};

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
    pub readings: Vec<Reading>,
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
    /// Photographs, in the order in which they were taken in.
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
    /// The moment of it, by the clock of the device.
    pub at: Time,
    /// How it came here.
    pub from: From,
    /// How many changes had been made to the amplifier by then.
    #[serde(rename = "after")]
    pub changes_before: usize,
}

/// Where a value came from.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub enum From {
    /// It was typed into the survey or into a calculator.
    Typed,
    /// An answer that a calculator gave and that was kept.
    Answer {
        /// The id of the calculator.
        calculator: String,
        /// The block on the page.
        block: String,
        /// The page on which it stands, from the root of the book.
        page: String,
    },
    /// A reading of a procedure.
    Reading {
        /// The page of the procedure, from the root of the book.
        procedure: String,
        /// The id of the reading.
        reading: String,
    },
}

/// A tick, or the last word on whether something is removed.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Tick {
    /// Whether it stands; one that was taken back stays, so that the other tab learns of it.
    pub done: bool,
    /// The moment of it, by the clock of the device.
    pub at: Time,
    /// The run of the procedure.
    pub run: u32,
    /// How many changes had been made to the amplifier by then; 0 too where that was not written down.
    #[serde(default, rename = "after", skip_serializing_if = "is_nothing")]
    pub changes_before: usize,
    /// How many readings had been taken by then; 0 too where that was not written down.
    #[serde(default, rename = "readings", skip_serializing_if = "is_nothing")]
    pub readings_before: usize,
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "as serde asks")]
const fn is_nothing(count: &usize) -> bool {
    *count == 0
}

/// A timer that the reader started.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Started {
    /// The moment of it, by the clock of the device.
    pub at: Time,
    /// The run of the procedure.
    pub run: u32,
    /// How many readings had been taken by then.
    #[serde(default, rename = "readings", skip_serializing_if = "is_nothing")]
    pub readings_before: usize,
}

/// A branch that was taken.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Choice {
    /// The id of the option that was taken.
    pub option: String,
    /// The moment of it, by the clock of the device.
    pub at: Time,
    /// The run of the procedure.
    pub run: u32,
}

/// Why a soft gate was passed; the hand-over sheet shows it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Reason {
    /// The page of the procedure, from the root of the book.
    pub procedure: String,
    /// The id of the step.
    pub step: String,
    /// The reading or tick that it represents.
    pub item: String,
    /// What the reading was of, or what the tick says.
    pub about: String,
    /// The reason, in the words of the person who passed it.
    pub text: String,
    /// The moment of it, by the clock of the device.
    pub at: Time,
    /// The run of the procedure.
    pub run: u32,
    /// How many changes had been made to the amplifier by then; 0 too where that was not written down.
    #[serde(default, rename = "after", skip_serializing_if = "is_nothing")]
    pub changes_before: usize,
    /// How many readings had been taken by then; 0 too where that was not written down.
    #[serde(default, rename = "readings", skip_serializing_if = "is_nothing")]
    pub readings_before: usize,
}

/// Something that was done to the amplifier.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Change {
    /// The moment of it, by the clock of the device.
    pub at: Time,
    /// Whether a part is new, out, another, or only set otherwise.
    pub kind: ChangeKind,
    /// The part that was changed, as `coupling capacitor`.
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
    /// A part is out, and nothing in its place.
    TakenOut,
    /// Something is set otherwise: a trimmer, a selector.
    Set,
    /// Something new is in where something was.
    Swapped,
}

/// A note, or advice to the owner.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Note {
    /// The moment of it, by the clock of the device.
    pub at: Time,
    /// The words of it.
    pub text: String,
}

/// A photograph. The picture itself is beside the job in the browser and inside it in a file.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Photo {
    /// Its name in this job.
    pub id: String,
    /// What the picture shows, in words.
    pub caption: String,
    /// The moment of it, by the clock of the device.
    pub at: Time,
    /// Its media type, `image/jpeg`.
    pub media: String,
    /// Width of the picture, in pixels.
    pub width: u32,
    /// Height of the picture, in pixels.
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
    /// The edition of the procedures in which it was begun; 0 where that was not written down. In another edition steps and
    /// readings are others: the run does not go on, and its readings are in the record.
    #[serde(default, skip_serializing_if = "is_unwritten")]
    pub edition: u32,
}

impl Place {
    /// The edition of the procedures in this book. It rises when a run that is under way could no longer be followed.
    pub const EDITION: u32 = 1;
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "as serde asks")]
const fn is_unwritten(edition: &u32) -> bool {
    *edition == 0
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
