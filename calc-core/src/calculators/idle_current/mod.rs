//! Idle current, read in up to three ways: which of them to trust.
//!
//! ```text
//! (a)  I_k = V_k / R_k + V_k / R_M            over the cathode resistor: cathode current
//! (b)  R_w = R_c (234.5 + t_w) / (234.5 + t_c)    copper, warm from cold
//!      I_a = V_h / R_w + V_h / R_M            over half the primary: anode current
//! (c)  I_a = I_A (R_w + R_A) / R_w            ammeter across the half: the winding takes its part
//! ```
//!
//! `R_M` is the voltmeter, whose own current the valve carries as well. Units: V, A, Ω, °C. Errors: no way read; a
//! current that no valve gives at rest, which means that something is open; a screen that draws more than the cathode
//! gives. Sources: Ohm's law; the winding formula of temperature tests; stop figures are common practice, no source.

mod compare;
mod form;

use super::dissipation::Dissipation;
use super::questions::reading::DIGITS;
use super::questions::valve;
use crate::calculator::{
    Answer, Ask, Calculator, Expr, Impossible, Margins, Report, Sheet, named, named_in, number,
};
use crate::quantity::unit::{AMPERE, CELSIUS};
use crate::quantity::{ElectricCurrent, ElectricPotential, ElectricalResistance, Quantity, Ratio, writing};
use crate::source::{COPPER_WINDING, GUM, IEC_60028, PRACTICE};

/// The temperature at which copper's resistance, drawn on as a straight line, would be nothing; below zero.
const COPPER: f64 = 234.5;
/// More than any output valve gives at rest.
const IMPOSSIBLE: f64 = 1.0;

/// The readings, as taken.
pub struct IdleCurrent {
    resistor: Option<(ElectricPotential, ElectricalResistance)>,
    half: Option<ElectricPotential>,
    ammeter: Option<(ElectricCurrent, ElectricalResistance)>,
    winding: Option<Winding>,
    meter: Option<ElectricalResistance>,
    screen: Option<ElectricCurrent>,
}

/// How the resistance of the winding is known.
#[derive(Clone, Copy)]
enum Winding {
    Warm(ElectricalResistance),
    Cold { resistance: ElectricalResistance, cold: f64, warm: f64 },
}

/// What was found, of each way that was read.
pub struct Found {
    cathode: Option<ElectricCurrent>,
    less_screen: Option<ElectricCurrent>,
    winding: Option<ElectricalResistance>,
    half: Option<ElectricCurrent>,
    meter_share: Option<Ratio>,
    ammeter: Option<ElectricCurrent>,
}

impl Calculator for IdleCurrent {
    const SHEET: &'static Sheet = &Sheet {
        id: "idle-current",
        title: "Idle current, by the way it was read",
        question: "Which reading should be trusted?",
        edition: 1,
        headline: &["by-resistor", "by-half", "by-ammeter"],
        form: form::FORM,
        leaves_out: &[
            "One valve, one resistor, one half of the primary: where valves share one of them, the sum is read.",
            "Readings taken at different mains or after different times differ for that reason alone.",
            "A stage that oscillates above hearing can make any meter read anything.",
            "The margins of two ways that use the same meter or the same winding are not independent.",
            "Resistance of the probes’ own leads: subtract it before typing.",
        ],
        sources: &[&COPPER_WINDING, &IEC_60028, &GUM, &PRACTICE],
    };
    const LEADS_TO: &'static [&'static Sheet] = &[Dissipation::SHEET];
    type Found = Found;

    fn ask(a: &mut Ask) -> Self {
        const READ: (&str, &str, bool) = ("read", "read", true);
        const NOT: (&str, &str, bool) = ("not-read", "not read", false);
        let by_resistor = a.usual().choice("resistor-way", "Across the cathode resistor", "", &[READ, NOT]);
        let resistor = by_resistor.then(|| {
            let drop = a
                .quantity("cathode-drop", "V_k", "Drop across the cathode resistor", "34.0 mV")
                .hint("Type every digit that the meter shows: the margin depends on them.")
                .within("0 V", "1 kV")
                .tolerance(DIGITS)
                .get();
            let resistor = a
                .quantity("cathode-resistor", "R_k", "Cathode resistor", "1R")
                .hint("Measured, meter-lead ohms subtracted; or as marked.")
                .within("0R1", "10k")
                .tolerance("1 %")
                .get();
            (drop, resistor)
        });
        let by_half =
            a.usual().choice("half-way", "Across half the primary", "Clipped on while dead.", &[READ, NOT]);
        let half = by_half.then(|| {
            a.quantity("half-drop", "V_h", "Drop across this half of the primary", "2.14 V")
                .within("0 V", "1 kV")
                .tolerance(DIGITS)
                .get()
        });
        let by_ammeter = a.usual().choice(
            "ammeter-way",
            "Ammeter across half the primary",
            "The least reliable of the three.",
            &[NOT, READ],
        );
        let ammeter = by_ammeter.then(|| {
            let reading = a
                .quantity("ammeter-reading", "I_A", "Current, as the ammeter shows it", "31.6 mA")
                .within("0 A", "10 A")
                .tolerance("1 % + 2 digits")
                .get();
            let resistance = a
                .quantity("ammeter-resistance", "R_A", "Resistance of the ammeter and its leads", "1R8")
                .hint("Its burden: 1.8 mV/mA in its data sheet is 1.8 Ω.")
                .within("0R001", "10k")
                .tolerance("20 %")
                .get();
            (reading, resistance)
        });
        let winding = (by_half || by_ammeter).then(|| ask_winding(a));
        let meter = (by_resistor || by_half).then(|| {
            a.usual()
                .quantity("meter-input", "R_M", "Input resistance of the voltmeter", "10M")
                .within("100R", "100G")
                .get()
        });
        let compared = by_resistor && (by_half || by_ammeter);
        let screen = compared
            && a.usual().choice(
                "screen-how",
                "Screen current",
                "It makes cathode and anode current comparable.",
                &[("read", "read across its stopper", true), ("unknown", "not known", false)],
            );
        let screen = screen.then(|| valve::screen_current(a).tolerance("5 %").get());
        Self { resistor, half, ammeter, winding, meter, screen }
    }

    fn work(&self) -> Result<Found, Impossible> {
        if self.resistor.is_none() && self.half.is_none() && self.ammeter.is_none() {
            let message = "No way was read. Read at least one, preferably across the cathode resistor.";
            return Err(Impossible { field: "resistor-way", message: message.to_owned() });
        }
        let through = |drop: ElectricPotential, resistance: ElectricalResistance| -> ElectricCurrent {
            let meter: ElectricCurrent = self.meter.map_or_else(Default::default, |meter| drop / meter);
            drop / resistance + meter
        };
        let open = "that resistor is open, and the meter reads the bias that the valve makes for itself, or it is far from \
                    its value";
        let cathode =
            self.resistor.map(|(drop, resistor)| possible(through(drop, resistor), "cathode-drop", open));
        let cathode = cathode.transpose()?;
        let winding = self.winding.map(|winding| match winding {
            Winding::Warm(resistance) => resistance,
            Winding::Cold { resistance, cold, warm } => resistance * ((COPPER + warm) / (COPPER + cold)),
        });
        let open = "that half of the primary is open, or a probe is not on it";
        let half =
            self.half.zip(winding).map(|(drop, winding)| possible(through(drop, winding), "half-drop", open));
        let half = half.transpose()?;
        let meter_share = self.ammeter.zip(winding).map(|((_, meter), winding)| winding / (winding + meter));
        let wrong = "the ammeter is not across this half, or its range was misread";
        let ammeter = self
            .ammeter
            .zip(meter_share)
            .map(|((reading, _), share)| possible(reading / share, "ammeter-reading", wrong));
        let less_screen = cathode.zip(self.screen).map(|(cathode, screen)| cathode - screen);
        if less_screen.is_some_and(|anode| anode.si() < 0.0) {
            let message = "The screen would draw more than reaches the cathode. Read both again.";
            return Err(Impossible { field: "screen-current", message: message.to_owned() });
        }
        Ok(Found { cathode, less_screen, winding, half, meter_share, ammeter: ammeter.transpose()? })
    }

    fn answers(found: &Found) -> Vec<Answer> {
        let current = |id, symbol, name, value: Option<ElectricCurrent>| {
            value.map(|value| Answer::new(id, symbol, name, value))
        };
        let winding =
            found.winding.map(|value| Answer::new("winding", "R_w", "This half of the primary, warm", value));
        let share = found
            .meter_share
            .map(|value| Answer::new("meter-share", "p", "Share that flows through the ammeter", value));
        let answers = [
            current("by-resistor", "I_k", "Cathode current, from the resistor", found.cathode),
            current("less-screen", "I_a", "Anode current, that less the screen’s", found.less_screen),
            current("by-half", "I_a", "Anode current, from half the primary", found.half),
            current("by-ammeter", "I_a", "Anode current, by the ammeter", found.ammeter),
            winding,
            share,
        ];
        answers.into_iter().flatten().collect()
    }

    fn report(&self, found: &Found, margins: &Margins, report: &mut Report) {
        compare::compare(margins, self.screen, report);
        self.working(found, report);
        self.notes(report);
    }
}

/// Asks for the resistance of this half, as it is while the current flows.
fn ask_winding(a: &mut Ask) -> Winding {
    let warm = a.usual().choice(
        "winding-how",
        "Resistance of this half",
        "Each half has its own. Mains off, discharged and proved dead before the ohmmeter goes on.",
        &[
            ("cold", "measured cold, corrected for heat", false),
            ("warm", "measured warm, right after switch-off", true),
        ],
    );
    if warm {
        let question = a.quantity("winding-warm", "R_w", "This half of the primary, warm", "65.9R");
        return Winding::Warm(question.within("0R1", "100k").tolerance("1 %").get());
    }
    let question = a.quantity("winding-cold", "R_c", "This half of the primary, cold", "60R");
    let resistance = question.within("0R1", "100k").tolerance("1 %").get();
    let mut degrees = |id, symbol, name, default, tolerance| {
        a.usual()
            .quantity(id, symbol, name, default)
            .within("-20 °C", "150 °C")
            .tolerance(tolerance)
            .get_in(&CELSIUS)
    };
    Winding::Cold {
        resistance,
        cold: degrees("cold-temperature", "t_c", "Its temperature when cold", "20 °C", "2 °C"),
        warm: degrees("warm-temperature", "t_w", "Its temperature when the drop was read", "45 °C", "10 °C"),
    }
}

/// Refuses what no output valve gives at rest: such a reading is of something open.
fn possible(current: ElectricCurrent, field: &'static str, why: &str) -> Result<ElectricCurrent, Impossible> {
    if current.si() <= IMPOSSIBLE {
        return Ok(current);
    }
    // A resistance that may be nothing makes of any drop an endless current.
    let would = if current.si().is_finite() {
        format!("{}, ", writing::nearest(current.si(), &AMPERE))
    } else {
        String::new()
    };
    let message = format!(
        "This would be {would}more than an output valve draws at idle: {why}. Mains off, hands out; find the cause \
         before power goes on again."
    );
    Err(Impossible { field, message })
}

impl IdleCurrent {
    fn working(&self, found: &Found, report: &mut Report) {
        let through = |symbol, drop: ElectricPotential, resistance: Expr| {
            let formula = named(symbol, drop) / resistance;
            match self.meter {
                Some(meter) => formula + named(symbol, drop) / named("R_M", meter),
                None => formula,
            }
        };
        if let (Some((drop, resistor)), Some(current)) = (self.resistor, found.cathode) {
            let says =
                "The cathode’s current, anode and screen together; the voltmeter carries a little of it.";
            let cathode = report.step(says, "I_k", through("V_k", drop, named("R_k", resistor)), current);
            if let (Some(screen), Some(anode)) = (self.screen, found.less_screen) {
                report.step("Less the screen’s.", "I_a", cathode - named("I_g2", screen), anode);
            }
        }
        let Some(winding) = found.winding else { return };
        let winding = match self.winding {
            Some(Winding::Cold { resistance, cold, warm }) => {
                let above = |symbol, degrees| number(COPPER) + named_in(symbol, degrees, &CELSIUS);
                let formula = named("R_c", resistance) * (above("t_w", warm) / above("t_c", cold));
                report.step("Copper gains 0.39 % per kelvin.", "R_w", formula, winding)
            }
            _ => report.state("Measured warm.", "R_w", winding),
        };
        if let (Some(drop), Some(current)) = (self.half, found.half) {
            let says = "Only anode current flows through this half.";
            report.step(says, "I_a", through("V_h", drop, winding.clone()), current);
        }
        if let (Some((reading, meter)), Some(share), Some(current)) =
            (self.ammeter, found.meter_share, found.ammeter)
        {
            let formula = winding.clone() / (winding + named("R_A", meter));
            let share = report.step("The winding and the ammeter share the current.", "p", formula, share);
            report.step("All of it.", "I_a", named("I_A", reading) / share, current);
        }
    }

    fn notes(&self, report: &mut Report) {
        if self.half.is_some() || self.ammeter.is_some() {
            report.notes.push(
                "Both leads are at HT: clip them on while dead, one half at a time. Only anode current flows there."
                    .to_owned(),
            );
        }
        if self.ammeter.is_some() {
            report.notes.push(
                "The ammeter is the last choice: its body is at HT, it shunts the winding, and if its plug is left in \
                 the current jack the next voltage reading is a short. The drop across the same half tells you the \
                 same."
                    .to_owned(),
            );
        }
    }
}

#[cfg(test)]
mod tests {
    use crate::calculate;
    use crate::calculator::Outcome;

    fn with(inputs: &[(&str, &str)]) -> Outcome {
        let inputs = inputs.iter().map(|(id, text)| ((*id).to_owned(), (*text).to_owned())).collect();
        calculate("idle-current", &inputs).unwrap()
    }

    /// What is wrong at a field, when there is no answer for it.
    fn refusal(inputs: &[(&str, &str)], field: &str) -> String {
        let outcome = with(inputs);
        assert!(outcome.report.is_none(), "{inputs:?} has an answer");
        let field = outcome.fields.into_iter().find(|known| known.id == field).unwrap();
        field.problem.unwrap().message
    }

    #[test]
    fn ten_to_thirty_volts_over_one_ohm_mean_that_it_is_open() {
        for drop in ["10 V", "20 V", "30 V"] {
            let said = refusal(&[("cathode-drop", drop)], "cathode-drop");
            assert!(said.contains("resistor is open") && said.contains("Mains off"), "{drop}: {said}");
        }
    }

    #[test]
    fn the_drop_over_a_bias_resistor_is_no_open_one() {
        let cathode_bias = [("half-way", "not-read"), ("cathode-drop", "11 V"), ("cathode-resistor", "68R")];
        assert!(with(&cathode_bias).report.unwrap().summary.starts_with("Trust the cathode resistor"));
    }

    #[test]
    fn more_than_two_hundred_millivolts_over_one_ohm_stop() {
        for (drop, stops) in [("190 mV", false), ("198 mV", true), ("360 mV", true)] {
            let report = with(&[("half-way", "not-read"), ("cathode-drop", drop)]).report.unwrap();
            assert_eq!(report.summary.starts_with("Stop: mains off"), stops, "{drop}: {}", report.summary);
            assert!(!stops || report.notes.iter().all(|note| !note.contains("trusted")));
        }
    }

    #[test]
    fn a_reading_of_nothing_is_no_current_and_trusted_by_nobody() {
        for drop in ["0 V", "0.1 mV"] {
            let report = with(&[("half-way", "not-read"), ("cathode-drop", drop)]).report.unwrap();
            assert!(
                report.summary.starts_with("No current: the valve is cold or cut off"),
                "{}",
                report.summary
            );
            let stop =
                report.verdicts.iter().find(|verdict| verdict.about.starts_with("Stop figure")).unwrap();
            assert_eq!(stop.word(), "cannot tell", "{drop}");
            assert!(report.carries.is_empty() && !report.summary.contains("Trust"), "{drop}");
        }
        // Two digits of 0.1 mV come to less than 1 mV.
        let little = with(&[("half-way", "not-read"), ("cathode-drop", "1.0 mV")]).report.unwrap();
        assert!(little.summary.starts_with("Trust the cathode resistor"), "{}", little.summary);
    }

    #[test]
    fn an_open_half_is_not_a_current() {
        let said = refusal(&[("half-drop", "430 V")], "half-drop");
        assert!(said.contains("half of the primary is open"), "{said}");
    }

    #[test]
    fn the_ammeter_is_never_preferred() {
        let narrow = [
            ("ammeter-way", "read"),
            ("ammeter-reading.tolerance", "0 %"),
            ("ammeter-resistance.tolerance", "0 %"),
        ];
        let summary = with(&narrow).report.unwrap().summary;
        assert!(summary.starts_with("Trust the cathode resistor"), "{summary}");
        let alone = [("resistor-way", "not-read"), ("half-way", "not-read"), ("ammeter-way", "read")];
        let report = with(&alone).report.unwrap();
        assert!(report.summary.starts_with("Only the ammeter"), "{}", report.summary);
        assert!(report.notes.iter().any(|note| note.contains("its body is at HT")));
    }

    #[test]
    fn nothing_read_and_too_much_screen_are_said_at_their_fields() {
        let nothing = [("resistor-way", "not-read"), ("half-way", "not-read")];
        assert!(refusal(&nothing, "resistor-way").contains("No way was read"));
        assert!(refusal(&[("screen-current", "40 mA")], "screen-current").contains("more than reaches"));
    }
}
