//! The family: invented amplifiers, nobody's product. Each is one of the kinds that come to a bench.

mod ordinary;

use ordinary::{
    CATHODYNE, DRIVER, LONG_TAILED, bench, control, from_ht, harnessed, leg, mains, output, own_tap, sides,
    socket, sockets, supply,
};

use super::circuit::{Adjust, Bias, Circuit, FixedBias, Inverter, Mains, OPEN, Socket, Standby, Supply, Way};

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
    let between = Circuit {
        name: "two EL84, control (d)",
        supply: Supply {
            standby: Standby::Dc,
            rating: 450.0,
            later_rating: 450.0,
            to_screens: 1e3,
            to_inverter: 22e3,
            ..supply(232.0, 150.0)
        },
        control: Some(control(Way::Between, 1e6, None)),
        output: output(8000.0, 8.0, 15.0, Some(0.7)),
        bench: bench(100.0, 50.0),
        ..el84.clone()
    };
    vec![demonstration, el34, el84, untrimmed, balanced, divider, second_pair, across, between]
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
