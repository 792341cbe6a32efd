//! What later events take away of a run.

use super::*;
use crate::procedure::{Answer, Rise, Spot};
use crate::record::tests::changed;
use crate::{Change, ChangeKind};

/// A reading as on the way up: proof of dead, live, or neither.
fn read_as(id: &str, gate: Gate, purpose: Purpose) -> Item {
    let Item::Reading(spec) = reading(id, &[], Some(gate)) else { panic!("no reading") };
    Item::Reading(ReadingSpec { high: bound("10 V"), purpose, ..spec })
}

fn dead(id: &str) -> Item {
    read_as(id, Gate::Hard, Purpose::Dead)
}

fn live(id: &str) -> Item {
    read_as(id, Gate::Hard, Purpose::Live)
}

/// Dead, the earth, the lamp; dead again, full mains; dead a third time, and a last live one.
fn way_up() -> Procedure {
    procedure(vec![
        vec![read_as("earth", Gate::Hard, Purpose::Cold), read_as("load", Gate::Hard, Purpose::OfTheBench)],
        vec![dead("left-1"), tick("clip-1", Some(Gate::Hard))],
        vec![read_as("lamp", Gate::Hard, Purpose::BehindTheLamp)],
        vec![dead("left-2"), tick("clip-2", Some(Gate::Hard))],
        vec![live("full")],
        vec![dead("left-3"), tick("clip-3", Some(Gate::Hard))],
        vec![live("idle")],
        vec![],
    ])
}

/// Does everything from the step where one is up to `last`, in the order of the page.
fn go(job: &mut Job, procedure: &Procedure, last: usize) {
    loop {
        let states = state(procedure, job);
        let at = states.iter().rposition(|state| state.open).unwrap();
        if at + 1 > last {
            return;
        }
        job.stop_at(PAGE, &procedure.steps[at].id, NOW);
        for item in &procedure.steps[at].items {
            match item {
                Item::Reading(spec) => _ = take(job, procedure, &spec.id, "", "1"),
                item => job.tick(PAGE, item.id(), true, NOW),
            }
        }
        assert!(state(procedure, job)[at].waits.is_empty(), "{:?}", state(procedure, job)[at]);
    }
}

/// The way up, with everything done up to a step.
fn gone_to(last: usize) -> (Procedure, Job) {
    let procedure = way_up();
    let mut job = Job::new("1", "", NOW);
    job.begin(PAGE, "step-1", NOW);
    go(&mut job, &procedure, last);
    (procedure, job)
}

fn gone_up() -> (Procedure, Job) {
    let (procedure, mut job) = gone_to(7);
    job.stop_at(PAGE, "step-8", NOW);
    assert_eq!(open(&procedure, &job), [1, 2, 3, 4, 5, 6, 7, 8]);
    (procedure, job)
}

/// What is in the way: the step, and each item with why.
fn closed(procedure: &Procedure, job: &Job) -> (usize, Vec<(String, Why)>) {
    let states = state(procedure, job);
    let at = states.iter().rposition(|state| state.open).unwrap();
    (at + 1, states[at].waits.iter().map(|wait| (wait.item.clone(), wait.why)).collect())
}

fn waiting<const N: usize>(step: usize, items: [(&str, Why); N]) -> (usize, Vec<(String, Why)>) {
    (step, items.map(|(item, why)| (item.to_owned(), why)).to_vec())
}

#[test]
fn who_goes_back_to_a_step_proves_it_dead_again() {
    let (procedure, mut job) = gone_up();
    job.stop_at(PAGE, "step-4", NOW);
    assert_eq!(closed(&procedure, &job), waiting(4, [("left-2", Why::MainsOn), ("clip-2", Why::NotTicked)]));
    // Who only looked goes forward again.
    assert_eq!(reached(&procedure, &job).as_deref(), Some("step-8"));
    job.stop_at(PAGE, "step-8", NOW);
    assert_eq!(open(&procedure, &job).len(), 8);
    // Who proves it goes on from there: hands were in, and what was read behind it is read again.
    job.stop_at(PAGE, "step-4", NOW);
    take(&mut job, &procedure, "left-2", "", "1");
    assert_eq!(closed(&procedure, &job), waiting(4, [("clip-2", Why::NotTicked)]));
    job.tick(PAGE, "clip-2", true, NOW);
    assert_eq!(closed(&procedure, &job), waiting(5, [("full", Why::HandsIn)]));
    assert_eq!(reached(&procedure, &job).as_deref(), Some("step-5"));
    go(&mut job, &procedure, 7);
    assert_eq!(open(&procedure, &job).len(), 8);
}

#[test]
fn what_is_read_live_again_takes_away_the_proof_behind_it() {
    let (procedure, mut job) = gone_up();
    job.stop_at(PAGE, "step-5", NOW);
    take(&mut job, &procedure, "full", "", "2");
    job.stop_at(PAGE, "step-6", NOW);
    assert_eq!(closed(&procedure, &job).1[0], ("left-3".to_owned(), Why::MainsOn));
}

#[test]
fn hands_that_were_only_in_twice_take_away_nothing() {
    let (procedure, mut job) = gone_to(2);
    take(&mut job, &procedure, "left-1", "", "2");
    assert_eq!(open(&procedure, &job), [1, 2, 3], "no mains was on between");
}

#[test]
fn another_procedure_may_have_had_the_mains_on() {
    let (procedure, mut job) = gone_to(6);
    let other = Procedure { page: "other.html".into(), ..way_up() };
    job.begin(&other.page, "step-1", NOW);
    let read = |job: &mut Job, id: &str| {
        job.record_reading(NewReading::typed(&other, id, "", "1", NOW));
    };
    // What is read of the bench, or to prove that nothing is alive, is read without mains.
    read(&mut job, "load");
    read(&mut job, "left-1");
    assert_eq!(open(&procedure, &job), [1, 2, 3, 4, 5, 6, 7]);
    read(&mut job, "earth");
    assert_eq!(closed(&procedure, &job), waiting(6, [("left-3", Why::MainsOn), ("clip-3", Why::NotTicked)]));
}

#[test]
fn a_trimmer_that_was_set_leads_back_to_where_the_chassis_was_opened_for_it() {
    let (procedure, mut job) = gone_up();
    job.change(Change { kind: ChangeKind::Set, ..changed("bias trimmer") });
    // Behind the lamp nothing is approved, so nothing there is lost; the clips of step 4 are moved since.
    assert_eq!(closed(&procedure, &job), waiting(4, [("left-2", Why::MainsOn), ("clip-2", Why::NotTicked)]));
    go(&mut job, &procedure, 7);
    assert_eq!(open(&procedure, &job).len(), 8);
    job.change(changed("coupling capacitor"));
    assert_eq!(closed(&procedure, &job).0, 1, "a part takes away all");
}

#[test]
fn a_reason_does_not_outlive_a_part_and_stands_for_no_value_that_was_not_read() {
    let feeding = |id: &str, value: &str| {
        let Item::Reading(spec) = read_as(id, Gate::Soft, Purpose::Live) else { panic!("no reading") };
        Item::Reading(ReadingSpec {
            unit: "V RMS".into(),
            high: bound("90 V"),
            feeds: vec![value.into()],
            ..spec
        })
    };
    let Item::Reading(leaning) = live("bias") else { panic!("no reading") };
    let leaning = ReadingSpec { unit: "V RMS".into(), high: bound("1.2 × job.mains-measured"), ..leaning };
    let procedure = procedure(vec![
        vec![feeding("mains", "mains-measured"), feeding("heaters", "heater-voltage")],
        vec![Item::Reading(leaning)],
    ]);
    assert!(procedure.reading("bias").unwrap().1.depends_on("mains-measured"));
    let mut job = Job::new("1", "", NOW);
    job.begin(PAGE, "step-1", NOW);
    assert!(job.excuse(&procedure, "heaters", "no third meter", NOW));
    assert!(!job.excuse(&procedure, "mains", "no meter", NOW), "the bias is judged by it");
    assert_eq!(closed(&procedure, &job), waiting(1, [("mains", Why::NotRead)]));
    assert_eq!(frontier(&state(&procedure, &job)).unwrap().waits[0].gate, Gate::Hard);
    take(&mut job, &procedure, "mains", "", "100");
    assert_eq!(closed(&procedure, &job), waiting(1, [("mains", Why::OutOfRange)]));
    assert!(job.excuse(&procedure, "mains", "today’s mains", NOW));
    assert_eq!(open(&procedure, &job), [1, 2]);
    job.change(Change { at: Time::from_seconds(NOW.seconds() + 1), ..changed("fuse") });
    assert_eq!(closed(&procedure, &job), waiting(1, [("mains", Why::OutOfRange), ("heaters", Why::NotRead)]));
}

#[test]
fn two_answers_that_speak_against_each_other_open_nothing() {
    let Item::Choice(mut master) = choice("master", &[3, 4], "") else { panic!("no choice") };
    let answer = |option: &str| Some(Answer { choice: "feedback".into(), option: option.into() });
    master.options[0].not = answer("to-2");
    let procedure = procedure(vec![
        vec![choice("feedback", &[2, 3], "")],
        vec![Item::Choice(master.clone())],
        vec![],
        vec![],
    ]);
    assert_eq!(procedure.faults(), []);
    let mut job = Job::new("1", "", NOW);
    job.begin(PAGE, "step-1", NOW);
    job.choose(PAGE, "feedback", "to-2", NOW);
    job.choose(PAGE, "master", "to-3", NOW);
    assert_eq!(closed(&procedure, &job), waiting(2, [("master", Why::ChosenOtherwise)]));
    job.choose(PAGE, "master", "to-4", NOW);
    assert_eq!(open(&procedure, &job), [1, 2, 4]);
    master.options[0].not = answer("to-9");
    let wrong = super::procedure(vec![
        vec![choice("feedback", &[2], "")],
        vec![Item::Choice(master)],
        vec![],
        vec![],
    ]);
    assert_eq!(wrong.faults().len(), 1);
}

#[test]
fn hands_go_in_in_a_step_of_their_own() {
    let wrong = procedure(vec![vec![tick("clip", Some(Gate::Hard)), live("idle"), dead("left")]]);
    assert!(matches!(&wrong.faults()[..], [fault] if fault.key == "step-1 left"), "{:?}", wrong.faults());
    let right = procedure(vec![vec![dead("left"), tick("clip", Some(Gate::Hard)), live("idle")]]);
    assert_eq!(right.faults(), []);
}

#[test]
fn a_rise_is_worked_out_from_what_still_counts() {
    let over = |pairs: &[&str]| {
        let Item::Reading(spec) = live("rise") else { panic!("no reading") };
        let spot = |text: &str| {
            let (reading, blank) = text.split_once('.').unwrap_or((text, ""));
            Spot { reading: reading.into(), blank: blank.into() }
        };
        let rise = |pair: &&str| {
            let (from, to) = pair.split_once(" to ").unwrap();
            Rise { from: spot(from), to: spot(to) }
        };
        let rise = pairs.iter().map(rise).collect();
        let ten = ReadingSpec { id: "ten".into(), blanks: Blanks::named(&["A", "B"]), ..spec.clone() };
        procedure(vec![
            vec![reading("one", &["A", "B"], None)],
            vec![Item::Reading(ten), Item::Reading(ReadingSpec { rise, ..spec })],
            vec![],
        ])
    };
    let procedure = over(&["one to ten"]);
    assert_eq!(procedure.faults(), []);
    let mut job = Job::new("1", "", NOW);
    job.begin(PAGE, "step-1", NOW);
    let rise = |job: &Job| RunState::of(&procedure, job).rise(procedure.reading("rise").unwrap().1);
    take(&mut job, &procedure, "one", "A", "-50.3");
    take(&mut job, &procedure, "ten", "A", "-50.1");
    take(&mut job, &procedure, "ten", "B", "-49.1");
    assert_eq!(rise(&job), None, "B is not read");
    take(&mut job, &procedure, "one", "B", "-50.7");
    assert_eq!(rise(&job).as_deref(), Some("1.6\u{a0}V"));
    job.change(changed("grid leak"));
    assert_eq!(rise(&job), None, "it is another amplifier now");

    let wrong = over(&["one.C to ten.A", "idle.A to ten.A", "one.A to ten.B", "one to rise"]);
    let found: Vec<String> = wrong.faults().into_iter().map(|fault| fault.found).collect();
    assert_eq!(found, ["one.C to ten.A", "idle.A to ten.A", "one to rise"]);
}

#[test]
fn the_chassis_is_dead_as_long_as_its_last_proof_stands_and_no_longer() {
    let dead = |(procedure, job): &(Procedure, Job)| RunState::of(procedure, job).is_proven_dead();
    assert!(!dead(&gone_to(1)), "nothing was proved yet");
    let mut run = gone_to(2);
    assert!(dead(&run), "the next step is reached with the proof in range");
    // Out of range it proves nothing, and in range again it does.
    take(&mut run.1, &run.0, "left-1", "", "30");
    assert!(!dead(&run));
    take(&mut run.1, &run.0, "left-1", "", "1");
    assert!(dead(&run));
    // At the lamp it was read live, and the next proof is still to come.
    let mut run = gone_to(3);
    assert!(!dead(&run), "the mains was on");
    run.1.stop_at(PAGE, "step-4", NOW);
    assert!(!dead(&run), "the proof of this step is still to come");
    take(&mut run.1, &run.0, "left-2", "", "1");
    assert!(dead(&run));
    // Another procedure had the mains on.
    let mut other = run.1.readings[0].clone();
    (other.procedure, other.purpose) = ("other.html".into(), Purpose::Live);
    run.1.readings.push(other);
    assert!(!dead(&run));
}
