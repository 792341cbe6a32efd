//! The limits of a reading, worked out for one job.

use std::cmp::Ordering;
use std::collections::BTreeMap;

use calc_core::quantity::unit::OHM;

use super::judgement::{CannotTell, Judgement, MissingInput, Stop};
use super::limit::{Limit, Side};
use crate::Job;
use crate::procedure::words::said;
use crate::procedure::{Bound, ReadingSpec};
use crate::unit::{Measure, OVER_RANGE};

/// The limits of a reading for one job.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Limits {
    /// Below this it stops.
    pub low: Option<Result<Limit, CannotTell>>,
    /// Above this it stops.
    pub high: Option<Result<Limit, CannotTell>>,
    /// Below this it is noted.
    pub note_low: Option<Result<Limit, CannotTell>>,
    /// Above this it is noted.
    pub note_high: Option<Result<Limit, CannotTell>>,
    /// What is expected of what is judged by eye, in words.
    pub seen: String,
}

/// An ohmmeter shows what is more than some megohms as open (common practice, no source). Where a page says that so many
/// ohms and more are plausible, an open circuit is too.
const OPEN_CIRCUIT: f64 = 1e6;

impl Limits {
    /// Works out the limits of a reading.
    #[must_use]
    pub fn of(spec: &ReadingSpec, job: &Job) -> Self {
        let limit =
            |bound: &Option<Bound>, side| bound.as_ref().map(|bound| Limit::of(bound, side, &spec.unit, job));
        Self {
            low: limit(&spec.low, Side::Low),
            high: limit(&spec.high, Side::High),
            note_low: limit(&spec.note_low, Side::Low),
            note_high: limit(&spec.note_high, Side::High),
            seen: if spec.is_seen() { said(&spec.expect, job) } else { String::new() },
        }
    }

    /// The limits in words, as they are kept with a reading and printed on its hand-over sheets: `−70 V to −41 V`, `at most 10 V`,
    /// `at most 61 mA (limit unconfirmed)`.
    #[must_use]
    pub fn words(&self) -> String {
        let written = |limit: &Option<Result<Limit, CannotTell>>| match limit {
            Some(Ok(limit)) => Some(limit.written.clone()),
            Some(Err(_)) => Some("unknown".to_owned()),
            None => None,
        };
        let range = match (written(&self.low), written(&self.high)) {
            (Some(low), Some(high)) => format!("{low} to {high}"),
            (Some(low), None) => format!("at least {low}"),
            (None, Some(high)) => format!("at most {high}"),
            (None, None) => String::new(),
        };
        let mut known = [&self.low, &self.high].into_iter().flatten().flatten();
        if known.any(|limit| limit.unconfirmed) { format!("{range} (limit unconfirmed)") } else { range }
    }

    /// What a reading is held against, in words: its limits, or what is expected to be seen.
    pub(super) fn range(&self, spec: &ReadingSpec) -> String {
        if spec.is_seen() { self.seen.clone() } else { self.words() }
    }

    /// The figure at which to stop, `−41 V` or `108 V to 132 V`; `None` where one is not known, or there is none.
    #[must_use]
    pub fn figure(&self) -> Option<String> {
        match (&self.low, &self.high) {
            (Some(Ok(one)), None) | (None, Some(Ok(one))) => Some(one.written.clone()),
            (Some(Ok(low)), Some(Ok(high))) => Some(format!("{} to {}", low.written, high.written)),
            _ => None,
        }
    }

    /// The values that the limits which stop lack, each once.
    #[must_use]
    pub fn missing_inputs(&self) -> Vec<MissingInput> {
        let mut all: Vec<MissingInput> = Vec::new();
        for limit in [&self.low, &self.high].into_iter().flatten() {
            for lack in limit.as_ref().err().into_iter().flat_map(|cannot| &cannot.missing_inputs) {
                if !all.contains(lack) {
                    all.push(*lack);
                }
            }
        }
        all
    }

    /// The values that the limits which stop were worked out from, as they are in the job.
    pub(super) fn inputs_used(&self, job: &Job) -> BTreeMap<String, String> {
        let ids =
            [&self.low, &self.high].into_iter().flatten().flatten().flat_map(|limit| &limit.inputs_used);
        let mut used = BTreeMap::new();
        used.extend(ids.filter_map(|id| Some(((*id).to_owned(), job.values.get(*id)?.text.clone()))));
        used
    }

    /// Whether a reading in range is below nothing.
    pub(super) fn are_below_nothing(&self) -> bool {
        let below = |limit: &Option<Result<Limit, CannotTell>>| {
            limit.as_ref().and_then(|limit| limit.as_ref().ok()).is_some_and(|limit| limit.si < 0.0)
        };
        below(&self.high) || (self.high.is_none() && below(&self.note_high))
    }

    /// How far a value is from the nearest limit that stops; smaller is worse. `None` where there is no such limit.
    pub(super) fn room(&self, si: f64) -> Option<f64> {
        let known = |limit: &Option<Result<Limit, CannotTell>>| {
            limit.as_ref().and_then(|limit| limit.as_ref().ok()).map(|limit| limit.si)
        };
        match (known(&self.low).map(|low| si - low), known(&self.high).map(|high| high - si)) {
            (Some(below), Some(above)) => Some(below.min(above)),
            (below, above) => below.or(above),
        }
    }

    /// Judges what is beyond the meter's range. Of ohms that is an open circuit: above every limit, and in range of a lower
    /// one alone if an open circuit can honestly be read there; volts and amperes beyond the range are never in range.
    pub(super) fn judge_over(&self, spec: &ReadingSpec, measure: Measure) -> Judgement {
        let stop = |limit: String, source: &str| {
            Judgement::Stop(Stop { read: OVER_RANGE.to_owned(), limit, source: source.to_owned() })
        };
        let written = |limit: &Result<Limit, CannotTell>| {
            limit.as_ref().map_or_else(|_| "an unknown figure".to_owned(), |limit| limit.written.clone())
        };
        let open = spec.plausible.is_some_and(|plausible| plausible.high >= OPEN_CIRCUIT);
        match (&self.low, &self.high) {
            (None, None) => Judgement::Recorded,
            _ if measure.unit.symbol != OHM.symbol => {
                stop(self.words(), "a reading beyond the meter’s range is never in range")
            }
            (_, Some(high)) => stop(format!("at most {}", written(high)), "an open circuit is above it"),
            (Some(Err(lack)), None) => Judgement::CannotTell(lack.clone()),
            (Some(low), None) if !open => stop(
                format!("at least {}", written(low)),
                "an open circuit is not a reading that this page accepts here",
            ),
            (Some(Ok(_)), None) if self.note_high.is_some() => {
                Judgement::Noted("an open circuit, or beyond the meter’s range".to_owned())
            }
            (Some(Ok(_)), None) => Judgement::InRange,
        }
    }

    /// Judges a value. One limit that it passes is enough to stop, whatever is not known of the other.
    pub(super) fn judge(&self, si: f64, measure: Measure) -> Judgement {
        let stop = |limit: &Limit, word: &str| {
            Judgement::Stop(Stop {
                read: measure.repeated(si),
                limit: format!("{word} {}", limit.written),
                source: limit.source.clone(),
            })
        };
        match (&self.low, &self.high) {
            (Some(Ok(low)), _) if passes(si, low.si, Ordering::Less) => return stop(low, "at least"),
            (_, Some(Ok(high))) if passes(si, high.si, Ordering::Greater) => return stop(high, "at most"),
            (Some(Err(lack)), _) | (_, Some(Err(lack))) => return Judgement::CannotTell(lack.clone()),
            _ => {}
        }
        let noted = |limit: &Limit, word: &str| {
            Judgement::Noted(format!(
                "{} is {word} {} ({}): unusual, but no reason to stop",
                measure.repeated(si),
                limit.written,
                limit.source
            ))
        };
        let untold =
            |lack: &CannotTell| Judgement::Noted(format!("cannot tell whether this is usual. {}", lack.why));
        match (&self.note_low, &self.note_high) {
            (Some(Ok(low)), _) if passes(si, low.si, Ordering::Less) => noted(low, "below"),
            (_, Some(Ok(high))) if passes(si, high.si, Ordering::Greater) => noted(high, "above"),
            (Some(Err(lack)), _) | (_, Some(Err(lack))) => untold(lack),
            (None, None) if self.low.is_none() && self.high.is_none() => Judgement::Recorded,
            _ => Judgement::InRange,
        }
    }
}

/// Whether a value is beyond a limit, to this side; what cannot be compared does.
fn passes(si: f64, limit: f64, side: Ordering) -> bool {
    si.partial_cmp(&limit).is_none_or(|found| found == side)
}
