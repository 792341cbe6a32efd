//! What bends: diodes and valves, as currents and slopes at given voltages, and how far a step of Newton's method may
//! take them.
//!
//! ```text
//! diode   i = Is (exp(v / (n V_T)) − 1) + GMIN v        V_T = kT/q at 27 °C
//!         (ngspice takes a cubic for the exponential below −3 n V_T: the currents differ by less than Is/20)
//! valve   the published equations of `valve/model.rs`
//! ```
//!
//! A step that would take a diode far up its exponential is shortened as SPICE does (source `junction-limiting`):
//!
//! ```text
//! v' = v + n V_T ln(1 + (v_new − v) / (n V_T))          where v_new > v_crit = n V_T ln(n V_T / (√2 Is))
//! ```

use super::GMIN;
use super::part::{Ends, Node};
use crate::valve::model::{Model, Tangent, Volts};

/// kT/q at 27 °C, in V, from the constants of the SI.
const THERMAL: f64 = 1.380_649e-23 * 300.15 / 1.602_176_634e-19;
/// How many voltages a device may depend on, and how many currents it may carry.
const WAYS: usize = 3;

/// A part whose current is no straight line over its voltages: a diode, a valve.
pub(super) struct Device {
    /// The nodes whose voltages count, from `common`.
    inputs: [Node; WAYS],
    /// The nodes that the currents flow from, all to `common`.
    outputs: [Node; WAYS],
    pub(super) common: Node,
    law: Law,
}

enum Law {
    /// Saturation current in A, n·V_T in V.
    Diode(f64, f64),
    /// Of anode, screen and grid.
    Valve(Model),
}

/// Voltages, or currents, at a device.
pub(super) type Ways = [f64; WAYS];

impl Device {
    pub(super) fn diode((anode, cathode): Ends, saturation: f64, ideality: f64) -> Self {
        let law = Law::Diode(saturation, ideality * THERMAL);
        Self { inputs: [anode, None, None], outputs: [anode, None, None], common: cathode, law }
    }

    pub(super) fn valve([anode, screen, grid, cathode]: [Node; 4], model: Model) -> Self {
        let law = Law::Valve(model);
        Self { inputs: [anode, screen, grid], outputs: [anode, screen, None], common: cathode, law }
    }

    /// How many voltages it depends on.
    fn ways(&self) -> usize {
        match self.law {
            Law::Diode(..) => 1,
            Law::Valve(_) => WAYS,
        }
    }

    /// Pairs of nodes that each voltage counts between, with their place.
    pub(super) fn inputs(&self) -> impl Iterator<Item = (usize, Ends)> {
        self.inputs.iter().take(self.ways()).map(|node| (*node, self.common)).enumerate()
    }

    /// Pairs of nodes that each current flows between, with their place.
    pub(super) fn outputs(&self) -> impl Iterator<Item = (usize, Ends)> {
        self.outputs.iter().take(self.ways().min(2)).map(|node| (*node, self.common)).enumerate()
    }

    /// Its voltages among the unknowns.
    pub(super) fn voltages(&self, unknowns: &[f64]) -> Ways {
        let mut voltages = [0.0; WAYS];
        for (at, (node, common)) in self.inputs() {
            let of = |node: Node| node.and_then(|node| unknowns.get(node)).copied().unwrap_or(0.0);
            voltages[at] = of(node) - of(common);
        }
        voltages
    }

    pub(super) fn currents(&self, voltages: &Ways) -> Ways {
        match &self.law {
            Law::Diode(saturation, thermal) => {
                let forward = saturation * libm::expm1(voltages[0] / thermal);
                [forward + GMIN * voltages[0], 0.0, 0.0]
            }
            Law::Valve(model) => {
                let currents = model.currents(volts(voltages));
                [currents.anode, currents.screen, 0.0]
            }
        }
    }

    /// The currents, and their slopes: `[current][voltage]`.
    pub(super) fn tangent(&self, voltages: &Ways) -> (Ways, [Ways; WAYS]) {
        match &self.law {
            Law::Diode(saturation, thermal) => {
                // One exponential for both: eˣ is 1 + (eˣ − 1).
                let forward = saturation * libm::expm1(voltages[0] / thermal);
                let slope = (forward + saturation) / thermal + GMIN;
                ([forward + GMIN * voltages[0], 0.0, 0.0], [[slope, 0.0, 0.0], [0.0; WAYS], [0.0; WAYS]])
            }
            Law::Valve(model) => {
                let Tangent { currents, anode, screen } = model.tangent(volts(voltages));
                ([currents.anode, currents.screen, 0.0], [anode, screen, [0.0; WAYS]])
            }
        }
    }

    /// Where the next step looks, and whether that is nearer than it wanted.
    pub(super) fn limit(&self, wanted: &Ways, last: &Ways) -> (Ways, bool) {
        let limited = match &self.law {
            Law::Diode(saturation, thermal) => {
                [limit_junction(wanted[0], last[0], *thermal, *saturation), 0.0, 0.0]
            }
            Law::Valve(_) => [
                limit_electrode(wanted[0], last[0]),
                limit_electrode(wanted[1], last[1]),
                limit_grid(wanted[2], last[2]),
            ],
        };
        let changed = (0..self.ways()).any(|at| limited[at] != wanted[at]);
        (limited, changed)
    }
}

pub(super) fn volts(voltages: &Ways) -> Volts {
    let [anode, screen, grid] = *voltages;
    Volts { anode, screen, grid }
}

fn limit_junction(wanted: f64, last: f64, thermal: f64, saturation: f64) -> f64 {
    let critical = thermal * libm::log(thermal / (std::f64::consts::SQRT_2 * saturation));
    if wanted <= critical || (wanted - last).abs() <= 2.0 * thermal {
        return wanted;
    }
    if last <= 0.0 {
        return critical;
    }
    let up = (wanted - last) / thermal;
    last + if up > 0.0 { thermal * libm::log1p(up) } else { -thermal * libm::log1p(-up) }
}

/// An anode or screen may treble, or fall to a third.
fn limit_electrode(wanted: f64, last: f64) -> f64 {
    let high = 3.0 * last.max(0.0) + 10.0;
    let low = if last > 3.0 { last / 3.0 } else { f64::NEG_INFINITY };
    wanted.clamp(low, high)
}

fn limit_grid(wanted: f64, last: f64) -> f64 {
    let most = 5.0 + last.abs() / 2.0;
    wanted.clamp(last - most, last + most)
}
