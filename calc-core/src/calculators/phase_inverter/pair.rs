//! The long-tailed pair: two valves on one tail, the second driven by the cathodes.

use super::found::{Ends, Found, Side};
use super::{PhaseInverter, SHUT, parallel, shut};
use crate::calculator::{Ask, Expr, Impossible, Report, named, named_in, number};
use crate::quantity::unit::{AMPERE, ONE, SIEMENS};
use crate::quantity::{
    ElectricCurrent, ElectricPotential, ElectricalResistance, Power, Quantity, Ratio, writing,
};
use crate::root::root;
use crate::valve::{Slopes, Triode};

/// Its own resistors.
pub(super) struct Pair {
    anodes: [ElectricalResistance; 2],
    cathode: ElectricalResistance,
    tail: ElectricalResistance,
}

/// Its valves round their point of rest, for signals of any size. Everything in V, A and Ω.
struct Driven {
    triode: Triode,
    /// From the cathodes to the chassis.
    below: f64,
    /// Where both grids rest.
    grid: f64,
    rest: [f64; 2],
    loads: [f64; 2],
    /// What the line that signals see starts from, with no current.
    feeds: [f64; 2],
}

/// The pair under drive.
struct Moved {
    currents: [f64; 2],
    /// Each grid from the cathodes; the driven one's is not known where no grid brings the current.
    grids: [Option<f64>; 2],
    cathode: f64,
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
                    "82k",
                    "Of the valve whose grid is driven.",
                ),
                ohms("anode-2", "R_2", "Anode resistor, other side", "100k", ""),
            ],
            cathode: ohms("cathode", "R_k", "Cathode resistor, from the cathodes to the tail", "470R", ""),
            tail: ohms("tail", "R_t", "Tail, with all that stands below it", "10k", ""),
        }
    }

    fn below(&self) -> f64 {
        (self.cathode + self.tail).si()
    }

    pub(super) fn work(&self, whole: &PhaseInverter) -> Result<Found, Impossible> {
        let (triode, supply, below) = (&whole.triode, whole.supply.si(), self.below());
        let alone = |side: usize, sum: f64| {
            let anode = self.anodes.get(side).map_or(0.0, |resistor| resistor.si());
            triode.on_load(supply - sum * below, anode, -sum * self.cathode.si())
        };
        // The more the tail carries, the less each valve draws: there always is a point between.
        let sum = root(0.0, supply / below, |sum| alone(0, sum) + alone(1, sum) - sum).map_err(|_| shut())?;
        let rest = [alone(0, sum), alone(1, sum)];
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
            triode: *triode,
            below,
            grid,
            rest,
            loads: loads.map(|load| load.si()),
            feeds: [0, 1].map(|side| anode(side) + rest[side] * loads[side].si()),
        };
        let (ends, tails) = driven.ends().ok_or_else(shut)?;
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
            ends,
            share: whole.share(&ends)?,
            imbalance: Ratio::of(gains[1] / gains[0] - 1.0),
            heater: ElectricPotential::of(heater.abs()),
            heater_peak: ends.heater_peak(heater),
            course: Box::new(move || driven.course(tails)),
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
        let says =
            "The model’s current where both valves and the tail agree, found by halving, times both shares.";
        let first = report.step(says, "I_1", whole.triode.formula(one.current), one.current);
        let second = report.step(
            "The same on the other side.",
            "I_2",
            whole.triode.formula(other.current),
            other.current,
        );
        let below = || named("R_k", self.cathode) + named("R_t", self.tail);
        let formula = (first.clone() + second.clone()) * below();
        report.step("Both flow in the tail.", "V_k", formula, found.cathode);
        let formula = (first.clone() + second.clone()) * named("R_t", self.tail);
        report.step("The grids hang on the foot of the cathode resistor.", "V_g", formula, found.grid);
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
        let says = "What a volt at the driven grid makes flow, were the cathodes held.";
        let a = siemens(report, says, "a", mu_1() / round_1(), drives);
        let says = "What each valve takes back for a volt at the cathodes.";
        let g_1 = siemens(report, says, "G_1", (mu_1() + number(1.0)) / round_1(), holds[0]);
        let formula =
            (mu("µ_2", other.slopes) + number(1.0)) / (named("r_2", other.slopes.ra) + load_2.clone());
        let g_2 = siemens(report, "The other valve.", "G_2", formula, holds[1]);
        let formula = a.clone() / (number(1.0) / below() + g_1.clone() + g_2.clone());
        let says = "So far the cathodes follow.";
        let k = report.step_in(says, "k", formula, follows, &ONE);
        let formula = load_1 * (a - g_1 * k.clone());
        let gain_1 = report.step_in("The driven side.", "A_1", formula, one.gain, &ONE);
        let says = "The other side has only what the cathodes give it.";
        let gain_2 = report.step_in(says, "A_2", load_2 * (g_2 * k), other.gain, &ONE);
        let says = "How far the other is from the first.";
        report.step(says, "A_2 / A_1 − 1", gain_2 / gain_1 - number(1.0), found.imbalance);
        for (symbol, [own, within], resistor, side) in
            [("R_o1", ["R_1", "r_1"], self.anodes[0], one), ("R_o2", ["R_2", "r_2"], self.anodes[1], other)]
        {
            let (own, within) = (|| named(own, resistor), || named(within, side.slopes.ra));
            let says =
                "With both sides loaded alike the cathodes stand still: resistor and valve side by side.";
            report.step(says, symbol, own() * within() / (own() + within()), side.output);
        }
        let [up, _] = found.ends.moved;
        let at = [one.current.si() - up[0] / one.load.si(), other.current.si() - up[1] / other.load.si()];
        report.notes.push(format!(
            "At the end of the drive upwards the driven valve carries {}, the other {}.",
            writing::nearest(at[0], &AMPERE),
            writing::nearest(at[1].max(0.0), &AMPERE)
        ));
    }
}

impl Driven {
    /// What the pair does while its tail carries a current.
    fn at(&self, sum: f64) -> Moved {
        let cathode = sum * self.below;
        let held = self.grid - cathode;
        let second = self.triode.on_load(self.feeds[1] - cathode, self.loads[1], held);
        let first = sum - second;
        let across = self.feeds[0] - first * self.loads[0] - cathode;
        Moved { currents: [first, second], grids: [self.triode.grid_for(across, first), Some(held)], cathode }
    }

    /// The drive that brings the tail to this current; `None` where none does.
    fn drive(&self, moved: &Moved) -> Option<f64> {
        Some(moved.grids[0]? + moved.cathode - self.grid)
    }

    /// How far each anode has moved.
    fn outputs(&self, moved: &Moved) -> [f64; 2] {
        [0, 1].map(|side| (self.rest[side] - moved.currents[side]) * self.loads[side])
    }

    /// How near the pair is to its end on one way: below zero before it. `driven` is the side whose grid goes up.
    fn over(&self, sum: f64, driven: usize) -> f64 {
        let moved = self.at(sum);
        let other = 1 - driven;
        // Where no grid brings the current, the anode has no voltage left: far beyond the end.
        moved.grids[driven].unwrap_or(1.0).max(SHUT - moved.currents[other] / self.rest[other])
    }

    fn idle(&self) -> f64 {
        self.rest[0] + self.rest[1]
    }

    /// The ends of the swing, and what the tail carries at the lower and the upper one.
    fn ends(&self) -> Option<(Ends, [f64; 2])> {
        let idle = self.idle();
        // At its upper end the tail takes the whole supply and both valves are shut, at its lower the second grid stands
        // above its cathode.
        let most = root(idle, self.feeds[0].max(self.feeds[1]) / self.below, |sum| self.over(sum, 0)).ok()?;
        let least = root(0.0, idle, |sum| self.over(sum, 1)).ok()?;
        let (up, down) = (self.drive(&self.at(most))?, self.drive(&self.at(least))?);
        let drive = up.min(-down);
        // On the way that could go further, the tail at the drive at which the other ends.
        let to = |wanted: f64, ends: f64| {
            let off = |sum: f64| self.drive(&self.at(sum)).map_or(f64::NAN, |drive| drive - wanted);
            root(idle.min(ends), idle.max(ends), off).unwrap_or(ends)
        };
        let (most, least) = if up > drive { (to(drive, most), least) } else { (most, to(-drive, least)) };
        let [upper, lower] = [most, least].map(|sum| self.at(sum));
        let moved = [self.outputs(&upper), self.outputs(&lower)];
        let ends = Ends {
            drive: ElectricPotential::of(drive),
            swing: ElectricPotential::of(Ends::smallest(moved)),
            cathodes: [upper, lower].map(|moved| moved.cathode - idle * self.below),
            moved,
        };
        Some((ends, [least, most]))
    }

    /// The way from beyond one end to beyond the other.
    fn course(&self, [least, most]: [f64; 2]) -> Vec<[f64; 3]> {
        let idle = self.idle();
        let point = |step: i32| {
            let part = f64::from(step) / 32.0;
            let sum = idle + part.abs() * if step < 0 { least - idle } else { most - idle };
            let moved = self.at(sum.max(0.0));
            let [one, other] = self.outputs(&moved);
            Some([self.drive(&moved)?, one, other])
        };
        (-48..=48).filter_map(point).collect()
    }
}
