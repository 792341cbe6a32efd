//! Hard inputs, and what must hold of whatever comes of them: every choice, every number up to both ends of its range,
//! tolerances up to the whole value, every notation, and now and then what is no number at all.

use std::collections::BTreeMap;
use std::fmt::Debug;
use std::panic::catch_unwind;

use calc_core::calculator::{Entry, Inputs, Kind, Outcome, Report, tolerance_id};

use crate::random_inputs::random::Random;
use crate::random_inputs::{asked, inputs};

/// So often a number is at one end of its range, and a tolerance is the whole value.
const AT_AN_END: f64 = 0.15;
/// So often a run holds a text that is no number.
const ODD: f64 = 0.05;
/// Pieces of what is no number, or nearly one.
const PIECES: [&str; 16] =
    ["0", "9", ".", ",", "-", "−", "k", "M", "µ", "V", "Ω", "%", ":", ";", " ", "1e308"];

/// The hard inputs of a seed.
#[must_use]
pub fn hard_inputs(entry: &Entry, seed: u64) -> Inputs {
    let mut random = Random::seeded(seed);
    let most = *random.one_of(&[0.0, 5.0, 30.0, 100.0]);
    let mut typed = inputs(entry, &(0.0..=most), &mut random).typed;
    let doubted = typed.keys().find_map(|name| name.strip_suffix(".tolerance"));
    for field in asked(entry, &typed, doubted) {
        if let Kind::Number { within: Some((low, high)), .. } = field.kind
            && random.happens(AT_AN_END)
        {
            typed.insert(field.id.to_owned(), (*random.one_of(&[low, high])).to_owned());
        }
        if field.tolerance.is_some() && most >= 100.0 && random.happens(AT_AN_END) {
            typed.insert(tolerance_id(field.id), "100 %".to_owned());
        }
    }
    if random.happens(ODD)
        && let Some(text) = typed.values_mut().nth(random.place(20))
    {
        *text = (0..random.place(8)).map(|_| *random.one_of(&PIECES)).collect();
    }
    typed
}

/// Everything that is wrong with an outcome, whatever was typed.
#[must_use]
pub fn unsound(outcome: &Outcome) -> Vec<String> {
    let mut wrong = Vec::new();
    let mut look = |what: &str, at: &dyn Debug| {
        let text = format!("{at:?}");
        wrong.extend(odd_number(&text).map(|odd| format!("{what} holds {odd}: {text}")));
    };
    look("a field", &outcome.fields);
    let Some(report) = &outcome.report else {
        if outcome.problems().next().is_none() {
            wrong.push("there is no answer, and no problem at any field".to_owned());
        }
        return wrong;
    };
    let Report { summary, verdicts, steps, picture, drawings, carries, notes, .. } = report;
    look("the summary", summary);
    look("a verdict", verdicts);
    look("the working", steps);
    look("the picture", picture);
    look("a drawing", drawings);
    look("what is carried on", carries);
    look("a note", notes);
    report.tables.iter().for_each(|table| look("a table", &table.get()));
    report.exports.iter().for_each(|export| look("a file", &export.text.get()));
    for answered in &report.answers {
        let margin = &answered.margin;
        let id = answered.answer.id;
        if !margin.value.is_finite() {
            wrong.push(format!("{id} is {}", margin.value));
        }
        let ordered = margin.low <= margin.value && margin.value <= margin.high && margin.rss >= 0.0;
        let finite = margin.low.is_finite() && margin.high.is_finite() && margin.rss.is_finite();
        if margin.known && !(ordered && finite) {
            wrong.push(format!("{id} has a margin that is none: {margin:?}"));
        }
        if !margin.known && !answered.span().starts_with("cannot tell") {
            wrong.push(format!("{id} does not say that its margin is unknown: {}", answered.span()));
        }
        let (least, most) = answered.answer.bounds;
        if !(least..=most).contains(&margin.value) {
            wrong.push(format!("{id} is {}, and lies between {least} and {most}", margin.value));
        }
        if let Some(odd) =
            odd_number(&format!("{} {} {}", answered.value(), answered.span(), answered.likely()))
        {
            wrong.push(format!("{id} is printed as {odd}"));
        }
    }
    wrong
}

/// A number that is none, standing by itself in a text.
fn odd_number(text: &str) -> Option<&'static str> {
    ["NaN", "inf"].into_iter().find(|odd| {
        text.match_indices(odd).any(|(at, _)| {
            let letter = |letter: Option<char>| letter.is_some_and(char::is_alphabetic);
            !letter(text[..at].chars().next_back()) && !letter(text[at + odd.len()..].chars().next())
        })
    })
}

/// What came of many runs of a calculator.
#[derive(Debug, Default)]
pub struct Runs {
    /// With an answer.
    pub answered: u64,
    /// Answers whose margin is not known, by their id.
    pub unknown: BTreeMap<&'static str, u64>,
}

/// Runs a calculator with the hard inputs of so many seeds; what is wrong goes to `complain`, with its seed. So does a panic,
/// where one can be caught.
pub fn run(
    entry: &Entry,
    seeds: impl Iterator<Item = u64>,
    mut complain: impl FnMut(u64, &[String]),
) -> Runs {
    let mut runs = Runs::default();
    for seed in seeds {
        let looked_at = catch_unwind(|| {
            let outcome = entry.run(&hard_inputs(entry, seed));
            let wrong = unsound(&outcome);
            (outcome.report, wrong)
        });
        let (report, wrong) = looked_at.unwrap_or_else(|_| (None, vec!["it panics".to_owned()]));
        if !wrong.is_empty() {
            complain(seed, &wrong);
        }
        let Some(report) = report else { continue };
        runs.answered += 1;
        for answered in report.answers.iter().filter(|answered| !answered.margin.known) {
            *runs.unknown.entry(answered.answer.id).or_default() += 1;
        }
    }
    runs
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_number_that_is_none_is_seen_among_words() {
        for (text, odd) in [
            ("[(0.0, NaN)]", Some("NaN")),
            ("-inf V", Some("inf")),
            ("information, NaNo", None),
            ("within", None),
            ("", None),
        ] {
            assert_eq!(odd_number(text), odd, "{text}");
        }
    }
}
