//! What pages without the module of the job need of the job on the bench: its values for the calculators, its STOPs. One
//! record, written in the transaction that writes the job, and read by `web/js/current-job.js`.
//!
//! ```text
//! {"id":"…","revision":7,"label":"…",
//!  "fields":{"dissipation.anode-voltage":["438 V",false]},      for with-job.js
//!  "lines":{"dissipation":"anode-voltage=438+V"},               for the calculators
//!  "stops":[…]}                                                 for stop.js
//! ```

use std::collections::{BTreeMap, BTreeSet};

use calc_core::calculator::to_line;
use job::{Job, Judged, Reading, values};
use serde::{Deserialize, Serialize};

use crate::platform::page;

/// The record that calculators read of the job in hand.
#[derive(Debug, Default, Serialize, Deserialize)]
struct CurrentJob {
    id: String,
    /// The revision of the job that this is of. Where the head of the job has another, an earlier edition of the book has
    /// changed the job and knew nothing of this: then it is not to be believed.
    #[serde(default)]
    revision: u64,
    label: String,
    /// By `calculator.field`: the text, and whether it is older than a change of the amplifier.
    fields: BTreeMap<String, (String, bool)>,
    /// By calculator: the inputs that the job knows, as calculators keep them.
    #[serde(default)]
    lines: BTreeMap<String, String>,
    /// The STOPs that stand, the newest first.
    #[serde(default)]
    stops: Vec<Standing>,
}

/// A reading that stopped and was not read in range since.
#[derive(Debug, PartialEq, Serialize, Deserialize)]
struct Standing {
    page: String,
    step: String,
    what: String,
    read: String,
}

/// The record of a job at this revision.
#[must_use]
pub fn record(job: &Job, revision: u64) -> String {
    let fills = values::KNOWN.iter().flat_map(|known| known.fills);
    let mut calculators = BTreeSet::new();
    calculators.extend(fills.filter_map(|fills| Some(fills.split_once('.')?.0)));
    let (mut fields, mut lines) = (BTreeMap::new(), BTreeMap::new());
    for calculator in calculators {
        let filled = job.inputs_for(calculator);
        if filled.inputs.is_empty() {
            continue;
        }
        lines.insert(calculator.to_owned(), to_line(&filled.inputs));
        for (field, text) in filled.inputs {
            let stale = filled.stale.iter().any(|(stale, _)| *stale == field);
            fields.insert(format!("{calculator}.{field}"), (text, stale));
        }
    }
    let (id, label) = (job.id.clone(), job.label.clone());
    let record = CurrentJob { id, revision, label, fields, lines, stops: stops(job) };
    serde_json::to_string(&record).unwrap_or_default()
}

/// Whether a record is of this job at this revision.
#[must_use]
pub fn is_of(record: &str, id: &str, revision: u64) -> bool {
    serde_json::from_str::<CurrentJob>(record).is_ok_and(|found| found.id == id && found.revision == revision)
}

/// The id of the job that an earlier edition of the book had on the bench: it kept its record elsewhere.
#[must_use]
pub fn of_an_earlier_edition() -> Option<String> {
    let text = page::kept_by_earlier_editions()?;
    Some(serde_json::from_str::<CurrentJob>(text.lines().next()?).ok()?.id)
}

/// The STOPs that stand: one is over when its reading was read in range. What came with a link was read elsewhere.
fn stops(job: &Job) -> Vec<Standing> {
    let mut standing: Vec<&Reading> = Vec::new();
    for taken in job.readings.iter().filter(|taken| taken.run > 0 && taken.judged != Judged::CannotTell) {
        let is_same = |other: &Reading| {
            (&other.procedure, &other.reading, &other.blank)
                == (&taken.procedure, &taken.reading, &taken.blank)
        };
        standing.retain(|other| !is_same(other));
        if taken.judged == Judged::Stop {
            standing.push(taken);
        }
    }
    let words = |taken: &&Reading| Standing {
        page: taken.procedure.clone(),
        step: taken.step.clone(),
        what: format!("{} {}", taken.quantity, taken.blank).trim_end().to_owned(),
        read: taken.text.clone(),
    };
    standing.iter().rev().map(words).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use calc_core::calculator::{Inputs, from_line};
    use job::{From, Time};

    #[test]
    fn a_calculator_finds_its_line_and_the_page_what_is_stale() {
        let mut job = Job::new("j1", "Head; \"two\"", Time::from_seconds(0));
        job.set("anode-voltage", "438", From::Typed, Time::from_seconds(1)).expect("a value");
        let text = record(&job, 7);
        let read: CurrentJob = serde_json::from_str(&text).expect("JSON");
        let line = from_line(&read.lines["dissipation"]).0;
        assert_eq!(line, Inputs::from([("anode-voltage".to_owned(), "438 V".to_owned())]));
        assert_eq!(read.fields["dissipation.anode-voltage"], ("438 V".to_owned(), false));
        assert_eq!(read.label, "Head; \"two\"");
        assert!(is_of(&text, "j1", 7) && !is_of(&text, "j1", 8) && !is_of(&text, "j2", 7));
    }

    #[test]
    fn a_stop_stands_until_its_own_blank_is_read_in_range() {
        let mut job = Job::new("j1", "Head", Time::from_seconds(0));
        let mut read = |blank: &str, text: &str, judged, run| {
            let (blank, text) = (blank.to_owned(), text.to_owned());
            let quantity = "Earth".to_owned();
            job.readings.push(Reading { blank, text, judged, run, quantity, ..taken() });
            stops(&job)
                .iter()
                .map(|standing| format!("{} {}", standing.what, standing.read))
                .collect::<Vec<_>>()
        };
        assert_eq!(read("A", "9", Judged::Stop, 0), [""; 0], "it came with a link");
        assert_eq!(read("A", "3", Judged::Stop, 1), ["Earth A 3"]);
        assert_eq!(read("B", "4", Judged::Stop, 1), ["Earth B 4", "Earth A 3"]);
        assert_eq!(read("A", "5", Judged::CannotTell, 1), ["Earth B 4", "Earth A 3"]);
        assert_eq!(read("B", "0.1", Judged::InRange, 1), ["Earth A 3"]);
        assert_eq!(read("A", "0.1", Judged::Noted, 2), [""; 0]);
    }

    fn taken() -> Reading {
        serde_json::from_str(
            "{\"procedure\":\"p.html\",\"step\":\"step-1\",\"reading\":\"earth\",\"blank\":\"\",\"quantity\":\"\",\"text\":\"\",\"unit\":\"Ω\",\"at\":\"2026-11-29T12:00:00Z\",\"judged\":\"stop\",\"range\":\"\",\"run\":1,\"after\":0}",
        )
        .expect("a reading")
    }
}
