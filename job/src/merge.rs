//! Two copies of one job that went apart, as two tabs make them, as one: nothing that was added in either is lost.

use std::collections::{BTreeMap, BTreeSet};

use serde::Serialize;

use crate::record::value_key;
use crate::{Job, Photo, Place, Reading, Tick, Time, Value};

impl Job {
    /// Both copies as one. What was added is kept in the order of its time; of what can be set, the newer. A value that was
    /// taken out in one copy is only if the other has set it since; what was removed is removed.
    #[must_use]
    pub fn merged(self, other: Self) -> Self {
        let (newer, older) = if other.changed > self.changed { (other, self) } else { (self, other) };
        // Of a value set and taken out in the same second the newer copy knows better.
        let is_gone = |id: &str, value: &Value| {
            let gone = |removed: &BTreeMap<String, Tick>| removed.get(&value_key(id)).map(|tick| tick.at);
            gone(&newer.removed).is_some_and(|at| value.at <= at)
                || gone(&older.removed).is_some_and(|at| value.at < at)
        };
        let mut values = both(older.values, newer.values, |value| value.at);
        values.retain(|id, value| !is_gone(id, value));
        let mut removed = both(older.removed, newer.removed, |tick| tick.at);
        for id in values.keys() {
            removed.remove(&value_key(id));
        }
        let (older_readings, newer_readings) =
            (own(&older.readings, &newer.readings), own(&newer.readings, &older.readings));
        Self {
            values,
            removed,
            readings: appended(older_readings, newer_readings, text, |taken| taken.at),
            ticks: both(older.ticks, newer.ticks, |tick| tick.at),
            // Of two that were started the one that has longer to go.
            timers: both(older.timers, newer.timers, |started| (started.run, started.at)),
            choices: both(older.choices, newer.choices, |choice| choice.at),
            reasons: appended(older.reasons, newer.reasons, text, |reason| reason.at),
            changes: appended(older.changes, newer.changes, text, |change| change.at),
            notes: appended(older.notes, newer.notes, text, |note| note.at),
            advice: appended(older.advice, newer.advice, text, |note| note.at),
            photos: photos(older.photos, newer.photos),
            places: both(older.places, newer.places, |place: &Place| (place.run, place.at)),
            made: older.made.min(newer.made),
            ..newer
        }
    }
}

/// Every key of both; under the same key the newer, and of two as new the one of the newer copy.
fn both<T, O: Ord>(
    older: BTreeMap<String, T>,
    mut newer: BTreeMap<String, T>,
    order: impl Fn(&T) -> O,
) -> BTreeMap<String, T> {
    for (key, value) in older {
        if newer.get(&key).is_none_or(|known| order(&value) > order(known)) {
            newer.insert(key, value);
        }
    }
    newer
}

/// Readings, and of those that came with a file the own ones instead, where the other copy has them: a job that is taken in where
/// it was made brings nothing new, and no other verdict.
fn own(readings: &[Reading], others: &[Reading]) -> Vec<Reading> {
    let mut known: BTreeMap<String, &Reading> = BTreeMap::new();
    if readings.iter().any(|taken| taken.from_file) {
        known.extend(
            others.iter().filter(|other| !other.from_file).map(|other| (what_was_read(other), other)),
        );
    }
    let own = |taken: &Reading| {
        let own = if taken.from_file { known.get(&what_was_read(taken)).copied() } else { None };
        own.unwrap_or(taken).clone()
    };
    readings.iter().map(own).collect()
}

/// What was read, where, when and as what it was typed, in a text; without what was made of it.
fn what_was_read(taken: &Reading) -> String {
    let Reading {
        procedure, step, reading, blank, text: typed, unit, at, early, run, changes_before, ..
    } = taken;
    text(&(procedure, step, reading, blank, typed, unit, at, early, run, changes_before))
}

/// What both begin with, then what each added, by time. What is in both is once; `name` says which are the same.
/// Takes no longer than the lists are long: a copy may come from a file.
fn appended<T>(older: Vec<T>, newer: Vec<T>, name: impl Fn(&T) -> String, at: impl Fn(&T) -> Time) -> Vec<T> {
    let common = older.iter().zip(&newer).take_while(|(one, other)| name(one) == name(other)).count();
    let mut older = older.into_iter();
    let mut whole: Vec<T> = older.by_ref().take(common).collect();
    let added: Vec<T> = newer.into_iter().skip(common).collect();
    let names: BTreeSet<String> = added.iter().map(&name).collect();
    let only: Vec<T> = older.filter(|entry| !names.contains(&name(entry))).collect();
    put_between(only, added, at, &mut whole);
    whole
}

/// Two lists one after the other by time, each in its own order; of two at the same time the one of the first list comes first.
fn put_between<T>(first: Vec<T>, second: Vec<T>, at: impl Fn(&T) -> Time, whole: &mut Vec<T>) {
    let mut first = first.into_iter().peekable();
    for entry in second {
        while let Some(earlier) = first.next_if(|earlier| at(earlier) <= at(&entry)) {
            whole.push(earlier);
        }
        whole.push(entry);
    }
    whole.extend(first);
}

/// What an entry is, in a text that two have only if they are equal.
fn text<T: Serialize>(entry: &T) -> String {
    // A map with text keys, numbers and texts always becomes JSON.
    serde_json::to_string(entry).unwrap_or_default()
}

/// Every photograph once; the caption of the newer copy.
fn photos(older: Vec<Photo>, newer: Vec<Photo>) -> Vec<Photo> {
    let known: BTreeSet<String> = newer.iter().map(|photo| photo.id.clone()).collect();
    let only: Vec<Photo> = older.into_iter().filter(|photo| !known.contains(&photo.id)).collect();
    let mut whole = Vec::new();
    put_between(only, newer, |photo| photo.at, &mut whole);
    whole
}

#[cfg(test)]
mod tests;
