//! Every calculator against the checks in `data/outside/ID.toml`: at least two, of different kinds of origin.

use std::collections::{BTreeMap, BTreeSet};
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
    /// What kind of origin that is.
    origin: Origin,
    #[serde(default)]
    inputs: Inputs,
    #[serde(default)]
    answers: BTreeMap<String, Expected>,
    /// What is judged, and the word for its standing.
    #[serde(default)]
    verdicts: BTreeMap<String, String>,
}

/// By what kind of thing that we did not make a check was worked out. Two checks of one kind may share its mistakes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Deserialize)]
#[serde(rename_all = "kebab-case")]
enum Origin {
    /// A standard: its definition, coefficient or rule.
    Standard,
    /// A maker's or seller's figures of a part, on paper or from memory of it.
    Sheet,
    /// A textbook's, a handbook's or an article's formula or table, worked apart from this code.
    Handbook,
    /// A circuit written out for a simulator.
    Simulator,
    /// A numerical library, or a program of others, on the same problem.
    Library,
    /// A rule of the bench that nobody published, worked by hand.
    Practice,
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
        let origins: BTreeSet<Origin> = checks.iter().map(|check| check.origin).collect();
        assert!(origins.len() >= 2, "{id} needs outside checks of two kinds of origin, and has {origins:?}");
        for check in &checks {
            let simulated = check.source.contains("ngspice");
            assert_eq!(check.origin == Origin::Simulator, simulated, "{id}: {}: its origin", check.shows);
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
