mod damaged;

use super::*;
use crate::procedure::Purpose;
use crate::record::{Change, ChangeKind, Entry, From, Note, Photo, Reading, Value};
use crate::{Job, Time};
use proptest::prelude::*;

const NOW: Time = Time::from_seconds(1_795_641_062);

/// Files of every version that was ever written; kept for ever. The newest is written again by `what_is_written_is_this`.
const KEPT: [(u64, &str); 4] = [
    (1, include_str!("../../data/job-1.json")),
    (2, include_str!("../../data/job-2.json")),
    (3, include_str!("../../data/job-3.json")),
    (4, include_str!("../../data/job-4.json")),
];

/// The job in the newest kept file.
fn kept() -> Job {
    let mut job = Job::new("demo-1", "Two 6L6GC, fixed bias", NOW);
    job.owner_ref = "shelf 3".into();
    job.set("output-valve", "6L6GC", From::Typed, NOW).unwrap();
    job.set("anode-voltage", "438", From::Typed, NOW).unwrap();
    let answer = From::Answer {
        calculator: "dissipation".into(),
        block: "first".into(),
        page: "3-output-stage/2-dissipation.html".into(),
    };
    job.set("anode-current", "32.5 mA", answer, NOW).unwrap();
    job.set("fuse", "T2A", From::Typed, NOW).unwrap();
    job.forget("fuse", NOW);
    job.begin("p.html", "step-1", NOW);
    let spec = crate::procedure::ReadingSpec {
        id: "bias".into(),
        quantity: "Bias at grid A, \"as found\"".into(),
        unit: "V".into(),
        blanks: crate::procedure::Blanks::named(&["A1"]),
        high: crate::procedure::bound("-41 V"),
        purpose: Purpose::Live,
        feeds: vec!["bias-voltage".into()],
        ..Default::default()
    };
    let step =
        crate::procedure::Step { id: "step-1".into(), items: vec![crate::procedure::Item::Reading(spec)] };
    let procedure =
        crate::procedure::Procedure { page: "p.html".into(), title: String::new(), steps: vec![step] };
    for text in ["-37", "-46"] {
        let take = crate::run::judge::NewReading::typed(&procedure, "bias", "A1", text, NOW);
        let _ = job.record_reading(take);
    }
    job.readings[1].inputs_used = Some([("bias-expected".to_owned(), "-43 V".to_owned())].into());
    job.readings[1].from_file = true;
    job.readings[0].early = "the owner waits".into();
    job.start("p.html", "ten-minutes", NOW);
    job.tick("p.html", "clip-off", true, NOW);
    job.choose("p.html", "standby", "switch", NOW);
    job.change(Change {
        at: NOW,
        kind: ChangeKind::TakenOut,
        what: "cathode bypass".into(),
        place: "V1".into(),
        value: String::new(),
        before: "22 µF".into(),
        kept: "bag 2".into(),
    });
    job.note("One screw of the rear panel is a wood screw.", NOW);
    job.advise("An HT fuse.", NOW);
    job.remove(job.advice[0].key(), false, NOW);
    job.photos.push(Photo {
        id: "p1".into(),
        caption: "as it came".into(),
        at: NOW,
        media: "image/jpeg".into(),
        width: 4,
        height: 3,
        bytes: Some("/9j/2Q==".into()),
    });
    job
}

/// The same job as a file of an earlier version can hold it.
fn kept_in(version: u64) -> Job {
    let mut job = kept();
    if version < 2 {
        job.readings.iter_mut().for_each(|taken| taken.inputs_used = None);
        job.removed.clear();
    }
    if version < 3 {
        job.ticks.values_mut().for_each(|tick| tick.readings_before = 0);
    }
    if version < 4 {
        for taken in &mut job.readings {
            (taken.purpose, taken.from_file, taken.early) = (Purpose::Cold, false, String::new());
        }
        job.timers.clear();
        job.places.values_mut().for_each(|place| place.edition = 0);
    }
    job
}

#[test]
fn every_file_that_was_ever_written_is_read() {
    for (version, text) in KEPT {
        let job = read(text).unwrap_or_else(|refused| panic!("version {version}: {refused}"));
        assert_eq!(job, kept_in(version), "version {version}");
    }
    assert_eq!(
        KEPT.last().map(|(version, _)| *version),
        Some(VERSION),
        "a file of the newest version is kept"
    );
}

/// The newest kept file is what is written today. If it no longer is, the version must rise, the old file stay and what this
/// prints become the new one.
#[test]
fn what_is_written_is_this() {
    let (_, text) = KEPT[KEPT.len() - 1];
    assert_eq!(write(&kept()), text);
}

/// The mechanism of migration, tried with two steps that a later edition might have.
#[test]
fn an_earlier_version_is_led_through_every_step() {
    fn first(job: &mut Job) {
        job.label.push_str(", once");
    }
    fn second(job: &mut Job) {
        job.label.push_str(", twice");
    }
    let steps: [migrate::Migration; 3] = [Some(first), None, Some(second)];
    let raw = opened(KEPT[0].1, VERSION).unwrap().1;
    let label = |version| migrate::job(version, raw, &steps).unwrap().label;
    assert_eq!(label(1), "Two 6L6GC, fixed bias, once, twice");
    assert_eq!(label(2), "Two 6L6GC, fixed bias, twice");
    assert_eq!(label(4), "Two 6L6GC, fixed bias");
    assert_eq!(u64::try_from(migrate::MIGRATIONS.len()).unwrap() + 1, VERSION);
    // A version that is not there yet is refused, not taken for a job of another in disguise.
    let later = KEPT[0].1.replacen("\"version\":1", &format!("\"version\":{}", VERSION + 1), 1);
    assert_eq!(read(&later).unwrap_err(), Refused::Newer { version: VERSION + 1 });
}

/// What version 4 tells apart.
#[test]
fn a_file_of_version_3_learns_purposes_sockets_and_where_the_standby_switch_is() {
    let raw = opened(KEPT[2].1, VERSION).unwrap().1;
    let first = raw.split_once("\"readings\":[").unwrap().1.split_once("},{").unwrap().0;
    let reading = |id: &str, blank: &str, why: &str| {
        let named = first.replace("\"reading\":\"bias\"", &format!("\"reading\":\"{id}\""));
        let named = named.replace("\"blank\":\"A\"", &format!("\"blank\":\"{blank}\""));
        format!("{named},\"why\":\"{why}\"}},")
    };
    let old = [
        ("bias", "A", "behind the lamp: proves nothing of the amplifier"),
        ("bias", "B", "more negative than expected; behind the lamp: proves nothing of the amplifier"),
        ("dead", "tip", "while dead: proves nothing of the amplifier"),
        ("meter", "", "of the bench: proves nothing of the amplifier"),
        ("off", "", "before power: proves nothing of the amplifier"),
        ("odd", "", "some day: proves nothing of the amplifier"),
        ("halves", "A", ""),
    ];
    let readings: String = old.iter().map(|(id, blank, why)| reading(id, blank, why)).collect();
    let raw = raw.replacen("\"readings\":[", &format!("\"readings\":[{readings}"), 1).replacen(
        "\"values\":{",
        r#""values":{"standby":{"text":"switch","at":"2026-11-25T21:11:02Z","from":"typed","after":0},"output-valves":{"text":"4","at":"2026-11-25T21:11:02Z","from":"typed","after":0},"#,
        1,
    );
    let job = migrate::job(3, &raw, migrate::MIGRATIONS).unwrap();
    let read = |taken: &Reading| (taken.blank.clone(), taken.purpose, taken.why.clone());
    let now = |blank: &str, purpose, why: &str| (blank.to_owned(), purpose, why.to_owned());
    assert_eq!(
        job.readings.iter().map(read).collect::<Vec<_>>(),
        [
            now("A1", Purpose::BehindTheLamp, ""),
            now("B1", Purpose::BehindTheLamp, "more negative than expected"),
            now("tip", Purpose::Dead, ""),
            now("", Purpose::OfTheBench, ""),
            now("", Purpose::BeforePower, ""),
            now("", Purpose::BehindTheLamp, ""),
            now("A", Purpose::Cold, ""),
            now("A1", Purpose::Cold, ""),
            now("A1", Purpose::Cold, ""),
        ]
    );
    assert_eq!((job.values["standby"].text.as_str(), job.values["sockets"].text.as_str()), ("dc", "4"));
    assert!(!job.values.contains_key("output-valves"));
    // The same in a file of this version is as it says.
    assert_eq!(migrate::job(4, &raw, migrate::MIGRATIONS).unwrap().readings[0].blank, "A");
}

/// Steps and readings of a procedure are others in another edition.
#[test]
fn a_run_of_an_earlier_version_does_not_go_on_and_its_readings_stand_in_the_record() {
    use crate::procedure::{Procedure, Step};
    let steps = vec![Step { id: "step-1".into(), items: vec![] }];
    let procedure = Procedure { page: "p.html".into(), title: String::new(), steps };
    let is_open = |job: &Job| crate::run::gate::state(&procedure, job)[0].open;
    for (version, text) in KEPT {
        let mut job = read(text).unwrap();
        assert_eq!(job.is_of_another_edition("p.html"), version < 4, "version {version}");
        assert_eq!(is_open(&job), version == 4, "version {version}");
        job.begin("p.html", "step-1", NOW);
        assert!(is_open(&job) && !job.is_of_another_edition("p.html"));
        assert_eq!((job.run("p.html"), job.readings.len()), (2, 2));
    }
}

/// A file with this text as its job, and the right checksum.
fn file_of(job: &str) -> String {
    format!(
        r#"{{"format":"{FORMAT}","version":{VERSION},"sha256":"{}","job":{job}}}"#,
        checksum(VERSION, job)
    )
}

#[test]
fn each_fault_is_named() {
    let whole = write(&kept());
    let job = serde_json::to_string(&kept()).unwrap();
    for (text, says) in [
        (String::new(), "the file is empty"),
        ("  \n".into(), "the file is empty"),
        (whole[..whole.len() / 2].into(), "the file ends in the middle"),
        (whole.replace("\"label\"", "\"label"), "the file is damaged at line 1, column"),
        ("[1, 2]".into(), "this is not a job of this handbook: it begins with “[1, 2]”"),
        ("<html>".into(), "this is not a job of this handbook: it begins with “<html>”"),
        ("{\"name\": 1}".into(), "this is not a job of this handbook: it has no “format”"),
        (whole.replace(FORMAT, "another"), "this is not a job of this handbook: its format is \"another\""),
        (whole.replace("\"version\":4", "\"version\":7"), "the file is of version 7, and this edition"),
        // A version that was damaged is not taken for an earlier one.
        (whole.replace("\"version\":4", "\"version\":2"), "does not agree with its checksum"),
        (
            whole.replace("\"version\":4", "\"version\":0"),
            "the file’s “version” is wrong: 0 is not a version",
        ),
        (whole.replace("\"version\":4", "\"version\":\"2\""), "the file’s “version” is wrong"),
        (whole.replace("\"version\":4,", ""), "the file’s “version” is wrong: it is missing"),
        (whole.replace("\"sha256\"", "\"sha255\""), "the file holds a “sha255” that does not belong there"),
        (whole.replace("438 V", "338 V"), "does not agree with its checksum"),
        (whole.replace("{\"format\"", "{\"also\":1,\"format\""), "the file holds a “also”"),
        (file_of("{}"), "the job in the file is not one of version 4: missing field `id`"),
        (file_of(&job.replace("\"label\":", "\"labels\":")), "unknown field `labels`"),
        (file_of(&job.replace("\"taken-out\"", "\"stolen\"")), "unknown variant `stolen`"),
        (
            file_of(&job.replace("T21:11:02Z", "T25:11:02Z")),
            "is not a time; write it as 2026-11-25T21:11:02Z",
        ),
        (file_of(&job.replace("/9j/2Q==", "/9j/2Q=!")), "photograph 1 is not base64"),
        (file_of(&job.replace("\"id\":\"demo-1\"", "\"id\":\"\"")), "“id” is empty"),
    ] {
        let said = read(&text).expect_err(says).to_string();
        assert!(said.contains(says), "{said:?} does not say {says:?}");
    }
    let mut bytes = whole.into_bytes();
    bytes[30] = 0xff;
    assert_eq!(
        read_bytes(&bytes).unwrap_err().to_string(),
        "the file is damaged at line 1, column 31: a character that is not UTF-8"
    );
}

#[test]
fn a_byte_order_mark_and_white_space_around_do_no_harm() {
    let text = format!("\u{feff}\n {}\n", write(&kept()));
    assert_eq!(read(&text), Ok(kept()));
}

#[test]
fn the_readings_as_a_table() {
    let table = readings_csv(&kept());
    let lines: Vec<&str> = table.split("\r\n").collect();
    assert!(lines[0].starts_with(
        "\u{feff}time,procedure,run,step,reading,blank,quantity,as typed,value,unit,range,judged,state,purpose"
    ));
    assert_eq!(
        lines[1].replace('\u{a0}', " "),
        "2026-11-25T21:11:02Z,p.html,1,step-1,bias,A1,\"Bias at grid A, \"\"as found\"\"\",-37 V,-37,V,at most −41 V,STOP,before,live"
    );
    assert!(lines[2].contains(",\"in range, as its file says\","), "{}", lines[2]);
    assert_eq!(lines.len(), 4, "a head, two readings, the end of the last line");
}

/// No cell is a formula, whatever mark a spreadsheet parts cells at; a reading is not touched.
#[test]
fn no_words_of_a_table_become_a_formula() {
    let mut job = kept();
    let cell = |job: &Job| readings_csv(job).lines().nth(1).unwrap_or_default().to_owned();
    for (words, written) in [
        ("=1+1", "\"'=1+1\""),
        ("＝1", "\"'＝1\""),
        ("\u{a0}=1", "\"\u{a0}'=1\""),
        ("a;=1", "\"a;'=1\""),
        ("\t@x", "\"\t'@x\""),
        ("a - b", "a - b"),
    ] {
        job.readings[0].quantity = words.to_owned();
        let cell = cell(&job);
        assert!(cell.contains(&format!(",A1,{written},-37 V,-37,")), "{words}: {cell}");
    }
    job.readings[0].text = "-1+1|cmd".into();
    assert!(cell(&job).contains("'-1+1|cmd"));
}
