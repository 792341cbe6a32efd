//! The page of one valve: its figures with their sources, then its socket and its curves.

use super::{UNKNOWN, cited, li, model, p, path, socket, strong, unknown, written};
use crate::address::{VALVES, relative};
use crate::markdown::tree::{Element, Node, nodes};
use calc_core::quantity::unit::{AMPERE, VOLT};
use calc_core::quantity::{Quantity, writing};
use calc_core::source::Source;
use calc_core::valve::{Capacitances, Figure, Kind, Limits, System, Valve, particulars};
use maud::{Markup, html};

/// What a valve is, in a word or two: “double triode”.
pub fn what(valve: &Valve) -> String {
    let double = particulars(valve.name).is_some_and(|of| of.is_double());
    format!("{}{}", if double { "double " } else { "" }, valve.kind.words())
}

/// A heater in two figures.
pub fn heater(volts: f64, amperes: f64) -> String {
    format!("{}, {}", writing::repeated(volts, &VOLT), writing::repeated(amperes, &AMPERE))
}

/// What the page is about, in one sentence.
pub fn summary(valve: &Valve) -> String {
    let what = what(valve);
    let mut letters = what.chars();
    let begun: String = letters.next().into_iter().flat_map(char::to_uppercase).chain(letters).collect();
    match particulars(valve.name) {
        Some(of) => {
            let heater = heater(of.heater_voltage.value().si(), of.heater_current.value().si());
            format!("{begun} on {}, heater {heater}.", of.base.words())
        }
        None => format!("{begun}; its base and heater are {UNKNOWN}."),
    }
}

/// The text of the page.
pub fn text(valve: &Valve) -> Vec<Node> {
    let from = path(valve);
    let table = Element::new("a", nodes!["valves of this book"]).with("href", relative(&from, VALVES));
    let mut nodes = nodes![
        p(nodes![
            "One of the ",
            table,
            ". Where a figure is ",
            unknown(),
            ", we did not find it; it may well be published. The maker’s own data sheet for the valve in your hand \
             comes before this page."
        ]),
        Element::heading("ratings", "Ratings"),
        promises(valve),
        figures("Ratings", valve, &from, &ratings(valve)),
        Element::heading("grid-circuit", "Grid circuit"),
        p(nodes![
            "The highest direct resistance from ",
            strong("one valve’s"),
            " control grid to its cathode. It includes the grid’s own stopper, its leak times the valves on that \
             leak, and the bias source times every valve that it feeds. With fixed bias nothing counteracts grid \
             current. With cathode bias the cathode resistor counteracts part of it, so that figure is higher and \
             must not be used for fixed bias."
        ]),
        figures("Grid circuit", valve, &from, &grid_circuit(valve)),
        Element::heading("heater", "Heater and capacitances"),
        p(nodes!["Capacitances are of the cold valve, without the socket’s and the wiring’s."]),
        figures("Heater and capacitances", valve, &from, &inside(valve)),
    ];
    nodes.extend(socket::section(valve, &from));
    nodes.extend(model::section(valve, &from));
    nodes
}

/// What the limits on this page promise, each system once.
fn promises(valve: &Valve) -> Element {
    let mut systems: Vec<System> = Vec::new();
    for row in ratings(valve).iter().chain(&grid_circuit(valve)) {
        if let Some(system) = row.known.as_ref().and_then(|known| known.system)
            && !systems.contains(&system)
        {
            systems.push(system);
        }
    }
    let begun = |system: System| {
        let words = system.words();
        words.chars().take(1).flat_map(char::to_uppercase).chain(words.chars().skip(1)).collect::<String>()
    };
    let promise = |system: System| li(nodes![strong(begun(system)), format!(": {}.", system.promise())]);
    let mut items: Vec<Node> = systems.into_iter().map(|system| promise(system).into()).collect();
    if particulars(valve.name).is_some_and(|of| of.is_double()) {
        items.push(
            li(nodes!["Dissipation, current and capacitances are of ", strong("one section"), "."]).into(),
        );
    }
    Element::new("ul", items)
}

/// A figure that the bench may look for.
struct Row {
    what: &'static str,
    known: Option<Known>,
}

struct Known {
    value: String,
    /// Of a limit.
    system: Option<System>,
    source: &'static Source,
    note: &'static str,
}

fn limit<Q: Quantity>(what: &'static str, figure: Option<Figure<Q>>) -> Row {
    let mut row = row(what, figure);
    if let (Some(known), Some(figure)) = (&mut row.known, figure) {
        known.system = Some(figure.system);
    }
    row
}

fn row<Q: Quantity>(what: &'static str, figure: Option<Figure<Q>>) -> Row {
    let known = |figure: Figure<Q>| {
        let Figure { source, note, .. } = figure;
        Known { value: written(figure), system: None, source, note }
    };
    Row { what, known: figure.map(known) }
}

fn ratings(valve: &Valve) -> Vec<Row> {
    let Limits { anode_voltage, screen_voltage, anode_power, screen_power, .. } = valve.limits;
    let Limits { cathode_current, heater_cathode, .. } = valve.limits;
    let mut rows = vec![limit("Anode voltage", anode_voltage), limit("Anode dissipation", anode_power)];
    if valve.kind != Kind::Triode {
        rows.extend([limit("Screen voltage", screen_voltage), limit("Screen dissipation", screen_power)]);
    }
    rows.extend([limit("Cathode current", cathode_current), limit("Heater to cathode", heater_cathode)]);
    rows
}

fn grid_circuit(valve: &Valve) -> Vec<Row> {
    let Limits { grid_circuit_fixed, grid_circuit_self, .. } = valve.limits;
    vec![limit("With fixed bias", grid_circuit_fixed), limit("With cathode bias", grid_circuit_self)]
}

fn inside(valve: &Valve) -> Vec<Row> {
    let Capacitances { grid, anode_grid } = valve.capacitances;
    let of = particulars(valve.name);
    let (to_grid, output) = match valve.kind {
        Kind::Triode => ("Grid to cathode", "Anode to cathode"),
        Kind::Pentode | Kind::BeamTetrode => {
            ("Control grid to all except the anode", "Anode to all except the grid")
        }
    };
    vec![
        row("Heater voltage", of.map(|of| of.heater_voltage)),
        row("Heater current", of.map(|of| of.heater_current)),
        row(to_grid, grid),
        row("Anode to grid", anode_grid),
        row(output, of.and_then(|of| of.output)),
    ]
}

fn figures(name: &str, valve: &Valve, from: &str, rows: &[Row]) -> Markup {
    let rated = rows.iter().any(|row| row.known.as_ref().is_some_and(|known| known.system.is_some()));
    html! {
        section.scroll tabindex="0" aria-label={ (name) " of the " (valve.name) } {
            table {
                thead { tr {
                    th scope="col" { "Figure" } th scope="col" { "Value" }
                    @if rated { th scope="col" { "System" } }
                    th scope="col" { "Source" }
                } }
                tbody {
                    @for Row { what, known } in rows {
                        tr {
                            th scope="row" { (what) }
                            @if let Some(Known { value, system, source, note }) = known {
                                td { (value) }
                                @if let Some(system) = system { td { (system.words()) } }
                                td.source data-lone-link[super::is_lone(source) && note.is_empty()] { (cited(from, source)) @if !note.is_empty() { "; " (note) } }
                            } @else {
                                td { em { (UNKNOWN) } }
                                @if rated { td { "–" } }
                                td { "–" }
                            }
                        }
                    }
                }
            }
        }
    }
}
