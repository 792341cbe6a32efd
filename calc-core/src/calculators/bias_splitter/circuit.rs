//! The physics of the splitter: one leak a side, from the grids to the bias source, fed through the coupling capacitor.
//!
//! The word leak means three things here, and each formula takes its own:
//!
//! ```text
//! R_gc = R_s + n R_l + N R_b       direct, for one valve: n valves draw their grid currents through its leak, all N
//!                                  valves draw theirs through the bias source; every valve is taken to draw the same
//! R_l' = R_l / m                   to signals: the m leaks of a side, which the inverter sees side by side, for the bias
//!                                  source is held by its capacitor and the grids take none
//! R_l' + R_i                       round the coupling capacitor, in its corner 1 / 2πτ and its recovery τ = C (R_l' + R_i)
//! ```

use std::f64::consts::TAU;

use crate::calculator::Impossible;
use crate::quantity::{
    Capacitance, ElectricCurrent, ElectricPotential, ElectricalConductance, ElectricalResistance, Frequency,
    Quantity, Ratio, Time,
};

/// All of the grid circuit that two designs have in common.
pub(super) struct Circuit {
    pub(super) bias_source: ElectricalResistance,
    pub(super) valves_on_leak: u32,
    pub(super) valves: u32,
    pub(super) stopper: ElectricalResistance,
    pub(super) grid_current: ElectricCurrent,
    pub(super) coupling: Capacitance,
    pub(super) inverter: ElectricalResistance,
}

/// What a leak comes to in its circuit, for one valve or one side.
#[derive(Clone, Copy)]
pub(super) struct Worked {
    pub(super) leak: ElectricalResistance,
    /// All leaks of a side, side by side: what the inverter drives.
    pub(super) load: ElectricalResistance,
    pub(super) grid_circuit: ElectricalResistance,
    pub(super) bias_lost: ElectricPotential,
    pub(super) current_rise: ElectricCurrent,
    /// What of the drive reaches the grids.
    pub(super) drive: Ratio,
    /// The same as a loss, in decibels above zero.
    pub(super) loss: f64,
    pub(super) recovery: Time,
    pub(super) corner: Frequency,
}

impl Circuit {
    /// What the bias source and the stopper take of a valve's grid circuit before there is any leak.
    pub(super) fn without_leak(&self) -> ElectricalResistance {
        self.stopper + self.bias_source * f64::from(self.valves)
    }

    pub(super) fn grid_circuit(&self, leak: ElectricalResistance) -> ElectricalResistance {
        self.without_leak() + leak * f64::from(self.valves_on_leak)
    }

    /// How many leaks each side has: all of them where there is one, for then there is one side; `None` where the valves do
    /// not divide into two sides that are the same.
    pub(super) fn leaks_a_side(&self) -> Option<u32> {
        let Self { valves, valves_on_leak, .. } = *self;
        match valves.checked_div(valves_on_leak)? {
            _ if valves % valves_on_leak != 0 => None,
            1 => Some(1),
            leaks => (leaks % 2 == 0).then_some(leaks / 2),
        }
    }

    /// The largest leak that keeps the grid circuit of each valve within `limit`; zero when there is none.
    pub(super) fn largest_leak(&self, limit: ElectricalResistance) -> ElectricalResistance {
        let left = (limit - self.without_leak()) / f64::from(self.valves_on_leak);
        ElectricalResistance::of(left.si().max(0.0))
    }

    /// # Errors
    /// [`Impossible`] when the valves do not divide into two sides, or a tolerance reaches down to no leak or no capacitor at all.
    pub(super) fn with(
        &self,
        leak: ElectricalResistance,
        gm: ElectricalConductance,
    ) -> Result<Worked, Impossible> {
        let grid_circuit = self.grid_circuit(leak);
        let bias_lost = self.grid_current * grid_circuit;
        let Some(leaks) = self.leaks_a_side() else {
            let message = format!(
                "{} valves in total with {} on each leak do not divide into two equal sides. Count the valves of both \
                 sides.",
                self.valves, self.valves_on_leak
            );
            return Err(Impossible { field: "valves", message });
        };
        let load = leak / f64::from(leaks);
        let drive = load / (load + self.inverter);
        let recovery: Time = self.coupling * (load + self.inverter);
        if !(drive.si() > 0.0 && recovery.si() > 0.0) {
            let message = "At one end of its tolerance the leak or the coupling capacitor is zero. Type a smaller tolerance.";
            return Err(Impossible { field: "leak", message: message.to_owned() });
        }
        Ok(Worked {
            leak,
            load,
            grid_circuit,
            bias_lost,
            current_rise: gm * bias_lost,
            drive,
            loss: -20.0 * libm::log10(drive.si()),
            recovery,
            corner: Frequency::of(1.0 / (TAU * recovery.si())),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn circuit(valves_on_leak: u32, valves: u32) -> Circuit {
        Circuit {
            bias_source: ElectricalResistance::of(12e3),
            valves_on_leak,
            valves,
            stopper: ElectricalResistance::of(1.5e3),
            grid_current: ElectricCurrent::of(1e-6),
            coupling: Capacitance::of(100e-9),
            inverter: ElectricalResistance::of(18e3),
        }
    }

    fn kilohms(resistance: ElectricalResistance) -> f64 {
        libm::round(resistance.si()) / 1e3
    }

    #[test]
    fn a_leak_counts_for_each_valve_on_it_and_the_bias_source_for_all() {
        let leak = ElectricalResistance::of(220e3);
        // By hand: 1.5 + n 220 + N 12.
        for (on_leak, all, expected) in
            [(1, 1, 233.5), (1, 2, 245.5), (1, 4, 269.5), (2, 4, 489.5), (4, 4, 929.5)]
        {
            assert_eq!(
                kilohms(circuit(on_leak, all).grid_circuit(leak)),
                expected,
                "{on_leak} on each leak, {all} in total"
            );
        }
    }

    #[test]
    fn the_limit_is_one_valves_and_divides_among_those_on_one_leak() {
        let limit = ElectricalResistance::of(100e3);
        // By hand: (100 − 1.5 − 4 · 12) / 1 and / 2.
        assert_eq!(kilohms(circuit(1, 4).largest_leak(limit)), 50.5);
        assert_eq!(kilohms(circuit(2, 4).largest_leak(limit)), 25.25);
        assert_eq!(kilohms(circuit(1, 8).largest_leak(ElectricalResistance::of(50e3))), 0.0);
    }

    #[test]
    fn the_inverter_sees_one_leak_however_many_valves_are_on_it() {
        let gm = ElectricalConductance::of(5e-3);
        let leak = ElectricalResistance::of(220e3);
        let [alone, shared] = [(1, 2), (2, 4)].map(|(on_leak, all)| circuit(on_leak, all).with(leak, gm));
        let (alone, shared) = (alone.unwrap(), shared.unwrap());
        assert_eq!(alone.recovery, shared.recovery);
        assert_eq!(alone.loss, shared.loss);
        assert!(shared.bias_lost.si() > 1.9 * alone.bias_lost.si());
    }
}
