//! The ladder against the network of both sides, faults one by one, and how fast it is.

use super::circuit::{Drive, Place};
use super::network::Fault;
use super::*;
use crate::calculator::{Drawing, Inputs, Shape};
use crate::calculators::asked;
use crate::circuit::NetworkError;
use crate::circuit::units::hertz;

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
                    for (here, name) in grids.into_iter().zip(["grid A", "grid B"]) {
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

/// By hand: what each place covers.
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
    // A floating grid has no voltage at all, and an earthed one is at 0 V: not the same.
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
    // The divider to chassis withstands even a shorted first capacitor, an earthed wiper and an earthed screen.
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
    // By hand: 1.5 + 2 × 224.49 + 4 × 12 kΩ, the track's 10 Ω end left out.
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

/// By hand: of four grid currents of 5 µA three are left where one stopper of two on side A is open. Grid B: −46 V, and 200 kΩ
/// times 15 µA, 220 kΩ times 10 µA and 1.5 kΩ times 5 µA above it.
#[test]
fn an_open_stopper_takes_its_own_valve_from_the_bias_and_no_other() {
    let typed = [
        ("topology", "chassis"),
        ("valves", "2"),
        ("bias-source", "200k"),
        ("leak", "220k"),
        ("stopper", "1k5"),
        ("bias-voltage", "-46 V"),
        ("grid-current", "5 µA"),
    ];
    let question = question(&typed);
    let circuit = question.circuit().unwrap();
    let [a, b] = question.build(&circuit, Ratio::of(0.5), Some(Fault::Stopper), None).grids();
    assert_eq!(a, None);
    assert!((b.unwrap() - (-46.0 + 3.0 + 2.2 + 0.0075)).abs() < 1e-9, "{b:?}");
}

/// By hand, knob at 0: 17 µA through 12 kΩ of bias source leave −45.796 V, and 10 µA through its own 100 kΩ lift one grid to
/// −44.796 V. The stoppers of all four side by side would leave it at −45.5 V.
#[test]
fn a_gassy_valve_lifts_its_own_grid() {
    let typed = [("valves", "4"), ("stopper", "100k")];
    let grid = found(&typed, 0.0, Fault::Gas(10e-6))[0].unwrap();
    assert!((grid + 44.796).abs() < 0.002, "{grid}");
}

/// By hand, knob at 0, 500 kΩ of bias source, the leak through the anode's 18 kΩ and the whole track of 250 kΩ:
/// (176 V − V) / 10.268 MΩ + 2 µA = (V + 46 V) / 500 kΩ gives −34.738 V at the node, and at either grid.
#[test]
fn a_leak_moves_the_other_side_through_a_weak_bias_source() {
    let question = question(&[("bias-source", "500k")]);
    let circuit = question.circuit().unwrap();
    let [_, other] = question.build(&circuit, Ratio::of(0.0), Some(Fault::Leaky(10e6)), None).grids();
    assert!((other.unwrap() + 34.738).abs() < 0.002, "{other:?}");
}

/// By hand, 12 kΩ of bias source, a 10 MΩ meter, 2.2 MΩ on each tag behind its own 1.5 kΩ: 2.2 MΩ ∥ 2.203 MΩ is 1.1007 MΩ,
/// so −46 V × 10 / 11.1127; for three 0.7343 MΩ and 10 / 10.7463.
#[test]
fn each_grid_tag_has_its_own_resistor_and_all_hold_the_lifted_grid() {
    for (valves, reading, beside) in
        [("1", -37.668, 224.5e3), ("2", -41.394, 203.7e3), ("3", -42.806, 186.4e3)]
    {
        let report = asked::report("master-volume", &[("valves", valves)]);
        let found = asked::value(&report, "lifted-reading");
        assert!((found - reading).abs() < 0.005, "{valves}: {found}");
        // 250 kΩ ∥ 2.2 MΩ / n.
        let found = asked::value(&report, "full-up-track");
        assert!(asked::near(found, beside, 5e-4), "{valves}: {found}");
    }
    let report = asked::report("master-volume", &[("valves", "2")]);
    let note = report.notes.iter().find(|note| note.starts_with("Full up,")).unwrap().replace('\u{a0}', " ");
    assert!(note.contains("204 kΩ") && !note.contains("224 kΩ"), "{note}");
    // One resistor at the pot holds both, through both stoppers: 10 / 12.2135.
    let pot = asked::report("master-volume", &[("valves", "2"), ("safe-at", "pot")]);
    let found = asked::value(&pot, "lifted-reading");
    assert!((found + 37.663).abs() < 0.005, "{found}");
}

/// By hand: 150 V from 18 kΩ with a leak of 220 kΩ across are 138.66 V from 16.64 kΩ; a part of the track of as much takes the
/// most, 138.66² / (4 × 16.64 k) = 289 mW. At the low end 150 V drive 8.3 mA; 200 mW in 250 kΩ is 0.89 mA.
#[test]
fn a_rheostat_is_judged_by_the_used_part_of_its_track_at_its_worst_knob() {
    let bears = [("topology", "across"), ("element-power", "200 mW"), ("element-voltage", "400 V")];
    let report = asked::report("master-volume", &bears);
    let used = asked::value(&report, "used-power");
    assert!(asked::near(used, 0.289, 2e-3), "{used}");
    let current = asked::value(&report, "used-current");
    assert!(asked::near(current, 8.33e-3, 2e-3), "{current}");
    assert_ne!(asked::standing(&report, "Heat in the used part of the track"), "within");
    assert_eq!(asked::standing(&report, "Current in the used part of the track"), "beyond");
    let parts = report.tables.last().unwrap().get();
    assert!(!parts.rows[0][2].contains("142"), "{}", parts.rows[0][2]);
    // A divider has its whole track across the swing.
    let divider = asked::report("master-volume", &[]);
    assert!(divider.answers.iter().all(|answered| answered.answer.id != "used-power"));
    // Across both grids: 300 V from 36 kΩ, leaks of 440 kΩ across: 277.3 V from 33.28 kΩ, 578 mW.
    let bridge = asked::report("master-volume", &[("topology", "bridge")]);
    let used = asked::value(&bridge, "used-power");
    assert!(asked::near(used, 0.578, 2e-3), "{used}");
}

/// Every way to wire it, with a valve whose grid pin is on either side of its socket.
fn every_wiring() -> Vec<MasterVolume> {
    let mut all = Vec::new();
    for topology in TOPOLOGIES {
        for place in ["none", "pot", "socket", "tag"] {
            for valve in ["6L6GC", "EL84"] {
                for seen in ["lugs", "shaft"] {
                    all.push(question(&[
                        ("topology", topology),
                        ("safe-at", place),
                        ("valve", valve),
                        ("seen-from", seen),
                    ]));
                }
            }
        }
    }
    all
}

fn wiring_of(question: &MasterVolume) -> Drawing {
    let mut report = Report::default();
    question.wiring(&mut report);
    report.drawings.remove(0)
}

#[test]
fn no_label_of_the_wiring_is_crossed_or_cut() {
    for question in every_wiring() {
        let crossed = wiring_of(&question).crossed_labels();
        assert!(crossed.is_empty(), "{:?} {:?}: {crossed:?}", question.topology, question.safe);
    }
}

#[test]
fn every_wire_has_a_number_in_the_drawing_and_a_row_in_the_list() {
    for question in every_wiring() {
        let list = question.wire_list(&question.circuit().unwrap());
        let drawing = wiring_of(&question);
        for (number, row) in (1..).zip(&list.rows) {
            assert_eq!(row[0], format!("☐\u{a0}{number}"));
            let drawn =
                |shape: &&Shape| matches!(shape, Shape::Label(.., text) if *text == number.to_string());
            let drawn = drawing.shapes.iter().filter(drawn).count();
            assert_eq!(drawn, 1, "wire {number}, {:?} {:?}", question.topology, question.safe);
            assert!(row.iter().all(|cell| !cell.is_empty()), "{row:?}");
        }
    }
}

#[test]
fn a_wire_that_opens_does_what_the_table_of_faults_says() {
    // With nothing else to hold the grid, the open lead leaves it to float; with the resistor on the tag it stays.
    for (place, floats) in [("none", true), ("pot", true), ("tag", false)] {
        let question = question(&[("topology", "divider"), ("safe-at", place)]);
        let list = question.wire_list(&question.circuit().unwrap());
        let lead = list.rows.iter().find(|row| row[1].starts_with("wiper lug A")).unwrap();
        assert_eq!(lead[3].starts_with("floats"), floats, "{place}: {}", lead[3]);
    }
}
