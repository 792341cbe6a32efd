//! The apprentice's link: a step of a procedure with its readings, as the fragment of the page's address.
//!
//! ```text
//! run.1;step=5;bias-a=-46+V;idle.A=34+mA
//! ```
//!
//! Only ASCII; no label and no owner are in it. Reading never fails: what is no reading is handed back, what is longer than
//! one without a look at it.

use std::collections::BTreeMap;

use calc_core::calculator::{Inputs, from_line, to_line};
use calc_core::quantity::notation::LONGEST;

use crate::procedure::{Procedure, SEEN};
use crate::record::{Judged, Reading};
use crate::unit::measure;
use crate::{Job, Time};

/// A step and its readings.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct RunLink {
    /// The step, as `step-5`; empty where the link does not say.
    pub step: String,
    /// The readings: reading and blank (empty where there is one), and what was read.
    pub readings: BTreeMap<(String, String), String>,
    /// The parts that could not be read.
    pub damaged: Vec<String>,
}

const HEAD: &str = "run.1";

impl RunLink {
    /// Reads the fragment of an address, without its `#`; `None` where it is no link to a run.
    #[must_use]
    pub fn read(fragment: &str) -> Option<Self> {
        let rest = fragment.strip_prefix("run.")?;
        // Some messengers escape what needs no escape, and with it the marks between the parts.
        let unescaped = rest.replace("%3B", ";").replace("%3b", ";").replace("%3D", "=").replace("%3d", "=");
        let rest = if rest.contains(';') { rest } else { &unescaped };
        let (edition, line) = rest.split_once(';').unwrap_or((rest, ""));
        let mut link = Self::default();
        if edition != "1" {
            link.damaged.push(format!("run.{edition}"));
        }
        let (parts, damaged) = from_line(line);
        link.damaged.extend(damaged);
        for (name, text) in parts {
            let (reading, blank) = name.split_once('.').unwrap_or((&name, ""));
            if text.chars().nth(LONGEST).is_some() {
                link.damaged.push(name);
            } else if name == "step" {
                link.step = if text.bytes().all(|byte| byte.is_ascii_digit()) {
                    format!("step-{text}")
                } else {
                    text
                };
            } else if is_id(reading) {
                link.readings.insert((reading.to_owned(), blank.to_owned()), text);
            } else {
                link.damaged.push(name);
            }
        }
        Some(link)
    }

    /// The fragment of this link, without its `#`.
    #[must_use]
    pub fn written(&self) -> String {
        let name = |reading: &str, blank: &str| {
            if blank.is_empty() { reading.to_owned() } else { format!("{reading}.{blank}") }
        };
        // One by one: a map that is collected brings a sort along.
        let (mut step, mut readings) = (Inputs::new(), Inputs::new());
        readings.extend(
            self.readings.iter().map(|((reading, blank), text)| (name(reading, blank), text.clone())),
        );
        let readings = to_line(&readings);
        let number = self
            .step
            .strip_prefix("step-")
            .filter(|number| !number.is_empty() && number.bytes().all(|byte| byte.is_ascii_digit()));
        step.insert("step".to_owned(), number.unwrap_or(&self.step).to_owned());
        let step = to_line(&step);
        let parts = [HEAD, &step, &readings];
        parts.into_iter().filter(|part| !part.is_empty()).collect::<Vec<_>>().join(";")
    }

    /// The link to a step of a procedure with its last readings in this job.
    #[must_use]
    pub fn to(procedure: &Procedure, step: &str, job: &Job) -> Self {
        let mut link = Self { step: step.to_owned(), ..Self::default() };
        for reading in procedure.step(step).iter().flat_map(|step| step.readings()) {
            for blank in reading.blanks(job) {
                if let Some(taken) = job.last(&procedure.page, &reading.id, blank) {
                    link.readings.insert((reading.id.clone(), blank.to_owned()), ascii(&taken.text));
                }
            }
        }
        link
    }

    /// The readings as a job may adopt them: of no run, so that they open no gate, and not judged. What the procedure does
    /// not know is left out and handed back.
    #[must_use]
    pub fn adopted(
        &self,
        procedure: &Procedure,
        at: Time,
        changes_before: usize,
    ) -> (Vec<Reading>, Vec<String>) {
        let (mut taken, mut unknown) = (Vec::new(), Vec::new());
        for ((id, blank), text) in &self.readings {
            let found = procedure.reading(id).and_then(|(step, reading)| {
                let blank = reading.blanks.now_called(blank)?;
                Some((step, reading, blank))
            });
            let Some((step, reading, blank)) = found else {
                unknown.push(if blank.is_empty() { id.clone() } else { format!("{id}.{blank}") });
                continue;
            };
            let good = match measure(&reading.unit) {
                Ok(measure) => measure.parse(&reading.quantity, text).is_ok(),
                Err(_) => reading.unit == SEEN,
            };
            if !good {
                unknown.push(format!("{}: “{text}”", reading.quantity));
                continue;
            }
            taken.push(Reading {
                procedure: procedure.page.clone(),
                step: step.id.clone(),
                reading: id.clone(),
                blank,
                quantity: reading.quantity.clone(),
                text: text.clone(),
                unit: reading.unit.clone(),
                at,
                judged: Judged::Recorded,
                range: String::new(),
                why: String::new(),
                purpose: reading.purpose,
                from_file: false,
                early: String::new(),
                run: 0,
                changes_before,
                inputs_used: None,
            });
        }
        (taken, unknown)
    }
}

fn is_id(text: &str) -> bool {
    !text.is_empty()
        && text.bytes().all(|byte| byte.is_ascii_lowercase() || byte.is_ascii_digit() || byte == b'-')
}

/// The same text without the letters that a link cannot show.
fn ascii(text: &str) -> String {
    text.replace(['µ', 'μ'], "u").replace(['−', '–', '‐', '‑'], "-").replace(['Ω', '\u{2126}'], "ohm")
}

#[cfg(test)]
mod tests;
