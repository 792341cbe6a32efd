//! The words: summary, verdicts, working.

use super::{Found, GainStage};
use crate::calculator::{
    Calculator, Carry, Expr, Inputs, Limit, Margins, Report, Standing, Verdict, named, named_in, number,
};
use crate::calculators::coupling::Coupling;
use crate::quantity::unit::{AMPERE, FARAD, HERTZ, OHM, ONE, VOLT};
use crate::quantity::{Quantity, writing};
use crate::valve::model::Volts;

impl GainStage {
    pub(super) fn summary(&self, found: &Found) -> String {
        let least = found.up.si().min(found.down.si());
        format!(
            "{} at {}: {} with the anode at {}, by a published valve model. Gain {} ({:.1}\u{a0}dB), {} of output \
             resistance, {} of swing, peak, before the nearer end.",
            self.triode.valve.name,
            writing::repeated(self.supply.si(), &VOLT),
            writing::nearest(found.current.si(), &AMPERE),
            writing::nearest(found.anode.si(), &VOLT),
            writing::nearest(found.gain, &ONE),
            20.0 * libm::log10(found.gain),
            writing::nearest(found.output.si(), &OHM),
            writing::nearest(least, &VOLT),
        )
    }

    pub(super) fn judge(&self, found: &Found, margins: &Margins, report: &mut Report) {
        let volts = Volts { anode: found.across.si(), screen: 0.0, grid: -found.cathode.si() };
        report.verdicts.push(self.triode.fitted.reach.judged(volts, found.current.si()));
        let limits = self.triode.valve.limits;
        let rating: Option<Limit> = limits.anode_power.map(|figure| figure.limit());
        report.verdicts.push(Verdict::at_most(
            "Anode dissipation",
            &margins.of("anode-power"),
            rating,
            |standing| {
                let advice = match standing {
                    Standing::Within => "A small part of its rating, as in most stages.",
                    Standing::NoPublishedLimit => "Look it up on the valve’s own sheet.",
                    _ => "More than a gain stage needs: look at the resistors.",
                };
                advice.to_owned()
            },
        ));
        let rating = limits.anode_voltage.map(|figure| figure.limit());
        report.verdicts.push(Verdict::at_most("Anode while the valve is cold", &margins.of("cold"), rating, |standing| {
            let advice = match standing {
                Standing::Within => "The sheet allows the whole supply at the anode.",
                Standing::NoPublishedLimit => "Look it up on the valve’s own sheet.",
                _ => {
                    "Until the cathode is warm the whole supply stands at the anode, and the sheet’s working limit is less. \
                     Some sheets allow more for a cold valve: look for that line."
                }
            };
            advice.to_owned()
        }));
    }

    pub(super) fn working(&self, found: &Found, report: &mut Report) {
        let says = "The model’s current where curve and load line meet, found by halving, times both shares.";
        let current = report.step(says, "I_a", self.triode.formula(found.current), found.current);
        let cathode = || named("R_k", self.cathode);
        let lifted =
            report.step("The cathode is lifted by it.", "V_k", current.clone() * cathode(), found.cathode);
        let formula = named("V_b", self.supply) - current.clone() * named("R_a", self.anode);
        let anode = report.step("The anode resistor drops its part.", "V_a", formula, found.anode);
        let across = report.step("What is across the valve.", "V_ak", anode - lifted, found.across);
        let slopes = found.slopes;
        let (gm, ra) = (named("g_m", slopes.gm), || named("r_a", slopes.ra));
        let says = "Both slopes are the model’s at this point; their product.";
        let mu = report.step_in(says, "µ", gm * ra(), slopes.mu.si(), &ONE);
        let (own, next) = (|| named("R_a", self.anode), || named("R_n", self.next));
        let formula = own() * next() / (own() + next());
        let load = report.step(
            "To signals the next leak lies beside the anode resistor.",
            "R'",
            formula,
            found.load,
        );
        let formula = mu.clone() * load.clone() / (ra() + load.clone());
        let bypassed = report.step_in("With the cathode held.", "A", formula, found.bypassed, &ONE);
        let held = || (mu.clone() + number(1.0)) * cathode();
        let formula = mu.clone() * load.clone() / (ra() + load.clone() + held());
        let says = "Without: the cathode follows, and takes back a part of the drive.";
        let unbypassed = report.step_in(says, "A", formula, found.unbypassed, &ONE);
        let (gain, inside) =
            if self.bypass.is_some() { (bypassed, ra()) } else { (unbypassed, ra() + held()) };
        let formula = own() * inside.clone() / (own() + inside);
        report.step("Anode resistor and valve side by side.", "R_o", formula, found.output);
        let formula = named("C_g", self.grid)
            + named("C_ga", self.anode_grid) * (number(1.0) + gain)
            + named("C_s", self.stray);
        let says =
            "The anode moves against the grid: its capacitance counts once more for each unit of gain.";
        let input = report.step(says, "C_i", formula, found.input);
        let turn = || Expr::Named { symbol: "2π", shown: "6.283".to_owned(), value: std::f64::consts::TAU };
        let formula = number(1.0) / (turn() * named("R_g", self.source) * input);
        report.step_in("With what drives it.", "f_i", formula, found.input_corner.corner, &HERTZ);
        if let (Some(capacitor), Some(shelf)) = (self.bypass, found.shelf) {
            let formula = number(1.0) / (turn() * cathode() * named("C_k", capacitor));
            let zero = report.step_in(
                "The capacitor begins to hold the cathode.",
                "f_z",
                formula,
                shelf.zero,
                &HERTZ,
            );
            let formula = zero * (number(1.0) + held() / (ra() + load.clone()));
            report.step_in("And holds it.", "f_p", formula, shelf.pole, &HERTZ);
        }
        let says = "Upwards until no current is left.";
        report.step(says, "V_up", current.clone() * load.clone(), found.up);
        let says =
            "Downwards until the grid is at its cathode: the model’s current there, less that at rest.";
        report.step(says, "V_down", named_in("ΔI", found.rise.si(), &AMPERE) * load, found.down);
        report.step("The anode’s heat.", "P_a", across * current, found.power);
    }

    pub(super) fn notes(&self, report: &mut Report) {
        let triode = &self.triode;
        report.notes.push(format!(
            "The model of the {} counts as ±{}: that much or less it lies off the rows of its sheet.",
            triode.valve.name, triode.fitted.margin
        ));
        for (what, figure) in [
            ("grid to cathode", triode.valve.capacitances.grid),
            ("grid to anode", triode.valve.capacitances.anode_grid),
        ] {
            let Some(figure) = figure else { continue };
            report.notes.push(format!(
                "{}, {what}: {} ({}).",
                triode.valve.name,
                writing::repeated(figure.value().si(), &FARAD),
                figure.source.cited()
            ));
        }
    }

    pub(super) fn carry(&self, found: &Found) -> Carry {
        let typed = [
            ("source", writing::bench(found.output.si(), &OHM)),
            ("leak", writing::bench(self.next.si().clamp(1e3, 22e6), &OHM)),
            ("anode-voltage", writing::bench(found.anode.si(), &VOLT)),
        ];
        Carry {
            to: Coupling::SHEET,
            what: format!(
                "{} as the resistance before the capacitor, {} as its voltage",
                writing::nearest(found.output.si(), &OHM),
                writing::nearest(found.anode.si(), &VOLT)
            ),
            inputs: Inputs::from(typed.map(|(id, text)| (id.to_owned(), text))),
            answers: vec![],
            is_example: false,
        }
    }
}
