//! What is done in a run counts at once, on the job in memory; it goes to disk behind it, in order, and nobody waits for that.

use std::collections::VecDeque;
use std::rc::Rc;

use job::Job;

use super::view::Screen;
use super::{Shared, later, set};
use crate::platform::page;

/// A change of a job. It is applied to the one in memory and to the one on disk.
type Deed = Rc<dyn Fn(&mut Job)>;

/// What is not on disk yet, each with the id of its job.
#[derive(Default)]
pub(super) struct Queue {
    waiting: VecDeque<(String, Deed)>,
    writing: bool,
}

impl Queue {
    /// Whether everything is on disk.
    pub(super) const fn is_empty(&self) -> bool {
        !self.writing
    }
}

/// Changes the job, and gives what came of it; `None` where there is no job.
pub(super) fn change<T: 'static>(run: &Shared, deed: impl Fn(&mut Job) -> T + 'static) -> Option<T> {
    change_if(run, deed, |_| true)
}

/// The same, unless what came of it says that nothing was changed.
pub(super) fn change_if<T: 'static>(
    run: &Shared,
    deed: impl Fn(&mut Job) -> T + 'static,
    is_change: impl Fn(&T) -> bool,
) -> Option<T> {
    let came = {
        let mut state = run.borrow_mut();
        let mut job = state.job.clone()?;
        let came = deed(&mut job);
        if !is_change(&came) {
            return Some(came);
        }
        let deed: Deed = Rc::new(move |job| drop(deed(job)));
        state.queue.waiting.push_back((job.id.clone(), deed));
        state.stands(Some(job));
        came
    };
    write(run);
    Some(came)
}

/// Writes what waits, as long as something does: all that waits for one job together.
fn write(run: &Shared) {
    if std::mem::replace(&mut run.borrow_mut().queue.writing, true) {
        return;
    }
    let run = run.clone();
    later(async move {
        let mut last = None;
        while let Some((id, deeds)) = next(&run) {
            let store = run.borrow().store.clone();
            let kept = store.change(&id, |job| deeds.iter().for_each(|deed| deed(job))).await;
            let mut state = run.borrow_mut();
            state.queue.waiting.drain(..deeds.len());
            state.unkept = kept.as_ref().err().cloned();
            last = kept.ok().map(|((), job)| job);
            drop(state);
            say_trouble(&run);
        }
        run.borrow_mut().queue.writing = false;
        // What another tab wrote meanwhile came with it.
        if let Some(job) = last {
            take_over(&run, job);
        }
    });
}

/// The changes that wait for the job that comes first.
fn next(run: &Shared) -> Option<(String, Vec<Deed>)> {
    let state = run.borrow();
    let (id, _) = state.queue.waiting.front()?;
    let deeds = state.queue.waiting.iter().take_while(|(other, _)| other == id);
    Some((id.clone(), deeds.map(|(_, deed)| Rc::clone(deed)).collect()))
}

/// Takes the job as it is on disk. What is being typed stays, unless its step is closed now.
pub(super) fn take_over(run: &Shared, job: Job) {
    let before = run.borrow().shown.clone();
    if !run.borrow().queue.is_empty() || run.borrow().job.as_ref() == Some(&job) {
        return;
    }
    run.borrow_mut().stands(Some(job));
    judge_again(run);
    let is_elsewhere = run.borrow().shown != before;
    if is_elsewhere || run.borrow().screen == Screen::Step {
        set(run);
    }
}

/// Judges again what was read in this run, where that comes to something else: what a file says of a reading opens no gate.
pub(super) fn judge_again(run: &Shared) {
    let procedure = run.borrow().procedure.clone();
    let deed = move |job: &mut Job| {
        let before = job.readings.clone();
        job.judge_again(&procedure);
        job.readings != before
    };
    change_if(run, deed, |changed| *changed);
}

/// Says on the screen that is there what is not kept, and that another job is on the bench.
pub(super) fn say_trouble(run: &Shared) {
    let (trouble, elsewhere) = (run.borrow().trouble().unwrap_or_default(), run.borrow().elsewhere());
    for (line, words) in [("stopped-job", trouble), ("elsewhere", elsewhere)] {
        let line = format!("#run-panel .{line}, #page-run .run-begin .{line}");
        page::say(page::first(&line).as_ref(), &words);
    }
}
