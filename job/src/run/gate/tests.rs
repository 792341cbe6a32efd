mod after;
mod asked;
mod invalidated;
mod random_runs;

use super::*;
use crate::procedure::{Alike, Blanks, ChoiceOption, Purpose, TickSpec, bound};
use crate::record::tests::changed;
use crate::record::{Change, From};
use crate::run::judge::{Judgement, NewReading};

const PAGE: &str = "power-up/first.html";
const NOW: Time = Time::from_seconds(1_795_641_062);

fn reading(id: &str, blanks: &[&str], gate: Option<Gate>) -> Item {
    Item::Reading(ReadingSpec {
        id: id.into(),
        quantity: format!("Bias {id}"),
        unit: "V".into(),
        blanks: Blanks::named(blanks),
        high: bound("-41 V"),
        gate,
        ..ReadingSpec::default()
    })
}

fn tick(id: &str, gate: Option<Gate>) -> Item {
    Item::Tick(TickSpec { id: id.into(), text: format!("Tick {id}"), gate, when: None })
}

fn choice(id: &str, goes: &[usize], meet: &str) -> Item {
    let option = |go: &usize| ChoiceOption {
        id: format!("to-{go}"),
        go: format!("step-{go}"),
        ..ChoiceOption::default()
    };
    Item::Choice(ChoiceSpec {
        id: id.into(),
        question: String::new(),
        options: goes.iter().map(option).collect(),
        meet: meet.into(),
        ..ChoiceSpec::default()
    })
}

fn procedure(steps: Vec<Vec<Item>>) -> Procedure {
    let step = |(at, items)| Step { id: format!("step-{}", at + 1), items };
    Procedure {
        page: PAGE.into(),
        title: String::new(),
        steps: steps.into_iter().enumerate().map(step).collect(),
    }
}

/// The numbers of the steps that are open.
fn open(procedure: &Procedure, job: &Job) -> Vec<usize> {
    let states = state(procedure, job);
    states.iter().enumerate().filter(|(_, state)| state.open).map(|(at, _)| at + 1).collect()
}

fn take(job: &mut Job, procedure: &Procedure, id: &str, blank: &str, text: &str) -> Judgement {
    job.record_reading(NewReading::typed(procedure, id, blank, text, NOW))
}

#[test]
fn each_output_grid_must_be_in_range() {
    let procedure = procedure(vec![vec![], vec![reading("bias", &["A", "B"], Some(Gate::Hard))], vec![]]);
    let mut job = Job::new("1", "", NOW);
    assert_eq!(open(&procedure, &job), [0_usize; 0], "nothing is open before it is begun");
    job.begin(PAGE, "step-1", NOW);
    assert_eq!(open(&procedure, &job), [1, 2]);
    for (blank, text, opened) in [
        ("A", "-46", false),
        ("B", "46", false),
        ("B", "-37", false),
        ("B", "-46", true),
        ("A", "-40", false),
        ("A", "-44", true),
    ] {
        take(&mut job, &procedure, "bias", blank, text);
        assert_eq!(open(&procedure, &job).contains(&3), opened, "{blank} {text}");
    }
    let last = take(&mut job, &procedure, "bias", "A", "−30");
    assert!(matches!(last, Judgement::Stop(_)));
    let states = state(&procedure, &job);
    let waits = &frontier(&states).unwrap().waits;
    assert_eq!(waits.len(), 1);
    assert_eq!((waits[0].blank.as_str(), waits[0].why), ("A", Why::OutOfRange));
}

#[test]
fn an_earlier_run_opens_nothing() {
    let procedure = procedure(vec![
        vec![reading("bias", &[], Some(Gate::Hard)), tick("clip", Some(Gate::Hard))],
        vec![choice("way", &[3, 4], "")],
        vec![reading("soft", &[], Some(Gate::Soft))],
        vec![],
    ]);
    let mut job = Job::new("1", "", NOW);
    job.begin(PAGE, "step-1", NOW);
    take(&mut job, &procedure, "bias", "", "-46");
    assert_eq!(open(&procedure, &job), [1]);
    job.tick(PAGE, "clip", true, NOW);
    job.choose(PAGE, "way", "to-3", NOW);
    assert!(job.excuse(&procedure, "soft", "the owner knows", NOW));
    assert_eq!(open(&procedure, &job), [1, 2, 3, 4]);
    // The same second, and a clock that goes backwards, make no difference.
    job.begin(PAGE, "step-1", Time::from_seconds(5));
    assert_eq!(open(&procedure, &job), [1]);
    take(&mut job, &procedure, "bias", "", "-46");
    assert_eq!(open(&procedure, &job), [1], "nor does the tick");
    job.tick(PAGE, "clip", true, NOW);
    assert_eq!(open(&procedure, &job), [1, 2], "nor does the branch");
    job.choose(PAGE, "way", "to-3", NOW);
    assert_eq!(open(&procedure, &job), [1, 2, 3], "nor does the reason");
}

#[test]
fn a_reason_opens_a_soft_gate_only() {
    let procedure = procedure(vec![
        vec![reading("soft", &[], Some(Gate::Soft)), tick("tidy", Some(Gate::Soft))],
        vec![
            reading("hard", &[], Some(Gate::Hard)),
            tick("clip", Some(Gate::Hard)),
            reading("free", &[], None),
        ],
        vec![],
    ]);
    let mut job = Job::new("1", "", NOW);
    job.begin(PAGE, "step-1", NOW);
    assert!(!job.excuse(&procedure, "soft", " ", NOW), "a blank reason is none");
    assert!(job.excuse(&procedure, "soft", "no load to hand", NOW));
    assert!(job.excuse(&procedure, "tidy", "the shelf is full", NOW));
    assert_eq!(open(&procedure, &job), [1, 2]);
    for item in ["hard", "clip", "free", "nothing"] {
        assert!(!job.excuse(&procedure, item, "in a hurry", NOW), "{item}");
    }
    // Not even one that a file brings.
    let forged = |item: &str| Reason {
        procedure: PAGE.into(),
        step: "step-2".into(),
        item: item.into(),
        about: String::new(),
        text: "because".into(),
        at: NOW,
        run: 1,
        changes_before: 0,
        readings_before: 9,
    };
    job.reasons.extend([forged("hard"), forged("clip")]);
    assert_eq!(open(&procedure, &job), [1, 2]);
}

#[test]
fn valves_that_differ_too_much_close_the_gate() {
    let mut procedure = procedure(vec![vec![reading("bias", &["A", "B"], Some(Gate::Hard))], vec![]]);
    if let Item::Reading(reading) = &mut procedure.steps[0].items[0] {
        (reading.alike, reading.alike_gate) = (Some(Alike::Share(0.1)), Gate::Hard);
    }
    let mut job = Job::new("1", "", NOW);
    job.begin(PAGE, "step-1", NOW);
    take(&mut job, &procedure, "bias", "A", "-52");
    take(&mut job, &procedure, "bias", "B", "-42");
    assert_eq!(state(&procedure, &job)[0].waits[0].why, Why::Apart);
    take(&mut job, &procedure, "bias", "B", "-50");
    assert_eq!(open(&procedure, &job), [1, 2]);
}

#[test]
fn what_cannot_be_told_or_has_no_limit_opens_no_gate() {
    for (high, why) in [(Some("job.load"), Why::CannotTell), (None, Why::CannotTell)] {
        let mut procedure = procedure(vec![vec![reading("ohms", &[], Some(Gate::Hard))], vec![]]);
        if let Item::Reading(reading) = &mut procedure.steps[0].items[0] {
            (reading.unit, reading.high) = ("Ω".into(), high.and_then(bound));
        }
        let mut job = Job::new("1", "", NOW);
        job.begin(PAGE, "step-1", NOW);
        take(&mut job, &procedure, "ohms", "", "8");
        assert_eq!(state(&procedure, &job)[0].waits[0].why, why);
        assert_eq!(open(&procedure, &job), [1]);
    }
}

#[test]
fn the_same_question_is_answered_alike() {
    let mut again = choice("again", &[3, 4], "");
    let mut first = choice("first", &[2, 3], "");
    for item in [&mut first, &mut again] {
        let Item::Choice(spec) = item else { continue };
        for (option, id) in spec.options.iter_mut().zip(["held", "cathode"]) {
            option.id = id.into();
        }
        spec.same = if spec.id == "again" { "first".into() } else { String::new() };
    }
    let procedure = procedure(vec![vec![first], vec![again], vec![], vec![]]);
    assert!(procedure.faults().is_empty());
    let mut job = Job::new("1", "", NOW);
    job.begin(PAGE, "step-1", NOW);
    job.choose(PAGE, "first", "held", NOW);
    job.choose(PAGE, "again", "cathode", NOW);
    assert_eq!(open(&procedure, &job), [1, 2], "cathode bias would pass every gate of the fixed one");
    assert_eq!(frontier(&state(&procedure, &job)).unwrap().waits[0].why, Why::ChosenOtherwise);
    job.choose(PAGE, "again", "held", NOW);
    assert_eq!(open(&procedure, &job), [1, 2, 3, 4]);
}

#[test]
fn a_reason_speaks_of_what_was_read_by_then() {
    let procedure = procedure(vec![vec![reading("bias", &[""], Some(Gate::Soft))], vec![]]);
    let mut job = Job::new("1", "", NOW);
    job.begin(PAGE, "step-1", NOW);
    take(&mut job, &procedure, "bias", "", "-40");
    assert!(job.excuse(&procedure, "bias", "the owner knows", NOW));
    assert_eq!(open(&procedure, &job), [1, 2]);
    // The clock was set back an hour: the order counts.
    let at = Time::from_seconds(NOW.seconds() - 3_600);
    job.record_reading(NewReading::typed(&procedure, "bias", "", "-2", at));
    assert_eq!(open(&procedure, &job), [1], "it was not of this reading");
    assert!(job.excuse(&procedure, "bias", "the owner knows this too", at));
    assert_eq!(open(&procedure, &job), [1, 2]);
    job.change(Change { at, ..changed("fuse") });
    assert_eq!(open(&procedure, &job), [1], "it was of another amplifier");
}

#[test]
fn branches_meet_again() {
    // 1 asks; 2–3 is one branch, 4–5 the other, 6 is for both.
    let hard = |id| vec![reading(id, &[], Some(Gate::Hard))];
    let procedure =
        procedure(vec![vec![choice("way", &[2, 4], "step-6")], hard("a"), vec![], hard("b"), vec![], vec![]]);
    assert!(procedure.faults().is_empty());
    let mut job = Job::new("1", "", NOW);
    job.begin(PAGE, "step-1", NOW);
    assert_eq!(open(&procedure, &job), [1]);
    job.choose(PAGE, "way", "to-2", NOW);
    take(&mut job, &procedure, "b", "", "-46");
    assert_eq!(open(&procedure, &job), [1, 2], "the other branch’s reading does not open this one");
    take(&mut job, &procedure, "a", "", "-46");
    assert_eq!(open(&procedure, &job), [1, 2, 3, 6]);
    job.choose(PAGE, "way", "to-4", NOW);
    assert_eq!(open(&procedure, &job), [1, 4, 5, 6]);
    job.choose(PAGE, "way", "nowhere", NOW);
    assert_eq!(open(&procedure, &job), [1]);
}

/// Press refuses such a page; an old page in the browser must not hang all the same.
#[test]
fn a_branch_that_leads_back_or_nowhere_opens_nothing() {
    for go in [1, 2, 9] {
        let procedure = procedure(vec![vec![], vec![choice("way", &[go, 3], "")], vec![]]);
        let mut job = Job::new("1", "", NOW);
        job.begin(PAGE, "step-1", NOW);
        job.choose(PAGE, "way", &format!("to-{go}"), NOW);
        assert_eq!(open(&procedure, &job), [1, 2], "{go}");
    }
}

#[test]
fn faults_of_a_whole_procedure_are_named() {
    let procedure =
        procedure(vec![vec![tick("a", None)], vec![choice("b", &[1, 3], "step-9"), tick("a", None)], vec![]]);
    let faults: Vec<String> = procedure
        .faults()
        .iter()
        .map(|fault| format!("{}: “{}” {}", fault.key, fault.found, fault.wrong))
        .collect();
    assert_eq!(
        faults,
        [
            "step-2 b: “#step-1” is not a later step of this page",
            "step-2 b: “#step-9” is not a later step of this page",
            "step-2 a: “a” occurs twice in this page",
        ]
    );
}
