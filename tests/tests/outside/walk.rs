//! Walks through the procedures as the pages in `content/` have them: an ordinary amplifier goes through, and one bad
//! reading at any hard gate shuts it, whatever reason is given.
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
use tests::amplifier::{Amplifier, has_word, of_longest_start};

/// At least one reading that no hard gate may let through, by the beginning of its id.
const BAD: [(&str, &[&str]); 42] = [
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
    // Neither of the usual 4.7 to 10 kΩ nor whole.
    ("resistor", &["1.2", "9000"]),
    ("bias", &["-20", "-0.2", "+3"]),
    ("again", &["-20", "+3"]),
    // What holds the grid with its lead off is the resistor; nothing holds it where there is none.
    ("lifted", &["-15", "-0.2", "+3"]),
    ("cathode", &["63", "250"]),
    ("after", &["63"]),
    // A lug that is on chassis, and one that hangs in the air.
    ("low-ends", &["0.4", "2000000"]),
    // At 0 the bias network's own ohms and the stopper, and as much as the track in one whose outer lugs are swapped.
    ("path-0", &["20R", "233"]),
    ("path-10", &["13.5", "20R", "9000"]),
    ("path-kept", &["20R", "9000"]),
    ("grid-tags", &["20R", "9000"]),
    ("held-ohms", &["20R", "9000"]),
    // From the screen's tag, through a bit of solder.
    ("tags-between", &["1R"]),
    // Rule 15: bush and shaft are earthed metal.
    ("bush", &["0.8"]),
];

/// The job of an amplifier that was surveyed.
pub fn job_of(amplifier: &Amplifier) -> Job {
    let mut job = Job::new("1", "A head on the bench", now());
    for (id, text) in amplifier.known {
        job.set(id, text, From::Typed, now()).expect("the survey found it");
    }
    job
}

pub fn now() -> Time {
    Time::from_seconds(1_800_000_000)
}

/// The steps of a page and what they carry.
pub fn procedure(page: &str) -> Procedure {
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
pub fn walk(page: &str, amplifier: &Amplifier) -> (Vec<String>, Job) {
    let procedure = procedure(page);
    let mut job = job_of(amplifier);
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
            let way = choice.options.iter().find(|option| amplifier.ways.contains(&option.id.as_str()));
            let way = way.unwrap_or_else(|| panic!("{} is not decided", choice.id));
            job.choose(&page, &choice.id, &way.id, now());
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
            let blanks = spec.blanks(job);
            let mut take = |blank: &str, text: &str| {
                job.take(Take::typed(procedure, &spec.id, blank, text, now()), &Among(&GROUPS))
            };
            let good = if spec.is_seen() { AS_EXPECTED } else { amplifier.shown(&spec.id) };
            for blank in &blanks {
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
                    id if id.ends_with("clip-ohms") => "clip-ohms",
                    id if has_word(id, "rise") => "rise",
                    id => id,
                };
                of_longest_start(BAD.iter(), id).unwrap_or_else(|| panic!("no bad reading for {id}"))
            };
            for text in if spec.is_seen() { &[NOT_AS_EXPECTED][..] } else { bad() } {
                // In each blank by itself, the others being good.
                for blank in &blanks {
                    let judgement =
                        job.take(Take::typed(procedure, &spec.id, blank, text, now()), &Among(&GROUPS));
                    assert!(
                        matches!(judgement, Judgement::Stop(_)),
                        "{} {blank}: {text}: {judgement:?}",
                        spec.id
                    );
                    assert!(!job.excuse(procedure, &spec.id, "in a hurry", now()), "{}", spec.id);
                    assert!(is_here(job), "{text} at {} let the next step open", spec.id);
                    job.take(Take::typed(procedure, &spec.id, blank, good, now()), &Among(&GROUPS));
                }
            }
            passed.push(spec.id.clone());
        }
    }
}

/// In this order, each before the next; `procedure` may have others between.
#[track_caller]
pub fn assert_in_order(passed: &[String], expected: &[&str]) {
    let mut rest = passed.iter();
    for id in expected {
        assert!(rest.any(|known| known == id), "{id} is not where it belongs in {passed:?}");
    }
}

/// Takes a reading in its step, as who stands there.
pub fn take(job: &mut Job, procedure: &Procedure, id: &str, blank: &str, text: &str) -> Judgement {
    let (step, _) = procedure.reading(id).expect("the reading is there");
    job.stop_at(&procedure.page, &step.id, now());
    job.take(Take::typed(procedure, id, blank, text, now()), &Among(&GROUPS))
}

/// The step that is in the way, and its items that are.
pub fn waits(procedure: &Procedure, job: &Job) -> (String, Vec<String>) {
    let states = state(procedure, job);
    let here = frontier(&states).expect("it was begun");
    (here.id.clone(), here.waits.iter().map(|wait| wait.item.clone()).collect())
}

/// The step with an item.
pub fn step_of(procedure: &Procedure, id: &str) -> String {
    let carries = |step: &&Step| step.items.iter().any(|item| item.id() == id);
    procedure.steps.iter().find(carries).expect("the item is there").id.clone()
}
