//! What is changed or told again takes readings away.

use super::*;

/// The mains first, then the bias against what the job expects at that mains.
fn mains_then_bias() -> Procedure {
    let hard = Some(Gate::Hard);
    let mut procedure =
        procedure(vec![vec![reading("mains", &[], hard)], vec![reading("bias", &["A", "B"], hard)], vec![]]);
    if let Item::Reading(reading) = &mut procedure.steps[0].items[0] {
        (reading.low, reading.high) = (bound("0.9 × job.mains-marked"), None);
        reading.feeds = vec!["mains-measured".into()];
    }
    if let Item::Reading(reading) = &mut procedure.steps[1].items[0] {
        reading.high = bound("0.95 × mains-drift.bias");
    }
    procedure
}

#[test]
fn a_reading_is_withdrawn_when_what_it_was_judged_by_is_changed() {
    let procedure = mains_then_bias();
    let read = |job: &mut Job, id: &str, blank: &str, text: &str| {
        job.record_reading(NewReading::typed(&procedure, id, blank, text, NOW))
    };
    let describe = |job: &mut Job, id: &str, text: &str| job.set(id, text, From::Typed, NOW).unwrap();
    let whys = |job: &Job| -> Vec<Why> {
        frontier(&state(&procedure, job)).unwrap().waits.iter().map(|wait| wait.why).collect()
    };
    let mut job = Job::new("1", "", NOW);
    describe(&mut job, "mains-marked", "230");
    describe(&mut job, "bias-expected", "-37");
    // Typed from the survey before the run reads it.
    describe(&mut job, "mains-measured", "228");
    job.begin(PAGE, "step-1", NOW);
    let whole = |job: &mut Job| {
        for (id, blank, text) in [("mains", "", "230"), ("bias", "A", "-37"), ("bias", "B", "-37")] {
            assert_eq!(read(job, id, blank, text), Judgement::InRange, "{id} {blank}");
        }
        assert_eq!(open(&procedure, job), [1, 2, 3]);
    };
    whole(&mut job);
    // What no limit needs withdraws nothing.
    describe(&mut job, "rated-power", "50");
    describe(&mut job, "bias-expected", "-37");
    assert_eq!(open(&procedure, &job), [1, 2, 3]);
    for (id, text, opened) in [
        ("bias-expected", Some("-46"), &[1, 2][..]),
        ("bias-expected", None, &[1, 2]),
        ("mains-marked", Some("240"), &[1]),
        // The mains was read otherwise elsewhere: it is read here again, before any bias.
        ("mains-measured", Some("229.5"), &[1]),
        ("mains-measured", None, &[1]),
    ] {
        let mut changed = job.clone();
        match text {
            Some(text) => describe(&mut changed, id, text),
            None => changed.forget(id, NOW),
        }
        assert_eq!(open(&procedure, &changed), opened, "{id} {text:?}");
        assert!(whys(&changed).iter().all(|why| *why == Why::Changed), "{id} {text:?}");
    }
    // Read again by an earlier step, it judges again what was judged by it.
    let mut again = job.clone();
    read(&mut again, "mains", "", "229");
    assert_eq!((open(&procedure, &again), whys(&again)), (vec![1, 2], vec![Why::Changed; 2]));
    // A part is another: what was judged by a mains measured before proves nothing, also when that is read again.
    job.change(crate::record::tests::changed("grid leak"));
    assert_eq!(open(&procedure, &job), [1]);
    read(&mut job, "mains", "", "230");
    assert_eq!((open(&procedure, &job), whys(&job)), (vec![1, 2], vec![Why::Changed; 2]));
    whole(&mut job);
    // A file of version 1 does not say what its readings were judged by.
    job.readings.iter_mut().for_each(|taken| taken.inputs_used = None);
    assert_eq!((open(&procedure, &job), whys(&job)), (vec![1], vec![Why::Changed]));
}

#[test]
fn what_was_before_a_part_was_changed_opens_no_hard_gate() {
    use crate::record::{Entry, tests::changed};
    let seen = Item::Reading(ReadingSpec {
        id: "glow".into(),
        unit: crate::procedure::SEEN.into(),
        gate: Some(Gate::Hard),
        ..ReadingSpec::default()
    });
    let steps = vec![
        vec![seen, tick("clip", Some(Gate::Hard)), reading("note", &[""], Some(Gate::Soft))],
        vec![reading("bias", &[""], Some(Gate::Hard))],
        vec![],
    ];
    let procedure = procedure(steps);
    let mut job = Job::new("1", "", NOW);
    job.begin(PAGE, "step-1", NOW);
    take(&mut job, &procedure, "glow", "", crate::procedure::AS_EXPECTED);
    job.tick(PAGE, "clip", true, NOW);
    take(&mut job, &procedure, "note", "", "-46");
    take(&mut job, &procedure, "bias", "", "-46");
    // A trimmer that was set: nothing here was read live.
    job.change(crate::Change { kind: crate::ChangeKind::Set, ..changed("bias trimmer") });
    assert_eq!(open(&procedure, &job), [1, 2, 3]);
    // The clock makes no difference.
    job.change(crate::Change { at: Time::from_seconds(5), ..changed("coupling capacitor") });
    // Everything behind a hard gate is asked for again, ticks too; the readings stay in the record.
    assert_eq!(open(&procedure, &job), [1]);
    let whys = |job: &Job| {
        let states = state(&procedure, job);
        frontier(&states).unwrap().waits.iter().map(|wait| wait.why).collect::<Vec<_>>()
    };
    assert_eq!(whys(&job), [Why::Changed, Why::NotTicked]);
    let state = crate::sheet::shown::Made::of(&job).state(job.last(PAGE, "bias", "").unwrap());
    assert_eq!(state, crate::sheet::shown::State::Before);
    // A change that was never made withdraws nothing.
    let key = job.changes[1].key();
    job.remove(key.clone(), true, NOW);
    assert_eq!(open(&procedure, &job), [1, 2, 3]);
    job.remove(key, false, NOW);
    take(&mut job, &procedure, "glow", "", crate::procedure::AS_EXPECTED);
    assert_eq!((open(&procedure, &job), whys(&job)), (vec![1], vec![Why::NotTicked]));
    job.tick(PAGE, "clip", true, Time::from_seconds(4));
    assert_eq!((open(&procedure, &job), whys(&job)), (vec![1, 2], vec![Why::Changed]));
    take(&mut job, &procedure, "bias", "", "-45");
    assert_eq!(open(&procedure, &job), [1, 2, 3]);
}

#[test]
fn what_an_earlier_step_told_anew_must_be_told_again() {
    let mains = |id: &str, high: &str| {
        Item::Reading(ReadingSpec {
            id: id.into(),
            unit: "V RMS".into(),
            high: bound(high),
            gate: Some(Gate::Hard),
            feeds: vec!["mains-measured".into()],
            ..ReadingSpec::default()
        })
    };
    let procedure = procedure(vec![vec![mains("lamp", "260 V")], vec![mains("full", "260 V")], vec![]]);
    let mut job = Job::new("1", "", NOW);
    job.begin(PAGE, "step-1", NOW);
    take(&mut job, &procedure, "lamp", "", "90");
    take(&mut job, &procedure, "full", "", "230");
    assert_eq!(open(&procedure, &job), [1, 2, 3]);
    // Back, and the mains behind the lamp read again: with them nothing at full mains may be judged.
    take(&mut job, &procedure, "lamp", "", "90");
    assert_eq!(open(&procedure, &job), [1, 2]);
    assert_eq!(frontier(&state(&procedure, &job)).unwrap().waits[0].why, Why::Changed);
    take(&mut job, &procedure, "full", "", "230");
    assert_eq!(open(&procedure, &job), [1, 2, 3]);
}
