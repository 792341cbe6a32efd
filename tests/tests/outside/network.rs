//! The network solver against ngspice, on netlists written by hand from a description (`data/outside/netlists`) and on
//! the solver's own export.

use calc_core::circuit::units::*;
use calc_core::circuit::{Analysis, CHASSIS, Network, OperatingPoint, Pins, Signal, Sweep, Transient};
use calc_core::quantity::Quantity;
use calc_core::valve::model::{Model, Pentode, Triode};

use proptest::prelude::*;

use tests::bias_supply::bias_supply;

use crate::ngspice::{Run, run, run_file};

/// What was agreed: decibels, degrees, share at rest, share of the peak in time.
const DECIBELS: f64 = 0.01;
const DEGREES: f64 = 0.01;
const AT_REST: f64 = 1e-4;
const IN_TIME: f64 = 5e-3;

/// The published set of the 12AX7, written into the netlists as well.
const KOREN_12AX7: Model =
    Model::Triode(Triode { mu: 100.0, ex: 1.4, kg1: 1060.0, kp: 600.0, kvb: 300.0, vct: 0.0 });

/// Round parameters of no valve.
pub const A_PENTODE: Model = Model::Pentode(Pentode {
    mu: 9.0,
    ex: 1.3,
    kg1: 400.0,
    kg2: 9000.0,
    kp: 40.0,
    slope: 5e-4,
    alpha_s: 4.0,
    beta: 0.06,
});

/// Holds a sweep against a table of decibels and degrees, one pair for each of its nodes.
#[track_caller]
fn sweep_agrees(said: &str, mut sweep: Sweep<'_>, table: &[(f64, Vec<f64>)]) {
    assert!(table.len() > 10, "{said}: only {} rows", table.len());
    for (frequency, row) in table {
        let ours = sweep.at(hertz(*frequency)).expect("every frequency has an answer");
        for (ours, theirs) in ours.iter().zip(row.chunks(2)) {
            let (decibels, degrees) =
                (ours.decibels().expect("a voltage"), ours.degrees().expect("a voltage"));
            let turned = (degrees - theirs[1]).rem_euclid(360.0);
            assert!(
                (decibels - theirs[0]).abs() <= DECIBELS && turned.min(360.0 - turned) <= DEGREES,
                "{said} at {frequency} Hz: {decibels} dB, {degrees}°, ngspice {theirs:?}"
            );
        }
    }
}

#[track_caller]
fn rests_at(point: &OperatingPoint<'_>, node: &str, theirs: f64) {
    let ours = point.voltage(node).expect("a node").si();
    assert!((ours - theirs).abs() <= AT_REST * theirs.abs(), "{node}: {ours} V, ngspice {theirs} V");
}

/// Holds the transient of nodes against a table, at its times.
#[track_caller]
fn transient_agrees(transient: &Transient<'_>, nodes: &[&str], table: &[(f64, Vec<f64>)]) {
    assert!(table.len() > 100, "only {} rows", table.len());
    let last = transient.times().last().expect("a transient has times");
    for (at, node) in nodes.iter().enumerate() {
        let peak = table.iter().fold(0.0, |peak: f64, row| peak.max(row.1[at].abs()));
        for (time, row) in table {
            let ours = transient.voltage_at(node, seconds(time.min(last.si()))).expect("a node").si();
            let off = (ours - row[at]).abs() / peak;
            assert!(off <= IN_TIME, "{node} at {time} s: {ours} V, ngspice {} V: {off} of the peak", row[at]);
        }
    }
}

/// The network that `network-divider.cir` describes, with a share of the track below the wiper.
fn divider(share: f64) -> Network {
    let track = |share: f64| ohms(220e3 * share + 1e-3);
    let mut side = Network::new();
    side.voltage("drive", "in", CHASSIS, Signal::dc(volts(0.0)).ac(volts(1.0)));
    side.resistor("inverter", "in", "drive", ohms(33e3));
    side.capacitor("coupling", "drive", "top", farads(47e-9));
    side.resistor("track above", "top", "wiper", track(1.0 - share));
    side.resistor("track below", "wiper", "bias", track(share));
    side.resistor("fail-safe", "wiper", "bias", ohms(1e6));
    side.capacitor("lead", "wiper", "bias", farads(150e-12));
    side.resistor("stopper", "wiper", "grid", ohms(5.6e3));
    side.capacitor("grid to cathode", "grid", CHASSIS, farads(18e-12));
    side.voltage_by_voltage("stage", ("anode", CHASSIS), ("grid", CHASSIS), -14.0);
    side.capacitor("grid to anode", "anode", "grid", farads(0.7e-12));
    side.resistor("bias source", "bias", CHASSIS, ohms(15e3));
    side.capacitor("bias reservoir", "bias", CHASSIS, farads(10e-6));
    side
}

#[test]
fn a_divider_at_eight_rotations() {
    let run = run_file("network-divider.cir");
    for share in ["0", "0.01", "0.03", "0.1", "0.25", "0.5", "0.8", "1"] {
        let network = divider(share.parse().unwrap());
        sweep_agrees(share, network.sweep(&["grid"]).unwrap(), &run.table(&format!("rotation{share}")));
    }
}

fn triode_stage() -> Network {
    let mut stage = Network::new();
    stage.voltage("supply", "ht", CHASSIS, volts(300.0));
    stage.voltage("input", "in", CHASSIS, Signal::dc(volts(0.0)).ac(volts(1.0)));
    stage.resistor("stopper", "in", "grid", ohms(68e3));
    stage.resistor("leak", "grid", CHASSIS, ohms(1e6));
    stage.resistor("anode load", "ht", "anode", ohms(100e3));
    stage.resistor("cathode resistor", "cathode", CHASSIS, ohms(1.5e3));
    stage.capacitor("bypass", "cathode", CHASSIS, farads(22e-6));
    stage.capacitor("coupling", "anode", "out", farads(22e-9));
    stage.resistor("load", "out", CHASSIS, ohms(470e3));
    stage.valve("V1", Pins::triode("anode", "grid", "cathode"), KOREN_12AX7);
    stage
}

#[test]
fn a_triode_stage() {
    let run = run_file("network-triode.cir");
    let stage = triode_stage();
    let point = stage.operating_point().unwrap();
    rests_at(&point, "anode", run.number("v(anode)"));
    rests_at(&point, "cathode", run.number("v(cathode)"));
    sweep_agrees("triode stage", stage.sweep(&["out"]).unwrap(), &run.table("gain"));
}

fn long_tailed_pair() -> Network {
    let mut pair = Network::new();
    pair.voltage("supply", "ht", CHASSIS, volts(320.0));
    pair.voltage("input", "in", CHASSIS, Signal::dc(volts(0.0)).ac(volts(1.0)));
    pair.capacitor("input coupling", "in", "grid 1", farads(22e-9));
    pair.resistor("leak 1", "grid 1", "tail", ohms(1e6));
    pair.resistor("leak 2", "grid 2", "tail", ohms(1e6));
    pair.capacitor("earthing", "grid 2", "foot", farads(100e-9));
    pair.resistor("cathode resistor", "cathode", "tail", ohms(470.0));
    pair.resistor("tail", "tail", "foot", ohms(10e3));
    pair.resistor("foot", "foot", CHASSIS, ohms(4.7e3));
    pair.resistor("load 1", "ht", "anode 1", ohms(82e3));
    pair.resistor("load 2", "ht", "anode 2", ohms(100e3));
    pair.valve("V1", Pins::triode("anode 1", "grid 1", "cathode"), KOREN_12AX7);
    pair.valve("V2", Pins::triode("anode 2", "grid 2", "cathode"), KOREN_12AX7);
    pair
}

#[test]
fn a_long_tailed_pair() {
    let run = run_file("network-pair.cir");
    let pair = long_tailed_pair();
    let point = pair.operating_point().unwrap();
    let nodes = [("anode 1", "a1"), ("anode 2", "a2"), ("cathode", "k"), ("tail", "tail"), ("foot", "foot")];
    for (ours, theirs) in nodes {
        rests_at(&point, ours, run.number(&format!("v({theirs})")));
    }
    sweep_agrees("pair", pair.sweep(&["anode 1", "anode 2"]).unwrap(), &run.table("sides"));
}

#[test]
fn a_step_through_a_coupling_capacitor() {
    let run = run_file("network-step.cir");
    let mut network = Network::new();
    let steps = [(seconds(1e-3), volts(10.0)), (seconds(8e-3), volts(-5.0))];
    network.voltage("step", "in", CHASSIS, Signal::steps(volts(0.0), &steps));
    network.resistor("source", "in", "drive", ohms(18e3));
    network.capacitor("coupling", "drive", "out", farads(22e-9));
    network.resistor("leak", "out", CHASSIS, ohms(220e3));
    network.capacitor("load", "out", CHASSIS, farads(470e-12));
    transient_agrees(&network.transient(seconds(20e-3)).unwrap(), &["out"], &run.table("step"));
}

#[test]
fn a_half_wave_rectifier_comes_up() {
    let run = run_file("network-rectifier.cir");
    let supply = bias_supply();
    transient_agrees(&supply.transient(seconds(0.4)).unwrap(), &["first", "second"], &run.table("rectifier"));
}

/// Our own export with commands for ngspice in the place of its last line.
fn exported(network: &Network, commands: &str) -> Run {
    let netlist = network.netlist("Our own export").expect("nothing is wrong with it");
    let elements = netlist.trim_end().strip_suffix(".op\n.end").expect("it ends with its analysis");
    run(&format!("{elements}.control\nset numdgt=12\nset units=degrees\n{commands}\n.endc\n.end\n"))
}

/// A stage with everything that an export may have: windings, couplings, every controlled source, a wire, an open
/// resistor, a pentode with grid conduction, names that SPICE does not take.
fn one_of_each() -> Network {
    let mut stage = Network::new();
    stage.voltage("supply", "ht", CHASSIS, volts(380.0));
    stage.voltage("bias", "bias", CHASSIS, volts(-34.0));
    stage.voltage("drive", "in", CHASSIS, Signal::dc(volts(0.0)).ac_at(volts(2.0), degrees(30.0)));
    stage.resistor("source", "in", "Drive 1", ohms(22e3));
    stage.capacitor("coupling", "Drive 1", "drive-1", farads(22e-9));
    stage.resistor("leak", "drive-1", "bias", ohms(220e3));
    stage.resistor("wire", "drive-1", "grid", ohms(0.0));
    stage.resistor("open", "grid", CHASSIS, ohms(f64::INFINITY));
    stage.grid_current("grid", "grid", CHASSIS);
    let pins = Pins { anode: "anode", screen: "screen", grid: "grid", cathode: CHASSIS };
    stage.valve("output valve", pins, A_PENTODE);
    stage.resistor("screen stopper", "ht", "screen", ohms(1e3));
    stage.winding("primary", "ht", "anode", henries(12.0), ohms(130.0));
    stage.winding("secondary", "speaker", CHASSIS, henries(0.02), ohms(0.4));
    stage.coupled("coupling of windings", "primary", "secondary", 0.998);
    stage.resistor("load", "speaker", CHASSIS, ohms(8.0));
    stage.voltage("meter", "speaker", "sensed", volts(0.0));
    stage.resistor("sensed load", "sensed", CHASSIS, ohms(100.0));
    stage.current_by_current("mirror", (CHASSIS, "mirrored"), "meter", 2.0);
    stage.resistor("mirror load", "mirrored", CHASSIS, ohms(330.0));
    stage.voltage_by_current("shunt", ("shunt", CHASSIS), "meter", ohms(50.0));
    stage.resistor("shunt load", "shunt", CHASSIS, ohms(1e3));
    stage.current_by_voltage("gm", ("gm", CHASSIS), ("grid", "bias"), siemens(2e-3));
    stage.resistor("gm load", "gm", CHASSIS, ohms(4.7e3));
    stage.ideal_transformer("line", ("gm", CHASSIS), ("line out", CHASSIS), 10.0);
    stage.resistor("line load", "line out", CHASSIS, ohms(15.0));
    stage.voltage_by_voltage("follower", ("follows", CHASSIS), ("line out", CHASSIS), 0.9);
    stage.resistor("follower load", "follows", CHASSIS, ohms(600.0));
    stage.current("leakage", CHASSIS, "grid", amperes(1e-6));
    stage
}

#[test]
fn our_export_at_rest_and_over_frequency() {
    let stage = one_of_each();
    let run = exported(
        &stage,
        "op\nprint v(anode) v(screen) v(grid)\nac dec 10 10 100k\n\
         wrdata sweep vdb(anode) vp(anode) vdb(speaker) vp(speaker) vdb(mirrored) vp(mirrored) vdb(shunt) vp(shunt) \
         vdb(gm) vp(gm) vdb(follows) vp(follows)",
    );
    let point = stage.operating_point().unwrap();
    for node in ["anode", "screen", "grid"] {
        rests_at(&point, node, run.number(&format!("v({node})")));
    }
    let sweep = stage.sweep(&["anode", "speaker", "mirrored", "shunt", "gm", "follows"]).unwrap();
    sweep_agrees("export", sweep, &run.table("sweep"));
}

#[test]
fn our_export_in_time() {
    let supply = bias_supply();
    let run = exported(&supply, "tran 20u 400m 0 20u\nwrdata transient v(first) v(second)");
    transient_agrees(&supply.transient(seconds(0.4)).unwrap(), &["first", "second"], &run.table("transient"));

    let mut stage = triode_stage();
    // Drives the grid into conduction and the valve into cut-off.
    stage.voltage("loud", "loud", CHASSIS, Signal::sine(volts(0.0), volts(20.0), hertz(400.0)));
    stage.resistor("loud source", "loud", "grid", ohms(47e3));
    stage.grid_current("grid", "grid", "cathode");
    let run = exported(&stage, "tran 5u 20m 0 5u\nwrdata transient v(anode) v(out) v(grid)");
    transient_agrees(
        &stage.transient(seconds(20e-3)).unwrap(),
        &["anode", "out", "grid"],
        &run.table("transient"),
    );
}

#[test]
fn exports_with_an_analysis_run_as_they_are() {
    let (from, to) = (hertz(10.0), hertz(1e3));
    let netlist = divider(0.3).netlist_for("Sweep", Analysis::Sweep { from, to, nodes: &["grid"] }).unwrap();
    assert!(run(&netlist).printed.contains("No. of Data Rows : 201"));
    let transient = Analysis::Transient { duration: seconds(0.02), nodes: &["first"] };
    let netlist = bias_supply().netlist_for("Transient", transient).unwrap();
    assert!(run(&netlist).printed.contains("v(first)"));
    assert!(run(&triode_stage().netlist("Rest").unwrap()).printed.contains("anode"));
}

/// A part of a random network, and the line that describes it to ngspice: not by way of our export.
#[derive(Debug, Clone)]
struct Random {
    kind: u8,
    nodes: (usize, usize),
    power: f64,
}

impl Random {
    fn value(&self, from: f64, decades: f64) -> f64 {
        from * libm::pow(10.0, self.power * decades)
    }

    fn put(&self, network: &mut Network, number: usize) -> String {
        let (a, b) = self.nodes;
        let [na, nb] = [a, b].map(|node| if node == 0 { CHASSIS.to_owned() } else { format!("n{node}") });
        let name = &number.to_string();
        match self.kind {
            0 | 1 => {
                let value = self.value(100.0, 4.0);
                network.resistor(name, &na, &nb, ohms(value));
                format!("R{number} {a} {b} {value:e}\n")
            }
            2 | 3 => {
                let value = self.value(10e-12, 6.0);
                network.capacitor(name, &na, &nb, farads(value));
                format!("C{number} {a} {b} {value:e}\n")
            }
            4 => {
                let (value, resistance) = (self.value(1e-3, 4.0), self.value(1.0, 2.0));
                network.winding(name, &na, &nb, henries(value), ohms(resistance));
                format!("R{number} {a} i{number} {resistance:e}\nL{number} i{number} {b} {value:e}\n")
            }
            5 => {
                let value = self.value(1e-6, 3.0);
                // By the feed: fed back, it could latch, and then there are two answers.
                network.current_by_voltage(name, (&na, &nb), ("n1", CHASSIS), siemens(value));
                format!("G{number} {a} {b} 1 0 {value:e}\n")
            }
            6 => {
                let (steady, swing) = (self.value(1e-4, 2.0), self.power - 0.5);
                network.current(name, &na, &nb, Signal::dc(amperes(steady)).ac(amperes(swing)));
                format!("I{number} {a} {b} DC {steady:e} AC {swing:e}\n")
            }
            _ => {
                // With a resistor: straight across the supply, no number would hold its current.
                let inside = &format!("i{number}");
                network.resistor(&format!("r{number}"), &na, inside, ohms(47.0));
                network.diode(name, inside, &nb, amperes(1e-9), 1.5);
                format!("R{number} {a} i{number} 47\nD{number} i{number} {b} dm\n")
            }
        }
    }
}

/// A network of nodes 1 to 5, fed at node 1, each with a resistor to the chassis so that it has an answer.
fn random_network(parts: &[Random]) -> (Network, String) {
    let mut network = Network::new();
    network.voltage("feed", "n1", CHASSIS, Signal::dc(volts(100.0)).ac(volts(1.0)));
    let mut lines = "Vfeed 1 0 DC 100 AC 1\n.model dm D(IS=1n N=1.5)\n".to_owned();
    for node in 1..=5 {
        network.resistor(&format!("leak {node}"), &format!("n{node}"), CHASSIS, ohms(220e3));
        lines += &format!("Rleak{node} {node} 0 220k\n");
    }
    for (number, part) in parts.iter().enumerate() {
        lines += &part.put(&mut network, number);
    }
    (network, lines)
}

/// A handful, or a few hundred where more are asked for of all random tests (`cargo xtask check --long`).
fn cases() -> u32 {
    if std::env::var_os("PROPTEST_CASES").is_some() { 400 } else { 12 }
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(cases()) })]

    #[test]
    fn random_networks_are_what_ngspice_says(
        parts in prop::collection::vec(
            (0..8u8, (0..6usize, 0..6usize), 0.0..1.0f64)
                .prop_filter("ngspice knows no part across one node", |(_, (a, b), _)| a != b)
                .prop_map(|(kind, nodes, power)| Random { kind, nodes, power }),
            1..12,
        )
    ) {
        let (network, lines) = random_network(&parts);
        let run = run(&format!(
            "Random\n.options reltol=1e-9 abstol=1e-15 vntol=1e-12 gmin=1e-12 temp=27 tnom=27\n{lines}\
             .control\nset numdgt=12\nop\nprint v(2) v(3) v(4) v(5)\nac dec 2 1 1meg\n\
             wrdata sweep vr(2) vi(2) vr(3) vi(3) vr(4) vi(4) vr(5) vi(5)\n.endc\n.end\n"
        ));
        let point = network.operating_point().unwrap();
        for node in 2..=5 {
            let theirs = run.number(&format!("v({node})"));
            let ours = point.voltage(&format!("n{node}")).unwrap().si();
            // 100 V feed it: a millionth of that is nothing.
            prop_assert!((ours - theirs).abs() <= AT_REST * theirs.abs() + 1e-6, "{node}: {ours}, ngspice {theirs}");
        }
        let mut sweep = network.sweep(&["n2", "n3", "n4", "n5"]).unwrap();
        for (frequency, theirs) in run.table("sweep") {
            let ours = sweep.at(hertz(frequency)).unwrap();
            let largest = theirs.iter().fold(1.0, |largest: f64, v| largest.max(v.abs()));
            for (ours, theirs) in ours.iter().zip(theirs.chunks(2)) {
                let off = libm::hypot(ours.re - theirs[0], ours.im - theirs[1]);
                // 0.01° is 1.7e-4. Below −3 n V_T ngspice takes a cubic for the exponential: up to 2e-11 S more or less,
                // which through leaks of 220 kΩ is some millionths of the largest swing.
                let allowed = 1.7e-4 * libm::hypot(theirs[0], theirs[1]) + 1e-5 * largest;
                prop_assert!(off <= allowed, "{frequency} Hz: {ours:?}, ngspice {theirs:?}");
            }
        }
    }
}
