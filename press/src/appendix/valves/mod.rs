//! The valves, written from what `calc-core` knows: a table of all, and a page for each with its figures, its socket and
//! its curves.

mod model;
mod sheet;
mod socket;

use crate::address::{self, relative};
use crate::markdown::tree::{Element, Node, nodes};
use crate::read::book::Page;
use calc_core::quantity::unit::PER_CENT;
use calc_core::quantity::{Quantity, writing};
use calc_core::source::Source;
use calc_core::valve::margin::{SheetSpan, Span};
use calc_core::valve::{Figure, VALVES, Valve, fitted, particulars, residuals};
use maud::{Markup, html};

/// What is in the place of a figure that the bench would look for.
const UNKNOWN: &str = "not in this table";

/// The page of the table.
#[must_use]
pub fn table() -> Page {
    let summary =
        "The valves in this book, each with its own page, and how far its model is from its data sheet.";
    Page::written("valve table", address::VALVES, "Valve table", summary, overview())
}

/// The page of each valve, in the order of the table.
pub fn pages() -> impl Iterator<Item = Page> {
    VALVES.iter().map(|valve| {
        let what = format!("page of the {}", valve.name);
        Page::written(&what, &path(valve), &valve.label(), &sheet::summary(valve), sheet::text(valve))
    })
}

/// Where the page of a valve is in the book.
#[must_use]
pub fn path(valve: &Valve) -> String {
    format!("appendix/valves/{}.html", valve.name.to_lowercase())
}

/// The valve that goes by this type number.
#[must_use]
pub fn named(name: &str) -> Option<&'static Valve> {
    VALVES.iter().find(|valve| valve.name == name || valve.also.contains(&name))
}

/// Every type number that [`named`] knows.
pub fn names() -> impl Iterator<Item = &'static str> {
    VALVES.iter().flat_map(names_of)
}

/// The type numbers of a valve, its own first.
pub fn names_of(valve: &Valve) -> impl Iterator<Item = &'static str> + use<> {
    [valve.name].into_iter().chain(valve.also.iter().copied())
}

/// What a valve is, in a word or two.
#[must_use]
pub fn what(valve: &Valve) -> String {
    sheet::what(valve)
}

fn overview() -> Vec<Node> {
    let types = html! {
        section.scroll tabindex="0" aria-label="The valves of this book" {
            table {
                thead { tr {
                    @for head in ["Type", "What it is", "Heater", "Anode voltage", "Anode dissipation", "System"] {
                        th scope="col" { (head) }
                    }
                } }
                tbody { @for valve in VALVES { (line(valve)) } }
            }
        }
    };
    let models = html! {
        section.scroll tabindex="0" aria-label="Each model against its data sheet" {
            table {
                thead { tr {
                    @for head in ["Type", "Rows", "Anode current", "Screen current", "gm", "Anode resistance"] {
                        th scope="col" { (head) }
                    }
                } }
                tbody { @for valve in VALVES { (judged(valve)) } }
            }
        }
    };
    nodes![
        p(nodes![
            "Choose a type for its limits with their sources, its socket seen from below, and its curves. \
             Design-centre and design-maximum figures differ by a tenth or so and must not be compared with one \
             another."
        ]),
        Element::heading("types", "Types"),
        types,
        Element::heading("models", "How far each model is from its data sheet"),
        p(nodes![
            "The published valve model of each valve is fitted to the data-sheet figures that are known, which the \
             valve’s page lists one by one. The table shows how far they are from what the model gives, lowest to \
             highest, without those at cut-off. Screen current and slopes are compared where the model draws the \
             anode current of the row. A figure worked out from the model carries the wider side, and at least 15 %, \
             because meeting a few rows proves little."
        ]),
        models,
    ]
}

/// A paragraph.
fn p(words: Vec<Node>) -> Element {
    Element::new("p", words)
}

/// An item of a list.
fn li(words: Vec<Node>) -> Element {
    Element::new("li", words)
}

/// Words that stand out.
fn strong(words: impl Into<Node>) -> Element {
    Element::new("strong", vec![words.into()])
}

/// What is in the place of a figure that is not known.
fn unknown() -> Element {
    Element::new("em", nodes![UNKNOWN])
}

fn line(valve: &Valve) -> Markup {
    let heater =
        particulars(valve.name).map(|of| (of.heater_voltage.value().si(), of.heater_current.value().si()));
    let value = |text: Option<String>| text.unwrap_or_else(|| UNKNOWN.to_owned());
    html! {
        tr {
            th scope="row" data-lone-link { a href=(relative(address::VALVES, &path(valve))) { (valve.label()) } }
            td { (sheet::what(valve)) }
            td { (value(heater.map(|(volts, amperes)| sheet::heater(volts, amperes)))) }
            td { (value(valve.limits.anode_voltage.map(written))) }
            td { (value(valve.limits.anode_power.map(written))) }
            td { (valve.limits.anode_power.map_or("–", |figure| figure.system.words())) }
        }
    }
}

fn judged(valve: &Valve) -> Markup {
    let Some(fitted) = fitted(valve.name) else {
        return html! {
            tr { th scope="row" { (valve.name) } td { "0" } td colspan="4" { "no model: too few data-sheet figures \
                                                                              are known" } }
        };
    };
    let rows =
        residuals().filter(|residual| residual.sheet.valve == valve.name && !residual.sheet.row.cut_off);
    let span = |span: Option<Span>| span.map_or("–".to_owned(), |span| span.words());
    let SheetSpan { anode, screen, gm, ra, .. } = fitted.sheet;
    html! {
        tr {
            th scope="row" { (valve.name) }
            td { (rows.count()) }
            @for figure in [Some(anode), screen, gm, ra] { td { (span(figure)) } }
        }
    }
}

/// A figure as data sheets write it.
fn written<Q: Quantity>(figure: Figure<Q>) -> String {
    writing::repeated(figure.value().si(), Q::UNIT)
}

/// A deviation with its sign.
fn off(share: f64) -> String {
    let sign = if share > 0.0 { "+" } else { "" };
    format!("{sign}{}", writing::engineering(share, &PER_CENT, 2, writing::Rounding::Nearest))
}

/// The source, as a page at `from` links to it, for a cell of a table.
fn cited(from: &str, source: &Source) -> Markup {
    html! {
        a href=(address::source(from, source.id)) { (source.title) }
        @if !is_lone(source) { " (" (source.trust.words()) ")" }
    }
}

/// Whether a source says in its title how far it may be trusted, so that nothing is beside the link.
fn is_lone(source: &Source) -> bool {
    source.title.eq_ignore_ascii_case(source.trust.words())
}
