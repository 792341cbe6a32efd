//! The ladder against the network of both sides, faults one by one, and how fast it is.

use super::circuit::{Drive, Place};
use super::network::Fault;
use super::*;
use crate::calculator::Inputs;
use crate::network::NetworkError;
use crate::network::units::hertz;

fn question(typed: &[(&str, &str)]) -> MasterVolume {
    let inputs: Inputs = typed.iter().map(|(id, text)| ((*id).to_owned(), (*text).to_owned())).collect();
    MasterVolume::ask(&mut Ask::reading(&inputs, &inputs))
}

const TOPOLOGIES: [&str; 5] = ["divider", "across", "instead", "bridge", "chassis"];

#[test]
fn the_chain_of_one_side_is_the_network_of_both() {
    for topology in TOPOLOGIES {
        for place in ["none", "pot", "socket", "tag"] {
            for valves in ["1", "2"] {
                let question = question(&[("topology", topology), ("safe-at", place), ("valves", valves)]);
                let circuit = question.circuit().unwrap();
                for share in [0.0, 0.03, 0.5, 1.0].map(Ratio::of) {
                    let place = circuit.safe.map(|(place, _)| place);
                    let mut build = question.build(&circuit, share, None, place);
                    build.whole = true;
                    let network = build.network();
                    let mut sweep = network.sweep(&["grid A"]).unwrap();
                    for frequency in [2.0, 100.0, 1e3, 20e3, 1e6] {
                        let by_network = sweep.at(hertz(frequency)).unwrap()[0];
                        let by_chain = circuit.gain(share, Drive::Apart, frequency);
                        let off = (by_network - by_chain).amplitude();
                        assert!(
                            off <= 1e-9 * by_chain.amplitude(),
                            "{topology} {place:?} {share:?} {frequency} Hz"
                        );
                    }
                }
            }
        }
    }
}

const PLACES: [Option<Place>; 4] = [None, Some(Place::Pot), Some(Place::Socket), Some(Place::Tag)];

/// What grid A is at with a fault and the resistor in each place: none, pot, socket, tag.
fn found(typed: &[(&str, &str)], share: f64, fault: Fault) -> [Option<f64>; 4] {
    let question = question(typed);
    let circuit = question.circuit().unwrap();
    PLACES.map(|place| question.build(&circuit, Ratio::of(share), Some(fault), place).grid())
}

#[test]
fn a_grid_at_rest_is_where_the_solver_of_networks_finds_it() {
    for topology in TOPOLOGIES {
        let question = question(&[("topology", topology), ("valves", "2")]);
        let circuit = question.circuit().unwrap();
        for (fault, place) in FAULTS.into_iter().flat_map(|fault| PLACES.map(|place| (fault, place))) {
            let build = question.build(&circuit, Ratio::of(0.3), Some(fault), place);
            let (grids, network) = (build.grids(), build.network());
            match network.operating_point() {
                Ok(point) => {
                    let sides = if build.reaches_over() { 2 } else { 1 };
                    for (here, name) in grids.into_iter().zip(["grid A", "grid B"]).take(sides) {
                        let (here, there) = (here.unwrap(), point.voltage(name).unwrap().si());
                        assert!(
                            (here - there).abs() <= 1e-6,
                            "{topology} {fault:?} {place:?}: {here}, {there}"
                        );
                    }
                }
                // What hangs in the air elsewhere stops the solver, and not this.
                Err(NetworkError::Floating { node }) => {
                    assert!(
                        !node.ends_with('B') || grids[0].is_some(),
                        "{topology} {fault:?} {place:?}: {node}"
                    );
                }
                Err(error) => panic!("{topology} {fault:?} {place:?}: {error}"),
            }
        }
    }
}

const FAULTS: [Fault; 16] = [
    Fault::Wiper,
    Fault::LowEnd,
    Fault::Jumper,
    Fault::Feed,
    Fault::Gang,
    Fault::Lead,
    Fault::Stopper,
    Fault::Screen,
    Fault::Body,
    Fault::OuterLugs,
    Fault::WiperLug,
    Fault::LowLug,
    Fault::Leaky(10e6),
    Fault::SecondLeaky(10e6),
    Fault::Gas(10e-6),
    Fault::Board(50e6),
];

fn holds(grid: Option<f64>) -> bool {
    grid.is_some_and(|volts| volts < -40.0)
}

/// Bench rule 22, by hand: what each place covers.
#[test]
fn each_place_of_the_resistor_covers_what_it_can_and_no_more() {
    for (fault, covered) in [
        (Fault::Wiper, [false, true, true, true]),
        (Fault::LowEnd, [false, true, true, true]),
        (Fault::Gang, [false, true, true, true]),
        (Fault::Jumper, [false, false, true, true]),
        (Fault::Feed, [false, false, true, true]),
        (Fault::Lead, [false, false, true, true]),
        (Fault::Stopper, [false, false, false, true]),
        (Fault::Screen, [false; 4]),
        (Fault::Body, [false; 4]),
        (Fault::OuterLugs, [true; 4]),
        (Fault::WiperLug, [true; 4]),
        (Fault::LowLug, [true; 4]),
    ] {
        let grids = found(&[], 0.5, fault);
        assert_eq!(grids.map(holds), covered, "{fault:?}: {grids:?}");
    }
    // A floating grid has no voltage at all, and a grounded one is at 0 V: not the same.
    assert_eq!(found(&[], 0.5, Fault::Wiper)[0], None);
    for grid in found(&[], 0.5, Fault::Screen) {
        assert!(grid.is_some_and(|volts| volts.abs() < 0.5), "{grid:?}");
    }
}

#[test]
fn where_the_leaks_stay_nothing_that_lifts_takes_the_bias() {
    for topology in ["across", "bridge", "chassis"] {
        for fault in [Fault::Wiper, Fault::LowEnd, Fault::Gang, Fault::Lead, Fault::Jumper, Fault::Feed] {
            assert!(holds(found(&[("topology", topology)], 0.5, fault)[0]), "{topology}: {fault:?}");
        }
    }
    // The divider to chassis bears even a shorted first capacitor, a grounded wiper and a grounded screen.
    for fault in [Fault::Leaky(0.1), Fault::Body, Fault::Screen] {
        assert!(holds(found(&[("topology", "chassis")], 0.5, fault)[0]), "{fault:?}");
    }
}

#[test]
fn a_leak_through_the_capacitor_moves_the_bias_with_the_knob() {
    let [low, high] =
        [0.0, 1.0].map(|share| found(&[("safe-at", "none")], share, Fault::Leaky(10e6))[0].unwrap());
    assert!(low < -45.5 && high > -41.0, "{low} {high}");
}

#[test]
fn four_valves_count_the_bias_source_four_times() {
    // Bench rule 28 by hand: 1.5 + 2 × 224.49 + 4 × 12 kΩ, the track's 10 Ω end left out.
    let question = question(&[("valves", "2"), ("safe-at", "pot")]);
    let most = question.work().unwrap().grid_circuit_most;
    assert!((most - 498.48e3).abs() < 30.0, "{most}");
}

#[test]
fn swapped_outer_lugs_turn_the_law_round() {
    // 1 µA through the whole track of 250 kΩ is 0.25 V; through its end, nothing.
    for topology in ["divider", "instead"] {
        let at = |share| found(&[("topology", topology)], share, Fault::OuterLugs)[0].unwrap();
        let apart = at(0.0) - at(1.0);
        assert!((apart - 0.25).abs() < 1e-3, "{topology}: {apart}");
    }
}
