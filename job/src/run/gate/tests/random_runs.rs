//! Random runs of events past random gates.

mod procedures;

use std::collections::BTreeMap;

use proptest::prelude::*;

use super::*;
use crate::procedure::{AS_EXPECTED, Answer, TimerSpec};
use crate::record::{Change, ChangeKind};
use crate::share::run_link::RunLink;
use procedures::any_procedure;

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
    /// The survey says another number of output valves, or none.
    Sockets(Option<&'static str>),
    Start(usize),
    /// The clock goes on by so many seconds, or is set back.
    Pass(i64),
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
        16 => (0..20_usize, 0..4_usize, text).prop_map(|(item, blank, text)| Event::Take(item, blank, text)),
        4 => (0..16_usize, any::<bool>()).prop_map(|(item, done)| Event::Tick(item, done)),
        3 => (0..16_usize).prop_map(Event::Excuse),
        1 => (0..16_usize).prop_map(Event::Forge),
        3 => (0..16_usize, 0..3_usize).prop_map(|(item, option)| Event::Choose(item, option)),
        1 => Just(Event::Change),
        2 => prop::sample::select(vec![Some("-41 V"), Some("-41.5 V"), None]).prop_map(Event::Describe),
        1 => prop::sample::select(vec![Some("1"), Some("2"), Some("4"), None]).prop_map(Event::Sockets),
        2 => (0..20_usize).prop_map(Event::Start),
        2 => prop::sample::select(vec![20, 60, 90, -30, -3_600]).prop_map(Event::Pass),
        1 => Just(Event::Adopt),
        1 => Just(Event::File),
        1 => Just(Event::Merge),
        1 => Just(Event::Note),
    ]
}

const MINUTE: u32 = 60;
const EXPECTED: &str = "bias-expected";

/// Whether an item is asked, as the test itself sees it: choices here depend on nothing.
fn is_asked(item: &Item, job: &Job) -> bool {
    item.when().is_none_or(|Answer { choice, option }| {
        job.chosen(PAGE, choice).is_none_or(|chosen| chosen == option)
    })
}

/// What the test itself knows of a run: of each blank and item whether what was last done to it was right, when timers were
/// started, and the clock.
#[derive(Default)]
struct Told {
    known: Known,
    started: BTreeMap<String, i64>,
    clock: i64,
}

impl Told {
    fn now(&self) -> Time {
        Time::from_seconds(NOW.seconds().saturating_add_signed(self.clock))
    }

    /// Whether the timer of a reading has run out, and it need not wait.
    fn is_time_for(&self, spec: &ReadingSpec, timer: Option<&Item>, job: &Job) -> bool {
        spec.after.is_empty()
            || timer.is_some_and(|timer| !is_asked(timer, job))
            || self.started.get(&spec.after).is_some_and(|at| self.clock - at >= i64::from(MINUTE))
    }
}

/// How a blank is called in what the test knows: of a reading that leans on the survey, with what the survey says.
fn name(spec: &ReadingSpec, blank: &str, job: &Job) -> String {
    let expected = job.values.get(EXPECTED).map_or("", |value| &value.text);
    if spec.depends_on_the_job() { format!("{blank}@{expected}") } else { blank.to_owned() }
}

fn items(procedure: &Procedure) -> Vec<(&Step, &Item)> {
    procedure.steps.iter().flat_map(|step| step.items.iter().map(move |item| (step, item))).collect()
}

/// What the test itself knows of the run: by item and blank, whether what was last done to it was right.
type Known = BTreeMap<(String, String), bool>;

/// Does what the event says, and writes down in `told` what came of it.
fn happen(event: &Event, procedure: &Procedure, job: &mut Job, before: &Job, told: &mut Told) {
    let now = told.now();
    let items = items(procedure);
    let nth = |at: usize| items.get(at % items.len().max(1)).copied();
    match event {
        Event::Begin => {
            job.begin(PAGE, "step-1", now);
            told.known.clear();
            told.started.clear();
        }
        Event::Take(at, blank, text) => {
            let Some((_, Item::Reading(spec))) = nth(*at) else { return };
            let blank = spec
                .blanks(job)
                .get(*blank % spec.blanks(job).len().max(1))
                .copied()
                .unwrap_or_default()
                .to_owned();
            job.record_reading(NewReading::typed(procedure, &spec.id, &blank, text, now));
            let named = name(spec, &blank, job);
            let timer = items.iter().find(|(_, item)| item.id() == spec.after).map(|(_, item)| *item);
            let is_there = spec.blanks(job).contains(&blank.as_str());
            // What stops is kept at any time.
            let stops = matches!(*text, "-37" | "0" | "+46");
            if !is_there || (!stops && !told.is_time_for(spec, timer, job)) {
                return;
            }
            if !matches!(*text, "46" | "" | "x" | AS_EXPECTED) {
                told.known.retain(|(id, at), _| *id != spec.id || at.split('@').next() != Some(&blank));
            }
            // By hand, and not by `judge`: these texts are at −41 V or below, these are readings that are not, the rest none.
            match *text {
                "-46" | "-44 V" | "-60" => {
                    _ = told
                        .known
                        .insert((spec.id.clone(), named.clone()), job.run(PAGE) > 0 && !named.ends_with('@'))
                }
                "-37" | "0" | "+46" => _ = told.known.insert((spec.id.clone(), named), false),
                _ => {}
            }
        }
        Event::Tick(at, done) => {
            let Some((_, Item::Tick(spec))) = nth(*at) else { return };
            job.tick(PAGE, &spec.id, *done, now);
            told.known.insert((spec.id.clone(), String::new()), *done && job.run(PAGE) > 0);
        }
        Event::Excuse(at) => {
            let Some((_, item)) = nth(*at) else { return };
            if job.excuse(procedure, item.id(), "a reason", now) {
                told.known.insert((item.id().to_owned(), "excused".into()), job.run(PAGE) > 0);
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
                at: now,
                run: job.run(PAGE),
                changes_before: job.changes.len(),
                readings_before: job.readings.len(),
            });
            told.known.insert((item.id().to_owned(), "excused".into()), job.run(PAGE) > 0);
        }
        Event::Choose(at, option) => {
            let Some((_, Item::Choice(spec))) = nth(*at) else { return };
            let option = spec.options.get(*option).map_or("nowhere", |option| option.id.as_str());
            job.choose(PAGE, &spec.id, option, now);
        }
        Event::Change => job.change(Change { at: now, kind: ChangeKind::Set, ..changed("trimmer") }),
        Event::Describe(Some(text)) => job.set(EXPECTED, text, From::Typed, now).unwrap(),
        Event::Describe(None) => job.forget(EXPECTED, now),
        Event::Sockets(Some(text)) => job.set("sockets", text, From::Typed, now).unwrap(),
        Event::Sockets(None) => job.forget("sockets", now),
        Event::Start(at) => {
            let Some((_, Item::Timer(timer))) = nth(*at) else { return };
            job.start(PAGE, &timer.id, now);
            if job.run(PAGE) > 0 {
                told.started.insert(timer.id.clone(), told.clock);
            }
        }
        Event::Pass(seconds) => told.clock += seconds,
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
            let (taken, unknown) = link.adopted(procedure, now, job.changes.len());
            assert!(unknown.is_empty());
            job.readings.extend(taken);
        }
        Event::File => *job = crate::file::read(&crate::file::write(job)).unwrap(),
        Event::Merge => *job = job.clone().merged(before.clone()),
        Event::Note => job.note("a note", now),
    }
}

fn sockets(job: &Job) -> &str {
    job.values.get("sockets").map_or("", |value| &value.text)
}

/// The hard gates of a step that the test's own knowledge says are closed.
fn closed(step: &Step, job: &Job, known: &Known) -> bool {
    let right =
        |id: &str, blank: &str| known.get(&(id.to_owned(), blank.to_owned())).copied().unwrap_or(false);
    let has_blanks = |spec: &ReadingSpec| {
        spec.blanks != Blanks::Sockets || ["1", "2", "4"].iter().any(|count| sockets(job) == *count)
    };
    step.items.iter().filter(|item| is_asked(item, job)).any(|item| match item {
        Item::Reading(spec) => match spec.gate {
            _ if spec.gate == Some(Gate::Hard) && !has_blanks(spec) => true,
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
        happen(&Event::Describe(Some("-41 V")), &procedure, &mut job, &Job::default(), &mut Told::default());
        let (mut told, mut before) = (Told::default(), job.clone());
        for event in &events {
            let earlier = job.clone();
            let was = state(&procedure, &job);
            happen(event, &procedure, &mut job, &before, &mut told);
            let now = state(&procedure, &job);
            // In the order of the page every open step but the last must have its gates open; the walk is along open steps.
            let opened: Vec<&Step> =
                procedure.steps.iter().zip(&now).filter(|(_, state)| state.open).map(|(step, _)| step).collect();
            if let Some((_, passed)) = opened.split_last() {
                for step in passed {
                    prop_assert!(!closed(step, &job, &told.known), "{} was passed, {event:?}", step.id);
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
                let by_sockets = matches!(event, Event::Sockets(_));
                prop_assert!(by_reading || by_branch || by_survey || by_sockets, "{} opened by {event:?}", wait.item);
            }
            before = earlier;
        }
    }

    /// With everything as it should be the way is free to the end: the gates are not simply shut.
    #[test]
    fn what_is_done_right_opens_every_step_of_the_way(procedure in any_procedure()) {
        let mut job = Job::new("1", "", NOW);
        let mut told = Told::default();
        let events = items(&procedure).into_iter().enumerate().flat_map(|(at, (_, item))| match item {
            Item::Reading(_) => {
                vec![Event::Take(at, 0, "-46"), Event::Take(at, 1, "-44 V"), Event::Take(at, 2, "-46"), Event::Take(at, 3, "-46")]
            }
            Item::Tick(_) => vec![Event::Tick(at, true)],
            Item::Timer(_) => vec![Event::Start(at), Event::Pass(60)],
            _ => vec![Event::Choose(at, 0)],
        });
        let events: Vec<Event> = [Event::Begin, Event::Describe(Some("-41 V")), Event::Sockets(Some("4"))].into_iter().chain(events).collect();
        for event in &events {
            let before = job.clone();
            happen(event, &procedure, &mut job, &before, &mut told);
        }
        let states = state(&procedure, &job);
        prop_assert!(states.last().unwrap().open);
        prop_assert!(frontier(&states).unwrap().waits.is_empty());
    }
}
