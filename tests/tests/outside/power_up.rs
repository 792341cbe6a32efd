//! The staged power-up where one goes back, types wrongly or changes something: what was proved counts only until mains, hands
//! or a change overtake it.

use job::procedure::{Procedure, Step};
use job::run::gate::{RunState, frontier, state};
use job::run::judge::{NewReading, judge};
use job::{Change, ChangeKind, Job, Judgement};
use tests::amplifier::family::called;
use tests::amplifier::meters::Meters;

use tests::amplifier::technician::Technician;
use tests::walk::procedures::{POWER_UP, PROCEDURES};
use tests::walk::{Walk, now, procedure};

/// The amplifier with HT held back and meters clipped on by hand.
const BY_HAND: &str = "two EL34, bias from the HT winding";

fn with(name: &str) -> Walk {
    Walk::with(Technician { meters: Meters::new(called(name), called(name)) })
}

fn walked(name: &str) -> Walk {
    let mut walk = with(name);
    assert!(walk.through(POWER_UP), "{:?}", walk.closed);
    walk
}

/// Takes a reading in its step, as who stands there.
fn take(walk: &mut Walk, procedure: &Procedure, id: &str, blank: &str, text: &str) -> Judgement {
    let (step, _) = procedure.reading(id).expect("the reading is there");
    walk.clock += 20;
    let at = walk.time();
    walk.job.stop_at(&procedure.page, &step.id, at);
    let take = NewReading { early: "as it was", ..NewReading::typed(procedure, id, blank, text, at) };
    walk.job.record_reading(take)
}

/// The step that is in the way, and its items that are.
fn waits(procedure: &Procedure, job: &Job) -> (String, Vec<String>) {
    let states = state(procedure, job);
    let here = frontier(&states).expect("it was begun");
    (here.id.clone(), here.waits.iter().map(|wait| wait.item.clone()).collect())
}

fn step_of(procedure: &Procedure, id: &str) -> String {
    let carries = |step: &&Step| step.items.iter().any(|item| item.id() == id);
    procedure.steps.iter().find(carries).expect("the item is there").id.clone()
}

/// In this order, each before the next; there may be others between.
#[track_caller]
fn assert_in_order(passed: &[String], expected: &[&str]) {
    let mut rest = passed.iter();
    for id in expected {
        assert!(rest.any(|known| known == id), "{id} is not where it belongs in {passed:?}");
    }
}

// Of every kind one: what is bad at a hard gate is bad in every blank.
#[test]
fn what_is_bad_shuts_every_hard_gate_whatever_the_reason() {
    for name in [
        BY_HAND,
        "two 6L6GC, valve rectifier, control (a)",
        "two EL34, no standby, control (e)",
        "four EL84, a cathode resistor each, control (c)",
        "four 6L6GC, bias and standby in the HT winding",
    ] {
        let mut walk = with(name);
        walk.tries_bad = true;
        let sound = walk.technician.meters.sound.clone();
        for (page, applies) in PROCEDURES {
            assert!(!applies(&sound) || walk.through(page), "{name}: {:?}", walk.closed);
        }
    }
}

#[test]
fn bias_is_proven_before_the_ht_and_the_lift_before_the_valves() {
    let walk = walked(BY_HAND);
    let held = [
        "earth",
        "left",
        "load",
        "valves-out",
        "clip-off",
        "a-held",
        "a-bias-out",
        "lift",
        "in-left",
        "a-bias-in",
    ];
    assert_in_order(&walk.passed, &held);
    assert_in_order(
        &walk.passed,
        &["a-bias-in", "ht-lamp-seen", "mains", "full-a-bias", "idle-once", "output-connected", "soak"],
    );
    let walk = walked("two 6V6GT, no trimmer, cathodes straight to chassis");
    let out = [
        "b-bias-out",
        "lift",
        "in-left",
        "b-bias-in",
        "mains",
        "full-b-left",
        "full-b-bias",
        "full-lift",
        "full-in-left",
        "full-b-bias-in",
        "idle-once",
    ];
    assert_in_order(&walk.passed, &out);
    let walk = walked("two EL84, cathode bias, valve rectifier");
    assert_in_order(
        &walk.passed,
        &["c-cathode", "c-leak", "lift", "in-left", "ht-lamp-seen", "full-lift", "idle-once"],
    );
    assert!(!walk.passed.iter().any(|id| id.contains("-bias-")), "{:?}", walk.passed);
}

#[test]
fn a_bias_without_its_sign_is_asked_back_and_more_of_it_is_noted() {
    let walk = walked(BY_HAND);
    let procedure = procedure(POWER_UP);
    let (_, spec) = procedure.reading("full-a-bias").expect("the reading is there");
    let judged = |text| judge(spec, text, &walk.job);
    let Judgement::Unread(problem) = judged("42") else { panic!("{:?}", judged("42")) };
    assert_eq!(problem.offers, ["-42V", "+42V"]);
    assert!(matches!(judged("-42V"), Judgement::InRange), "{:?}", judged("-42V"));
    assert!(matches!(judged("-60"), Judgement::Noted(_)), "{:?}", judged("-60"));
    assert!(matches!(judged("+42V"), Judgement::Stop(_)), "{:?}", judged("+42V"));
}

#[test]
fn without_a_bias_expected_no_valve_is_let_in() {
    let mut walk = walked(BY_HAND);
    let procedure = procedure(POWER_UP);
    let (_, spec) = procedure.reading("a-bias-out").expect("the reading is there");
    walk.job.forget("bias-expected", now());
    let judgement = judge(spec, "-42", &walk.job);
    let Judgement::CannotTell(why) = judgement else { panic!("{judgement:?}") };
    assert!(why.missing_inputs.iter().any(|lack| lack.known.id == "bias-expected"), "{why:?}");
}

// Rule 17: every range is scaled to the mains that the amplifier gets.
#[test]
fn mains_read_higher_judges_the_bias_anew() {
    let mut walk = walked(BY_HAND);
    let procedure = procedure(POWER_UP);
    assert_eq!(take(&mut walk, &procedure, "mains", "", "252"), Judgement::InRange);
    let at = walk.time();
    walk.job.tick(&procedure.page, "lamp-out", true, at);
    let (step, items) = waits(&procedure, &walk.job);
    assert!(
        step == step_of(&procedure, "full-left") || items.contains(&"full-a-bias".to_owned()),
        "{step} {items:?}"
    );
}

// Rule 3: bias is read again after it was set. Behind the lamp nothing was approved, so nothing there is lost; but hands were in,
// so that one goes on where the chassis was proved dead for what is read at full mains.
#[test]
fn a_trimmer_that_was_turned_leads_back_to_the_proof_before_full_mains() {
    let mut walk = walked(BY_HAND);
    let procedure = procedure(POWER_UP);
    walk.clock += 20;
    let trimmer = Change {
        at: walk.time(),
        kind: ChangeKind::Set,
        what: "bias trimmer".into(),
        place: String::new(),
        value: String::new(),
        before: String::new(),
        kept: String::new(),
    };
    walk.job.change(trimmer);
    assert_eq!(waits(&procedure, &walk.job).0, step_of(&procedure, "cathodes-left"));
}

// By hand: 39.4 − 38.2 = 1.2 mA and 37.1 − 37.0 = 0.1 mA.
#[test]
fn the_rise_that_is_typed_is_offered_as_the_readings_have_it() {
    let mut walk = walked(BY_HAND);
    let procedure = procedure(POWER_UP);
    for (id, blank, text) in [
        ("idle-one", "A1", "38.2"),
        ("idle-one", "B1", "37"),
        ("idle-ten", "A1", "39.4"),
        ("idle-ten", "B1", "37.1"),
    ] {
        take(&mut walk, &procedure, id, blank, text);
    }
    let (step, spec) = procedure.reading("rise").expect("the reading is there");
    let offered = RunState::seen_from(&procedure, &walk.job, &step.id).rise(spec);
    assert_eq!(offered.as_deref(), Some("1.2\u{a0}mA"));
    let (id, text) = (spec.id.clone(), offered.unwrap_or_default());
    assert_eq!(take(&mut walk, &procedure, &id, "", &text), Judgement::InRange);
}

#[test]
fn an_untouched_loop_and_a_new_control_speak_against_each_other() {
    let mut walk = walked("two EL34, no standby, control (e)");
    let procedure = procedure(POWER_UP);
    walk.job.choose(&procedure.page, "feedback", "untouched", now());
    let (step, items) = waits(&procedure, &walk.job);
    assert_eq!((step, items), (step_of(&procedure, "feedback"), vec!["feedback".to_owned()]));
}

#[test]
fn the_mains_that_a_bias_is_judged_by_is_read_and_not_explained() {
    let procedure = procedure(POWER_UP);
    let mut walk = with(BY_HAND);
    walk.job.begin(&procedure.page, "step-1", now());
    for id in ["out-mains", "a-mains-in", "output-open"] {
        assert!(!walk.job.excuse(&procedure, id, "no meter at hand", now()), "{id}");
    }
    assert!(walk.job.excuse(&procedure, "heaters", "no third meter", now()));
}
