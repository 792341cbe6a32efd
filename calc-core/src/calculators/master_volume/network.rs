//! The whole of it as a network: both sides, with any fault, for the solver and as a netlist.
//!
//! The valves of one side are taken together: their stoppers side by side, their grid currents added. A fault changes one
//! connection; all else stays as built.

use super::circuit::{Circuit, Place, Topology};
use crate::network::units::{amperes, farads, ohms, volts};
use crate::network::{CHASSIS, Network, Signal};
use crate::quantity::Ratio;

/// One way of failing; where a fault lies on one side, it is side A.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Fault {
    /// The wiper has lifted from the track.
    Wiper,
    /// The track has come off its low end.
    LowEnd,
    /// The jumper between the gangs' low lugs, or the wire at one of them, is open: one gang has no low end.
    Jumper,
    /// No bias arrives at the low lugs.
    Feed,
    /// The track is open from end to end.
    Gang,
    /// The wiper's lead is open.
    Lead,
    /// The stopper is open.
    Stopper,
    /// The lead's screen touches the chassis.
    Screen,
    /// The wiper, or the track beside it, touches a grounded body.
    Body,
    /// The outer lugs are swapped.
    OuterLugs,
    /// Wiper and hot lug are swapped.
    WiperLug,
    /// The coupling capacitor leaks through this resistance, in Ω.
    Leaky(f64),
    /// This current comes out of the grid, in A.
    Gas(f64),
    /// Wet or fluxed board: this resistance from the HT to the grid, in Ω.
    Board(f64),
}

/// What a network is built from and for.
pub(super) struct Build<'c> {
    pub(super) circuit: &'c Circuit,
    /// Which place of the fail-safe resistor, and its value.
    pub(super) safe: Option<(Place, f64)>,
    pub(super) share: Ratio,
    pub(super) fault: Option<Fault>,
    /// Capacitors and the inverter's signals too; without them, only what carries a steady current.
    pub(super) whole: bool,
    pub(super) bias: f64,
    /// Of one valve.
    pub(super) grid_current: f64,
    pub(super) inverter_voltage: f64,
    pub(super) anode: f64,
}

/// The name of a node or part of one side.
fn of(side: &str, what: &str) -> String {
    format!("{what} {side}")
}

impl Build<'_> {
    /// The network. Without signals the second side is put in only where it takes part.
    pub(super) fn network(&self) -> Network {
        let mut net = Network::new();
        net.voltage("bias supply", "supply", CHASSIS, volts(self.bias));
        net.resistor("bias source", "supply", self.bias_node(), ohms(self.circuit.bias_source));
        self.side(&mut net, "A", true);
        if self.whole || self.circuit.topology == Topology::Bridge {
            self.side(&mut net, "B", false);
        } else {
            let other = self.grid_current * self.circuit.valves;
            net.current("grid current B", CHASSIS, self.bias_node(), amperes(other));
        }
        if self.whole {
            net.capacitor("bias capacitor", self.bias_node(), CHASSIS, farads(self.circuit.bias_capacitor));
        }
        if self.circuit.topology == Topology::Bridge {
            self.bridge(&mut net);
        }
        net
    }

    /// The bias node: chassis, where a screen that carries it touches that.
    fn bias_node(&self) -> &'static str {
        let grounded = self.fault == Some(Fault::Screen) && self.circuit.topology.screen_at_bias();
        if grounded { CHASSIS } else { "bias" }
    }

    fn side(&self, net: &mut Network, side: &str, faulty: bool) {
        let circuit = self.circuit;
        let has = |fault: Fault| faulty && self.fault == Some(fault);
        let name = |what: &str| of(side, what);
        let bias = self.bias_node();
        let (above, below) = circuit.parts(self.share);
        let (above, below) = if has(Fault::OuterLugs) { (below, above) } else { (above, below) };
        // Where the low end of this gang goes.
        let low = match self.fault {
            Some(Fault::Feed) => "low lugs".to_owned(),
            Some(Fault::Jumper) if faulty => name("low lug"),
            _ if circuit.topology == Topology::Chassis => CHASSIS.to_owned(),
            _ => bias.to_owned(),
        };
        let track = name("track");
        let lug = if has(Fault::Wiper) && circuit.topology.is_divider() {
            name("wiper lug")
        } else {
            track.clone()
        };
        let hot = name("hot end");
        let (entry, tap) = match (circuit.topology.is_divider(), has(Fault::WiperLug)) {
            (true, false) => (hot.clone(), lug.clone()),
            (true, true) => (track.clone(), hot.clone()),
            // A rheostat hangs from the point before the stopper.
            (false, _) => (name("socket"), name("socket")),
        };
        let far = if has(Fault::Lead) { name("lead end") } else { tap.clone() };
        let socket = match circuit.topology {
            Topology::Divider => far.clone(),
            _ => name("socket"),
        };
        self.inverter(net, side, faulty, &entry);
        if circuit.topology.is_divider() {
            if !has(Fault::Gang) {
                net.resistor(&name("track above"), &hot, &track, ohms(above));
            }
            if !has(Fault::Gang) && !has(Fault::LowEnd) {
                net.resistor(&name("track below"), &track, &low, ohms(below));
            }
        } else if circuit.topology != Topology::Bridge && !has(Fault::Gang) && !has(Fault::LowEnd) {
            // The wiper is tied to the hot lug: where it lifts, the whole track is left.
            let rheostat = match self.fault {
                Some(Fault::Wiper) if faulty => circuit.track,
                Some(Fault::OuterLugs) if faulty => above + circuit.end,
                _ => below,
            };
            let hot = if has(Fault::Lead) { track.clone() } else { socket.clone() };
            net.resistor(&name("rheostat"), &hot, &low, ohms(rheostat));
        }
        if circuit.topology == Topology::Chassis && self.whole {
            net.capacitor(&name("second coupling"), &far, &socket, farads(circuit.second));
        }
        if circuit.topology.keeps_leak() {
            net.resistor(&name("leak"), &socket, bias, ohms(circuit.leak));
        }
        let grid = name("grid");
        if !has(Fault::Stopper) {
            net.resistor(&name("stopper"), &socket, &grid, ohms(circuit.stopper / circuit.valves));
        }
        match self.safe.filter(|_| circuit.topology.takes_safe()) {
            Some((Place::Pot, safe)) => {
                let wiper = match circuit.topology {
                    Topology::Divider => lug.clone(),
                    _ if has(Fault::Lead) => track.clone(),
                    _ => socket.clone(),
                };
                net.resistor(&name("fail-safe"), &wiper, &low, ohms(safe));
            }
            Some((Place::Socket, safe)) => {
                net.resistor(&name("fail-safe"), &socket, bias, ohms(safe));
            }
            Some((Place::Tag, safe)) => {
                net.resistor(&name("fail-safe"), &grid, bias, ohms(safe / circuit.valves));
            }
            None => {}
        }
        if has(Fault::Body) {
            let touched = if circuit.topology == Topology::Chassis || circuit.topology == Topology::Divider {
                &tap
            } else {
                &socket
            };
            net.resistor(&name("body"), touched, CHASSIS, ohms(0.0));
        }
        let drawn = match self.fault {
            Some(Fault::Gas(current)) if faulty => current + self.grid_current * (circuit.valves - 1.0),
            _ => self.grid_current * circuit.valves,
        };
        net.current(&name("grid current"), CHASSIS, &grid, amperes(drawn));
        if let Some(Fault::Board(leakage)) = self.fault.filter(|_| faulty) {
            net.voltage("ht", "ht", CHASSIS, volts(self.anode));
            net.resistor("board", "ht", &grid, ohms(leakage));
        }
        if self.whole {
            let screen = if circuit.topology.screen_at_bias() { bias } else { CHASSIS };
            net.capacitor(&name("lead"), &far, screen, farads(circuit.lead));
            net.capacitor(&name("input"), &grid, CHASSIS, farads(circuit.input * circuit.valves));
        }
    }

    /// The inverter and the coupling capacitor; to a steady current only what a fault lets through.
    fn inverter(&self, net: &mut Network, side: &str, faulty: bool, entry: &str) {
        let leaky = match self.fault {
            Some(Fault::Leaky(leakage)) if faulty => Some(leakage),
            _ => None,
        };
        if !self.whole && leaky.is_none() {
            return;
        }
        let name = |what: &str| of(side, what);
        let phase = if side == "A" { 1.0 } else { -1.0 };
        let signal = Signal::dc(volts(self.inverter_voltage)).ac(volts(phase));
        net.voltage(&name("inverter"), &name("drive"), CHASSIS, signal);
        net.resistor(
            &name("inverter resistance"),
            &name("drive"),
            &name("anode"),
            ohms(self.circuit.inverter),
        );
        if self.whole {
            net.capacitor(&name("coupling"), &name("anode"), entry, farads(self.circuit.coupling));
        }
        if let Some(leakage) = leaky {
            net.resistor(&name("leakage"), &name("anode"), entry, ohms(leakage));
        }
    }

    /// The one control between the two grids.
    fn bridge(&self, net: &mut Network) {
        let (above, below) = self.circuit.parts(self.share);
        let between = match self.fault {
            Some(Fault::Wiper) => self.circuit.track,
            Some(Fault::OuterLugs) => above + self.circuit.end,
            Some(Fault::Gang | Fault::LowEnd | Fault::Lead) => return,
            _ => below,
        };
        net.resistor("control", "socket A", "socket B", ohms(between));
    }
}
