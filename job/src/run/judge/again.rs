//! Judges again what was read: no verdict is believed that was not come to here.

use super::{Judgement, Limits, judge_text};
use crate::Job;
use crate::procedure::{Procedure, ReadingSpec};
use crate::record::{From, Judged, Reading, Value};
use crate::values;

impl Job {
    /// Judges every reading of a procedure's run again, from its text and by the values that it was judged by. One that came
    /// with a file counts from then on as this comes out; what is hard to believe was confirmed nowhere if it came with one,
    /// and nothing can be told of it. What the procedure does not know opens nothing, and stays as it is.
    pub fn judge_again(&mut self, procedure: &Procedure) {
        let run = self.run(&procedure.page);
        for at in 0..self.readings.len() {
            let Some(taken) = self.readings.get(at) else { continue };
            let Some((step, spec)) = procedure.reading(&taken.reading) else { continue };
            if taken.run != run || taken.procedure != procedure.page || !spec.blanks.may_have(&taken.blank) {
                continue;
            }
            let judged = self.judged_again(taken, spec);
            if let Some(taken) = self.readings.get_mut(at) {
                *taken = Reading { step: step.id.clone(), ..judged };
            }
        }
    }

    fn judged_again(&self, taken: &Reading, spec: &ReadingSpec) -> Reading {
        let then = self.as_judged_by(taken);
        let limits = Limits::of(spec, &then);
        let (judgement, meant) = judge_text(spec, &taken.text, !taken.from_file, &limits);
        // Where nothing was written down of what it was judged by, nothing is known of it now.
        let inputs_used = taken.inputs_used.as_ref().map(|_| limits.inputs_used(&then));
        Reading {
            quantity: spec.quantity.clone(),
            text: meant.map_or_else(|| taken.text.clone(), |meant| meant.canonical()),
            unit: spec.unit.clone(),
            judged: judgement.judged().unwrap_or(Judged::CannotTell),
            range: limits.range(spec),
            why: if let Judgement::Noted(why) = judgement { why } else { String::new() },
            purpose: spec.purpose,
            from_file: false,
            inputs_used,
            ..taken.clone()
        }
    }

    /// The job as it was when something was judged, as far as that is written down: its values by what it was judged by, and
    /// of the others those that are not stale, each as it would be kept if it was typed.
    fn as_judged_by(&self, taken: &Reading) -> Self {
        let mut then = Self::default();
        let mut put = |id: &str, text: &str| {
            let Ok(text) =
                values::find(id).map_err(|_| ()).and_then(|known| known.read(text).map_err(|_| ()))
            else {
                then.values.remove(id);
                return;
            };
            let value = Value { text, at: taken.at, from: From::Typed, changes_before: 0 };
            then.values.insert(id.to_owned(), value);
        };
        for (id, value) in self.values.iter().filter(|(id, _)| !self.is_stale(id)) {
            put(id, &value.text);
        }
        for (id, text) in taken.inputs_used.iter().flatten() {
            put(id, text);
        }
        then
    }
}
