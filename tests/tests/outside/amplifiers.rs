//! What the amplifiers of the bench are worked out by, against ngspice and published figures.

use tests::amplifier::circuit::Bias;
use tests::amplifier::family::{called, family};
use tests::amplifier::meters::{Measure, Meters, Place};
use tests::amplifier::rectified::{Rectified, lamp_current};
use tests::amplifier::state::State;

use crate::ngspice::run;

/// Mean and ripple, peak to peak, of a rectifier into a capacitor, once it has settled, by ngspice.
fn spiced(crest: f64, ohms: f64, legs: u8, farads: f64, load: f64) -> (f64, f64) {
    let second = if legs == 2 {
        format!("V2 c 0 DC 0 SIN(0 {crest} 50 0 0 180)\nR2 c d {ohms}\nD2 d out ideal\n")
    } else {
        String::new()
    };
    let settled = (25.0 * ohms * farads).min(4.0) + 0.6;
    let until = settled + 0.2;
    let run = run(&format!(
        "rectifier\nV1 a 0 SIN(0 {crest} 50)\nR1 a b {ohms}\nD1 b out ideal\n{second}C1 out 0 {farads}\nR3 out 0 {load}\n\
         .model ideal D(IS=1e-9 N=0.05)\n.tran 0.1m {until} 0 0.1m\n.control\nrun\n\
         meas tran mean AVG v(out) FROM={settled} TO={until}\nmeas tran swing PP v(out) FROM={settled} TO={until}\n\
         let level = mean\nlet ripple = swing\nprint level ripple\n.endc\n.end\n"
    ));
    (run.number("level"), run.number("ripple"))
}

// A full-wave HT and two half-wave bias supplies, of which one is lightly and one heavily fed.
#[test]
fn a_rectifier_into_a_capacitor_gives_what_ngspice_says() {
    let cases = [
        (480.0, 80.0, 2, 47e-6, 4.4e3),
        (480.0, 150.0, 2, 47e-6, 3e3),
        (470.0, 150e3, 1, 1e-6, 60e3),
        (72.0, 1e3, 1, 47e-6, 48e3),
        (72.0, 1e3, 1, 4.7e-6, 48e3),
        (72.0, 1e3, 1, 1e-6, 48e3),
    ];
    for (crest, ohms, legs, farads, load) in cases {
        let (mean, swing) = spiced(crest, ohms, legs, farads, load);
        let feed = Rectified { crest, ohms, pulses: f64::from(legs) };
        // Where what comes through is what the load takes.
        let (mut low, mut high) = (0.0, crest);
        for _ in 0..60 {
            let middle = f64::midpoint(low, high);
            let sagged = feed.sagging(middle, 50.0, farads);
            if sagged.current(middle) > middle / load { low = middle } else { high = middle }
        }
        assert!(
            (low / mean - 1.0).abs() < 0.025,
            "{crest} V, {ohms} Ω, {farads} F: {low} V, ngspice {mean} V"
        );
        let ours = feed.sagging(low, 50.0, farads).swing(low, 50.0, farads);
        assert!(
            (ours / swing - 1.0).abs() < 0.12,
            "{crest} V, {ohms} Ω, {farads} F: {ours} V of ripple, ngspice {swing} V"
        );
    }
}

// A lamp of 100 W at 120 V takes 0.833 A at 120 V, and cold at most fifteen times that slope: 9.6 Ω.
#[test]
fn a_lamp_takes_its_rated_current_at_its_rated_voltage() {
    assert!((lamp_current(100.0, 120.0, 120.0) - 0.8333).abs() < 1e-3);
    assert!((0.24 / lamp_current(100.0, 120.0, 0.24) - 9.6).abs() < 0.01);
}

// Common practice, no source: an output valve idles between a third and nine tenths of its rated watts.
#[test]
fn the_family_idles_as_amplifiers_do() {
    for circuit in family() {
        let meters = Meters::new(circuit.clone(), circuit.clone());
        let rated =
            calc_core::valve::VALVES.iter().find(|valve| valve.name == circuit.valve).expect("it is there");
        let rated = calc_core::quantity::Quantity::si(rated.limits.anode_power.expect("it has one").value());
        for (name, valve) in &meters.at(State::FULL.after(10)).valves {
            let share = valve.anode_watts() / rated;
            assert!((0.33..0.9).contains(&share), "{} {name}: {share} of its watts", circuit.name);
        }
    }
}

// By hand: 220 kΩ over 10 MΩ takes 2.2 % off, and 10 ÷ 11 of the rest is shown through 1 MΩ.
#[test]
fn the_meter_takes_off_what_it_does() {
    let circuit = called("two 6L6GC");
    let Bias::Fixed(fixed) = &circuit.bias else { panic!("fixed bias") };
    let leg = &fixed.legs[0];
    let foot = leg.foot + leg.trimmer * leg.turned;
    let source = leg.range * foot / (leg.range + foot) + 220e3 + 1.5e3;
    let meters = Meters::new(circuit.clone(), circuit.clone());
    let node = meters.shows(Measure::BiasNode, State::FULL.out(), Place::default());
    let shown = meters.shows(Measure::Grid, State::FULL.out(), Place::default());
    assert!((shown / node - 10e6 / (10e6 + source)).abs() < 2e-3, "{shown} of {node}");
    let probe = meters.shows(Measure::Grid, State::FULL.out().probe(), Place::default());
    assert!((probe / node - 10e6 / (11e6 + source)).abs() < 2e-3, "{probe} of {node}");
}
