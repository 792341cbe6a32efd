//! Networks that nobody would draw: they have an answer that obeys Kirchhoff, or an error.

use proptest::prelude::*;

use super::super::units::*;
use super::super::{CHASSIS, Network, NetworkError, Pins, Signal};
use crate::quantity::Quantity;
use crate::valve::fitted;

/// A part of some kind between some nodes, with some value.
#[derive(Debug, Clone)]
struct Odd {
    kind: u8,
    nodes: [usize; 4],
    value: f64,
    other: f64,
}

const VALVE: u8 = 8;

const NODES: &[&str] = &[CHASSIS, "a", "b", "c", "d"];

fn odd(kinds: u8, values: impl Strategy<Value = f64> + Clone) -> impl Strategy<Value = Vec<Odd>> {
    let part = (0..kinds, prop::array::uniform4(0..NODES.len()), values.clone(), values);
    let part = part.prop_map(|(kind, nodes, value, other)| Odd { kind, nodes, value, other });
    prop::collection::vec(part, 1..12)
}

/// Anything that a number may be.
fn any_value() -> impl Strategy<Value = f64> + Clone {
    prop_oneof![
        4 => (-15.0..9.0f64).prop_map(|power| libm::pow(10.0, power)),
        1 => prop::sample::select(vec![
            0.0, -0.0, 1e-300, 1e-30, 1e30, 1e300, f64::MAX, f64::MIN_POSITIVE, f64::INFINITY, f64::NAN, -1.0, -1e9,
        ]),
    ]
}

/// What is drawn at a bench.
fn sane_value() -> impl Strategy<Value = f64> + Clone {
    (-1.0..6.0f64).prop_map(|power| libm::pow(10.0, power))
}

fn build(parts: &[Odd]) -> Network {
    let mut network = Network::new();
    for (at, Odd { kind, nodes, value, other }) in parts.iter().enumerate() {
        let name = &at.to_string();
        let [a, b, c, d] = nodes.map(|node| NODES[node]);
        let (value, other) = (*value, *other);
        match *kind {
            0..=2 => network.resistor(name, a, b, ohms(value)),
            3 => network.voltage(name, a, b, Signal::dc(volts(value)).ac(volts(other))),
            4 => network.current(name, a, b, Signal::dc(amperes(value * 1e-3)).ac(amperes(other))),
            5 => network.capacitor(name, a, b, farads(value * 1e-9)),
            6 => network.winding(name, a, b, henries(value * 1e-3), ohms(other)),
            7 => network.diode(name, a, b, amperes(1e-9), 1.5),
            VALVE => network.valve(name, Pins { anode: a, screen: b, grid: c, cathode: d }, valve(value)),
            9 => network.voltage_by_voltage(name, (a, b), (c, d), value),
            10 => network.current_by_voltage(name, (a, b), (c, d), siemens(value * 1e-6)),
            11 => network.ideal_transformer(name, (a, b), (c, d), value),
            12 => network.coupled(name, &(at / 2).to_string(), "0", 0.9),
            13 => network.voltage(name, a, b, Signal::steps(volts(value), &[(seconds(1e-3), volts(other))])),
            14 => network.voltage(name, a, b, Signal::sine(volts(0.0), volts(value), hertz(other))),
            15 => network.current_by_current(name, (a, b), "0", value),
            16 => network.voltage_by_current(name, (a, b), "0", ohms(value)),
            _ => network.diode(name, a, b, amperes(value), other),
        };
    }
    network
}

fn valve(value: f64) -> crate::valve::model::Model {
    fitted(if value > 1.0 { "6L6GC" } else { "12AX7" }).unwrap().model
}

/// Parts that are still there when others that refer to them are taken in another order are needed for this.
fn reversed(parts: &[Odd]) -> Vec<Odd> {
    parts.iter().rev().cloned().collect()
}

fn voltages(network: &Network) -> Result<Vec<f64>, NetworkError> {
    let point = network.operating_point()?;
    let known = NODES.iter().filter_map(|node| point.voltage(node).ok());
    Ok(known.map(Quantity::si).collect())
}

/// The currents of two-ended parts that leave each node, summed up, and the sum of their amounts.
fn kirchhoff(parts: &[Odd], network: &Network) -> Vec<(f64, f64)> {
    let point = network.operating_point().unwrap();
    let mut sums = vec![(0.0, 0.0); NODES.len()];
    for (at, part) in parts.iter().enumerate() {
        let current = point.current(&at.to_string()).unwrap().si();
        for (node, sign) in [(part.nodes[0], 1.0), (part.nodes[1], -1.0)] {
            sums[node].0 += sign * current;
            sums[node].1 += current.abs();
        }
    }
    sums
}

/// Whether every current that comes to a node leaves it, as nearly as the solver promises its voltages.
fn obeys_kirchhoff(parts: &[Odd], network: &Network, voltages: &[f64]) -> Result<(), TestCaseError> {
    let highest = voltages.iter().fold(0.0, |highest: f64, v| highest.max(v.abs()));
    let promised = 1e-12 * highest + 1e-9;
    // How many amperes each promised volt makes: a diode on kiloamperes makes many, at kilovolts.
    let point = network.operating_point().unwrap();
    let steepness = |(at, part): (usize, &Odd)| match part.kind {
        0..=2 => 1.0 / part.value.abs(),
        7 => point.current(&at.to_string()).unwrap().si().abs() / (1.5 * 0.025),
        10 => part.value.abs() * 1e-6,
        _ => 0.0,
    };
    let conductance: f64 = parts.iter().enumerate().map(steepness).sum();
    let sums = kirchhoff(parts, network);
    let largest = sums.iter().fold(0.0, |largest: f64, (_, amounts)| largest.max(*amounts));
    for (sum, amounts) in sums {
        let allowed = 1e-5 * amounts + 1e-11 * largest + promised * conductance + 1e-12;
        prop_assert!(sum.abs() <= allowed, "{sum} A of {amounts} A is left over");
    }
    Ok(())
}

proptest! {
    #[test]
    fn any_network_has_an_answer_or_an_error(parts in odd(18, any_value()), frequency in any_value()) {
        let network = build(&parts);
        if let Ok(point) = network.operating_point() {
            for node in NODES {
                prop_assert!(point.voltage(node).is_ok_and(|v| v.si().is_finite()) || network.node_called(node).is_err());
            }
            for at in 0..parts.len() {
                match point.current(&at.to_string()) {
                    Ok(current) => prop_assert!(current.si().is_finite(), "{at}"),
                    Err(error) => prop_assert!(matches!(error, NetworkError::NotFinite { .. }), "{error}"),
                }
            }
        }
        let nodes: Vec<&str> = NODES.iter().copied().filter(|node| network.node_called(node).is_ok()).collect();
        if let Ok(mut sweep) = network.sweep(&nodes) {
            for frequency in [frequency, 0.0, 1.0, 1e3, 1e6] {
                if let Ok(answer) = sweep.at(hertz(frequency)) {
                    prop_assert!(answer.iter().all(|v| v.re.is_finite() && v.im.is_finite()), "{frequency} Hz");
                    prop_assert!(answer.iter().all(|v| v.decibels().is_none_or(f64::is_finite)));
                }
            }
        }
        _ = network.netlist("Odd\nnetwork");
    }

    #[test]
    fn what_comes_to_rest_obeys_kirchhoff(parts in odd(8, any_value())) {
        let network = build(&parts);
        if let Ok(voltages) = voltages(&network) {
            obeys_kirchhoff(&parts, &network, &voltages)?;
        }
    }

    #[test]
    fn the_order_of_parts_makes_no_difference(parts in odd(11, sane_value())) {
        let backwards = reversed(&parts);
        let (one, other) = (build(&parts), build(&backwards));
        let has = |kinds: &[u8]| parts.iter().any(|part| kinds.contains(&part.kind));
        match (voltages(&one), voltages(&other)) {
            // What bends inside a loop that amplifies can rest at more than one point, as a flip-flop does: which is found
            // may depend on the order, and each must be one.
            (Ok(ones), Ok(others)) if has(&[7, VALVE]) && has(&[9, 10]) => {
                if !has(&[VALVE]) {
                    obeys_kirchhoff(&parts, &one, &ones)?;
                    obeys_kirchhoff(&backwards, &other, &others)?;
                }
            }
            (Ok(ones), Ok(others)) => {
                // A pentode's published equations jump where its screen passes its cathode while the grid is positive.
                let share = if has(&[VALVE]) { 1e-3 } else { 1e-6 };
                let largest = ones.iter().fold(1.0, |m: f64, v| m.max(v.abs()));
                for (one, other) in ones.iter().zip(&others) {
                    prop_assert!((one - other).abs() <= share * largest, "{one} V and {other} V");
                }
            }
            // What rounding may lose is a limit like any other, which an answer that is at it passes or not by the last
            // digit.
            (Err(NetworkError::Lost { .. }), Ok(_)) | (Ok(_), Err(NetworkError::Lost { .. })) => {}
            // A valve's screen that is tied to nothing drifts into cut-off, where it floats, or nearly so; and a diode at
            // hundreds of amperes, in an island tied by nanosiemens, settles or not by the last digit.
            (one, other) => prop_assert!(one.is_ok() == other.is_ok() || has(&[7, VALVE]), "{one:?}\n{other:?}"),
        }
    }

    #[test]
    fn the_slower_elimination_says_the_same(parts in odd(13, sane_value()), power in 0.0..6.0f64) {
        let network = build(&parts);
        let nodes: Vec<&str> = NODES.iter().copied().filter(|node| network.node_called(node).is_ok()).collect();
        let Ok(mut sweep) = network.sweep(&nodes) else { return Ok(()) };
        let frequency = hertz(libm::pow(10.0, power));
        let Ok(fast) = sweep.at(frequency).map(<[_]>::to_vec) else { return Ok(()) };
        // Where nothing but rounding is left of an answer, either may say so.
        let Ok(slow) = sweep.at_slowly(frequency) else { return Ok(()) };
        // Where a drive of kiloamperes comes to nothing, its rounding is left.
        let drives = parts.iter().filter(|part| matches!(part.kind, 3 | 4)).map(|part| part.other);
        let least = drives.fold(1e-6, |least, drive| f64::max(least, 1e-7 * drive));
        let largest = fast.iter().fold(least, |largest: f64, v| largest.max(v.amplitude()));
        for (fast, slow) in fast.iter().zip(slow) {
            prop_assert!((*fast - *slow).amplitude() <= 1e-6 * largest, "{fast:?} and {slow:?}");
        }
    }
}

proptest! {
    // Each takes a thousand times as long as an operating point.
    #![proptest_config(ProptestConfig { cases: ProptestConfig::default().cases / 32, ..ProptestConfig::default() })]

    #[test]
    fn any_course_ends_or_says_why(parts in odd(8, sane_value()), step in sane_value(), load in sane_value()) {
        let mut network = build(&parts);
        network.voltage("step", "a", CHASSIS, Signal::steps(volts(0.0), &[(seconds(2e-3), volts(step.min(500.0)))]));
        network.resistor("load", "b", CHASSIS, ohms(load));
        if let Ok(transient) = network.transient(seconds(10e-3)) {
            for node in ["a", "b"] {
                prop_assert!(transient.voltage(node).unwrap().iter().all(|v| v.si().is_finite()));
            }
            prop_assert!(transient.voltage_at("a", seconds(10e-3)).is_ok());
        }
    }
}
