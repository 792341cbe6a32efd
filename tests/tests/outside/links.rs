//! Links that were given out: the same link gives the same inputs for ever.

use std::collections::BTreeMap;

use calc_core::calculator::{Inputs, Kind, Link};
use serde::Deserialize;

/// The texts of every field before anybody has typed, by calculator and edition: `dissipation.1`.
type Defaults = BTreeMap<String, BTreeMap<String, String>>;

fn recorded() -> Defaults {
    toml::from_str(include_str!("../../data/defaults.toml")).expect("a table of tables of texts")
}

fn texts(calculator: &str, inputs: &Inputs) -> BTreeMap<String, String> {
    let outcome = calc_core::calculate(calculator, inputs).expect("there is such a calculator");
    let text = |field: calc_core::calculator::Field| (field.id.to_owned(), field.text);
    outcome.fields.into_iter().map(text).collect()
}

/// A default that changes under a link already given out would change what the link says.
#[test]
fn the_defaults_of_every_edition_are_recorded() {
    let recorded = recorded();
    for entry in calc_core::calculators() {
        let edition = format!("{}.{}", entry.sheet.id, entry.sheet.edition);
        let now = texts(entry.sheet.id, &Inputs::new());
        let table = toml::to_string(&now).expect("texts");
        assert!(
            recorded.get(&edition) == Some(&now),
            "The defaults of {edition} are not those in tests/data/defaults.toml.\n\
             A new calculator: add the table below.\n\
             A changed default: raise `edition` in its sheet, write the old text into `WAS` in form/link.rs, and add \
             the table below under the new edition; leave the old one.\n\n[\"{edition}\"]\n{table}"
        );
    }
}

#[test]
fn a_link_of_any_edition_opens_with_the_defaults_of_that_edition() {
    for (edition, defaults) in recorded() {
        let link = Link::read(&edition).expect("calculator.edition is a link");
        assert_eq!(texts(&link.calculator, &link.opened()), defaults, "{edition}");
    }
}

#[derive(Deserialize)]
struct Given {
    fragment: String,
    fields: BTreeMap<String, String>,
    #[serde(default)]
    not_read: Vec<String>,
}

#[derive(Deserialize)]
struct GivenOut {
    link: Vec<Given>,
}

#[test]
fn links_that_were_given_out_open_as_they_did() {
    let given: GivenOut = toml::from_str(include_str!("../../data/links.toml")).expect("a list of links");
    for Given { fragment, fields, not_read } in given.link {
        let link = Link::read(&fragment).unwrap_or_else(|| panic!("{fragment} is no link"));
        let outcome =
            calc_core::calculate(&link.calculator, &link.opened()).expect("its calculator is there");
        for (id, reading) in fields {
            let field = outcome.fields.iter().find(|field| field.id == id);
            let field = field.unwrap_or_else(|| panic!("{fragment}: there is no field `{id}`"));
            // The label of a choice may be worded again; its name may not.
            let read = if matches!(field.kind, Kind::Choice(_)) { &field.text } else { &field.reading };
            assert_eq!(read.replace('\u{a0}', " "), reading, "{fragment}: {id}");
        }
        let unread: Vec<String> = link.damaged.into_iter().chain(outcome.unknown).collect();
        assert_eq!(unread, not_read, "{fragment}");
    }
}
