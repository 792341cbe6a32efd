//! Two copies of one job that went apart, as two tabs make them, as one: nothing that was added in either is lost.

use std::collections::BTreeMap;

use crate::record::value_key;
use crate::{Job, Photo, Place, Tick, Time, Value};

impl Job {
    /// Both copies as one. What was added is kept in the order of its time; of what can be set, the newer. A value that was
    /// taken out in one copy stands only if the other has set it since; what was removed is removed.
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
        Self {
            values,
            removed,
            readings: appended(older.readings, newer.readings, |taken| taken.at),
            ticks: both(older.ticks, newer.ticks, |tick| tick.at),
            // Of two that were started the one that has longer to go.
            timers: both(older.timers, newer.timers, |started| (started.run, started.at)),
            choices: both(older.choices, newer.choices, |choice| choice.at),
            reasons: appended(older.reasons, newer.reasons, |reason| reason.at),
            changes: appended(older.changes, newer.changes, |change| change.at),
            notes: appended(older.notes, newer.notes, |note| note.at),
            advice: appended(older.advice, newer.advice, |note| note.at),
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

/// What both begin with, then what each added, by time. What stands in both stands once.
fn appended<T: PartialEq>(older: Vec<T>, newer: Vec<T>, at: impl Fn(&T) -> Time) -> Vec<T> {
    let common = older.iter().zip(&newer).take_while(|(one, other)| one == other).count();
    let mut older = older.into_iter();
    let mut whole: Vec<T> = older.by_ref().take(common).collect();
    let mut added: Vec<T> = newer.into_iter().skip(common).collect();
    let only: Vec<T> = older.filter(|entry| !added.contains(entry)).collect();
    put_between(only, &mut added, at);
    whole.extend(added);
    whole
}

/// Puts entries in their time among others that are in theirs; of two at the same time the new one comes first. A sort would
/// be a kilobyte or two of the WebAssembly for each kind of entry.
fn put_between<T>(entries: Vec<T>, among: &mut Vec<T>, at: impl Fn(&T) -> Time) {
    for entry in entries.into_iter().rev() {
        let place = among.partition_point(|other| at(other) < at(&entry));
        among.insert(place, entry);
    }
}

/// Every photograph once; the caption of the newer copy.
fn photos(older: Vec<Photo>, newer: Vec<Photo>) -> Vec<Photo> {
    let only: Vec<Photo> =
        older.into_iter().filter(|photo| !newer.iter().any(|known| known.id == photo.id)).collect();
    let mut whole = newer;
    put_between(only, &mut whole, |photo| photo.at);
    whole
}

#[cfg(test)]
mod tests;
