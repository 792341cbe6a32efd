//! The gates of the procedures as the pages in `content/` have them: ordinary amplifiers go through, and one bad reading at
//! any hard gate shuts it, whatever reason is given.
//!
//! What is ordinary and what is bad comes from the bench, not from the pages: common practice, no source, where nothing else
//! stands beside it.

use calc_core::calculators::GROUPS;
use job::gate::{frontier, state};
use job::judge::Take;
use job::procedure::{
    AS_EXPECTED, Block, ChoiceSpec, Gate, Item, NOT_AS_EXPECTED, Procedure, ReadingSpec, Step,
};
use job::procedure::{TickSpec, TimerSpec};
use job::{Among, From, Job, Judgement, Time};

const POWER_UP: &str = "6-first-power-up/1-staged-power-up.md";

/// An amplifier, and what its meters show on the way up.
struct Amplifier {
    /// Which branch of the procedure it takes.
    way: &'static str,
    /// Whether there is feedback, and a new control: `yes` or `no`.
    asked: &'static str,
    /// What the survey found.
    known: &'static [(&'static str, &'static str)],
    /// Readings by the beginning of their id; the longest that fits counts.
    shows: &'static [(&'static str, &'static str)],
}

/// What every amplifier on the bench shows.
const EVERYWHERE: [(&str, &str); 11] = [
    ("earth", "0.06"),
    ("insulation", "60"),
    ("meter-", "9.2"),
    ("load-rating", "150"),
    ("load-legs", "0.2"),
    ("lamp-earth", "0.05"),
    ("lamp-live", "35"),
    ("lamp-neutral", "0.2"),
    ("output-open", "1.05"),
    ("output-connected", "0.52"),
    ("anodes", "440"),
];

/// A head of 50 W with two EL34: −37 V and 38 mA are an ordinary pair of readings. 25 W of anode (Philips, 1969) by the
/// 480 V that the HT may reach are 52 mA.
const FIFTY_WATTS: Amplifier = Amplifier {
    way: "held-back",
    asked: "yes",
    known: &[
        ("mains-marked", "230 V"),
        ("bias-expected", "-37 V"),
        ("idle-stop", "52 mA"),
        ("idle-expected", "38 mA"),
        ("load", "16"),
        ("rated-power", "50"),
        ("idle-watts", "90"),
        ("lamp-power", "100"),
        ("lamp-voltage", "230"),
    ],
    shows: &[
        ("a-mains-in", "203"),
        ("a-mains", "222"),
        ("mains", "229"),
        ("a-held", "1.2"),
        ("a-heaters", "6.2"),
        ("heaters", "6.3"),
        ("a-bias-out", "-35.5"),
        ("a-bias-in", "-32.4"),
        ("full-a-bias", "-37"),
        ("load", "14.1"),
        ("ht-lamp-cathodes", "21"),
        ("off-on", "22"),
        ("idle-watts", "92"),
        ("idle", "38"),
        ("knob", "38"),
        ("warm", "38"),
        ("soak", "38"),
        ("drive", "28"),
    ],
};

/// The demonstration amplifier of `content/0-read-this-first`, if it had no standby switch.
const NOT_HELD_BACK: Amplifier = Amplifier {
    way: "not-held-back",
    asked: "yes",
    known: &[
        ("mains-marked", "120 V"),
        ("bias-expected", "-46 V"),
        ("idle-stop", "61 mA"),
        ("idle-expected", "34 mA"),
        ("load", "8"),
        ("rated-power", "40"),
        ("idle-watts", "65"),
        ("lamp-power", "100"),
        ("lamp-voltage", "120"),
        ("ht-unloaded", "490"),
        ("reservoir-rating", "700"),
    ],
    shows: &[
        ("b-ratings", "700"),
        ("b-mains-out", "112"),
        ("b-mains-in", "92"),
        ("b-heaters", "5.9"),
        ("b-ht-out", "455"),
        ("b-bias-out", "-43"),
        ("b-bias-in", "-35.2"),
        ("full-b-ht", "490"),
        ("full-b-bias", "-45.6"),
        ("mains", "120"),
        ("heaters", "6.3"),
        ("load", "7.2"),
        ("ht-lamp-cathodes", "20"),
        ("off-on", "20"),
        ("idle-watts", "70"),
        ("idle", "34"),
        ("knob", "35"),
        ("warm", "35"),
        ("soak", "35"),
        ("drive", "18"),
    ],
};

/// Four EL84 with cathode bias at 230 V, as in `content/0-read-this-first`; 12 W of anode (Philips, 1969) by 340 V.
const CATHODE_BIAS: Amplifier = Amplifier {
    way: "cathode",
    asked: "yes",
    known: &[
        ("mains-marked", "230 V"),
        ("idle-stop", "35 mA"),
        ("idle-expected", "33 mA"),
        ("load", "8"),
        ("rated-power", "30"),
        ("idle-watts", "90"),
        ("lamp-power", "100"),
        ("lamp-voltage", "230"),
        ("ht-unloaded", "390"),
        ("reservoir-rating", "450"),
    ],
    shows: &[
        ("c-ratings", "450"),
        ("c-heaters", "6.1"),
        ("c-ht", "370"),
        ("c-cathode", "65"),
        ("c-leak", "470"),
        ("c-grids", "0.02"),
        ("c-mains", "221"),
        ("mains", "228"),
        ("heaters", "6.3"),
        ("load", "7.2"),
        ("ht-lamp-cathodes", "20"),
        ("off-on", "24"),
        ("idle-watts", "92"),
        ("idle", "33"),
        ("knob", "33"),
        ("warm", "33"),
        ("soak", "33"),
        ("drive", "15"),
        ("anodes", "320"),
    ],
};

/// At least one reading that no hard gate may let through, by the beginning of its id.
const BAD: [(&str, &[&str]); 28] = [
    // Rules of the bench, 14: at most 0.1 Ω, at least 1 MΩ.
    ("earth", &["0.3", "12"]),
    ("lamp-earth", &["0.8"]),
    // Rule 16: the lamp in the live conductor, not bridged, and nothing in the neutral.
    ("lamp-live", &["0.1", "2M"]),
    ("lamp-neutral", &["35"]),
    ("insulation", &["400k"]),
    // A meter that shows nothing of a battery that is known to be fresh.
    ("meter-", &["0", "0.4"]),
    // Rule 15: 0.7 to 1.1 times nominal.
    ("load-legs", &["0.5", "2"]),
    ("load", &["0.3", "30"]),
    // Rule 13: 10 V.
    ("left", &["10", "14", "-31", "430"]),
    // Missing, too little, or positive.
    ("a-bias-out", &["-20", "-0.2", "+3"]),
    ("a-bias-in", &["-20", "-0.2", "+3"]),
    ("b-bias-out", &["-20", "-0.2", "+3"]),
    ("b-bias-in", &["-20", "-0.2", "+3"]),
    // A standby switch that is bridged, or lets some by.
    ("a-held", &["30", "430"]),
    // Enough behind the lamp, and not enough at full mains.
    ("full-a-bias", &["-33", "-0.2", "+3"]),
    ("full-b-bias", &["-38", "-0.2", "+3"]),
    ("mains", &["170", "90", "280"]),
    ("ht-lamp-cathodes", &["140"]),
    ("idle", &["63", "250"]),
    // A climb of a tenth is too much, however low it stays.
    ("rise", &["6"]),
    // The resistor of 4.7 to 10 kΩ is still on.
    ("clip-ohms", &["9.8"]),
    ("knob", &["63"]),
    ("warm", &["63"]),
    ("soak", &["63"]),
    // More with the feedback connected than with it open.
    ("output-connected", &["1.4"]),
    ("c-cathode", &["0.2"]),
    ("c-leak", &["9000", "1"]),
    ("c-grids", &["3", "1.2"]),
];

impl Amplifier {
    fn job(&self) -> Job {
        let mut job = Job::new("1", "A head on the bench", now());
        for (id, text) in self.known {
            job.set(id, text, From::Typed, now()).expect("the survey found it");
        }
        job
    }

    fn shown(&self, id: &str) -> &'static str {
        if has_word(id, "left") {
            return "2.5";
        }
        if has_word(id, "source") {
            return "9.2";
        }
        if has_word(id, "ohms") {
            return "180";
        }
        if has_word(id, "rise") {
            return "1";
        }
        of_longest_start(self.shows.iter().chain(&EVERYWHERE), id)
            .unwrap_or_else(|| panic!("no ordinary reading for {id}"))
    }
}

fn now() -> Time {
    Time::from_seconds(1_800_000_000)
}

/// What stands beside the longest text that `id` begins with; the first of several.
fn of_longest_start<'t, T: Copy + 't>(table: impl Iterator<Item = &'t (&'t str, T)>, id: &str) -> Option<T> {
    let fits = table.filter(|(start, _)| id.starts_with(start));
    fits.fold(None, |best: Option<&(&str, T)>, row| {
        best.filter(|best| best.0.len() >= row.0.len()).or(Some(row))
    })
    .map(|row| row.1)
}

fn has_word(id: &str, word: &str) -> bool {
    id.split('-').any(|other| other == word)
}

/// The steps of a page and what they carry.
fn procedure(page: &str) -> Procedure {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../content/");
    let text = std::fs::read_to_string(format!("{folder}{page}")).expect("the page is there");
    let mut found = Procedure { page: page.to_owned(), title: String::new(), steps: vec![] };
    let mut lines = text.lines();
    while let Some(line) = lines.next() {
        if let Some((number, _)) = line.split_once(". ")
            && number.parse::<u32>().is_ok()
        {
            found.steps.push(Step { id: format!("step-{number}"), items: vec![] });
        }
        let Some(kind) = line.trim_start().strip_prefix("```") else { continue };
        let body: Vec<&str> = lines.by_ref().take_while(|line| line.trim() != "```").map(str::trim).collect();
        let Some(step) = found.steps.last_mut() else { continue };
        let id = format!("{}-{}", step.id, step.items.len() + 1);
        let block = || toml::from_str::<Block>(&body.join("\n")).expect("a block of TOML");
        step.items.extend(match kind {
            "reading" => Some(Item::Reading(
                ReadingSpec::from_block(&block(), &id, &Among(&GROUPS)).expect("a good block"),
            )),
            "tick" => Some(Item::Tick(TickSpec::from_block(&block(), &id).expect("a good block"))),
            "choice" => Some(Item::Choice(ChoiceSpec::from_block(&block(), &id).expect("a good block"))),
            "timer" => Some(Item::Timer(TimerSpec::from_block(&block(), &id).expect("a good block"))),
            _ => None,
        });
    }
    assert_eq!(found.faults(), []);
    found
}

/// Walks the procedure as far as it opens, trying every hard gate with a bad reading first. Gives the ids of the hard items
/// that it passed.
fn walk(amplifier: &Amplifier) -> (Vec<String>, Job) {
    let procedure = procedure(POWER_UP);
    let mut job = amplifier.job();
    job.begin(&procedure.page, "step-1", now());
    let mut passed = Vec::new();
    let mut at = String::new();
    loop {
        let states = state(&procedure, &job);
        let here = frontier(&states).expect("it was begun");
        assert_ne!(here.id, at, "no way past {at}: {:?}", here.waits);
        at = here.id.clone();
        job.stop_at(&procedure.page, &at, now());
        let step = procedure.step(&at).expect("the step is there").clone();
        for item in &step.items {
            do_one(item, &at, amplifier, &procedure, &mut job, &mut passed);
        }
        if Some(&step) == procedure.steps.last() {
            let last = state(&procedure, &job).pop().expect("there are steps");
            assert!(last.open && last.waits.is_empty(), "{last:?}");
            return (passed, job);
        }
    }
}

fn do_one(
    item: &Item,
    step: &str,
    amplifier: &Amplifier,
    procedure: &Procedure,
    job: &mut Job,
    passed: &mut Vec<String>,
) {
    let page = procedure.page.clone();
    let is_here = |job: &Job| frontier(&state(procedure, job)).expect("it was begun").id == step;
    match item {
        Item::Timer(_) => {}
        Item::Choice(choice) => {
            let way = if choice.options.iter().any(|option| option.id == amplifier.way) {
                amplifier.way
            } else {
                amplifier.asked
            };
            job.choose(&page, &choice.id, way, now());
        }
        Item::Tick(tick) => {
            if tick.gate == Some(Gate::Hard) {
                assert!(!job.excuse(procedure, &tick.id, "in a hurry", now()), "{}", tick.id);
                assert!(is_here(job), "{} was passed without its tick", tick.id);
                passed.push(tick.id.clone());
            }
            job.tick(&page, &tick.id, true, now());
        }
        Item::Reading(spec) => {
            let mut take = |blank: &str, text: &str| {
                job.take(Take { procedure: &page, step, spec, blank, text, at: now() }, &Among(&GROUPS))
            };
            let good = if spec.is_seen() { AS_EXPECTED } else { amplifier.shown(&spec.id) };
            for blank in spec.blanks() {
                let judgement = take(blank, good);
                assert!(
                    !matches!(judgement, Judgement::Stop(_) | Judgement::Unread(_)),
                    "{} {blank}: {good} of an ordinary amplifier: {judgement:?}",
                    spec.id
                );
                if spec.gate.is_some() {
                    assert!(!matches!(judgement, Judgement::CannotTell(_)), "{}: {judgement:?}", spec.id);
                }
            }
            if spec.gate != Some(Gate::Hard) {
                return;
            }
            let bad = || {
                let id = match spec.id.as_str() {
                    id if has_word(id, "left") => "left",
                    id if has_word(id, "source") => "meter-",
                    id if has_word(id, "ohms") => "clip-ohms",
                    id if has_word(id, "rise") => "rise",
                    id => id,
                };
                of_longest_start(BAD.iter(), id).unwrap_or_else(|| panic!("no bad reading for {id}"))
            };
            for text in if spec.is_seen() { &[NOT_AS_EXPECTED][..] } else { bad() } {
                // In each blank by itself, the others being good.
                for blank in spec.blanks() {
                    let judgement = job
                        .take(Take { procedure: &page, step, spec, blank, text, at: now() }, &Among(&GROUPS));
                    assert!(
                        matches!(judgement, Judgement::Stop(_)),
                        "{} {blank}: {text}: {judgement:?}",
                        spec.id
                    );
                    assert!(!job.excuse(procedure, &spec.id, "in a hurry", now()), "{}", spec.id);
                    assert!(is_here(job), "{text} at {} let the next step open", spec.id);
                    job.take(
                        Take { procedure: &page, step, spec, blank, text: good, at: now() },
                        &Among(&GROUPS),
                    );
                }
            }
            passed.push(spec.id.clone());
        }
    }
}

/// In this order, each before the next; `procedure` may have others between.
#[track_caller]
fn assert_in_order(passed: &[String], expected: &[&str]) {
    let mut rest = passed.iter();
    for id in expected {
        assert!(rest.any(|known| known == id), "{id} is not where it belongs in {passed:?}");
    }
}

#[test]
fn an_ordinary_head_of_fifty_watts_goes_through_and_every_hard_gate_holds() {
    let (passed, job) = walk(&FIFTY_WATTS);
    assert_in_order(
        &passed,
        &[
            "earth",
            "insulation",
            "meter-before",
            "left",
            "meter-after",
            "load",
            "load-legs",
            "valves-out",
            "lamp-earth",
            "clip-off",
            "a-lamp",
            "a-bias-out",
            "a-left",
            "a-clip-off",
            "a-bias-in",
            "ht-lamp-seen",
            "full-left",
            "lamp-out",
            "mains",
            "full-a-bias",
            "idle-once",
            "idle-one",
            "idle-ten",
            "output-connected",
            "knob-a",
            "sweep",
            "drive-seen",
            "warm-a",
            "warm-b",
            "soak",
            "end-left",
        ],
    );
    assert_eq!(job.values["bias-voltage"].text, "-37 V");
    assert_eq!(job.values["cathode-current"].text, "38 mA");
    assert_eq!(job.values["mains-measured"].text, "229 V");
}

#[test]
fn without_feedback_and_without_a_new_control_the_meters_are_moved_dead_all_the_same() {
    let (passed, _) = walk(&Amplifier { asked: "no", ..FIFTY_WATTS });
    assert_in_order(&passed, &["idle-ten", "rise", "judge-left", "judge-clip-off", "drive-seen"]);
    assert!(!passed.iter().any(|id| id.starts_with("open-") || id.starts_with("knob-")), "{passed:?}");
}

#[test]
fn where_the_ht_is_not_held_back_the_bias_is_proven_with_the_valves_out_and_in() {
    let (passed, job) = walk(&NOT_HELD_BACK);
    assert_in_order(
        &passed,
        &[
            "clip-off",
            "b-lamp",
            "b-bias-out",
            "b-left",
            "b-clip-off",
            "b-bias-in",
            "ht-lamp-seen",
            "lamp-out",
            "mains",
            "full-b-bias",
            "full-b-left",
            "full-b-clip-off",
            "full-b-bias-in",
            "idle-once",
        ],
    );
    assert!(!passed.iter().any(|id| id.starts_with("a-") || id.starts_with("c-")), "{passed:?}");
    assert_eq!(job.values["bias-voltage"].text, "-45.6 V");
}

#[test]
fn with_cathode_bias_the_cathode_and_the_leak_are_proven() {
    let (passed, _) = walk(&CATHODE_BIAS);
    assert_in_order(
        &passed,
        &[
            "c-left",
            "c-cathode",
            "c-leak",
            "c-clip-off",
            "c-lamp",
            "c-grids",
            "c-left-again",
            "ht-lamp-seen",
            "mains",
            "idle-once",
        ],
    );
    assert!(!passed.iter().any(|id| id.contains("bias")), "{passed:?}");
}

#[test]
fn a_bias_without_its_sign_is_asked_back_and_more_of_it_is_noted() {
    let procedure = procedure(POWER_UP);
    let (step, spec) = procedure.reading("full-a-bias").expect("the reading is there");
    let mut job = FIFTY_WATTS.job();
    job.set("mains-measured", "230 V", From::Typed, now()).expect("a value");
    let judged = |text| job::judge::judge(spec, text, &job, &Among(&GROUPS));
    let Judgement::Unread(problem) = judged("37") else { panic!("{step:?}: {:?}", judged("37")) };
    assert_eq!(problem.offers, ["-37V", "+37V"]);
    assert!(matches!(judged("-37V"), Judgement::InRange));
    assert!(matches!(judged("-52"), Judgement::Noted(_)));
    assert!(matches!(judged("+37V"), Judgement::Stop(_)));
}

#[test]
fn without_a_bias_expected_no_valve_is_let_in() {
    let procedure = procedure(POWER_UP);
    let (_, spec) = procedure.reading("a-bias-out").expect("the reading is there");
    let mut job = FIFTY_WATTS.job();
    job.set("mains-measured", "230 V", From::Typed, now()).expect("a value");
    job.forget("bias-expected", now());
    let judgement = job::judge::judge(spec, "-37", &job, &Among(&GROUPS));
    let Judgement::CannotTell(why) = judgement else { panic!("{judgement:?}") };
    assert!(why.lacks.iter().any(|lack| lack.known.id == "bias-expected"), "{why:?}");
}

/// Takes a reading in its step, as who stands there.
fn take(job: &mut Job, procedure: &Procedure, id: &str, blank: &str, text: &str) -> Judgement {
    let (step, spec) = procedure.reading(id).expect("the reading is there");
    job.stop_at(&procedure.page, &step.id, now());
    job.take(
        Take { procedure: &procedure.page, step: &step.id, spec, blank, text, at: now() },
        &Among(&GROUPS),
    )
}

/// The step that is in the way, and its items that are.
fn waits(procedure: &Procedure, job: &Job) -> (String, Vec<String>) {
    let states = state(procedure, job);
    let here = frontier(&states).expect("it was begun");
    (here.id.clone(), here.waits.iter().map(|wait| wait.item.clone()).collect())
}

/// The step with an item.
fn step_of(procedure: &Procedure, id: &str) -> String {
    let carries = |step: &&Step| step.items.iter().any(|item| item.id() == id);
    procedure.steps.iter().find(carries).expect("the item is there").id.clone()
}

// Rule 5 of the bench: not proven dead is a hard gate. The mains was on since the chassis was proven dead.
#[test]
fn who_goes_back_to_open_the_feedback_proves_the_chassis_dead_again() {
    let procedure = procedure(POWER_UP);
    let (_, mut job) = walk(&FIFTY_WATTS);
    let page = procedure.page.clone();
    assert!(matches!(take(&mut job, &procedure, "output-connected", "", "1.4"), Judgement::Stop(_)));
    let step = step_of(&procedure, "open-left");
    job.stop_at(&page, &step, now());
    let closed = ["open-left", "open-source", "open-clip-ohms", "open-clip-off"].map(str::to_owned).to_vec();
    assert_eq!(waits(&procedure, &job), (step.clone(), closed));
    take(&mut job, &procedure, "open-left", "", "2");
    take(&mut job, &procedure, "open-source", "", "9.2");
    take(&mut job, &procedure, "open-clip-ohms", "", "180");
    assert_eq!(waits(&procedure, &job), (step, vec!["open-clip-off".to_owned()]));
    job.tick(&page, "open-clip-off", true, now());
    // With hands in since, what was read with the loop open is read again.
    assert_eq!(waits(&procedure, &job).0, step_of(&procedure, "output-open"));
}

// Rule 17: every range is scaled to the mains that the amplifier gets.
#[test]
fn mains_read_higher_judges_the_bias_anew() {
    let procedure = procedure(POWER_UP);
    let (_, mut job) = walk(&FIFTY_WATTS);
    // −37 V at 229 V were enough; at 250 V it takes some −38 V.
    assert_eq!(take(&mut job, &procedure, "mains", "", "250"), Judgement::InRange);
    let (step, items) = waits(&procedure, &job);
    assert!(
        step == step_of(&procedure, "full-left") || items.contains(&"full-a-bias".to_owned()),
        "{step} {items:?}"
    );
    assert!(matches!(take(&mut job, &procedure, "full-a-bias", "A", "-37"), Judgement::Stop(_)));
}

#[test]
fn the_mains_that_a_bias_is_judged_by_is_read_and_not_explained() {
    let procedure = procedure(POWER_UP);
    let mut job = FIFTY_WATTS.job();
    job.begin(&procedure.page, "step-1", now());
    for id in ["a-mains", "a-mains-out", "a-mains-in", "b-mains-out", "b-mains-in", "output-open"] {
        assert!(!job.excuse(&procedure, id, "no meter at hand", now()), "{id}");
    }
    assert!(job.excuse(&procedure, "heaters", "no third meter", now()));
}

// Rule 3: bias is read again after it was set. Behind the lamp nothing was approved, so nothing there is lost.
#[test]
fn a_trimmer_that_was_turned_leads_back_to_the_bias_at_full_mains() {
    let procedure = procedure(POWER_UP);
    let (_, mut job) = walk(&FIFTY_WATTS);
    let trimmer = job::Change {
        at: now(),
        kind: job::ChangeKind::Set,
        what: "bias trimmer".into(),
        place: String::new(),
        value: String::new(),
        before: String::new(),
        kept: String::new(),
    };
    job.change(trimmer);
    assert_eq!(waits(&procedure, &job).0, step_of(&procedure, "full-left"));
}

#[test]
fn an_untouched_loop_and_a_new_control_speak_against_each_other() {
    let procedure = procedure(POWER_UP);
    let (_, mut job) = walk(&FIFTY_WATTS);
    job.choose(&procedure.page, "feedback", "untouched", now());
    assert_eq!(waits(&procedure, &job), (step_of(&procedure, "master"), vec!["master".to_owned()]));
}
