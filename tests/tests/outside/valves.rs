//! The valve table against a second collection of the same figures, made independently of it
//! (`data/valves-second.toml`). Where the two differ, the second says why ours stands; a difference without a reason,
//! and a reason without a difference, both fail.

use std::fs;

use calc_core::quantity::notation::read;
use calc_core::quantity::unit::Unit;
use calc_core::quantity::{ElectricPotential, Quantity};
use calc_core::valve::{Base, Electrode, Figure, Kind, Pin, VALVES, Valve, particulars};
use serde::Deserialize;

#[derive(Deserialize)]
struct Second {
    figure: Vec<SecondFigure>,
    connections: Vec<SecondConnections>,
}

#[derive(Deserialize)]
struct SecondFigure {
    valve: String,
    what: String,
    value: String,
    differs: Option<String>,
}

#[derive(Deserialize)]
struct SecondConnections {
    valve: String,
    base: String,
    pins: String,
    heater: String,
    differs: Option<String>,
}

fn second() -> Second {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/data/valves-second.toml");
    let text = fs::read_to_string(path).expect("the second collection is there");
    toml::from_str(&text).expect("it reads")
}

/// The figure's value in SI units, and its unit, when the table has it.
fn ours(valve: &Valve, what: &str) -> Option<(f64, &'static Unit)> {
    fn figure<Q: Quantity>(figure: Option<Figure<Q>>) -> Option<(f64, &'static Unit)> {
        figure.map(|figure| (figure.value().si(), Q::UNIT))
    }
    let Valve { limits, capacitances, .. } = valve;
    let of = particulars(valve.name)?;
    match what {
        "limit.anode-voltage" => figure(limits.anode_voltage),
        "limit.screen-voltage" => figure(limits.screen_voltage),
        "limit.anode-power" => figure(limits.anode_power),
        "limit.screen-power" => figure(limits.screen_power),
        "limit.cathode-current" => figure(limits.cathode_current),
        "limit.grid-circuit-fixed" => figure(limits.grid_circuit_fixed),
        "limit.grid-circuit-self" => figure(limits.grid_circuit_self),
        "limit.heater-cathode" => figure(limits.heater_cathode),
        "capacitance.input" | "capacitance.grid-cathode" => figure(capacitances.grid),
        "capacitance.anode-grid" => figure(capacitances.anode_grid),
        "capacitance.output" | "capacitance.anode-cathode" => figure(of.output),
        "heater.current" => figure(Some(of.heater_current)),
        _ => None,
    }
}

#[test]
fn figures_agree_with_a_second_collection_or_say_why_not() {
    let mut compared = 0;
    for SecondFigure { valve, what, value, differs } in second().figure {
        let Some(entry) = VALVES.iter().find(|known| known.name == valve) else {
            panic!("{valve} is not in the table");
        };
        let Some((is, unit)) = ours(entry, &what) else { continue };
        let theirs =
            read(&value, unit, 0).unwrap_or_else(|refusal| panic!("{valve} {what} {value}: {refusal:?}"));
        let same = (is - theirs.value).abs() <= 1e-9 * is.abs();
        assert_eq!(
            same,
            differs.is_none(),
            "{valve}, {what}: ours is {is}, the second has {value}: {differs:?}"
        );
        compared += 1;
    }
    assert!(compared >= 125, "only {compared} figures were compared");
}

/// A pin in the letters of the second collection.
fn letters(kind: Kind, pin: Pin) -> String {
    let one = |electrode: &Electrode| match electrode {
        Electrode::Heater => "h",
        Electrode::HeaterTap => "hct",
        Electrode::Cathode => "k",
        Electrode::ControlGrid if kind == Kind::Triode => "g",
        Electrode::ControlGrid => "g1",
        Electrode::ScreenGrid => "g2",
        Electrode::SuppressorGrid => "g3",
        Electrode::BeamPlates => "bp",
        Electrode::Anode => "a",
        Electrode::InternalScreen => "s",
        Electrode::BaseSleeve => "sleeve",
    };
    match pin {
        Pin::Unconnected => "-".to_owned(),
        Pin::Internal => "ic".to_owned(),
        Pin::Joined(electrodes, section) => {
            let section = section.map_or("", |section| if section == 1 { "′" } else { "″" });
            electrodes.iter().map(one).collect::<Vec<_>>().join("+") + section
        }
    }
}

#[test]
fn pins_and_heaters_agree_with_a_second_collection_or_say_why_not() {
    let mut compared = Vec::new();
    for SecondConnections { valve, base, pins, heater, differs } in second().connections {
        let entry = VALVES.iter().find(|known| known.name == valve).expect("it is in the table");
        let of = particulars(entry.name).expect("it has pins");
        let ours: Vec<String> = of.pins.iter().map(|pin| letters(entry.kind, *pin)).collect();
        let ours = ours.join(" ");
        assert_eq!(
            ours == pins,
            differs.is_none(),
            "{valve}: ours is {ours}, the second has {pins}: {differs:?}"
        );
        assert_eq!(of.base, if base == "octal" { Base::Octal } else { Base::Noval }, "{valve}");
        let volts = read(&heater, ElectricPotential::UNIT, 0).expect("volts").value;
        assert!((of.heater_voltage.value().si() - volts).abs() < 1e-9, "{valve}: its heater");
        compared.push(entry.name);
    }
    let all: Vec<&str> = VALVES.iter().map(|valve| valve.name).collect();
    assert_eq!(compared, all, "every valve, each once");
}
