//! Takes a reading: judges it, keeps it, and puts it into the values that it feeds.

use super::{Calculate, Judgement, Limits, weighed};
use crate::Time;
use crate::procedure::ReadingSpec;
use crate::record::{From, Job, PROVES_NOTHING, Taken};
use crate::unit::measure;

/// Where and what is read.
#[derive(Debug, Clone, Copy)]
pub struct Take<'t> {
    /// The procedure's page.
    pub procedure: &'t str,
    /// The step.
    pub step: &'t str,
    /// The reading.
    pub spec: &'t ReadingSpec,
    /// Which blank; empty where there is one.
    pub blank: &'t str,
    /// What was typed.
    pub text: &'t str,
    /// When.
    pub at: Time,
}

/// What is noted of a reading, in words.
fn noted(spec: &ReadingSpec, judgement: &Judgement) -> String {
    let noted = if let Judgement::Noted(why) = judgement { Some(why.as_str()) } else { None };
    let aside = spec.purpose.aside().map(|aside| format!("{aside}: {PROVES_NOTHING}"));
    noted.map(str::to_owned).into_iter().chain(aside).collect::<Vec<_>>().join("; ")
}

impl Job {
    /// Takes a reading of the run under way. What is no reading ([`Judgement::Unread`]) changes nothing.
    pub fn take(&mut self, take: Take<'_>, calculate: &dyn Calculate) -> Judgement {
        let Take { procedure, step, spec, blank, text, at } = take;
        let limits = Limits::of(spec, self, calculate);
        let (judgement, understood) = weighed(spec, text, &limits);
        let Some(judged) = judgement.judged() else { return judgement };
        self.readings.push(Taken {
            procedure: procedure.to_owned(),
            step: step.to_owned(),
            reading: spec.id.clone(),
            blank: blank.to_owned(),
            quantity: spec.quantity.clone(),
            text: understood.map_or_else(|| text.trim().to_owned(), |understood| understood.lasting),
            unit: spec.unit.clone(),
            at,
            judged,
            range: if spec.is_seen() { spec.expect.clone() } else { limits.words() },
            run: self.run(procedure),
            why: noted(spec, &judgement),
            after: self.changes.len(),
            by: Some(limits.by(self)),
        });
        self.changed = at;
        self.feed(&take, &limits);
        judgement
    }

    /// Puts the reading into its value of the job. One value for several blanks takes the worst of this run.
    fn feed(&mut self, take: &Take<'_>, limits: &Limits) {
        let Take { procedure, spec, blank, at, .. } = *take;
        let Some(id) = spec.feeds(blank) else { return };
        let run = self.run(procedure);
        let shared = spec.feeds.len() == 1;
        let after = self.changes.len();
        let mut worst: Option<(f64, String)> = None;
        for other in spec.blanks(self).into_iter().filter(|other| shared || *other == blank) {
            let Some(taken) = self.last(procedure, &spec.id, other) else { continue };
            let read = measure(&spec.unit).ok().and_then(|measure| measure.understood("", &taken.text).ok());
            let Some(read) = read.filter(|_| taken.run == run && taken.after == after) else { continue };
            // Without a limit the last one typed counts.
            let room = limits.room(read.si).unwrap_or(if other == blank { f64::NEG_INFINITY } else { 0.0 });
            if worst.as_ref().is_none_or(|(least, _)| room < *least) {
                worst = Some((room, taken.text.clone()));
            }
        }
        let Some((_, text)) = worst else { return };
        let from = From::Reading { procedure: procedure.to_owned(), reading: spec.id.clone() };
        // Press has seen to it that the value is there and in this unit; where it is not, it stays unknown.
        if self.set(id, &text, from, at).is_err() {
            self.forget(id, at);
        }
    }
}
