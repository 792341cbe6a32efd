//! The question the other way round: from the rating to the current that the valve may idle at.

use super::{Dissipation, Found, Point, Screen};
use crate::calculator::{Answer, Margins, Report, named, number};
use crate::quantity::unit::{AMPERE, VOLT};
use crate::quantity::{Quantity, Ratio, writing};

pub(super) fn answers(found: &Found) -> Vec<Answer> {
    let (low, high) = found.window.unzip();
    let current = |id, name, value| Answer::new(id, "I_k", name, value);
    let window = [
        high.map(|high| {
            current("highest-reading", "Cathode current at the highest target, each valve", high)
        }),
        low.map(|low| current("lowest-reading", "Cathode current at the lowest target, each valve", low)),
    ];
    let voltage =
        Answer::new("anode-to-cathode", "V_a", "Anode voltage, from the cathode", found.anode_voltage);
    window.into_iter().flatten().chain([voltage]).collect()
}

impl Dissipation {
    pub(super) fn report_may_be(&self, found: &Found, margins: &Margins, report: &mut Report) {
        let name = &self.valve.name;
        let volts = writing::repeated(found.anode_voltage.si(), &VOLT);
        let (Some((low, high)), Some(rating)) = (found.window, self.valve.anode_power) else {
            report.summary =
                format!("Nobody has published a rating of the {name}’s anode that this book knows of.");
            report.verdicts.push(self.judge_anode_voltage(margins));
            return;
        };
        let per_cent = |share: Ratio| format!("{:.0}", share.si() * 100.0);
        report.summary = format!(
            "{name} at {volts}: {} to {} of cathode current for each valve, {} to {}\u{a0}% of {}.",
            writing::nearest(low.si(), &AMPERE),
            writing::nearest(high.si(), &AMPERE),
            per_cent(self.lowest_target),
            per_cent(self.target),
            rating.said_of(name),
        );
        report.verdicts.push(self.judge_anode_voltage(margins));
        let anode_voltage = match self.anode_to {
            Point::Cathode => {
                report.state("Read from the cathode, as ratings count.", "V_a", found.anode_voltage)
            }
            Point::Chassis => {
                let formula = named("V_a", self.anode_voltage) - named("V_k", self.cathode_voltage);
                report.step("The rating counts from the cathode.", "V_a,k", formula, found.anode_voltage)
            }
        };
        let share = match self.screen {
            Screen::Estimated(share) => share,
            _ => Ratio::of(0.0),
        };
        for (says, [symbol, target], of, reading) in [
            (
                "At the highest target. The cathode carries the screen’s current as well.",
                ["I_k,x", "x"],
                self.target,
                high,
            ),
            ("At the lowest target.", ["I_k,y", "y"], self.lowest_target, low),
        ] {
            let anode = named(target, of) * named("P_a,max", rating.value()) / anode_voltage.clone();
            report.step(says, symbol, anode / (number(1.0) - named("k", share)), reading);
        }
        report.notes.push(
            "The shares are common practice, no rating. Set the lower current first, then read it, and judge the reading: \
             “Is what I read safe?”"
                .to_owned(),
        );
        self.notes(report);
        let anode_current = high * (1.0 - share.si());
        report.picture = Some(self.picture_of(found, anode_current, "the highest target", margins));
    }
}
