//! The words: summary, verdicts, working, and the reader's points beside the model.

use super::{Basis, IdlePoint, Point, Shares, Wanted};
use crate::calculator::{Expr, Limit, Margins, Report, Standing, Table, Verdict, named};
use crate::quantity::unit::{AMPERE, PER_CENT, VOLT};
use crate::quantity::{ElectricPotential, Quantity, Ratio, writing};
use crate::valve::fit::Row;
use crate::valve::model::Model;
use crate::valve::{Kind, Reach};

impl IdlePoint {
    pub(super) fn summary(&self, point: &Point, margins: &Margins) -> String {
        let (bias, current) = (margins.of("bias"), margins.of("anode-current"));
        let screen = match self.valve.kind {
            Kind::Triode => String::new(),
            _ => format!(", {} on the screen", writing::repeated(point.volts.screen, &VOLT)),
        };
        let at = format!("{} at {}{screen}", self.valve.name, writing::repeated(point.volts.anode, &VOLT));
        let span = |low: f64, high: f64, unit| {
            if low < high { format!(" ({})", writing::span(low, high, unit)) } else { String::new() }
        };
        match self.wanted {
            Wanted::Bias(target) => format!(
                "Published valve model, {at}: expect {} of anode current near {}{}.",
                writing::repeated(target.si(), &AMPERE),
                writing::nearest(bias.value, &VOLT),
                span(bias.low, bias.high, &VOLT)
            ),
            Wanted::Current(grid) => format!(
                "Published valve model, {at}: at {} expect near {} of anode current{}.",
                writing::repeated(grid.si(), &VOLT),
                writing::nearest(current.value, &AMPERE),
                span(current.low, current.high, &AMPERE)
            ),
        }
    }

    pub(super) fn judge(&self, point: &Point, margins: &Margins, report: &mut Report) {
        let reach = match (&self.basis, self.fitted) {
            (Basis::Measured(rows), _) => Some(Reach::of(rows)),
            (_, fitted) => fitted.map(|fitted| fitted.reach),
        };
        report.verdicts.extend(reach.map(|reach| reach.judged(point.volts, point.modelled.si())));
        let rating: Option<Limit> = self.valve.limits.anode_power.map(|figure| figure.limit());
        report.verdicts.push(Verdict::at_most(
            "Anode dissipation",
            &margins.of("anode-power"),
            rating,
            |standing| {
                let advice = match standing {
                    Standing::Within => "Within the rating, with all tolerances counted.",
                    Standing::Borderline => {
                        "A valve that draws more than average would exceed it: read the current."
                    }
                    Standing::Beyond => "More than the rating: choose less current.",
                    _ => "Look it up in the valve’s own data sheet.",
                };
                advice.to_owned()
            },
        ));
    }

    pub(super) fn working(&self, point: &Point, report: &mut Report) {
        let bias = match self.wanted {
            Wanted::Bias(_) => {
                "The bias at which the model’s current, times both shares, is the one wanted: its equations solved \
                 backwards."
            }
            Wanted::Current(_) => "As typed.",
        };
        report.state(bias, "V_g1", ElectricPotential::of(point.volts.grid));
        let says = "The model’s current at this bias, times both shares.";
        let measured = matches!(self.basis, Basis::Measured(_));
        // What is the valve's own, where it is not a measured one.
        let own = |symbol: &'static str, share: Ratio, formula: Expr| -> Expr {
            if measured { formula } else { named(symbol, share) * formula }
        };
        let Shares { model, screen, gm, valve, valve_at_current, .. } = self.shares;
        let formula = own("k_v", valve, named("k_m", model) * named("I_model", point.modelled));
        let anode = report.step(says, "I_a", formula, point.anode_current);
        let mut cathode = anode.clone();
        if point.screen_current.si() > 0.0 {
            let formula = named("k_s", screen) * named("I_g2,model", point.screen_modelled);
            let formula = own("k_w", valve_at_current, formula);
            let says = "The screen current, where the model’s anode draws this much.";
            let current = report.step(says, "I_g2", formula, point.screen_current);
            cathode = report.step(
                "The cathode carries both.",
                "I_k",
                anode.clone() + current,
                point.cathode_current,
            );
        }
        let formula = own("k_w", valve_at_current, named("k_g", gm) * named("g_model", point.gm_modelled));
        let gm = report.step("gm, at the same anode current.", "g_m", formula, point.gm);
        if let Some(ra) = point.ra {
            report.state("The change in current per volt at the anode, as a resistance.", "r_a", ra);
        }
        let formula = gm * (cathode / anode.clone());
        report.step("The screen follows the grid as the anode does.", "S_k", formula, point.per_volt);
        report.step("The anode’s dissipation.", "P_a", named("V_a", self.anode) * anode, point.power);
    }

    /// The reader's own points beside what the model fitted to them gives.
    pub(super) fn against_the_points(&self, model: &Model) -> Option<Table> {
        let Basis::Measured(rows) = &self.basis else { return None };
        let row = |row: &Row| {
            let off = row.deviations(model);
            let per_cent = |off: f64| writing::nearest(off, &PER_CENT);
            vec![
                writing::repeated(row.volts.grid, &VOLT),
                writing::nearest(row.anode, &AMPERE),
                per_cent(off.anode),
                off.screen.map_or("not read".to_owned(), per_cent),
            ]
        };
        Some(Table {
            title: "Your points, and how far the model is from them".to_owned(),
            head: ["Grid", "Anode current", "Model off by", "Screen off by"].map(str::to_owned).to_vec(),
            rows: rows.iter().map(row).collect(),
        })
    }
}
