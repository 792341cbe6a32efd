//! The whole table of faults of the master volume, every topology, place and row, against ngspice: the grids by an
//! operating point of the amplifier as the pages describe it, wired with that fault (`wiring`), current and heat by the
//! valve's equation (`valve`). At the defaults and at three inputs drawn by lot.

mod valve;
mod wiring;

use calc_core::calculator::{Inputs, Lazy, Table};

use crate::ngspice::run;
use valve::Curve;
use wiring::{Fault, Netlist, Values, Wired, of_row};

/// The demonstration amplifier, in SI units.
const DEFAULTS: Values = Values {
    topology: "divider",
    knob: 5.0,
    law: "audio",
    centre: 0.15,
    dead: 20.0,
    track: 250e3,
    end: 10.0,
    place: "tag",
    safe: 2.2e6,
    inverter: 18e3,
    inverter_voltage: 176.0,
    leak: 220e3,
    stopper: 1500.0,
    valve: "6L6GC",
    valves: 1,
    anode: 438.0,
    screen: 434.0,
    idle: 0.0325,
    bias: -46.0,
    bias_source: 12e3,
    grid_current: 1e-6,
};

/// Draws lots, the same ones at every run.
struct Lots(u64);

impl Lots {
    /// From 0 to 1 (SplitMix64, Steele and others 2014).
    fn draw(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut mixed = self.0;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        f64::from(u32::try_from((mixed ^ (mixed >> 31)) >> 32).unwrap_or(0)) / f64::from(u32::MAX)
    }

    fn one_of<T: Copy>(&mut self, all: &[T]) -> T {
        all.iter().copied().cycle().nth((self.draw() * 1000.0) as usize % all.len()).expect("something")
    }

    /// Between two values, each decade the same, to three digits as a meter has them.
    fn between(&mut self, low: f64, high: f64) -> f64 {
        let value = low * libm::pow(high / low, self.draw());
        format!("{value:.2e}").parse().expect("a number")
    }

    fn values(&mut self, topology: &'static str) -> Values {
        Values {
            topology,
            knob: (self.draw() * 100.0).round() / 10.0,
            law: self.one_of(&["audio", "linear", "reverse"]),
            centre: self.between(0.05, 0.4),
            dead: (self.draw() * 40.0).round(),
            track: self.between(10e3, 5e6),
            end: self.between(1.0, 1e3),
            place: self.one_of(&["none", "pot", "socket", "tag"]),
            safe: self.between(50e3, 20e6),
            inverter: self.between(1e3, 200e3),
            inverter_voltage: self.between(50.0, 400.0),
            leak: self.between(22e3, 2e6),
            stopper: self.between(100.0, 500e3),
            valve: self.one_of(&["6L6GC", "EL34", "EL84", "6V6GT"]),
            valves: self.one_of(&[1, 2, 3, 4]),
            anode: self.between(200.0, 600.0),
            screen: self.between(200.0, 450.0),
            idle: self.between(0.005, 0.08),
            bias: -self.between(8.0, 60.0),
            bias_source: self.between(100.0, 500e3),
            grid_current: self.between(0.2e-6, 5e-6),
        }
    }
}

/// The table as the calculator gives it for these values.
fn table(v: &Values) -> Table {
    let per_cent = v.centre * 100.0;
    let typed = [
        ("topology", v.topology.to_owned()),
        ("knob", v.knob.to_string()),
        ("law", v.law.to_owned()),
        ("centre", format!("{per_cent:.3} %")),
        ("dead-low", format!("{}°", v.dead)),
        ("dead-high", format!("{}°", v.dead)),
        ("resistance", format!("{} Ω", v.track)),
        ("end-resistance", format!("{} Ω", v.end)),
        ("safe-at", v.place.to_owned()),
        ("safe", format!("{} Ω", v.safe)),
        ("inverter", format!("{} Ω", v.inverter)),
        ("inverter-voltage", format!("{} V", v.inverter_voltage)),
        ("leak", format!("{} Ω", v.leak)),
        ("stopper", format!("{} Ω", v.stopper)),
        ("valve", v.valve.to_owned()),
        ("valves", v.valves.to_string()),
        ("anode-voltage", format!("{} V", v.anode)),
        ("screen-voltage", format!("{} V", v.screen)),
        ("idle-current", format!("{} A", v.idle)),
        ("bias-voltage", format!("{} V", v.bias)),
        ("bias-source", format!("{} Ω", v.bias_source)),
        ("grid-current", format!("{:.4} µA", v.grid_current * 1e6)),
    ];
    let inputs: Inputs = typed.into_iter().map(|(id, text)| (id.to_owned(), text)).collect();
    let outcome = calc_core::calculate("master-volume", &inputs).expect("there is such a calculator");
    let problems: Vec<_> = outcome.problems().map(|problem| problem.message.clone()).collect();
    assert!(outcome.report.is_some(), "{problems:?}");
    let tables = outcome.report.expect("it has an answer").tables;
    let mut tables = tables.iter().map(Lazy::get);
    tables.find(|table| table.title.starts_with("Faults")).expect("a table of faults")
}

/// A figure as printed, `−45.9 V`: its value and half of its last digit's place, when it has so many digits.
#[track_caller]
fn figure(text: &str, digits: i32) -> (f64, f64) {
    let (number, unit) = text.split_once('\u{a0}').unwrap_or((text, ""));
    let times = match unit.chars().next() {
        Some('k') => 1e3,
        Some('m') => 1e-3,
        Some('µ') => 1e-6,
        Some('n') => 1e-9,
        _ => 1.0,
    };
    let value: f64 = number.replace('−', "-").parse().unwrap_or_else(|_| panic!("“{text}” is no figure"));
    let value = value * times;
    let first = if value == 0.0 { -12 } else { libm::log10(value.abs()).floor() as i32 };
    (value, 0.5 * libm::pow(10.0, f64::from(first + 1 - digits)))
}

/// Whether a figure is what it should be, as far as it is printed; a wire and a sweep leave a little.
#[track_caller]
fn shows(text: &str, digits: i32, value: f64) -> bool {
    let (shown, half) = figure(text, digits);
    (shown - value).abs() <= half * 1.0001 + 3e-4 * value.abs() + 2e-4 * half
}

/// Further than any supply: nothing holds it.
fn floats(grid: f64) -> bool {
    grid.abs() > 1e4
}

/// One valve as the table should have it.
struct Valve<'c> {
    grid: f64,
    curve: &'c Curve,
    shift: f64,
    v: &'c Values,
}

impl Valve<'_> {
    /// What is wrong with what is said of it.
    fn wrong(&self, said: &str) -> Option<String> {
        let Self { grid, curve, shift, v } = self;
        if said == "floats: nothing holds it" {
            return (!floats(*grid)).then(|| format!("{grid} V holds it"));
        }
        let parts: Vec<&str> = said.split(';').next().unwrap_or("").split(", ").collect();
        let [volts, amperes, watts] = parts[..] else {
            return Some("three figures were expected".to_owned());
        };
        let right = match volts {
            "0\u{a0}V or more" => *grid > 0.499,
            "0\u{a0}V" => (-0.0505..0.501).contains(grid),
            _ => *grid < -0.0495 && shows(volts, 3, *grid),
        };
        if !right || floats(*grid) {
            return Some(format!("the grid is at {grid} V"));
        }
        // Above −0.05 V it counts as 0 V.
        let at = if volts.starts_with('0') { 0.0 } else { *grid };
        let current = curve.at(at + shift);
        if current > 1e-9 && !(shows(amperes, 2, current) && shows(watts, 2, current * v.anode)) {
            return Some(format!("{current} A, {} W at {grid} V", current * v.anode));
        }
        self.wrong_time(said, current * v.anode)
    }

    /// t = τ ln((P − P_0) / (P − P_max)), 20 s for an anode to warm.
    fn wrong_time(&self, said: &str, heat: f64) -> Option<String> {
        let over = said.split("; ").find_map(|part| part.strip_prefix("over "))?;
        let idle = self.v.idle * self.v.anode;
        let (limit, time) = over.split_once(" in about ").or_else(|| over.split_once(" as "))?;
        let (limit, _) = figure(limit, 4);
        if time == "before" {
            return (idle < limit).then(|| format!("it was at {idle} W before"));
        }
        let seconds = 20.0 * libm::log((heat - idle) / (heat - limit));
        (!shows(time, 1, seconds)).then(|| format!("{seconds} s by hand"))
    }
}

/// A cell of the table, and the circuits that it should tell of.
struct Cell<'t> {
    named: String,
    said: &'t str,
    free: Wired,
    /// The same with grids of side A that conduct where they are pulled above their cathodes.
    conducting: Wired,
    /// The same without the fault.
    sound: Wired,
}

/// How far the other side must be moved to be told of.
const TOLD: f64 = 0.5;

/// `rows`: how many of the faults that the pages list there are with this topology, counted by hand.
fn table_is_ngspices(topology: &'static str, rows: usize) {
    // A seed of its own for each topology: its name.
    let mut lots = Lots(topology.bytes().fold(18, |seed, letter| seed * 256 + u64::from(letter)));
    let drawn: Vec<Values> = (0..3).map(|_| lots.values(topology)).collect();
    let mut wrong = Vec::new();
    for v in std::iter::once(Values { topology, ..DEFAULTS }).chain(drawn) {
        let table = table(&v);
        let places = if v.takes_safe() { &["none", "pot", "socket", "tag"][..] } else { &["none"] };
        let mut netlist = Netlist::new();
        // The table goes by 2.2 MΩ where none was fitted.
        let fitted = Values { safe: if v.place == "none" { 2.2e6 } else { v.safe }, ..v.clone() };
        let healthy = netlist.add(&fitted, (Fault::None, v.knob), v.place, false);
        let mut cells = Vec::new();
        for row in &table.rows {
            let fault = of_row(&row[0], v.knob);
            for (place, said) in places.iter().zip(&row[1..]) {
                let [free, conducting] =
                    [false, true].map(|conducts| netlist.add(&fitted, fault, place, conducts));
                let sound = netlist.add(&fitted, (Fault::None, fault.1), place, false);
                cells.push(Cell { named: format!("{}, {place}", row[0]), said, free, conducting, sound });
            }
            assert_eq!(row.len(), places.len() + 2);
        }
        assert_eq!(table.rows.len(), rows, "{topology}");
        let point = run(&netlist.with_operating_point()).raw("point.raw");
        let at = |wired: &Wired, side: char| point[&wired.grid(side)];
        let healthy = at(&healthy, 'A');
        let curve = Curve::of(&v);
        let shift =
            if floats(healthy) { 0.0 } else { curve.grid_for(v.idle).map_or(0.0, |grid| grid - healthy) };
        let valve = |grid| Valve { grid, curve: &curve, shift, v: &v };
        for Cell { named, said, free, conducting, sound } in cells {
            let (a, sound) = (at(&free, 'A'), at(&sound, 'B'));
            // A side that floats along with the other has no voltage, whatever conducts there.
            let b = if floats(at(&free, 'B')) { at(&free, 'B') } else { at(&conducting, 'B') };
            let (own, other) = match (said.strip_suffix("; all valves"), said.split_once("; the other side "))
            {
                (Some(both), _) => (both, Some(both)),
                (None, Some((own, other))) => (own, Some(other)),
                (None, None) => (said, None),
            };
            let untold = || {
                let moved = (b - sound).abs() > TOLD * 1.01;
                moved.then(|| format!("the other side is moved from {sound} V to {b} V"))
            };
            let faults = [valve(a).wrong(own), other.map_or_else(untold, |other| valve(b).wrong(other))];
            wrong.extend(
                faults.into_iter().flatten().map(|fault| format!("{named}: “{said}”: {fault}\n  {v:?}")),
            );
        }
    }
    assert!(wrong.is_empty(), "{topology}, {} wrong:\n{}", wrong.len(), wrong.join("\n"));
}

#[test]
fn divider() {
    table_is_ngspices("divider", 22);
}

#[test]
fn rheostats_across_the_leaks() {
    table_is_ngspices("across", 19);
}

#[test]
fn rheostats_instead_of_the_leaks() {
    table_is_ngspices("instead", 20);
}

#[test]
fn one_control_across_the_grids() {
    table_is_ngspices("bridge", 16);
}

#[test]
fn divider_to_chassis() {
    table_is_ngspices("chassis", 26);
}
