use super::*;
use crate::{file, values};

const NOW: Time = Time::from_seconds(1_795_641_062);

pub(crate) fn changed(what: &str) -> Change {
    Change {
        at: NOW,
        kind: ChangeKind::Swapped,
        what: what.into(),
        place: "C7".into(),
        value: "100 nF, 630 V".into(),
        before: "100 nF, 400 V".into(),
        kept: "bag 3".into(),
    }
}

fn job() -> Job {
    Job::new("a1", "the 65 W head", NOW)
}

#[test]
fn a_value_is_kept_with_its_unit_or_not_at_all() {
    let mut job = job();
    job.set("cathode-current", "34", From::Typed, NOW).unwrap();
    assert_eq!(job.values["cathode-current"].text, "34 mA");
    let before = job.clone();
    for (id, text) in
        [("cathode-current", "34 V"), ("cathode-current", ""), ("bias-voltage", "46"), ("no-such", "1")]
    {
        job.set(id, text, From::Typed, NOW).unwrap_err();
        assert_eq!(job, before, "{id} {text}");
    }
}

#[test]
fn a_calculator_starts_from_what_is_known_and_hears_what_is_not() {
    let mut job = job();
    for (id, text) in [("output-valve", "EL34"), ("anode-voltage", "436"), ("cathode-current", "38")] {
        job.set(id, text, From::Typed, NOW).unwrap();
    }
    let filled = job.inputs_for("dissipation");
    let expected = [("anode-voltage", "436 V"), ("cathode-current", "38 mA"), ("valve", "EL34")];
    assert_eq!(filled.inputs, expected.map(|(field, text)| (field.to_owned(), text.to_owned())).into());
    assert!(
        filled
            .missing
            .iter()
            .any(|(field, known)| *field == "screen-voltage" && known.id == "screen-voltage")
    );
    assert!(filled.stale.is_empty());
    let outcome = calc_core::calculate("dissipation", &filled.inputs).unwrap();
    assert!(outcome.problems().next().is_none() && outcome.unknown.is_empty(), "{:?}", outcome.unknown);
    // What is kept means the same wherever it goes.
    for calculator in calc_core::calculators() {
        let outcome = calculator.run(&job.inputs_for(calculator.sheet.id).inputs);
        assert!(
            outcome.problems().next().is_none(),
            "{}: {:?}",
            calculator.sheet.id,
            outcome.problems().next()
        );
    }
}

#[test]
fn a_change_makes_stale_what_was_measured_and_nothing_else() {
    let mut job = job();
    job.set("grid-leak", "220k", From::Typed, NOW).unwrap();
    job.set("anode-voltage", "438", From::Typed, NOW).unwrap();
    assert!(!job.is_stale("anode-voltage"));
    job.change(changed("coupling capacitor"));
    assert!(job.is_stale("anode-voltage") && !job.is_stale("grid-leak") && !job.is_stale("load"));
    let stale: Vec<&str> = job.inputs_for("dissipation").stale.iter().map(|(field, _)| *field).collect();
    assert_eq!(stale, ["anode-voltage"]);
    // Measured again, in the same second: it is fresh.
    job.set("anode-voltage", "440", From::Typed, NOW).unwrap();
    assert!(!job.is_stale("anode-voltage"));
    assert_eq!(file::read(&file::write(&job)).unwrap(), job);
}

#[test]
fn a_change_that_was_never_made_makes_nothing_stale() {
    let mut job = job();
    job.set("anode-voltage", "438", From::Typed, NOW).unwrap();
    job.change(changed("coupling capacitor"));
    let key = |job: &Job, at: usize| job.changes[at].key();
    job.remove(key(&job, 0), true, NOW);
    assert!(!job.is_stale("anode-voltage") && !job.has_changed_since(0));
    // One that is said to be younger than any change was never fresh.
    let mut young = job.clone();
    young.values.get_mut("anode-voltage").unwrap().changes_before = usize::MAX;
    assert!(young.is_stale("anode-voltage"));
    // The next one counts, and what is removed keeps its place in the count.
    job.set("screen-voltage", "434", From::Typed, NOW).unwrap();
    job.change(changed("grid leak"));
    assert!(job.is_stale("anode-voltage") && job.is_stale("screen-voltage"));
    job.set("screen-voltage", "434", From::Typed, NOW).unwrap();
    job.remove(key(&job, 0), false, NOW);
    assert!(job.is_stale("anode-voltage") && !job.is_stale("screen-voltage"));
    assert_eq!(file::read(&file::write(&job)).unwrap(), job);
    let lines = |job: &Job| {
        let sheet = crate::sheet::Sheet::of(job);
        (sheet.parts.len(), sheet.put_back.len(), sheet.advice.len())
    };
    job.advise("An HT fuse.", NOW);
    assert_eq!(lines(&job), (2, 2, 1));
    job.remove(key(&job, 1), true, NOW);
    job.remove(job.advice[0].key(), true, NOW);
    assert_eq!(lines(&job), (1, 1, 0));
}

#[test]
fn an_answer_finds_its_place_in_the_job() {
    let place = |calculator, answer| values::keeping(calculator, answer).map(|known| known.id);
    assert_eq!(place("dissipation", "anode-current"), Some("anode-current"));
    assert_eq!(place("dissipation", "anode-power"), None);
    assert_eq!(place("output-power", "anode-current"), None);
}

#[test]
fn where_one_stopped_is_where_one_goes_on() {
    let mut job = job();
    job.stop_at("p.html", "step-3", NOW);
    assert!(job.places.is_empty(), "what was not begun has no place");
    job.begin("p.html", "step-1", NOW);
    job.stop_at("p.html", "step-3", NOW);
    let again = file::read(&file::write(&job)).unwrap();
    assert_eq!(
        (again.places["p.html"].step.as_str(), again.run("p.html"), again.run("q.html")),
        ("step-3", 1, 0)
    );
}
