//! What is asked: answers that items depend on, sockets, blanks that lie apart.

use super::*;
use crate::procedure::ChoiceSpec;

fn only(mut item: Item, choice: &str, option: &str) -> Item {
    let answer = Some(Answer { choice: choice.into(), option: option.into() });
    match &mut item {
        Item::Reading(ReadingSpec { when, .. })
        | Item::Tick(TickSpec { when, .. })
        | Item::Choice(ChoiceSpec { when, .. }) => *when = answer,
        Item::Timer(timer) => timer.when = answer,
    }
    item
}

/// A choice that leads to the next step whatever is answered.
fn asks(id: &str, options: &[&str], next: usize) -> Item {
    let Item::Choice(mut spec) = choice(id, &vec![next; options.len()], "") else { panic!("no choice") };
    for (option, id) in spec.options.iter_mut().zip(options) {
        option.id = (*id).into();
    }
    Item::Choice(spec)
}

fn begun() -> Job {
    let mut job = Job::new("1", "", NOW);
    job.begin(PAGE, "step-1", NOW);
    job
}

fn whys(procedure: &Procedure, job: &Job) -> Vec<(String, Why, Gate)> {
    let states = state(procedure, job);
    let waits = &frontier(&states).unwrap().waits;
    waits.iter().map(|wait| (format!("{}.{}", wait.item, wait.blank), wait.why, wait.gate)).collect()
}

#[test]
fn what_hangs_on_another_answer_is_not_waited_for() {
    let hard = Some(Gate::Hard);
    let procedure = procedure(vec![
        vec![asks("rectifier", &["silicon", "valve"], 2)],
        vec![only(asks("quick", &["done", "not"], 3), "rectifier", "silicon")],
        vec![
            only(reading("off-on", &[], hard), "quick", "done"),
            only(tick("never", hard), "rectifier", "valve"),
            reading("both", &[], hard),
        ],
        vec![],
    ]);
    assert_eq!(procedure.faults(), []);
    let take = |job: &mut Job, id: &str| take(job, &procedure, id, "", "-46");
    let mut job = begun();
    assert_eq!(open(&procedure, &job), [1]);
    job.choose(PAGE, "rectifier", "valve", NOW);
    // The choice of step 2 is not asked, and with it what depends on it.
    assert_eq!(open(&procedure, &job), [1, 2, 3]);
    take(&mut job, "both");
    assert_eq!(open(&procedure, &job), [1, 2, 3], "the tick is asked");
    job.tick(PAGE, "never", true, NOW);
    assert_eq!(open(&procedure, &job), [1, 2, 3, 4]);
    // Another answer asks other things.
    job.choose(PAGE, "rectifier", "silicon", NOW);
    assert_eq!(open(&procedure, &job), [1, 2]);
    job.choose(PAGE, "quick", "done", NOW);
    assert_eq!(open(&procedure, &job), [1, 2, 3]);
    take(&mut job, "off-on");
    assert_eq!(open(&procedure, &job), [1, 2, 3, 4]);
    // What was answered, and is asked no more, asks nothing.
    job.choose(PAGE, "rectifier", "valve", NOW);
    job.begin(PAGE, "step-1", NOW);
    assert_eq!(open(&procedure, &job), [1], "an earlier run's answer is none");
}

#[test]
fn an_answer_that_was_not_given_hides_nothing() {
    // Step 2 is passed by, and with it its choice.
    let procedure = procedure(vec![
        vec![choice("way", &[2, 3], "")],
        vec![asks("harness", &["with", "by-hand"], 3)],
        vec![only(reading("grid", &[], Some(Gate::Hard)), "harness", "with")],
        vec![],
    ]);
    let mut job = begun();
    job.choose(PAGE, "way", "to-3", NOW);
    assert_eq!(open(&procedure, &job), [1, 3], "a hard gate is not passed for want of an answer");
    job.choose(PAGE, "harness", "by-hand", NOW);
    assert_eq!(open(&procedure, &job), [1, 3, 4]);
}

#[test]
fn an_answer_that_nothing_gives_is_a_fault() {
    let item = |choice: &str, option: &str| only(tick("a", None), choice, option);
    let faults =
        |item: Item| procedure(vec![vec![asks("way", &["x", "y"], 2)], vec![item], vec![]]).faults().len();
    assert_eq!((faults(item("way", "x")), faults(item("way", "z")), faults(item("wya", "x"))), (0, 1, 1));
    let later = procedure(vec![vec![item("way", "x")], vec![asks("way", &["x", "y"], 3)], vec![]]);
    assert_eq!(later.faults().len(), 1, "it is not answered yet");
    let beside = procedure(vec![vec![asks("way", &["x", "y"], 2), item("way", "x")], vec![]]);
    assert_eq!(beside.faults(), []);
}

/// One bias for each output valve.
fn sockets(gate: Gate, alike: Option<Alike>) -> Procedure {
    let Item::Reading(spec) = reading("bias", &[], Some(gate)) else { panic!("no reading") };
    let spec = ReadingSpec { blanks: Blanks::Sockets, alike, ..spec };
    procedure(vec![vec![Item::Reading(spec)], vec![]])
}

// Every output socket has its own blank.
#[test]
fn every_socket_is_read() {
    for (count, blanks) in [
        ("1", &["A1"][..]),
        ("2", &["A1", "B1"]),
        ("4", &["A1", "A2", "B1", "B2"]),
        ("6", &["A1", "A2", "A3", "B1", "B2", "B3"]),
        ("8", &["A1", "A2", "A3", "A4", "B1", "B2", "B3", "B4"]),
    ] {
        let procedure = sockets(Gate::Hard, None);
        let mut job = begun();
        assert_eq!(whys(&procedure, &job), [("bias.".to_owned(), Why::Sockets, Gate::Hard)]);
        assert!(matches!(take(&mut job, &procedure, "bias", "A1", "-46"), Judgement::Unread(_)));
        job.set("sockets", count, From::Typed, NOW).unwrap();
        // A cold valve in any socket is seen.
        for blank in blanks {
            assert_eq!(open(&procedure, &job), [1], "{count} {blank}");
            assert!(matches!(take(&mut job, &procedure, "bias", blank, "-3"), Judgement::Stop(_)));
            assert_eq!(open(&procedure, &job), [1], "{count} {blank}");
            take(&mut job, &procedure, "bias", blank, "-46");
        }
        assert_eq!(open(&procedure, &job), [1, 2], "{count}");
        assert!(matches!(take(&mut job, &procedure, "bias", "C1", "-46"), Judgement::Unread(_)));
        job.forget("sockets", NOW);
        assert_eq!(open(&procedure, &job), [1]);
    }
}

// Rule 36: sides the same within 1 V, soft: a leaky coupling capacitor, a gassy valve.
#[test]
fn sockets_that_lie_apart_wait_for_a_reason_and_a_hard_gate_stays_hard() {
    let procedure = sockets(Gate::Hard, Some(Alike::Span(1.0)));
    let mut job = begun();
    job.set("sockets", "4", From::Typed, NOW).unwrap();
    for (blank, text) in [("A1", "-46"), ("A2", "-45.8"), ("B1", "-44.5"), ("B2", "-46")] {
        assert!(!job.excuse(&procedure, "bias", "for later", NOW), "{blank}: nothing lies apart yet");
        take(&mut job, &procedure, "bias", blank, text);
    }
    assert_eq!(whys(&procedure, &job), [("bias.".to_owned(), Why::Apart, Gate::Soft)]);
    assert!(job.excuse(&procedure, "bias", "the trimmers differ", NOW));
    assert_eq!(open(&procedure, &job), [1, 2]);
    // It was a reason for these readings, and for no reading that stops.
    take(&mut job, &procedure, "bias", "B1", "-44.4");
    assert_eq!(open(&procedure, &job), [1]);
    assert!(job.excuse(&procedure, "bias", "the same", NOW));
    take(&mut job, &procedure, "bias", "B1", "-3");
    assert!(!job.excuse(&procedure, "bias", "a hurry", NOW));
    assert_eq!(whys(&procedure, &job), [("bias.B1".to_owned(), Why::OutOfRange, Gate::Hard)]);
    take(&mut job, &procedure, "bias", "B1", "-45.2");
    assert_eq!(open(&procedure, &job), [1, 2], "alike within a volt");
}

#[test]
fn apart_is_hard_where_the_page_says_so_and_closes_where_nothing_else_does() {
    let mut procedure = sockets(Gate::Soft, Some(Alike::Share(0.1)));
    let mut job = begun();
    job.set("sockets", "2", From::Typed, NOW).unwrap();
    let read = |procedure: &Procedure, job: &mut Job| {
        take(job, procedure, "bias", "A1", "-46");
        take(job, procedure, "bias", "B1", "-60");
    };
    if let Item::Reading(spec) = &mut procedure.steps[0].items[0] {
        spec.alike_gate = Gate::Hard;
    }
    read(&procedure, &mut job);
    assert!(!job.excuse(&procedure, "bias", "a reason", NOW));
    assert_eq!(whys(&procedure, &job), [("bias.".to_owned(), Why::Apart, Gate::Hard)]);
    if let Item::Reading(spec) = &mut procedure.steps[0].items[0] {
        (spec.gate, spec.alike_gate) = (None, Gate::Soft);
    }
    assert_eq!(whys(&procedure, &job), [("bias.".to_owned(), Why::Apart, Gate::Soft)]);
    assert!(job.excuse(&procedure, "bias", "a reason", NOW));
    assert_eq!(open(&procedure, &job), [1, 2]);
    // Unread it is not waited for: it has no gate.
    job.begin(PAGE, "step-1", NOW);
    assert_eq!(open(&procedure, &job), [1, 2]);
}

#[test]
fn one_value_for_all_sockets_takes_the_worst_and_a_rise_the_largest() {
    let spec = |id: &str| {
        let Item::Reading(spec) = reading(id, &[], None) else { panic!("no reading") };
        ReadingSpec {
            unit: "mA".into(),
            high: bound("60 mA"),
            blanks: Blanks::Sockets,
            feeds: vec!["cathode-current".into()],
            ..spec
        }
    };
    let rise = ReadingSpec {
        blanks: Blanks::One,
        feeds: vec![],
        rise: vec![crate::procedure::Rise { from: spot("one"), to: spot("ten") }],
        ..spec("rise")
    };
    let procedure = procedure(vec![[spec("one"), spec("ten"), rise].map(Item::Reading).into(), vec![]]);
    assert_eq!(procedure.faults(), []);
    let mut job = begun();
    job.set("sockets", "4", From::Typed, NOW).unwrap();
    let offered = |job: &Job| RunState::of(&procedure, job).rise(procedure.reading("rise").unwrap().1);
    for (at, (blank, first, then)) in
        [("A1", "34", "35"), ("A2", "36", "36"), ("B1", "20", "24.5"), ("B2", "35", "33")].iter().enumerate()
    {
        assert_eq!(offered(&job), None, "{at}");
        take(&mut job, &procedure, "one", blank, first);
        take(&mut job, &procedure, "ten", blank, then);
    }
    assert_eq!(offered(&job).as_deref(), Some("4.5\u{a0}mA"));
    assert_eq!(job.values["cathode-current"].text, "36 mA");
}

fn spot(reading: &str) -> crate::procedure::Spot {
    crate::procedure::Spot { reading: reading.into(), blank: String::new() }
}
