use super::*;
use crate::procedure::{Gate, Item, Procedure, Purpose, ReadingSpec, Step};
use crate::record::From;
use crate::run::judge::NewReading;

const NOW: Time = Time::from_seconds(1_795_641_062);

fn procedure() -> Procedure {
    let item = Item::Reading(ReadingSpec {
        id: "idle".into(),
        quantity: "Idle current".into(),
        unit: "mA".into(),
        high: crate::procedure::bound("48 mA"),
        gate: Some(Gate::Soft),
        ..ReadingSpec::default()
    });
    Procedure {
        page: "p.html".into(),
        title: String::new(),
        steps: vec![Step { id: "step-1".into(), items: vec![item] }],
    }
}

fn idle(job: &mut Job, text: &str) {
    let procedure = procedure();
    let _ = job.record_reading(NewReading::typed(&procedure, "idle", "", text, NOW));
}

fn change(kind: ChangeKind, what: &str, before: &str, value: &str, kept: &str) -> Change {
    let [what, before, value, kept] = [what, before, value, kept].map(str::to_owned);
    Change { at: NOW, kind, what, place: String::new(), value, before, kept }
}

#[test]
fn before_after_and_the_way_back() {
    let mut job = Job::new("a", "head", NOW);
    job.begin("p.html", "step-1", NOW);
    job.set("standby", "none", From::Typed, NOW).unwrap();
    job.set("anode-voltage", "438", From::Typed, NOW).unwrap();
    idle(&mut job, "50");
    idle(&mut job, "52");
    job.change(change(ChangeKind::Swapped, "coupling capacitor", "100 nF, 400 V", "100 nF, 630 V", "bag 3"));
    idle(&mut job, "45");
    job.change(change(ChangeKind::Set, "bias trimmer", "−46 V", "−48 V", ""));
    assert!(job.excuse(&procedure(), "idle", "the owner likes it warm", NOW));
    job.advise("An HT fuse.", NOW);
    let none_after = Sheet::of(&job);
    assert_eq!(none_after.readings.len(), 1);
    assert_eq!(
        none_after.readings[0].after, None,
        "what was read between two changes is neither before nor after"
    );
    assert!(none_after.proofs.is_empty());
    idle(&mut job, "49");
    idle(&mut job, "38");
    let sheet = Sheet::of(&job);
    let text = |taken: &Option<Reading>| taken.as_ref().unwrap().text.clone();
    assert_eq!(
        (text(&sheet.readings[0].before), text(&sheet.readings[0].after)),
        ("52 mA".into(), "38 mA".into())
    );
    assert_eq!(
        sheet.put_back,
        [
            "Set back: bias trimmer to −46 V",
            "Put the old one back: coupling capacitor, 100 nF, 400 V; kept: bag 3"
        ]
    );
    assert_eq!(sheet.proofs.iter().map(|taken| taken.text.as_str()).collect::<Vec<_>>(), ["38 mA"]);
    assert_eq!(sheet.proofs[0].range.replace('\u{a0}', " "), "at most 48 mA");
    // An earlier one in range proves nothing once the last is out of it.
    let mut stopped = job.clone();
    idle(&mut stopped, "60");
    assert!(Sheet::of(&stopped).proofs.is_empty());
    assert_eq!(sheet.reasons[0].about, "Idle current");
    assert_eq!(sheet.advice, ["An HT fuse."]);
    let described: Vec<(&str, &str, bool)> =
        sheet.amplifier.iter().map(|value| (value.label, value.text.as_str(), value.stale)).collect();
    assert_eq!(
        described,
        [
            ("How the HT is switched on", "there is no standby switch", false),
            ("Anode voltage", "438 V", true)
        ]
    );
}

#[test]
fn what_did_not_pass_last_proves_nothing_nor_does_an_earlier_run() {
    let mut job = Job::new("a", "head", NOW);
    job.begin("p.html", "step-1", NOW);
    idle(&mut job, "38");
    let proofs = |job: &Job| Sheet::of(job).proofs.iter().map(|taken| taken.text.clone()).collect::<Vec<_>>();
    assert_eq!(proofs(&job), ["38 mA"]);
    idle(&mut job, "60");
    assert!(proofs(&job).is_empty(), "the last one counts, and it stopped");
    idle(&mut job, "39");
    assert_eq!(proofs(&job), ["39 mA"]);
    job.begin("p.html", "step-1", NOW);
    assert!(proofs(&job).is_empty(), "the procedure was begun anew");
}

#[test]
fn what_was_read_behind_the_lamp_or_while_dead_stays_off_the_sheet() {
    let mut job = Job::new("a", "head", NOW);
    job.begin("p.html", "step-1", NOW);
    idle(&mut job, "38");
    let last = job.readings.len() - 1;
    for purpose in Purpose::NAMED {
        job.readings[last].purpose = purpose;
        let sheet = Sheet::of(&job);
        let shown = !sheet.proofs.is_empty() && !sheet.readings.is_empty();
        assert_eq!(shown, purpose == Purpose::Live, "{purpose:?}: {sheet:?}");
    }
    job.readings[last].purpose = Purpose::BehindTheLamp;
    // The same reading at full mains is beside it in the record, and on the hand-over sheet alone.
    idle(&mut job, "39");
    assert_eq!(Sheet::of(&job).proofs.len(), 1);
}

/// One line for each socket, in the order of the stage, whatever order they were read in.
#[test]
fn each_socket_has_its_line() {
    let mut job = Job::new("a", "head", NOW);
    job.begin("p.html", "step-1", NOW);
    for blank in ["B2", "A1", "B1", "A2"] {
        idle(&mut job, "38");
        job.readings.last_mut().unwrap().blank = blank.into();
    }
    job.change(change(ChangeKind::Set, "bias trimmer", "−46 V", "−48 V", ""));
    idle(&mut job, "36");
    job.readings.last_mut().unwrap().blank = "B1".into();
    let sheet = Sheet::of(&job);
    let lines: Vec<(&str, bool, bool)> = sheet
        .readings
        .iter()
        .map(|row| (row.blank.as_str(), row.before.is_some(), row.after.is_some()))
        .collect();
    assert_eq!(lines, [("A1", true, false), ("A2", true, false), ("B1", true, true), ("B2", true, false)]);
    assert_eq!(sheet.proofs.iter().map(|taken| taken.blank.as_str()).collect::<Vec<_>>(), ["B1"]);
}

#[test]
fn what_a_file_says_is_said_to_be_its_word() {
    let mut job = Job::new("a", "head", NOW);
    job.begin("p.html", "step-1", NOW);
    idle(&mut job, "38");
    let standing = |job: &Job| Sheet::of(job).proofs[0].standing();
    assert_eq!(standing(&job), "in range");
    job.readings[0].from_file = true;
    assert_eq!(standing(&job), "in range, as its file says");
}

#[test]
fn why_a_reading_was_taken_before_its_time_is_printed() {
    let mut job = Job::new("a", "head", NOW);
    job.begin("p.html", "step-1", NOW);
    idle(&mut job, "38");
    job.readings[0].early = "the owner waits".into();
    let sheet = Sheet::of(&job);
    let reason = &sheet.reasons[0];
    assert_eq!(
        (reason.about.as_str(), reason.text.as_str()),
        ("Idle current, read before its time", "the owner waits")
    );
    // One that was read again in its time is what the hand-over sheet shows.
    idle(&mut job, "39");
    assert!(Sheet::of(&job).reasons.is_empty());
}
