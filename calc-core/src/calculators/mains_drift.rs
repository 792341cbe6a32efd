//! Today's mains: what every voltage of an amplifier is at a mains that is not the marked one.
//!
//! ```text
//! k = V_now / V_marked
//! V_h = k · V_heater     V_HT = k · V_HT,marked     V_g1 = k · V_g1,marked
//! ```
//!
//! Units: V. Errors: none beyond the fields' own ranges. Source: a transformer's voltages are in proportion; the tenth that
//! amplifiers were made for is common practice, no source.

use crate::calculator::{
    Answer, Ask, Calculator, Impossible, Limit, Margins, Report, Sheet, Standing, Verdict, named,
};
use crate::quantity::{ElectricPotential, Quantity, Ratio, writing};
use crate::source::PRACTICE;

/// The two mains, and what is known at the marked one.
pub struct MainsDrift {
    marked: ElectricPotential,
    measured: ElectricPotential,
    heater: ElectricPotential,
    bias: ElectricPotential,
    ht: ElectricPotential,
}

/// The same at the mains of the minute.
pub struct Found {
    share: Ratio,
    off: Ratio,
    heater: ElectricPotential,
    bias: ElectricPotential,
    ht: ElectricPotential,
}

impl Calculator for MainsDrift {
    const SHEET: &'static Sheet = &Sheet {
        id: "mains-drift",
        title: "Today’s mains",
        question: "What are heaters, bias and HT to be at the mains of the minute?",
        edition: 1,
        leaves_out: &[
            "Idle current and dissipation do not follow in proportion; they are read again.",
            "The drop in windings and rectifier is taken as growing with the voltage.",
            "A stabilised or cathode bias does not follow the mains.",
        ],
        sources: &[&PRACTICE],
    };
    type Found = Found;

    fn ask(a: &mut Ask) -> Self {
        Self {
            marked: a.quantity("marked", "V_m", "Mains, as marked", "120 V").within("10 V", "500 V").get(),
            measured: a
                .quantity("measured", "V_n", "Mains at the amplifier, now", "125 V")
                .within("10 V", "500 V")
                .tolerance("1 %")
                .get(),
            heater: a
                .quantity("heater", "V_h", "Heaters at the marked mains", "6.3 V")
                .within("1 V", "120 V")
                .get(),
            bias: a
                .quantity("bias", "V_g1", "Bias at the marked mains", "-46 V")
                .within("-200 V", "-0.5 V")
                .get(),
            ht: a.quantity("ht", "V_HT", "HT at the marked mains", "438 V").within("1 V", "2 kV").get(),
        }
    }

    fn work(&self) -> Result<Found, Impossible> {
        let share = self.measured / self.marked;
        Ok(Found {
            share,
            off: Ratio::of((share.si() - 1.0).abs()),
            heater: self.heater * share.si(),
            bias: self.bias * share.si(),
            ht: self.ht * share.si(),
        })
    }

    fn answers(found: &Found) -> Vec<Answer> {
        vec![
            Answer::new("bias", "V_g1", "Bias now", found.bias),
            Answer::new("heater", "V_h", "Heaters now", found.heater),
            Answer::new("ht", "V_HT", "HT now", found.ht),
            Answer::new("share", "k", "Mains now, of the marked", found.share),
            Answer::new("off", "", "How far off the marking", found.off),
        ]
    }

    fn report(&self, found: &Found, margins: &Margins, report: &mut Report) {
        report.summary = format!(
            "{} on {}: bias {}, heaters {}.",
            writing::repeated(self.measured.si(), ElectricPotential::UNIT),
            writing::repeated(self.marked.si(), ElectricPotential::UNIT),
            writing::nearest(found.bias.si(), ElectricPotential::UNIT),
            writing::nearest(found.heater.si(), ElectricPotential::UNIT),
        );
        let tenth = Limit::new(Ratio::of(0.1), "off the marking", &PRACTICE);
        report.verdicts.push(Verdict::at_most("Mains", &margins.of("off"), Some(tenth), |standing| {
            let advice = match standing {
                Standing::Within => "As amplifiers were made for. Scale every expected reading by it.",
                _ => "Look at the mains selector first. Behind a lamp this is expected, and nothing is approved.",
            };
            advice.to_owned()
        }));
        let share = report.step(
            "The mains, of the marked.",
            "k",
            named("V_n", self.measured) / named("V_m", self.marked),
            found.share,
        );
        report.step("Bias.", "V_g1", share.clone() * named("V_g1", self.bias), found.bias);
        report.step("Heaters.", "V_h", share.clone() * named("V_h", self.heater), found.heater);
        report.step("HT.", "V_HT", share * named("V_HT", self.ht), found.ht);
    }
}
