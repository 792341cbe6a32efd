//! Runs a procedure: takes over the printed page, shows one step at a time, takes its readings, and stops where a reading
//! says so. What is open is `job::run::gate`'s to say; every change goes to disk at once.

mod act;
mod clock;
mod lead;
mod plan;
mod queue;
mod typing;
mod view;
mod waits;

use std::cell::{Cell, RefCell};
use std::collections::BTreeMap;
use std::rc::Rc;

use job::procedure::words::{Own, UNKNOWN};
use job::procedure::{Procedure, ReadingSpec, Step};
use job::run::gate::{self, RunState, StepState};
use job::run::judge::Limits;
use job::share::run_link::RunLink;
use job::{Job, Time};
use wasm_bindgen_futures::spawn_local;
use web_sys::Element;

use super::press::Presses;
use super::steady;
use super::store::{Fault, Store};
use crate::calculator::link::given_out;
use crate::platform::{morph::morph, page, share};
use plan::PrintedStep;
use queue::{Queue, judge_again, say_trouble, take_over};
use view::top::{Bench, Top};
use view::{Asked, Screen};
use waits::Waits;

/// The id of the place that press leaves for it, and of what is put below the step.
const PLACE: &str = "page-run";
const PANEL: &str = "run-panel";
/// The id of the block that offers to export the job, where a run was left.
const EXPORT: &str = "export";

/// The fragment that a STOP which stands leads to, for `run.js`.
const GO_ON: &str = "go-on";

/// Where a word of the page has its example while it is this amplifier's.
const EXAMPLE: &str = "data-example";

/// A procedure on a page.
struct Run {
    procedure: Procedure,
    /// Its steps as the page prints them.
    plan: Vec<PrintedStep>,
    /// The address of the page that lists the jobs.
    jobs: String,
    store: Store,
    /// The job as it stands here, with what is still on its way to disk.
    job: Option<Job>,
    queue: Queue,
    /// Why the last change is not on disk.
    unkept: Option<Fault>,
    /// Which step is shown; `None` while it is not run.
    shown: Option<String>,
    screen: Screen,
    /// What is typed and does not count yet, by the name of its blank.
    drafts: BTreeMap<String, String>,
    /// Why readings of this step are taken before their time, by their ids.
    early: BTreeMap<String, String>,
    presses: Presses,
    waits: Waits,
    /// What was done last in the step before, in words, where that led to this one.
    done: String,
    /// Whether a job is being begun.
    begins: bool,
    came: Option<RunLink>,
    /// Whether it was run and left on this page: then a session of work is over.
    left: bool,
    /// The place of the furthest step that was shown since the run was taken up on this page.
    furthest: Cell<usize>,
}

type Shared = Rc<RefCell<Run>>;

/// Brings the procedure of this page to life; `at_once` goes on where one stopped without being asked.
pub async fn run(at_once: bool) {
    let Some(place) = page::by_id(PLACE) else { return };
    let attribute = |name: &str| place.get_attribute(name).unwrap_or_default();
    if page::fragment().as_deref() == Some(GO_ON) {
        page::set_fragment("");
    }
    let Ok(procedure) = serde_json::from_str::<Procedure>(&attribute("data-procedure")) else { return };
    let store = Store::open().await;
    let run = Run {
        jobs: attribute("data-jobs"),
        job: None,
        shown: None,
        queue: Queue::default(),
        unkept: None,
        screen: Screen::Step,
        drafts: BTreeMap::new(),
        early: BTreeMap::new(),
        presses: Presses::default(),
        waits: Waits::default(),
        done: String::new(),
        begins: false,
        came: page::fragment().and_then(|fragment| RunLink::read(&fragment)),
        left: false,
        furthest: Cell::new(0),
        plan: plan::read(&procedure),
        procedure,
        store,
    };
    let run = Rc::new(RefCell::new(run));
    load(&run).await;
    act::listen(&run, &place);
    typing::listen(&run);
    listen_to_other_tabs(&run);
    let writes = run.clone();
    page::hold(move || !writes.borrow().queue.is_empty() || writes.borrow().unkept.is_some());
    let (timers, clock) = (run.clone(), run.clone());
    let left = move |timer: &str| timers.borrow().left(timer);
    clock::count(left, move || {
        // What waited for a time is open now.
        if clock.borrow().screen == Screen::Step && clock.borrow().shown.is_some() {
            set(&clock);
        }
    });
    if at_once && act::is_under_way(&run) { act::go_on(&run) } else { set(&run) }
}

/// What another tab changes of this job is seen at once; what is being typed stays.
fn listen_to_other_tabs(run: &Shared) {
    let (store, run) = (run.borrow().store.clone(), run.clone());
    store.clone().on_change(move |id| {
        let (store, run) = (store.clone(), run.clone());
        later(async move {
            let before = run.borrow().job.clone();
            if before.as_ref().is_some_and(|job| job.id == id) {
                match store.load(&id).await {
                    // What was done here meanwhile is newer, and brings with it what the other tab wrote.
                    Ok(job) if run.borrow().job == before => take_over(&run, job),
                    Ok(_) => {}
                    Err(why) => drop(run.borrow_mut().unkept.replace(why)),
                }
            }
            say_trouble(&run);
        });
    });
}

/// Reads the current job again.
async fn load(run: &Shared) {
    let store = run.borrow().store.clone();
    let job = store.on_bench().await;
    run.borrow_mut().stands(job);
    judge_again(run);
}

impl Run {
    /// Takes the job as it stands now. Where the step that is shown is closed by what was changed elsewhere, the last one
    /// that is open is shown.
    fn stands(&mut self, job: Option<Job>) {
        self.job = job;
        if let Some(job) = &self.job {
            self.waits.look(&self.procedure, job, super::now(), steady());
        }
        let states = self.states();
        if self.shown.is_some()
            && !states.iter().any(|state| state.open && Some(&state.id) == self.shown.as_ref())
        {
            self.shown = gate::frontier(&states).map(|state| state.id.clone());
            self.screen = Screen::Step;
        }
    }

    fn step(&self) -> Option<&Step> {
        self.procedure.step(self.shown.as_deref()?)
    }

    fn reading(&self, id: &str) -> Option<&ReadingSpec> {
        self.procedure.reading(id).map(|(_, reading)| reading)
    }

    /// The readings of a step that are asked of this amplifier.
    fn asked_readings<'s>(&'s self, step: &'s Step) -> impl Iterator<Item = &'s ReadingSpec> {
        let asks = |reading: &&ReadingSpec| {
            self.job.as_ref().is_some_and(|job| self.procedure.asks(reading.when.as_ref(), job))
        };
        step.readings().filter(asks)
    }

    fn tick_stands(&self, id: &str) -> bool {
        let mut ticks = self.procedure.steps.iter().flat_map(Step::ticks);
        let tick = ticks.find(|tick| tick.id == id);
        tick.zip(self.job.as_ref()).is_some_and(|(tick, job)| self.course(job).is_ticked(tick))
    }

    /// What counts for someone who looks at the step that is shown.
    fn course<'c>(&'c self, job: &'c Job) -> RunState<'c> {
        RunState::seen_from(&self.procedure, job, self.shown.as_deref().unwrap_or_default())
    }

    fn states(&self) -> Vec<StepState> {
        self.job.as_ref().map(|job| gate::state(&self.procedure, job)).unwrap_or_default()
    }

    /// The steps that are open, in order: one may go back and forth among them.
    fn open(&self) -> Vec<StepState> {
        self.states().into_iter().filter(|state| state.open).collect()
    }

    fn limits(&self, reading: &ReadingSpec) -> Limits {
        self.job.as_ref().map(|job| Limits::of(reading, job)).unwrap_or_default()
    }

    /// By what it is judged whether the time that a reading waits for has run out.
    fn waited(&self, reading: &str) -> Time {
        let timer = self.reading(reading).map_or("", |reading| &reading.after);
        self.waits.now(timer, steady())
    }

    /// How many seconds a timer still has to run; `None` of one that was not started.
    fn left(&self, timer: &str) -> Option<u64> {
        let mut timers = self.procedure.steps.iter().flat_map(Step::timers);
        let spec = timers.find(|known| known.id == timer)?;
        self.job.as_ref()?.left(&self.procedure.page, spec, self.waits.now(timer, steady()))
    }

    /// What is not kept, in words.
    fn trouble(&self) -> Option<String> {
        self.unkept.as_ref().map(Fault::to_string).or_else(|| self.store.trouble())
    }

    /// That another tab has put another job on the bench. The run goes on with its own.
    fn elsewhere(&self) -> String {
        let job = self.job.as_ref().filter(|_| self.store.elsewhere().is_some());
        job.map(|job| {
            format!(
                "“{}” is no longer on the bench: another tab has put another job there, or none. What \
                               you read here still goes to “{}”.",
                job.label, job.label
            )
        })
        .unwrap_or_default()
    }

    /// What is below the step.
    fn panel(&self) -> String {
        let (Some(step), Some(job)) = (self.step(), &self.job) else { return String::new() };
        let screen = match &self.screen {
            Screen::Off(item) => view::off(item),
            Screen::Typing { items, .. } => self.typing(job, items),
            Screen::Stopped(stopped) => match self.reading(&stopped.item) {
                Some(reading) => {
                    let (limits, course) = (self.limits(reading), self.course(job));
                    view::stop::stopped(stopped, reading, &limits, job, &course, &self.jobs)
                }
                None => return String::new(),
            },
            Screen::Reason { item, early } => view::reason(item, *early),
            Screen::Step => self.asked(job, step),
            Screen::Steps => {
                let states = self.states();
                self.top(&states, job).list(&self.course(job), &self.closed(&states, job))
            }
        };
        let trouble = view::trouble(self.trouble().as_deref(), &self.elsewhere());
        let done = if self.shows_printed_step() {
            view::done(&self.done)
        } else {
            maud::html! {}
        };
        [trouble, done, screen].map(maud::Markup::into_string).concat()
    }

    /// What is above the step.
    fn head(&self) -> String {
        let Some(job) = &self.job else { return String::new() };
        self.top(&self.states(), job).html().into_string()
    }

    fn top<'t>(&'t self, states: &'t [StepState], job: &Job) -> Top<'t> {
        Top {
            procedure: &self.procedure,
            plan: &self.plan,
            states,
            here: self.shown.as_deref().unwrap_or_default(),
            bench: self.bench(job),
            lists: self.screen == Screen::Steps,
        }
    }

    /// What is known of the chassis where one stands.
    fn bench(&self, job: &Job) -> Bench {
        let is_typed = match &self.screen {
            Screen::Off(item) => self.is_live(item),
            Screen::Typing { items, .. } => items.iter().any(|item| self.is_live(item)),
            _ => false,
        };
        let course = self.course(job);
        let steps = &self.procedure.steps;
        let here = steps.iter().position(|step| Some(&step.id) == self.shown.as_ref()).unwrap_or(0);
        self.furthest.set(self.furthest.get().max(here));
        // After coming back from a step that is read live, the mains may still be on.
        let passed = steps.get(here + 1..=self.furthest.get()).into_iter().flatten();
        let may_be_on =
            passed.flat_map(|step| self.asked_readings(step)).any(|reading| reading.purpose.is_live());
        if is_typed {
            Bench::MainsOff
        } else if self.step().is_some_and(|step| !self.unread_live(step).is_empty()) {
            Bench::MainsOn
        } else if course.is_proven_dead() && !may_be_on {
            Bench::Dead
        } else {
            Bench::NotProved
        }
    }

    /// What keeps the steps closed that are.
    fn closed(&self, states: &[StepState], job: &Job) -> maud::Markup {
        let last = gate::frontier(states);
        let step = last.and_then(|last| self.procedure.step(&last.id));
        step.zip(last)
            .map_or_else(|| maud::html! {}, |(step, last)| view::step::closed(step, &last.waits, job))
    }

    fn asked(&self, job: &Job, step: &Step) -> maud::Markup {
        let open = self.open();
        let at = open.iter().position(|state| state.id == step.id).unwrap_or(0);
        let waits = open.get(at).map(|state| state.waits.clone()).unwrap_or_default();
        let limits: Vec<(String, Limits)> =
            step.readings().map(|reading| (reading.id.clone(), self.limits(reading))).collect();
        let forward = gate::reached(&self.procedure, job);
        let live = self.live(step);
        let asked = Asked {
            procedure: &self.procedure,
            step,
            job,
            course: &self.course(job),
            waits: &waits,
            limits: &limits,
            waited: &|reading| self.waited(reading),
            survey: &self.jobs,
            live: live.as_deref(),
            first: at == 0,
            last: self.procedure.steps.last().is_some_and(|last| last.id == step.id),
            forward: forward.as_deref().filter(|forward| open.iter().all(|state| state.id != *forward)),
        };
        asked.html()
    }

    fn typing(&self, job: &Job, items: &[String]) -> maud::Markup {
        let course = self.course(job);
        let readings = items.iter().filter_map(|item| self.reading(item));
        let asked: Vec<view::typing::Asked<'_>> = readings
            .map(|reading| view::typing::Asked {
                reading,
                limits: self.limits(reading),
                rise: course.rise(reading),
            })
            .collect();
        view::typing::typing(&asked, job, &course, &self.drafts)
    }

    /// What stands before a run.
    fn before(&self) -> String {
        let came = self.came.as_ref().map(|link| {
            let (taken, unknown) = link.adopted(&self.procedure, super::now(), 0);
            let name =
                |taken: &job::Reading| format!("{} {}", taken.quantity, taken.blank).trim_end().to_owned();
            let readings: Vec<(String, String)> =
                taken.iter().map(|taken| (name(taken), taken.text.clone())).collect();
            let unknown: Vec<String> = link.damaged.iter().cloned().chain(unknown).collect();
            view::came(&link.step, &readings, &unknown).into_string()
        });
        let begin = view::begin(
            self.job.as_ref(),
            &self.procedure.page,
            &self.jobs,
            self.trouble().as_deref(),
            &self.elsewhere(),
        );
        let export = self.job.as_ref().filter(|_| self.left).map(|job| view::export(job).into_string());
        came.unwrap_or_default() + &export.unwrap_or_default() + &begin.into_string()
    }

    /// The link to the step that is shown, with its readings.
    fn link(&self) -> Option<String> {
        Some(given_out(&self.address()?, share::takes_links()).into_string())
    }

    fn address(&self) -> Option<String> {
        let link = RunLink::to(&self.procedure, self.shown.as_deref()?, self.job.as_ref()?);
        Some(page::address(&link.written()))
    }

    /// Puts this amplifier's figures and words into the printed lines of the step that is shown, and the examples back
    /// elsewhere.
    fn set_figures(&self) {
        for step in &self.procedure.steps {
            for reading in step.readings() {
                let Some(example) = reading.stop_parts().1 else { continue };
                let shown = self.shown.as_ref() == Some(&step.id);
                let figure = if shown { view::figure(&self.limits(reading)) } else { example.to_owned() };
                page::say(page::first(&format!("[data-item='{}'] .figure", reading.id)).as_ref(), &figure);
            }
        }
        for word in page::all(&format!("[{EXAMPLE}]")) {
            page::say(Some(&word), &is(&word, EXAMPLE));
            page::set_attribute(Some(&word), EXAMPLE, None);
        }
        let (Some(step), Some(job)) = (&self.shown, &self.job) else { return };
        for word in page::all(&format!("#{step} [data-of]")) {
            let own = Own::read(&is(&word, "data-of")).map(|own| own.words(job));
            page::set_attribute(Some(&word), EXAMPLE, word.text_content().as_deref());
            page::say(Some(&word), own.as_deref().unwrap_or(UNKNOWN));
        }
    }

    /// Whether what the page prints of the step is in sight.
    const fn shows_printed_step(&self) -> bool {
        matches!(self.screen, Screen::Step | Screen::Typing { arrives: true, .. })
    }

    /// Whether the step that is shown has a reading that is taken on a live amplifier.
    fn is_live(&self, item: &str) -> bool {
        self.reading(item).is_some_and(|reading| reading.purpose.is_live())
    }
}

/// Sets the page as the run stands. What has not changed stays the same element: a finger or the focus that is on it stays.
fn set(run: &Shared) {
    let state = run.borrow();
    let root = page::first("html");
    let screen = state.shown.as_ref().map(|_| state.screen.name());
    page::set_attribute(root.as_ref(), "data-working", screen.map(|_| ""));
    page::set_attribute(root.as_ref(), "data-run-screen", screen);
    let is_printed = screen.filter(|_| state.shows_printed_step()).map(|_| "");
    page::set_attribute(root.as_ref(), "data-run-printed", is_printed);
    let here = state.shown.as_deref().and_then(page::by_id);
    for other in page::all("[data-now]").iter().filter(|other| Some(*other) != here.as_ref()) {
        page::set_attribute(Some(other), "data-now", None);
    }
    page::set_attribute(here.as_ref(), "data-now", Some(""));
    match &state.shown {
        None => {
            page::set_html(PLACE, &state.before());
            page::set_html(PANEL, "");
            if let Some(export) = page::by_id(EXPORT) {
                later(super::mount(export));
            }
        }
        Some(_) => {
            morph(PLACE, &state.head());
            morph(PANEL, &state.panel());
        }
    }
    // A link that is unfolded is of what stands now.
    if let Some(link) = page::first("#run-panel details.link[open]").and_then(|_| state.link()) {
        page::set_html("run-link", &link);
    }
    // While something is asked, the printed step is out of sight.
    if state.shown.is_none() || state.shows_printed_step() {
        state.set_figures();
    }
    clock::show(&|timer| state.left(timer));
}

/// Lets something happen later, out of an event.
fn later(what: impl Future<Output = ()> + 'static) {
    spawn_local(what);
}

fn is(element: &Element, name: &str) -> String {
    element.get_attribute(name).unwrap_or_default()
}
