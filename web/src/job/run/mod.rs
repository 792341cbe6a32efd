//! Runs a procedure: takes over the printed page, shows one step at a time, takes its readings, and stops where a reading
//! says so. What is open is `job::gate`'s to say; every change goes to disk at once.

mod act;
mod awake;
mod view;

use std::cell::RefCell;
use std::rc::Rc;

use calc_core::calculators::LIMITS;
use job::gate::{self, Course, StepState};
use job::judge::Limits;
use job::link::RunLink;
use job::procedure::{Item, Procedure, ReadingSpec, Step};
use job::{Among, Job};
use wasm_bindgen_futures::spawn_local;
use web_sys::Element;

use super::store::Store;
use crate::browser::page;
use crate::view::link::given_out;
use view::{Asked, Screen};

/// The id of the place that press leaves for it, and of what is put below the step.
const PLACE: &str = "page-run";
const PANEL: &str = "run-panel";

/// A procedure on a page.
struct Run {
    procedure: Procedure,
    /// The address of the page that lists the jobs.
    jobs: String,
    store: Store,
    /// The job as it last stood.
    job: Option<Job>,
    /// Which step is shown; `None` while it is not run.
    shown: Option<String>,
    screen: Screen,
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
    let Ok(procedure) = serde_json::from_str::<Procedure>(&attribute("data-procedure")) else { return };
    let store = Store::open().await;
    let run = Run {
        jobs: attribute("data-jobs"),
        job: None,
        shown: None,
        screen: Screen::Step,
        came: page::fragment().and_then(|fragment| RunLink::read(&fragment)),
        left: false,
        procedure,
        store,
    };
    let run = Rc::new(RefCell::new(run));
    load(&run).await;
    act::listen(&run, &place);
    listen_to_other_tabs(&run);
    awake::count();
    if at_once && act::is_under_way(&run) { act::go_on(&run).await } else { set(&run) }
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
            let Ok(job) = store.load(&id).await else { return };
            if run.borrow().job.as_ref() == Some(&job) {
                return;
            }
            run.borrow_mut().stands(Some(job));
            if run.borrow().screen == Screen::Step {
                set(&run);
            }
        });
    });
}

/// Reads the current job anew.
async fn load(run: &Shared) {
    let store = run.borrow().store.clone();
    let job = store.on_bench().await;
    run.borrow_mut().stands(job);
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

    /// A reading on a living amplifier begins with the mains going on again: what had to be waited for is waited for anew.
    fn wait_anew(&self, item: &str) {
        if self.is_live(item)
            && let Some(step) = self.step()
        {
            timers(step).for_each(|timer| awake::forget(&self.clock(), timer));
        }
    }

    fn reading(&self, id: &str) -> Option<&ReadingSpec> {
        self.procedure.reading(id).map(|(_, reading)| reading)
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

    /// What its timers are kept by: another job, and another run, wait anew.
    fn clock(&self) -> String {
        let page = &self.procedure.page;
        self.job.as_ref().map(|job| format!("{} {page} {}", job.id, job.run(page))).unwrap_or_default()
    }

    /// What stands below the step.
    fn panel(&self) -> String {
        let (Some(step), Some(job)) = (self.step(), &self.job) else { return String::new() };
        let trouble = self.store.trouble();
        let screen = match &self.screen {
            Screen::Off(item) => view::off(item),
            Screen::Pad(pad) => match self.reading(&pad.item) {
                Some(reading) => {
                    let rise = self.course(job).rise(reading);
                    view::pad(pad, reading, &self.limits(reading), Some(step), rise.as_deref())
                }
                None => return String::new(),
            },
            Screen::Stopped(stopped) => match self.reading(&stopped.item) {
                Some(reading) => view::stopped(stopped, reading, &self.limits(reading), &self.jobs),
                None => return String::new(),
            },
            Screen::Reason(item) => view::reason(item),
            Screen::Step => {
                let open = self.open();
                let at = open.iter().position(|state| state.id == step.id).unwrap_or(0);
                let waits = open.get(at).map(|state| state.waits.clone()).unwrap_or_default();
                let limits: Vec<(String, Limits)> =
                    step.readings().map(|reading| (reading.id.clone(), self.limits(reading))).collect();
                let is_end = |step: &Step| self.procedure.steps.last().is_some_and(|last| last.id == step.id);
                let forward = gate::reached(&self.procedure, job);
                let asked = Asked {
                    step,
                    job,
                    course: &self.course(job),
                    page: &self.procedure.page,
                    waits: &waits,
                    limits: &limits,
                    survey: &self.jobs,
                    first: at == 0,
                    last: is_end(step),
                    forward: forward
                        .as_deref()
                        .filter(|forward| open.iter().all(|state| state.id != *forward)),
                    trouble: trouble.as_deref(),
                };
                asked.html()
            }
        };
        screen.into_string()
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
            view::begin(self.job.as_ref(), &self.procedure.page, &self.jobs, self.store.trouble().as_deref());
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

    /// Puts this amplifier's figures into the printed lines of the step that is shown, and the examples back elsewhere.
    fn set_figures(&self) {
        for step in &self.procedure.steps {
            for reading in step.readings() {
                let Some(example) = reading.stop_parts().1 else { continue };
                let shown = self.shown.as_ref() == Some(&step.id);
                let figure = if shown { view::figure(&self.limits(reading)) } else { example.to_owned() };
                page::say(page::first(&format!("[data-item='{}'] .figure", reading.id)).as_ref(), &figure);
            }
        }
    }

    /// Whether the step that is shown has a reading that is taken on a living amplifier.
    fn is_live(&self, item: &str) -> bool {
        self.reading(item).is_some_and(|reading| reading.purpose.is_live())
    }
}

/// Sets the page as the run stands.
fn set(run: &Shared) {
    let state = run.borrow();
    let root = page::first("html");
    page::set_attribute(root.as_ref(), "data-working", state.shown.as_ref().map(|_| ""));
    let screen = if state.screen == Screen::Step { "step" } else { "asking" };
    page::set_attribute(root.as_ref(), "data-run-screen", state.shown.as_ref().map(|_| screen));
    page::set_attribute(page::first("[data-now]").as_ref(), "data-now", None);
    page::set_attribute(page::by_id(PANEL).as_ref(), "data-clock", Some(&state.clock()));
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
}

/// Changes the job, on disk first, and shows what came of it.
async fn change<T>(run: &Shared, deed: impl Fn(&mut Job) -> T) -> Option<T> {
    let (store, id) = {
        let run = run.borrow();
        (run.store.clone(), run.job.as_ref()?.id.clone())
    };
    match store.change(&id, deed).await {
        Ok((came, job)) => {
            run.borrow_mut().stands(Some(job));
            Some(came)
        }
        Err(why) => {
            page::say(page::first(".stopped-job").as_ref(), &why);
            None
        }
    }
}

/// The items of a step that wait a time.
fn timers(step: &Step) -> impl Iterator<Item = &str> {
    step.items
        .iter()
        .filter_map(|item| if let Item::Timer(timer) = item { Some(timer.id.as_str()) } else { None })
}

/// Lets something happen later, out of an event.
fn later(what: impl Future<Output = ()> + 'static) {
    spawn_local(what);
}

fn is(element: &Element, name: &str) -> String {
    element.get_attribute(name).unwrap_or_default()
}
