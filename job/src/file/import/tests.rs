use super::*;
use crate::Time;
use crate::file::{FORMAT, checksum, write};
use crate::length::{LINE, TEXT};
use crate::procedure::{Gate, Item, Procedure, ReadingSpec, Step};
use crate::record::{Change, ChangeKind, From};
use crate::run::gate;
use crate::run::judge::NewReading;
use crate::sheet::Sheet;
use proptest::prelude::*;
use serde_json::{Value as Json, json};

const NOW: Time = Time::from_seconds(1_795_641_062);
const PAGE: &str = "p.html";

/// A hard gate that opens below 10 V, and a step behind it.
fn procedure() -> Procedure {
    let left = ReadingSpec {
        id: "left".into(),
        quantity: "Voltage left".into(),
        unit: "V".into(),
        high: crate::procedure::bound("10 V"),
        gate: Some(Gate::Hard),
        ..ReadingSpec::default()
    };
    Procedure {
        page: PAGE.into(),
        title: String::new(),
        steps: vec![
            Step { id: "step-1".into(), items: vec![Item::Reading(left)] },
            Step { id: "step-2".into(), items: vec![] },
        ],
    }
}

/// A job whose procedure is begun, with one reading, as JSON.
fn job(text: &str) -> Json {
    let mut job = Job::new("x1", "head", NOW);
    job.begin(PAGE, "step-1", NOW);
    let _ = job.record_reading(NewReading::typed(&procedure(), "left", "", text, NOW));
    serde_json::to_value(job).unwrap()
}

/// The file of a job in JSON, as any program can write one.
fn file(job: &Json) -> Vec<u8> {
    let text = job.to_string();
    let sum = checksum(VERSION, &text);
    format!(r#"{{"format":"{FORMAT}","version":{VERSION},"sha256":"{sum}","job":{text}}}"#).into_bytes()
}

fn imported(job: &Json) -> Imported {
    import(&file(job)).unwrap()
}

fn refused(job: &Json) -> String {
    import(&file(job)).unwrap_err().to_string()
}

fn is_open(job: &Job, step: usize) -> bool {
    gate::state(&procedure(), job)[step].open
}

fn change() -> Change {
    let [what, place, value, before, kept] = ["grid leak", "", "", "", ""].map(str::to_owned);
    Change { at: NOW, kind: ChangeKind::Fitted, what, place, value, before, kept }
}

/// Item (a) of the breaking attempts: “begin it again” did not begin again.
#[test]
fn a_run_that_cannot_be_is_refused() {
    for run in [0, u32::MAX, RUNS + 1] {
        let mut job = job("4");
        job["places"][PAGE]["run"] = json!(run);
        job["readings"][0]["run"] = json!(run);
        let said = refused(&job);
        assert!(said.contains(&format!("run {run} of “{PAGE}” is not possible")), "{said}");
    }
    let mut last = job("4");
    last["places"][PAGE]["run"] = json!(RUNS);
    let mut anew = imported(&last).job;
    anew.begin(PAGE, "step-1", NOW);
    assert_eq!(anew.run(PAGE), RUNS + 1, "beginning anew is a run of its own");
    // What is of a later run than was begun would count for it one day.
    for (list, entry) in [
        ("readings", None),
        ("ticks", Some(json!({"p.html#clip": {"done": true, "at": NOW, "run": 2}}))),
        ("choices", Some(json!({"p.html#way": {"option": "a", "at": NOW, "run": 2}}))),
    ] {
        let mut job = job("4");
        match entry {
            Some(entry) => job[list] = entry,
            None => job[list][0]["run"] = json!(2),
        }
        let said = refused(&job);
        assert!(said.contains("something in it is of run 2 of “p.html”, which was begun 1 times"), "{said}");
    }
}

/// Item (b): “400 V, in range” of a file opened the hard gate “below 10 V”.
#[test]
fn a_verdict_of_a_file_opens_no_gate_until_it_was_come_to_here() {
    let mut lie = job("400");
    lie["readings"][0]["judged"] = json!("in-range");
    let mut lie = imported(&lie).job;
    assert_eq!(lie.readings[0].judged, Judged::InRange);
    assert!(lie.readings[0].from_file && !is_open(&lie, 1), "what the file says opens nothing");
    lie.judge_again(&procedure());
    assert_eq!((lie.readings[0].judged, lie.readings[0].from_file), (Judged::Stop, false));
    assert!(!is_open(&lie, 1));
    // What honestly was in range does so again.
    let mut honest = imported(&job("4")).job;
    assert!(!is_open(&honest, 1));
    honest.judge_again(&procedure());
    assert!(is_open(&honest, 1));
    // The same of what no meter shows and of what is no reading at all.
    for text in ["4 apples", "", "4e9 V"] {
        let mut odd = job("4");
        odd["readings"][0]["text"] = json!(text);
        let mut odd = imported(&odd).job;
        odd.judge_again(&procedure());
        assert!(!is_open(&odd, 1), "{text}");
    }
}

/// Item (c): what came after 4294967295 changes was never stale.
#[test]
fn an_age_that_cannot_be_is_never_fresh() {
    for after in [1, 4_294_967_295_u64] {
        let mut old = job("4");
        old["values"] =
            json!({"anode-voltage": {"text": "438 V", "at": NOW, "from": "typed", "after": after}});
        old["readings"][0]["after"] = json!(after);
        old["ticks"] = json!({"p.html#clip": {"done": true, "at": NOW, "run": 1, "after": after}});
        let Imported { mut job, doubts } = imported(&old);
        assert_eq!(doubts.len(), 3, "{doubts:?}");
        assert!(doubts[0].contains("Anode voltage: “438 V” is left out"), "{doubts:?}");
        assert!(doubts[1].contains("Voltage left: “4 V”"), "{doubts:?}");
        assert!(doubts[2].contains("The tick “p.html#clip” is taken back"), "{doubts:?}");
        assert!(!job.values.contains_key("anode-voltage"));
        assert!(job.ticked(PAGE, "clip").is_none());
        for _ in 0..2 {
            assert!(!is_open(&job, 1));
            assert!(Sheet::of(&job).proofs.is_empty());
            job.change(change());
        }
    }
    // Nor does a timer that was started long ago, or a reason for what is to come.
    let mut timed = job("4");
    timed["timers"] = json!({"p.html#ten-minutes": {"at": "2020-01-01T00:00:00Z", "run": 1}});
    timed["reasons"] = json!([{
        "procedure": PAGE, "step": "step-1", "item": "left", "about": "Voltage left", "text": "it is late", "at": NOW, "run": 1,
        "readings": 4_000_000_000_u64,
    }]);
    let Imported { job: timed, doubts } = imported(&timed);
    assert!(timed.started(PAGE, "ten-minutes").is_none() && timed.reasons[0].run == 0, "{doubts:?}");
    assert_eq!(doubts.len(), 2, "{doubts:?}");
    // As many readings as there are none of.
    let mut ticked = job("4");
    ticked["ticks"] = json!({"p.html#clip": {"done": true, "at": NOW, "run": 1, "readings": 2}});
    assert!(imported(&ticked).job.ticked(PAGE, "clip").is_none());
}

/// Item (d): what could not have been typed was taken without a word.
#[test]
fn the_values_of_a_file_are_read_as_if_they_were_typed() {
    let mut odd = job("4");
    let value = |text: &str| json!({"text": text, "at": NOW, "from": "typed", "after": 0});
    let long = "1k".repeat(5_000);
    odd["values"] = json!({
        "idle-stop": value("99 A"), "bias-expected": value("+37 V"), "load": value("not a number"), "standby": value("sometimes"),
        "primary": value(&long[..900]), "flux": value("1.21 GW"), "fuse": value(" "), "anode-voltage": value("438"),
        "screen-voltage": value("434 V"), "output-valve": value("6L6GC"),
    });
    let Imported { job, doubts } = imported(&odd);
    let said = doubts.join("\n");
    for name in ["99 A", "+37 V", "not a number", "sometimes", "Output transformer", "1.21 GW", "Mains fuse"]
    {
        assert!(said.contains(name), "{name}: {said}");
    }
    assert_eq!(doubts.len(), 7, "{said}");
    let texts: Vec<(&str, &str)> =
        job.values.iter().map(|(id, value)| (id.as_str(), value.text.as_str())).collect();
    assert_eq!(
        texts,
        [("anode-voltage", "438 V"), ("output-valve", "6L6GC"), ("screen-voltage", "434 V")],
        "what can be is kept as it would be if it was typed"
    );
}

/// A label of 100 MB shut the reader out of all jobs.
#[test]
fn what_is_too_long_is_refused_by_name() {
    let long = |most: usize| "x".repeat(most + 1);
    let note = |text: String| json!([{"at": NOW, "text": text}]);
    for (place, text, says) in [
        ("/label", json!(long(LINE)), "“label” is longer than 1000 characters: “xxx"),
        ("/owner_ref", json!(long(LINE)), "“owner_ref” is longer than 1000 characters"),
        ("/notes", note(long(TEXT)), "“text” in “notes” is longer than 100000 characters"),
        ("/advice", note(long(TEXT)), "“text” in “advice” is longer than 100000 characters"),
        ("/readings/0/text", json!(long(100)), "“text” in “readings” is longer than 100 characters"),
        (
            "/readings/0/quantity",
            json!(long(LINE)),
            "“quantity” in “readings” is longer than 1000 characters",
        ),
        ("/readings/0/by", json!({long(LINE): "4 V"}), "“by” in “readings” is longer than 1000 characters"),
        (
            "/removed",
            json!({long(TEXT + LINE): {"done": true, "at": NOW, "run": 0}}),
            "“removed” is longer than",
        ),
        ("/id", json!(long(64)), "“id” must be at most 64 letters, digits and hyphens, not “xxx"),
        ("/id", json!("k/z"), "not “k/z”"),
        ("/id", json!("\u{e000}"), "“id” must be at most 64"),
        (
            "/notes",
            json!(vec![json!({"at": NOW, "text": ""}); 20_001]),
            "“notes” has more than 20000 entries",
        ),
    ] {
        let mut job = job("4");
        job["removed"] = json!({});
        *job.pointer_mut(place).unwrap() = text;
        let said = refused(&job);
        assert!(said.contains(says), "{said}");
        assert!(said.len() < 400, "{}", said.len());
    }
    let mut longest = job("4");
    longest["label"] = json!("ж".repeat(LINE));
    longest["notes"] = note("ж".repeat(TEXT));
    assert!(imported(&longest).doubts.is_empty());
}

#[test]
fn a_file_that_is_too_large_is_refused_before_it_is_read() {
    assert_eq!(fits(256e6), Ok(()));
    let said = fits(256e6 + 1.0).unwrap_err().to_string();
    assert_eq!(said, "the job in the file cannot be taken in: its file has more than 256 MB");
}

/// Deleting a job asks for its name, and nobody could type this one.
#[test]
fn a_name_that_cannot_be_typed_is_made_one_that_can() {
    let mut odd = job("4");
    odd["label"] = json!("Two\nvalve\u{0}head\r\n");
    let Imported { job, doubts } = imported(&odd);
    assert_eq!(job.label, "Two valve head");
    assert_eq!(doubts, ["Its name had characters that cannot be typed; it is now “Two valve head”."]);
}

/// The last of two was taken without a word.
#[test]
fn what_stands_twice_is_refused() {
    let text = rich().to_string();
    let value = r#""anode-voltage":{"text":"440 V","at":"2026-11-25T21:11:02Z","from":"typed","after":0}"#;
    let twice = text.replacen("\"values\":{", &format!("\"values\":{{{value},"), 1);
    let sum = checksum(VERSION, &twice);
    let file = format!(r#"{{"format":"{FORMAT}","version":{VERSION},"sha256":"{sum}","job":{twice}}}"#);
    let said = import(file.as_bytes()).unwrap_err().to_string();
    assert!(said.contains("“anode-voltage” occurs twice in it"), "{said}");
}

/// Every reading another, 5,000 changes half of which were removed: 28 s once, in the browser.
#[test]
fn no_job_that_is_taken_in_takes_longer_than_it_is_long() {
    let mut big = Job::new("x1", "head", NOW);
    for at in 0..5_000 {
        big.change(Change { what: format!("part {at}"), ..change() });
        if at % 2 == 0 || at > 2_500 {
            let key = crate::Entry::key(&big.changes[at]);
            big.remove(key, true, NOW);
        }
    }
    let taken: crate::Reading = serde_json::from_value(job("4")["readings"][0].clone()).unwrap();
    for at in 0..20_000 {
        let by = [("anode-voltage".to_owned(), "438 V".to_owned())];
        big.readings.push(crate::Reading {
            reading: format!("reading-{at}"),
            changes_before: at % 5_000,
            run: 0,
            inputs_used: Some(by.into()),
            ..taken.clone()
        });
    }
    big.set("anode-voltage", "438", From::Typed, NOW).unwrap();
    let began = std::time::Instant::now();
    let came = import(write(&big).as_bytes()).unwrap().job;
    let sheet = Sheet::of(&came);
    let link = crate::share::sheet_link::anonymous(&came);
    let _ = crate::file::readings_csv(&came);
    let mut other = came.clone();
    other.readings.remove(0);
    other.note("another", NOW);
    let merged = came.merged(other);
    let took = began.elapsed();
    assert_eq!(merged.readings.len(), 20_000);
    assert!(sheet.readings.len() > 4_000 && link.readings.len() == sheet.readings.len());
    // Some seconds on a busy machine; with each compared with every other it is many minutes.
    assert!(took.as_secs() < 100, "{took:?}");
}

/// A job with a bit of everything, as JSON.
fn rich() -> Json {
    let mut rich = job("4");
    rich["values"] = json!({"anode-voltage": {"text": "438 V", "at": NOW, "from": "typed", "after": 0}});
    rich["ticks"] = json!({"p.html#clip": {"done": true, "at": NOW, "run": 1, "readings": 1}});
    rich["choices"] = json!({"p.html#way": {"option": "a", "at": NOW, "run": 1}});
    rich["changes"] = json!([change()]);
    rich["notes"] = json!([{"at": NOW, "text": "a note"}]);
    rich["removed"] = json!({"value#fuse": {"done": true, "at": NOW, "run": 0}});
    rich
}

/// Every place in a value, as the pointers of RFC 6901.
fn places(value: &Json, at: &str, list: &mut Vec<String>) {
    list.push(at.to_owned());
    let name = |name: &str| format!("{at}/{}", name.replace('~', "~0").replace('/', "~1"));
    match value {
        Json::Object(members) => members.iter().for_each(|(key, inner)| places(inner, &name(key), list)),
        Json::Array(items) => {
            items.iter().enumerate().for_each(|(key, inner)| places(inner, &name(&key.to_string()), list));
        }
        _ => {}
    }
}

fn any_json() -> impl Strategy<Value = Json> {
    prop_oneof![
        Just(Json::Null),
        any::<bool>().prop_map(Json::from),
        any::<u64>().prop_map(Json::from),
        (0..4_u64).prop_map(Json::from),
        any::<i64>().prop_map(Json::from),
        any::<f64>().prop_map(Json::from),
        "\\PC{0,12}".prop_map(Json::from),
        "[-+]?[0-9]{1,3} ?(V|mA|A|k|Ω)?".prop_map(Json::from),
        (90..110_usize).prop_map(|letters| Json::from("1k".repeat(letters / 2))),
        Just(json!([])),
        Just(json!({})),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig { cases: ProptestConfig::default().cases.max(1000), ..ProptestConfig::default() })]

    /// Whatever is in a file whose checksum is right: it is refused in words, or every reading is marked, opens nothing and
    /// every value is one that could be typed. Reading in once more it is the same, without a doubt.
    #[test]
    fn what_is_taken_in_is_a_job_or_refused(
        spoilt in prop::collection::vec((any::<prop::sample::Index>(), any_json()), 1..4),
    ) {
        let mut job = rich();
        for (place, with) in &spoilt {
            let mut all = Vec::new();
            places(&job, "", &mut all);
            if let Some(there) = job.pointer_mut(place.get(&all).as_str()) {
                *there = with.clone();
            }
        }
        match import(&file(&job)) {
            Err(refused) => prop_assert!(refused.to_string().len() > 10),
            Ok(Imported { job, doubts }) => {
                prop_assert!(job.readings.iter().all(|taken| taken.from_file && taken.changes_before <= job.changes.len()));
                prop_assert!(!is_open(&job, 1));
                for (id, value) in &job.values {
                    prop_assert_eq!(values::find(id).unwrap().read(&value.text), Ok(value.text.clone()));
                    prop_assert!(value.changes_before <= job.changes.len());
                }
                prop_assert!(doubts.iter().all(|doubt| doubt.ends_with('.') && doubt.len() < 5_000));
                let again = import(write(&job).as_bytes()).unwrap();
                prop_assert_eq!(again, Imported { job, doubts: vec![] });
            }
        }
    }
}
