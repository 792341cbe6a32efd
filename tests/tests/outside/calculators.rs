//! Every calculator against the checks in `data/outside/ID.toml`: at least two, of different origin.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use calc_core::calculator::{Answered, Inputs, Report};
use calc_core::quantity::notation::read;
use calc_core::quantity::unit::{PER_CENT, Unit};
use serde::Deserialize;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Checks {
    check: Vec<Check>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Check {
    /// What it shows, for the reader of a failure and of the book.
    shows: String,
    /// Where the expected values come from.
    source: String,
    #[serde(default)]
    inputs: Inputs,
    #[serde(default)]
    answers: BTreeMap<String, Expected>,
    /// What is judged, and the word for its standing.
    #[serde(default)]
    verdicts: BTreeMap<String, String>,
}

/// What an answer and its margin must be; each to `within`.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Expected {
    value: Option<String>,
    low: Option<String>,
    high: Option<String>,
    rss: Option<String>,
    /// Per cent of the value, or an amount in its unit: how exactly the source gives it.
    within: String,
}

#[test]
fn every_calculator_agrees_with_its_outside_checks() {
    for entry in calc_core::calculators() {
        let id = entry.sheet.id;
        let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("data/outside/{id}.toml"));
        let text = fs::read_to_string(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()));
        let Checks { check: checks } = toml::from_str(&text).unwrap_or_else(|error| panic!("{id}: {error}"));
        let mut origins: Vec<&str> = checks.iter().map(|check| check.source.as_str()).collect();
        origins.sort_unstable();
        origins.dedup();
        assert!(origins.len() >= 2, "{id} needs two outside checks of different origin");
        for check in &checks {
            held(id, check);
        }
    }
}

fn held(id: &str, check: &Check) {
    let outcome = calc_core::calculate(id, &check.inputs).expect("the id comes from the register");
    let said = format!("{id}: {} ({})", check.shows, check.source);
    assert!(outcome.unknown.is_empty(), "{said}: no field asks for {:?}", outcome.unknown);
    let problems: Vec<_> = outcome.fields.iter().filter_map(|field| field.problem.as_ref()).collect();
    let report = outcome.report.unwrap_or_else(|| panic!("{said}: {problems:?}"));
    assert!(!check.answers.is_empty() || !check.verdicts.is_empty(), "{said}: it checks nothing");
    for (name, expected) in &check.answers {
        let found = report.answers.iter().find(|answered| answered.answer.id == name);
        let found = found.unwrap_or_else(|| panic!("{said}: there is no answer {name}"));
        agrees(&said, found, expected);
    }
    for (about, word) in &check.verdicts {
        assert_eq!(standing(&said, &report, about), word, "{said}: {about}");
    }
}

fn standing<'r>(said: &str, report: &'r Report, about: &str) -> &'r str {
    let verdict = report.verdicts.iter().find(|verdict| verdict.about == about);
    verdict.unwrap_or_else(|| panic!("{said}: nothing is said about {about}")).standing.word()
}

fn agrees(said: &str, found: &Answered, expected: &Expected) {
    let unit = found.answer.unit;
    let margin = found.margin;
    let parts = [
        ("value", &expected.value, margin.value),
        ("low", &expected.low, margin.low),
        ("high", &expected.high, margin.high),
        ("rss", &expected.rss, margin.rss),
    ];
    assert!(
        parts.iter().any(|(_, wanted, _)| wanted.is_some()),
        "{said}: {} expects nothing",
        found.answer.id
    );
    for (part, wanted, is) in parts {
        let Some(wanted) = wanted else { continue };
        let wanted = number(said, wanted, unit);
        let within = match read(&expected.within, &PER_CENT, 0) {
            Ok(share) if expected.within.contains('%') => share.value * wanted.abs(),
            _ => number(said, &expected.within, unit),
        };
        let off = (is - wanted).abs();
        assert!(
            off <= within,
            "{said}: {} {part} is {is}, should be {wanted} within {within}",
            found.answer.id
        );
    }
}

fn number(said: &str, text: &str, unit: &Unit) -> f64 {
    read(text, unit, 0).unwrap_or_else(|refusal| panic!("{said}: {text}: {refusal:?}")).value
}
