//! The index as one file, which `web/js/finder.js` reads: arrays in place of objects, and each page named once.

use super::indices::symptom_id;
use super::place::{Group, Place};
use super::symptoms::Symptom;
use crate::address::{VALVES, beside};
use crate::appendix::valves;
use crate::calculators::{self, Field, Kind};
use crate::page::calculator_pages::CalculatorPages;
use crate::page::{Context, RenderedPage};
use crate::read::book::Book;
use calc_core::valve::VALVES as TYPES;
use serde_json::{Value, json};
use sha2::{Digest, Sha256};
use std::collections::BTreeMap;

/// The file's name, which changes with its bytes, and the bytes.
#[must_use]
pub fn written(
    context: &Context<'_>,
    homes: &CalculatorPages<'_>,
    pages: &[RenderedPage],
) -> (String, Vec<u8>) {
    let book = context.book;
    let numbers: BTreeMap<&str, usize> =
        book.pages.iter().enumerate().map(|(number, page)| (page.path.as_str(), number)).collect();
    let index = json!({
        "pages": book.pages.iter().map(|page| json!([page.path, page.front.title])).collect::<Vec<_>>(),
        "places": pages.iter().enumerate().flat_map(|(page, rendered)| {
            rendered.places.iter().filter(move |_| is_sought(&book.pages[page].path)).map(move |place| self::place(page, place))
        }).collect::<Vec<_>>(),
        "calculators": calculators::questions().filter_map(|(id, title, question)| {
            let (path, block) = homes.home(id)?;
            let fields: Vec<Value> = calculators::fields(id).iter().filter_map(field).collect();
            Some(json!([id, numbers.get(path)?, block, title, question, fields]))
        }).collect::<Vec<_>>(),
        "valves": TYPES.iter().map(|valve| {
            let names: Vec<&str> = valves::names_of(valve).collect();
            json!([names, valves::what(valve), numbers.get(valves::path(valve).as_str())])
        }).collect::<Vec<_>>(),
        "symptoms": context.symptoms.iter().filter_map(|symptom| self::symptom(symptom, book, homes, &numbers)).collect::<Vec<_>>(),
        "synonyms": context.synonyms,
    });
    let bytes = (index.to_string() + "\n").into_bytes();
    let hash = Sha256::digest(&bytes);
    let hash: String = hash.iter().take(8).map(|byte| format!("{byte:02x}")).collect();
    (format!("find-{hash}.json"), bytes)
}

/// Valves are found as such and not as pages.
fn is_sought(path: &str) -> bool {
    path == VALVES || !path.starts_with("appendix/valves/")
}

fn place(page: usize, place: &Place) -> Value {
    let group = match place.group {
        Group::Page => 0,
        Group::Step => 1,
        Group::Row => 2,
    };
    json!([page, group, place.anchor, place.title, place.under, place.text])
}

/// A field that takes a reading: a number in a unit, or a choice of valves.
fn field(field: &Field) -> Option<Value> {
    match &field.kind {
        Kind::Number { measured_in, within, .. } => {
            let (low, high) = within.unwrap_or_default();
            Some(json!([field.id, field.name, measured_in.symbol, field.text, low, high]))
        }
        Kind::Choice(choices) if choices.iter().any(|choice| valves::named(&choice.id).is_some()) => {
            let names: Vec<&str> = choices.iter().map(|choice| choice.id.as_str()).collect();
            Some(json!([field.id, field.name, names]))
        }
        _ => Some(json!([field.id, field.name])),
    }
}

/// A symptom with the first place that decides.
fn symptom(
    symptom: &Symptom,
    book: &Book,
    homes: &CalculatorPages<'_>,
    numbers: &BTreeMap<&str, usize>,
) -> Option<Value> {
    let look = symptom.look.first()?;
    let (path, anchor) = if let Some(id) = look.to.text.strip_prefix(crate::page::calculator_pages::SCHEME) {
        homes.home(id)?
    } else {
        let (file, anchor) = look.to.text.split_once('#').unwrap_or((&look.to.text, ""));
        (book.page_of(&beside(&look.to.place.file, file))?.path.as_str(), anchor)
    };
    let all: Vec<&str> = symptom.look.iter().map(|look| look.why.as_str()).collect();
    Some(json!([
        symptom.what,
        symptom.also,
        symptom.first,
        numbers.get(path)?,
        anchor,
        all.join("; "),
        symptom_id(symptom)
    ]))
}
