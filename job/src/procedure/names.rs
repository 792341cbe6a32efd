//! What a block names elsewhere: an answer to a choice, a blank of another reading, where to go.

use serde::{Deserialize, Serialize};

/// An answer to a choice, written `choice.option`.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Answer {
    /// The id of the choice.
    pub choice: String,
    /// The id of the option that it was answered with.
    pub option: String,
}

impl Answer {
    /// Reads `standby.none`.
    pub(super) fn read(text: &str) -> Option<Self> {
        let (choice, option) =
            text.split_once('.').filter(|(choice, option)| is_id(choice) && is_id(option))?;
        Some(Self { choice: choice.to_owned(), option: option.to_owned() })
    }
}

/// A reading and one of its blanks, written `idle-one.A1`; without a blank, each of them.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Spot {
    /// The id of the reading.
    pub reading: String,
    /// The blank; empty for each.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub blank: String,
}

/// From one reading to another, written `idle-one to idle-ten`.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Rise {
    /// The reading that the rise is counted from.
    pub from: Spot,
    /// The reading that it rises to.
    pub to: Spot,
}

impl Rise {
    /// Reads `idle-one to idle-ten`, or with a blank on both sides, `idle-one.A1 to idle-ten.A1`.
    pub(super) fn read(text: &str) -> Option<Self> {
        let spot = |text: &str| {
            let (reading, blank) = text.trim().split_once('.').unwrap_or((text.trim(), ""));
            is_id(reading).then(|| Spot { reading: reading.to_owned(), blank: blank.trim().to_owned() })
        };
        let (from, to) = text.split_once(" to ")?;
        let (from, to) = (spot(from)?, spot(to)?);
        (from.blank.is_empty() == to.blank.is_empty()).then_some(Self { from, to })
    }
}

/// Where to go when a reading stops.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Go {
    /// A step of this page, `step-4`.
    Step(String),
    /// Another page: in a block its path in `content/`, in a page its address.
    Page(String),
}

impl Go {
    /// Reads `#step-4`, or else the path or address of a page.
    #[must_use]
    pub fn read(text: &str) -> Self {
        text.strip_prefix('#').map_or_else(|| Self::Page(text.to_owned()), |step| Self::Step(step.to_owned()))
    }

    /// As a link has it.
    #[must_use]
    pub fn href(&self) -> String {
        match self {
            Self::Step(step) => format!("#{step}"),
            Self::Page(page) => page.clone(),
        }
    }
}

/// Whether a text is the id of an item: small letters, digits and hyphens.
pub(super) fn is_id(text: &str) -> bool {
    !text.is_empty()
        && text.bytes().all(|byte| byte.is_ascii_lowercase() || byte.is_ascii_digit() || byte == b'-')
}
