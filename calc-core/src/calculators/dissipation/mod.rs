//! Dissipation: is the idle current safe, and what to set it to.
//!
//! ```text
//! I_a  = I_k − I_g2                 cathode current is not anode current
//! P_a  = V_a I_a    P_g2 = V_g2 I_g2    voltages from cathode, not from chassis
//! I_k* = share · P_a,max / V_a · I_k / I_a    the cathode current to set for a share of the rating
//! ```
//!
//! Units: V, A, W. Range: any readings within the fields' own. Errors: a screen that draws more than the cathode gives.
//! Source: definitions; ratings from the valve table; the target shares are common practice, no source.

#[cfg(test)]
mod tests;
mod words;

use crate::calculator::{Answer, Ask, Calculator, Impossible, Margins, Report, Sheet};
use crate::quantity::unit::AMPERE;
use crate::quantity::{
    ElectricCurrent, ElectricPotential, ElectricalResistance, Power, Quantity, Ratio, writing,
};
use crate::source::{GUM, PRACTICE, RATING_SYSTEMS};
use crate::valve::{Ratings, ask_output_valve};

/// The readings, as taken, and what they are to be held against.
pub struct Dissipation {
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

#[derive(Clone, Copy)]
enum ScreenHow {
    Stopper,
    Current,
    Estimated,
    Unknown,
}

/// What was found, for one valve unless said otherwise.
pub struct Found {
    cathode_current: ElectricCurrent,
    anode_voltage: ElectricPotential,
    screen_voltage: ElectricPotential,
    screen_current: Option<ElectricCurrent>,
    anode_current: ElectricCurrent,
    anode_power: Power,
    screen_power: Option<Power>,
    /// If one valve takes all that the spread allows.
    worst_power: Power,
    anode_share: Option<Ratio>,
    /// The reading, of all valves that share it, at the lowest and the highest target.
    window: Option<(ElectricCurrent, ElectricCurrent)>,
}

impl Calculator for Dissipation {
    const SHEET: &'static Sheet = &Sheet {
        id: "dissipation",
        title: "Dissipation at idle",
        question: "Is the idle current safe, and what is it to be set to?",
        edition: 1,
        leaves_out: &[
            "Only the idle state: with signal, anode and screen may run hotter than at idle.",
            "Heat from the heater and from grid current is not counted; ratings do not count it either.",
            "The current to set takes the screen’s share of the cathode current as it is now.",
            "A meter that loads the circuit, or ripple that fools it, is not corrected.",
        ],
        sources: &[&RATING_SYSTEMS, &GUM, &PRACTICE],
    };
    type Found = Found;

    fn ask(a: &mut Ask) -> Self {
        let valve = ask_output_valve(a, "6L6GC");
        let bias = a.choice(
            "bias",
            "Bias",
            "",
            &[
                ("fixed", "fixed, a negative supply", Bias::Fixed),
                ("cathode", "cathode, by a resistor", Bias::Cathode),
            ],
        );
        let anode_to = a.usual().choice(
            "anode-from",
            "Voltages read from",
            "The rating counts from the cathode.",
            &[("cathode", "the valve’s cathode", Point::Cathode), ("chassis", "the chassis", Point::Chassis)],
        );
        let volts = |a: &mut Ask, id, symbol, name, default| -> ElectricPotential {
            a.quantity(id, symbol, name, default).within("1 V", "1500 V").tolerance("1 %").get()
        };
        let anode_voltage = volts(a, "anode-voltage", "V_a", "Anode voltage", "438 V");
        let screen_voltage = volts(a, "screen-voltage", "V_g2", "Screen voltage", "434 V");
        let cathode_voltage = match anode_to {
            Point::Cathode => ElectricPotential::of(0.0),
            Point::Chassis => a
                .quantity("cathode-voltage", "V_k", "Cathode voltage, to chassis", "0.034 V")
                .within("0 V", "150 V")
                .tolerance("1 %")
                .get(),
        };
        let sharing = a.usual().count("sharing", "Valves that share the reading", "1", 8);
        let spread = match sharing {
            1 => Spread::Alone,
            _ => {
                let known = a.usual().choice(
                    "spread",
                    "How they divide it",
                    "A shared reading can hide one valve over its limit.",
                    &[("unknown", "not measured", false), ("measured", "measured apart", true)],
                );
                if known {
                    let most =
                        a.quantity("spread-percent", "s", "Most one valve takes above the mean", "10 %");
                    Spread::Measured(most.within("0 %", "700 %").get())
                } else {
                    Spread::Unknown
                }
            }
        };
        let cathode_current = a
            .quantity("cathode-current", "I_k", "Cathode current, as read", "34 mA")
            .hint("Of all valves that share the reading. 34 mV over 1 Ω is 34 mA.")
            .within("0 A", "4 A")
            .tolerance("1.5 %")
            .get();
        let how = a.usual().choice(
            "screen-how",
            "Screen current",
            "For each valve.",
            &[
                ("stopper", "by the drop over its stopper", ScreenHow::Stopper),
                ("current", "read as a current", ScreenHow::Current),
                ("estimated", "estimated, a share of cathode’s", ScreenHow::Estimated),
                ("unknown", "not known", ScreenHow::Unknown),
            ],
        );
        let screen = match how {
            ScreenHow::Stopper => Screen::Stopper {
                drop: a
                    .quantity("screen-drop", "V_s", "Drop over the screen stopper", "0.705 V")
                    .within("0 V", "200 V")
                    .tolerance("1 %")
                    .get(),
                resistor: a
                    .quantity("screen-stopper", "R_s", "Screen stopper", "470R")
                    .within("0R1", "100k")
                    .tolerance("5 %")
                    .get(),
            },
            ScreenHow::Current => Screen::Current(
                a.quantity("screen-current", "I_g2", "Screen current", "1.5 mA")
                    .within("0 A", "1 A")
                    .tolerance("2 %")
                    .get(),
            ),
            ScreenHow::Estimated => Screen::Estimated(
                a.usual()
                    .quantity("screen-share", "k", "Screen’s share of the cathode current", "5 %")
                    .hint("Common practice, no source: 3 to 15 % at idle, by type.")
                    .within("0 %", "50 %")
                    .tolerance("60 %")
                    .get(),
            ),
            ScreenHow::Unknown => Screen::Unknown,
        };
        let (low, high) = match bias {
            Bias::Fixed => ("60 %", "70 %"),
            Bias::Cathode => ("80 %", "90 %"),
        };
        let practice = "Share of the anode rating. Common practice, no source.";
        Self {
            lowest_target: a
                .usual()
                .quantity("lowest-target", "", "Lowest target", low)
                .hint(practice)
                .within("1 %", "100 %")
                .get(),
            target: a
                .usual()
                .quantity("target", "", "Highest target", high)
                .hint(practice)
                .within("1 %", "100 %")
                .get(),
            valve,
            bias,
            anode_to,
            anode_voltage,
            cathode_voltage,
            sharing,
            spread,
            cathode_current,
            screen,
            screen_voltage,
        }
    }

    fn work(&self) -> Result<Found, Impossible> {
        let anode_voltage = self.above_cathode(self.anode_voltage, "anode-voltage", "anode")?;
        let screen_voltage = self.above_cathode(self.screen_voltage, "screen-voltage", "screen")?;
        let valves = f64::from(self.sharing);
        let cathode_current = self.cathode_current / valves;
        let screen_current = match &self.screen {
            Screen::Stopper { drop, resistor } => Some(*drop / *resistor),
            Screen::Current(current) => Some(*current),
            Screen::Estimated(share) => Some(cathode_current * *share),
            Screen::Unknown => None,
        };
        let anode_current = cathode_current - screen_current.unwrap_or_default();
        if anode_current.si() < 0.0 {
            return Err(Impossible {
                field: "cathode-current",
                message: format!(
                    "The screen draws {}, more than the {} that reach the cathode. Read both again: the drop over the \
                     screen stopper, and which valves the cathode reading is the sum of.",
                    writing::nearest(screen_current.unwrap_or_default().si(), &AMPERE),
                    writing::nearest(cathode_current.si(), &AMPERE),
                ),
            });
        }
        if self.lowest_target > self.target {
            return Err(Impossible {
                field: "lowest-target",
                message: "The lowest target lies above the highest. Swap them, or lower this one.".to_owned(),
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
            let cathode_per_anode =
                if anode_current.si() > 0.0 { cathode_current / anode_current } else { Ratio::of(1.0) };
            Some(anode * cathode_per_anode * valves)
        };
        Ok(Found {
            cathode_current,
            anode_voltage,
            screen_voltage,
            screen_current,
            anode_current,
            anode_power,
            screen_power: screen_current.map(|current| screen_voltage * current),
            worst_power: anode_power * most,
            anode_share: rating.map(|rating| anode_power / rating),
            window: reading_for(self.lowest_target).zip(reading_for(self.target)),
        })
    }

    fn answers(found: &Found) -> Vec<Answer> {
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
        if let Some((low, high)) = found.window {
            answers.push(Answer::new("lowest-reading", "I_k", "Cathode reading for the lowest target", low));
            answers.push(Answer::new(
                "highest-reading",
                "I_k",
                "Cathode reading for the highest target",
                high,
            ));
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
        if found.worst_power > found.anode_power {
            answers.push(Answer::new(
                "worst-anode-power",
                "P_a",
                "Anode dissipation, if one takes the most",
                found.worst_power,
            ));
        }
        answers
    }

    fn report(&self, found: &Found, margins: &Margins, report: &mut Report) {
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
        let message = format!("The {what} would lie below the cathode. Read both again, from the chassis.");
        Err(Impossible { field, message })
    }
}
