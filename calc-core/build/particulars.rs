//! Writes base, pins and heater of each valve as a static table of its own.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use serde::Deserialize;

use crate::{Figure, Source, constant, figure_text, known_source, unit};

/// The valves, as far as this table needs them.
#[derive(Deserialize)]
pub struct Valves {
    valve: Vec<Valve>,
    lookalike: Vec<Lookalike>,
}

/// A type that goes into the same socket and joins pins inside.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Lookalike {
    r#type: String,
    base: String,
    /// A number for each pin, and what it is joined to.
    joined: BTreeMap<String, String>,
    from: String,
}

#[derive(Deserialize)]
struct Valve {
    r#type: String,
    base: String,
    /// `from`, and a number for each pin.
    pins: BTreeMap<String, String>,
    heater: Heater,
    #[serde(default)]
    capacitance: BTreeMap<String, Figure>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Heater {
    voltage: Figure,
    current: Figure,
}

/// How the table writes what is on a pin, and the name in Rust.
const ELECTRODES: &[(&str, &str)] = &[
    ("heater", "Heater"),
    ("heater centre tap", "HeaterTap"),
    ("cathode", "Cathode"),
    ("control grid", "ControlGrid"),
    ("screen grid", "ScreenGrid"),
    ("suppressor grid", "SuppressorGrid"),
    ("beam plates", "BeamPlates"),
    ("anode", "Anode"),
    ("internal screen", "InternalScreen"),
    ("base sleeve", "BaseSleeve"),
];

/// The text of the table.
pub fn table(valves: &Valves, sources: &[Source]) -> Result<String, String> {
    let mut text = String::from("static PARTICULARS: &[Particulars] = &[\n");
    let mut sockets = String::from("static PINS: &[(&str, &[Pin])] = &[\n");
    for valve in &valves.valve {
        let in_valve = |fault| format!("valves.toml: {}: {fault}", valve.r#type);
        text.push_str(&entry(valve, sources).map_err(in_valve)?);
        let _ = writeln!(sockets, "({:?}, &[{}]),", valve.r#type, pins(valve).map_err(in_valve)?.1);
    }
    text.push_str("];\n");
    let mut others = String::from("/// Every such type.\npub static LOOKALIKES: &[Lookalike] = &[\n");
    for lookalike in &valves.lookalike {
        let entry = joined(lookalike, sources);
        others.push_str(&entry.map_err(|fault| format!("valves.toml: {}: {fault}", lookalike.r#type))?);
    }
    Ok(text + &sockets + "];\n" + &others + "];\n")
}

fn joined(
    Lookalike { r#type, base, joined, from }: &Lookalike,
    sources: &[Source],
) -> Result<String, String> {
    known_source(from, sources)?;
    let (base, count) = base_of(base)?;
    let mut pins = String::new();
    for (number, words) in joined {
        if !number.parse::<u8>().is_ok_and(|number| (1..=count).contains(&number)) {
            return Err(format!("there is no pin “{number}”"));
        }
        let pin = pin(words).map_err(|fault| format!("pin {number}: {fault}"))?;
        let _ = write!(pins, "({number}, {pin}), ");
    }
    Ok(format!(
        "Lookalike {{ name: {type:?}, base: Base::{base}, joined: &[{pins}], source: &crate::source::{} }},\n",
        constant(from)
    ))
}

/// The base in Rust, and how many pins it has.
fn base_of(base: &str) -> Result<(&'static str, u8), String> {
    match base {
        "octal" => Ok(("Octal", 8)),
        "noval" => Ok(("Noval", 9)),
        other => Err(format!("base “{other}” is none of octal, noval")),
    }
}

/// The base, and what is on each pin.
fn pins(Valve { base, pins, .. }: &Valve) -> Result<(&'static str, String), String> {
    let (base, count) = base_of(base)?;
    if let Some(unknown) = pins
        .keys()
        .find(|key| *key != "from" && !key.parse::<u8>().is_ok_and(|number| (1..=count).contains(&number)))
    {
        return Err(format!("pin “{unknown}”: the base has pins 1 to {count}"));
    }
    let mut written = String::new();
    for number in 1..=count {
        let words = pins.get(&number.to_string()).ok_or_else(|| format!("pin {number} is missing"))?;
        let _ = write!(written, "{}, ", pin(words).map_err(|fault| format!("pin {number}: {fault}"))?);
    }
    Ok((base, written))
}

fn entry(valve: &Valve, sources: &[Source]) -> Result<String, String> {
    let Valve { r#type, pins: table, heater, capacitance, .. } = valve;
    let from = table.get("from").ok_or("its pins name no source: write from = \"…\"")?;
    known_source(from, sources)?;
    let (base, written) = pins(valve)?;
    let figure = |name: &str, figure: &Figure, unit| {
        figure_text(figure, unit, "not stated", sources).map_err(|fault| format!("{name}: {fault}"))
    };
    let voltage = figure("heater voltage", &heater.voltage, &unit::VOLT)?;
    let current = figure("heater current", &heater.current, &unit::AMPERE)?;
    let output = match capacitance.get("output").or_else(|| capacitance.get("anode-cathode")) {
        Some(given) => format!("Some({})", figure("output capacitance", given, &unit::FARAD)?),
        None => "None".to_owned(),
    };
    Ok(format!(
        "Particulars {{ valve: {type:?}, base: Base::{base}, pins: &[{written}], \
         pins_source: &crate::source::{}, heater_voltage: {voltage}, heater_current: {current}, output: {output} }},\n",
        constant(from)
    ))
}

fn pin(words: &str) -> Result<String, String> {
    match words {
        "no connection" => return Ok("Pin::Unconnected".to_owned()),
        "internal connection" => return Ok("Pin::Internal".to_owned()),
        _ => {}
    }
    let (names, section) = match words.split_once(", section ") {
        Some((names, number @ ("1" | "2"))) => (names, format!("Some({number})")),
        Some((_, number)) => return Err(format!("section “{number}” is neither 1 nor 2")),
        None => (words, "None".to_owned()),
    };
    let electrodes = names
        .split(" and ")
        .map(|name| {
            let known = ELECTRODES.iter().find(|(words, _)| *words == name);
            known.map(|(_, variant)| format!("Electrode::{variant}")).ok_or_else(|| {
                let words: Vec<&str> = ELECTRODES.iter().map(|(words, _)| *words).collect();
                format!("“{name}” is none of {}, no connection, internal connection", words.join(", "))
            })
        })
        .collect::<Result<Vec<_>, _>>()?;
    Ok(format!("Pin::Joined(&[{}], {section})", electrodes.join(", ")))
}
