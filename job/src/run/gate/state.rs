//! What of a run still counts, and what later events took away. Their order is kept by numbers, never by the clock: the place
//! of a reading among all, and how many readings and changes there were when something was ticked.
//!
//! - A part that was fitted, taken out or swapped takes away all that was read live or stands behind hard gates; a trimmer
//!   that was set, what was read live but not behind the lamp, where nothing is approved.
//! - A limit worked out from what is told otherwise now takes away the reading. What later steps read is the run's course.
//! - Hands in again, which is a proof of dead made again, take away what later steps had read and ticked before.
//! - Mains on again takes away what was proved or ticked before it, from the step where one stands.

use crate::procedure::{Gate, Item, Procedure, Purpose, ReadingSpec, Step, TickSpec};
use crate::record::{Change, From, Reading};
use crate::unit::measure;
use crate::{Job, values};

/// A run of a procedure as it stands.
#[derive(Debug)]
pub struct RunState<'c> {
    procedure: &'c Procedure,
    job: &'c Job,
    /// The place of the step where one stands.
    here: usize,
    /// What was read in the run, in order.
    read: Vec<Read<'c>>,
    /// The last reading of another procedure among all, but for what is certainly read without mains.
    elsewhere: Option<usize>,
}

/// A reading of the run.
#[derive(Debug, Clone, Copy)]
pub struct Read<'c> {
    /// The reading as the record has it.
    pub taken: &'c Reading,
    spec: &'c ReadingSpec,
    /// The place of its step.
    step: usize,
    /// Its place among all readings.
    order: usize,
}

/// Why a reading counts no more.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Invalidation<'c> {
    /// This was changed in the amplifier.
    Changed(&'c Change),
    /// What it was judged by, or what it told the job, is told otherwise now.
    InputChanged,
    /// Hands were in the chassis.
    HandsIn,
    /// The mains was on.
    MainsOn,
}

impl<'c> RunState<'c> {
    /// The run under way, as it represents who is at the step that the job keeps.
    #[must_use]
    pub fn of(procedure: &'c Procedure, job: &'c Job) -> Self {
        let here = job.places.get(&procedure.page).map_or("", |place| &place.step);
        Self::seen_from(procedure, job, here)
    }

    /// The same for someone who looks at this step, where a closed gate may have led.
    #[must_use]
    pub fn seen_from(procedure: &'c Procedure, job: &'c Job, step: &str) -> Self {
        Self::at(procedure, job, procedure.index(step).unwrap_or(0))
    }

    /// The same for someone who is at the step with this place.
    pub(super) fn at(procedure: &'c Procedure, job: &'c Job, here: usize) -> Self {
        let run = job.run(&procedure.page);
        let is_of_it = |taken: &Reading| run > 0 && taken.run == run && taken.procedure == procedure.page;
        let all = || job.readings.iter().enumerate();
        let read = all().filter(|(_, taken)| is_of_it(taken)).filter_map(|(order, taken)| {
            let (step, spec) = procedure.reading(&taken.reading)?;
            Some(Read { taken, spec, step: procedure.index(&step.id)?, order })
        });
        let may_be_live =
            |taken: &Reading| taken.run > 0 && taken.procedure != procedure.page && !taken.is_of_no_mains();
        let elsewhere = all().rfind(|(_, taken)| may_be_live(taken));
        Self { procedure, job, here, read: read.collect(), elsewhere: elsewhere.map(|(order, _)| order) }
    }

    /// The page of the procedure, from the root of the book.
    pub(super) fn page(&self) -> &'c str {
        &self.procedure.page
    }

    /// Whether an item is asked: not where the choice that it depends on was answered otherwise.
    #[must_use]
    pub fn asks(&self, item: &Item) -> bool {
        self.procedure.asks(item.when(), self.job)
    }

    /// The last reading of a blank.
    #[must_use]
    pub fn last(&self, reading: &str, blank: &str) -> Option<Read<'c>> {
        let is_it = |read: &&Read<'_>| read.spec.id == reading && read.taken.blank == blank;
        self.read.iter().rev().find(is_it).copied()
    }

    /// The last readings of its blanks, in the order of the blanks.
    #[must_use]
    pub fn all_last(&self, reading: &ReadingSpec) -> Vec<Read<'c>> {
        reading.blanks(self.job).into_iter().filter_map(|blank| self.last(&reading.id, blank)).collect()
    }

    /// What a reading that is a rise comes to, as it would be typed; `None` where not all that it is worked out from is read
    /// and counts.
    #[must_use]
    pub fn rise(&self, spec: &ReadingSpec) -> Option<String> {
        let measure = measure(&spec.unit).ok()?;
        let read = |(reading, blank): (&str, &str)| {
            let read = self.last(reading, blank).filter(|read| self.invalidated_by(read).is_none())?;
            Some(measure.parse("", &read.taken.text).ok()?.si)
        };
        let mut most: Option<f64> = None;
        for rise in &spec.rise {
            let each = self.procedure.reading(&rise.from.reading)?.1.blanks(self.job);
            let named = [rise.from.blank.as_str()];
            let blanks = if rise.from.blank.is_empty() { each.as_slice() } else { &named };
            for blank in blanks {
                let to = if rise.to.blank.is_empty() { blank } else { rise.to.blank.as_str() };
                let rise = read((&rise.to.reading, to))? - read((&rise.from.reading, blank))?;
                most = Some(most.map_or(rise, |most| most.max(rise)));
            }
        }
        // What binary fractions leave behind them is no rise.
        most.map(|most| measure.repeated((most * 1e9).round() / 1e9))
    }

    /// Why a reading counts no more; `None` of one that does.
    #[must_use]
    pub fn invalidated_by(&self, read: &Read<'c>) -> Option<Invalidation<'c>> {
        let Read { taken, spec, step, order } = *read;
        // What was read live is of one minute of one amplifier, however its gate opens.
        let of_its_time = spec.gate == Some(Gate::Hard) || spec.purpose.is_live();
        let change = if spec.purpose == Purpose::Live {
            self.job.changed_since(taken.changes_before)
        } else {
            self.job.part_changed_since(taken.changes_before)
        };
        if let Some(change) = change.filter(|_| of_its_time) {
            return Some(Invalidation::Changed(change));
        }
        if self.is_judged_otherwise(read) || self.is_overwritten(read) {
            return Some(Invalidation::InputChanged);
        }
        if !of_its_time || spec.purpose == Purpose::OfTheBench {
            return None;
        }
        if self.chassis_opened_since(step, order) {
            return Some(Invalidation::HandsIn);
        }
        let behind = spec.purpose == Purpose::Dead
            && self.any(|other| other.spec.purpose.is_live() && other.step < step && other.order > order);
        (behind || (!spec.purpose.is_live() && self.powered_since(step, order)))
            .then_some(Invalidation::MainsOn)
    }

    /// Whether something is ticked in this run and still so.
    #[must_use]
    pub fn is_ticked(&self, tick: &TickSpec) -> bool {
        let Some(ticked) = self.job.ticked(&self.procedure.page, &tick.id) else { return false };
        if tick.gate != Some(Gate::Hard) {
            return true;
        }
        let is_its = |step: &Step| step.ticks().any(|known| known.id == tick.id);
        let step = self.procedure.steps.iter().position(is_its).unwrap_or(0);
        self.job.part_changed_since(ticked.changes_before).is_none()
            && !self.chassis_opened_since(step + 1, ticked.readings_before)
            && !self.powered_since(step, ticked.readings_before)
    }

    /// The last step on a path, up to the step with this place, at which the chassis is proved dead, if what was prepared
    /// there is so no more: at a later step hands were in since.
    pub(super) fn reopened_proof(&self, path: &[usize], step: usize) -> Option<usize> {
        let proofs = |at: usize| {
            self.procedure.steps.get(at).into_iter().flat_map(Step::readings).filter(|reading| {
                reading.purpose == Purpose::Dead && self.procedure.asks(reading.when.as_ref(), self.job)
            })
        };
        let dead = path.iter().copied().rfind(|at| *at <= step && proofs(*at).next().is_some())?;
        let last = |reading: &ReadingSpec| {
            reading
                .blanks(self.job)
                .into_iter()
                .map(|blank| self.last(&reading.id, blank).map(|read| read.order))
                .min()
        };
        let oldest = proofs(dead).filter_map(last).min().flatten();
        (self.newest_proof(|at| at > step) > oldest).then_some(dead)
    }

    /// Whether the chassis is proved dead for someone who is here: all proofs of the last step up to here that has any were read in
    /// this run and count, and nothing was read live since. What is not known is not proved.
    #[must_use]
    pub fn is_proven_dead(&self) -> bool {
        let proofs = |at: usize| {
            self.procedure.steps.get(at).into_iter().flat_map(Step::readings).filter(|reading| {
                reading.purpose == Purpose::Dead && self.procedure.asks(reading.when.as_ref(), self.job)
            })
        };
        let is_read = |at: usize| self.any(|read| read.step == at && read.spec.purpose == Purpose::Dead);
        let mut steps = (0..=self.here).rev();
        let last = steps.find(|at| proofs(*at).next().is_some() && (*at == self.here || is_read(*at)));
        let mut oldest = None;
        for reading in last.into_iter().flat_map(proofs) {
            for blank in reading.blanks(self.job) {
                let counts = |read: &Read<'_>| {
                    read.taken.judged.passes() && !read.taken.from_file && self.invalidated_by(read).is_none()
                };
                let Some(read) = self.last(&reading.id, blank).filter(counts) else { return false };
                oldest = Some(oldest.map_or(read.order, |order: usize| order.min(read.order)));
            }
        }
        let since = |order: usize| {
            self.any(|read| read.spec.purpose.is_live() && read.order > order)
                || self.elsewhere.is_some_and(|at| at > order)
        };
        oldest.is_some_and(|order| !since(order))
    }

    /// Whether a limit in this procedure that stops behind a hard gate leans on a value of the job.
    #[must_use]
    pub fn gates_depend_on(&self, id: &str) -> bool {
        let hard = |reading: &&ReadingSpec| reading.gate == Some(Gate::Hard);
        self.procedure
            .steps
            .iter()
            .flat_map(Step::readings)
            .filter(hard)
            .any(|reading| reading.depends_on(id))
    }

    fn any(&self, wanted: impl Fn(&Read<'c>) -> bool) -> bool {
        self.read.iter().any(wanted)
    }

    /// Whether hands went in at a step before this one, with the mains on between.
    fn chassis_opened_since(&self, step: usize, order: usize) -> bool {
        let since = |until: usize| {
            let between = order..until;
            self.any(|read| read.spec.purpose.is_live() && between.contains(&read.order))
                || self.elsewhere.is_some_and(|at| between.contains(&at))
        };
        self.newest_proof(|at| at < step).is_some_and(since)
    }

    /// The last proof of dead at some of the steps.
    fn newest_proof(&self, at: impl Fn(usize) -> bool) -> Option<usize> {
        self.read
            .iter()
            .rfind(|read| read.spec.purpose == Purpose::Dead && at(read.step))
            .map(|read| read.order)
    }

    /// Whether the mains was on at a later step, or may have been in another procedure, for someone who stands before or at this one.
    fn powered_since(&self, step: usize, order: usize) -> bool {
        let later = |read: &Read<'_>| read.spec.purpose.is_live() && read.step > step && read.order >= order;
        step >= self.here && (self.any(later) || self.elsewhere.is_some_and(|at| at >= order))
    }

    /// Whether what a limit was worked out from is told otherwise now, but for what later steps of the run told after it.
    fn is_judged_otherwise(&self, read: &Read<'_>) -> bool {
        let Read { taken, spec, step, order } = *read;
        let Some(used) = &taken.inputs_used else { return spec.depends_on_the_job() };
        let changed = if spec.purpose.tells_of_the_amplifier() {
            self.job.changed_since(taken.changes_before)
        } else {
            self.job.part_changed_since(taken.changes_before)
        };
        used.iter().any(|(id, text)| {
            let measured = values::find(id).is_ok_and(|known| known.measured);
            let anew = |other: &Read<'_>| {
                other.tells(id)
                    && other.step <= step
                    && other.order > order
                    && !is_kept_as(other.taken, id, text)
            };
            (measured && changed.is_some())
                || self.any(anew)
                || (!self.is_told_later(read, id)
                    && self.job.values.get(id).is_none_or(|value| value.text != *text))
        })
    }

    /// Whether what a reading told the job was since told otherwise: by an earlier step, which was gone back to (mains that
    /// were read behind the lamp must not judge a bias at full mains); or, where limits here lean on it, by someone else.
    fn is_overwritten(&self, read: &Read<'_>) -> bool {
        let Read { taken, spec, step, .. } = *read;
        let Some(id) = spec.feeds(&taken.blank) else { return false };
        let same =
            |text: &str| self.any(|other| other.spec.id == spec.id && is_kept_as(other.taken, id, text));
        match self.job.values.get(id).map(|value| (&value.from, &value.text)) {
            Some((From::Reading { procedure, reading }, _)) if *procedure == self.procedure.page => {
                self.any(|other| other.spec.id == *reading && other.step < step)
            }
            told => {
                self.gates_depend_on(id)
                    && !self.is_told_later(read, id)
                    && !told.is_some_and(|(_, text)| same(text))
            }
        }
    }

    /// Whether a later step of the run told a value after this reading.
    fn is_told_later(&self, read: &Read<'_>, id: &str) -> bool {
        self.any(|other| other.tells(id) && other.step > read.step && other.order > read.order)
    }
}

impl Read<'_> {
    /// Whether it fills a value of the job.
    fn tells(&self, id: &str) -> bool {
        self.spec.feeds(&self.taken.blank) == Some(id)
    }
}

/// Whether a reading comes to this text in a value of the job.
fn is_kept_as(taken: &Reading, id: &str, text: &str) -> bool {
    values::find(id).is_ok_and(|known| known.read(&taken.text).is_ok_and(|kept| kept == text))
}
