//! The working of what the circuit does to a signal and of what the control has to take. What the ladder of the circuit was
//! solved for is stated, with the condition that it satisfies.

use super::circuit::Topology;
use super::parts::Used;
use super::{Found, MasterVolume};
use crate::calculator::{Report, named, named_in, number};
use crate::quantity::unit::{DECIBEL, DECIBEL_PER_DEGREE, HERTZ, OHM};
use crate::quantity::{ElectricCurrent, ElectricPotential, ElectricalResistance, Power, Quantity};

impl MasterVolume {
    pub(super) fn signal_working(&self, found: &Found, report: &mut Report) {
        let level = |report: &mut Report, says, symbol, value| report.state_in(says, symbol, value, &DECIBEL);
        let says = "20 lg of V_g / V_i at 1\u{a0}kHz: the ladder from the inverter to the grids, worked out from its far end.";
        let here = level(report, says, "H", found.here);
        let full = level(report, "The same with the knob at 10.", "H_10", found.full_up);
        let before = level(report, "And with the leaks alone, as it was before.", "H_0", found.before);
        let below = found.here - found.full_up;
        report.step_in("Below full up.", "L", here.clone() - full.clone(), below, &DECIBEL);
        let change = found.full_up - found.before;
        report.step_in("Full up, compared with before.", "ΔH", full - before, change, &DECIBEL);
        for (says, symbol, corner) in [
            (
                "Below 1\u{a0}kHz, where half of the power is left: |H(f)|² is half of |H(1\u{a0}kHz)|².",
                "f_1",
                found.bass,
            ),
            ("The same above it.", "f_2", found.treble),
        ] {
            report.state_in(says, symbol, corner, &HERTZ);
        }
        for (says, symbol, load) in [
            ("What each side of the inverter sees of the ladder at 1\u{a0}kHz.", "Z_i", found.load),
            ("The lowest of it at the marks from 0 to 10.", "Z_i,min", found.load_least),
        ] {
            report.state_in(says, symbol, load, &OHM);
        }
        let says = "With the knob at 0: what the end of the track and the inverter’s imbalance leave at a grid, of full up.";
        level(report, says, "L_0", found.residual);
        if let Some(balance) = found.balance {
            let other = named_in("H_2", found.here - balance, &DECIBEL);
            let says = "The difference from the side whose wiper has that much less of the track; at a stop both have the \
                 same.";
            report.step_in(says, "ΔH_2", here.clone() - other, balance, &DECIBEL);
        }
        if let Some(up) = found.feel.0 {
            let formula = named_in("H_up", found.here + up, &DECIBEL) - here.clone();
            report.step_in("One degree further up.", "s_up", formula, up, &DECIBEL_PER_DEGREE);
        }
        if let Some(down) = found.feel.1 {
            let formula = here - named_in("H_down", found.here - down, &DECIBEL);
            report.step_in("One degree further down.", "s_down", formula, down, &DECIBEL_PER_DEGREE);
        }
        self.element_working(found, report);
    }

    /// What the track has to take.
    fn element_working(&self, found: &Found, report: &mut Report) {
        let sides = if self.topology == Topology::Bridge { 2.0 } else { 1.0 };
        let swing = named("V_s", self.swing);
        let along = ElectricPotential::of(found.along);
        let says = "Along a section of the track, full up.";
        let along = report.step(says, "V_x", number(sides) * swing, along);
        let track = named("R_P", ElectricalResistance::of(found.circuit.track));
        let says = "The heat of an overdriven inverter’s square wave in all of it.";
        report.step(says, "P_x", along.squared() / track, Power::of(found.heat));
        let Some(Used { heat, current }) = found.used else { return };
        let says = "In a rheostat only a part r is used: (E / (R + r))² r at the setting where that is most.";
        report.state(says, "P_u", Power::of(heat));
        let says = "Its current, E / (R + r), where r is least.";
        report.state(says, "I_u", ElectricCurrent::of(current));
    }
}
