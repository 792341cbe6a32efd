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

use crate::calculator::{
    Answer, Ask, Axis, Calculator, Impossible, Limit, Margins, Mark, Picture, Report, Series, Sheet,
    Standing, Verdict, named, number,
};
use crate::quantity::unit::{AMPERE, VOLT};
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
        let anode_to = a.choice(
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
        let sharing = a.count("sharing", "Valves that share the reading", "1", 8);
        let spread = match sharing {
            1 => Spread::Alone,
            _ => {
                let known = a.choice(
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
        let how = a.choice(
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
                a.quantity("screen-share", "k", "Screen’s share of the cathode current", "5 %")
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
                .quantity("lowest-target", "", "Lowest target", low)
                .hint(practice)
                .within("1 %", "100 %")
                .get(),
            target: a
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
            answers.push(Answer::new("anode-share", "", "Share of the anode rating", share));
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

    fn summary(&self, found: &Found) -> String {
        let share = match (found.anode_share, self.valve.anode_power) {
            (Some(share), Some(rating)) => format!(
                ", {:.0}\u{a0}% of the {} that the sheet of the {} allows",
                share.si() * 100.0,
                writing::repeated(rating.value().si(), Power::UNIT),
                self.valve.name
            ),
            _ => String::new(),
        };
        let counted =
            if found.screen_current.is_some() { "anode" } else { "cathode (all of it counted as anode)" };
        let each = if self.sharing > 1 { " for each valve, if they share alike" } else { "" };
        format!(
            "{} {counted} at {}: {}{each}{share}.",
            writing::nearest(found.anode_current.si(), &AMPERE),
            writing::repeated(found.anode_voltage.si(), &VOLT),
            writing::nearest(found.anode_power.si(), Power::UNIT),
        )
    }

    fn judge(&self, found: &Found, margins: &Margins, report: &mut Report) {
        let rating = self.valve.anode_power.map(|figure| figure.limit());
        let anode = Verdict::at_most("Anode dissipation", &margins.of("anode-power"), rating, |standing| {
            let advice = match standing {
                Standing::Within => "The idle state is inside the sheet’s rating with the whole margin.",
                Standing::Borderline => "The true value may be over. Set less current, or read more closely.",
                Standing::Beyond => "Switch off and set more negative bias before it is on again.",
                Standing::NoPublishedLimit => "Type the rating from the valve’s own sheet.",
                Standing::CannotTell => "Read again: part of the tolerance gives no answer.",
            };
            advice.to_owned()
        });
        report.verdicts.push(self.shared(found, anode, margins, rating));
        let screen_rating = self.valve.screen_power.map(|figure| figure.limit());
        report.verdicts.push(if found.screen_power.is_some() {
            Verdict::at_most("Screen dissipation", &margins.of("screen-power"), screen_rating, |standing| {
                let advice = match standing {
                    Standing::Within => "At idle; full drive heats the screen far more.",
                    Standing::NoPublishedLimit => "Type the rating from the valve’s own sheet.",
                    _ => "Find out why the screen draws so much: anode voltage missing, wrong stopper, tired valve.",
                };
                advice.to_owned()
            })
        } else {
            let advice = "Read the drop over the screen stopper: without it the screen’s heat is not known.";
            Verdict::new("Screen dissipation", Standing::CannotTell, screen_rating, advice.to_owned())
        });
        for (about, id, limit) in [
            ("Anode voltage", "anode-to-cathode", self.valve.anode_voltage),
            ("Screen voltage", "screen-to-cathode", self.valve.screen_voltage),
        ] {
            let margin = margins.of(id);
            report.verdicts.push(Verdict::at_most(about, &margin, limit.map(|figure| figure.limit()), |standing| {
                let advice = match standing {
                    Standing::Within => "Measured from the cathode, as the sheet counts it.",
                    Standing::NoPublishedLimit => "Look it up on the valve’s own sheet.",
                    _ => "Many old amplifiers run over it. Write it down and tell the owner; no new valve is promised to last.",
                };
                advice.to_owned()
            }));
        }
        if let Some(rating) = self.valve.anode_power {
            let target = rating.value() * self.target;
            let habit = Limit::new(target, "rule of thumb", &PRACTICE);
            let about = format!("{:.0}\u{a0}% of the rating", self.target.si() * 100.0);
            report.verdicts.push(Verdict::at_most(about, &margins.of("anode-power"), Some(habit), |standing| {
                let advice = match standing {
                    Standing::Within => "Less current is no fault as long as it sounds right and does not cross over harshly.",
                    _ => "More than the habit of the trade for this kind of bias; the sheet’s rating stands above it.",
                };
                advice.to_owned()
            }));
        }
    }

    /// A reading shared by valves can hide one over its limit: never *within* unless their spread is known.
    fn shared(&self, found: &Found, mean: Verdict, margins: &Margins, rating: Option<Limit>) -> Verdict {
        let (Some(limit), true) = (rating, found.worst_power > found.anode_power) else { return mean };
        let most = margins.of("worst-anode-power");
        let one = writing::nearest(found.worst_power.si(), Power::UNIT);
        match (&self.spread, mean.standing) {
            (Spread::Unknown, Standing::Within) => {
                let advice = format!(
                    "Alike, they are inside it; but one valve may carry up to {one}. Read each cathode apart, or type \
                     their spread."
                );
                Verdict::new(mean.about, Standing::Borderline, Some(limit), advice)
            }
            (Spread::Measured(_), Standing::Within) => {
                let advice = |standing: Standing| match standing {
                    Standing::Within => "The valve that takes the most is inside it as well.".to_owned(),
                    _ => format!("The valve that takes the most is at {one}: set the bias by that valve."),
                };
                Verdict::at_most(mean.about, &most, Some(limit), advice)
            }
            _ => mean,
        }
    }

    fn working(&self, found: &Found, report: &mut Report) {
        let lifted = |report: &mut Report, symbol, read, result| match self.anode_to {
            Point::Cathode => named(symbol, read),
            Point::Chassis => {
                let formula = named(symbol, read) - named("V_k", self.cathode_voltage);
                report.step("The rating counts from the cathode.", "V_a,k", formula, result)
            }
        };
        let anode_voltage = lifted(report, "V_a", self.anode_voltage, found.anode_voltage);
        let mut cathode = named("I_k", self.cathode_current);
        if self.sharing > 1 {
            let formula = cathode / number(f64::from(self.sharing));
            cathode = report.step(
                "The mean of the valves that share the reading.",
                "I_k,1",
                formula,
                found.cathode_current,
            );
        }
        let mut anode = cathode.clone();
        if let Some(current) = found.screen_current {
            let screen = match &self.screen {
                Screen::Stopper { drop, resistor } => {
                    let formula = named("V_s", *drop) / named("R_s", *resistor);
                    report.step("The screen’s current passes its stopper.", "I_g2", formula, current)
                }
                Screen::Estimated(share) => {
                    let formula = cathode.clone() * named("k", *share);
                    report.step("An estimate: the screen’s share is not measured.", "I_g2", formula, current)
                }
                _ => named("I_g2", current),
            };
            let formula = cathode.clone() - screen.clone();
            anode = report.step(
                "The cathode carries both currents; take the screen’s away.",
                "I_a",
                formula,
                found.anode_current,
            );
            if let Some(power) = found.screen_power {
                let formula = named("V_g2", found.screen_voltage) * screen;
                report.step("The screen’s heat.", "P_g2", formula, power);
            }
        }
        let formula = anode_voltage.clone() * anode.clone();
        let power = report.step("The anode’s heat.", "P_a", formula, found.anode_power);
        if let (Some(rating), Some(share), Some((_, high))) =
            (self.valve.anode_power, found.anode_share, found.window)
        {
            let rated = named("P_a,max", rating.value());
            report.step("Against the rating.", "P_a / P_a,max", power / rated.clone(), share);
            if found.anode_current.si() > 0.0 {
                let mut formula = named("x", self.target) * rated / anode_voltage * (cathode / anode);
                if self.sharing > 1 {
                    formula = formula * number(f64::from(self.sharing));
                }
                report.step(
                    "The reading at the highest target, the screen keeping its share.",
                    "I_k,x",
                    formula,
                    high,
                );
            }
        }
    }

    fn notes(&self, report: &mut Report) {
        match self.screen {
            Screen::Estimated(_) => report.notes.push(
                "The screen current is estimated, not measured; its wide tolerance is counted in the margins.".to_owned(),
            ),
            Screen::Unknown => report.notes.push(
                "The screen current is not known, so all the cathode current is counted as anode current: the anode is \
                 judged too hot rather than too cool."
                    .to_owned(),
            ),
            _ => {}
        }
        if self.bias == Bias::Cathode {
            report.notes.push(
                "With cathode bias the current is set by the cathode resistor; the reading for a target says where a \
                 change of resistor should lead."
                    .to_owned(),
            );
        }
        if let Some(figure) = self.valve.anode_power
            && !figure.note.is_empty()
        {
            report.notes.push(format!("On the anode rating: {}.", figure.note));
        }
    }

    /// The plane of anode voltage and current: the rating, the target, and the reading with its margin.
    fn picture(&self, found: &Found, margins: &Margins) -> Picture {
        let (volts, amperes) = (margins.of("anode-to-cathode"), margins.of("anode-current"));
        let reach = |rating: f64| rating / (found.anode_voltage.si() * 0.5);
        let rating = self.valve.anode_power.map(|figure| figure.value().si());
        let x = Axis::even("Anode voltage", &VOLT, 0.0, found.anode_voltage.si() * 1.5);
        let top = (found.anode_current.si() * 1.3).max(rating.map_or(0.0, reach)).max(1e-6);
        let y = Axis::even("Anode current", &AMPERE, 0.0, top);
        let hyperbola = |power: f64| {
            // From where the curve enters the picture at its top to the right-hand edge.
            let from = (power / top).min(x.to);
            let step = (x.to - from) / 24.0;
            (0..=24u8).map(|at| from + step * f64::from(at)).map(|volts| (volts, power / volts)).collect()
        };
        let mut series = Vec::new();
        if let Some(rating) = rating {
            series.push(Series {
                name: format!("rating, {}", writing::repeated(rating, Power::UNIT)),
                mark: Mark::Limit,
                points: hyperbola(rating),
            });
            let target = rating * self.target.si();
            series.push(Series {
                name: format!("target, {}", writing::nearest(target, Power::UNIT)),
                mark: Mark::Target,
                points: hyperbola(target),
            });
        }
        if volts.known && amperes.known {
            let corners = vec![
                (volts.low, amperes.low),
                (volts.high, amperes.low),
                (volts.high, amperes.high),
                (volts.low, amperes.high),
            ];
            series.push(Series {
                name: "as far as it may be off".to_owned(),
                mark: Mark::Margin,
                points: corners,
            });
        }
        let here = (found.anode_voltage.si(), found.anode_current.si());
        series.push(Series { name: "your reading".to_owned(), mark: Mark::Point, points: vec![here] });
        let place = match rating {
            Some(rating) if found.anode_power.si() > rating => "above the curve of the rating",
            Some(_) => "below the curve of the rating",
            None => "in a plane without a rating",
        };
        Picture {
            title: "Where the valve idles".to_owned(),
            description: format!(
                "Your reading, {} and {}, lies {place}.",
                writing::nearest(here.0, &VOLT),
                writing::nearest(here.1, &AMPERE)
            ),
            x,
            y,
            series,
        }
    }
}
