use proptest::prelude::*;

use super::*;
use crate::Time;
use crate::procedure::Purpose;
use crate::record::{ChangeKind, Choice, Judged, Note, Photo, Place, Reason, Tick};
use crate::sheet::Sheet;

const NOW: Time = Time::from_seconds(1_795_641_062);

/// A text that is in one place of a job and nowhere else.
fn odd(place: &str) -> String {
    format!("§{place}§")
}

/// A job with a text of its own in every place that takes one.
fn full() -> Job {
    let taken = |reading: &str, after: usize, range: &str| Reading {
        procedure: "p.html".into(),
        step: odd("step"),
        reading: reading.into(),
        blank: String::new(),
        quantity: format!("Quantity {reading}"),
        text: format!("{after}1 mA"),
        unit: "mA".into(),
        at: NOW,
        judged: Judged::InRange,
        range: range.into(),
        why: String::new(),
        purpose: Purpose::Live,
        from_file: false,
        early: String::new(),
        run: 1,
        changes_before: after,
        inputs_used: Some([("anode-voltage".to_owned(), "438 V".to_owned())].into()),
    };
    let change = |what: &str| Change {
        at: NOW,
        kind: ChangeKind::Swapped,
        what: what.into(),
        place: "C7".into(),
        value: "100 nF".into(),
        before: "22 nF".into(),
        kept: odd("kept"),
    };
    let note = |text: &str| Note { at: NOW, text: text.into() };
    let mut job = Job::new(&odd("id"), &odd("label"), NOW);
    job.owner_ref = odd("owner");
    job.set("anode-voltage", "438", From::Typed, NOW).unwrap();
    job.values.insert(
        "standby".into(),
        Value {
            text: "none".into(),
            at: NOW,
            from: From::Reading { procedure: odd("from"), reading: odd("from-reading") },
            changes_before: 0,
        },
    );
    job.readings =
        vec![taken("before", 0, ""), taken(&odd("between"), 1, ""), taken("after", 3, "at most 48 mA")];
    job.ticks.insert(odd("tick"), Tick { done: true, at: NOW, run: 1, ..Tick::default() });
    job.choices.insert(odd("choice"), Choice { option: odd("option"), at: NOW, run: 1 });
    job.reasons.push(Reason {
        procedure: "p.html".into(),
        step: "step-1".into(),
        item: "idle".into(),
        about: "Idle current".into(),
        text: "the owner likes it warm".into(),
        at: NOW,
        run: 1,
        changes_before: 0,
        readings_before: 0,
    });
    job.changes = vec![change("coupling capacitor"), change(&odd("removed-change")), change("grid leak")];
    job.notes.push(note(&odd("note")));
    job.advice = vec![note("An HT fuse."), note(&odd("removed-advice"))];
    job.photos.push(Photo {
        id: odd("photo"),
        caption: odd("caption"),
        at: NOW,
        media: odd("media"),
        width: 1,
        height: 1,
        bytes: Some(odd("bytes")),
    });
    job.places.insert(
        "p.html".into(),
        Place { run: 1, begun: NOW, step: odd("stopped-there"), at: NOW, edition: 1 },
    );
    job.places.insert(odd("place"), Place { run: 1, begun: NOW, step: odd("stopped"), at: NOW, edition: 1 });
    for key in [crate::Entry::key(&job.changes[1]), crate::Entry::key(&job.advice[1])] {
        job.remove(key, true, NOW);
    }
    job
}

#[test]
fn nothing_goes_along_that_says_whose_it_is() {
    let job = full();
    let whole = serde_json::to_string(&job).unwrap();
    let odd_ones = whole.matches('§').count() / 2;
    assert!(odd_ones > 20, "{odd_ones} places are marked");
    let text = serde_json::to_string(&anonymous(&job)).unwrap();
    assert!(!text.contains('§'), "{text}");
    assert!(!written(&job).contains(char::is_whitespace));
}

#[test]
fn the_sheet_is_the_same_but_for_that() {
    let job = full();
    let came = read(&written(&job)).unwrap().unwrap().job;
    let (here, there) = (Sheet::of(&job), Sheet::of(&came));
    let texts = |sheet: &Sheet| -> Vec<_> {
        let text = |taken: &Option<Reading>| taken.as_ref().map(|taken| (taken.text.clone(), taken.at));
        sheet.readings.iter().map(|row| (row.quantity.clone(), text(&row.before), text(&row.after))).collect()
    };
    assert_eq!(texts(&here).len(), 2, "what was read between two changes is on no sheet");
    assert_eq!((&here.amplifier, texts(&here)), (&there.amplifier, texts(&there)));
    assert_eq!((&here.advice, &here.reasons), (&there.advice, &there.reasons));
    let proof = |sheet: &Sheet| {
        sheet.proofs.iter().map(|taken| (taken.text.clone(), taken.range.clone())).collect::<Vec<_>>()
    };
    assert_eq!(proof(&there), [("31 mA".to_owned(), "at most 48 mA".to_owned())]);
    assert_eq!(
        there.put_back,
        [
            "Put the old one back: grid leak (C7), 22 nF",
            "Put the old one back: coupling capacitor (C7), 22 nF"
        ]
    );
    // Made into a link again it is the same link: nothing is lost on the way from hand to hand.
    assert_eq!(written(&came), written(&job));
}

#[test]
fn a_proof_that_no_longer_holds_does_not_become_one() {
    let mut job = full();
    job.set("anode-voltage", "500", From::Typed, NOW).unwrap();
    assert!(Sheet::of(&job).proofs.is_empty());
    let came = read(&written(&job)).unwrap().unwrap().job;
    assert!(Sheet::of(&came).proofs.is_empty());
}

/// Links that were given out are read for ever, with the file of their time in them.
#[test]
fn a_link_with_a_file_of_any_version_is_read() {
    let files = [
        include_str!("../../../data/job-1.json"),
        include_str!("../../../data/job-2.json"),
        include_str!("../../../data/job-3.json"),
        include_str!("../../../data/job-4.json"),
    ];
    for text in files {
        let packed = URL_SAFE_NO_PAD.encode(compress_to_vec(text.as_bytes(), 6));
        let Imported { job, doubts } = read(&format!("sheet.1.{packed}")).unwrap().unwrap();
        let timers: Vec<String> = doubts.into_iter().filter(|doubt| !doubt.contains("timer")).collect();
        assert_eq!((job.readings.len(), timers), (1, vec![]));
        assert!(job.readings[0].from_file && Sheet::of(&job).readings[0].before.is_some());
    }
}

/// What a link says of its readings and values is no more believed than what a file says.
#[test]
fn a_link_is_judged_as_a_file_is() {
    let mut job = full();
    job.values.get_mut("anode-voltage").unwrap().text = "much".into();
    job.readings[2].text = "1".repeat(101);
    let refused = read(&written(&job)).unwrap().unwrap_err().to_string();
    assert!(refused.contains("“text” in “readings” is longer than 100 characters"), "{refused}");
    job.readings[2].text = "31 mA".into();
    let Imported { job, doubts } = read(&written(&job)).unwrap().unwrap();
    assert!(!job.values.contains_key("anode-voltage") && doubts[0].contains("much"), "{doubts:?}");
    assert!(job.places.is_empty() && job.readings.iter().all(|taken| taken.from_file && taken.run == 0));
}

#[test]
fn what_is_no_such_link_is_left_alone_and_a_later_one_named() {
    assert_eq!(read("run.1;step=5"), None);
    assert_eq!(read("anything"), None);
    assert_eq!(read("sheet.1"), Some(Err(Unread::Broken)));
    assert_eq!(read("sheet.2.abc"), Some(Err(Unread::Edition("2".to_owned()))));
}

proptest! {
    #[test]
    fn a_link_that_was_cut_or_changed_shows_nothing_else(at in any::<prop::sample::Index>(), letter in "[A-Za-z0-9_-]") {
        let link = written(&full());
        let at = "sheet.1.".len() + at.index(link.len() - "sheet.1.".len());
        prop_assert!(read(&link[..at]).unwrap().is_err());
        let mut other = link.clone();
        other.replace_range(at..=at, &letter);
        // The last letters have bits that mean nothing, to base64 and to deflate, which fill their last bytes up.
        let came = read(&other).unwrap();
        prop_assert!(came.is_err() || came.is_ok_and(|came| written(&came.job) == link), "{other}");
    }

    #[test]
    fn any_fragment_is_a_sheet_or_an_error(fragment in "sheet\\.1\\.[A-Za-z0-9_-]{0,200}") {
        prop_assert!(read(&fragment).unwrap().is_err());
    }
}
