//! Makes static tables of `data/sources.toml` and `data/valves.toml`, so that the WebAssembly holds no TOML parser, a
//! source is named by an identifier that the compiler checks, and a figure without a source does not build. The valves'
//! models are fitted here too, so that they never lag behind the table and the browser has nothing to fit.

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use std::{env, fs};

use serde::Deserialize;

#[path = "src/valve/fit.rs"]
#[allow(dead_code)]
mod fit;
#[path = "src/valve/model.rs"]
#[allow(dead_code)]
mod model;
#[path = "build/models.rs"]
mod models;
#[path = "src/quantity/notation.rs"]
#[allow(dead_code)]
mod notation;
#[path = "build/particulars.rs"]
mod particulars;
#[path = "src/quantity/unit.rs"]
#[allow(dead_code, missing_docs)]
mod unit;

#[derive(Deserialize)]
struct Sources {
    source: Vec<Source>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Source {
    id: String,
    title: String,
    seen: String,
    trust: String,
    document: Option<String>,
}

#[derive(Deserialize)]
struct Valves {
    valve: Vec<Valve>,
}

/// The part of a valve's entry that the calculators use so far.
#[derive(Deserialize)]
struct Valve {
    r#type: String,
    #[serde(default)]
    also: Vec<String>,
    kind: String,
    system: String,
    #[serde(default)]
    limit: BTreeMap<String, Figure>,
    #[serde(default)]
    capacitance: BTreeMap<String, Figure>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Figure {
    value: String,
    from: String,
    system: Option<String>,
    note: Option<String>,
}

/// The limits a valve may have: key in the table, field in Rust, unit.
const LIMITS: &[(&str, &str, &unit::Unit)] = &[
    ("anode-voltage", "anode_voltage", &unit::VOLT),
    ("screen-voltage", "screen_voltage", &unit::VOLT),
    ("anode-power", "anode_power", &unit::WATT),
    ("screen-power", "screen_power", &unit::WATT),
    ("cathode-current", "cathode_current", &unit::AMPERE),
    ("grid-circuit-fixed", "grid_circuit_fixed", &unit::OHM),
    ("grid-circuit-self", "grid_circuit_self", &unit::OHM),
    ("heater-cathode", "heater_cathode", &unit::VOLT),
];

/// The capacitances a calculator asks for: keys in the table (a pentode's and a triode's word for it), field in Rust.
const CAPACITANCES: &[(&[&str], &str)] =
    &[(&["input", "grid-cathode"], "grid"), (&["anode-grid"], "anode_grid")];

/// Capacitances of the table that no calculator asks for; they are among the particulars.
const OTHER_CAPACITANCES: &[&str] = &["output", "anode-cathode"];

fn main() {
    println!("cargo::rerun-if-changed=data");
    if let Err(fault) = tables() {
        println!("cargo::error={fault}");
    }
}

fn tables() -> Result<(), String> {
    let sources: Sources = read("data/sources.toml")?;
    let valves: Valves = read("data/valves.toml")?;
    write("sources.rs", &source_table(&sources.source)?)?;
    write("valves.rs", &valve_table(&valves.valve, &sources.source)?)?;
    write("particulars.rs", &particulars::table(&read("data/valves.toml")?, &sources.source)?)?;
    write("models.rs", &models::tables(&read("data/models.toml")?, &read("data/valves.toml")?)?)
}

fn read<T: for<'de> Deserialize<'de>>(path: &str) -> Result<T, String> {
    let text = fs::read_to_string(path).map_err(|error| format!("{path}: {error}"))?;
    toml::from_str(&text).map_err(|error| format!("calc-core/{path}: {error}").replace('\n', " "))
}

fn write(name: &str, text: &str) -> Result<(), String> {
    let folder = env::var_os("OUT_DIR").map(PathBuf::from).ok_or("OUT_DIR is not set")?;
    fs::write(Path::new(&folder).join(name), text).map_err(|error| error.to_string())
}

/// `ge-6l6gc` becomes `GE_6L6GC`; an id that begins with a digit gets an underscore before it.
fn constant(id: &str) -> String {
    let name = id.to_uppercase().replace(['-', '.'], "_");
    if name.starts_with(|first: char| first.is_ascii_digit()) { format!("_{name}") } else { name }
}

fn source_table(sources: &[Source]) -> Result<String, String> {
    let mut text = String::new();
    for Source { id, title, seen, trust, document } in sources {
        let variant = match trust.as_str() {
            "read" => "Read",
            "second-hand" => "SecondHand",
            "memory" => "Memory",
            "practice" => "Practice",
            other => {
                return Err(format!(
                    "sources.toml: {id}: trust “{other}” is none of read, second-hand, memory, practice"
                ));
            }
        };
        let document = match document.as_deref() {
            None => "Other",
            Some("data sheet") => "DataSheet",
            Some("handbook") => "Handbook",
            Some("standard") => "Standard",
            Some(other) => {
                return Err(format!(
                    "sources.toml: {id}: document “{other}” is none of data sheet, handbook, standard"
                ));
            }
        };
        let name = constant(id);
        let _ = writeln!(
            text,
            "/// {title}\npub static {name}: Source = Source {{ id: {id:?}, title: {title:?}, seen: {seen:?}, trust: Trust::{variant}, document: Document::{document} }};"
        );
    }
    let names: Vec<String> = sources.iter().map(|source| format!("&{}", constant(&source.id))).collect();
    let _ = writeln!(text, "static ALL: &[&Source] = &[{}];", names.join(", "));
    Ok(text)
}

fn valve_table(valves: &[Valve], sources: &[Source]) -> Result<String, String> {
    let mut text = String::from("/// Every valve of the table.\npub static VALVES: &[Valve] = &[\n");
    for valve in valves {
        let Valve { r#type, also, kind, system, limit, capacitance } = valve;
        let kind = match kind.as_str() {
            "pentode" => "Pentode",
            "beam tetrode" => "BeamTetrode",
            "triode" => "Triode",
            other => {
                return Err(format!(
                    "valves.toml: {type}: kind “{other}” is none of pentode, beam tetrode, triode"
                ));
            }
        };
        if let Some(unknown) = limit.keys().find(|key| LIMITS.iter().all(|(known, ..)| known != key)) {
            return Err(format!("valves.toml: {type}: there is no limit “{unknown}”"));
        }
        let known = |key: &str| CAPACITANCES.iter().any(|(keys, _)| keys.contains(&key));
        let unknown = |key: &&String| !known(key) && !OTHER_CAPACITANCES.contains(&key.as_str());
        if let Some(unknown) = capacitance.keys().find(unknown) {
            return Err(format!("valves.toml: {type}: there is no capacitance “{unknown}”"));
        }
        let field = |name: &str, figure: Option<&Figure>, unit, system| {
            let figure = figure.map(|figure| figure_text(figure, unit, system, sources)).transpose();
            let figure = figure.map_err(|fault| format!("valves.toml: {type}, {name}: {fault}"))?;
            Ok::<_, String>(match figure {
                Some(figure) => format!("{name}: Some({figure}),\n"),
                None => format!("{name}: None,\n"),
            })
        };
        let _ =
            writeln!(text, "Valve {{ name: {type:?}, also: &{also:?}, kind: Kind::{kind}, limits: Limits {{");
        for (key, name, unit) in LIMITS {
            text.push_str(&field(name, limit.get(*key), unit, system)?);
        }
        text.push_str("}, capacitances: Capacitances {\n");
        for (keys, name) in CAPACITANCES {
            let figure = keys.iter().find_map(|key| capacitance.get(*key));
            text.push_str(&field(name, figure, &unit::FARAD, "not stated")?);
        }
        text.push_str("}},\n");
    }
    text.push_str("];\n");
    Ok(text)
}

fn figure_text(
    figure: &Figure,
    unit: &unit::Unit,
    valve_system: &str,
    sources: &[Source],
) -> Result<String, String> {
    let value = notation::read(&figure.value, unit, 0)
        .map_err(|refusal| format!("“{}”: {refusal:?}", figure.value))?;
    known_source(&figure.from, sources)?;
    let system = match figure.system.as_deref().unwrap_or(valve_system) {
        "design centre" => "DesignCentre",
        "design maximum" => "DesignMaximum",
        "absolute maximum" => "AbsoluteMaximum",
        "not stated" => "NotStated",
        other => return Err(format!("the rating system “{other}” is not known")),
    };
    Ok(format!(
        "Figure::new({:?}, System::{system}, &crate::source::{}, {:?})",
        value.value,
        constant(&figure.from),
        figure.note.as_deref().unwrap_or_default()
    ))
}

fn known_source(id: &str, sources: &[Source]) -> Result<(), String> {
    let known = sources.iter().any(|source| source.id == id);
    if known { Ok(()) } else { Err(format!("there is no source “{id}” in sources.toml")) }
}
