//! The published valve model on a valve's page: its curves with the sheet's rows over them, the currents as a table, and
//! each row beside what the model gives there.

use super::{UNKNOWN, cited, off};
use crate::calculators::chart;
use calc_core::quantity::unit::{AMPERE, VOLT};
use calc_core::quantity::writing;
use calc_core::source::{KOREN, REEFMAN};
use calc_core::valve::curves::{Family, family, rows_with_model};
use calc_core::valve::model::{Model, Volts};
use calc_core::valve::{Fitted, Residual, Valve, began, fitted, residuals};
use maud::{Markup, html};

/// The section of a valve's page.
pub fn section(valve: &Valve, from: &str) -> Markup {
    let Some(fitted) = fitted(valve.name) else {
        return html! {
            h2 #curves { "Curves" }
            p {
                "There are none here: too few rows of its sheet are known for a model to be fitted, and a model that was not \
                 fitted misses sheet currents by tens of per cent. Take them from the maker’s sheet. The valve’s operating \
                 points are " em { (UNKNOWN) } "."
            }
        };
    };
    let rows: Vec<Residual> = residuals().filter(|residual| residual.sheet.valve == valve.name).collect();
    let family = family(valve, fitted);
    let elsewhere = family.as_ref().is_some_and(|family| {
        rows.iter().any(|row| family.screen.is_some_and(|screen| row.sheet.row.volts.screen != screen))
    });
    html! {
        h2 #curves { "Curves" }
        (about(fitted, from))
        @if let Some(family) = &family {
            (chart(&family.picture, "curves"))
            (currents(valve, fitted, family))
        }
        h2 #sheet-rows { "The sheet’s rows and the model" }
        p {
            "Voltages count from the cathode. " em { "Off" } " is how far the model lies from the row; + where it gives more \
             current than the sheet."
        }
        @if elsewhere { (chart(&rows_with_model(valve, fitted), "rows")) }
        (compared(valve, from, &rows))
    }
}

fn about(fitted: &Fitted, from: &str) -> Markup {
    let (equations, screen) = match fitted.model {
        Model::Triode(_) => (&KOREN, None),
        Model::Pentode(_) => (&REEFMAN, Some(fitted.reach.screen)),
    };
    let between = |(low, high): (f64, f64), unit| {
        let (low, high) = (writing::repeated(low, unit), writing::repeated(high, unit));
        if low == high { low } else { format!("{low} to {high}") }
    };
    html! {
        p {
            "These are curves of a " strong { "published valve model" } " (equations: " (cited(from, equations))
            @if let Some((_, set)) = began(fitted.valve) { "; constants to begin from: " (cited(from, set)) }
            "), fitted to the rows of the sheet below. They are not the sheet’s own curves, and not your valve’s. A current \
             read from them carries ± " (fitted.margin) ", and the valve in your hand may be 30 % to either side of that (common practice, no source). The rows reach over "
            (between(fitted.reach.anode, &VOLT)) " at the anode, "
            @if let Some(screen) = screen { (between(screen, &VOLT)) " at the screen, " }
            (between(fitted.reach.current, &AMPERE)) ". Beyond that the model goes on alone."
        }
    }
}

/// The family of curves in figures; units stand in the caption, so that a tablet shows it whole.
fn currents(valve: &Valve, fitted: &Fitted, family: &Family) -> Markup {
    let Family { screen, grids, picture } = family;
    let number = |value: f64, places: usize| format!("{value:.places$}").replace('-', "−");
    // Marks along an axis are round only to within the last bits of a number.
    let volts = |value: f64| number(value, usize::from((value - value.round()).abs() > 1e-6));
    let current = |anode: f64, grid: f64| {
        let current = fitted.model.currents(Volts { anode, screen: screen.unwrap_or_default(), grid }).anode;
        let places = if picture.y.to < 20e-3 { 2 } else { 1 };
        if current <= picture.y.to { number(current * 1e3, places) } else { "–".to_owned() }
    };
    html! {
        section.scroll tabindex="0" aria-label={ "Anode currents of the model of the " (valve.name) } {
            table {
                caption {
                    "The same in figures: anode current in mA, for the anode’s volts in each line and the grid’s in each \
                     column. A dash is off the picture."
                }
                thead { tr { th scope="col" { "Anode" } @for grid in grids { th scope="col" { (volts(*grid)) } } } }
                tbody {
                    @for anode in picture.x.ticks().into_iter().filter(|anode| *anode > 0.0) {
                        tr {
                            th scope="row" { (volts(anode)) }
                            @for grid in grids { td { (current(anode, *grid)) } }
                        }
                    }
                }
            }
        }
    }
}

/// The model beside each row of the sheet.
fn compared(valve: &Valve, from: &str, rows: &[Residual]) -> Markup {
    let screen = rows.iter().any(|row| row.sheet.row.volts.screen > 0.0);
    let volts = |value: f64| writing::repeated(value, &VOLT);
    let amperes = |value: f64| writing::repeated(value, &AMPERE);
    html! {
        section.scroll tabindex="0" aria-label={ "The model of the " (valve.name) " against its sheet" } {
            table {
                thead { tr {
                    th scope="col" { "Row" } th scope="col" { "Class" } th scope="col" { "Anode" }
                    @if screen { th scope="col" { "Screen" } }
                    th scope="col" { "Grid" } th scope="col" { "Anode current" } th scope="col" { "Off" }
                    @if screen { th scope="col" { "Screen current" } th scope="col" { "Off" } }
                } }
                tbody {
                    @for (number, Residual { sheet, off: is, .. }) in (1..).zip(rows) {
                        @let row = sheet.row;
                        tr {
                            th scope="row" { (number) }
                            td { (sheet.class) }
                            td { (volts(row.volts.anode)) }
                            @if screen { td { (volts(row.volts.screen)) } }
                            td { (volts(row.volts.grid)) }
                            td { (amperes(row.anode)) }
                            td { (off(is.anode)) }
                            @if screen {
                                td { (row.screen.map_or(UNKNOWN.to_owned(), amperes)) }
                                td { (is.screen.map_or("–".to_owned(), off)) }
                            }
                        }
                    }
                }
            }
        }
        p { "Where each row comes from:" }
        ol {
            @for Residual { sheet, .. } in rows {
                li { (cited(from, sheet.source)) @if !sheet.note.is_empty() { "; " (sheet.note) } "." }
            }
        }
    }
}
