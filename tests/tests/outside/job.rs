//! A job's file against its JSON Schema, by a validator that is not ours, and its table of readings by a reader of CSV.
//!
//! Schema and reader must agree about every member: what either refuses of a file that is taken in the other refuses.

use std::collections::BTreeSet;

use boon::{Compiler, SchemaIndex, Schemas};
use job::procedure::{Bound, Gate, Item, Of, Procedure, ReadingSpec, Step, TickSpec};
use job::run::judge::{Limits, NewReading};
use job::values::{KNOWN, for_power_up};
use job::{Change, ChangeKind, Entry, From, Job, Photo, Time, file};
use serde_json::{Value, json};
use sha2::{Digest, Sha256};
use tests::amplifier::family::called;
use tests::amplifier::survey::survey;
use tests::walk::procedure as procedure_of;
use tests::walk::procedures::POWER_UP;

const SCHEMAS: [&str; 4] = ["job-1", "job-2", "job-3", "job-4"];
const NOW: Time = Time::from_seconds(1_795_641_062);

struct Validator {
    schemas: Schemas,
    index: SchemaIndex,
}

impl Validator {
    fn new() -> Self {
        Self::of(SCHEMAS[SCHEMAS.len() - 1])
    }

    /// The schema of one version.
    fn of(version: &str) -> Self {
        let schema = format!("{}/../job/schema/{version}.schema.json", env!("CARGO_MANIFEST_DIR"));
        let mut schemas = Schemas::new();
        let mut compiler = Compiler::new();
        compiler.enable_format_assertions();
        let index = compiler.compile(&schema, &mut schemas).unwrap_or_else(|error| panic!("{error:#}"));
        Self { schemas, index }
    }

    fn check(&self, value: &Value) -> Result<(), String> {
        self.schemas.validate(value, self.index).map_err(|error| format!("{error:#}"))
    }
}

fn procedure() -> Procedure {
    let fixed = |si| Bound { factor: 1.0, of: Of::Fixed(si) };
    let reading = |id: &str, unit: &str, gate| {
        Item::Reading(ReadingSpec {
            id: id.into(),
            quantity: format!("Reading, \"{id}\"\nof two lines"),
            unit: unit.into(),
            high: (unit != "seen").then(|| fixed(-41.0)),
            note_low: (unit != "seen").then(|| fixed(-55.0)),
            gate,
            ..ReadingSpec::default()
        })
    };
    let tick = Item::Tick(TickSpec {
        id: "clip".into(),
        text: "Clip off.".into(),
        gate: Some(Gate::Hard),
        when: None,
    });
    let items = vec![reading("bias", "V", Some(Gate::Hard)), reading("lamp", "seen", Some(Gate::Soft)), tick];
    Procedure {
        page: "6-first-power-up/1.html".into(),
        title: String::new(),
        steps: vec![Step { id: "step-1".into(), items }],
    }
}

/// A job in which everything that a job can hold is at least once.
fn whole() -> Job {
    let procedure = procedure();
    let page = procedure.page.as_str();
    let mut job = Job::new("x1", "=HEAD, “second hand”", NOW);
    job.owner_ref = "shelf 3".into();
    job.set("load", "8", From::Typed, NOW).expect("a load");
    let answer =
        From::Answer { calculator: "dissipation".into(), block: "first".into(), page: "a.html".into() };
    job.set("anode-current", "32.5", answer, NOW).expect("a current");
    let reading = From::Reading { procedure: page.into(), reading: "bias".into() };
    job.set("bias-voltage", "-46", reading, NOW).expect("a bias");
    job.set("fuse", "T2A", From::Typed, NOW).expect("a fuse");
    job.forget("fuse", NOW);
    job.begin(page, "step-1", NOW);
    for (id, text) in [("bias", "-37"), ("bias", "-46"), ("bias", "-60"), ("lamp", "not as expected")] {
        let _ = job.record_reading(NewReading::typed(&procedure, id, "", text, NOW));
    }
    (job.readings[0].from_file, job.readings[0].early) = (true, "the owner waits".into());
    job.readings[1].purpose = job::procedure::Purpose::BehindTheLamp;
    job.tick(page, "clip", true, NOW);
    job.start(page, "ten-minutes", NOW);
    job.choose(page, "way", "a", NOW);
    assert!(job.excuse(&procedure, "lamp", "a weaker lamp was to hand", NOW));
    for kind in [ChangeKind::Fitted, ChangeKind::TakenOut, ChangeKind::Set, ChangeKind::Swapped] {
        let [what, place, value, before, kept] =
            ["capacitor", "C7", "100 nF", "22 nF", "bag 2"].map(str::to_owned);
        job.change(Change { at: NOW, kind, what, place, value, before, kept });
    }
    job.note("a note", NOW);
    job.note("a slip", NOW);
    job.remove(job.notes[1].key(), true, NOW);
    job.remove(job.changes[2].key(), false, NOW);
    job.advise("An HT fuse.", NOW);
    let photo = |id: &str, bytes: Option<&str>| Photo {
        id: id.into(),
        caption: "as it came".into(),
        at: NOW,
        media: "image/jpeg".into(),
        width: 4,
        height: 3,
        bytes: bytes.map(str::to_owned),
    };
    job.photos.extend([photo("p1", Some("/9j/2Q==")), photo("p2", None)]);
    job.remove(job.photos[1].key(), true, NOW);
    job
}

fn checksum(text: &str) -> String {
    Sha256::digest(text.as_bytes()).iter().map(|byte| format!("{byte:02x}")).collect()
}

/// The file of a job given as JSON, with the right checksum.
fn sealed(job: &Value) -> String {
    let text = job.to_string();
    let sum = checksum(&format!("4 {text}"));
    format!(r#"{{"format":"standing-current-job","version":4,"sha256":"{sum}","job":{text}}}"#)
}

fn parsed(text: &str) -> Value {
    serde_json::from_str(text).expect("JSON")
}

#[test]
fn what_is_written_is_what_the_schema_says() {
    for version in SCHEMAS {
        let kept = format!("{}/../job/data/{version}.json", env!("CARGO_MANIFEST_DIR"));
        let kept = parsed(&std::fs::read_to_string(kept).unwrap());
        Validator::of(version).check(&kept).unwrap();
    }
    let validator = Validator::new();
    for text in [file::write(&whole()), file::write(&Job::new("x", "", Time::default()))] {
        validator.check(&parsed(&text)).unwrap();
        // The checksum, by hand: over what is between `"job":` and the last brace.
        let raw = text.split_once("\"job\":").and_then(|(_, rest)| rest.strip_suffix('}')).unwrap();
        assert_eq!(parsed(&text)["sha256"], json!(checksum(&format!("4 {raw}"))));
    }
}

/// Every place in a value, as the pointers of RFC 6901.
fn places(value: &Value, at: &str, list: &mut Vec<String>) {
    list.push(at.to_owned());
    match value {
        Value::Object(members) => {
            for (name, inner) in members {
                places(inner, &format!("{at}/{}", name.replace('~', "~0").replace('/', "~1")), list);
            }
        }
        Value::Array(items) => {
            for (number, inner) in items.iter().enumerate() {
                places(inner, &format!("{at}/{number}"), list);
            }
        }
        _ => {}
    }
}

/// The value with another at one place, or without that place.
fn spoilt(job: &Value, place: &str, with: Option<Value>) -> Value {
    let mut job = job.clone();
    match with {
        Some(with) => {
            if let Some(there) = job.pointer_mut(place) {
                *there = with;
            }
        }
        None => {
            let (outer, name) = place.rsplit_once('/').expect("a place within");
            let name = name.replace("~1", "/").replace("~0", "~");
            if let Some(members) = job.pointer_mut(outer).and_then(Value::as_object_mut) {
                members.remove(&name);
            }
        }
    }
    job
}

/// A member that is missing, of another kind, or too many: the schema and the reader refuse the same, at every place.
#[test]
fn schema_and_reader_agree_about_every_member() {
    let validator = Validator::new();
    let job = parsed(&file::write(&whole()))["job"].clone();
    let mut all = Vec::new();
    places(&job, "", &mut all);
    let (mut refused, mut contradicting) = (0, 0);
    let mut agree = |job: &Value, how: &str| {
        let text = sealed(job);
        let (by_schema, by_reader) = (validator.check(&parsed(&text)), file::import(text.as_bytes()));
        // What one member says against another no schema can tell.
        if by_reader.as_ref().is_err_and(|why| why.to_string().contains("which was begun")) {
            contradicting += 1;
            assert!(by_schema.is_ok(), "{how}: {by_schema:?}");
            return;
        }
        assert_eq!(
            by_schema.is_ok(),
            by_reader.is_ok(),
            "{how}: schema {by_schema:?}, reader {:?}",
            by_reader.err()
        );
        refused += usize::from(by_schema.is_err());
        if let Err(why) = by_reader {
            assert!(matches!(why, file::Refused::Shape { .. } | file::Refused::Beyond(_)), "{how}: {why}");
        }
    };
    for place in all.iter().filter(|place| !place.is_empty()) {
        agree(&spoilt(&job, place, None), &format!("without {place}"));
        for with in [
            json!(null),
            json!(true),
            json!(-1),
            json!(1.5),
            json!("none"),
            json!([]),
            json!({}),
            json!({"x": 1}),
            json!("x".repeat(101)),
            json!("x".repeat(1_001)),
            json!("x".repeat(100_001)),
            json!(1_000_001),
            json!(4_294_967_296_u64),
        ] {
            let how = format!("{place} is {}", with.to_string().chars().take(60).collect::<String>());
            agree(&spoilt(&job, place, Some(with)), &how);
        }
        let mut more = job.clone();
        if let Some(members) = more.pointer_mut(place).and_then(Value::as_object_mut) {
            members.insert("another".into(), json!("thing"));
            agree(&more, &format!("more in {place}"));
        }
        let mut many = job.clone();
        match many.pointer_mut(place) {
            Some(Value::Array(items)) if !items.is_empty() => {
                *items = vec![items[0].clone(); 20_001];
                agree(&many, &format!("many in {place}"));
            }
            Some(Value::Object(members)) if !members.is_empty() => {
                let (_, inner) =
                    members.iter().next().map(|(key, inner)| (key.clone(), inner.clone())).expect("one");
                members.insert("x".repeat(1_001), inner);
                agree(&many, &format!("a long name in {place}"));
            }
            _ => {}
        }
    }
    for text in ["2026-02-30T00:00:00Z", "2026-11-25", "2026-11-25T25:00:00Z", "2026-11-25 21:11:02Z"] {
        agree(&spoilt(&job, "/made", Some(json!(text))), text);
    }
    assert!(refused > 500, "only {refused} were refused");
    assert!((1..20).contains(&contradicting), "{contradicting} contradict themselves");
}

#[test]
fn the_table_of_readings_is_read_back() {
    let job = whole();
    let table = file::readings_csv(&job);
    let mut reader =
        csv::ReaderBuilder::new().terminator(csv::Terminator::CRLF).from_reader(table.as_bytes());
    let head: Vec<String> = reader.headers().unwrap().iter().map(str::to_owned).collect();
    let rows: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
    assert_eq!(rows.len(), job.readings.len());
    let at = |name: &str| head.iter().position(|known| known == name).unwrap();
    for (row, taken) in rows.iter().zip(&job.readings) {
        assert_eq!(&row[at("quantity")], taken.quantity);
        assert_eq!(row[at("as typed")].trim_start_matches('\''), taken.text);
        assert_eq!(&row[at("time")], "2026-11-25T21:11:02Z");
        assert_eq!(&row[at("state")], "before");
        let volts: Option<f64> = row[at("value")].parse().ok();
        assert_eq!(volts.is_some(), taken.unit == "V");
    }
    assert_eq!(rows[1][at("value")].parse::<f64>().unwrap(), -46.0);
    assert_eq!((&rows[0][at("judged")], &rows[2][at("judged")]), ("STOP, as its file says", "noted"));
    assert_eq!((&rows[0][at("purpose")], &rows[1][at("purpose")]), ("cold", "behind-the-lamp"));
}

/// What the job page counts as needed for the power-up is what the limits of that page cannot do without: with each of it taken
/// away some limit is unknown, and with all of it none is, once the power-up has read what it reads itself.
#[test]
fn what_the_power_up_needs_is_what_its_limits_are_worked_out_from() {
    let procedure = procedure_of(POWER_UP);
    let readings = || procedure.steps.iter().flat_map(Step::readings);
    let fed: BTreeSet<&str> =
        readings().flat_map(|reading| reading.feeds.iter().map(String::as_str)).collect();
    let read = [
        ("mains-measured", "120 V"),
        ("load-measured", "8 Ω"),
        ("heater-voltage", "6.3 V"),
        ("output-open", "1 V"),
    ];
    for (name, bias) in [("two 6L6GC", "fixed"), ("two EL84, cathode bias, valve rectifier", "cathode")] {
        let sound = called(name);
        let mut job = Job::new("1", name, NOW);
        for (id, text) in survey(&sound).into_iter().chain(read.map(|(id, text)| (id, text.to_owned()))) {
            job.set(id, &text, From::Typed, NOW).expect("a value");
        }
        job.begin(&procedure.page, "step-1", NOW);
        job.choose(&procedure.page, "bias-kind", bias, NOW);
        let unknown = |job: &Job| {
            let asked = readings().filter(|reading| procedure.asks(reading.when.as_ref(), job));
            let lacking = asked.filter(|reading| !Limits::of(reading, job).missing_inputs().is_empty());
            lacking.map(|reading| reading.id.clone()).collect::<Vec<_>>()
        };
        assert_eq!(unknown(&job), [""; 0], "{name}: some limit is unknown with the whole survey");
        let needed = |id: &&str| {
            let mut less = job.clone();
            less.values.remove(*id);
            !fed.contains(id) && !unknown(&less).is_empty()
        };
        let needed: BTreeSet<&str> = KNOWN.iter().map(|known| known.id).filter(needed).collect();
        let counted: BTreeSet<&str> = for_power_up(&job).iter().map(|known| known.id).collect();
        assert_eq!(counted, needed, "{name}");
    }
}
