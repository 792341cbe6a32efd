//! A job that comes from outside is judged again: its checksum says that nothing was damaged, and nothing about who wrote it.
//!
//! - Texts and lists are no longer than the book makes them, and runs are runs that were begun: else it is refused, by name.
//! - A name is one that can be typed, as anyone who deletes the job must.
//! - Every value is read as if it was typed; one that cannot be is left out, and that is said.
//! - What is said to be younger than the last change counts for nothing.
//! - Of its readings no verdict is believed: they open no gate until their procedure has judged them again.

mod size;

use std::collections::BTreeMap;

use super::{Refused, VERSION, migrate, opened, shortened, unicode};
use crate::record::{Job, Judged, Tick, Value};
use crate::values;

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

/// Bytes of a file; seven hundred photographs have no more.
const BYTES: u32 = 256_000_000;

/// Whether a file of so many bytes is read at all: one that is larger may end the page.
///
/// # Errors
/// [`Refused`], which says how large it may be.
pub fn fits(bytes: f64) -> Result<(), Refused> {
    if bytes <= f64::from(BYTES) {
        return Ok(());
    }
    Err(Refused::Beyond(format!("its file has more than {} MB", BYTES / 1_000_000)))
}

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
    label(&mut job, &mut doubts);
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
        Err(format!("“id” must be at most 64 letters, digits and hyphens, not “{}”", shortened(id)))
    })
}

/// The name in letters that a keyboard has.
fn label(job: &mut Job, doubts: &mut Vec<String>) {
    if job.label.contains(char::is_control) {
        job.label = job.label.replace(char::is_control, " ").trim().to_owned();
        doubts.push(format!("Its name had characters that cannot be typed; it is now “{}”.", job.label));
    }
}

/// Whether every run is one that was begun.
fn runs(job: &Job) -> Result<(), String> {
    if let Some((page, place)) = job.places.iter().find(|(_, place)| !(1..=RUNS).contains(&place.run)) {
        return Err(format!(
            "run {} of “{page}” is not possible; the first is 1 and the last {RUNS}",
            place.run
        ));
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

fn as_typed(id: &str, Value { text, changes_before, .. }: &Value, changes: usize) -> Result<String, String> {
    let known = values::find(id).map_err(|unknown| format!("“{text}” is left out: {unknown}."))?;
    if *changes_before > changes {
        return Err(format!(
            "{}: “{text}” is left out: {}.",
            known.label,
            too_young(*changes_before, changes)
        ));
    }
    let read = known.read(text);
    read.map_err(|problem| format!("{} It is left out.", problem.message))
}

/// What cannot be as young as it says counts for nothing, however many changes come after.
fn ages(job: &mut Job, doubts: &mut Vec<String>) {
    let (changes, readings) = (job.changes.len(), job.readings.len());
    for taken in job.readings.iter_mut().filter(|taken| taken.changes_before > changes) {
        doubts.push(format!(
            "{}: “{}” stays in the record and counts for nothing: {}.",
            taken.quantity,
            taken.text,
            too_young(taken.changes_before, changes)
        ));
        (taken.run, taken.changes_before, taken.judged) = (0, 0, Judged::CannotTell);
    }
    if !job.timers.is_empty() {
        job.timers.clear();
        doubts.push("No timer runs on from a file: start them again.".to_owned());
    }
    // The link of a hand-over sheet holds reasons and no runs: they stay there and open nothing.
    let runs: BTreeMap<String, u32> =
        job.places.iter().map(|(page, place)| (page.clone(), place.run)).collect();
    for reason in &mut job.reasons {
        if reason.changes_before > changes || reason.readings_before > readings {
            doubts.push(format!(
                "The reason “{}” stays in the record and opens nothing: {}.",
                shortened(&reason.text),
                too_young(reason.changes_before.max(reason.readings_before), changes.max(readings))
            ));
            (reason.run, reason.changes_before, reason.readings_before) = (0, 0, 0);
        }
        if reason.run > runs.get(&reason.procedure).copied().unwrap_or_default() {
            reason.run = 0;
        }
    }
    let young = |tick: &Tick| tick.changes_before > changes || tick.readings_before > readings;
    for (item, tick) in job.ticks.iter_mut().filter(|(_, tick)| young(tick)) {
        doubts.push(format!(
            "The tick “{item}” is taken back: {}.",
            too_young(tick.changes_before.max(tick.readings_before), changes.max(readings))
        ));
        (tick.done, tick.changes_before, tick.readings_before) = (false, 0, 0);
    }
}

fn too_young(before: usize, changes: usize) -> String {
    format!("it says that {before} changes came before it, and {changes} are written down")
}

#[cfg(test)]
mod tests;
