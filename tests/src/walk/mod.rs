//! Walks through the procedures as the pages in `content/` have them, with an amplifier whose meters are computed.

pub mod bad;
pub mod procedures;

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex};

use self::bad::bad;
use self::procedures::PROCEDURES;
use crate::amplifier::state::State;
use crate::amplifier::survey::survey;
use crate::amplifier::technician::Technician;
use job::procedure::{
    Block, ChoiceSpec, Gate, Item, Procedure, ReadingSpec, Shared, Step, TickSpec, TimerSpec, completed,
};
use job::run::gate::{RunState, frontier, state};
use job::run::judge::NewReading;
use job::{From, Job, Judged, Judgement, Time};

/// Each page is read once for all walks.
static READ: Mutex<BTreeMap<String, Arc<Procedure>>> = Mutex::new(BTreeMap::new());

/// The steps of a page and what they carry.
pub fn procedure(page: &str) -> Arc<Procedure> {
    let mut read = READ.lock().expect("no reader failed");
    Arc::clone(read.entry(page.to_owned()).or_insert_with(|| Arc::new(parsed(page))))
}

fn parsed(page: &str) -> Procedure {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../content/");
    let shared: Shared = toml::from_str(
        &std::fs::read_to_string(format!("{folder}readings.toml")).expect("the shared readings"),
    )
    .expect("a table of readings");
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
                ReadingSpec::from_block(&completed(block(), &shared).expect("a shared reading"), &id)
                    .unwrap_or_else(|wrong| panic!("{page} {id}: {wrong:?}")),
            )),
            "tick" => Some(Item::Tick(TickSpec::from_block(&block(), &id).expect("a good block"))),
            "choice" => Some(Item::Choice(ChoiceSpec::from_block(&block(), &id).expect("a good block"))),
            "timer" => Some(Item::Timer(TimerSpec::from_block(&block(), &id).expect("a good block"))),
            _ => None,
        });
    }
    assert_eq!(found.faults(), [], "{page}");
    found
}

/// The number of a step.
fn number_of(step: &str) -> usize {
    step.trim_start_matches("step-").parse().expect("steps are numbered")
}

/// In October 2025: a browser that is given the job of a walk reads it later.
const BEGUN: u64 = 1_760_000_000;

/// When walks begin.
#[must_use]
pub fn now() -> Time {
    Time::from_seconds(BEGUN)
}

/// A place in the procedures, in the order in which they are walked: the page, then its step.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct At {
    pub page: usize,
    pub step: usize,
}

/// A reading that was taken.
#[derive(Debug, Clone)]
pub struct Visit {
    pub at: At,
    pub quantity: String,
    pub state: State,
}

/// A gate that an amplifier closed.
#[derive(Debug, Clone)]
pub struct Closed {
    pub at: At,
    pub id: String,
    pub quantity: String,
    /// What a bare number of it is in.
    pub unit: String,
    /// What was read, by blank.
    pub read: Vec<(String, String)>,
    pub hard: bool,
    /// In the words of the judgement.
    pub why: String,
}

/// A reading, its blank, what was typed, and what was wrong with it.
type Typed = (String, String, String, String);

/// A walk: the technician, the job, and what came of it.
pub struct Walk {
    pub technician: Technician,
    pub job: Job,
    pub clock: u64,
    at: At,
    pub closed: Vec<Closed>,
    pub visits: Vec<Visit>,
    /// What was asked back because no meter would show it.
    pub doubted: Vec<String>,
    /// Whether every hard reading is tried with what is bad.
    pub tries_bad: bool,
    /// Hard items that were passed, in their order.
    pub passed: Vec<String>,
}

impl Walk {
    /// With the job of an amplifier that was surveyed.
    pub fn with(technician: Technician) -> Self {
        let mut job = Job::new("1", "An amplifier on the bench", now());
        for (id, text) in survey(&technician.meters.sound) {
            job.set(id, &text, From::Typed, now()).unwrap_or_else(|wrong| panic!("{id} = {text}: {wrong:?}"));
        }
        Self {
            technician,
            job,
            clock: BEGUN,
            at: At { page: 0, step: 0 },
            closed: vec![],
            visits: vec![],
            doubted: vec![],
            tries_bad: false,
            passed: vec![],
        }
    }

    pub fn time(&self) -> Time {
        Time::from_seconds(self.clock)
    }

    /// Walks a page until a hard gate stays shut or to its end; soft gates are opened by a reason and noted. Whether it came
    /// to the end.
    pub fn through(&mut self, page: &str) -> bool {
        self.at.page = PROCEDURES.iter().position(|(known, _)| *known == page).expect("it is in the list");
        let procedure = procedure(page);
        self.job.begin(&procedure.page, "step-1", self.time());
        let mut at = String::new();
        loop {
            let here = frontier(&state(&procedure, &self.job)).expect("it was begun").clone();
            assert_ne!(here.id, at, "{page}: no way past {at}: {:?}", here.waits);
            at.clone_from(&here.id);
            self.at.step = number_of(&at);
            self.job.stop_at(&procedure.page, &at, self.time());
            let step = procedure.step(&at).expect("the step is there");
            let mut read = Vec::new();
            for item in &step.items {
                if procedure.asks(item.when(), &self.job) {
                    self.clock += 20;
                    self.do_one(item, &at, &procedure, &mut read);
                }
            }
            if !self.is_past(&procedure, &at, &read) {
                return false;
            }
            if Some(step) == procedure.steps.last() {
                return true;
            }
        }
    }

    fn do_one(&mut self, item: &Item, step: &str, procedure: &Procedure, read: &mut Vec<Typed>) {
        let page = procedure.page.clone();
        match item {
            Item::Timer(timer) => self.wait(timer, procedure),
            Item::Choice(choice) => {
                let option = self.technician.answers(choice);
                self.job.choose(&page, &choice.id, &option, self.time());
            }
            Item::Tick(tick) => {
                self.job.tick(&page, &tick.id, true, self.time());
                if tick.gate == Some(Gate::Hard) {
                    self.passed.push(tick.id.clone());
                }
            }
            Item::Reading(spec) => {
                let blanks: Vec<String> = spec.blanks(&self.job).into_iter().map(str::to_owned).collect();
                for blank in blanks {
                    let text = match self.technician.read(&page, spec, &blank) {
                        Some(found) => {
                            let quantity = spec.quantity.clone();
                            self.visits.push(Visit { at: self.at, quantity, state: found.state });
                            found.text
                        }
                        None => {
                            RunState::seen_from(procedure, &self.job, step).rise(spec).unwrap_or_default()
                        }
                    };
                    let why = self.take(procedure, &spec.id, &blank, &text);
                    read.push((spec.id.clone(), blank, text, why));
                }
                if spec.gate == Some(Gate::Hard) {
                    self.passed.push(spec.id.clone());
                    if self.tries_bad {
                        self.try_bad(spec, procedure, step, read);
                    }
                }
            }
        }
    }

    /// Types what is bad into each blank of a hard reading, the others being as they were: it stops, no reason helps, and the
    /// step lets nobody by. Then what was read before.
    fn try_bad(&mut self, spec: &ReadingSpec, procedure: &Procedure, step: &str, read: &[Typed]) {
        for text in bad(spec) {
            for (_, blank, good, _) in read.iter().filter(|(id, ..)| *id == spec.id) {
                let why = self.take(procedure, &spec.id, blank, text);
                let last = self.job.last(&procedure.page, &spec.id, blank).expect("it was taken");
                assert_eq!(
                    last.judged,
                    Judged::Stop,
                    "{}: {} {blank}: {text}: {why}",
                    procedure.page,
                    spec.id
                );
                let excused = self.job.excuse(procedure, &spec.id, "in a hurry", self.time());
                assert!(!excused, "{} {text} is excused", spec.id);
                let here = frontier(&state(procedure, &self.job)).map(|state| state.id.clone());
                assert_eq!(here.as_deref(), Some(step), "{} {text} lets the next step open", spec.id);
                // What was read once waits for its time again.
                let timers = procedure.step(step).into_iter().flat_map(Step::timers);
                timers.for_each(|timer| self.wait(timer, procedure));
                self.take(procedure, &spec.id, blank, good);
            }
        }
    }

    /// Types a text, confirms what is doubted, and says what is wrong with it.
    fn take(&mut self, procedure: &Procedure, id: &str, blank: &str, text: &str) -> String {
        let take = NewReading::typed(procedure, id, blank, text, self.time());
        let mut judgement = self.job.record_reading(take);
        if let Judgement::Doubted(doubt) = judgement {
            self.doubted.push(format!("{id} {blank}: {}", doubt.message));
            let confirmed = NewReading { text: &doubt.text, confirmed: true, ..take };
            judgement = self.job.record_reading(confirmed);
        }
        match judgement {
            Judgement::InRange | Judgement::Recorded => String::new(),
            Judgement::Noted(why) => why,
            Judgement::Stop(stop) => format!("{} is not {}", stop.read, stop.limit),
            Judgement::CannotTell(why) => why.why,
            other => panic!("{}: {id} {blank}: {text}: {other:?}", procedure.page),
        }
    }

    /// Starts a timer and waits until it has run out.
    fn wait(&mut self, timer: &TimerSpec, procedure: &Procedure) {
        self.job.start(&procedure.page, &timer.id, self.time());
        self.clock += u64::from(timer.seconds) + 1;
    }

    /// Whether the step lets one by; soft gates by a reason.
    fn is_past(&mut self, procedure: &Procedure, step: &str, read: &[Typed]) -> bool {
        let states = state(procedure, &self.job);
        let waits =
            states.iter().find(|state| state.id == step).map(|state| state.waits.clone()).unwrap_or_default();
        let mut past = true;
        for wait in waits {
            let Some((_, spec)) = procedure.reading(&wait.item) else {
                panic!("{step}: {} waits: {:?}", wait.item, wait.why);
            };
            let of = read.iter().filter(|(id, ..)| *id == wait.item);
            let excused = self.job.excuse(procedure, &wait.item, "as it is, for the walk", self.time());
            self.closed.push(Closed {
                at: self.at,
                id: wait.item.clone(),
                quantity: spec.quantity.clone(),
                unit: if spec.is_seen() { String::new() } else { spec.unit.clone() },
                read: of.clone().map(|(_, blank, text, _)| (blank.clone(), text.clone())).collect(),
                hard: !excused,
                why: of
                    .map(|(.., why)| why.as_str())
                    .find(|why| !why.is_empty())
                    .unwrap_or("not alike")
                    .to_owned(),
            });
            past &= excused;
        }
        past
    }
}
