use super::*;
use crate::procedure::{Blanks, Gate, Item, Procedure, ReadingSpec, Step, bound};
use crate::record::{Entry, From, Note};
use crate::run::gate;
use crate::run::judge::NewReading;
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

/// A gate of one reading with two blanks, and the step behind it.
fn gated() -> Procedure {
    let reading = ReadingSpec {
        id: "left".into(),
        quantity: "Voltage left".into(),
        unit: "V".into(),
        blanks: Blanks::named(&["a", "b"]),
        high: bound("9.9 V"),
        gate: Some(Gate::Hard),
        ..ReadingSpec::default()
    };
    let steps = [vec![Item::Reading(reading)], vec![]].into_iter().zip(1..);
    let steps = steps.map(|(items, at)| Step { id: format!("step-{at}"), items }).collect();
    Procedure { page: "p.html".into(), title: String::new(), steps }
}

/// Takes readings, each so many seconds after the last: of which blank, and whether it is in range. Gives what was taken.
fn taken(job: &mut Job, procedure: &Procedure, from: u64, readings: &[(u64, bool, bool)]) -> Vec<Reading> {
    let (mut time, before) = (from, job.readings.len());
    for (number, (after, is_a, is_well)) in readings.iter().enumerate() {
        // Even seconds here and odd ones there: which was read last is never a matter of chance.
        time += 2 * (after + 1);
        let volts = number + if *is_well { 0 } else { 100 };
        let blank = if *is_a { "a" } else { "b" };
        job.record_reading(NewReading::typed(procedure, "left", blank, &volts.to_string(), at(time)));
    }
    job.readings[before..].to_vec()
}

proptest! {
    /// Two copies of a job that were read on separately: every reading is there once, by time, and a gate is open only where the
    /// last reading of each blank is in range, whichever copy has it and whichever was taken in.
    #[test]
    fn readings_of_two_copies_stand_by_time_and_open_nothing_that_the_last_one_shuts(
        common in readings(), mine in readings(), theirs in readings(),
    ) {
        let procedure = gated();
        let mut base = Job::new("a", "head", at(1));
        base.begin(&procedure.page, "step-1", at(1));
        let mut all = taken(&mut base, &procedure, 2, &common);
        let (mut one, mut other) = (base.clone(), base);
        let (mine, theirs) = (taken(&mut one, &procedure, 1000, &mine), taken(&mut other, &procedure, 1001, &theirs));
        all.extend(mine.into_iter().chain(theirs));
        all.sort_by_key(|taken| taken.at);
        let last = |blank: &str| all.iter().rev().find(|taken| taken.blank == blank);
        let is_well = ["a", "b"].iter().all(|blank| last(blank).is_some_and(|taken| taken.judged.passes()));
        // As two tabs meet in the store, and as a file of the one is taken in where the other is.
        let file = |job: &Job| crate::file::import(crate::file::write(job).as_bytes()).unwrap().job;
        let pairs = [(one.clone(), other.clone()), (one.clone(), file(&other)), (other, file(&one))];
        for (here, there) in pairs {
            for mut merged in [here.clone().merged(there.clone()), there.merged(here)] {
                merged.judge_again(&procedure);
                let what = |taken: &Reading| (taken.at, taken.blank.clone(), taken.text.clone(), taken.judged);
                let stand: Vec<_> = merged.readings.iter().map(what).collect();
                prop_assert_eq!(stand, all.iter().map(what).collect::<Vec<_>>());
                let is_open = gate::state(&procedure, &merged).iter().all(|step| step.open);
                prop_assert_eq!(is_open, is_well);
            }
        }
    }
}

fn readings() -> impl Strategy<Value = Vec<(u64, bool, bool)>> {
    prop::collection::vec((0..9_u64, any::<bool>(), prop::bool::weighted(0.8)), 0..5)
}
