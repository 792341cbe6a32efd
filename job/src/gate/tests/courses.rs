//! Random courses of events past random gates.

use std::collections::BTreeMap;

use proptest::prelude::*;

use super::*;
use crate::link::RunLink;
use crate::procedure::AS_EXPECTED;
use crate::record::{Change, ChangeKind};

/// What can happen to a job while a procedure runs. Numbers choose among the procedure's items.
#[derive(Debug, Clone)]
enum Event {
    Begin,
    Take(usize, usize, &'static str),
    Tick(usize, bool),
    Excuse(usize),
    Forge(usize),
    Choose(usize, usize),
    Change,
    /// The survey says another bias, or none.
    Describe(Option<&'static str>),
    /// A link with readings in range for everything is adopted.
    Adopt,
    /// The job is written to a file and read back.
    File,
    /// Another tab still had the job as it was before the last event.
    Merge,
    Note,
}

fn event() -> impl Strategy<Value = Event> {
    let text = prop::sample::select(vec![
        "-46",
        "-44 V",
        "-60",
        "-46",
        "-37",
        "0",
        "+46",
        "46",
        "",
        "x",
        AS_EXPECTED,
    ]);
    prop_oneof![
        1 => Just(Event::Begin),
        12 => (0..16_usize, 0..2_usize, text).prop_map(|(item, blank, text)| Event::Take(item, blank, text)),
        4 => (0..16_usize, any::<bool>()).prop_map(|(item, done)| Event::Tick(item, done)),
        3 => (0..16_usize).prop_map(Event::Excuse),
        1 => (0..16_usize).prop_map(Event::Forge),
        3 => (0..16_usize, 0..3_usize).prop_map(|(item, option)| Event::Choose(item, option)),
        1 => Just(Event::Change),
        2 => prop::sample::select(vec![Some("-41 V"), Some("-41.5 V"), None]).prop_map(Event::Describe),
        1 => Just(Event::Adopt),
        1 => Just(Event::File),
        1 => Just(Event::Merge),
        1 => Just(Event::Note),
    ]
}

/// What an item of a random procedure is made of: its kind, its gate, how far two branches lead.
type Drawn = (u8, Option<Gate>, usize, usize);

/// A random procedure of up to eight steps.
fn any_procedure() -> impl Strategy<Value = Procedure> {
    let gate = prop::sample::select(vec![Some(Gate::Hard), Some(Gate::Hard), Some(Gate::Soft), None]);
    let item = (0..5_u8, gate, 1..4_usize, 1..4_usize);
    prop::collection::vec(prop::collection::vec(item, 0..3), 1..8).prop_map(|steps| {
        let count = steps.len();
        let mut name = 0;
        let mut step = |(at, items): (usize, Vec<Drawn>)| {
            let mut chosen = false;
            let items = items.into_iter().map(|(kind, gate, one, other)| {
                name += 1;
                let id = format!("i{name}");
                let to = |by: usize| (at + 1 + by).min(count);
                match kind {
                    0 => reading(&id, &["A", "B"], gate),
                    1 => tick(&id, gate),
                    2 if !chosen && at + 1 < count => {
                        chosen = true;
                        choice(&id, &[to(one), to(other)], "")
                    }
                    3 => leaning(&id, gate),
                    _ => reading(&id, &[], gate),
                }
            });
            items.collect::<Vec<Item>>()
        };
        let steps: Vec<Vec<Item>> = steps.into_iter().enumerate().map(&mut step).collect();
        procedure(steps)
    })
}

/// A reading whose limit is what the survey says.
fn leaning(id: &str, gate: Option<Gate>) -> Item {
    let mut item = reading(id, &[], gate);
    if let Item::Reading(spec) = &mut item {
        spec.high = bound(&format!("job.{EXPECTED}"));
    }
    item
}

const EXPECTED: &str = "bias-expected";

/// How a blank is called in what the test knows: of a reading that leans on the survey, with what the survey says.
fn name(spec: &ReadingSpec, blank: &str, job: &Job) -> String {
    let expected = job.values.get(EXPECTED).map_or("", |value| &value.text);
    if spec.leans_on_the_job() { format!("{blank}@{expected}") } else { blank.to_owned() }
}

fn items(procedure: &Procedure) -> Vec<(&Step, &Item)> {
    procedure.steps.iter().flat_map(|step| step.items.iter().map(move |item| (step, item))).collect()
}

/// What the test itself knows of the run: by item and blank, whether what was last done to it was right.
type Known = BTreeMap<(String, String), bool>;

/// Does what the event says, and writes down in `known` what came of it.
fn happen(event: &Event, procedure: &Procedure, job: &mut Job, before: &Job, known: &mut Known) {
    let items = items(procedure);
    let nth = |at: usize| items.get(at % items.len().max(1)).copied();
    match event {
        Event::Begin => {
            job.begin(PAGE, "step-1", NOW);
            known.clear();
        }
        Event::Take(at, blank, text) => {
            let Some((step, Item::Reading(spec))) = nth(*at) else { return };
            let blank = spec.blanks(job).get(*blank).copied().unwrap_or_default().to_owned();
            job.take(Take { procedure: PAGE, step: &step.id, spec, blank: &blank, text, at: NOW }, &NONE);
            let named = name(spec, &blank, job);
            if !matches!(*text, "46" | "" | "x" | AS_EXPECTED) {
                known.retain(|(id, at), _| *id != spec.id || at.split('@').next() != Some(&blank));
            }
            // By hand, and not by `judge`: these texts are at −41 V or below, these are readings that are not, the rest none.
            match *text {
                "-46" | "-44 V" | "-60" => {
                    _ = known
                        .insert((spec.id.clone(), named.clone()), job.run(PAGE) > 0 && !named.ends_with('@'))
                }
                "-37" | "0" | "+46" => _ = known.insert((spec.id.clone(), named), false),
                _ => {}
            }
        }
        Event::Tick(at, done) => {
            let Some((_, Item::Tick(spec))) = nth(*at) else { return };
            job.tick(PAGE, &spec.id, *done, NOW);
            known.insert((spec.id.clone(), String::new()), *done && job.run(PAGE) > 0);
        }
        Event::Excuse(at) => {
            let Some((_, item)) = nth(*at) else { return };
            if job.excuse(procedure, item.id(), "a reason", NOW) {
                known.insert((item.id().to_owned(), "excused".into()), job.run(PAGE) > 0);
            }
        }
        Event::Forge(at) => {
            let Some((step, item)) = nth(*at) else { return };
            job.reasons.push(Reason {
                procedure: PAGE.into(),
                step: step.id.clone(),
                item: item.id().into(),
                about: String::new(),
                text: "forged".into(),
                at: NOW,
                run: job.run(PAGE),
            });
            known.insert((item.id().to_owned(), "excused".into()), job.run(PAGE) > 0);
        }
        Event::Choose(at, option) => {
            let Some((_, Item::Choice(spec))) = nth(*at) else { return };
            let option = spec.options.get(*option).map_or("nowhere", |option| option.id.as_str());
            job.choose(PAGE, &spec.id, option, NOW);
        }
        Event::Change => job.change(Change {
            at: NOW,
            kind: ChangeKind::Set,
            what: "trimmer".into(),
            place: String::new(),
            value: String::new(),
            before: String::new(),
            kept: String::new(),
        }),
        Event::Describe(Some(text)) => job.set(EXPECTED, text, From::Typed, NOW).unwrap(),
        Event::Describe(None) => job.forget(EXPECTED, NOW),
        Event::Adopt => {
            let mut link = RunLink { step: "step-1".into(), ..RunLink::default() };
            for (_, item) in &items {
                if let Item::Reading(spec) = item {
                    let blanks = spec
                        .blanks(job)
                        .into_iter()
                        .map(|blank| ((spec.id.clone(), blank.to_owned()), "-46 V".to_owned()));
                    link.readings.extend(blanks);
                }
            }
            let (taken, unknown) = link.adopted(procedure, NOW, job.changes.len());
            assert!(unknown.is_empty());
            job.readings.extend(taken);
        }
        Event::File => *job = crate::file::read(&crate::file::write(job)).unwrap(),
        Event::Merge => *job = job.clone().merged(before.clone()),
        Event::Note => job.note("a note", NOW),
    }
}

/// The hard gates of a step that the test's own knowledge says are closed.
fn closed(step: &Step, job: &Job, known: &Known) -> bool {
    let right =
        |id: &str, blank: &str| known.get(&(id.to_owned(), blank.to_owned())).copied().unwrap_or(false);
    step.items.iter().any(|item| match item {
        Item::Reading(spec) => match spec.gate {
            Some(Gate::Hard) => {
                !spec.blanks(job).iter().all(|blank| right(&spec.id, &name(spec, blank, job)))
            }
            Some(Gate::Soft) => {
                !spec.blanks(job).iter().all(|blank| right(&spec.id, &name(spec, blank, job)))
                    && !right(&spec.id, "excused")
            }
            None => false,
        },
        Item::Tick(spec) => match spec.gate {
            Some(Gate::Hard) => !right(&spec.id, ""),
            Some(Gate::Soft) => !right(&spec.id, "") && !right(&spec.id, "excused"),
            None => false,
        },
        Item::Choice(_) | Item::Timer(_) => false,
    })
}

/// Tried oftener than the rest: this is what the crate is for.
fn often() -> ProptestConfig {
    let usual = ProptestConfig::default();
    ProptestConfig { cases: usual.cases.saturating_mul(20), ..usual }
}

proptest! {
    #![proptest_config(often())]

    /// No course of events opens a step past a closed gate, and what opens one is what its gate asks for.
    #[test]
    fn nothing_opens_past_a_closed_gate(procedure in any_procedure(), events in prop::collection::vec(event(), 0..40)) {
        prop_assert!(procedure.faults().is_empty());
        let mut job = Job::new("1", "", NOW);
        happen(&Event::Describe(Some("-41 V")), &procedure, &mut job, &Job::default(), &mut Known::new());
        let (mut known, mut before) = (Known::new(), job.clone());
        for event in &events {
            let earlier = job.clone();
            let was = state(&procedure, &job);
            happen(event, &procedure, &mut job, &before, &mut known);
            let now = state(&procedure, &job);
            // In the order of the page every open step but the last must have its gates open; the walk is along open steps.
            let opened: Vec<&Step> =
                procedure.steps.iter().zip(&now).filter(|(_, state)| state.open).map(|(step, _)| step).collect();
            if let Some((_, passed)) = opened.split_last() {
                for step in passed {
                    prop_assert!(!closed(step, &job, &known), "{} was passed, {event:?}", step.id);
                }
            }
            // If all that was in the way were hard gates of readings, nothing but a reading in range may have opened more.
            let waited = frontier(&was).map(|state| state.waits.clone()).unwrap_or_default();
            let hard = waited.iter().find(|wait| wait.gate == Gate::Hard && wait.why != Why::NotTicked && wait.why != Why::NotChosen);
            let further = now.iter().rposition(|state| state.open) > was.iter().rposition(|state| state.open);
            if let (Some(wait), true) = (hard, further) {
                let by_reading = matches!(event, Event::Take(_, _, "-46" | "-44 V" | "-60"));
                let by_branch = matches!(event, Event::Choose(..));
                let by_survey = matches!(event, Event::Describe(_)) && wait.why == Why::Changed;
                prop_assert!(by_reading || by_branch || by_survey, "{} opened by {event:?}", wait.item);
            }
            before = earlier;
        }
    }

    /// With everything as it should be the way is free to the end: the gates are not simply shut.
    #[test]
    fn what_is_done_right_opens_every_step_of_the_way(procedure in any_procedure()) {
        let mut job = Job::new("1", "", NOW);
        let mut known = Known::new();
        let events = items(&procedure).into_iter().enumerate().flat_map(|(at, (_, item))| match item {
            Item::Reading(_) => vec![Event::Take(at, 0, "-46"), Event::Take(at, 1, "-44 V")],
            Item::Tick(_) => vec![Event::Tick(at, true)],
            _ => vec![Event::Choose(at, 0)],
        });
        let events: Vec<Event> = [Event::Begin, Event::Describe(Some("-41 V"))].into_iter().chain(events).collect();
        for event in &events {
            let before = job.clone();
            happen(event, &procedure, &mut job, &before, &mut known);
        }
        let states = state(&procedure, &job);
        prop_assert!(states.last().unwrap().open);
        prop_assert!(frontier(&states).unwrap().waits.is_empty());
    }
}
