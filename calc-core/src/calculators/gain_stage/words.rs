//! The words: summary, verdicts, working.

use super::{Found, GainStage};
use crate::calculator::{Carry, Limit, Margins, Report, Standing, Verdict, named, named_in, number, two_pi};
use crate::calculators::coupling::Coupling;
use crate::quantity::unit::{AMPERE, DECIBEL, FARAD, HERTZ, OHM, ONE, VOLT};
use crate::quantity::{Quantity, writing};
use crate::valve::model::Volts;

impl GainStage {
    pub(super) fn summary(&self, found: &Found) -> String {
        let least = found.up.si().min(found.down.si());
        format!(
            "{} at {}: {} with the anode at {}, by a published valve model. Gain {} ({:.1}\u{a0}dB), output \
             resistance {}, peak swing {} before the nearer limit.",
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
                    Standing::NoPublishedLimit => "Look it up in the valve’s own data sheet.",
                    _ => "More than a gain stage needs: check the resistors.",
                };
                advice.to_owned()
            },
        ));
        let rating = limits.anode_voltage.map(|figure| figure.limit());
        report.verdicts.push(Verdict::at_most("Anode while the valve is cold", &margins.of("cold"), rating, |standing| {
            let advice = match standing {
                Standing::Within => "The limit allows the full supply voltage at the anode.",
                Standing::NoPublishedLimit => "Look it up in the valve’s own data sheet.",
                _ => {
                    "Until the cathode is warm the full supply voltage is at the anode, above the working limit. A \
                     cold valve may be allowed more: look for that line in the valve’s own data sheet."
                }
            };
            advice.to_owned()
        }));
    }

    pub(super) fn working(&self, found: &Found, report: &mut Report) {
        let says = "The model’s current where curve and load line meet, times both shares.";
        let current = report.step(says, "I_a", self.triode.formula(found.current), found.current);
        let cathode = || named("R_k", self.cathode);
        let lifted =
            report.step("This current lifts the cathode.", "V_k", current.clone() * cathode(), found.cathode);
        let formula = named("V_b", self.supply) - current.clone() * named("R_a", self.anode);
        let anode =
            report.step("The supply, less the drop across the anode resistor.", "V_a", formula, found.anode);
        let across = report.step("The voltage across the valve.", "V_ak", anode - lifted, found.across);
        let slopes = found.slopes;
        report.state("The model’s slope at this point.", "g_m", slopes.gm);
        report.state("And its anode resistance.", "r_a", slopes.ra);
        let (gm, ra) = (named("g_m", slopes.gm), || named("r_a", slopes.ra));
        let says = "The product of the two, both from the model at this point.";
        let mu = report.step_in(says, "µ", gm * ra(), slopes.mu.si(), &ONE);
        let (own, next) = (|| named("R_a", self.anode), || named("R_n", self.next));
        let formula = own() * next() / (own() + next());
        let load = report.step(
            "For signals the next leak is in parallel with the anode resistor.",
            "R'",
            formula,
            found.load,
        );
        let formula = mu.clone() * load.clone() / (ra() + load.clone());
        let bypassed = report.step_in("With the cathode bypassed.", "A", formula, found.bypassed, &ONE);
        let held = || (mu.clone() + number(1.0)) * cathode();
        let formula = mu.clone() * load.clone() / (ra() + load.clone() + held());
        let says = "Without a bypass the cathode follows, and cancels part of the drive.";
        let unbypassed = report.step_in(says, "A", formula, found.unbypassed, &ONE);
        let (gain, inside) =
            if self.bypass.is_some() { (bypassed, ra()) } else { (unbypassed, ra() + held()) };
        let formula = own() * inside.clone() / (own() + inside);
        report.step("The anode resistor and the valve in parallel.", "R_o", formula, found.output);
        let formula = named("C_g", self.grid)
            + named("C_ga", self.anode_grid) * (number(1.0) + gain)
            + named("C_s", self.stray);
        let says =
            "The anode moves opposite to the grid, so this capacitance is multiplied by one plus the gain.";
        let input = report.step(says, "C_i", formula, found.input);
        let formula = number(1.0) / (two_pi() * named("R_g", self.source) * input);
        report.step_in(
            "Together with the resistance that drives it.",
            "f_i",
            formula,
            found.input_corner.corner,
            &HERTZ,
        );
        if let (Some(capacitor), Some(shelf)) = (self.bypass, found.shelf) {
            let formula = number(1.0) / (two_pi() * cathode() * named("C_k", capacitor));
            let zero = report.step_in(
                "Above this the capacitor begins to bypass the cathode.",
                "f_z",
                formula,
                shelf.zero,
                &HERTZ,
            );
            let formula = zero.clone() * (number(1.0) + held() / (ra() + load.clone()));
            let pole = report.step_in(
                "Above this it bypasses the cathode fully.",
                "f_p",
                formula,
                shelf.pole,
                &HERTZ,
            );
            let says = "The gain rises by this much between the two.";
            report.step_in(says, "ΔA", (pole / zero).decibels(), shelf.height(), &DECIBEL);
        }
        let says = "Upwards, until the current stops.";
        report.step(says, "V_up", current.clone() * load.clone(), found.up);
        let says =
            "Downwards, until the grid reaches its cathode: the model’s current there, less that at rest.";
        report.step(says, "V_down", named_in("ΔI", found.rise.si(), &AMPERE) * load, found.down);
        report.step("The anode’s dissipation.", "P_a", across * current, found.power);
        report.state(
            "A cold valve draws nothing: the full supply voltage is at its anode.",
            "V_b",
            found.cold,
        );
    }

    pub(super) fn notes(&self, report: &mut Report) {
        let triode = &self.triode;
        report.notes.push(triode.fitted.margin_words());
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
        Coupling::after(found.output, self.next, found.anode)
    }
}
