//! The printed indices: a fence `index` in a page lists the calculators as the questions they answer, the symptoms with the
//! places that decide, the valves with the pages that speak of them, or the valves by their type numbers alone.

use super::symptoms::{Sense, Symptom};
use crate::appendix::valves;
use crate::calculators;
use crate::fault::nearest;
use crate::markdown::tree::{Element, Kind, Node, nodes};
use crate::page::Context;
use crate::read::book::{Body, Page};
use crate::source_text::{SourceLocation, SourceText};
use calc_core::valve::{VALVES, Valve};

/// What can be listed.
const LISTS: [&str; 4] = ["calculators", "symptoms", "valve-keys", "valves"];

/// The list that a fence names.
pub fn list(context: &Context<'_>, body: &SourceText) -> Vec<Node> {
    let place = body.place(0);
    match body.text.trim() {
        "calculators" => calculators(&place),
        "symptoms" => symptoms(&context.symptoms),
        "valve-keys" => valve_keys(&place),
        "valves" => valves(context, &place),
        other => {
            let found = format!("index \"{other}\"");
            context.faults.add(&place, found, "no such index", nearest(other, LISTS));
            Vec::new()
        }
    }
}

/// The id of a symptom in the list.
#[must_use]
pub fn symptom_id(symptom: &Symptom) -> String {
    let words = symptom.what.split(|letter: char| !letter.is_alphanumeric()).filter(|word| !word.is_empty());
    format!("symptom-{}", words.map(str::to_lowercase).collect::<Vec<_>>().join("-"))
}

fn calculators(place: &SourceLocation) -> Vec<Node> {
    let one = |(id, title, question): (&str, &str, &str)| {
        let to = format!("{}{id}", crate::page::calculator_pages::SCHEME);
        item(nodes![lone(to, question, place), Element::new("p", nodes![title])])
    };
    nodes![list_of(calculators::questions().map(one).collect())]
}

fn symptoms(symptoms: &[Symptom]) -> Vec<Node> {
    let mut nodes = Vec::new();
    for (sense, name, heading) in Sense::ALL {
        let items: Vec<Node> =
            symptoms.iter().filter(|symptom| symptom.sense == sense).map(symptom).collect();
        if !items.is_empty() {
            nodes.extend(nodes![Element::heading(name, heading), list_of(items)]);
        }
    }
    nodes
}

fn symptom(symptom: &Symptom) -> Node {
    let what = Element::new("strong", nodes![symptom.what.clone(), "."]);
    let first = if symptom.first.is_empty() { String::new() } else { format!(" {}", symptom.first) };
    let look = symptom.look.iter().map(|look| {
        let why = lone(look.to.text.clone(), &look.why, &look.to.place);
        Element::new("li", nodes![why]).with("data-lone-link", "").into()
    });
    let inside = nodes![Element::new("p", nodes![what, first]), Element::new("ul", look.collect())];
    Element::new("li", inside).with("id", symptom_id(symptom)).into()
}

fn valves(context: &Context<'_>, place: &SourceLocation) -> Vec<Node> {
    // Links are written from the folder of all pages.
    let content = SourceLocation { file: "content/index.md".into(), line: place.line };
    let one = |valve: &Valve| {
        let pages =
            context.book.pages.iter().filter(|page| page.file != place.file && speaks_of(page, valve));
        let mut said = Vec::new();
        for page in pages {
            let to = page.file.trim_start_matches("content/").to_owned();
            if !said.is_empty() {
                said.push(", ".into());
            }
            said.push(Kind::Link { to, inner: nodes![page.front.title.clone()] }.at(content.clone()));
        }
        let mut inside = nodes![lone(format!("valve:{}", valve.name), &valve.label(), place)];
        if !said.is_empty() {
            inside.push(Element::new("p", nodes!["It is spoken of in ", said, "."]).into());
        }
        item(inside)
    };
    nodes![list_of(VALVES.iter().map(one).collect())]
}

/// Each valve by its type number alone.
fn valve_keys(place: &SourceLocation) -> Vec<Node> {
    let one = |valve: &Valve| item(nodes![lone(format!("valve:{}", valve.name), valve.name, place)]);
    nodes![list_of(VALVES.iter().map(one).collect()).with("data-keys", "")]
}

/// Whether a page of the book names a valve, by any of its type numbers.
fn speaks_of(page: &Page, valve: &Valve) -> bool {
    let Body::Markdown(text) = &page.body else { return false };
    let joins = |letter: Option<char>| letter.is_some_and(char::is_alphanumeric);
    valves::names_of(valve).any(|name| {
        text.text.match_indices(name).any(|(at, _)| {
            let (before, behind) = (&text.text[..at], &text.text[at + name.len()..]);
            !joins(before.chars().next_back()) && !joins(behind.chars().next())
        })
    })
}

/// A link that is all its line holds.
fn lone(to: String, words: &str, place: &SourceLocation) -> Node {
    Kind::Link { to, inner: nodes![words] }.at(place.clone())
}

fn item(inside: Vec<Node>) -> Node {
    Element::new("li", inside).into()
}

fn list_of(items: Vec<Node>) -> Element {
    Element::new("ul", items).with("class", "index")
}
