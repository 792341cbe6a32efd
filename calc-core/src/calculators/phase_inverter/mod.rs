//! Phase inverter: whether it can still drive the output valves, and how well balanced its two sides are.
//!
//! ```text
//! long-tailed pair, T = R_k + R_t from the cathodes down, the second grid held:       (pair.rs)
//!   a = µ₁ / (r₁ + R₁')   G = (µ + 1) / (r + R')   k = a / (1/T + G₁ + G₂)     what the cathodes follow
//!   A₁ = R₁' (a − G₁ k)                  A₂ = R₂' G₂ k
//! split load, R_b for its bias above the cathode's load R_k:                          (split.rs)
//!   D = r + R_a' + (µ + 1) (R_b + R_k')  A₁ = µ R_a' / D                       A₂ = µ R_k' / D
//! both:
//!   R' = R in parallel with the load R_l
//!   R_o, both sides loaded equally: R in parallel with r of a pair, whose cathodes then stand still;
//!        (R + R_l) D / D_0 − R_l of a split load, D_0 as D without the loads: how far the gain falls with them
//!   R_s, one side loaded: R in parallel with what the valve is to a current into that side, no load on the other
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
mod tail;
#[cfg(test)]
mod tests;
mod words;

use found::{Ends, Found, Wanted};
use pair::Pair;
use split::Split;

use super::coupling::Coupling;
use super::questions::parts::resistor;
use super::questions::{bias, stage};
use crate::calculator::{Answer, Ask, Calculator, Impossible, Inverse, Margins, Report, Section, Sheet};
use crate::pot::parallel;
use crate::preferred;
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
    /// What the heaters are at, from the chassis.
    heater: ElectricPotential,
    wanted: Wanted,
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
        question: "Can it still drive the output valves, and are its two sides balanced?",
        edition: 2,
        headline: &["swing"],
        form: &[
            Section {
                name: "Inverter",
                fields: &[
                    "kind",
                    "valve",
                    "supply",
                    "anode-1",
                    "anode-2",
                    "cathode",
                    "tail",
                    "anode-load",
                    "cathode-load",
                    "grid",
                    "bias-resistor",
                    "grid-voltage",
                ],
                more: &[
                    "heater-voltage",
                    "model-share",
                    "gm-share",
                    "mu-share",
                    "valve-share",
                    "valve-gm",
                    "valve-mu",
                ],
            },
            Section { name: "What it drives", fields: &["load", "bias-voltage"], more: &[] },
        ],
        leaves_out: &[
            "A published valve model, fitted to data-sheet figures: it describes their average valve, new and warm. \
             Both sections are taken as identical.",
            "Grid current. It begins about a volt before a grid reaches its cathode, and the stage before has to \
             supply it.",
            "The second grid of a pair is taken as decoupled, and any feedback into the foot of the tail is left out.",
            "The supply node is taken as constant: at full drive it sags, and the swing with it.",
            "What the output valves’ grids draw once they conduct. Beyond that no inverter of this kind drives them.",
            "Capacitances: treble is not covered.",
        ],
        sources: &[&KOREN, &KOREN_SETS, &RADIOTRON, &PRACTICE],
    };
    const LEADS_TO: &'static [&'static Sheet] = &[Coupling::SHEET];
    const INVERSE: &'static [Inverse] = &[Inverse {
        id: "wanted.anode-2",
        question: "Which second anode resistor balances the two sides?",
        field: "anode-2",
        answer: "imbalance",
        example: "0 %",
        made_in: Some(preferred::Series::E24),
    }];
    type Found = Found;

    fn ask(a: &mut Ask) -> Self {
        let pair = a.choice(
            "kind",
            "Inverter",
            "",
            &[("pair", "long-tailed pair", true), ("split", "split load", false)],
        );
        let chosen = ask_triode(a, "12AT7");
        let supply = stage::supply(a, "Supply of the inverter, at its node", "360 V");
        let stage = if pair { Stage::Pair(Pair::ask(a)) } else { Stage::Split(Split::ask(a)) };
        let load = resistor(a, ["load", "R_l", "What each side drives: leak, or control"], "220k")
            .within("1k", "100M")
            .get();
        let bias = bias::reading(a, "Bias of the output valves, grid from cathode")
            .hint("Their grids are driven up to their cathodes, so the peak drive equals the bias.")
            .get();
        let heater = a
            .usual()
            .quantity("heater-voltage", "V_h", "Heaters, from chassis", "0 V")
            .hint("0 V if the centre tap of the heater winding is at chassis.")
            .within("-200 V", "200 V")
            .get();
        let wanted = if pair { found::wanted(a) } else { [true; 4] };
        Self { triode: Triode::ask_shares(a, chosen), supply, stage, load, bias, heater, wanted }
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
        // No number is what this run is not looked at for.
        if ends.swing.si() <= 1e-6 { Err(shut()) } else { Ok(-self.bias / ends.swing) }
    }
}

fn shut() -> Impossible {
    let message = "The valve draws no current: type a higher supply, or smaller cathode resistors.";
    Impossible { field: "supply", message: message.to_owned() }
}
