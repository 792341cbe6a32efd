//! Runs a procedure: takes over the printed page, shows one step at a time, takes its readings, and stops where a reading
//! says so. What is open is `job::gate`'s to say; every change goes to disk at once.

mod act;
mod awake;
mod press;
mod queue;
mod typing;
mod view;

use std::cell::RefCell;
use std::collections::BTreeMap;
use std::rc::Rc;

use calc_core::calculators::LIMITS;
use job::gate::{self, Course, StepState};
use job::judge::Limits;
use job::link::RunLink;
use job::procedure::words::{Own, UNKNOWN};
use job::procedure::{Procedure, ReadingSpec, Step};
use job::{Among, Job};
use wasm_bindgen_futures::spawn_local;
use web_sys::Element;

use super::store::Store;
use crate::browser::page;
use crate::view::link::given_out;
use press::Presses;
use queue::{Queue, judge_again, take_over};
use view::{Asked, Screen};

/// The id of the place that press leaves for it, and of what is put below the step.
const PLACE: &str = "page-run";
const PANEL: &str = "run-panel";

/// The fragment that a STOP which stands leads to, for `run.js`.
const GO_ON: &str = "go-on";

/// Where a word of the page has its example while it is this amplifier's.
const EXAMPLE: &str = "data-example";

/// A procedure on a page.
struct Run {
    procedure: Procedure,
    /// The address of the page that lists the jobs.
    jobs: String,
    store: Store,
    /// The job as it stands here, with what is still on its way to disk.
    job: Option<Job>,
    queue: Queue,
    /// Why the last change is not on disk.
    unkept: Option<String>,
    /// Which step is shown; `None` while it is not run.
    shown: Option<String>,
    screen: Screen,
    /// What is typed and does not count yet, by the name of its blank.
    drafts: BTreeMap<String, String>,
    /// Why readings of this step are taken before their time, by their ids.
    early: BTreeMap<String, String>,
    presses: Presses,
    /// Whether a job is being begun.
    begins: bool,
    came: Option<RunLink>,
    /// Whether it was run and left on this page: then a session of work is over.
    left: bool,
}

type Shared = Rc<RefCell<Run>>;

/// The calculators that limits are worked out by.
const OURS: Among<'_> = Among(&[&LIMITS]);

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
        begins: false,
        came: page::fragment().and_then(|fragment| RunLink::read(&fragment)),
        left: false,
        procedure,
        store,
    };
    let run = Rc::new(RefCell::new(run));
    load(&run).await;
    act::listen(&run, &place);
    typing::listen(&run);
    listen_to_other_tabs(&run);
    let writes = run.clone();
    page::hold(move || !writes.borrow().queue.is_empty());
    let clock = run.clone();
    awake::count(move || {
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
            if run.borrow().job.as_ref().is_none_or(|job| job.id != id) {
                return;
            }
            let before = run.borrow().job.clone();
            let Ok(job) = store.load(&id).await else { return };
            // What was done here meanwhile is newer, and brings with it what the other tab wrote.
            if run.borrow().job == before {
                take_over(&run, job);
            }
        });
    });
}

/// Reads the current job anew.
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

    /// What counts for who looks at the step that is shown.
    fn course<'c>(&'c self, job: &'c Job) -> Course<'c> {
        Course::seen_from(&self.procedure, job, self.shown.as_deref().unwrap_or_default())
    }

    fn states(&self) -> Vec<StepState> {
        self.job.as_ref().map(|job| gate::state(&self.procedure, job)).unwrap_or_default()
    }

    /// The steps that are open, in order: one may go back and forth among them.
    fn open(&self) -> Vec<StepState> {
        self.states().into_iter().filter(|state| state.open).collect()
    }

    fn limits(&self, reading: &ReadingSpec) -> Limits {
        self.job.as_ref().map(|job| Limits::of(reading, job, &OURS)).unwrap_or_default()
    }

    /// What is not kept, in words.
    fn trouble(&self) -> Option<String> {
        self.unkept.clone().or_else(|| self.store.trouble())
    }

    /// What stands below the step.
    fn panel(&self) -> String {
        let (Some(step), Some(job)) = (self.step(), &self.job) else { return String::new() };
        let screen = match &self.screen {
            Screen::Off(item) => view::off(item),
            Screen::Typing(items) => self.typing(job, items),
            Screen::Stopped(stopped) => match self.reading(&stopped.item) {
                Some(reading) => {
                    view::stop::stopped(stopped, reading, &self.limits(reading), job, &self.jobs)
                }
                None => return String::new(),
            },
            Screen::Reason { item, early } => view::reason(item, *early),
            Screen::Step => self.asked(job, step),
        };
        let trouble = view::trouble(self.trouble().as_deref());
        trouble.into_string() + &screen.into_string()
    }

    fn asked(&self, job: &Job, step: &Step) -> maud::Markup {
        let open = self.open();
        let at = open.iter().position(|state| state.id == step.id).unwrap_or(0);
        let waits = open.get(at).map(|state| state.waits.clone()).unwrap_or_default();
        let limits: Vec<(String, Limits)> =
            step.readings().map(|reading| (reading.id.clone(), self.limits(reading))).collect();
        let forward = gate::reached(&self.procedure, job);
        let asked = Asked {
            procedure: &self.procedure,
            step,
            job,
            course: &self.course(job),
            waits: &waits,
            limits: &limits,
            now: super::now(),
            survey: &self.jobs,
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
                |taken: &job::Taken| format!("{} {}", taken.quantity, taken.blank).trim_end().to_owned();
            let readings: Vec<(String, String)> =
                taken.iter().map(|taken| (name(taken), taken.text.clone())).collect();
            let unknown: Vec<String> = link.damaged.iter().cloned().chain(unknown).collect();
            view::came(&link.step, &readings, &unknown).into_string()
        });
        let begin =
            view::begin(self.job.as_ref(), &self.procedure.page, &self.jobs, self.trouble().as_deref());
        let export = (self.left && self.job.is_some()).then(|| view::export().into_string());
        came.unwrap_or_default() + &export.unwrap_or_default() + &begin.into_string()
    }

    /// The link to the step that is shown, with its readings.
    fn link(&self) -> Option<String> {
        Some(given_out(&self.address()?, page::can_share()).into_string())
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
            let own = Own::read(&is(&word, "data-of")).map(|own| own.words(job, &OURS));
            page::set_attribute(Some(&word), EXAMPLE, word.text_content().as_deref());
            page::say(Some(&word), own.as_deref().unwrap_or(UNKNOWN));
        }
    }

    /// Whether the step that is shown has a reading that is taken on a living amplifier.
    fn is_live(&self, item: &str) -> bool {
        self.reading(item).is_some_and(|reading| reading.purpose.is_live())
    }
}

/// Sets the page as the run stands. Whoever stood on a button stands on it again.
fn set(run: &Shared) {
    let stood = page::focused().filter(|focused| focused.has_attribute("data-run"));
    let stood = stood.map(|button| (is(&button, "data-run"), is(&button, "data-about")));
    let state = run.borrow();
    let root = page::first("html");
    let screen = state.shown.as_ref().map(|_| state.screen.name());
    page::set_attribute(root.as_ref(), "data-working", screen.map(|_| ""));
    page::set_attribute(root.as_ref(), "data-run-screen", screen);
    page::set_attribute(page::first("[data-now]").as_ref(), "data-now", None);
    match &state.shown {
        None => {
            page::set_html(PLACE, &state.before());
            page::set_html(PANEL, "");
        }
        Some(step) => {
            page::set_html(PLACE, "");
            page::set_attribute(page::by_id(step).as_ref(), "data-now", Some(""));
            page::set_html(PANEL, &state.panel());
        }
    }
    // While something is asked, the printed step is out of sight.
    if state.shown.is_none() || state.screen == Screen::Step {
        state.set_figures();
    }
    awake::show();
    if let Some((act, about)) = stood {
        page::focus(page::first(&format!("[data-run='{act}'][data-about='{about}']")).as_ref());
    }
}

/// Lets something happen later, out of an event.
fn later(what: impl Future<Output = ()> + 'static) {
    spawn_local(what);
}

fn is(element: &Element, name: &str) -> String {
    element.get_attribute(name).unwrap_or_default()
}
