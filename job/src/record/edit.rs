//! What can be done to a job and asked of it.

use calc_core::calculator::Problem;

use super::{
    Change, ChangeKind, Choice, Entry, Filled, From, Job, Note, Place, Reading, Started, Tick, Value,
};
use crate::Time;
use crate::values::{self, UnknownValue};

/// Why a value was not taken.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum NotTaken {
    /// There is no such value.
    #[error(transparent)]
    Unknown(#[from] UnknownValue),
    /// The text cannot be used; the problem has texts that would be right.
    #[error("{}", .0.message)]
    Problem(Problem),
}

impl Job {
    /// A job that has just been begun.
    #[must_use]
    pub fn new(id: &str, label: &str, at: Time) -> Self {
        Self { id: id.to_owned(), label: label.to_owned(), made: at, changed: at, ..Self::default() }
    }

    /// Sets a value.
    ///
    /// # Errors
    /// [`NotTaken`]; the job is as it was.
    pub fn set(&mut self, id: &str, text: &str, from: From, at: Time) -> Result<(), NotTaken> {
        let text = values::find(id)?.read(text).map_err(NotTaken::Problem)?;
        let changes_before = self.changes.len();
        self.values.insert(id.to_owned(), Value { text, at, from, changes_before });
        self.removed.remove(&value_key(id));
        self.changed = at;
        Ok(())
    }

    /// Takes a value out: it is unknown again.
    pub fn forget(&mut self, id: &str, at: Time) {
        if self.values.remove(id).is_some() {
            self.remove(value_key(id), true, at);
        }
        self.changed = at;
    }

    /// Whether a value was read off the amplifier before it was last changed, or is said to be younger than any change.
    #[must_use]
    pub fn is_stale(&self, id: &str) -> bool {
        let measured = values::find(id).is_ok_and(|known| known.measured);
        let is_old = |value: &Value| {
            value.changes_before > self.changes.len() || self.has_changed_since(value.changes_before)
        };
        measured && self.values.get(id).is_some_and(is_old)
    }

    /// Whether a value that the limits of a reading were worked out from is not what it was. What its own procedure reads on the
    /// way is its course and changes nothing of what was read before.
    pub(crate) fn is_described_otherwise(&self, taken: &Reading) -> bool {
        let own =
            |from: &From| matches!(from, From::Reading { procedure, .. } if *procedure == taken.procedure);
        let mut used = taken.inputs_used.iter().flatten();
        used.any(|(id, text)| {
            self.values.get(id).is_none_or(|value| value.text != *text && !own(&value.from))
        })
    }

    /// What this job puts into a calculator.
    #[must_use]
    pub fn inputs_for(&self, calculator: &str) -> Filled {
        let mut filled = Filled::default();
        for (known, field) in values::of_calculator(calculator) {
            match self.values.get(known.id) {
                Some(value) => {
                    filled.inputs.insert(field.to_owned(), value.text.clone());
                    if self.is_stale(known.id) {
                        filled.stale.push((field, known));
                    }
                }
                None => filled.missing.push((field, known)),
            }
        }
        filled
    }

    /// Begins a procedure, or begins it again: readings of earlier runs open nothing any more.
    pub fn begin(&mut self, procedure: &str, first_step: &str, at: Time) {
        let run = self.run(procedure).saturating_add(1);
        let place = Place { run, begun: at, step: first_step.to_owned(), at, edition: Place::EDITION };
        self.places.insert(procedure.to_owned(), place);
        self.changed = at;
    }

    /// The run of a procedure; 0 where it was never begun.
    #[must_use]
    pub fn run(&self, procedure: &str) -> u32 {
        self.places.get(procedure).map_or(0, |place| place.run)
    }

    /// Whether the run of a procedure was begun in another edition of the book: it does not go on, and is begun again.
    #[must_use]
    pub fn is_of_another_edition(&self, procedure: &str) -> bool {
        self.places.get(procedure).is_some_and(|place| place.edition != Place::EDITION)
    }

    /// Keeps at which step of a procedure one is.
    pub fn stop_at(&mut self, procedure: &str, step: &str, at: Time) {
        if let Some(place) = self.places.get_mut(procedure) {
            step.clone_into(&mut place.step);
            place.at = at;
            self.changed = at;
        }
    }

    /// The last reading of a blank, of whatever run.
    #[must_use]
    pub fn last(&self, procedure: &str, reading: &str, blank: &str) -> Option<&Reading> {
        let is_it = |taken: &&Reading| {
            taken.procedure == procedure && taken.reading == reading && taken.blank == blank
        };
        self.readings.iter().rev().find(is_it)
    }

    /// Ticks, or takes the tick back.
    pub fn tick(&mut self, procedure: &str, tick: &str, done: bool, at: Time) {
        let run = self.run(procedure);
        let (changes_before, readings_before) = (self.changes.len(), self.readings.len());
        self.ticks.insert(key(procedure, tick), Tick { done, at, run, changes_before, readings_before });
        self.changed = at;
    }

    /// What was ticked in this run, whatever came after. What still counts is [`crate::run::gate::RunState`]'s to say.
    #[must_use]
    pub fn ticked(&self, procedure: &str, tick: &str) -> Option<&Tick> {
        let run = self.run(procedure);
        self.ticks.get(&key(procedure, tick)).filter(|tick| run > 0 && tick.done && tick.run == run)
    }

    /// Starts a timer, or starts it again: only the reader does.
    pub fn start(&mut self, procedure: &str, timer: &str, at: Time) {
        let (run, readings_before) = (self.run(procedure), self.readings.len());
        self.timers.insert(key(procedure, timer), Started { at, run, readings_before });
        self.changed = at;
    }

    /// The timer as it was last started in this run.
    #[must_use]
    pub fn started(&self, procedure: &str, timer: &str) -> Option<&Started> {
        let run = self.run(procedure);
        self.timers.get(&key(procedure, timer)).filter(|started| run > 0 && started.run == run)
    }

    /// Answers a choice in the run under way; a later answer replaces it.
    pub fn choose(&mut self, procedure: &str, choice: &str, option: &str, at: Time) {
        let run = self.run(procedure);
        self.choices.insert(key(procedure, choice), Choice { option: option.to_owned(), at, run });
        self.changed = at;
    }

    /// The branch taken in this run.
    #[must_use]
    pub fn chosen(&self, procedure: &str, choice: &str) -> Option<&str> {
        let run = self.run(procedure);
        let chosen = self.choices.get(&key(procedure, choice));
        chosen.filter(|chosen| run > 0 && chosen.run == run).map(|chosen| chosen.option.as_str())
    }

    /// Writes down a change of the amplifier. What was measured before it is stale from now on.
    pub fn change(&mut self, change: Change) {
        self.changed = change.at;
        self.changes.push(change);
    }

    /// Whether the amplifier was changed after so many changes. Those that were removed were never made.
    #[must_use]
    pub fn has_changed_since(&self, changes_before: usize) -> bool {
        self.changed_since(changes_before).is_some()
    }

    /// The last change after so many.
    #[must_use]
    pub fn changed_since(&self, changes_before: usize) -> Option<&Change> {
        self.changes.iter().skip(changes_before).rfind(|change| self.stands(*change))
    }

    /// The last part that was fitted, taken out or swapped after so many changes.
    #[must_use]
    pub fn part_changed_since(&self, changes_before: usize) -> Option<&Change> {
        let mut later = self.changes.iter().skip(changes_before);
        later.rfind(|change| self.is_of_a_part(change))
    }

    /// Whether a change was made, and hands were at a part for it: more than something set.
    pub(crate) fn is_of_a_part(&self, change: &Change) -> bool {
        change.kind != ChangeKind::Set && self.stands(change)
    }

    /// Whether an entry was not removed.
    #[must_use]
    pub fn stands(&self, entry: &impl Entry) -> bool {
        self.removed.get(&entry.key()).is_none_or(|tick| !tick.done)
    }

    /// Those of some entries that were not removed.
    pub fn standing<'j, E: Entry>(
        &'j self,
        entries: &'j [E],
    ) -> impl DoubleEndedIterator<Item = &'j E> + use<'j, E> {
        entries.iter().filter(|entry| self.stands(*entry))
    }

    /// Removes an entry, by its [`Entry::key`], or puts it back.
    pub fn remove(&mut self, key: String, removed: bool, at: Time) {
        self.removed.insert(key, Tick { done: removed, at, ..Tick::default() });
        self.changed = at;
    }

    /// Adds a note at the end of the notes, with the moment of it.
    pub fn note(&mut self, text: &str, at: Time) {
        self.notes.push(Note { at, text: text.to_owned() });
        self.changed = at;
    }

    /// Writes down what the owner is advised.
    pub fn advise(&mut self, text: &str, at: Time) {
        self.advice.push(Note { at, text: text.to_owned() });
        self.changed = at;
    }
}

/// The name of an item of a procedure in the maps of a job.
fn key(procedure: &str, item: &str) -> String {
    format!("{procedure}#{item}")
}

/// The name of a value in [`Job::removed`].
pub(crate) fn value_key(id: &str) -> String {
    format!("value#{id}")
}
