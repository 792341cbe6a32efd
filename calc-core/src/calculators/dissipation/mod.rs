//! Dissipation: is the idle current safe, and what to set it to.
//!
//! ```text
//! I_a  = I_k − I_g2                 cathode current is not anode current
//! P_a  = V_a I_a    P_g2 = V_g2 I_g2    voltages from cathode, not from chassis
//! I_k* = share · P_a,max / V_a · I_k / I_a    the cathode current to set for a share of the rating
//! ```
//!
//! Units: V, A, W. Range: any readings within the fields' own. Errors: a screen that draws more than the cathode
//! gives, as read; at an end of a tolerance it then takes all.
//! Source: definitions; ratings from the valve table; the target shares are common practice, no source.

mod ask;
mod form;
mod may_be;
#[cfg(test)]
mod tests;
mod words;

use crate::calculator::{Answer, Ask, Calculator, Impossible, Margins, Report, Sheet};
use crate::quantity::{ElectricCurrent, ElectricPotential, ElectricalResistance, Power, Quantity, Ratio};
use crate::source::{GUM, PRACTICE, RATING_SYSTEMS};
use crate::valve::Ratings;

/// The readings, as taken, and what they are to be held against.
pub struct Dissipation {
    asked: Asked,
    valve: Ratings,
    bias: Bias,
    anode_to: Point,
    anode_voltage: ElectricPotential,
    cathode_voltage: ElectricPotential,
    /// Valves whose cathode current the reading is the sum of.
    sharing: u32,
    spread: Spread,
    cathode_current: ElectricCurrent,
    screen: Screen,
    screen_voltage: ElectricPotential,
    lowest_target: Ratio,
    target: Ratio,
}

/// Which way round it is asked.
#[derive(Clone, Copy, PartialEq)]
enum Asked {
    /// From a reading to its heat.
    Safe,
    /// From the rating to the reading to set.
    MayBe,
}

#[derive(Clone, Copy, PartialEq)]
enum Bias {
    Fixed,
    Cathode,
}

/// What the anode and screen voltages were read against.
#[derive(Clone, Copy, PartialEq)]
enum Point {
    Cathode,
    Chassis,
}

/// How unequally valves may divide a shared reading.
enum Spread {
    Alone,
    Unknown,
    Measured(Ratio),
}

/// How the screen current is known.
enum Screen {
    Stopper { drop: ElectricPotential, resistor: ElectricalResistance },
    Current(ElectricCurrent),
    Estimated(Ratio),
    Unknown,
}

impl Screen {
    /// The screen current of one valve whose cathode carries this; `None` where it is not known.
    fn current(&self, cathode: ElectricCurrent) -> Option<ElectricCurrent> {
        match self {
            Self::Stopper { drop, resistor } => Some(*drop / *resistor),
            Self::Current(current) => Some(*current),
            Self::Estimated(share) => Some(cathode * *share),
            Self::Unknown => None,
        }
    }
}

/// What was found, for one valve unless said otherwise.
pub struct Found {
    asked: Asked,
    cathode_current: ElectricCurrent,
    anode_voltage: ElectricPotential,
    screen_voltage: ElectricPotential,
    screen_current: Option<ElectricCurrent>,
    anode_current: ElectricCurrent,
    anode_power: Power,
    screen_power: Option<Power>,
    /// If one valve takes all that the spread allows; `None` where it cannot take more than the others.
    worst_power: Option<Power>,
    anode_share: Option<Ratio>,
    /// The reading, of all valves that share it, at the lowest and the highest target.
    window: Option<(ElectricCurrent, ElectricCurrent)>,
}

impl Calculator for Dissipation {
    const SHEET: &'static Sheet = &Sheet {
        id: "dissipation",
        title: "Dissipation at idle",
        question: "What may the idle current be, and is the one that you read safe?",
        edition: 2,
        headline: &["anode-power", "highest-reading"],
        form: form::FORM,
        leaves_out: &[
            "Idle only: with signal, the anode and the screen may run hotter.",
            "Heat from the heater and from grid current is not counted; ratings do not count it either.",
            "The current to set assumes that the screen keeps its present share of the cathode current.",
            "Errors from a meter that loads the circuit, or is misled by ripple, are not corrected.",
        ],
        sources: &[&RATING_SYSTEMS, &GUM, &PRACTICE],
    };
    type Found = Found;

    fn ask(a: &mut Ask) -> Self {
        ask::ask(a)
    }

    fn work(&self) -> Result<Found, Impossible> {
        let anode_voltage = self.above_cathode(self.anode_voltage, "anode-voltage", "anode")?;
        let screen_voltage = self.above_cathode(self.screen_voltage, "screen-voltage", "screen")?;
        let valves = f64::from(self.sharing);
        let cathode_current = self.cathode_current / valves;
        let screen_current = self.screen.current(cathode_current);
        // Below nothing only at the end of a tolerance: there the screen takes all that reaches the cathode.
        let left = cathode_current - screen_current.unwrap_or_default();
        let anode_current = if left.si() > 0.0 { left } else { ElectricCurrent::of(0.0) };
        if self.lowest_target > self.target {
            return Err(Impossible {
                field: "lowest-target",
                message: "The lowest target is above the highest. Swap them, or lower this one.".to_owned(),
            });
        }
        let anode_power = anode_voltage * anode_current;
        let most = match self.spread {
            Spread::Alone => 1.0,
            // Nothing is known: one valve may take it all.
            Spread::Unknown => valves,
            Spread::Measured(above) => (1.0 + above.si()).min(valves),
        };
        // The screen's own share of the current is kept, so the anode's power grows with the valve's current.
        let rating = self.valve.anode_power.map(|figure| figure.value());
        let reading_for = |share: Ratio| -> Option<ElectricCurrent> {
            let anode = rating? * share / anode_voltage;
            let cathode_per_anode = match (left.si(), cathode_current.si()) {
                (left, _) if left > 0.0 => cathode_current / anode_current,
                (_, cathode) if cathode <= 0.0 => Ratio::of(1.0),
                // No reading leads there while the screen takes all.
                (left, _) if left < 0.0 => Ratio::of(f64::NAN),
                _ => return None,
            };
            Some(anode * cathode_per_anode * valves)
        };
        Ok(Found {
            asked: self.asked,
            cathode_current,
            anode_voltage,
            screen_voltage,
            screen_current,
            anode_current,
            anode_power,
            screen_power: screen_current.map(|current| screen_voltage * current),
            worst_power: (most > 1.0).then(|| anode_power * most),
            anode_share: rating.map(|rating| anode_power / rating),
            window: reading_for(self.lowest_target).zip(reading_for(self.target)),
        })
    }

    fn answers(found: &Found) -> Vec<Answer> {
        if found.asked == Asked::MayBe {
            return may_be::answers(found);
        }
        let mut answers = vec![
            Answer::new("anode-power", "P_a", "Anode dissipation, each valve", found.anode_power),
            Answer::new("anode-current", "I_a", "Anode current, each valve", found.anode_current),
        ];
        if let Some(share) = found.anode_share {
            answers.push(Answer::new("anode-share", "", "Share of the anode rating", share).not_below_zero());
        }
        if let Some(power) = found.screen_power {
            answers.push(Answer::new("screen-power", "P_g2", "Screen dissipation, each valve", power));
        }
        answers.push(Answer::new(
            "anode-to-cathode",
            "V_a",
            "Anode voltage, from the cathode",
            found.anode_voltage,
        ));
        answers.push(Answer::new(
            "screen-to-cathode",
            "V_g2",
            "Screen voltage, from the cathode",
            found.screen_voltage,
        ));
        if let Some(power) = found.worst_power {
            let name = "Anode dissipation, if one takes the most";
            answers.push(Answer::new("worst-anode-power", "P_a", name, power));
        }
        // Last, for they are the only ones that may have no answer.
        if let Some((low, high)) = found.window {
            answers.push(Answer::new("lowest-reading", "I_k", "Cathode reading for the lowest target", low));
            answers.push(Answer::new(
                "highest-reading",
                "I_k",
                "Cathode reading for the highest target",
                high,
            ));
        }
        answers
    }

    fn report(&self, found: &Found, margins: &Margins, report: &mut Report) {
        if self.asked == Asked::MayBe {
            return self.report_may_be(found, margins, report);
        }
        report.summary = self.summary(found);
        self.judge(found, margins, report);
        self.working(found, report);
        self.notes(report);
        report.picture = Some(self.picture(found, margins));
    }
}

impl Dissipation {
    /// A voltage from the cathode, however it was read.
    fn above_cathode(
        &self,
        read: ElectricPotential,
        field: &'static str,
        what: &str,
    ) -> Result<ElectricPotential, Impossible> {
        let voltage = read - self.cathode_voltage;
        if voltage.si() > 0.0 {
            return Ok(voltage);
        }
        let message = format!("The {what} would be below the cathode. Read both again, from the chassis.");
        Err(Impossible { field, message })
    }
}
