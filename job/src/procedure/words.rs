//! This amplifier's own words in the sentences of a procedure. `{valve: 6L6GC}`, `{pin grid: 5}` and
//! `{0.95 × job.bias-expected: −43.7 V}` represent its output valve, a pin of that, a figure; behind the colon stands what is
//! printed, which is the demonstration amplifier's.

use calc_core::calculator::Inputs;
use calc_core::nearest;
use calc_core::valve::{Electrode, pins};

use super::{Bound, Of};
use crate::run::judge::calculators;
use crate::run::judge::limit::Limit;
use crate::{Job, values};

/// What is in a run where the amplifier's own is not known.
pub const UNKNOWN: &str = "unknown";

/// The electrodes that a sentence may ask for.
const ELECTRODES: [(&str, Electrode); 5] = [
    ("grid", Electrode::ControlGrid),
    ("anode", Electrode::Anode),
    ("cathode", Electrode::Cathode),
    ("screen", Electrode::ScreenGrid),
    ("heater", Electrode::Heater),
];

/// A part of a sentence.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Part<'t> {
    /// Words as they stand.
    Text(&'t str),
    /// The amplifier's own: what it is of, as [`Own::read`] takes it, and what is printed.
    Own(&'t str, &'t str),
}

/// The parts of a sentence, in order.
#[must_use]
pub fn parts(text: &str) -> Vec<Part<'_>> {
    let mut parts = Vec::new();
    let mut rest = text;
    while let Some((before, of, example, after)) = next(rest) {
        if !before.is_empty() {
            parts.push(Part::Text(before));
        }
        parts.push(Part::Own(of, example));
        rest = after;
    }
    if !rest.is_empty() {
        parts.push(Part::Text(rest));
    }
    parts
}

/// What stands before the first brace with a colon, the two parts in it, and what stands behind it.
fn next(text: &str) -> Option<(&str, &str, &str, &str)> {
    let mut from = 0;
    loop {
        let open = from + text.get(from..)?.find('{')?;
        let inside = text.get(open + 1..)?;
        let close = inside.find('}')?;
        match inside.get(..close)?.rsplit_once(": ").or_else(|| inside.get(..close)?.rsplit_once(':')) {
            Some((of, example)) => {
                return Some((text.get(..open)?, of.trim(), example.trim(), inside.get(close + 1..)?));
            }
            None => from = open + 1,
        }
    }
}

/// A sentence for a job.
#[must_use]
pub fn said(text: &str, job: &Job) -> String {
    let word = |part: &Part<'_>| match part {
        Part::Text(text) => (*text).to_owned(),
        Part::Own(of, _) => Own::read(of).map_or_else(|_| UNKNOWN.to_owned(), |own| own.words(job)),
    };
    parts(text).iter().map(word).collect()
}

/// A sentence as it is printed, with the examples.
#[must_use]
pub fn printed(text: &str) -> String {
    let word = |part: &Part<'_>| match part {
        Part::Text(text) | Part::Own(_, text) => (*text).to_owned(),
    };
    parts(text).iter().map(word).collect()
}

/// What of an amplifier is in a sentence.
#[derive(Debug, Clone, PartialEq)]
pub enum Own {
    /// The type number of its output valve.
    Valve,
    /// The pins of that valve that lead to an electrode.
    Pin(Electrode),
    /// A figure, as limits write it.
    Figure(Bound),
}

impl Own {
    /// Reads what stands before the colon.
    ///
    /// # Errors
    /// What is wrong with it and what would be right.
    pub fn read(text: &str) -> Result<Self, (String, String)> {
        if text == "valve" {
            return Ok(Self::Valve);
        }
        if let Some(name) = text.strip_prefix("pin ") {
            let found = ELECTRODES.iter().find(|(known, _)| *known == name.trim());
            return found.map(|(_, electrode)| Self::Pin(*electrode)).ok_or_else(|| {
                let names = ELECTRODES.iter().map(|(known, _)| *known);
                let right = nearest(name, names.clone())
                    .map_or_else(|| names.collect::<Vec<_>>().join(", pin "), str::to_owned);
                ("names no pin of an output valve".to_owned(), format!("pin {right}"))
            });
        }
        Bound::named(text)?.map(Self::Figure).ok_or_else(|| {
            let right = nearest(text, ["valve"]).unwrap_or("valve, pin grid, job.VALUE or CALCULATOR.ANSWER");
            ("is not part of an amplifier".to_owned(), right.to_owned())
        })
    }

    /// Whether the value or the answer that it names is there.
    ///
    /// # Errors
    /// What is wrong with it and what would be right.
    pub fn check(&self) -> Result<(), (String, String)> {
        match self {
            Self::Valve | Self::Pin(_) => Ok(()),
            Self::Figure(bound) => unit_of(&bound.of).map(|_| ()),
        }
    }

    /// The words for a job: its own, or [`UNKNOWN`].
    #[must_use]
    pub fn words(&self, job: &Job) -> String {
        let valve = job.values.get("output-valve").map(|value| value.text.as_str());
        let words = match self {
            Self::Valve => valve.map(str::to_owned),
            Self::Pin(electrode) => valve.and_then(|valve| pins_of(valve, *electrode)),
            Self::Figure(bound) => figure(bound, job),
        };
        words.unwrap_or_else(|| UNKNOWN.to_owned())
    }
}

/// `5`, or `2 and 7`.
fn pins_of(valve: &str, electrode: Electrode) -> Option<String> {
    let numbered = (1..).zip(pins(valve)?);
    let numbers: Vec<String> = numbered
        .filter(|(_, pin)| pin.has(electrode))
        .map(|(number, _): (u8, _)| number.to_string())
        .collect();
    (!numbers.is_empty()).then(|| numbers.join(" and "))
}

/// A figure for a job. What is chosen in words is said as its label.
fn figure(bound: &Bound, job: &Job) -> Option<String> {
    if let Of::Job(id) = &bound.of {
        let (known, value) = (values::find(id).ok()?, job.values.get(id)?);
        if !known.is_a_number() {
            return Some(known.label_of(&value.text).to_owned());
        }
    }
    Limit::said(bound, job)
}

/// The unit of a value or an answer that a limit names, as its symbol; `None` of a fixed figure.
///
/// # Errors
/// What is wrong with the name and what would be right.
pub(super) fn unit_of(of: &Of) -> Result<Option<&'static str>, (String, String)> {
    match of {
        Of::Fixed(_) => Ok(None),
        Of::Job(id) => match values::find(id) {
            Ok(known) => {
                Ok(Some(crate::unit::measure(known.unit()).map_or("", |measure| measure.unit.symbol)))
            }
            Err(unknown) => {
                let near = unknown.nearest.map(|near| format!("job.{near}"));
                let right = near.unwrap_or_else(|| "a value of job/src/values/table.rs".to_owned());
                Err(("names no value of a job".to_owned(), right))
            }
        },
        Of::Answer { calculator, answer } => {
            let Some(outcome) = calculators::calculate(calculator, &Inputs::new()) else {
                let right = nearest(calculator, calculators::names()).map_or_else(
                    || format!("one of {}", calculators::names().collect::<Vec<_>>().join(", ")),
                    |near| format!("{near}.{answer}"),
                );
                return Err((format!("names no calculator of limits “{calculator}”"), right));
            };
            let answers = outcome.report.as_ref().map_or(&[][..], |report| &report.answers);
            let ids = answers.iter().map(|answered| answered.answer.id);
            let found = answers.iter().find(|answered| answered.answer.id == answer);
            found.map(|answered| Some(answered.answer.unit.symbol)).ok_or_else(|| {
                let right = nearest(answer, ids.clone()).map_or_else(
                    || format!("one of {}", ids.collect::<Vec<_>>().join(", ")),
                    |near| format!("{calculator}.{near}"),
                );
                ("names no answer of that calculator".to_owned(), right)
            })
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{From, Time};

    fn job(values: &[(&str, &str)]) -> Job {
        let mut job = Job::new("1", "A head", Time::from_seconds(0));
        for (id, text) in values {
            job.set(id, text, From::Typed, Time::from_seconds(0)).unwrap();
        }
        job
    }

    #[test]
    fn a_sentence_has_its_parts_in_order() {
        assert_eq!(
            parts("pin {pin grid: 5}, {not one} {valve:6L6GC}"),
            [
                Part::Text("pin "),
                Part::Own("pin grid", "5"),
                Part::Text(", {not one} "),
                Part::Own("valve", "6L6GC"),
            ]
        );
        for plain in ["", "no brace", "{", "}{", "{a", "a } b", "{: "] {
            assert_eq!(printed(plain), plain);
        }
    }

    // Pins of the EL84 (Philips, 1969): g1 on 2, k and g3 on 3, heater on 4 and 5, anode on 7, g2 on 9. Of the EL34: 5, 8, 2
    // and 7, 3, 4.
    #[test]
    fn a_sentence_speaks_of_this_amplifier() {
        let text = "{valve: 6L6GC}: {pin grid: 5}, {pin cathode: 8}, {pin heater: 2 and 7}, {pin anode: 3}, \
                    {pin screen: 4}; {0.95 × job.bias-expected: −43.7 V} of {job.mains-marked: 120 V}, {job.rectifier: silicon}";
        let said = |values: &[(&str, &str)]| said(text, &job(values)).replace('\u{a0}', " ");
        let small = [
            ("output-valve", "EL84"),
            ("mains-marked", "230"),
            ("bias-expected", "-9"),
            ("rectifier", "valve"),
        ];
        assert_eq!(said(&small), "EL84: 2, 3, 4 and 5, 7, 9; −8.55 V of 230 V, a valve");
        assert_eq!(
            said(&[("output-valve", "EL34")]),
            "EL34: 5, 8, 2 and 7, 3, 4; unknown of unknown, unknown"
        );
        assert!(said(&[("output-valve", "a valve of the shop’s own")]).contains("own: unknown, unknown"));
        assert_eq!(printed("{valve: 6L6GC} at {job.ht: 490 V}"), "6L6GC at 490 V");
    }

    #[test]
    fn what_a_calculator_cannot_tell_from_the_job_is_unknown() {
        let sentence = "about {mains-drift.bias: −44 V}";
        assert_eq!(said(sentence, &job(&[])), "about unknown");
        let known = job(&[("mains-marked", "230"), ("mains-measured", "230"), ("bias-expected", "-37")]);
        assert_eq!(said(sentence, &known).replace('\u{a0}', " "), "about −37 V");
    }
}
