//! What follows what was done by itself: the next blank, the next reading, the next step. Nobody is led past what is still
//! asked, past what was noted, or past the mains: whether it is on or off is the reader's to say.

use job::Judged;
use job::procedure::{Item, ReadingSpec, Step};

use super::act::{screen, show};
use super::typing::{self, item_of};
use super::view::{Screen, typing as view};
use super::{Run, Shared, set};

/// Goes on from an item of the step that was done, or from a blank of it: to what is typed next; where nothing is left to do in
/// this step, to the next; else to the step's own screen.
pub(super) fn on(run: &Shared, done: &str) {
    let next = run.borrow().next_live(done).or_else(|| run.borrow().next_cold(done));
    if let Some(next) = next {
        return typing::open(run, &next, false);
    }
    let step = run.borrow().next_step();
    match step {
        Some(step) => {
            let words = run.borrow().words_of(done);
            arrive(run, &step, words);
        }
        // A reader who ticks or answers stays where that was.
        None if run.borrow().screen == Screen::Step => set(run),
        None => screen(run, Screen::Step),
    }
}

/// Shows a step to a reader who has come to it: where it begins with a reading that is taken without mains, with the inputs for it.
pub(super) fn arrive(run: &Shared, step: &str, done: String) {
    show(run, step);
    run.borrow_mut().done = done;
    let first = run.borrow().first_cold();
    match first {
        Some(first) => typing::open(run, &first, true),
        None => set(run),
    }
}

impl Run {
    /// The first live blank of this step that is not read, after a live one: all are read in one time with the mains on.
    fn next_live(&self, name: &str) -> Option<String> {
        let step = self.step().filter(|_| self.is_live(item_of(name)))?;
        self.unread_live(step).into_iter().next()
    }

    /// The live blanks of a step that are not read.
    pub(super) fn unread_live(&self, step: &Step) -> Vec<String> {
        let live = self.asked_readings(step).filter(|reading| reading.purpose.is_live());
        let ids: Vec<String> = live.map(|reading| reading.id.clone()).collect();
        let mut names = self.names(&ids);
        names.retain(|name| !self.is_read(name));
        names
    }

    /// The first live blank of a step that is not read, where none of them still waits for its time.
    pub(super) fn live(&self, step: &Step) -> Option<String> {
        let job = self.job.as_ref()?;
        let unread = self.unread_live(step);
        let is_open = |name: &String| {
            let (item, blank) = name.split_once('.').unwrap_or((name, ""));
            self.reading(item).is_some_and(|reading| {
                job.time_left(&self.procedure, step, reading, blank, self.waited(item)).is_none()
            })
        };
        if unread.iter().all(is_open) { unread.into_iter().next() } else { None }
    }

    /// The blank that comes after this item in the step, both without mains, where nothing else is to be done before it.
    fn next_cold(&self, name: &str) -> Option<String> {
        let item = item_of(name);
        let items = &self.step()?.items;
        let at = items.iter().position(|known| known.id() == item)?;
        self.cold_in(items.get(at + 1..)?)
    }

    /// The blank that the step begins with, where that is read without mains, no caution comes first, and its limit is known.
    fn first_cold(&self) -> Option<String> {
        let step = self.step()?;
        let first = self.cold_in(&step.items)?;
        let is_known = self.limits(self.reading(item_of(&first))?).missing_inputs().is_empty();
        let cautions = self.plan.iter().any(|printed| printed.id == step.id && printed.cautions);
        (is_known && !cautions).then_some(first)
    }

    /// The first blank in these items that is not read, where it is read without mains and nothing else is to be done before it.
    fn cold_in(&self, items: &[Item]) -> Option<String> {
        let (step, job) = (self.step()?, self.job.as_ref()?);
        let asked = items.iter().filter(|item| self.procedure.asks(item.when(), job));
        for item in asked.take_while(|item| !self.is_live(item.id())) {
            if self.is_done(item) {
                continue;
            }
            let Item::Reading(reading) = item else { return None };
            let names = self.names(std::slice::from_ref(&reading.id));
            let name = names.into_iter().find(|name| !self.is_read(name))?;
            let blank = name.split_once('.').map_or("", |(_, blank)| blank);
            let left = job.time_left(&self.procedure, step, reading, blank, self.waited(&reading.id));
            return left.is_none().then_some(name);
        }
        None
    }

    /// Whether an item of the step is done: read and counting, ticked, answered, started.
    fn is_done(&self, item: &Item) -> bool {
        let Some(job) = &self.job else { return false };
        match item {
            Item::Reading(reading) => {
                let names = self.names(std::slice::from_ref(&reading.id));
                !names.is_empty() && names.iter().all(|name| self.is_read(name))
            }
            Item::Tick(tick) => self.tick_stands(&tick.id),
            Item::Choice(choice) => job.chosen(&self.procedure.page, &choice.id).is_some(),
            Item::Timer(timer) => job.started(&self.procedure.page, &timer.id).is_some(),
        }
    }

    /// The step after this one, where nothing is left to do or to look at in this one: it waits for nothing, all that it asks
    /// is done, nothing in it was only noted, and no calculator is in it.
    fn next_step(&self) -> Option<String> {
        let (step, job) = (self.step()?, self.job.as_ref()?);
        let open = self.open();
        let at = open.iter().position(|state| state.id == step.id)?;
        let waits_for_nothing = open.get(at)?.waits.is_empty();
        let calculates = self.plan.iter().any(|printed| printed.id == step.id && printed.calculates);
        let course = self.course(job);
        let is_noted = |reading: &ReadingSpec| {
            course.all_last(reading).iter().any(|read| read.taken.judged == Judged::Noted)
        };
        let is_over = waits_for_nothing
            && !calculates
            && step.items.iter().all(|item| !self.procedure.asks(item.when(), job) || self.is_done(item))
            && !step.readings().any(is_noted);
        open.get(at + 1).filter(|_| is_over).map(|next| next.id.clone())
    }

    /// What was read last, in words; nothing of a tick or an answer.
    fn words_of(&self, done: &str) -> String {
        let (item, blank) = done.split_once('.').unwrap_or((done, ""));
        let (Some(reading), Some(job)) = (self.reading(item), &self.job) else { return String::new() };
        [reading.quantity.as_str(), blank, &view::standing(&self.course(job), item, blank)].join(" ")
    }
}
