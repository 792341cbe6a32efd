//! A reading as it is kept, and how it stood to its limits.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use crate::Time;
use crate::procedure::Purpose;

/// A reading that was taken.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Reading {
    /// The procedure's page, as `power-up/first-power-up.html`.
    pub procedure: String,
    /// The step, as `step-5`.
    pub step: String,
    /// The id of the reading in its page.
    pub reading: String,
    /// Which of its blanks; empty where there is one.
    pub blank: String,
    /// What was read, in words.
    pub quantity: String,
    /// As it was typed.
    pub text: String,
    /// What a bare number was in; `seen` for a judgement by eye.
    pub unit: String,
    /// The moment of it, by the clock of the device.
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
    #[serde(rename = "after")]
    pub changes_before: usize,
    /// The values that its limits were worked out from, as they stood; `None` where that was not written down.
    #[serde(default, rename = "by", skip_serializing_if = "Option::is_none")]
    pub inputs_used: Option<BTreeMap<String, String>>,
}

/// How a reading stood to its limits when it was taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Judged {
    /// Within all its limits.
    InRange,
    /// Outside what was expected, to the side that harms nothing.
    Noted,
    /// Beyond a limit that stops.
    Stop,
    /// Something that the limit needs was not known.
    CannotTell,
    /// It has no limits.
    Recorded,
}

impl Reading {
    /// Whether it is on the hand-over sheet: one taken behind the lamp, or for the hands that work, does not.
    #[must_use]
    pub const fn is_for_the_sheet(&self) -> bool {
        self.purpose.tells_of_the_amplifier()
    }

    /// Whether it says of itself that no mains was on: hands, tools or the bench were proved by it.
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
