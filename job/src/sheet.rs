//! The hand-over sheet as rows: before | after | parts | how to put it back | advice | readings that prove it | reasons.

pub mod link;

use crate::Time;
use crate::record::{Change, ChangeKind, Job, Taken};
use crate::values::{self, Group, Kind};

/// What the sheet says.
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
    pub proofs: Vec<Taken>,
    /// Why soft gates were passed.
    pub reasons: Vec<Reasoned>,
}

/// A value of the amplifier on the sheet.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Described {
    /// Its part of the survey.
    pub group: Group,
    /// What it is.
    pub label: &'static str,
    /// What it is in this amplifier, in words.
    pub text: String,
    /// Whether it was measured before the last change.
    pub stale: bool,
}

/// A reading before the first and after the last change.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BeforeAfter {
    /// What was read.
    pub quantity: String,
    /// Which blank; empty where there is one.
    pub blank: String,
    /// The last one before anything was changed.
    pub before: Option<Taken>,
    /// The last one after everything was changed.
    pub after: Option<Taken>,
}

/// A reason on the sheet.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Reasoned {
    /// What was not in range.
    pub about: String,
    /// Why it was passed.
    pub text: String,
    /// When.
    pub at: Time,
}

impl Sheet {
    /// The sheet of a job.
    #[must_use]
    pub fn of(job: &Job) -> Self {
        Self {
            amplifier: described(job),
            readings: before_after(job),
            parts: job.standing(&job.changes).cloned().collect(),
            put_back: job.standing(&job.changes).rev().map(put_back).collect(),
            advice: job.standing(&job.advice).map(|advice| advice.text.clone()).collect(),
            proofs: proofs(job),
            reasons: job
                .reasons
                .iter()
                .map(|reason| Reasoned {
                    about: reason.about.clone(),
                    text: reason.text.clone(),
                    at: reason.at,
                })
                .collect(),
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

/// Whether two are readings of the same blank.
fn same(one: &Taken, other: &Taken) -> bool {
    (&one.procedure, &one.reading, &one.blank) == (&other.procedure, &other.reading, &other.blank)
}

/// Each blank once, in the order first read; those read only between two changes are left out, and those that prove nothing.
fn before_after(job: &Job) -> Vec<BeforeAfter> {
    let mut firsts: Vec<&Taken> = Vec::new();
    for taken in job.readings.iter().filter(|taken| taken.is_for_the_sheet()) {
        if !firsts.iter().any(|first| same(first, taken)) {
            firsts.push(taken);
        }
    }
    let rows = firsts.into_iter().map(|first| {
        let last = |wanted: &dyn Fn(&Taken) -> bool| {
            let is_it = |taken: &&Taken| same(first, taken) && taken.is_for_the_sheet() && wanted(taken);
            job.readings.iter().rev().find(is_it).cloned()
        };
        BeforeAfter {
            quantity: first.quantity.clone(),
            blank: first.blank.clone(),
            before: last(&|taken| job.is_before(taken)),
            after: last(&|taken| job.is_after(taken)),
        }
    });
    rows.filter(|row| row.before.is_some() || row.after.is_some()).collect()
}

/// The last of each reading that was held against limits, in its procedure's last run, in the amplifier as it is now and as
/// it is described now; those among them that passed. Behind the lamp nothing is.
fn proofs(job: &Job) -> Vec<Taken> {
    let is_last =
        |at: usize, taken: &Taken| !job.readings.iter().skip(at + 1).any(|later| same(later, taken));
    let proves = |taken: &Taken| {
        taken.run == job.run(&taken.procedure)
            && taken.judged.passes()
            && taken.is_for_the_sheet()
            && !taken.range.is_empty()
            && !job.has_changed_since(taken.after)
            && !job.is_outdated(taken)
    };
    let all = job.readings.iter().enumerate();
    all.filter(|(at, taken)| is_last(*at, taken) && proves(taken)).map(|(_, taken)| taken.clone()).collect()
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
            format!("Set back: {what}; how it stood was not written down")
        }
        ChangeKind::Set => format!("Set back: {what} to {before}"),
    }
}

#[cfg(test)]
mod tests;
