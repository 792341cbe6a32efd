//! Which readings a hand-over sheet shows, by their places in the job. Each reading and each change is looked at once: the job may come
//! with a link, from anybody.

use std::collections::BTreeMap;

use crate::Job;
use crate::procedure::Blanks;
use crate::record::Reading;

/// Where a reading stands to the changes of the amplifier.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum State {
    /// Before the first.
    Before,
    /// Between two of them, or nobody knows.
    Between,
    /// After the last.
    After,
}

impl State {
    /// The word for it.
    pub(crate) const fn word(self) -> &'static str {
        match self {
            Self::Before => "before",
            Self::Between => "between",
            Self::After => "after",
        }
    }
}

/// How many of the first changes were made, by how many there are written down: those that were removed never were.
pub(crate) struct Made(Vec<usize>);

impl Made {
    /// Of the changes of a job.
    pub(crate) fn of(job: &Job) -> Self {
        let mut made = 0;
        let counts = job.changes.iter().map(|change| {
            made += usize::from(job.stands(change));
            made
        });
        Self(std::iter::once(0).chain(counts).collect())
    }

    /// How many of so many changes were made; `None` where so many are not written down.
    pub(crate) fn among(&self, after: usize) -> Option<usize> {
        self.0.get(after).copied()
    }

    /// How many were made.
    fn all(&self) -> usize {
        self.0.last().copied().unwrap_or_default()
    }

    /// Whether none was made after so many.
    fn is_now(&self, after: usize) -> bool {
        self.among(after) == Some(self.all())
    }

    /// Where a reading stands to them.
    pub(crate) fn state(&self, taken: &Reading) -> State {
        match self.among(taken.changes_before) {
            Some(0) => State::Before,
            Some(made) if made == self.all() => State::After,
            _ => State::Between,
        }
    }
}

/// One blank of a reading, and what was read in it, by places among the readings of the job.
#[derive(Debug)]
pub(crate) struct Row {
    /// The first one that is for the sheet.
    pub(crate) first: usize,
    /// The last one before anything was changed.
    pub(crate) before: Option<usize>,
    /// The last one after everything was changed.
    pub(crate) after: Option<usize>,
    /// The one that proves something.
    pub(crate) proof: Option<usize>,
}

/// The rows of a hand-over sheet: readings in the order first read, the blanks of each together, sockets in their order. What is not for
/// the hand-over sheet has none.
pub(crate) fn rows(job: &Job) -> Vec<Row> {
    let made = Made::of(job);
    let mut groups: BTreeMap<(&str, &str), usize> = BTreeMap::new();
    let mut places: BTreeMap<(&str, &str, &str), (usize, &str, usize)> = BTreeMap::new();
    let mut rows: BTreeMap<(usize, &str, usize), Row> = BTreeMap::new();
    for (at, taken) in job.readings.iter().enumerate() {
        let Reading { procedure, reading, blank, .. } = taken;
        let group = *groups.entry((procedure, reading)).or_insert(at);
        let socket = if is_socket(blank) { blank } else { "" };
        let place = *places.entry((procedure, reading, blank)).or_insert((group, socket, at));
        // Whatever comes after it, an earlier one proves nothing any more.
        if let Some(row) = rows.get_mut(&place) {
            row.proof = None;
        }
        if !taken.is_for_the_sheet() {
            continue;
        }
        let row = rows.entry(place).or_insert(Row { first: at, before: None, after: None, proof: None });
        match made.state(taken) {
            State::Before => row.before = Some(at),
            State::After => row.after = Some(at),
            State::Between => {}
        }
        row.proof = (made.is_now(taken.changes_before) && proves(job, taken)).then_some(at);
    }
    rows.into_values().collect()
}

/// Whether a reading was held against limits and passed, in its procedure's last run and in the amplifier as it is described
/// now, which was not changed since.
fn proves(job: &Job, taken: &Reading) -> bool {
    taken.run == job.run(&taken.procedure)
        && taken.judged.passes()
        && !taken.range.is_empty()
        && !job.is_described_otherwise(taken)
}

/// Whether a blank is the socket of an output valve, as A1 or B2.
#[must_use]
pub fn is_socket(blank: &str) -> bool {
    Blanks::Sockets.may_have(blank)
}
