//! What is ordinary of an amplifier: the values that most of the family share.

use crate::amplifier::circuit::{
    Adjust, Bench, BiasLeg, Control, FixedBias, Inverter, Leg, Mains, OPEN, Output, Shape, Side, Socket,
    Standby, Supply, Way,
};

/// Insulation of a sound film capacitor, and of a sound electrolytic.
pub(super) const FILM: f64 = 50e9;
pub(super) const ELECTROLYTIC: f64 = 5e6;

pub(super) const NAMES: [[&str; 2]; 2] = [["A1", "A2"], ["B1", "B2"]];

pub(super) fn socket(name: &'static str, side: usize) -> Socket {
    Socket {
        name,
        side,
        stopper: 1.5e3,
        screen_stopper: 470.0,
        cathode: 1.0,
        emission: 1.0,
        gas: 0.0,
        grid_cathode: OPEN,
        grid_screen: OPEN,
        screen_cathode: OPEN,
        bridge: OPEN,
    }
}

/// Sockets of a push-pull stage: so many on each side. Valves of a pair are the same within a few per cent.
pub(super) fn sockets(of_each: usize) -> Vec<Socket> {
    let side = |side: usize| NAMES[side].iter().take(of_each).map(move |name| socket(name, side));
    let mut all: Vec<Socket> = side(0).chain(side(1)).collect();
    for (at, socket) in all.iter_mut().enumerate() {
        socket.emission = [1.0, 0.97, 1.02, 0.99][at % 4];
    }
    all
}

pub(super) fn sides(leak: f64, halves: [f64; 2]) -> Vec<Side> {
    halves.map(|half| Side { coupling: 100e-9, coupling_leak: FILM, leak, half }).to_vec()
}

pub(super) fn mains(marked: f64, primary: f64) -> Mains {
    Mains {
        marked,
        outlet: marked * 0.995,
        tap: 1.0,
        hertz: if marked < 150.0 { 60.0 } else { 50.0 },
        live: 0.15,
        fuse: if marked < 150.0 { 0.05 } else { 0.12 },
        primary,
        insulation: 80e6,
        isolation: OPEN,
        earth: 0.06,
        heater_tie: 100.0,
        small_heaters: 1.2,
        core: 9.0,
    }
}

pub(super) fn supply(winding: f64, source: f64) -> Supply {
    Supply {
        winding,
        source,
        valve_rectifier: false,
        legs: [Leg::Whole; 2],
        standby: Standby::Dc,
        standby_leak: OPEN,
        reservoir: 47e-6,
        rating: 500.0,
        balance: None,
        leak: [ELECTROLYTIC; 2],
        later_rating: 500.0,
        bleeder: OPEN,
        to_screens: 470.0,
        to_inverter: 10e3,
        preamplifier: 60e3,
    }
}

pub(super) fn own_tap(winding: f64, leg: BiasLeg) -> FixedBias {
    FixedBias {
        from_ht: false,
        winding,
        source: 1e3,
        leg: Leg::Whole,
        first: 47e-6,
        first_leak: ELECTROLYTIC,
        last: 47e-6,
        last_leak: ELECTROLYTIC,
        adjust: Adjust::Trimmer,
        legs: vec![leg],
    }
}

/// From the HT winding by a large resistor.
pub(super) fn from_ht(winding: f64, source: f64, leg: BiasLeg) -> FixedBias {
    FixedBias { from_ht: true, source, first: 22e-6, last: 22e-6, ..own_tap(winding, leg) }
}

pub(super) fn leg(range: f64, foot: f64, trimmer: f64, turned: f64) -> BiasLeg {
    BiasLeg { range, foot, trimmer, turned }
}

pub(super) const LONG_TAILED: Inverter =
    Inverter { shape: Shape::LongTailed, valve: "12AX7", loads: [82e3, 100e3], cathode: 470.0, tail: 10e3 };
pub(super) const CATHODYNE: Inverter =
    Inverter { shape: Shape::Cathodyne, valve: "12AX7", loads: [56e3, 56e3], cathode: 1.5e3, tail: 56e3 };
pub(super) const DRIVER: Inverter =
    Inverter { shape: Shape::Triode, valve: "12AX7", loads: [220e3, 220e3], cathode: 1.5e3, tail: 0.0 };

pub(super) fn output(primary: f64, load: f64, rated: f64, loop_gain: Option<f64>) -> Output {
    Output {
        primary,
        insulation: 2e9,
        load,
        load_ohms: 0.99 * load,
        legs: [0.12, 0.08],
        rated,
        loop_gain,
        small_signal: 1.05,
    }
}

pub(super) fn bench(lamp: f64, load_watts: f64) -> Bench {
    Bench {
        lamp,
        lamp_bridged: false,
        lamp_in_neutral: false,
        box_earth: 0.04,
        discharge: 9.9e3,
        forgotten: false,
        battery: 9.3,
        meter: 10e6,
        load_watts,
        harness: false,
    }
}

/// With a break-out harness.
pub(super) fn harnessed(bench: Bench) -> Bench {
    Bench { harness: true, ..bench }
}

pub(super) fn control(way: Way, track: f64, safe: Option<f64>) -> Control {
    Control {
        way,
        track,
        safe,
        lifted: [false; 2],
        swapped: [false; 2],
        low_open: [false; 2],
        to_chassis: OPEN,
        second_leak: [FILM; 2],
    }
}
