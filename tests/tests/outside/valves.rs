//! The valve table against a second collection of the same figures, made independently of it
//! (`data/valves-second.toml`). Where the two differ, the second says why ours stands; a difference without a reason,
//! and a reason without a difference, both fail.

use std::fs;

use calc_core::quantity::Quantity;
use calc_core::quantity::notation::read;
use calc_core::quantity::unit::Unit;
use calc_core::valve::{Figure, VALVES, Valve};
use serde::Deserialize;

#[derive(Deserialize)]
struct Second {
    figure: Vec<SecondFigure>,
}

#[derive(Deserialize)]
struct SecondFigure {
    valve: String,
    what: String,
    value: String,
    differs: Option<String>,
}

/// The figure's value in SI units, and its unit, when the table has it.
fn ours(valve: &Valve, what: &str) -> Option<(f64, &'static Unit)> {
    fn figure<Q: Quantity>(figure: Option<Figure<Q>>) -> Option<(f64, &'static Unit)> {
        figure.map(|figure| (figure.value().si(), Q::UNIT))
    }
    let Valve { limits, capacitances, .. } = valve;
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
        _ => None,
    }
}

#[test]
fn figures_agree_with_a_second_collection_or_say_why_not() {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/data/valves-second.toml");
    let second: Second = toml::from_str(&fs::read_to_string(path).unwrap()).unwrap();
    let mut compared = 0;
    for SecondFigure { valve, what, value, differs } in second.figure {
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
    assert!(compared >= 80, "only {compared} figures were compared");
}
