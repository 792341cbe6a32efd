//! The current job where every page finds it without waiting: one entry in `localStorage`.
//!
//! ```text
//! {"id":"…","label":"…","fields":{"dissipation.anode-voltage":["438 V",false]},"stops":[…]}    for with-job.js and stop.js
//! dissipation anode-voltage=438+V;cathode-current=34+mA                                        for the calculators
//! ```
//!
//! The store is what counts; this is written after each change and may lag or be gone.

use std::collections::{BTreeMap, BTreeSet};

use calc_core::calculator::to_line;
use job::{Job, Judged, Taken, values};
use serde::{Deserialize, Serialize};

use crate::browser::page;

/// What `with-job.js` reads.
#[derive(Serialize, Deserialize)]
struct Mirror {
    id: String,
    label: String,
    /// By `calculator.field`: the text, and whether it is older than a change of the amplifier.
    fields: BTreeMap<String, (String, bool)>,
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

/// The id of the current job.
#[must_use]
pub fn current() -> Option<String> {
    let text = page::job_text()?;
    let mirror: Mirror = serde_json::from_str(text.lines().next()?).ok()?;
    Some(mirror.id)
}

/// Writes the current job's values.
pub fn set(job: &Job) {
    page::set_job_text(Some(&text(job)));
}

/// There is no current job any more.
pub fn forget() {
    page::set_job_text(None);
}

fn text(job: &Job) -> String {
    let fills = values::KNOWN.iter().flat_map(|known| known.fills);
    let mut calculators = BTreeSet::new();
    calculators.extend(fills.filter_map(|fills| Some(fills.split_once('.')?.0)));
    let (mut fields, mut lines) = (BTreeMap::new(), String::new());
    for calculator in calculators {
        let filled = job.inputs_for(calculator);
        if filled.inputs.is_empty() {
            continue;
        }
        lines += &format!("\n{calculator} {}", to_line(&filled.inputs));
        for (field, text) in filled.inputs {
            let stale = filled.stale.iter().any(|(stale, _)| *stale == field);
            fields.insert(format!("{calculator}.{field}"), (text, stale));
        }
    }
    let mirror = Mirror { id: job.id.clone(), label: job.label.clone(), fields, stops: stops(job) };
    serde_json::to_string(&mirror).unwrap_or_default() + &lines
}

/// The STOPs that stand: one is over when its reading was read in range. What came with a link was read elsewhere.
fn stops(job: &Job) -> Vec<Standing> {
    let mut standing: Vec<&Taken> = Vec::new();
    for taken in job.readings.iter().filter(|taken| taken.run > 0 && taken.judged != Judged::CannotTell) {
        let is_same = |other: &Taken| {
            (&other.procedure, &other.reading, &other.blank)
                == (&taken.procedure, &taken.reading, &taken.blank)
        };
        standing.retain(|other| !is_same(other));
        if taken.judged == Judged::Stop {
            standing.push(taken);
        }
    }
    let words = |taken: &&Taken| Standing {
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
        let text = text(&job);
        let line = text.lines().find_map(|line| line.strip_prefix("dissipation ")).expect("a line");
        assert_eq!(from_line(line).0, Inputs::from([("anode-voltage".to_owned(), "438 V".to_owned())]));
        let mirror: Mirror = serde_json::from_str(text.lines().next().expect("a first line")).expect("JSON");
        assert_eq!(mirror.fields["dissipation.anode-voltage"], ("438 V".to_owned(), false));
        assert_eq!(mirror.label, "Head; \"two\"");
    }

    #[test]
    fn a_stop_stands_until_its_own_blank_is_read_in_range() {
        let mut job = Job::new("j1", "Head", Time::from_seconds(0));
        let mut read = |blank: &str, text: &str, judged, run| {
            let (blank, text) = (blank.to_owned(), text.to_owned());
            let quantity = "Earth".to_owned();
            job.readings.push(Taken { blank, text, judged, run, quantity, ..taken() });
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

    fn taken() -> Taken {
        serde_json::from_str(
            "{\"procedure\":\"p.html\",\"step\":\"step-1\",\"reading\":\"earth\",\"blank\":\"\",\"quantity\":\"\",\"text\":\"\",\"unit\":\"Ω\",\"at\":\"2026-11-29T12:00:00Z\",\"judged\":\"stop\",\"range\":\"\",\"run\":1,\"after\":0}",
        )
        .expect("a reading")
    }
}
