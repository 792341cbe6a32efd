//! Which steps of a procedure are open for a job.
//!
//! One walks from the first step along the branches taken and stops at the first gate that is closed. A hard gate opens by
//! each reading of its step being in range *in this run*, a hard tick by being ticked in this run; a soft one by a written
//! reason too, but that what a hard limit is worked out from must have been read. What was taken away since ([`RunState`])
//! opens nothing any more. Nothing opens what lies behind a closed gate.

mod state;

use crate::procedure::{Answer, ChoiceSpec, Gate, Item, Procedure, ReadingSpec, Step};
use crate::record::{Judged, Reading, Reason};
use crate::run::judge::are_alike;
use crate::{Job, Time};
pub use state::{Invalidation, Read, RunState};

/// A step as it stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StepState {
    /// Which step, by its id in the page.
    pub id: String,
    /// Whether it may be done.
    pub open: bool,
    /// What must be before the step after it opens; empty where nothing is in the way, and in steps that are closed.
    pub waits: Vec<Wait>,
}

/// Something that a step waits for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Wait {
    /// Which item of the step, by its id.
    pub item: String,
    /// Which blank of a reading; empty where there is one, or where it is not about one.
    pub blank: String,
    /// What is in the way.
    pub why: Why,
    /// How the gate opens; hard for a choice, which nothing else replaces.
    pub gate: Gate,
}

/// What is in the way.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Why {
    /// Not read in this run.
    NotRead,
    /// Read in this run, and out of range.
    OutOfRange,
    /// Read in this run, and the limit was not known.
    CannotTell,
    /// Read in this run, and the amplifier, or what its limit was worked out from, was changed since.
    Changed,
    /// Read in this run, and hands were in the chassis since.
    HandsIn,
    /// Read in this run, and the mains was on since.
    MainsOn,
    /// It came with a file and was not judged here yet.
    FromFile,
    /// How many output valves there are is not known, and it has a blank for each.
    Sockets,
    /// The blanks lie too far apart.
    Apart,
    /// Not ticked in this run.
    NotTicked,
    /// No branch taken in this run.
    NotChosen,
    /// Another branch than the same question was answered with before.
    ChosenOtherwise,
}

/// How every step of the procedure stands, in the order of the page. Before the procedure is begun none is open, nor
/// in a run of another edition of the book.
#[must_use]
pub fn state(procedure: &Procedure, job: &Job) -> Vec<StepState> {
    state_of(&RunState::of(procedure, job), procedure, job)
}

/// The last step that would be open for someone who did not go back: nothing was touched on the way.
#[must_use]
pub fn reached(procedure: &Procedure, job: &Job) -> Option<String> {
    let states = state_of(&RunState::at(procedure, job, procedure.steps.len()), procedure, job);
    frontier(&states).map(|state| state.id.clone())
}

fn state_of(course: &RunState<'_>, procedure: &Procedure, job: &Job) -> Vec<StepState> {
    let mut states: Vec<StepState> = procedure
        .steps
        .iter()
        .map(|step| StepState { id: step.id.clone(), open: false, waits: Vec::new() })
        .collect();
    let goes_on = job.run(&procedure.page) > 0 && !job.is_of_another_edition(&procedure.page);
    let mut next = goes_on.then_some(0);
    let mut walk = Walk { procedure, job, taken: Vec::new() };
    let mut path = Vec::new();
    while let Some(at) = next {
        let (Some(step), Some(state)) = (procedure.steps.get(at), states.get_mut(at)) else { break };
        state.open = true;
        state.waits = waits(course, step, job);
        path.push(at);
        next = if state.waits.is_empty() { walk.after(at, step) } else { None };
    }
    send_back_to_proof(course, procedure, job, &path, &mut states);
    states
}

/// Where a live reading is to be taken again, one goes on where the chassis was proved dead for it, if that is opened since.
fn send_back_to_proof(
    course: &RunState<'_>,
    procedure: &Procedure,
    job: &Job,
    path: &[usize],
    states: &mut [StepState],
) {
    let Some(last) = path.last().copied() else { return };
    let lapsed = |wait: &Wait| {
        matches!(wait.why, Why::Changed | Why::HandsIn | Why::MainsOn)
            && procedure.reading(&wait.item).is_some_and(|(_, reading)| reading.purpose.is_live())
    };
    if !states.get(last).is_some_and(|state| state.waits.iter().any(lapsed)) {
        return;
    }
    let Some(back) = course.reopened_proof(path, last) else { return };
    let Some(step) = procedure.steps.get(back) else { return };
    let waits = waits(&RunState::at(procedure, job, back), step, job);
    if waits.is_empty() {
        return;
    }
    for state in states.iter_mut().skip(back) {
        (state.open, state.waits) = (false, Vec::new());
    }
    if let Some(state) = states.get_mut(back) {
        (state.open, state.waits) = (true, waits);
    }
}

/// The last step that is open: where one is. `None` where the procedure is not begun.
#[must_use]
pub fn frontier(states: &[StepState]) -> Option<&StepState> {
    states.iter().rfind(|state| state.open)
}

/// A walk along the branches taken.
struct Walk<'w> {
    procedure: &'w Procedure,
    job: &'w Job,
    /// The choices passed, each with the step its branch begins with.
    taken: Vec<(&'w ChoiceSpec, usize)>,
}

impl<'w> Walk<'w> {
    /// The place of the step after this one. Always a later one, so that the walk ends.
    fn after(&mut self, at: usize, step: &'w Step) -> Option<usize> {
        let mut next = at + 1;
        for choice in step.choices().filter(|choice| self.procedure.asks(choice.when.as_ref(), self.job)) {
            let option = self.job.chosen(&self.procedure.page, &choice.id)?;
            let option = choice.options.iter().find(|known| known.id == option)?;
            next = self.procedure.index(&option.go)?;
            self.taken.push((choice, next));
        }
        // Who comes into another branch goes on where the branches meet; that may again be another branch of an outer choice.
        while let Some(meet) = self.taken.iter().find_map(|taken| self.left(*taken, next)) {
            next = meet;
        }
        (next > at).then_some(next)
    }

    /// Where the branches meet, if `next` is the first step of another branch than the one taken.
    fn left(&self, (choice, own): (&ChoiceSpec, usize), next: usize) -> Option<usize> {
        let begins = choice.options.iter().filter_map(|option| self.procedure.index(&option.go));
        let other = next != own && begins.into_iter().any(|begins| begins == next);
        if other { self.procedure.index(&choice.meet).filter(|meet| *meet > next) } else { None }
    }
}

/// What a step waits for. What is not asked it does not wait for.
fn waits(course: &RunState<'_>, step: &Step, job: &Job) -> Vec<Wait> {
    let mut waits = Vec::new();
    for item in step.items.iter().filter(|item| course.asks(item)) {
        let wait =
            |blank: &str, why, gate| Wait { item: item.id().to_owned(), blank: blank.to_owned(), why, gate };
        match item {
            Item::Reading(reading) => {
                let unmet = unmet(course, reading, job);
                let excused = unmet.iter().any(|unmet| unmet.gate == Gate::Soft)
                    && has_reason(course.page(), &reading.id, job);
                let unmet = unmet.into_iter().filter(|unmet| !excused || unmet.gate == Gate::Hard);
                waits.extend(unmet.map(|Unmet { blank, why, gate }| wait(blank, why, gate)));
            }
            Item::Tick(tick) => {
                let Some(gate) = tick.gate else { continue };
                let excused = gate == Gate::Soft && has_reason(course.page(), &tick.id, job);
                if !excused && !course.is_ticked(tick) {
                    waits.push(wait("", Why::NotTicked, gate));
                }
            }
            Item::Choice(choice) => {
                if let Some(why) = undecided(course.page(), choice, job) {
                    waits.push(wait("", why, Gate::Hard));
                }
            }
            Item::Timer(_) => {}
        }
    }
    waits
}

/// What is wrong with the answer to a choice, if it has none or one that another speaks against.
fn undecided(page: &str, choice: &ChoiceSpec, job: &Job) -> Option<Why> {
    let chosen = job.chosen(page, &choice.id);
    let option = choice.options.iter().find(|option| Some(option.id.as_str()) == chosen);
    let Some(option) = option else { return Some(Why::NotChosen) };
    let otherwise = !choice.same.is_empty() && chosen != job.chosen(page, &choice.same);
    let against = |not: &Answer| job.chosen(page, &not.choice) == Some(not.option.as_str());
    (otherwise || option.not.as_ref().is_some_and(against)).then_some(Why::ChosenOtherwise)
}

/// A blank of a reading that closes a gate.
struct Unmet<'r> {
    blank: &'r str,
    why: Why,
    /// How the gate opens. Hard where no reason represents the reading: it was not read, and limits behind hard gates are
    /// worked out from what it tells.
    gate: Gate,
}

/// The blanks of a reading that are not in range in this run, and whether they lie too far apart.
fn unmet<'r>(course: &RunState<'_>, reading: &'r ReadingSpec, job: &Job) -> Vec<Unmet<'r>> {
    let blanks = reading.blanks(job);
    let last: Vec<(&str, Option<Read<'_>>)> =
        blanks.into_iter().map(|blank| (blank, course.last(&reading.id, blank))).collect();
    let mut unmet: Vec<Unmet<'_>> = Vec::new();
    let why = |read: &Option<Read<'_>>| match read {
        None => Some(Why::NotRead),
        Some(read) if read.taken.from_file => Some(Why::FromFile),
        Some(read) if read.taken.judged.passes() => course.invalidated_by(read).map(|lapse| match lapse {
            Invalidation::Changed(_) | Invalidation::InputChanged => Why::Changed,
            Invalidation::HandsIn => Why::HandsIn,
            Invalidation::MainsOn => Why::MainsOn,
        }),
        Some(read) if read.taken.judged == Judged::Stop => Some(Why::OutOfRange),
        Some(_) => Some(Why::CannotTell),
    };
    let gates_depend_on = reading.feeds.iter().any(|id| course.gates_depend_on(id));
    for (blank, read) in &last {
        let (Some(gate), Some(why)) = (reading.gate, why(read)) else { continue };
        let gate = if why == Why::NotRead && gates_depend_on { Gate::Hard } else { gate };
        unmet.push(Unmet { blank, why, gate });
    }
    if let (Some(gate), true) = (reading.gate, last.is_empty()) {
        unmet.push(Unmet { blank: "", why: Why::Sockets, gate });
    }
    let texts: Option<Vec<&str>> =
        last.iter().map(|(_, read)| Some(read.as_ref()?.taken.text.as_str())).collect();
    // What is not read yet is not apart; that it is not read says its own gate.
    if unmet.is_empty()
        && let Some(texts) = texts.filter(|texts| !texts.is_empty())
        && !are_alike(reading, texts)
    {
        unmet.push(Unmet { blank: "", why: Why::Apart, gate: reading.alike_gate });
    }
    unmet
}

/// Whether a reason was written for an item in this run. It speaks of what was read by then and of the amplifier as it was,
/// and of nothing later: by the order in which things were written down, whatever the clock says.
fn has_reason(page: &str, item: &str, job: &Job) -> bool {
    let run = job.run(page);
    let is_of_item = |taken: &Reading| taken.run == run && taken.procedure == page && taken.reading == item;
    let read = job.readings.iter().rposition(is_of_item);
    let speaks_of_now = |reason: &Reason| {
        read.is_none_or(|read| read < reason.readings_before)
            && job.part_changed_since(reason.changes_before).is_none()
    };
    job.reasons.iter().any(|reason| {
        run > 0
            && reason.run == run
            && reason.procedure == page
            && reason.item == item
            && speaks_of_now(reason)
            && !reason.text.trim().is_empty()
    })
}

impl Job {
    /// Writes down why a soft gate is passed. Nothing is written for a hard one, for an item that is not there, for what must
    /// be read first, or without a reason: then it gives `false`.
    pub fn excuse(&mut self, procedure: &Procedure, item: &str, text: &str, at: Time) -> bool {
        let (page, text) = (procedure.page.clone(), text.trim());
        let course = RunState::of(procedure, self);
        // A reason for what is not in the way yet is no reason for what is; blanks apart have a gate of their own.
        let may_be_excused = |reading: &ReadingSpec| {
            let unmet = unmet(&course, reading, self);
            let soft = reading.gate == Some(Gate::Soft) || !unmet.is_empty();
            soft && unmet.iter().all(|unmet| unmet.gate == Gate::Soft)
        };
        let soft = |known: &Item| match known {
            Item::Reading(reading) if may_be_excused(reading) => Some(reading.quantity.clone()),
            Item::Tick(tick) if tick.gate == Some(Gate::Soft) => Some(tick.text.clone()),
            _ => None,
        };
        let mut items =
            procedure.steps.iter().flat_map(|step| step.items.iter().map(move |item| (step, item)));
        let found = items.find(|(_, known)| known.id() == item);
        let (Some((step, about)), false) =
            (found.and_then(|(step, item)| Some((step, soft(item)?))), text.is_empty())
        else {
            return false;
        };
        let (step, run, item) = (step.id.clone(), self.run(&page), item.to_owned());
        let (changes_before, readings_before) = (self.changes.len(), self.readings.len());
        let text = text.to_owned();
        self.reasons.push(Reason {
            procedure: page,
            step,
            item,
            about,
            text,
            at,
            run,
            changes_before,
            readings_before,
        });
        self.changed = at;
        true
    }
}

#[cfg(test)]
mod tests;
