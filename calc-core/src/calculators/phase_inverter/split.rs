//! The split load: one valve, a load at its anode and its like at its cathode.

use super::found::{End, Ends, Found, Side};
use super::{PhaseInverter, SHUT, parallel, shut};
use crate::calculator::{Ask, Impossible, Report, named, named_in, number};
use crate::calculators::questions::parts::resistor;
use crate::numeric::root::root;
use crate::quantity::unit::ONE;
use crate::quantity::{ElectricCurrent, ElectricPotential, ElectricalResistance, Power, Quantity, Ratio};
use crate::valve::{Line, Slopes};

/// Its own resistors, and how it is biased.
pub(super) struct Split {
    anode: ElectricalResistance,
    cathode: ElectricalResistance,
    bias: Bias,
}

enum Bias {
    /// A resistor between the cathode and its load, the grid leak going to the load.
    Own(ElectricalResistance),
    /// The grid on the anode before it, at this voltage from the chassis.
    Direct(ElectricPotential),
}

impl Split {
    pub(super) fn ask(a: &mut Ask) -> Self {
        let mut ohms = |label| resistor(a, label, "56k").within("100R", "10M").get();
        let anode = ohms(["anode-load", "R_a", "Load at the anode"]);
        let cathode = ohms(["cathode-load", "R_k", "Load at the cathode"]);
        let own = a.choice(
            "grid",
            "Its grid",
            "",
            &[
                ("own", "biased by its own resistor", true),
                ("direct", "on the anode of the stage before", false),
            ],
        );
        let bias = if own {
            let biased = resistor(a, ["bias-resistor", "R_b", "Bias resistor, cathode to load"], "1k5");
            Bias::Own(biased.within("10R", "1M").get())
        } else {
            let grid = a.quantity("grid-voltage", "V_g", "Grid, from chassis", "90 V");
            Bias::Direct(grid.within("0 V", "500 V").tolerance("2 %").get())
        };
        Self { anode, cathode, bias }
    }

    fn bias_resistor(&self) -> ElectricalResistance {
        match self.bias {
            Bias::Own(resistor) => resistor,
            Bias::Direct(_) => ElectricalResistance::of(0.0),
        }
    }

    pub(super) fn work(&self, whole: &PhaseInverter) -> Result<Found, Impossible> {
        let (triode, supply) = (whole.triode, whole.supply.si());
        let (r_a, r_k, r_b) = (self.anode.si(), self.cathode.si(), self.bias_resistor().si());
        let all = r_a + r_k + r_b;
        let (grid, grid_falls) = match self.bias {
            Bias::Own(_) => (0.0, r_b),
            Bias::Direct(grid) => (grid.si(), r_k),
        };
        let current = triode.on_line(Line { anode: supply, anode_falls: all, grid, grid_falls }, 0.0).current;
        let bias = grid - current * grid_falls;
        if bias >= 0.0 {
            let message = "The grid would be above its cathode and conduct: its voltage is too high for this supply \
                           and these loads. Measure it again, or the loads.";
            return Err(Impossible { field: "grid-voltage", message: message.to_owned() });
        }
        let across = supply - current * all;
        let slopes = triode.slopes(across, bias).ok_or_else(shut)?;
        let loads = [self.anode, self.cathode].map(|own| parallel(own, whole.load));
        let gains = self.gains(slopes, loads);
        let currents = ElectricCurrent::of(current);
        let (mu, ra) = (slopes.mu.si(), slopes.ra.si());
        // The other side has its own resistor and no load.
        let into_anode = ra + (mu + 1.0) * (r_b + r_k);
        let into_cathode = r_b + (ra + r_a) / (mu + 1.0);
        let side = |at: usize, voltage: f64, own, inside: f64| Side {
            current: currents,
            voltage: ElectricPotential::of(voltage),
            slopes,
            load: loads[at],
            gain: gains[at],
            output: self.output(slopes, loads, whole.load, own),
            alone: parallel(own, ElectricalResistance::of(inside)),
        };
        // Both loads and what biases it lie in one line, which signals see.
        let line = loads[0].si() + loads[1].si() + r_b;
        let at_cathode =
            Line { anode: across + current * line, anode_falls: line, grid: 0.0, grid_falls: 0.0 };
        let rise = triode.on_line(at_cathode, current).current - current;
        let drive = move |change: f64| -> Option<f64> {
            let grid = triode.grid_for(across - change * line, current + change)?;
            Some(grid - bias + change * (loads[1].si() + r_b))
        };
        let out = move |change: f64| [-change * loads[0].si(), change * loads[1].si()];
        // Up the grid comes to its cathode, down the valve shuts; the nearer end's drive is the drive of both ways.
        let (most, least) = (rise, -current * (1.0 - SHUT));
        let (up, down) = (drive(most).ok_or_else(shut)?, drive(least).ok_or_else(shut)?);
        let to = |wanted: f64, end: f64, last: f64| {
            let off = |change: f64| drive(change).map_or(f64::NAN, |drive| drive - wanted);
            let within = |last: f64| root(last.min(0.0), last.max(0.0), off);
            within(end).or_else(|_| within(last)).unwrap_or(end)
        };
        // Each end with where the stage is at the same drive the other way: upwards, then downwards. As good as shut is
        // shut, and as good as no voltage left is none.
        let all = [(1.0 - 1e-6) * across / line, -(1.0 - 1e-6) * current];
        let [most, least] = [[most, to(-up, least, all[1])], [to(-down, most, all[0]), least]];
        let end = |drive: f64, ways: [f64; 2]| End {
            drive,
            moved: ways.map(out),
            cathodes: ways.map(|change| change * (loads[1].si() + r_b)),
        };
        let ends = Ends::of([end(up, most), end(-down, least)]);
        let [most, least] = if up > -down { least } else { most };
        let course = move || {
            let steps = (-40..=40).map(|step| {
                let part = f64::from(step) / 32.0;
                part.abs() * if step < 0 { least } else { most }
            });
            let point = |change: f64| drive(change).map(|drive| [drive, out(change)[0], out(change)[1]]);
            steps.filter_map(point).collect()
        };
        let cathode = current * (r_k + r_b);
        let heater = cathode - whole.heater.si();
        Ok(Found {
            pair: false,
            sides: [
                side(0, supply - current * r_a, self.anode, into_anode),
                side(1, current * r_k, self.cathode, into_cathode),
            ],
            cathode: ElectricPotential::of(cathode),
            grid: ElectricPotential::of(cathode + bias),
            across: ElectricPotential::of(across),
            power: Power::of(across * current),
            cold: whole.supply,
            need: -whole.bias,
            share: whole.share(&ends)?,
            imbalance: Ratio::of(gains[1] / gains[0] - 1.0),
            heater: ElectricPotential::of(heater.abs()),
            heater_peak: ends.heater_peak(heater),
            ends,
            course: Box::new(course),
        })
    }

    fn gains(&self, slopes: Slopes, loads: [ElectricalResistance; 2]) -> [f64; 2] {
        let round = self.round(slopes, loads);
        loads.map(|load| slopes.mu.si() * (load / round).si())
    }

    /// Round the valve, what divides µ in a gain: with these loads at anode and cathode.
    fn round(&self, slopes: Slopes, loads: [ElectricalResistance; 2]) -> ElectricalResistance {
        let held = self.bias_resistor() + loads[1];
        slopes.ra + loads[0] + held * (slopes.mu.si() + 1.0)
    }

    /// What a side is for a load on both: how far its gain falls with it. One valve feeds both, and each load moves the other
    /// side; where the two resistors differ, this can be below zero.
    fn output(
        &self,
        slopes: Slopes,
        loads: [ElectricalResistance; 2],
        load: ElectricalResistance,
        own: ElectricalResistance,
    ) -> ElectricalResistance {
        let open = self.round(slopes, [self.anode, self.cathode]);
        (own + load) * (self.round(slopes, loads) / open) - load
    }

    pub(super) fn working(&self, whole: &PhaseInverter, found: &Found, report: &mut Report) {
        let [one, other] = found.sides;
        let says = "The model’s current where curve and load line meet, times both shares.";
        let current = report.step(says, "I_a", whole.triode.formula(one.current), one.current);
        let formula = named("V_b", whole.supply) - current.clone() * named("R_a", self.anode);
        report.step("The anode.", "V_1", formula, one.voltage);
        let lower = report.step(
            "The cathode’s load.",
            "V_2",
            current.clone() * named("R_k", self.cathode),
            other.voltage,
        );
        match self.bias {
            Bias::Own(resistor) => {
                let formula = lower.clone() + current * named("R_b", resistor);
                report.step("The cathode is above it by the bias.", "V_k", formula, found.cathode);
                report.step("The grid is at the foot of the bias resistor.", "V_g", lower, found.grid);
            }
            Bias::Direct(_) => {
                report.step("The cathode is at the top of its load.", "V_k", lower, found.cathode);
                report.state("As typed.", "V_g", found.grid);
            }
        }
        let [load_1, load_2] = whole.beside(
            report,
            [("R_a'", "R_a", self.anode, one.load), ("R_k'", "R_k", self.cathode, other.load)],
        );
        let held = match self.bias {
            Bias::Own(resistor) => named("R_b", resistor) + load_2.clone(),
            Bias::Direct(_) => load_2.clone(),
        };
        let mu = || named_in("µ", one.slopes.mu.si(), &ONE);
        let round = named("r_a", one.slopes.ra) + load_1.clone() + (mu() + number(1.0)) * held;
        let loaded = self.round(one.slopes, [one.load, other.load]);
        let says = "Around the valve with the loads: what the drive works against.";
        let round = report.step(says, "D_l", round, loaded);
        let says = "The cathode follows the grid, and the anode’s current is the cathode’s.";
        let gain_1 = report.step_in(says, "A_1", mu() * load_1 / round.clone(), one.gain, &ONE);
        let gain_2 =
            report.step_in("At the cathode.", "A_2", mu() * load_2 / round.clone(), other.gain, &ONE);
        let mut open = named("R_k", self.cathode);
        if let Bias::Own(resistor) = self.bias {
            open = named("R_b", resistor) + open;
        }
        let open = named("r_a", one.slopes.ra) + named("R_a", self.anode) + (mu() + number(1.0)) * open;
        let with_none = self.round(one.slopes, [self.anode, self.cathode]);
        let open = report.step("The same around the valve with no loads.", "D", open, with_none);
        for (symbol, name, own, side) in
            [("R_o1", "R_a", self.anode, one), ("R_o2", "R_k", self.cathode, other)]
        {
            let load = || named("R_l", whole.load);
            let formula = (named(name, own) + load()) * (round.clone() / open.clone()) - load();
            let says = "How far the side falls with the load on both: one valve feeds both, and each moves the other.";
            report.step(says, symbol, formula, side.output);
        }
        let says = "The other, relative to the first.";
        report.step(says, "A_2 / A_1 − 1", gain_2 / gain_1 - number(1.0), found.imbalance);
        let below = || match self.bias {
            Bias::Own(resistor) => named("R_b", resistor) + named("R_k", self.cathode),
            Bias::Direct(_) => named("R_k", self.cathode),
        };
        let (r_a, anode) = (|| named("r_a", one.slopes.ra), || named("R_a", self.anode));
        let inside = r_a() + (mu() + number(1.0)) * below();
        let says = "The anode loaded alone: the valve, and what is below it as the valve magnifies it.";
        report.step(says, "R_s1", anode() * inside.clone() / (anode() + inside), one.alone);
        let mut inside = (r_a() + anode()) / (mu() + number(1.0));
        if let Bias::Own(resistor) = self.bias {
            inside = named("R_b", resistor) + inside;
        }
        let own = || named("R_k", self.cathode);
        let says = "The cathode loaded alone: the valve as seen from below.";
        report.step(says, "R_s2", own() * inside.clone() / (own() + inside), other.alone);
    }
}
