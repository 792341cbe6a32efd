//! Takes a reading: judges it, keeps it, and puts it into the values that it feeds.

use calc_core::calculator::Problem;

use super::{Judgement, Limits, TooEarly, judge_text};
use crate::Time;
use crate::procedure::{Procedure, ReadingSpec, Step, TimerSpec};
use crate::record::{From, Job, Reading};
use crate::unit::{is_over_range, measure};

/// A reading that is about to be recorded.
#[derive(Debug, Clone, Copy)]
pub struct NewReading<'t> {
    /// The procedure whose run is under way.
    pub procedure: &'t Procedure,
    /// Which reading of it, by its id in the page.
    pub reading: &'t str,
    /// Which blank; empty where there is one.
    pub blank: &'t str,
    /// What was typed, or what was doubted and is confirmed.
    pub text: &'t str,
    /// When it was typed, by the clock of the caller.
    pub at: Time,
    /// By what it is judged whether the time that it waits for has run out: when that was started, and for how long it has run
    /// by a clock that nobody sets.
    pub waited: Time,
    /// Whether this very text was doubted ([`Judgement::Doubted`]) and confirmed by a press of its own.
    pub confirmed: bool,
    /// Why it is taken before its time; empty where no reason was written.
    pub early: &'t str,
}

impl<'t> NewReading<'t> {
    /// As it was typed: neither confirmed nor before its time.
    #[must_use]
    pub const fn typed(
        procedure: &'t Procedure,
        reading: &'t str,
        blank: &'t str,
        text: &'t str,
        at: Time,
    ) -> Self {
        Self { procedure, reading, blank, text, at, waited: at, confirmed: false, early: "" }
    }
}

impl Job {
    /// Takes a reading of the run under way. What is no reading ([`Judgement::Unread`]), what is hard to believe and not
    /// confirmed, and what comes before its time without a reason change nothing. What stops is kept at any time.
    pub fn record_reading(&mut self, take: NewReading<'_>) -> Judgement {
        let NewReading { procedure, blank, at, .. } = take;
        let found = procedure.reading(take.reading).filter(|(_, spec)| spec.blanks(self).contains(&blank));
        let Some((step, spec)) = found else {
            let message =
                format!("“{} {blank}” is not a reading of this page for this amplifier.", take.reading);
            return Judgement::Unread(Problem { message, offers: vec![] });
        };
        let limits = Limits::of(spec, self);
        let (judgement, meant) = judge_text(spec, take.text, take.confirmed, &limits);
        let (Some(judged), Some(meant)) = (judgement.judged(), meant) else { return judgement };
        let mut early = "";
        if !matches!(judgement, Judgement::Stop(_))
            && let Some((timer, left)) = self.time_left(procedure, step, spec, blank, take.waited)
        {
            early = take.early.trim();
            if early.is_empty() {
                let read =
                    measure(&spec.unit).map_or_else(|_| meant.canonical(), |measure| meant.written(measure));
                return Judgement::TooEarly(TooEarly { timer: timer.to_owned(), left, read });
            }
        }
        self.readings.push(Reading {
            procedure: procedure.page.clone(),
            step: step.id.clone(),
            reading: spec.id.clone(),
            blank: blank.to_owned(),
            quantity: spec.quantity.clone(),
            text: meant.canonical(),
            unit: spec.unit.clone(),
            at,
            judged,
            range: limits.range(spec),
            run: self.run(&procedure.page),
            why: if let Judgement::Noted(why) = &judgement { why.clone() } else { String::new() },
            purpose: spec.purpose,
            from_file: false,
            early: early.to_owned(),
            changes_before: self.changes.len(),
            inputs_used: Some(limits.inputs_used(self)),
        });
        self.changed = at;
        self.feed(&procedure.page, spec, blank, &limits, at);
        judgement
    }

    /// What a reading waits for, and how many seconds are left, `None` where it was not started; nothing where it need not
    /// wait. What is read live again needs its time again: the mains was off between.
    #[must_use]
    pub fn time_left<'p>(
        &self,
        procedure: &'p Procedure,
        step: &'p Step,
        spec: &'p ReadingSpec,
        blank: &str,
        at: Time,
    ) -> Option<(&'p str, Option<u64>)> {
        if spec.after.is_empty() {
            return None;
        }
        let Some(timer) = step.timers().find(|timer| timer.id == spec.after) else {
            return Some((&spec.after, None));
        };
        if !procedure.asks(timer.when.as_ref(), self) {
            return None;
        }
        let run = self.run(&procedure.page);
        let is_it = |taken: &Reading| {
            taken.run == run
                && taken.procedure == procedure.page
                && taken.reading == spec.id
                && taken.blank == blank
        };
        let read = self.readings.iter().rposition(is_it).filter(|_| spec.purpose.is_live());
        let left = self.left(&procedure.page, timer, at);
        let started = self.started(&procedure.page, &timer.id).map(|started| started.readings_before);
        match (left, started) {
            (Some(left), Some(started)) if read.is_none_or(|read| read < started) => {
                (left > 0).then_some((timer.text.as_str(), Some(left)))
            }
            _ => Some((&timer.text, None)),
        }
    }

    /// How many seconds a timer still has to run in this run; `None` where it was not started. A clock that was set back
    /// makes it longer and never shorter.
    #[must_use]
    pub fn left(&self, procedure: &str, timer: &TimerSpec, at: Time) -> Option<u64> {
        let started = self.started(procedure, &timer.id)?;
        Some(u64::from(timer.seconds).saturating_sub(at.since(started.at)))
    }

    /// Puts the reading into its value of the job. One value for several blanks takes the worst of this run; one beyond the
    /// meter's range is none.
    fn feed(&mut self, page: &str, spec: &ReadingSpec, blank: &str, limits: &Limits, at: Time) {
        let Some(id) = spec.feeds(blank) else { return };
        let Ok(measure) = measure(&spec.unit) else { return };
        let run = self.run(page);
        let shared = spec.feeds.len() == 1;
        let changes = self.changes.len();
        let mut worst: Option<(f64, String)> = None;
        let mut over = false;
        for other in spec.blanks(self).into_iter().filter(|other| shared || *other == blank) {
            let is_it =
                |taken: &&Reading| taken.run == run && taken.changes_before == changes && !taken.from_file;
            let Some(taken) = self.last(page, &spec.id, other).filter(is_it) else { continue };
            over |= is_over_range(&taken.text, measure);
            let Ok(read) = measure.parse("", &taken.text) else { continue };
            // Without a limit the most counts: of volts below nothing that is the least negative.
            let room = limits.room(read.si).unwrap_or(-read.si);
            if worst.as_ref().is_none_or(|(least, _)| room < *least) {
                worst = Some((room, taken.text.clone()));
            }
        }
        let text = worst.map(|(_, text)| text).filter(|_| !over);
        let from = From::Reading { procedure: page.to_owned(), reading: spec.id.clone() };
        // Press has seen to it that the value is there and in this unit; where it is not, it stays unknown.
        if text.is_none_or(|text| self.set(id, &text, from, at).is_err()) {
            self.forget(id, at);
        }
    }
}
