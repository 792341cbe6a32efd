//! The valves, written from what `calc-core` knows: a table of all, and a page for each with its figures, its socket and
//! its curves.

mod model;
mod sheet;
mod socket;

use crate::book::Page;
use crate::link::relative;
use crate::sources;
use calc_core::quantity::unit::PER_CENT;
use calc_core::quantity::{Quantity, writing};
use calc_core::source::Source;
use calc_core::valve::{Figure, Residual, VALVES, Valve, fitted, particulars, residuals};
use maud::{Markup, html};

/// Where the table stands in the book.
const PATH: &str = "appendix/valves.html";

/// What stands in the place of a figure that the bench would look for.
const UNKNOWN: &str = "not in this table";

/// The page of the table.
#[must_use]
pub fn table() -> Page {
    let summary = "The valves that this book knows, each with a page of its own, and how far its model lies from its sheet.";
    Page::written("valve table", PATH, "Valve table", summary, overview().into_string())
}

/// The page of each valve, in the order of the table.
pub fn pages() -> impl Iterator<Item = Page> {
    VALVES.iter().map(|valve| {
        let what = format!("page of the {}", valve.name);
        Page::written(
            &what,
            &path(valve),
            &valve.label(),
            &sheet::summary(valve),
            sheet::text(valve).into_string(),
        )
    })
}

/// Where the page of a valve stands in the book.
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
    VALVES.iter().flat_map(|valve| [valve.name].into_iter().chain(valve.also.iter().copied()))
}

fn overview() -> Markup {
    html! {
        p {
            "Press a type for its limits with their sources, its socket seen from below, and its curves. Design-centre and \
             design-maximum figures differ by a tenth or so and must not be compared with one another."
        }
        h2 #types { "Types" }
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
        h2 #models { "How far each model lies from its sheet" }
        p {
            "The published valve model of each valve is fitted to the rows of its sheet that are known; the page of the \
             valve has them one by one. Rows at cut-off are left out here. The margin is what a current worked out from the \
             model carries: the worst row, and 15 % at least, because a few rows that are met prove little."
        }
        section.scroll tabindex="0" aria-label="Each model against its sheet" {
            table {
                thead { tr {
                    @for head in ["Type", "Rows", "Anode current, worst row", "Screen current, worst row", "Margin"] {
                        th scope="col" { (head) }
                    }
                } }
                tbody { @for valve in VALVES { (judged(valve)) } }
            }
        }
    }
}

fn line(valve: &Valve) -> Markup {
    let heater =
        particulars(valve.name).map(|of| (of.heater_voltage.value().si(), of.heater_current.value().si()));
    let value = |text: Option<String>| text.unwrap_or_else(|| UNKNOWN.to_owned());
    html! {
        tr {
            th scope="row" data-lone-link { a href=(relative(PATH, &path(valve))) { (valve.label()) } }
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
            tr { th scope="row" { (valve.name) } td { "0" } td colspan="3" { "no model: too few rows of its sheet are known" } }
        };
    };
    let rows: Vec<Residual> = residuals()
        .filter(|residual| residual.sheet.valve == valve.name && !residual.sheet.row.cut_off)
        .collect();
    let worst = |of: fn(&Residual) -> Option<f64>| {
        let all = rows.iter().filter_map(of);
        all.max_by(|a, b| a.abs().total_cmp(&b.abs())).map_or("–".to_owned(), off)
    };
    html! {
        tr {
            th scope="row" { (valve.name) }
            td { (rows.len()) }
            td { (worst(|row| Some(row.off.anode))) }
            td { (worst(|row| row.off.screen)) }
            td { "± " (fitted.margin) }
        }
    }
}

/// A figure as sheets write it.
fn written<Q: Quantity>(figure: Figure<Q>) -> String {
    writing::repeated(figure.value().si(), Q::UNIT)
}

/// A deviation with its sign.
fn off(share: f64) -> String {
    let sign = if share > 0.0 { "+" } else { "" };
    format!("{sign}{}", writing::engineering(share, &PER_CENT, 2, writing::Rounding::Nearest))
}

/// The source, as a page at `from` links to it.
fn cited(from: &str, source: &Source) -> Markup {
    html! {
        a href=(sources::address(from, source.id)) { (source.title) }
        @if !is_lone(source) { " (" (source.trust.words()) ")" }
    }
}

/// Whether a source says in its title how far it may be trusted, so that nothing stands beside the link.
fn is_lone(source: &Source) -> bool {
    source.title.eq_ignore_ascii_case(source.trust.words())
}
