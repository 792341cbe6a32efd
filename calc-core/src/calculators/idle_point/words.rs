//! The words: summary, verdicts, working, and the reader's points beside the model.

use super::{Basis, IdlePoint, Point, Wanted};
use crate::calculator::{Limit, Margins, Report, Standing, Table, Verdict, named};
use crate::quantity::unit::{AMPERE, PER_CENT, VOLT};
use crate::quantity::{Quantity, writing};
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
                "Published valve model, {at}: {} of anode current is to be expected near {}{}.",
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
                    Standing::Within => "Inside the sheet’s rating with the whole margin.",
                    Standing::Borderline => {
                        "A valve that draws more than the average would be over it: read the current."
                    }
                    Standing::Beyond => "More than the sheet allows: choose less current.",
                    Standing::NoPublishedLimit => "Look it up on the valve’s own sheet.",
                    Standing::CannotTell => "Part of the tolerance gives no answer.",
                };
                advice.to_owned()
            },
        ));
    }

    pub(super) fn working(&self, point: &Point, report: &mut Report) {
        let says = match self.wanted {
            Wanted::Bias(_) => {
                "The model’s current at the bias that was found by halving, times both shares."
            }
            Wanted::Current(_) => "The model’s current at this bias, times both shares.",
        };
        let mut formula = named("k_m", self.model_share) * named("I_model", point.modelled);
        if matches!(self.basis, Basis::Sheet) {
            formula = named("k_v", self.valve_share) * formula;
        }
        let anode = report.step(says, "I_a", formula, point.anode_current);
        let mut cathode = anode.clone();
        if point.screen_current.si() > 0.0 {
            let formula = anode.clone() + named("I_g2", point.screen_current);
            cathode = report.step("The cathode carries both.", "I_k", formula, point.cathode_current);
        }
        let formula = named("g_m", point.gm) * (cathode / anode.clone());
        report.step("The screen follows the grid as the anode does.", "S_k", formula, point.per_volt);
        report.step("The anode’s heat.", "P_a", named("V_a", self.anode) * anode, point.power);
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
            title: "Your points, and how far the model lies from them".to_owned(),
            head: ["Grid", "Anode current", "Model off by", "Screen off by"].map(str::to_owned).to_vec(),
            rows: rows.iter().map(row).collect(),
        })
    }
}
