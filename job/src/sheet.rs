//! The hand-over sheet as rows: before | after | parts | how to put it back | advice | readings that prove it | reasons.

pub(crate) mod shown;

use std::collections::BTreeSet;

use crate::Time;
use crate::record::{Change, ChangeKind, Job, Reading};
use crate::values::{self, Group, Kind};
use shown::Row;
pub use shown::is_socket;

/// What the hand-over sheet says.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Sheet {
    /// What is known of the amplifier, by the groups of the survey.
    pub amplifier: Vec<Described>,
    /// Each reading before and after the work.
    pub readings: Vec<BeforeAfter>,
    /// What was fitted, taken out, set.
    pub parts: Vec<Change>,
    /// How to put it back, in the order to do it: the last change first.
    pub put_back: Vec<String>,
    /// What the owner is advised.
    pub advice: Vec<String>,
    /// The readings that prove it: those after the last change that were held against limits.
    pub proofs: Vec<Reading>,
    /// Why soft gates were passed.
    pub reasons: Vec<Reasoned>,
}

/// A value of the amplifier on the sheet.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Described {
    /// Its part of the survey.
    pub group: Group,
    /// Its label, as the survey has it.
    pub label: &'static str,
    /// What it is in this amplifier, in words.
    pub text: String,
    /// Whether it was measured before the last change.
    pub stale: bool,
}

/// A reading before the first and after the last change.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BeforeAfter {
    /// What was read, in the words of the procedure.
    pub quantity: String,
    /// Which blank; empty where there is one.
    pub blank: String,
    /// The last one before anything was changed.
    pub before: Option<Reading>,
    /// The last one after everything was changed.
    pub after: Option<Reading>,
    /// Whether there is only one of them and it stands among the proofs.
    pub proof_only: bool,
}

/// A reason on the sheet.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Reasoned {
    /// What was not in range.
    pub about: String,
    /// Why it was passed.
    pub text: String,
    /// The moment of it, by the clock of the device.
    pub at: Time,
}

impl Sheet {
    /// The hand-over sheet of a job.
    #[must_use]
    pub fn of(job: &Job) -> Self {
        let rows = shown::rows(job);
        let taken = |at: Option<usize>| job.readings.get(at?).cloned();
        Self {
            amplifier: described(job),
            readings: rows.iter().filter_map(|row| before_after(job, row)).collect(),
            parts: job.standing(&job.changes).cloned().collect(),
            put_back: job.standing(&job.changes).rev().map(put_back).collect(),
            advice: job.standing(&job.advice).map(|advice| advice.text.clone()).collect(),
            proofs: rows.iter().filter_map(|row| taken(row.proof)).collect(),
            reasons: reasons(job, &rows),
        }
    }
}

fn described(job: &Job) -> Vec<Described> {
    let known = values::KNOWN.iter().filter_map(|known| Some((known, job.values.get(known.id)?)));
    known
        .map(|(known, value)| {
            let label = match known.kind {
                Kind::Choice(choices) => {
                    choices.iter().find(|(id, _)| *id == value.text).map(|(_, label)| *label)
                }
                _ => None,
            };
            Described {
                group: known.group,
                label: known.label,
                text: label.map_or_else(|| value.text.clone(), str::to_owned),
                stale: job.is_stale(known.id),
            }
        })
        .collect()
}

/// A row before and after; one that was read only between two changes is left out.
fn before_after(job: &Job, row: &Row) -> Option<BeforeAfter> {
    let taken = |at: Option<usize>| job.readings.get(at?).cloned();
    let first = job.readings.get(row.first)?;
    let only = match (row.before, row.after) {
        (None, None) => return None,
        (Some(_), Some(_)) => None,
        (before, after) => before.or(after),
    };
    Some(BeforeAfter {
        quantity: first.quantity.clone(),
        blank: first.blank.clone(),
        before: taken(row.before),
        after: taken(row.after),
        proof_only: only.is_some() && only == row.proof,
    })
}

/// The reasons written at gates, then those why what the hand-over sheet shows was read before its time.
fn reasons(job: &Job, rows: &[Row]) -> Vec<Reasoned> {
    let at_gates = job.reasons.iter().map(|reason| Reasoned {
        about: reason.about.clone(),
        text: reason.text.clone(),
        at: reason.at,
    });
    let shown: BTreeSet<usize> =
        rows.iter().flat_map(|row| [row.before, row.after, row.proof]).flatten().collect();
    let shown = shown.into_iter().filter_map(|at| job.readings.get(at));
    let early = shown.filter(|taken| !taken.early.is_empty()).map(|taken| Reasoned {
        about: format!("{} {}", taken.quantity, taken.blank).trim_end().to_owned() + ", read before its time",
        text: taken.early.clone(),
        at: taken.at,
    });
    at_gates.chain(early).collect()
}

/// How one change is undone.
fn put_back(change: &Change) -> String {
    let Change { kind, what, place, value, before, kept, .. } = change;
    let what = if place.is_empty() { what.clone() } else { format!("{what} ({place})") };
    let kept = if kept.is_empty() { String::new() } else { format!("; kept: {kept}") };
    let old = if before.is_empty() { String::new() } else { format!(", {before}") };
    match kind {
        ChangeKind::Fitted => {
            let value = if value.is_empty() { String::new() } else { format!(", {value}") };
            format!("Take out: {what}{value}")
        }
        ChangeKind::TakenOut => format!("Put back: {what}{old}{kept}"),
        ChangeKind::Swapped => format!("Put the old one back: {what}{old}{kept}"),
        ChangeKind::Set if before.is_empty() => {
            format!("Set back: {what}; its earlier setting was not written down")
        }
        ChangeKind::Set => format!("Set back: {what} to {before}"),
    }
}

#[cfg(test)]
mod tests;
