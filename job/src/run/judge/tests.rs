mod again;
mod time;
mod typed;

use super::*;
use crate::Time;
use crate::procedure::{Alike, Blanks, Bound, Item, Of, Procedure, Purpose, Step, bound};
use crate::record::tests::changed;
use crate::record::{Change, ChangeKind, From, Judged};
use crate::run::judge::NewReading;
use proptest::prelude::*;

const NOW: Time = Time::from_seconds(1_795_641_062);

fn job() -> Job {
    let mut job = Job::new("test", "65 W head", NOW);
    job.begin("p.html", "step-1", NOW);
    job
}

fn set(job: &mut Job, values: &[(&str, &str)]) {
    for (id, text) in values {
        job.set(id, text, From::Typed, NOW).unwrap();
    }
}

/// The bias gate: less negative than −41 V stops, more negative than −55 V is noted.
fn bias() -> ReadingSpec {
    ReadingSpec {
        id: "bias".into(),
        quantity: "Bias at the grid".into(),
        unit: "V".into(),
        high: bound("-41 V"),
        note_low: bound("-55 V"),
        feeds: vec!["bias-voltage".into()],
        ..ReadingSpec::default()
    }
}

/// A page with this reading.
fn page(spec: &ReadingSpec) -> Procedure {
    let step = Step { id: "step-1".into(), items: vec![Item::Reading(spec.clone())] };
    Procedure { page: "p.html".into(), title: String::new(), steps: vec![step] }
}

fn judged(spec: &ReadingSpec, text: &str, job: &Job) -> Judgement {
    judge(spec, text, job)
}

#[test]
fn bias_is_one_sided() {
    let job = job();
    for (text, expected) in [
        ("−46", Judged::InRange),
        ("-41.0 V", Judged::InRange),
        ("−40.9", Judged::Stop),
        ("−70", Judged::Noted),
        ("−500 V", Judged::Noted),
        ("0", Judged::Stop),
        ("-0.046 V", Judged::Stop),
        ("+46", Judged::Stop),
        ("−46 mV", Judged::Stop),
    ] {
        assert_eq!(judged(&bias(), text, &job).judged(), Some(expected), "{text}");
    }
    let Judgement::Stop(stop) = judged(&bias(), "-37", &job) else { panic!("a bias of −37 V must stop") };
    assert_eq!(stop.read.replace('\u{a0}', " "), "−37 V");
    assert_eq!(stop.limit.replace('\u{a0}', " "), "at most −41 V");
}

/// A reading that is only noted says what is noted of it, then and on the sheet.
#[test]
fn what_is_noted_is_kept_in_words() {
    let mut job = job();
    let take = |job: &mut Job, spec: &ReadingSpec, text| {
        assert!(
            matches!(
                job.record_reading(NewReading::typed(&page(spec), &spec.id, "", text, NOW)).judged(),
                Some(Judged::Noted | Judged::InRange)
            ),
            "{text}"
        );
        job.readings.last().unwrap().standing().replace('\u{a0}', " ")
    };
    assert_eq!(
        take(&mut job, &bias(), "-60"),
        "noted: −60 V is below −55 V (set by this page): unusual, but no reason to stop"
    );
    assert_eq!(take(&mut job, &bias(), "-46"), "in range");
    let unknown = ReadingSpec { note_low: bound("1.25 × job.bias-expected"), ..bias() };
    let said = take(&mut job, &unknown, "-60");
    assert!(
        said.starts_with("noted: cannot tell whether this is usual.") && said.contains("not known"),
        "{said}"
    );
    let sheet = crate::sheet::Sheet::of(&job);
    assert_eq!(sheet.proofs.last().unwrap().standing().replace('\u{a0}', " "), said);
}

#[test]
fn a_missing_sign_is_asked_back_and_each_offer_can_be_taken() {
    let job = job();
    let Judgement::Unread(problem) = judged(&bias(), "46", &job) else { panic!("46 is not asked back") };
    assert_eq!(problem.offers, ["-46V", "+46V"]);
    assert_eq!(judged(&bias(), &problem.offers[0], &job), Judgement::InRange);
    assert!(matches!(judged(&bias(), &problem.offers[1], &job), Judgement::Stop(_)));
    // Also where only the limit says that it is below nothing, and where only the value says so.
    let by_limit = ReadingSpec { feeds: vec![], ..bias() };
    let by_value = ReadingSpec { high: None, ..bias() };
    for spec in [by_limit, by_value] {
        assert!(matches!(judged(&spec, "46", &job), Judgement::Unread(_)));
    }
}

/// Common practice, no source: a 50 W head with two EL34 is at about −37 V on the grids and about 38 mA a valve.
#[test]
fn an_ordinary_pair_of_readings_is_accepted() {
    let job = job();
    let spec = |high: &str| ReadingSpec { high: bound(high), note_low: None, ..bias() };
    assert_eq!(judged(&spec("-32 V"), "-37", &job), Judgement::InRange);
    let idle = ReadingSpec {
        unit: "mA".into(),
        high: bound("55 mA"),
        note_low: bound("25 mA"),
        ..ReadingSpec::default()
    };
    assert_eq!(judged(&idle, "38", &job), Judgement::InRange);
}

#[test]
fn a_text_that_is_no_reading_is_asked_back_and_recorded_nowhere() {
    let mut job = job();
    let idle = ReadingSpec {
        id: "idle".into(),
        quantity: "Idle current".into(),
        unit: "mA".into(),
        high: bound("55 mA"),
        ..ReadingSpec::default()
    };
    let before = job.clone();
    for text in ["", "thirty", "38 V", "4,700", "0.038", "38 38", "∞", "NaN", "1e99"] {
        assert!(
            matches!(
                job.record_reading(NewReading::typed(&page(&idle), "idle", "", text, NOW)),
                Judgement::Unread(_)
            ),
            "{text}"
        );
        assert_eq!(job, before, "{text}");
    }
}

#[test]
fn a_computed_limit_says_what_it_lacks_and_never_takes_a_default() {
    let mut job = job();
    let spec = ReadingSpec {
        id: "heat".into(),
        quantity: "Anode dissipation".into(),
        unit: "W".into(),
        high: bound("1.1 × dissipation.anode-power"),
        ..ReadingSpec::default()
    };
    let Judgement::CannotTell(lacking) = judged(&spec, "14", &job) else { panic!("the job is empty") };
    let names: Vec<&str> = lacking.missing_inputs.iter().map(|lack| lack.known.id).collect();
    assert!(names.contains(&"anode-voltage") && names.contains(&"cathode-current"), "{names:?}");
    assert!(lacking.why.contains("anode voltage (not known)"), "{}", lacking.why);

    let whole = [
        ("output-valve", "6L6GC"),
        ("bias-kind", "fixed"),
        ("anode-voltage", "438"),
        ("screen-voltage", "434"),
        ("cathode-current", "34"),
        ("screen-stopper", "470"),
        ("screen-drop", "0.705"),
    ];
    set(&mut job, &whole);
    // 438 V by 32.5 mA is 14.2 W. The margin's lower end is below it, so that 1.1 times it is below 15.6 W.
    assert_eq!(judged(&spec, "14.2", &job), Judgement::InRange);
    let Judgement::Stop(stop) = judged(&spec, "15.6", &job) else { panic!("the margin was not counted") };
    assert!(
        stop.source.starts_with("1.1 × anode dissipation, each valve by the calculator dissipation"),
        "{}",
        stop.source
    );
    assert!(stop.source.contains("taken as usual: "), "what stands at its default is named: {}", stop.source);
    // As a lower limit the margin's upper end counts.
    let low = ReadingSpec { high: None, low: bound("dissipation.anode-power"), ..spec.clone() };
    assert!(matches!(judged(&low, "14.3", &job), Judgement::Stop(_)));
    assert_eq!(judged(&low, "15.5", &job), Judgement::InRange);

    // Each value that moves the answer is missed when it is taken away, and no other is: the valve’s type moves its rating,
    // not the watts.
    let missed = |limit: &str, id: &str| {
        let mut less = job.clone();
        less.forget(id, NOW);
        match judged(&ReadingSpec { high: bound(limit), ..spec.clone() }, "1", &less) {
            Judgement::CannotTell(lacking) => {
                lacking.missing_inputs.iter().map(|lack| lack.known.id).collect()
            }
            _ => Vec::new(),
        }
    };
    for (id, _) in whole {
        let moves = ["anode-voltage", "cathode-current", "screen-stopper", "screen-drop"].contains(&id);
        assert_eq!(missed("dissipation.anode-power", id), if moves { vec![id] } else { vec![] }, "{id}");
    }
    assert_eq!(missed("dissipation.screen-power", "screen-voltage"), ["screen-voltage"]);
}

#[test]
fn a_contradiction_with_a_default_names_what_is_missing() {
    let mut job = job();
    let spec =
        ReadingSpec { unit: "W".into(), high: bound("dissipation.anode-power"), ..ReadingSpec::default() };
    // Less than the screen draws by default: the calculator has no answer.
    set(&mut job, &[("cathode-current", "1 mA")]);
    let Judgement::CannotTell(lacking) = judged(&spec, "14", &job) else { panic!("the job is nearly empty") };
    assert!(lacking.missing_inputs.iter().any(|lack| lack.known.id == "screen-drop"), "{}", lacking.why);
    // With everything known it is the calculator’s own words.
    let rest = [
        ("output-valve", "6L6GC"),
        ("bias-kind", "fixed"),
        ("anode-voltage", "438"),
        ("screen-voltage", "434"),
        ("screen-stopper", "470"),
        ("screen-drop", "0.705"),
    ];
    set(&mut job, &rest);
    let Judgement::CannotTell(impossible) = judged(&spec, "14", &job) else { panic!("it has no answer") };
    assert!(impossible.missing_inputs.is_empty() && impossible.why.contains("screen"), "{}", impossible.why);
}

#[test]
fn what_was_measured_before_a_change_is_no_limit_any_more() {
    let mut job = job();
    set(&mut job, &[("load", "8"), ("mains-measured", "120")]);
    let spec = |limit: &str, unit: &str| ReadingSpec {
        unit: unit.into(),
        high: bound(limit),
        ..ReadingSpec::default()
    };
    let (ohms, volts) = (spec("1.1 × job.load", "Ω"), spec("1.1 × job.mains-measured", "V"));
    assert_eq!(judged(&ohms, "8.7", &job), Judgement::InRange);
    assert!(matches!(judged(&ohms, "8.9", &job), Judgement::Stop(_)));
    assert_eq!(judged(&volts, "120", &job), Judgement::InRange);
    job.change(Change {
        at: NOW,
        kind: ChangeKind::Set,
        what: "mains selector".into(),
        place: String::new(),
        value: "240 V".into(),
        before: "120 V".into(),
        kept: String::new(),
    });
    assert_eq!(judged(&ohms, "8.7", &job), Judgement::InRange, "a nominal load stays what it is");
    let Judgement::CannotTell(stale) = judged(&volts, "120", &job) else { panic!("a stale limit was taken") };
    assert!(stale.missing_inputs[0].stale && stale.why.contains("before the last change"), "{}", stale.why);
}

#[test]
fn a_broken_limit_never_passes() {
    let job = job();
    for limit in ["job.nothing", "nothing.at-all", "dissipation.nothing", "job.load"] {
        let spec = ReadingSpec { unit: "V".into(), high: bound(limit), ..ReadingSpec::default() };
        assert!(matches!(judged(&spec, "1", &job), Judgement::CannotTell(_)), "{limit}");
    }
    let spec = ReadingSpec { unit: "volt".into(), high: bound("5 V"), ..ReadingSpec::default() };
    assert!(matches!(judged(&spec, "1", &job), Judgement::CannotTell(_)));
    // One limit passed is enough to stop, whatever is not known of the other.
    let spec = ReadingSpec {
        unit: "V".into(),
        low: bound("2 V"),
        high: bound("job.load"),
        ..ReadingSpec::default()
    };
    assert!(matches!(judged(&spec, "1", &job), Judgement::Stop(_)));
    assert!(matches!(judged(&spec, "3", &job), Judgement::CannotTell(_)));
}

#[test]
fn what_is_seen_is_as_expected_or_not() {
    let job = job();
    let spec = ReadingSpec { unit: "seen".into(), quantity: "The lamp".into(), ..ReadingSpec::default() };
    assert_eq!(judged(&spec, AS_EXPECTED, &job), Judgement::InRange);
    assert!(matches!(judged(&spec, NOT_AS_EXPECTED, &job), Judgement::Stop(_)));
    assert!(matches!(judged(&spec, "fine", &job), Judgement::Unread(_)));
}

#[test]
fn blanks_that_lie_apart_are_not_alike() {
    let spec = |alike: Alike| ReadingSpec { unit: "V".into(), alike: Some(alike), ..ReadingSpec::default() };
    for (alike, texts, are) in [
        (Alike::Share(0.1), ["-46", "-42"], true),
        (Alike::Share(0.1), ["-46", "-41"], false),
        (Alike::Span(2.0), ["-46 V", "-44"], true),
        (Alike::Span(2.0), ["-46 V", "-43.9"], false),
        (Alike::Share(0.1), ["-46", "none"], false),
    ] {
        assert_eq!(are_alike(&spec(alike), texts), are, "{alike:?} {texts:?}");
    }
    assert!(!are_alike(&spec(Alike::Share(0.1)), []));
}

#[test]
fn a_shared_value_takes_the_blank_with_least_room() {
    let mut job = job();
    let spec = ReadingSpec { blanks: Blanks::named(&["A", "B"]), ..bias() };
    for (blank, text, kept) in
        [("A", "-46", "-46 V"), ("B", "-48", "-46 V"), ("A", "-47", "-47 V"), ("B", "-43.5", "-43.5 V")]
    {
        let _ = job.record_reading(NewReading::typed(&page(&spec), &spec.id, blank, text, NOW));
        assert_eq!(job.values["bias-voltage"].text, kept, "after {blank} {text}");
    }
    // What was read before a change of the amplifier is no bias of it now.
    job.change(Change { at: NOW, kind: ChangeKind::Set, ..changed("trimmer") });
    let _ = job.record_reading(NewReading::typed(&page(&spec), "bias", "A", "-50", NOW));
    assert_eq!(job.values["bias-voltage"].text, "-50 V");
    // A new run does not look at the readings of the last.
    job.begin("p.html", "step-1", NOW);
    let _ = job.record_reading(NewReading::typed(&page(&spec), "bias", "A", "-49", NOW));
    assert_eq!(job.values["bias-voltage"].text, "-49 V");
}

#[test]
fn one_value_for_each_blank() {
    let mut job = job();
    let spec = ReadingSpec {
        id: "volts".into(),
        unit: "V".into(),
        blanks: Blanks::named(&["anode", "screen"]),
        feeds: vec!["anode-voltage".into(), "screen-voltage".into()],
        ..ReadingSpec::default()
    };
    for (blank, text) in [("anode", "438"), ("screen", "434")] {
        assert_eq!(
            job.record_reading(NewReading::typed(&page(&spec), &spec.id, blank, text, NOW)),
            Judgement::Recorded
        );
    }
    assert_eq!(
        (job.values["anode-voltage"].text.as_str(), job.values["screen-voltage"].text.as_str()),
        ("438 V", "434 V")
    );
}

proptest! {
    /// Whatever is typed and whatever the limits are: in range is what is between the limits and nothing else.
    #[test]
    fn in_range_lies_between_the_limits(low in -99..99_i32, span in 0..99_i32, value in -199..199_i32) {
        let high = low + span;
        let spec = ReadingSpec {
            unit: "V".into(),
            low: bound(&low.to_string()),
            high: bound(&high.to_string()),
            ..ReadingSpec::default()
        };
        let inside = (low..=high).contains(&value);
        match judged(&spec, &value.to_string(), &job()) {
            Judgement::InRange => prop_assert!(inside),
            Judgement::Stop(_) => prop_assert!(!inside),
            Judgement::Unread(_) => prop_assert!(high < 0 && value > 0),
            other => prop_assert!(false, "{:?}", other),
        }
    }

    #[test]
    fn any_text_against_any_limit_is_judged(text in "\\PC{0,12}", limit in "\\PC{0,16}", alike in any::<f64>()) {
        let spec = ReadingSpec { high: bound(&limit), alike: Some(Alike::Span(alike)), ..bias() };
        let _ = judged(&spec, &text, &job());
        let _ = are_alike(&spec, [text.as_str(), "-46"]);
    }
}

#[test]
fn why_a_reading_proves_nothing_is_noted_with_it() {
    let spec = ReadingSpec {
        purpose: Purpose::BehindTheLamp,
        high: bound("-30 V"),
        note_low: bound("-40 V"),
        ..bias()
    };
    let mut job = job();
    let mut why = |text| {
        job.record_reading(NewReading::typed(&page(&spec), "bias", "", text, NOW));
        let taken = job.readings.last().unwrap();
        assert!(!taken.is_for_the_sheet() && !taken.is_of_no_mains());
        taken.standing()
    };
    assert_eq!(why("-35"), "in range: behind the lamp");
    let noted = why("-45");
    assert!(noted.contains("−40") && noted.ends_with("; behind the lamp"), "{noted}");
}
