//! The blanks of a reading: one, several with names, or one for each socket of an output valve.

use serde::{Deserialize, Serialize};

use crate::Job;

/// The value of a job that says how many output valves there are.
pub const SOCKETS: &str = "sockets";

/// The sockets on paper: of four valves.
const PRINTED: [&str; 4] = ["A1", "A2", "B1", "B2"];

/// The blanks of a reading.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Blanks {
    /// One, without a name.
    #[default]
    One,
    /// One for each of these names, in order.
    Named(Vec<String>),
    /// One for each output valve. Side A is the side of the push-pull pair nearer the mains transformer, B the other; the
    /// number counts outwards.
    Sockets,
}

impl Blanks {
    /// The blanks in a job. None where there is one for each socket and the job does not say how many there are: then the
    /// reading cannot be taken.
    #[must_use]
    pub fn of<'b>(&'b self, job: &Job) -> Vec<&'b str> {
        match self {
            Self::One => vec![""],
            Self::Named(names) => names.iter().map(String::as_str).collect(),
            Self::Sockets => sockets(job).to_vec(),
        }
    }

    /// The blanks on paper.
    #[must_use]
    pub fn printed(&self) -> Vec<&str> {
        match self {
            Self::One => vec![""],
            Self::Named(names) => names.iter().map(String::as_str).collect(),
            Self::Sockets => PRINTED.to_vec(),
        }
    }

    /// Whether some job has a blank with this name.
    #[must_use]
    pub fn may_have(&self, blank: &str) -> bool {
        match self {
            Self::Sockets => named(8).contains(&blank),
            Self::One | Self::Named(_) => self.printed().contains(&blank),
        }
    }

    /// What a blank is called that came with a link: before sockets were told apart, side A and B were all there was.
    #[must_use]
    pub fn now_called(&self, blank: &str) -> Option<String> {
        let names = [blank.to_owned(), format!("{blank}1")];
        names.into_iter().find(|name| self.may_have(name))
    }

    /// Whether there may be more than one.
    #[must_use]
    pub const fn are_several(&self) -> bool {
        match self {
            Self::One => false,
            Self::Named(names) => names.len() > 1,
            Self::Sockets => true,
        }
    }

    /// These, or one where there are none: for tests.
    #[cfg(test)]
    pub(crate) fn named(names: &[&str]) -> Self {
        if names.is_empty() {
            Self::One
        } else {
            Self::Named(names.iter().map(|name| (*name).to_owned()).collect())
        }
    }

    pub(crate) const fn is_one(&self) -> bool {
        matches!(self, Self::One)
    }
}

/// The sockets of a job's output valves; none where it does not say how many there are.
#[must_use]
pub fn sockets(job: &Job) -> &'static [&'static str] {
    let count = job.values.get(SOCKETS).and_then(|value| value.text.trim().parse().ok());
    named(count.unwrap_or(0))
}

/// The names of so many sockets; none of a number of valves that no output stage has.
const fn named(count: u8) -> &'static [&'static str] {
    match count {
        1 => &["A1"],
        2 => &["A1", "B1"],
        4 => &PRINTED,
        6 => &["A1", "A2", "A3", "B1", "B2", "B3"],
        8 => &["A1", "A2", "A3", "A4", "B1", "B2", "B3", "B4"],
        _ => &[],
    }
}
