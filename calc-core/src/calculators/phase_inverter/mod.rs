//! Phase inverter: whether it can still drive the output valves, and how alike its two sides are.
//!
//! ```text
//! long-tailed pair, T = R_k + R_t from the cathodes down, the second grid held:       (pair.rs)
//!   a = µ₁ / (r₁ + R₁')   G = (µ + 1) / (r + R')   k = a / (1/T + G₁ + G₂)     what the cathodes follow
//!   A₁ = R₁' (a − G₁ k)                  A₂ = R₂' G₂ k
//! split load, R_b for its bias above the cathode's load R_k:                          (split.rs)
//!   D = r + R_a' + (µ + 1) (R_b + R_k')  A₁ = µ R_a' / D                       A₂ = µ R_k' / D
//! both:
//!   R' = R in parallel with the load R_l
//!   R_o, both sides loaded alike: R in parallel with r of a pair, whose cathodes then stand still;
//!        X R / (X + (µ + 2) R) of a split load, X = r + (µ + 1) R_b
//!   swing: to where a grid reaches its cathode, or a valve is down to a tenth of its idle current; the smallest of the
//!          four ways at the drive that the nearer end allows
//!   need:  the output valves' bias, for their grids are to reach their cathodes
//! ```
//!
//! Units: V, A, Ω, S. Errors: a stage that draws no current; a grid tied above its cathode. Source: published valve model
//! as in valve/model.rs; the gains are those of textbooks, worked out for two sides that differ; a tenth of the idle
//! current as the end is a habit of this book.

mod found;
mod pair;
mod picture;
mod split;
#[cfg(test)]
mod tests;
mod words;

use found::{Ends, Found};
use pair::Pair;
use split::Split;

use super::coupling::Coupling;
use crate::calculator::{Answer, Ask, Calculator, Impossible, Margins, Report, Sheet};
use crate::quantity::{ElectricPotential, ElectricalResistance, Quantity, Ratio};
use crate::source::{KOREN, KOREN_SETS, PRACTICE, RADIOTRON};
use crate::valve::{Triode, ask_triode};

/// The inverter as it is built, and what it has to do.
pub struct PhaseInverter {
    triode: Triode,
    supply: ElectricPotential,
    stage: Stage,
    /// What each side drives.
    load: ElectricalResistance,
    /// Of the output valves.
    bias: ElectricPotential,
    /// What the heaters stand at, from the chassis.
    heater: ElectricPotential,
}

enum Stage {
    Pair(Pair),
    Split(Split),
}

/// Where a valve counts as shut, as a share of its idle current.
const SHUT: f64 = 0.1;

impl Calculator for PhaseInverter {
    const SHEET: &'static Sheet = &Sheet {
        id: "phase-inverter",
        title: "The phase inverter",
        question: "Can it still drive the output valves, and are its two sides alike?",
        edition: 1,
        leaves_out: &[
            "A published valve model, fitted to a sheet’s rows: it knows the average valve of that sheet, new and warm. Both \
             sections are taken to be alike.",
            "Grid current. It begins some volt before a grid reaches its cathode, and the stage before has to give it.",
            "The second grid of a pair is taken as held, and feedback into the tail’s foot as not there.",
            "The node is taken as held by its capacitor: at full drive it sinks, and the swing with it.",
            "What the output valves’ grids take once they conduct. From there on no inverter of this kind drives them.",
            "Capacitances: treble is another matter.",
        ],
        sources: &[&KOREN, &KOREN_SETS, &RADIOTRON, &PRACTICE],
    };
    const LEADS_TO: &'static [&'static Sheet] = &[Coupling::SHEET];
    type Found = Found;

    fn ask(a: &mut Ask) -> Self {
        let pair = a.choice(
            "kind",
            "Inverter",
            "",
            &[("pair", "long-tailed pair", true), ("split", "split load", false)],
        );
        let chosen = ask_triode(a, "12AT7");
        let supply = a
            .quantity("supply", "V_b", "Supply of the inverter, at its node", "360 V")
            .within("20 V", "800 V")
            .tolerance("2 %")
            .get();
        let stage = if pair { Stage::Pair(Pair::ask(a)) } else { Stage::Split(Split::ask(a)) };
        let load = a
            .quantity("load", "R_l", "What each side drives: leak, or control", "220k")
            .within("1k", "100M")
            .tolerance("5 %")
            .get();
        let bias = a
            .quantity("bias-voltage", "V_g1", "Bias of the output valves, grid from cathode", "-46 V")
            .hint("Their grids are driven to their cathodes: the drive, peak, is the bias.")
            .within("-200 V", "-0.5 V")
            .tolerance("1 %")
            .get();
        let heater = a
            .usual()
            .quantity("heater-voltage", "V_h", "Heaters, from chassis", "0 V")
            .hint("0 V where the heater winding’s middle is on chassis.")
            .within("-200 V", "200 V")
            .get();
        Self { triode: Triode::ask_shares(a, chosen), supply, stage, load, bias, heater }
    }

    fn work(&self) -> Result<Found, Impossible> {
        match &self.stage {
            Stage::Pair(pair) => pair.work(self),
            Stage::Split(split) => split.work(self),
        }
    }

    fn answers(found: &Found) -> Vec<Answer> {
        found.answers()
    }

    fn report(&self, found: &Found, margins: &Margins, report: &mut Report) {
        report.summary = self.summary(found);
        self.judge(found, margins, report);
        match &self.stage {
            Stage::Pair(pair) => pair.working(self, found, report),
            Stage::Split(split) => split.working(self, found, report),
        }
        self.finish(found, report);
        report.tables.push(self.sides(found).into());
        report.carries.push(self.carry(found));
        report.picture = Some(self.picture(found));
    }
}

impl PhaseInverter {
    /// What the output valves need, as a share of the swing.
    fn share(&self, ends: &Ends) -> Result<Ratio, Impossible> {
        if ends.swing.si() > 1e-6 { Ok(-self.bias / ends.swing) } else { Err(shut()) }
    }
}

fn shut() -> Impossible {
    let message = "The valve draws no current: more supply, or cathode resistors of less.";
    Impossible { field: "supply", message: message.to_owned() }
}

fn parallel(a: ElectricalResistance, b: ElectricalResistance) -> ElectricalResistance {
    a * (b / (a + b))
}
