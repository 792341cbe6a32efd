//! The valve table, written from what `calc-core` knows: each figure with its source, and how far each model lies from
//! the sheet it was fitted to.

use crate::book::Page;
use crate::sources;
use calc_core::quantity::unit::{AMPERE, PER_CENT, VOLT};
use calc_core::quantity::{Quantity, writing};
use calc_core::source::Source;
use calc_core::valve::{Capacitances, Figure, Limits, Residual, VALVES, Valve, fitted, residuals};
use maud::{Markup, html};

/// Where the table stands in the book.
const PATH: &str = "appendix/valves.html";

/// The page of the table.
#[must_use]
pub fn page() -> Page {
    let summary = "Published limits of each valve with where they come from, and how far its model lies from its sheet.";
    Page::written("valve table", PATH, "Valve table", summary, table().into_string())
}

fn table() -> Markup {
    html! {
        p {
            "A limit that is missing here was not found; it may well be published. Design-centre and design-maximum \
             figures differ by a tenth or so and must not be compared with one another."
        }
        @for valve in VALVES {
            h2 id={ "valve-" (valve.name.to_lowercase()) } { (valve.label()) }
            (limits(valve))
            (model(valve))
        }
    }
}

/// One figure as a row: what, value, system, source, note.
struct Row {
    what: &'static str,
    value: String,
    system: &'static str,
    source: &'static Source,
    note: &'static str,
}

fn limits(valve: &Valve) -> Markup {
    let Limits { anode_voltage, screen_voltage, anode_power, screen_power, .. } = valve.limits;
    let Limits { cathode_current, grid_circuit_fixed, grid_circuit_self, heater_cathode, .. } = valve.limits;
    let Capacitances { grid, anode_grid } = valve.capacitances;
    let rows = [
        row("Anode voltage", anode_voltage),
        row("Screen voltage", screen_voltage),
        row("Anode dissipation", anode_power),
        row("Screen dissipation", screen_power),
        row("Cathode current", cathode_current),
        row("Grid circuit, fixed bias", grid_circuit_fixed),
        row("Grid circuit, cathode bias", grid_circuit_self),
        row("Heater to cathode", heater_cathode),
        row("Grid to all but the anode", grid),
        row("Grid to anode", anode_grid),
    ];
    html! {
        section.scroll tabindex="0" aria-label={ "Figures of the " (valve.name) } {
            table {
                thead { tr { th scope="col" { "Figure" } th scope="col" { "Value" } th scope="col" { "System" } th scope="col" { "Source" } } }
                tbody {
                    @for row in rows.into_iter().flatten() {
                        tr {
                            th scope="row" { (row.what) }
                            td { (row.value) }
                            td { (row.system) }
                            td {
                                (cited(row.source))
                                @if !row.note.is_empty() { "; " (row.note) }
                            }
                        }
                    }
                }
            }
        }
    }
}

fn row<Q: Quantity>(what: &'static str, figure: Option<Figure<Q>>) -> Option<Row> {
    let figure = figure?;
    let value = writing::repeated(figure.value().si(), Q::UNIT);
    Some(Row { what, value, system: figure.system.words(), source: figure.source, note: figure.note })
}

fn cited(source: &Source) -> Markup {
    html! { "See " a href=(sources::address(PATH, source.id)) { (source.title) } " (" (source.trust.words()) ")" }
}

/// The model beside each row of the sheet.
fn model(valve: &Valve) -> Markup {
    let Some(fitted) = fitted(valve.name) else {
        return html! { p { "No model: too few rows of its sheet are known." } };
    };
    let rows: Vec<Residual> = residuals().filter(|residual| residual.sheet.valve == valve.name).collect();
    html! {
        p { "Published valve model, fitted to the rows below. Its currents carry ± " (fitted.margin) "." }
        section.scroll tabindex="0" aria-label={ "The model of the " (valve.name) " against its sheet" } {
            table {
                thead {
                    tr {
                        @for head in ["Class", "Anode", "Screen", "Grid", "Anode current", "Model off", "Screen current", "Model off"] {
                            th scope="col" { (head) }
                        }
                    }
                }
                tbody { @for residual in &rows { (compared(residual)) } }
            }
        }
    }
}

fn compared(residual: &Residual) -> Markup {
    let row = residual.sheet.row;
    let volts = |value: f64| writing::repeated(value, &VOLT);
    let off = |share: f64| {
        format!(
            "{}{}",
            if share > 0.0 { "+" } else { "" },
            writing::engineering(share, &PER_CENT, 2, writing::Rounding::Nearest)
        )
    };
    html! {
        tr {
            th scope="row" { (residual.sheet.class) }
            td { (volts(row.volts.anode)) }
            td { @if row.volts.screen > 0.0 { (volts(row.volts.screen)) } @else { "–" } }
            td { (volts(row.volts.grid)) }
            td { (writing::repeated(row.anode, &AMPERE)) }
            td { (off(residual.off.anode)) }
            td { @if let Some(screen) = row.screen { (writing::repeated(screen, &AMPERE)) } @else { "–" } }
            td { @if let Some(screen) = residual.off.screen { (off(screen)) } @else { "–" } }
        }
    }
}
