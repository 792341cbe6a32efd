//! The words of the answer: summary, verdicts, working, picture.

use super::{Bias, Dissipation, Found, Point, Screen, Spread};
use crate::calculator::{
    Axis, Limit, Margins, Mark, Picture, Report, Series, Standing, Verdict, named, number,
};
use crate::margin::Margin;
use crate::quantity::unit::{AMPERE, VOLT};
use crate::quantity::{ElectricCurrent, ElectricPotential, Power, Quantity, writing};
use crate::source::PRACTICE;
use crate::valve::Figure;

/// The fields that the voltages depend on, whatever makes the bias.
const ANODE: &[&str] = &["valve", "anode-voltage", "cathode-voltage"];
const SCREEN: &[&str] = &["valve", "screen-voltage", "cathode-voltage"];

fn judge_voltage(about: &str, margin: &Margin, limit: Option<Figure<ElectricPotential>>) -> Verdict {
    Verdict::at_most(about, margin, limit.map(|figure| figure.limit()), |standing| {
        let advice = match standing {
            Standing::Within => "Measured from the cathode, as ratings are.",
            Standing::NoPublishedLimit => "Look it up in the valve’s own data sheet.",
            _ => {
                "Many old amplifiers exceed it. Write it down and tell the owner; no new valve can be promised to last."
            }
        };
        advice.to_owned()
    })
}

impl Dissipation {
    pub(super) fn summary(&self, found: &Found) -> String {
        let share = match (found.anode_share, self.valve.anode_power) {
            (Some(share), Some(rating)) => format!(
                ", {:.0}\u{a0}% of the rating of {}",
                share.si() * 100.0,
                rating.said_of(&self.valve.name)
            ),
            _ => String::new(),
        };
        let counted =
            if found.screen_current.is_some() { "anode" } else { "cathode (all of it counted as anode)" };
        let each = if self.sharing > 1 { " for each valve, if they share equally" } else { "" };
        format!(
            "{} {counted} at {}: {}{each}{share}.",
            writing::nearest(found.anode_current.si(), &AMPERE),
            writing::repeated(found.anode_voltage.si(), &VOLT),
            writing::nearest(found.anode_power.si(), Power::UNIT),
        )
    }

    pub(super) fn judge(&self, found: &Found, margins: &Margins, report: &mut Report) {
        let rating = self.valve.anode_power.map(|figure| figure.limit());
        let anode = Verdict::at_most("Anode dissipation", &margins.of("anode-power"), rating, |standing| {
            let advice = match standing {
                Standing::Within => "At idle it is within the rating, with all tolerances counted.",
                Standing::Borderline => match self.bias {
                    Bias::Fixed => "The true value may exceed it. Set less current, or measure more closely.",
                    Bias::Cathode => {
                        "The true value may exceed it. Measure more closely; less current needs a larger cathode \
                         resistor."
                    }
                },
                Standing::Beyond => match self.bias {
                    Bias::Fixed => "Switch off, and set a more negative bias before you switch on again.",
                    Bias::Cathode => {
                        "Switch off. Find the fault (a drifted cathode resistor, a shorted bypass capacitor, a leaky \
                         coupling capacitor, a gassy valve), or fit a larger cathode resistor, before you switch on \
                         again."
                    }
                },
                _ => "Type the rating from the valve’s own data sheet.",
            };
            advice.to_owned()
        });
        report.verdicts.push(self.shared(found, anode, margins, rating));
        let screen_rating = self.valve.screen_power.map(|figure| figure.limit());
        report.verdicts.push(if found.screen_power.is_some() {
            Verdict::at_most("Screen dissipation", &margins.of("screen-power"), screen_rating, |standing| {
                let advice = match standing {
                    Standing::Within => "This is at idle; full drive heats the screen far more.",
                    Standing::NoPublishedLimit => "Type the rating from the valve’s own data sheet.",
                    _ => "Find out why the screen draws so much: anode voltage missing, wrong stopper, tired valve.",
                };
                advice.to_owned()
            })
        } else {
            let advice = "Read the drop across the screen stopper: without it the screen’s dissipation is not known.";
            Verdict::new("Screen dissipation", Standing::CannotTell, screen_rating, advice.to_owned())
        });
        report.verdicts.push(self.judge_anode_voltage(margins));
        let (screen, limit) = (margins.of("screen-to-cathode"), self.valve.screen_voltage);
        report.verdicts.push(judge_voltage("Screen voltage", &screen, limit).depending_on(SCREEN));
        if let Some(rating) = self.valve.anode_power {
            let target = rating.value() * self.target;
            let habit = Limit::new(target, "rule of thumb", &PRACTICE);
            let about = format!("{:.0}\u{a0}% of the rating", self.target.si() * 100.0);
            report.verdicts.push(Verdict::at_most(
                about,
                &margins.of("anode-power"),
                Some(habit),
                |standing| {
                    let advice = match standing {
                        Standing::Within => {
                            "Less current is not a fault as long as it sounds right, without harsh \
                                         crossover."
                        }
                        _ => "More than is usual for this kind of bias; the rating itself is higher.",
                    };
                    advice.to_owned()
                },
            ));
        }
    }

    pub(super) fn judge_anode_voltage(&self, margins: &Margins) -> Verdict {
        let margin = margins.of("anode-to-cathode");
        judge_voltage("Anode voltage", &margin, self.valve.anode_voltage).depending_on(ANODE)
    }

    /// A reading shared by valves can hide one over its limit: the valve that takes the most is judged, all of the current
    /// where their spread is unknown.
    fn shared(&self, found: &Found, mean: Verdict, margins: &Margins, rating: Option<Limit>) -> Verdict {
        let (Some(limit), Some(worst)) = (rating, found.worst_power) else { return mean };
        let most = margins.of("worst-anode-power");
        let one = writing::nearest(worst.si(), Power::UNIT);
        let set = match self.bias {
            Bias::Fixed => "set the bias",
            Bias::Cathode => "choose the cathode resistor",
        };
        let measured = matches!(self.spread, Spread::Measured(_));
        let worst = Verdict::at_most(mean.about.clone(), &most, Some(limit), |standing| match standing {
            Standing::Within if measured => "The valve that takes the most is within it as well.".to_owned(),
            Standing::Within => {
                format!("Even a valve that carries all of the current, {one}, is within it.")
            }
            Standing::Beyond => {
                format!("The valve that takes the most is at {one}. Switch off, and {set} for that valve.")
            }
            _ => format!("The valve that takes the most is at {one}: {set} for that valve."),
        });
        // Nobody knows that one valve takes it all: this can clear the others, but not condemn them.
        match mean.standing {
            _ if measured || worst.standing == Standing::Within => worst,
            Standing::Within => {
                let advice = format!(
                    "Shared equally, they are within it; but one valve may carry up to {one}. Read each cathode \
                     separately, or type their spread."
                );
                Verdict::new(mean.about, Standing::Borderline, Some(limit), advice)
            }
            _ => mean,
        }
    }

    pub(super) fn working(&self, found: &Found, report: &mut Report) {
        let lifted =
            |report: &mut Report, [symbol, above]: [&'static str; 2], read, result| match self.anode_to {
                Point::Cathode => report.state("Read from the cathode, as ratings are.", symbol, result),
                Point::Chassis => {
                    let formula = named(symbol, read) - named("V_k", self.cathode_voltage);
                    report.step("Ratings are from the cathode.", above, formula, result)
                }
            };
        let anode_voltage = lifted(report, ["V_a", "V_a,k"], self.anode_voltage, found.anode_voltage);
        let screen_voltage = lifted(report, ["V_g2", "V_g2,k"], self.screen_voltage, found.screen_voltage);
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
                    report.step("The screen current flows through its stopper.", "I_g2", formula, current)
                }
                Screen::Estimated(share) => {
                    let formula = cathode.clone() * named("k", *share);
                    report.step("An estimate: the screen’s share is not measured.", "I_g2", formula, current)
                }
                _ => named("I_g2", current),
            };
            let formula = cathode.clone() - screen.clone();
            let says = "The cathode carries both currents; subtract the screen’s.";
            anode = report.step(says, "I_a", formula, found.anode_current);
            if let Some(power) = found.screen_power {
                let formula = screen_voltage * screen;
                report.step("The screen’s dissipation.", "P_g2", formula, power);
            }
        }
        if found.screen_current.is_none() {
            let says =
                "The screen current is not known: all of the cathode current is counted as the anode’s.";
            anode = report.step(says, "I_a", cathode.clone(), found.anode_current);
        }
        let formula = anode_voltage.clone() * anode.clone();
        let power = report.step("The anode’s dissipation.", "P_a", formula, found.anode_power);
        if let Some(worst) = found.worst_power {
            let (says, most) = match self.spread {
                Spread::Measured(above) if worst < found.anode_power * f64::from(self.sharing) => {
                    ("The valve that takes the most.", number(1.0) + named("s", above))
                }
                _ => ("If one valve takes all of it.", number(f64::from(self.sharing))),
            };
            report.step(says, "P_a,1", most * power.clone(), worst);
        }
        let (Some(rating), Some(share)) = (self.valve.anode_power, found.anode_share) else { return };
        let rated = named("P_a,max", rating.value());
        report.step("As a share of the rating.", "P_a / P_a,max", power / rated.clone(), share);
        let Some((low, high)) = found.window else { return };
        for (says, [symbol, name], target, reading) in [
            (
                "The reading at the lowest target, the screen keeping its share.",
                ["I_k,y", "y"],
                self.lowest_target,
                low,
            ),
            ("The reading at the highest target.", ["I_k,x", "x"], self.target, high),
        ] {
            let mut formula = named(name, target) * rated.clone() / anode_voltage.clone();
            if found.anode_current.si() > 0.0 {
                formula = formula * (cathode.clone() / anode.clone());
            }
            if self.sharing > 1 {
                formula = formula * number(f64::from(self.sharing));
            }
            report.step(says, symbol, formula, reading);
        }
    }

    pub(super) fn notes(&self, report: &mut Report) {
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
                "With cathode bias the cathode resistor sets the current; the reading for a target shows what a \
                 change of resistor should lead to."
                    .to_owned(),
            );
        }
        let screen_voltage = self.valve.screen_voltage.map(|figure| ("screen voltage", figure.note));
        let anode_power = self.valve.anode_power.map(|figure| ("anode dissipation", figure.note));
        for (of, note) in [anode_power, screen_voltage].into_iter().flatten() {
            if !note.is_empty() {
                report.notes.push(format!("On the limit of {of}: {note}."));
            }
        }
    }

    /// The plane of anode voltage and current: the rating, the target, and the reading with its margin.
    pub(super) fn picture(&self, found: &Found, margins: &Margins) -> Picture {
        self.picture_of(found, found.anode_current, "your reading", margins)
    }

    /// The same with this anode current in the reading's place.
    pub(super) fn picture_of(
        &self,
        found: &Found,
        anode_current: ElectricCurrent,
        name: &str,
        margins: &Margins,
    ) -> Picture {
        let (volts, amperes) = (margins.of("anode-to-cathode"), margins.of("anode-current"));
        let reach = |rating: f64| rating / (found.anode_voltage.si() * 0.5);
        let rating = self.valve.anode_power.map(|figure| figure.value().si());
        let x = Axis::even("Anode voltage", &VOLT, 0.0, found.anode_voltage.si() * 1.5);
        let top = (anode_current.si() * 1.3).max(rating.map_or(0.0, reach)).max(1e-6);
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
                name: "the margin of the reading".to_owned(),
                mark: Mark::Margin,
                points: corners,
            });
        }
        let here = (found.anode_voltage.si(), anode_current.si());
        series.push(Series { name: name.to_owned(), mark: Mark::Point, points: vec![here] });
        let place = match rating {
            Some(rating) if here.0 * here.1 > rating => "above the curve of the rating",
            Some(_) => "below the curve of the rating",
            None => "with no rating to compare it with",
        };
        Picture {
            title: "Where the valve idles".to_owned(),
            description: format!(
                "The dot, {name}: {} and {}, {place}.",
                writing::nearest(here.0, &VOLT),
                writing::nearest(here.1, &AMPERE)
            ),
            x,
            y,
            series,
        }
    }
}
