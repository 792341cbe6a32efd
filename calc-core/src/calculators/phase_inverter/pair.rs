//! The long-tailed pair: two valves on one tail, the second driven by the cathodes.

use super::found::{Found, Side};
use super::tail::{Driven, Hung, Tail};
use super::{PhaseInverter, parallel, shut};
use crate::calculator::{Ask, Expr, Impossible, Report, named, named_in, number};
use crate::quantity::unit::{AMPERE, ONE, SIEMENS};
use crate::quantity::{
    ElectricCurrent, ElectricPotential, ElectricalResistance, Power, Quantity, Ratio, writing,
};
use crate::valve::Slopes;

/// The resistors of a long-tailed pair.
pub(super) struct Pair {
    anodes: [ElectricalResistance; 2],
    cathode: ElectricalResistance,
    tail: ElectricalResistance,
}

impl Pair {
    pub(super) fn ask(a: &mut Ask) -> Self {
        let mut ohms = |id, symbol, name, default, hint| -> ElectricalResistance {
            let asked = a.quantity(id, symbol, name, default).hint(hint);
            asked.within("10R", "10M").tolerance("5 %").get()
        };
        Self {
            anodes: [
                ohms(
                    "anode-1",
                    "R_1",
                    "Anode resistor, driven side",
                    "91k",
                    "Of the valve whose grid is driven.",
                ),
                ohms("anode-2", "R_2", "Anode resistor, other side", "110k", ""),
            ],
            cathode: ohms("cathode", "R_k", "Cathode resistor, from the cathodes to the tail", "510R", ""),
            tail: ohms("tail", "R_t", "Tail, with everything below it", "11k", ""),
        }
    }

    fn below(&self) -> f64 {
        (self.cathode + self.tail).si()
    }

    pub(super) fn work(&self, whole: &PhaseInverter) -> Result<Found, Impossible> {
        let (triode, supply, below) = (&whole.triode, whole.supply.si(), self.below());
        let tail = Tail { triode: *triode, below };
        // The grids are returned to the foot of the cathode resistor.
        let own = |anode: ElectricalResistance| Hung {
            feed: supply,
            load: anode.si(),
            grid: 0.0,
            grid_falls: self.cathode.si(),
        };
        let rest = tail.both(self.anodes.map(own), [0.0; 2]).ok_or_else(shut)?;
        let sum = rest[0] + rest[1];
        let (cathode, grid) = (sum * below, sum * self.tail.si());
        let anode = |side: usize| supply - rest[side] * self.anodes[side].si();
        let across = |side: usize| anode(side) - cathode;
        let slopes = |side: usize| triode.slopes(across(side), grid - cathode).ok_or_else(shut);
        let slopes = [slopes(0)?, slopes(1)?];
        let loads = self.anodes.map(|own| parallel(own, whole.load));
        let gains = self.gains(slopes, loads);
        let side = |side: usize| Side {
            current: ElectricCurrent::of(rest[side]),
            voltage: ElectricPotential::of(anode(side)),
            slopes: slopes[side],
            load: loads[side],
            gain: gains[side],
            output: parallel(self.anodes[side], slopes[side].ra),
            alone: parallel(self.anodes[side], self.inside(slopes, side)),
        };
        let driven = Driven {
            tail,
            grid,
            rest,
            loads: loads.map(|load| load.si()),
            feeds: [0, 1].map(|side| anode(side) + rest[side] * loads[side].si()),
        };
        let ends = driven.ends(whole.wanted).ok_or_else(shut)?;
        let drive = ends.drive.si();
        let heater = cathode - whole.heater.si();
        let heat = |side: usize| across(side) * rest[side];
        Ok(Found {
            pair: true,
            sides: [side(0), side(1)],
            cathode: ElectricPotential::of(cathode),
            grid: ElectricPotential::of(grid),
            across: ElectricPotential::of(across(0).max(across(1))),
            power: Power::of(heat(0).max(heat(1))),
            cold: whole.supply,
            need: -whole.bias,
            share: whole.share(&ends)?,
            imbalance: Ratio::of(gains[1] / gains[0] - 1.0),
            heater: ElectricPotential::of(heater.abs()),
            heater_peak: ends.heater_peak(heater),
            ends,
            course: Box::new(move || driven.course(drive)),
        })
    }

    /// What the cathodes do for a volt at the driven grid: the slope that drives them, the other two, and their move.
    fn followed(&self, slopes: [Slopes; 2], loads: [ElectricalResistance; 2]) -> (f64, [f64; 2], f64) {
        let [round_1, round_2] = [0, 1].map(|side| (slopes[side].ra + loads[side]).si());
        let drives = slopes[0].mu.si() / round_1;
        let holds = [(slopes[0].mu.si() + 1.0) / round_1, (slopes[1].mu.si() + 1.0) / round_2];
        (drives, holds, drives / (1.0 / self.below() + holds[0] + holds[1]))
    }

    fn gains(&self, slopes: [Slopes; 2], loads: [ElectricalResistance; 2]) -> [f64; 2] {
        let (drives, holds, follows) = self.followed(slopes, loads);
        [loads[0].si() * (drives - holds[0] * follows), loads[1].si() * (holds[1] * follows)]
    }

    /// What a side's valve is to a current into its anode, with no load on the other: itself, and the cathodes' resistance
    /// as it magnifies it.
    fn inside(&self, slopes: [Slopes; 2], side: usize) -> ElectricalResistance {
        let other = 1 - side;
        let (_, holds, _) = self.followed(slopes, self.anodes);
        let cathodes = 1.0 / (1.0 / self.below() + holds[other]);
        slopes[side].ra + ElectricalResistance::of((slopes[side].mu.si() + 1.0) * cathodes)
    }

    pub(super) fn working(&self, whole: &PhaseInverter, found: &Found, report: &mut Report) {
        let [one, other] = found.sides;
        let says = "The model’s current where both valves and the tail agree, times both shares.";
        let first = report.step(says, "I_1", whole.triode.formula(one.current), one.current);
        let second = report.step(
            "The same on the other side.",
            "I_2",
            whole.triode.formula(other.current),
            other.current,
        );
        let below = || named("R_k", self.cathode) + named("R_t", self.tail);
        let formula = (first.clone() + second.clone()) * below();
        report.step("Both currents flow in the tail.", "V_k", formula, found.cathode);
        let formula = (first.clone() + second.clone()) * named("R_t", self.tail);
        report.step(
            "The grids are returned to the foot of the cathode resistor.",
            "V_g",
            formula,
            found.grid,
        );
        for (says, symbol, current, resistor, at) in [
            ("The driven side’s anode.", "V_1", first, named("R_1", self.anodes[0]), one.voltage),
            ("The other’s.", "V_2", second, named("R_2", self.anodes[1]), other.voltage),
        ] {
            report.step(says, symbol, named("V_b", whole.supply) - current * resistor, at);
        }
        let [load_1, load_2] = whole.beside(
            report,
            [("R_1'", "R_1", self.anodes[0], one.load), ("R_2'", "R_2", self.anodes[1], other.load)],
        );
        let (drives, holds, follows) = self.followed([one.slopes, other.slopes], [one.load, other.load]);
        let mu = |symbol, slopes: Slopes| named_in(symbol, slopes.mu.si(), &ONE);
        let mu_1 = || mu("µ_1", one.slopes);
        let round_1 = || named("r_1", one.slopes.ra) + load_1.clone();
        let siemens = |report: &mut Report, says, symbol, formula: Expr, value| {
            report.step_in(says, symbol, formula, value, &SIEMENS)
        };
        let says = "The current per volt at the driven grid, if the cathodes did not move.";
        let a = siemens(report, says, "a", mu_1() / round_1(), drives);
        let says = "The current that each valve loses per volt at the cathodes.";
        let g_1 = siemens(report, says, "G_1", (mu_1() + number(1.0)) / round_1(), holds[0]);
        let formula =
            (mu("µ_2", other.slopes) + number(1.0)) / (named("r_2", other.slopes.ra) + load_2.clone());
        let g_2 = siemens(report, "The other valve.", "G_2", formula, holds[1]);
        let formula = a.clone() / (number(1.0) / below() + g_1.clone() + g_2.clone());
        let says = "How far the cathodes follow.";
        let k = report.step_in(says, "k", formula, follows, &ONE);
        let formula = load_1 * (a - g_1 * k.clone());
        let gain_1 = report.step_in("The driven side.", "A_1", formula, one.gain, &ONE);
        let says = "The other side is driven by the cathodes alone.";
        let gain_2 = report.step_in(says, "A_2", load_2 * (g_2 * k), other.gain, &ONE);
        let says = "The other, relative to the first.";
        report.step(says, "A_2 / A_1 − 1", gain_2 / gain_1 - number(1.0), found.imbalance);
        for (symbol, [own, within], resistor, side) in
            [("R_o1", ["R_1", "r_1"], self.anodes[0], one), ("R_o2", ["R_2", "r_2"], self.anodes[1], other)]
        {
            let (own, within) = (|| named(own, resistor), || named(within, side.slopes.ra));
            let says =
                "With both sides loaded equally the cathodes do not move: resistor and valve in parallel.";
            report.step(says, symbol, own() * within() / (own() + within()), side.output);
        }
        let slopes = [one.slopes, other.slopes];
        for (side, symbol, [own, within, factor]) in
            [(0, "R_s1", ["R_1", "r_1", "µ_1"]), (1, "R_s2", ["R_2", "r_2", "µ_2"])]
        {
            let (of, across) = (slopes[side], slopes[1 - side]);
            let [other, valve, times] =
                if side == 0 { ["R_2", "r_2", "µ_2"] } else { ["R_1", "r_1", "µ_1"] };
            let holds = (mu(times, across) + number(1.0))
                / (named(valve, across.ra) + named(other, self.anodes[1 - side]));
            let cathodes = number(1.0) / (number(1.0) / below() + holds);
            let inside = named(within, of.ra) + (mu(factor, of) + number(1.0)) * cathodes;
            let own = || named(own, self.anodes[side]);
            let says = "Loaded alone: the valve magnifies the resistance at its cathode.";
            let alone = if side == 0 { one.alone } else { found.sides[1].alone };
            report.step(says, symbol, own() * inside.clone() / (own() + inside), alone);
        }
        let [up, _] = found.ends.first.moved;
        let at = [one.current.si() - up[0] / one.load.si(), other.current.si() - up[1] / other.load.si()];
        report.notes.push(format!(
            "At the upper limit of the drive the driven valve carries {}, the other {}.",
            writing::nearest(at[0], &AMPERE),
            writing::nearest(at[1].max(0.0), &AMPERE)
        ));
    }
}
