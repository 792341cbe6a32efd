//! A circuit in a state of the bench, as a network, and what comes of it.
//!
//! Everything is at rest: capacitors are open, windings are their resistance. What a network at rest does not know, what
//! rectifiers and the lamp do, is in it as a source behind a resistance ([`super::rectified`]), found again until it fits.
//! Between any grid tag and the chassis lies 1 GΩ of board, so that a tag whose leak is open has a voltage at all.

use std::collections::BTreeMap;

use calc_core::circuit::{CHASSIS, Network, OperatingPoint, units::*};
use calc_core::quantity::Quantity;
use calc_core::valve::particulars;

use super::circuit::{Bias, Circuit, FixedBias, Leg, Standby};
use super::parts;
use super::rectified::{Rectified, Tangent, lamp_current};
use super::state::{Power, State};

/// What an output valve does.
#[derive(Debug, Clone, Copy)]
pub struct Valve {
    /// From its cathode.
    pub anode_volts: f64,
    /// From its cathode.
    pub screen_volts: f64,
    /// Anode current.
    pub anode: f64,
    /// Screen current.
    pub screen: f64,
    /// What flows in its cathode resistor.
    pub cathode: f64,
}

impl Valve {
    /// Watts in its anode.
    #[must_use]
    pub fn anode_watts(&self) -> f64 {
        self.anode_volts * self.anode
    }

    /// Watts in its screen.
    #[must_use]
    pub fn screen_watts(&self) -> f64 {
        self.screen_volts * self.screen
    }
}

/// A circuit in a state.
#[derive(Debug, Clone, Default)]
pub struct Solution {
    /// Volts of each node from the chassis.
    volts: BTreeMap<String, f64>,
    /// Each output valve that is in, by its socket.
    pub valves: BTreeMap<&'static str, Valve>,
    /// Mains at the amplifier.
    pub mains: f64,
    /// What it takes.
    pub watts: f64,
    /// Peak to peak at the first bias capacitor, and the mean current that makes it.
    pub bias_swing: f64,
}

impl Solution {
    /// Volts of a node; 0 of one that this circuit has not.
    #[must_use]
    pub fn volts(&self, node: &str) -> f64 {
        self.volts.get(node).copied().unwrap_or(0.0)
    }
}

/// Solves a circuit in a state.
///
/// # Panics
/// When the network has no answer: then the circuit is described wrongly.
#[must_use]
pub fn solve(circuit: &Circuit, state: State) -> Solution {
    let full = circuit.mains.outlet / circuit.mains.marked;
    match state.power {
        Power::Off => Solution::default(),
        Power::Full => at(circuit, state, full),
        Power::Lamp if circuit.bench.lamp_bridged => at(circuit, state, full),
        Power::Lamp => behind_lamp(circuit, state, full),
    }
}

/// Where lamp and amplifier draw the same current, by chords through the last two shares of the mains.
fn behind_lamp(circuit: &Circuit, state: State, full: f64) -> Solution {
    let outlet = circuit.mains.outlet;
    let miss = |found: &Solution| {
        lamp_current(circuit.bench.lamp, outlet, outlet - found.mains) - found.watts / found.mains
    };
    let (mut low, mut high) = (0.01, full);
    let (mut at_low, mut at_high) = (lamp_current(circuit.bench.lamp, outlet, outlet), 0.0);
    let mut found = at(circuit, state, full);
    at_high += miss(&found);
    for _ in 0..12 {
        let share = (low * at_high - high * at_low) / (at_high - at_low);
        found = at(circuit, state, share);
        let missed = miss(&found);
        if missed.abs() < 0.01 * found.watts / found.mains {
            break;
        }
        // The end that stays counts half: so neither stays for ever.
        if missed > 0.0 {
            (low, at_low, at_high) = (share, missed, at_high / 2.0);
        } else {
            (high, at_high, at_low) = (share, missed, at_low / 2.0);
        }
    }
    found
}

/// With the mains at a share of what is marked.
fn at(circuit: &Circuit, state: State, share: f64) -> Solution {
    let scale = share / circuit.mains.tap;
    let ht = ht_feed(circuit, state, scale);
    let bias = bias_feed(circuit, state, scale);
    let mut ht_volts = ht.map_or(0.0, |feed| 0.85 * feed.crest);
    let mut bias_volts = bias.map_or(0.0, |feed| 0.8 * feed.crest);
    for _ in 0..40 {
        let sagging = bias.map(|feed| feed.sagging(bias_volts, circuit.mains.hertz, first_bias(circuit)));
        let now = [ht.map(|feed| feed.tangent(ht_volts)), sagging.map(|feed| feed.tangent(bias_volts))];
        let network = build(circuit, state, now);
        let rest =
            network.operating_point().unwrap_or_else(|error| panic!("{} {state:?}: {error}", circuit.name));
        let (ht_now, bias_now) = (volts_of(&rest, "ht"), -volts_of(&rest, "raw"));
        let moved = (ht_now - ht_volts).abs().max(10.0 * (bias_now - bias_volts).abs());
        (ht_volts, bias_volts) = (ht_now, bias_now);
        if moved < 0.5 {
            return read_off(circuit, state, share, &rest, [(ht, ht_volts), (bias, bias_volts)]);
        }
    }
    panic!("{} {state:?}: its rectifiers do not settle", circuit.name)
}

/// What is kept of a network at rest, with its feeds and what each charges its capacitor to.
fn read_off(
    circuit: &Circuit,
    state: State,
    share: f64,
    rest: &OperatingPoint<'_>,
    [(ht, ht_volts), (bias, bias_volts)]: [(Option<Rectified>, f64); 2],
) -> Solution {
    let scale = share / circuit.mains.tap;
    let mut solution = Solution { mains: share * circuit.mains.marked, ..Solution::default() };
    for node in parts::nodes(circuit) {
        if let Ok(volts) = rest.voltage(&node) {
            solution.volts.insert(node, volts.si());
        }
    }
    if conducts(circuit, state) {
        for socket in &circuit.sockets {
            let (at, flows) = rest.valve(socket.name).expect("it is in");
            let valve = Valve {
                anode_volts: at.anode,
                screen_volts: at.screen,
                anode: flows.anode,
                screen: flows.screen,
                cathode: parts::cathode_current(rest, socket),
            };
            solution.valves.insert(socket.name, valve);
        }
    }
    let shorts = shorted_legs(circuit, state, scale);
    let heaters = heater_watts(circuit, state) * libm::pow(scale, 1.6);
    let core = circuit.mains.core * scale * scale;
    solution.watts = core + heaters + shorts + ht.map_or(0.0, |feed| feed.power(ht_volts));
    solution.bias_swing = bias.map_or(0.0, |feed| {
        let (hertz, farads) = (circuit.mains.hertz, first_bias(circuit));
        feed.sagging(bias_volts, hertz, farads).swing(bias_volts, hertz, farads)
    });
    solution
}

fn volts_of(rest: &OperatingPoint<'_>, node: &str) -> f64 {
    rest.voltage(node).map_or(0.0, |volts| volts.si())
}

/// Whether output valves that are in can draw anything: warm, and with HT.
pub fn conducts(circuit: &Circuit, state: State) -> bool {
    let passes = circuit.supply.standby == Standby::None || circuit.supply.standby_leak.is_finite();
    state.valves && !state.cold && state.power != Power::Off && (state.play || passes)
}

/// Whether the HT reaches the reservoir at all.
fn is_let_in(circuit: &Circuit, state: State) -> bool {
    state.play || circuit.supply.standby != Standby::Winding || circuit.supply.standby_leak < 1.0
}

fn ht_feed(circuit: &Circuit, state: State, scale: f64) -> Option<Rectified> {
    let supply = &circuit.supply;
    if !is_let_in(circuit, state) || (supply.valve_rectifier && state.cold) {
        return None;
    }
    let whole = supply.legs.iter().filter(|leg| **leg == Leg::Whole).count();
    let shorted = supply.legs.contains(&Leg::Shorted);
    let drop = if supply.valve_rectifier { 0.0 } else { 1.0 };
    // A shorted leg loads the winding each other half wave: about a third of the crest is left to charge by.
    let winding = supply.winding * scale * if shorted { 0.33 } else { 1.0 };
    (whole > 0)
        .then(|| Rectified::of(winding, drop, supply.source, f64::from(u8::try_from(whole).unwrap_or(1))))
}

/// Watts of a winding that a shorted leg closes over its own resistance for half of each period.
fn shorted_legs(circuit: &Circuit, state: State, scale: f64) -> f64 {
    let supply = &circuit.supply;
    let winding = supply.winding * scale;
    let shorted = supply.legs.contains(&Leg::Shorted) && is_let_in(circuit, state);
    if shorted { winding * winding / supply.source / 2.0 } else { 0.0 }
}

fn bias_feed(circuit: &Circuit, state: State, scale: f64) -> Option<Rectified> {
    let Bias::Fixed(FixedBias { from_ht, winding, source, leg, .. }) = &circuit.bias else { return None };
    let switched = *from_ht && !is_let_in(circuit, state);
    // Under drive the mains transformer gives some 3 % less (common practice, no source).
    let sag = if state.driven { 0.97 } else { 1.0 };
    (*leg == Leg::Whole && !switched).then(|| Rectified::of(winding * scale * sag, 0.7, *source, 1.0))
}

/// The first bias capacitor, and the last one behind its resistor where the first has dried out.
fn first_bias(circuit: &Circuit) -> f64 {
    match &circuit.bias {
        Bias::Fixed(fixed) => fixed.first.max(1e-9),
        Bias::Cathode => 1e-9,
    }
}

/// Heaters, at the marked mains.
fn heater_watts(circuit: &Circuit, state: State) -> f64 {
    let valve = particulars(circuit.valve).expect("a valve of the table");
    let one = valve.heater_current.value().si() * valve.heater_voltage.value().si();
    let count = if state.valves { circuit.sockets.len() } else { 0 };
    let rectifier = if circuit.supply.valve_rectifier { 10.0 } else { 0.0 };
    one * count as f64 + 6.3 * circuit.mains.small_heaters + rectifier
}

fn build(circuit: &Circuit, state: State, [ht, bias]: [Option<Tangent>; 2]) -> Network {
    let mut network = Network::new();
    if let Some(Tangent { volts: v, ohms: r }) = ht {
        network.voltage("winding", "rectifier", CHASSIS, volts(v));
        network.resistor("rectifier", "rectifier", "ht", ohms(r));
    }
    if let Some(Tangent { volts: v, ohms: r }) = bias {
        network.voltage("bias winding", "bias rectifier", CHASSIS, volts(-v));
        network.resistor("bias rectifier", "bias rectifier", "raw", ohms(r));
    }
    parts::supply(&mut network, circuit, state);
    parts::bias(&mut network, circuit);
    parts::inverter(&mut network, circuit, state);
    parts::grids(&mut network, circuit, state);
    parts::output(&mut network, circuit, state);
    network
}

/// What an ohmmeter shows between two points of the dead circuit, output valves out, its capacitors charged by the meter.
/// Rectifiers block, as the meter is put on; a shorted one leads to its winding.
///
/// # Panics
/// When the network has no answer: then the circuit is described wrongly.
#[must_use]
pub fn ohms_between(circuit: &Circuit, state: State, a: &str, b: &str) -> f64 {
    const TEST: f64 = 1e-6;
    let mut network = build(circuit, State { power: Power::Off, ..state.out() }, [None, None]);
    if circuit.supply.legs.contains(&Leg::Shorted) {
        network.resistor("shorted leg", "ht", CHASSIS, ohms(circuit.supply.source));
    }
    if let Bias::Fixed(FixedBias { leg: Leg::Shorted, source, .. }) = &circuit.bias {
        network.resistor("shorted bias rectifier", "raw", CHASSIS, ohms(*source));
    }
    network.current("meter", b, a, amperes(TEST));
    let rest =
        network.operating_point().unwrap_or_else(|error| panic!("{} {state:?}: {error}", circuit.name));
    (volts_of(&rest, a) - volts_of(&rest, b)) / TEST
}
