//! The whole of it: both sides, with any fault, put together part by part, for the solver of networks, as a netlist, and at
//! rest.
//!
//! The valves of one side are taken together: their stoppers side by side, their grid currents added; but for one whose grid
//! alone is at fault. A fault changes one connection; all else stays as built.

use super::assembly::{Name, Parts};
use super::circuit::{Circuit, Place, Topology};
use super::dc_bias::DcBias;
use crate::circuit::{CHASSIS, Network};
use crate::quantity::Ratio;

/// One way of failing; where a fault is on one side, it is side A.
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
    /// The stopper of one valve is open.
    Stopper,
    /// The lead's screen touches the chassis.
    Screen,
    /// The wiper, or the track beside it, touches an earthed body.
    Body,
    /// The outer lugs are swapped.
    OuterLugs,
    /// Wiper and hot lug are swapped.
    WiperLug,
    /// Wiper and low lug are swapped.
    LowLug,
    /// The coupling capacitor leaks through this resistance, in Ω.
    Leaky(f64),
    /// The second coupling capacitor, behind the control, leaks through this resistance, in Ω.
    SecondLeaky(f64),
    /// This current comes out of the grid, in A.
    Gas(f64),
    /// Wet or fluxed board: this resistance from the HT to the grid, in Ω.
    Board(f64),
}

/// What it is built from and for.
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

/// What a node or part is called on side A and on side B.
macro_rules! pair {
    ($what:literal) => {
        [concat!($what, " A"), concat!($what, " B")]
    };
}

impl Build<'_> {
    /// What grid A comes to at rest; none where nothing holds it.
    pub(super) fn grid(&self) -> Option<f64> {
        let [grid, _] = self.grids();
        grid
    }

    /// What grid A and grid B come to at rest; none where nothing holds one. A grid of side A that is pulled above its cathode
    /// conducts: the other side sees it at 0 V.
    pub(super) fn grids(&self) -> [Option<f64>; 2] {
        let mut rest = DcBias::default();
        self.put(&mut rest);
        let [a] = rest.voltages(["grid A"]);
        // Grid A first: what lifts it may lift those beside it, until it conducts.
        for grid in ["grid A", "other grids A"] {
            let [voltage] = rest.voltages([grid]);
            if voltage.is_some_and(|voltage| voltage > 0.0) {
                rest.supply("cathode", grid, 0.0, 0.0);
            }
        }
        let [b] = rest.voltages(["grid B"]);
        [a, b]
    }

    /// All of it, for the solver of networks.
    pub(super) fn network(&self) -> Network {
        let mut network = Network::new();
        self.put(&mut network);
        network
    }

    /// Puts every part, each side for itself, with the fault among them.
    fn put(&self, net: &mut dyn Parts) {
        net.supply("bias supply", "supply", self.bias, 0.0);
        net.resistor("bias source", "supply", self.bias_node(), self.circuit.bias_source);
        self.side(net, 0, true);
        self.side(net, 1, false);
        if self.whole {
            net.capacitor("bias capacitor", self.bias_node(), CHASSIS, self.circuit.bias_capacitor);
        }
        if self.circuit.topology == Topology::Bridge {
            self.bridge(net);
        }
    }

    /// The bias node: chassis, where a screen that carries it touches that.
    fn bias_node(&self) -> &'static str {
        let grounded = self.fault == Some(Fault::Screen) && self.circuit.topology.screen_at_bias();
        if grounded { CHASSIS } else { "bias" }
    }

    fn side(&self, net: &mut dyn Parts, side: usize, faulty: bool) {
        let circuit = self.circuit;
        let has = |fault: Fault| faulty && self.fault == Some(fault);
        let name = |pair: [&'static str; 2]| pair[side];
        let bias = self.bias_node();
        let (above, below) = circuit.parts(self.share);
        let (above, below) = if has(Fault::OuterLugs) { (below, above) } else { (above, below) };
        // Where the low end of this gang goes.
        let low = match self.fault {
            Some(Fault::Feed) => "low lugs",
            Some(Fault::Jumper) if faulty => name(pair!("low lug")),
            _ if circuit.topology == Topology::Chassis => CHASSIS,
            _ => bias,
        };
        let track = name(pair!("track"));
        let lug =
            if has(Fault::Wiper) && circuit.topology.is_divider() { name(pair!("wiper lug")) } else { track };
        let hot = name(pair!("hot end"));
        let (entry, tap) = match (circuit.topology.is_divider(), has(Fault::WiperLug)) {
            (true, false) => (hot, lug),
            (true, true) => (track, hot),
            // A rheostat hangs from the point before the stopper.
            (false, _) => (name(pair!("socket")), name(pair!("socket"))),
        };
        let far = if has(Fault::Lead) { name(pair!("lead end")) } else { tap };
        let socket = match circuit.topology {
            Topology::Divider => far,
            _ => name(pair!("socket")),
        };
        self.inverter(net, side, faulty, entry);
        if circuit.topology.is_divider() && has(Fault::LowLug) {
            // The wiper went where the low end belongs, and the lead is on the low end.
            net.resistor(name(pair!("track above")), hot, low, above);
            net.resistor(name(pair!("track below")), low, track, below);
        } else if circuit.topology.is_divider() {
            if !has(Fault::Gang) {
                net.resistor(name(pair!("track above")), hot, track, above);
            }
            if !has(Fault::Gang) && !has(Fault::LowEnd) {
                net.resistor(name(pair!("track below")), track, low, below);
            }
        } else if circuit.topology != Topology::Bridge && !has(Fault::Gang) && !has(Fault::LowEnd) {
            // The wiper is tied to the hot lug: where it lifts, the whole track is left.
            let rheostat = match self.fault {
                Some(Fault::Wiper) if faulty => circuit.track,
                _ => below,
            };
            let hot = if has(Fault::Lead) { track } else { socket };
            net.resistor(name(pair!("rheostat")), hot, low, rheostat);
        }
        if circuit.topology == Topology::Chassis {
            if self.whole {
                net.capacitor(name(pair!("second coupling")), far, socket, circuit.second);
            }
            if let Some(Fault::SecondLeaky(leakage)) = self.fault.filter(|_| faulty) {
                net.resistor(name(pair!("second leakage")), far, socket, leakage);
            }
        }
        if circuit.topology.keeps_leak() {
            net.resistor(name(pair!("leak")), socket, bias, circuit.leak);
        }
        match self.safe.filter(|_| circuit.topology.takes_safe()) {
            Some((Place::Pot, safe)) => {
                let wiper = match circuit.topology {
                    Topology::Divider => lug,
                    _ if has(Fault::Lead) => track,
                    _ => socket,
                };
                net.resistor(name(pair!("fail-safe")), wiper, low, safe);
            }
            Some((Place::Socket, safe)) => {
                net.resistor(name(pair!("fail-safe")), socket, bias, safe);
            }
            Some((Place::Tag, _)) | None => {}
        }
        if has(Fault::Body) {
            let touched = if circuit.topology == Topology::Chassis || circuit.topology == Topology::Divider {
                tap
            } else {
                socket
            };
            net.resistor(name(pair!("body")), touched, CHASSIS, 0.0);
        }
        let grid = name(pair!("grid"));
        // What happens to one grid parts it from the others, each behind its own stopper.
        let parted = faulty && matches!(self.fault, Some(Fault::Stopper | Fault::Gas(_) | Fault::Board(_)));
        let first = if parted { 1.0 } else { circuit.valves };
        let drawn = match self.fault {
            Some(Fault::Gas(current)) if faulty => current,
            _ => self.grid_current * first,
        };
        let names =
            [grid, name(pair!("stopper")), name(pair!("fail-safe at grid")), name(pair!("grid current"))];
        self.grids_behind(net, names, socket, (first, drawn), has(Fault::Stopper));
        let others = circuit.valves - first;
        if others > 0.0 {
            let names = [
                name(pair!("other grids")),
                name(pair!("other stoppers")),
                name(pair!("fail-safe at other grids")),
                name(pair!("other grid currents")),
            ];
            self.grids_behind(net, names, socket, (others, self.grid_current * others), false);
        }
        if let Some(Fault::Board(leakage)) = self.fault.filter(|_| faulty) {
            net.supply("ht", "ht", self.anode, 0.0);
            net.resistor("board", "ht", grid, leakage);
        }
        if self.whole {
            let screen = if circuit.topology.screen_at_bias() { bias } else { CHASSIS };
            net.capacitor(name(pair!("lead")), far, screen, circuit.lead);
            net.capacitor(name(pair!("input")), grid, CHASSIS, circuit.input * circuit.valves);
        }
    }

    /// Grids that are the same, so many valves of them taken together: their stoppers, what is soldered to their tags, and the
    /// current out of all of them.
    fn grids_behind(
        &self,
        net: &mut dyn Parts,
        [grid, stopper, safe_at_grid, current]: [Name; 4],
        socket: Name,
        (valves, drawn): (f64, f64),
        open: bool,
    ) {
        if !open {
            net.resistor(stopper, socket, grid, self.circuit.stopper / valves);
        }
        if let Some((Place::Tag, safe)) = self.safe.filter(|_| self.circuit.topology.takes_safe()) {
            net.resistor(safe_at_grid, grid, self.bias_node(), safe / valves);
        }
        net.current(current, grid, drawn);
    }

    /// The inverter and the coupling capacitor; to a steady current only what a fault lets through.
    fn inverter(&self, net: &mut dyn Parts, side: usize, faulty: bool, entry: &'static str) {
        let leaky = match self.fault {
            Some(Fault::Leaky(leakage)) if faulty => Some(leakage),
            _ => None,
        };
        if !self.whole && leaky.is_none() {
            return;
        }
        let name = |pair: [&'static str; 2]| pair[side];
        let phase = if side == 0 { 1.0 } else { -1.0 };
        net.supply(name(pair!("inverter")), name(pair!("drive")), self.inverter_voltage, phase);
        net.resistor(
            name(pair!("inverter resistance")),
            name(pair!("drive")),
            name(pair!("anode")),
            self.circuit.inverter,
        );
        if self.whole {
            net.capacitor(name(pair!("coupling")), name(pair!("anode")), entry, self.circuit.coupling);
        }
        if let Some(leakage) = leaky {
            net.resistor(name(pair!("leakage")), name(pair!("anode")), entry, leakage);
        }
    }

    /// The one control between the two grids.
    fn bridge(&self, net: &mut dyn Parts) {
        let (above, below) = self.circuit.parts(self.share);
        let between = match self.fault {
            Some(Fault::Wiper) => self.circuit.track,
            Some(Fault::OuterLugs) => above + self.circuit.end,
            Some(Fault::Gang | Fault::LowEnd | Fault::Lead) => return,
            _ => below,
        };
        net.resistor("control", "socket A", "socket B", between);
    }
}
