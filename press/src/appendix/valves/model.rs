//! The published valve model on a valve's page: its curves with the data sheet's rows over them, the currents as a table, and
//! each row beside what the model gives there.

use super::{UNKNOWN, cited, li, off, p, strong, unknown};
use crate::calculators::chart;
use crate::markdown::tree::{Element, Node, nodes};
use calc_core::quantity::unit::{AMPERE, VOLT};
use calc_core::quantity::writing;
use calc_core::source::{KOREN, REEFMAN};
use calc_core::valve::curves::{Family, family, rows_with_model};
use calc_core::valve::model::{Model, Volts};
use calc_core::valve::{Fitted, Residual, Valve, began, fitted, residuals};
use maud::{Markup, html};

/// The section of a valve's page.
pub fn section(valve: &Valve, from: &str) -> Vec<Node> {
    let Some(fitted) = fitted(valve.name) else {
        let words = nodes![
            "There are none here: too few data-sheet figures are known to fit a model, and an unfitted model misses \
             data-sheet currents by tens of per cent. Take them from the maker’s data sheet. The valve’s operating \
             points are ",
            unknown(),
            "."
        ];
        return nodes![Element::heading("curves", "Curves"), p(words)];
    };
    let rows: Vec<Residual> = residuals().filter(|residual| residual.sheet.valve == valve.name).collect();
    let family = family(valve, fitted);
    let elsewhere = family.as_ref().is_some_and(|family| {
        rows.iter().any(|row| family.screen.is_some_and(|screen| row.sheet.row.volts.screen != screen))
    });
    let mut nodes = nodes![Element::heading("curves", "Curves"), about(fitted, from)];
    if let Some(family) = &family {
        nodes.extend(nodes![chart(&family.picture, "curves"), currents(valve, fitted, family)]);
    }
    nodes.extend(nodes![
        Element::heading("sheet-rows", "Data-sheet figures and the model"),
        p(nodes![
            "Voltages count from the cathode. ",
            Element::new("em", nodes!["Off"]),
            " is how far the model is from the row; + where it gives more current than the data sheet."
        ]),
    ]);
    nodes.extend(elsewhere.then(|| Node::from(chart(&rows_with_model(valve, fitted), "rows"))));
    nodes.extend(nodes![
        compared(valve, &rows),
        p(nodes!["Where each row comes from:"]),
        origins(from, &rows)
    ]);
    nodes
}

fn about(fitted: &Fitted, from: &str) -> Element {
    let (equations, screen) = match fitted.model {
        Model::Triode(_) => (&KOREN, None),
        Model::Pentode(_) => (&REEFMAN, Some(fitted.reach.screen)),
    };
    let between = |(low, high): (f64, f64), unit| {
        let (low, high) = (writing::repeated(low, unit), writing::repeated(high, unit));
        if low == high { low } else { format!("{low} to {high}") }
    };
    let mut words = nodes![
        "These are curves of a ",
        strong("published valve model"),
        " (equations: ",
        cited(from, equations),
    ];
    if let Some((_, set)) = began(fitted.valve) {
        words.extend(nodes!["; constants to begin from: ", cited(from, set)]);
    }
    let screen = screen.map_or(String::new(), |screen| format!("{} at the screen, ", between(screen, &VOLT)));
    words.push(
        format!(
            "), fitted to the data-sheet figures below. They are not the data sheet’s own curves, and not your \
             valve’s. {} The figures cover {} at the anode, {screen}{}. Beyond that the model extrapolates. {}",
            fitted.margin_words(),
            between(fitted.reach.anode, &VOLT),
            between(fitted.reach.current, &AMPERE),
            near_cut_off(fitted),
        )
        .into(),
    );
    p(words)
}

/// What is known of the model where the valve is nearly shut.
fn near_cut_off(fitted: &Fitted) -> String {
    let shut = residuals().filter(|row| row.sheet.valve == fitted.valve && row.sheet.row.cut_off);
    let offs: Vec<f64> = shut.map(|row| row.off.anode).collect();
    let ends = offs.iter().fold((f64::MAX, f64::MIN), |(low, high), off| (low.min(*off), high.max(*off)));
    match (offs.len(), ends) {
        (0, _) => "No figure near cut-off is known: the cut-off shown follows from the published constants."
            .to_owned(),
        (1, (only, _)) => format!("Near cut-off one figure is known; the model is {} off it.", off(only)),
        (_, (low, high)) => {
            format!("Near cut-off the model is {} to {} off the figures that are known.", off(low), off(high))
        }
    }
}

/// Where each row of a data sheet comes from.
fn origins(from: &str, rows: &[Residual]) -> Element {
    let note = |note: &str| if note.is_empty() { ".".to_owned() } else { format!("; {note}.") };
    let item = |Residual { sheet, .. }: &Residual| li(nodes![cited(from, sheet.source), note(sheet.note)]);
    Element::new("ol", rows.iter().map(item).map(Node::from).collect())
}

/// The family of curves in figures; units are in the caption, so that a tablet shows it whole.
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
                    "The same in figures: anode current in mA, for the anode voltage in each line and the grid \
                     voltage in each column. A dash is outside the chart."
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
fn compared(valve: &Valve, rows: &[Residual]) -> Markup {
    let screen = rows.iter().any(|row| row.sheet.row.volts.screen > 0.0);
    let volts = |value: f64| writing::repeated(value, &VOLT);
    let amperes = |value: f64| writing::repeated(value, &AMPERE);
    html! {
        section.scroll tabindex="0" aria-label={ "The model of the " (valve.name) " against its data sheet" } {
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
    }
}
