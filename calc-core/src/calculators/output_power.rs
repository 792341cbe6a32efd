//! Output power: what the amplifier delivers into the dummy load.
//!
//! ```text
//! V = V_pp / (2√2)          of a sine only
//! P = V² / R
//! L = 20 lg (V / 1 V) dBV       20 lg (V / 0.7746 V) dBu
//! ```
//!
//! Units: V, Ω, W, dBV, dBu. Errors: none beyond the fields' own ranges. Source: definitions; 0 dBu is the voltage of
//! 1 mW in 600 Ω. That the load should bear twice the rated power is common practice, no source.

use crate::calculator::{
    Answer, Ask, Calculator, Impossible, Inverse, Limit, Margins, Report, Section, Sheet, Standing, Verdict,
    named, number,
};
use crate::quantity::unit::{DBU, DBV};
use crate::quantity::{ElectricPotential, ElectricalResistance, Power, Quantity, Ratio, writing};
use crate::source::{GUM, PRACTICE, TYPED};

/// The reading over the load.
pub struct OutputPower {
    how: How,
    voltage: ElectricPotential,
    load: ElectricalResistance,
    rating: Power,
}

#[derive(Clone, Copy, PartialEq)]
enum How {
    Rms,
    PeakToPeak,
}

/// Power and levels at the load.
pub struct Found {
    voltage: ElectricPotential,
    power: Power,
    dbv: f64,
    dbu: f64,
    share: Ratio,
    overdriven: Power,
}

impl Calculator for OutputPower {
    const SHEET: &'static Sheet = &Sheet {
        id: "output-power",
        title: "Output power",
        question: "How much does it deliver into the dummy load?",
        edition: 1,
        headline: &["power"],
        form: &[Section {
            name: "Reading and load",
            fields: &["voltage", "how", "load", "load-rating"],
            more: &[],
        }],
        leaves_out: &[
            "Peak-to-peak is converted to RMS as for a sine: read it below clipping.",
            "A meter that does not read true RMS is right for a sine only, and only within its frequency range.",
            "The load is a resistor; a loudspeaker’s impedance changes with frequency.",
        ],
        sources: &[&GUM, &PRACTICE],
    };
    const INVERSE: &'static [Inverse] = &[Inverse {
        id: "wanted.voltage",
        question: "Which voltage is this much power?",
        field: "voltage",
        answer: "power",
        example: "40 W",
        made_in: None,
    }];
    type Found = Found;

    fn ask(a: &mut Ask) -> Self {
        let how = a.usual().choice(
            "how",
            "Read as",
            "",
            &[
                ("rms", "RMS, on a meter", How::Rms),
                ("peak-to-peak", "peak to peak, on an oscilloscope", How::PeakToPeak),
            ],
        );
        let default = if how == How::Rms { "18 V" } else { "51 V" };
        Self {
            how,
            voltage: a
                .quantity("voltage", "V", "Voltage across the load", default)
                .within("1 mV", "300 V")
                .tolerance("2 %")
                .get(),
            load: a.quantity("load", "R", "Dummy load", "8R").within("0R5", "1k").tolerance("5 %").get(),
            rating: a
                .quantity("load-rating", "P_R", "Rating of the load", "100 W")
                .within("0.1 W", "5 kW")
                .get(),
        }
    }

    fn work(&self) -> Result<Found, Impossible> {
        let voltage = match self.how {
            How::Rms => self.voltage,
            How::PeakToPeak => self.voltage / (2.0 * std::f64::consts::SQRT_2),
        };
        let power: Power = voltage * voltage / self.load;
        let level = |reference: f64| 20.0 * libm::log10(voltage.si() / reference);
        Ok(Found {
            voltage,
            power,
            dbv: level(1.0),
            dbu: level(libm::sqrt(0.6)),
            share: power / self.rating,
            overdriven: power * 2.0,
        })
    }

    fn answers(found: &Found) -> Vec<Answer> {
        vec![
            Answer::new("power", "P", "Output power", found.power),
            Answer::new("rms", "V", "Voltage, RMS", found.voltage),
            Answer::in_unit("dbv", "L", "Level relative to 1 V", &DBV, found.dbv),
            Answer::in_unit("dbu", "L", "Level relative to 0.775 V", &DBU, found.dbu),
            Answer::new("load-share", "", "Share of the load’s rating", found.share).not_below_zero(),
            Answer::new("overdriven", "P", "Power when overdriven, at most about", found.overdriven),
        ]
    }

    fn report(&self, found: &Found, margins: &Margins, report: &mut Report) {
        report.summary = format!(
            "{} RMS across {}: {}, {:.0}\u{a0}% of the load’s rating.",
            writing::nearest(found.voltage.si(), ElectricPotential::UNIT),
            writing::repeated(self.load.si(), ElectricalResistance::UNIT),
            writing::nearest(found.power.si(), Power::UNIT),
            found.share.si() * 100.0
        );
        let rating = Limit::new(self.rating, "rating of the load", &TYPED);
        report.verdicts.push(Verdict::at_most(
            "Load, at this reading",
            &margins.of("power"),
            Some(rating),
            |standing| {
                let advice = match standing {
                    Standing::Within => "The load can take it, with air around it.",
                    _ => "Turn down now; use a load with a higher rating.",
                };
                advice.to_owned()
            },
        ));
        let twice = Limit::new(self.rating, "to take twice the power", &PRACTICE);
        report.verdicts.push(Verdict::at_most(
            "Load, overdriven",
            &margins.of("overdriven"),
            Some(twice),
            |standing| {
                let advice = match standing {
                    Standing::Within => {
                        "Overdrive comes near a square wave, up to twice the power of a clean sine."
                    }
                    _ => "Good for this reading only; do not overdrive the amplifier into it.",
                };
                advice.to_owned()
            },
        ));
        let mut voltage = named("V", self.voltage);
        if self.how == How::Rms {
            report.state("As read.", "V", found.voltage);
        }
        if self.how == How::PeakToPeak {
            let formula = named("V_pp", self.voltage) / (number(2.0) * number(2.0).root());
            voltage = report.step("RMS of a sine.", "V", formula, found.voltage);
        }
        let power = report.step(
            "Power in a resistor.",
            "P",
            voltage.clone().squared() / named("R", self.load),
            found.power,
        );
        let volts = |symbol, volts| named(symbol, ElectricPotential::of(volts));
        let says = "As a level relative to 1 V.";
        report.step_in(says, "L_V", (voltage.clone() / volts("V_1", 1.0)).decibels(), found.dbv, &DBV);
        let says = "Relative to the 0.775 V that puts 1 mW into 600 Ω.";
        report.step_in(says, "L_u", (voltage / volts("V_600", libm::sqrt(0.6))).decibels(), found.dbu, &DBU);
        let says = "A square wave of the same peak has twice the power.";
        report.step(says, "P_2", number(2.0) * power.clone(), found.overdriven);
        report.step(
            "As a share of the load’s rating.",
            "P / P_R",
            power / named("P_R", self.rating),
            found.share,
        );
    }
}
