use super::*;
use crate::record::{Entry, From, Note};
use proptest::prelude::*;

fn at(seconds: u64) -> Time {
    Time::from_seconds(seconds)
}

#[test]
fn what_either_tab_added_is_kept() {
    let mut one = Job::new("a", "head", at(1));
    one.note("both", at(1));
    let mut other = one.clone();
    one.note("only here", at(2));
    one.set("load", "8", From::Typed, at(2)).unwrap();
    one.set("primary", "4k2", From::Typed, at(4)).unwrap();
    other.note("only there", at(3));
    other.set("load", "16", From::Typed, at(3)).unwrap();
    other.set("primary", "3k4", From::Typed, at(3)).unwrap();
    other.tick("p", "clip", true, at(3));
    for merged in [one.clone().merged(other.clone()), other.merged(one)] {
        let notes: Vec<&str> = merged.notes.iter().map(|note| note.text.as_str()).collect();
        assert_eq!(notes, ["both", "only here", "only there"]);
        assert_eq!(
            (merged.values["load"].text.as_str(), merged.values["primary"].text.as_str()),
            ("16 Ω", "4k2")
        );
        assert_eq!((merged.ticks.len(), merged.changed), (1, at(4)));
    }
}

#[test]
fn a_tick_taken_back_stays_taken_back() {
    let mut one = Job::new("a", "head", at(1));
    one.begin("p", "step-1", at(1));
    one.tick("p", "clip", true, at(2));
    let other = one.clone();
    one.tick("p", "clip", false, at(3));
    assert!(one.clone().merged(other.clone()).ticked("p", "clip").is_none());
    assert!(other.merged(one).ticked("p", "clip").is_none());
}

#[test]
fn a_value_taken_out_stays_out_until_it_is_set_again() {
    let mut one = Job::new("a", "head", at(1));
    one.set("load", "8", From::Typed, at(2)).unwrap();
    let other = one.clone();
    one.forget("load", at(3));
    let both_ways = |one: &Job, other: &Job| {
        let merged = one.clone().merged(other.clone());
        assert_eq!(merged, other.clone().merged(one.clone()));
        merged.values.get("load").map(|value| value.text.clone())
    };
    assert_eq!(both_ways(&one, &other), None);
    // The other went on meanwhile, with something else, and then with this.
    let mut later = other.clone();
    later.note("a note", at(4));
    assert_eq!(both_ways(&one, &later), None);
    later.set("load", "16", From::Typed, at(5)).unwrap();
    assert_eq!(both_ways(&one, &later).as_deref(), Some("16 Ω"));
    // Set again here, it is out nowhere.
    one.set("load", "4", From::Typed, at(6)).unwrap();
    assert_eq!(both_ways(&one, &other).as_deref(), Some("4 Ω"));
    assert!(one.removed.is_empty());
}

#[test]
fn what_was_removed_stays_removed_until_it_is_put_back() {
    let mut one = Job::new("a", "head", at(1));
    one.note("a slip", at(2));
    one.change(crate::record::tests::changed("grid leak"));
    let mut other = one.clone();
    let (note, change) = (one.notes[0].key(), one.changes[0].key());
    for key in [&note, &change] {
        one.remove(key.clone(), true, at(3));
    }
    // The other tab knows nothing of it and goes on.
    other.note("later", at(4));
    let stand = |one: &Job, other: &Job| {
        let merged = one.clone().merged(other.clone());
        assert_eq!(merged, other.clone().merged(one.clone()));
        let notes: Vec<bool> = merged.notes.iter().map(|note| merged.stands(note)).collect();
        (notes, merged.stands(&merged.changes[0]))
    };
    assert_eq!(stand(&one, &other), (vec![false, true], false));
    one.remove(note, false, at(5));
    assert_eq!(stand(&one, &other), (vec![true, true], false));
}

/// Whichever copy is the newer, what was started earlier by the clock shortens no wait.
#[test]
fn of_two_starts_of_a_timer_the_one_counts_that_has_longer_to_go() {
    let mut job = Job::new("a", "head", at(1));
    job.begin("p.html", "step-1", at(1));
    let started = |seconds: u64, changed: u64| {
        let mut job = job.clone();
        job.start("p.html", "ten", at(seconds));
        job.changed = at(changed);
        job
    };
    for (one, other) in [((10, 20), (500, 30)), ((500, 20), (10, 30))] {
        let merged = started(one.0, one.1).merged(started(other.0, other.1));
        assert_eq!(merged.started("p.html", "ten").unwrap().at, at(500));
    }
}

proptest! {
    /// Both copies begin the same and each adds its own: nothing is lost, nothing doubled, and merging again changes nothing.
    #[test]
    fn nothing_is_lost_and_nothing_doubled(
        common in 0..4_u64, mine in prop::collection::vec(0..9_u64, 0..5), theirs in prop::collection::vec(0..9_u64, 0..5),
    ) {
        let mut base = Job::new("a", "head", at(1));
        for number in 0..common {
            base.note(&format!("common {number}"), at(number));
        }
        let (mut one, mut other) = (base.clone(), base);
        for (number, time) in mine.iter().enumerate() {
            one.note(&format!("mine {number}"), at(10 + time));
        }
        for (number, time) in theirs.iter().enumerate() {
            other.note(&format!("theirs {number}"), at(10 + time));
        }
        let merged = one.clone().merged(other.clone());
        let has = |job: &Job, note: &Note| job.notes.contains(note);
        prop_assert!(one.notes.iter().chain(&other.notes).all(|note| has(&merged, note)));
        let expected = usize::try_from(common).unwrap() + mine.len() + theirs.len();
        prop_assert_eq!(merged.notes.len(), expected);
        prop_assert_eq!(merged.clone().merged(one), merged.clone());
        prop_assert_eq!(merged.clone().merged(other), merged);
    }
}

/// A job that is exported, and taken in where it was made.
#[test]
fn a_file_brings_no_other_verdict_of_what_was_read_here() {
    use crate::record::Judged;
    let mut here: Job = crate::file::read(include_str!("../../data/job-4.json")).unwrap();
    here.readings.iter_mut().for_each(|taken| taken.from_file = false);
    let mut file = crate::file::import(crate::file::write(&here).as_bytes()).unwrap().job;
    assert!(file.readings.iter().all(|taken| taken.from_file));
    for taken in &mut file.readings {
        (taken.judged, taken.range) = (Judged::InRange, "at most 1 kV".to_owned());
    }
    file.changed = at(4_000_000_000);
    assert_eq!(here.clone().merged(file.clone()).readings, here.readings);
    assert_eq!(file.clone().merged(here.clone()).readings, here.readings);
    // What was read elsewhere comes along, and stays the word of the file.
    file.readings.push(crate::Reading { text: "-50 V".into(), ..file.readings[0].clone() });
    let merged = here.clone().merged(file);
    assert_eq!(merged.readings[..2], here.readings);
    assert!(merged.readings.len() == 3 && merged.readings[2].from_file);
}
