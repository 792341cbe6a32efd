//! A job that comes from outside is judged again: its checksum says that nothing was damaged, and nothing about who wrote it.
//!
//! - Texts and lists are no longer than the book makes them, and runs are runs that were begun: else it is refused, by name.
//! - Every value is read as if it was typed; one that cannot be is left out, and that is said.
//! - What is said to be younger than the last change counts for nothing.
//! - Of its readings no verdict is believed: they open no gate until their procedure has judged them again.

mod size;

use std::collections::BTreeMap;

use super::{Refused, VERSION, migrate, opened, shortened, unicode};
use crate::record::{Job, Judged, Tick, Value};
use crate::values;
pub use size::{LINE, TEXT, is_longer};

/// A job from outside.
#[derive(Debug, Clone, PartialEq)]
pub struct Imported {
    /// The job as it may be kept.
    pub job: Job,
    /// What of the file is not in it as the file says, and why, each in a sentence.
    pub doubts: Vec<String>,
}

/// Nobody begins a procedure more often.
const RUNS: u32 = 1_000_000;

/// Reads the bytes of a file that came from outside.
///
/// # Errors
/// [`Refused`], which says what is wrong with it.
pub fn import(bytes: &[u8]) -> Result<Imported, Refused> {
    let (version, raw) = opened(unicode(bytes)?, VERSION)?;
    size::check(raw).map_err(Refused::Beyond)?;
    let mut job = migrate::job(version, raw, migrate::MIGRATIONS)?;
    names(&job).and_then(|()| runs(&job)).map_err(Refused::Beyond)?;
    let mut doubts = Vec::new();
    values_as_typed(&mut job, &mut doubts);
    ages(&mut job, &mut doubts);
    for taken in &mut job.readings {
        taken.from_file = true;
    }
    Ok(Imported { job, doubts })
}

/// Whether what names a job or a photograph on the device is a name, and no part of another.
fn names(job: &Job) -> Result<(), String> {
    let is_name = |id: &&str| {
        id.len() <= 64 && id.bytes().all(|byte| byte.is_ascii_alphanumeric() || matches!(byte, b'-' | b'_'))
    };
    let ids = std::iter::once(job.id.as_str()).chain(job.photos.iter().map(|photo| photo.id.as_str()));
    ids.into_iter().find(|id| !is_name(id)).map_or(Ok(()), |id| {
        Err(format!("“id” is at most 64 letters, digits and hyphens, and not “{}”", shortened(id)))
    })
}

/// Whether every run is one that was begun.
fn runs(job: &Job) -> Result<(), String> {
    if let Some((page, place)) = job.places.iter().find(|(_, place)| !(1..=RUNS).contains(&place.run)) {
        return Err(format!("run {} of “{page}” cannot be; the first is 1, and {RUNS} the last", place.run));
    }
    let procedure = |item: &'_ str| item.rsplit_once('#').map_or("", |(procedure, _)| procedure).to_owned();
    let readings = job.readings.iter().map(|taken| (taken.procedure.clone(), taken.run));
    let ticks = job.ticks.iter().map(|(item, tick)| (procedure(item), tick.run));
    let choices = job.choices.iter().map(|(item, choice)| (procedure(item), choice.run));
    let mut all = readings.chain(ticks).chain(choices);
    all.find(|(page, run)| *run > job.run(page)).map_or(Ok(()), |(page, run)| {
        Err(format!("something in it is of run {run} of “{page}”, which was begun {} times", job.run(&page)))
    })
}

/// Each value as it would be kept if it was typed.
fn values_as_typed(job: &mut Job, doubts: &mut Vec<String>) {
    let changes = job.changes.len();
    job.values.retain(|id, value| {
        let read = as_typed(id, value, changes);
        match read {
            Ok(text) => value.text = text,
            Err(why) => {
                doubts.push(why);
                return false;
            }
        }
        true
    });
}

fn as_typed(id: &str, Value { text, after, .. }: &Value, changes: usize) -> Result<String, String> {
    let known = values::find(id).map_err(|unknown| format!("“{text}” is left out: {unknown}."))?;
    if *after > changes {
        return Err(format!("{}: “{text}” is left out: {}.", known.label, too_young(*after, changes)));
    }
    let read = known.read(text);
    read.map_err(|problem| format!("{} It is left out.", problem.message))
}

/// What cannot be as young as it says counts for nothing, however many changes come after.
fn ages(job: &mut Job, doubts: &mut Vec<String>) {
    let (changes, readings) = (job.changes.len(), job.readings.len());
    for taken in job.readings.iter_mut().filter(|taken| taken.after > changes) {
        doubts.push(format!(
            "{}: “{}” stays in the record and counts for nothing: {}.",
            taken.quantity,
            taken.text,
            too_young(taken.after, changes)
        ));
        (taken.run, taken.after, taken.judged) = (0, 0, Judged::CannotTell);
    }
    if !job.timers.is_empty() {
        job.timers.clear();
        doubts.push("No timer runs on from a file: start them again.".to_owned());
    }
    // The link of a sheet holds reasons and no runs: they stay there and open nothing.
    let runs: BTreeMap<String, u32> =
        job.places.iter().map(|(page, place)| (page.clone(), place.run)).collect();
    for reason in &mut job.reasons {
        if reason.after > changes || reason.readings > readings {
            doubts.push(format!(
                "The reason “{}” stays in the record and opens nothing: {}.",
                shortened(&reason.text),
                too_young(reason.after.max(reason.readings), changes.max(readings))
            ));
            (reason.run, reason.after, reason.readings) = (0, 0, 0);
        }
        if reason.run > runs.get(&reason.procedure).copied().unwrap_or_default() {
            reason.run = 0;
        }
    }
    let young = |tick: &Tick| tick.after > changes || tick.readings > readings;
    for (item, tick) in job.ticks.iter_mut().filter(|(_, tick)| young(tick)) {
        doubts.push(format!(
            "The tick “{item}” is taken back: {}.",
            too_young(tick.after.max(tick.readings), changes.max(readings))
        ));
        (tick.done, tick.after, tick.readings) = (false, 0, 0);
    }
}

fn too_young(after: usize, changes: usize) -> String {
    format!("it says that {after} changes came before it, and {changes} are written down")
}

#[cfg(test)]
mod tests;
