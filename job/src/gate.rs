//! Which steps of a procedure are open for a job.
//!
//! One walks from the first step along the branches taken and stops at the first gate that is closed. A hard gate opens by
//! each reading of its step being in range *in this run*, a hard tick by being ticked in this run; a soft one by a written
//! reason too. A reading opens nothing any more once what it was judged by was changed, and what a meter showed opens no
//! hard gate once a part was fitted, taken out or swapped. Nothing opens what lies behind a closed gate.

use crate::judge::are_alike;
use crate::procedure::{ChoiceSpec, Gate, Item, Procedure, ReadingSpec, Step};
use crate::record::{From, Judged, Reason, Taken};
use crate::{Job, Time};

/// A step as it stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StepState {
    /// The step's id.
    pub id: String,
    /// Whether it may be done.
    pub open: bool,
    /// What must be before the step after it opens; empty where nothing is in the way, and in steps that are closed.
    pub waits: Vec<Wait>,
}

/// Something that a step waits for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Wait {
    /// The item's id.
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
    /// The blanks lie too far apart.
    Apart,
    /// Not ticked in this run.
    NotTicked,
    /// No branch taken in this run.
    NotChosen,
    /// Another branch than the same question was answered with before.
    ChosenOtherwise,
}

/// How every step of the procedure stands, in the order of the page. Before the procedure is begun none is open.
#[must_use]
pub fn state(procedure: &Procedure, job: &Job) -> Vec<StepState> {
    let mut states: Vec<StepState> = procedure
        .steps
        .iter()
        .map(|step| StepState { id: step.id.clone(), open: false, waits: Vec::new() })
        .collect();
    let mut next = (job.run(&procedure.page) > 0).then_some(0);
    let mut walk = Walk { procedure, job, taken: Vec::new() };
    while let Some(at) = next {
        let (Some(step), Some(state)) = (procedure.steps.get(at), states.get_mut(at)) else { break };
        state.open = true;
        state.waits = waits(procedure, step, job);
        next = if state.waits.is_empty() { walk.after(at, step) } else { None };
    }
    states
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
        for choice in step.choices() {
            let option = self.job.chosen(&self.procedure.page, &choice.id)?;
            let option = choice.options.iter().find(|known| known.id == option)?;
            next = self.procedure.place(&option.go)?;
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
        let begins = choice.options.iter().filter_map(|option| self.procedure.place(&option.go));
        let other = next != own && begins.into_iter().any(|begins| begins == next);
        if other { self.procedure.place(&choice.meet).filter(|meet| *meet > next) } else { None }
    }
}

/// What a step waits for.
fn waits(procedure: &Procedure, step: &Step, job: &Job) -> Vec<Wait> {
    let page = procedure.page.as_str();
    let mut waits = Vec::new();
    for item in &step.items {
        let wait =
            |blank: &str, why, gate| Wait { item: item.id().to_owned(), blank: blank.to_owned(), why, gate };
        match item {
            Item::Reading(reading) => {
                let Some(gate) = reading.gate else { continue };
                if gate == Gate::Soft && has_reason(page, &reading.id, job) {
                    continue;
                }
                waits.extend(
                    unmet(procedure, step, reading, job)
                        .into_iter()
                        .map(|(blank, why)| wait(&blank, why, gate)),
                );
            }
            Item::Tick(tick) => {
                let Some(gate) = tick.gate else { continue };
                let excused = gate == Gate::Soft && has_reason(page, &tick.id, job);
                if !excused && !job.tick_stands(page, tick) {
                    waits.push(wait("", Why::NotTicked, gate));
                }
            }
            Item::Choice(choice) => {
                let chosen = job.chosen(page, &choice.id);
                let known =
                    chosen.is_some_and(|chosen| choice.options.iter().any(|option| option.id == chosen));
                if !known {
                    waits.push(wait("", Why::NotChosen, Gate::Hard));
                } else if !choice.same.is_empty() && chosen != job.chosen(page, &choice.same) {
                    waits.push(wait("", Why::ChosenOtherwise, Gate::Hard));
                }
            }
            Item::Timer(_) => {}
        }
    }
    waits
}

/// The blanks of a reading that are not in range in this run.
fn unmet(procedure: &Procedure, step: &Step, reading: &ReadingSpec, job: &Job) -> Vec<(String, Why)> {
    let page = procedure.page.as_str();
    let overtaken = fed_by_an_earlier_step(procedure, step, reading, job);
    let last: Vec<(&str, Option<&Taken>)> =
        reading.blanks().map(|blank| (blank, in_this_run(page, &reading.id, blank, job))).collect();
    let mut unmet: Vec<(String, Why)> = Vec::new();
    for (blank, taken) in &last {
        let why = match taken {
            None => Why::NotRead,
            Some(taken) if taken.judged.passes() && !overtaken && stands(reading, taken, job) => continue,
            Some(taken) if taken.judged.passes() => Why::Changed,
            Some(taken) if taken.judged == Judged::Stop => Why::OutOfRange,
            Some(_) => Why::CannotTell,
        };
        unmet.push(((*blank).to_owned(), why));
    }
    if unmet.is_empty()
        && !are_alike(reading, last.iter().filter_map(|(_, taken)| Some(taken.as_ref()?.text.as_str())))
    {
        unmet.push((String::new(), Why::Apart));
    }
    unmet
}

/// Whether what a reading told the job was since told otherwise by an earlier step, which was gone back to: mains that were
/// read behind the lamp must not judge a bias at full mains.
fn fed_by_an_earlier_step(procedure: &Procedure, step: &Step, reading: &ReadingSpec, job: &Job) -> bool {
    let place = |id: &str| procedure.steps.iter().position(|step| step.id == id);
    let here = place(&step.id);
    let mut values = reading.feeds.iter().filter_map(|id| job.values.get(id));
    values.any(|value| match &value.from {
        From::Reading { procedure: page, reading } if *page == procedure.page => {
            let of_it = procedure.reading(reading).and_then(|(step, _)| place(&step.id));
            of_it.is_some() && of_it < here
        }
        _ => false,
    })
}

/// The last reading of a blank in the run under way.
#[must_use]
pub fn in_this_run<'j>(page: &str, reading: &str, blank: &str, job: &'j Job) -> Option<&'j Taken> {
    let run = job.run(page);
    let is_it = |taken: &&Taken| {
        taken.run == run && taken.procedure == page && taken.reading == reading && taken.blank == blank
    };
    job.readings.iter().rev().find(is_it).filter(|_| run > 0)
}

/// Whether a reading still says of the amplifier what it said when it was judged. Of one whose limits come from the job
/// nothing is known where it was not written down what they were worked out from. Behind a hard gate, what was read or seen
/// before a part was fitted, taken out or swapped proves nothing of the amplifier as it is now, whatever the limits are:
/// hands were in it. A trimmer that was set takes away only what its own limits say.
#[must_use]
pub fn stands(reading: &ReadingSpec, taken: &Taken, job: &Job) -> bool {
    if reading.gate == Some(Gate::Hard) && job.part_changed_since(taken.after).is_some() {
        return false;
    }
    if taken.by.is_none() { !reading.leans_on_the_job() } else { !job.is_outdated(taken) }
}

/// Whether a reason was written for an item in this run. It speaks of what was read by then, and of nothing read later.
fn has_reason(page: &str, item: &str, job: &Job) -> bool {
    let run = job.run(page);
    let is_of_item = |taken: &&Taken| taken.run == run && taken.procedure == page && taken.reading == item;
    let read = job.readings.iter().rev().find(is_of_item).map(|taken| taken.at);
    job.reasons.iter().any(|reason| {
        run > 0
            && reason.run == run
            && reason.procedure == page
            && reason.item == item
            && read.is_none_or(|read| reason.at >= read)
            && !reason.text.trim().is_empty()
    })
}

impl Job {
    /// Writes down why a soft gate is passed. Nothing is written for a hard one, for an item that is not there, or without a
    /// reason: then it gives `false`.
    pub fn excuse(&mut self, procedure: &Procedure, item: &str, text: &str, at: Time) -> bool {
        let (page, text) = (procedure.page.clone(), text.trim());
        let soft = |known: &Item| match known {
            Item::Reading(reading) if reading.gate == Some(Gate::Soft) => Some(reading.quantity.clone()),
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
        self.reasons.push(Reason { procedure: page, step, item, about, text: text.to_owned(), at, run });
        self.changed = at;
        true
    }
}

#[cfg(test)]
mod tests;
