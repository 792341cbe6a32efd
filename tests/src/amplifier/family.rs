//! The family: invented amplifiers, nobody's product. Each is one of the kinds that come to a bench.

use super::circuit::{
    Adjust, Bench, Bias, BiasLeg, Circuit, Control, FixedBias, Inverter, Leg, Mains, OPEN, Output, Shape,
    Side, Socket, Standby, Supply, Way,
};

/// Insulation of a sound film capacitor, and of a sound electrolytic.
const FILM: f64 = 50e9;
const ELECTROLYTIC: f64 = 5e6;

const NAMES: [[&str; 2]; 2] = [["A1", "A2"], ["B1", "B2"]];

fn socket(name: &'static str, side: usize) -> Socket {
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

/// Sockets of a push-pull stage: so many on each side. Valves of a pair are alike within a few per cent.
fn sockets(of_each: usize) -> Vec<Socket> {
    let side = |side: usize| NAMES[side].iter().take(of_each).map(move |name| socket(name, side));
    let mut all: Vec<Socket> = side(0).chain(side(1)).collect();
    for (at, socket) in all.iter_mut().enumerate() {
        socket.emission = [1.0, 0.97, 1.02, 0.99][at % 4];
    }
    all
}

fn sides(leak: f64, halves: [f64; 2]) -> Vec<Side> {
    halves.map(|half| Side { coupling: 100e-9, coupling_leak: FILM, leak, half }).to_vec()
}

fn mains(marked: f64, primary: f64) -> Mains {
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

fn supply(winding: f64, source: f64) -> Supply {
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

fn own_tap(winding: f64, leg: BiasLeg) -> FixedBias {
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
fn from_ht(winding: f64, source: f64, leg: BiasLeg) -> FixedBias {
    FixedBias { from_ht: true, source, first: 22e-6, last: 22e-6, ..own_tap(winding, leg) }
}

fn leg(range: f64, foot: f64, trimmer: f64, turned: f64) -> BiasLeg {
    BiasLeg { range, foot, trimmer, turned }
}

const LONG_TAILED: Inverter =
    Inverter { shape: Shape::LongTailed, valve: "12AX7", loads: [82e3, 100e3], cathode: 470.0, tail: 10e3 };
const CATHODYNE: Inverter =
    Inverter { shape: Shape::Cathodyne, valve: "12AX7", loads: [56e3, 56e3], cathode: 1.5e3, tail: 56e3 };
const DRIVER: Inverter =
    Inverter { shape: Shape::Triode, valve: "12AX7", loads: [220e3, 220e3], cathode: 1.5e3, tail: 0.0 };

fn output(primary: f64, load: f64, rated: f64, loop_gain: Option<f64>) -> Output {
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

fn bench(lamp: f64, load_watts: f64) -> Bench {
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
fn harnessed(bench: Bench) -> Bench {
    Bench { harness: true, ..bench }
}

fn control(way: Way, track: f64, safe: Option<f64>) -> Control {
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

/// The whole family.
#[must_use]
pub fn family() -> Vec<Circuit> {
    let mut family = pairs();
    family.extend(quads());
    family.extend(singles());
    family
}

/// One of it, by its name.
///
/// # Panics
/// When there is none of that name.
#[must_use]
pub fn called(name: &str) -> Circuit {
    family().into_iter().find(|circuit| circuit.name == name).unwrap_or_else(|| panic!("no amplifier {name}"))
}

fn pairs() -> Vec<Circuit> {
    let demonstration = Circuit {
        name: "two 6L6GC",
        mains: mains(120.0, 1.9),
        supply: Supply {
            reservoir: 50e-6,
            rating: 350.0,
            balance: Some([220e3; 2]),
            later_rating: 550.0,
            ..supply(348.0, 75.0)
        },
        bias: Bias::Fixed(own_tap(52.0, leg(15e3, 18e3, 25e3, 0.7))),
        inverter: Inverter { valve: "12AT7", ..LONG_TAILED },
        valve: "6L6GC",
        sockets: sockets(1),
        sides: sides(220e3, [60.0, 66.0]),
        shared_cathode: None,
        output: output(4200.0, 8.0, 40.0, Some(1.1)),
        control: None,
        bench: harnessed(bench(100.0, 100.0)),
    };
    let el34 = Circuit {
        name: "two EL34, bias from the HT winding",
        mains: mains(230.0, 9.0),
        supply: Supply { rating: 550.0, later_rating: 550.0, ..supply(336.0, 70.0) },
        bias: Bias::Fixed(from_ht(336.0, 150e3, leg(15e3, 27e3, 25e3, 0.75))),
        inverter: LONG_TAILED,
        valve: "EL34",
        sockets: sockets(1)
            .into_iter()
            .map(|socket| Socket { screen_stopper: 1e3, stopper: 5.6e3, ..socket })
            .collect(),
        sides: sides(220e3, [48.0, 53.0]),
        output: output(3400.0, 16.0, 50.0, Some(1.4)),
        bench: bench(150.0, 120.0),
        ..demonstration.clone()
    };
    let el84 = Circuit {
        name: "two EL84, cathode bias, valve rectifier",
        mains: mains(230.0, 30.0),
        supply: Supply {
            valve_rectifier: true,
            standby: Standby::None,
            reservoir: 32e-6,
            rating: 450.0,
            later_rating: 450.0,
            to_screens: 1e3,
            to_inverter: 22e3,
            ..supply(265.0, 260.0)
        },
        bias: Bias::Cathode,
        inverter: CATHODYNE,
        valve: "EL84",
        sockets: sockets(1)
            .into_iter()
            .map(|socket| Socket { screen_stopper: 100.0, stopper: 1e3, ..socket })
            .collect(),
        sides: sides(470e3, [170.0, 190.0]),
        shared_cathode: Some(150.0),
        output: output(8000.0, 8.0, 15.0, None),
        bench: harnessed(bench(60.0, 50.0)),
        ..demonstration.clone()
    };
    let untrimmed = Circuit {
        name: "two 6V6GT, no trimmer, cathodes straight to chassis",
        mains: mains(120.0, 3.6),
        supply: Supply {
            standby: Standby::None,
            to_screens: 1e3,
            rating: 450.0,
            later_rating: 450.0,
            ..supply(240.0, 130.0)
        },
        bias: Bias::Fixed(FixedBias { adjust: Adjust::Fixed, ..own_tap(38.0, leg(15e3, 22e3, 0.0, 0.0)) }),
        inverter: CATHODYNE,
        valve: "6V6GT",
        sockets: sockets(1).into_iter().map(|socket| Socket { cathode: 0.0, ..socket }).collect(),
        sides: sides(220e3, [140.0, 155.0]),
        output: output(8000.0, 8.0, 14.0, Some(0.9)),
        bench: bench(60.0, 50.0),
        ..demonstration.clone()
    };
    let balanced = Circuit {
        name: "two KT88, balance control, standby in the winding",
        mains: mains(120.0, 1.4),
        supply: Supply {
            standby: Standby::Winding,
            reservoir: 50e-6,
            rating: 350.0,
            balance: Some([150e3; 2]),
            later_rating: 600.0,
            ..supply(360.0, 60.0)
        },
        bias: Bias::Fixed(FixedBias {
            adjust: Adjust::Balance,
            legs: vec![leg(12e3, 47e3, 20e3, 0.75), leg(12e3, 47e3, 20e3, 0.7)],
            ..own_tap(62.0, leg(0.0, 0.0, 0.0, 0.0))
        }),
        inverter: LONG_TAILED,
        valve: "KT88",
        sockets: sockets(1).into_iter().map(|socket| Socket { cathode: 10.0, ..socket }).collect(),
        sides: sides(100e3, [38.0, 41.0]),
        output: output(4000.0, 8.0, 60.0, Some(1.6)),
        bench: bench(150.0, 150.0),
        ..demonstration.clone()
    };
    let divider = Circuit {
        name: "two 6L6GC, valve rectifier, control (a)",
        mains: mains(230.0, 8.0),
        supply: Supply { valve_rectifier: true, ..supply(330.0, 190.0) },
        bias: Bias::Fixed(own_tap(50.0, leg(12e3, 15e3, 25e3, 0.4))),
        sides: sides(OPEN, [60.0, 66.0]),
        control: Some(control(Way::Divider, 250e3, Some(2.2e6))),
        bench: harnessed(bench(150.0, 100.0)),
        ..demonstration.clone()
    };
    let second_pair = Circuit {
        name: "two EL34, no standby, control (e)",
        mains: mains(120.0, 2.2),
        supply: Supply { standby: Standby::None, ..supply(325.0, 80.0) },
        bias: Bias::Fixed(own_tap(46.0, leg(15e3, 18e3, 25e3, 0.4))),
        control: Some(control(Way::ToChassis, 500e3, None)),
        bench: bench(150.0, 120.0),
        ..el34.clone()
    };
    let across = Circuit {
        name: "two 6V6GT, control (b)",
        bias: Bias::Fixed(own_tap(38.0, leg(15e3, 15e3, 25e3, 0.3))),
        sockets: sockets(1),
        control: Some(control(Way::Across, 500e3, None)),
        supply: Supply { standby: Standby::Dc, ..untrimmed.supply.clone() },
        ..untrimmed.clone()
    };
    vec![demonstration, el34, el84, untrimmed, balanced, divider, second_pair, across]
}

fn quads() -> Vec<Circuit> {
    let pair = pairs().swap_remove(0);
    let hundred = Circuit {
        name: "four 6550, a trimmer for each side",
        mains: mains(230.0, 4.5),
        supply: Supply {
            reservoir: 110e-6,
            rating: 350.0,
            balance: Some([100e3; 2]),
            later_rating: 600.0,
            ..supply(385.0, 28.0)
        },
        bias: Bias::Fixed(FixedBias {
            adjust: Adjust::Each,
            legs: vec![leg(10e3, 33e3, 25e3, 0.6), leg(10e3, 33e3, 25e3, 0.6)],
            ..own_tap(66.0, leg(0.0, 0.0, 0.0, 0.0))
        }),
        inverter: LONG_TAILED,
        valve: "6550",
        sockets: sockets(2).into_iter().map(|socket| Socket { screen_stopper: 1e3, ..socket }).collect(),
        sides: sides(100e3, [19.0, 20.5]),
        output: output(1900.0, 4.0, 100.0, Some(1.5)),
        bench: harnessed(bench(300.0, 250.0)),
        ..pair.clone()
    };
    let winding = Circuit {
        name: "four 6L6GC, bias and standby in the HT winding",
        mains: mains(230.0, 5.0),
        supply: Supply {
            standby: Standby::Winding,
            reservoir: 110e-6,
            rating: 350.0,
            balance: Some([220e3; 2]),
            later_rating: 550.0,
            ..supply(332.0, 40.0)
        },
        bias: Bias::Fixed(from_ht(332.0, 120e3, leg(12e3, 27e3, 25e3, 0.45))),
        sockets: sockets(2).into_iter().map(|socket| Socket { cathode: 0.0, ..socket }).collect(),
        sides: sides(100e3, [30.0, 33.0]),
        output: output(2100.0, 8.0, 80.0, Some(1.2)),
        bench: bench(300.0, 200.0),
        ..pair.clone()
    };
    let self_biased = Circuit {
        name: "four EL84, a cathode resistor each, control (c)",
        mains: mains(230.0, 15.0),
        supply: Supply {
            standby: Standby::Winding,
            rating: 450.0,
            later_rating: 450.0,
            to_screens: 220.0,
            ..supply(252.0, 70.0)
        },
        bias: Bias::Cathode,
        inverter: LONG_TAILED,
        valve: "EL84",
        sockets: sockets(2)
            .into_iter()
            .map(|socket| Socket { cathode: 270.0, screen_stopper: 100.0, ..socket })
            .collect(),
        sides: sides(OPEN, [85.0, 92.0]),
        control: Some(control(Way::Instead, 500e3, Some(2.2e6))),
        output: output(4000.0, 8.0, 30.0, Some(1.0)),
        bench: bench(150.0, 80.0),
        ..pair
    };
    vec![hundred, winding, self_biased]
}

fn singles() -> Vec<Circuit> {
    let pair = pairs().swap_remove(2);
    let small = Circuit {
        name: "one 6V6GT, cathode bias, valve rectifier",
        mains: Mains { small_heaters: 0.6, core: 4.0, ..mains(120.0, 7.5) },
        supply: Supply {
            valve_rectifier: true,
            standby: Standby::None,
            reservoir: 22e-6,
            rating: 450.0,
            later_rating: 450.0,
            to_screens: 1e3,
            to_inverter: 10e3,
            preamplifier: 150e3,
            ..supply(258.0, 330.0)
        },
        inverter: DRIVER,
        valve: "6V6GT",
        sockets: vec![Socket { cathode: 470.0, ..socket("A1", 0) }],
        sides: sides(220e3, [250.0, 250.0]).into_iter().take(1).collect(),
        shared_cathode: None,
        output: output(5000.0, 4.0, 4.0, None),
        bench: bench(40.0, 25.0),
        ..pair.clone()
    };
    let larger = Circuit {
        name: "one EL34, cathode bias",
        mains: Mains { core: 5.0, ..mains(230.0, 22.0) },
        supply: Supply {
            standby: Standby::Dc,
            rating: 450.0,
            to_screens: 1e3,
            preamplifier: 120e3,
            ..supply(225.0, 110.0)
        },
        inverter: DRIVER,
        valve: "EL34",
        sockets: vec![Socket { cathode: 270.0, ..socket("A1", 0) }],
        sides: sides(220e3, [140.0, 140.0]).into_iter().take(1).collect(),
        shared_cathode: None,
        output: output(3000.0, 8.0, 8.0, Some(0.8)),
        bench: bench(60.0, 25.0),
        ..pair
    };
    vec![small, larger]
}
