//! The words of the answer: summary, verdicts, working, picture.

use super::{Bias, Dissipation, Found, Point, Screen, Spread};
use crate::calculator::{
    Axis, Limit, Margins, Mark, Picture, Report, Series, Standing, Verdict, named, number,
};
use crate::quantity::unit::{AMPERE, VOLT};
use crate::quantity::{Power, Quantity, writing};
use crate::source::PRACTICE;

/// The fields that the voltages depend on, whatever makes the bias.
const ANODE: &[&str] = &["valve", "anode-voltage", "cathode-voltage"];
const SCREEN: &[&str] = &["valve", "screen-voltage", "cathode-voltage"];

impl Dissipation {
    pub(super) fn summary(&self, found: &Found) -> String {
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

    pub(super) fn judge(&self, found: &Found, margins: &Margins, report: &mut Report) {
        let rating = self.valve.anode_power.map(|figure| figure.limit());
        let anode = Verdict::at_most("Anode dissipation", &margins.of("anode-power"), rating, |standing| {
            let advice = match standing {
                Standing::Within => "The idle state is inside the sheet’s rating with the whole margin.",
                Standing::Borderline => match self.bias {
                    Bias::Fixed => "The true value may be over. Set less current, or read more closely.",
                    Bias::Cathode => {
                        "The true value may be over. Read more closely; less current needs a larger cathode resistor."
                    }
                },
                Standing::Beyond => match self.bias {
                    Bias::Fixed => "Switch off and set more negative bias before it is on again.",
                    Bias::Cathode => {
                        "Switch off. Find the fault (a drifted cathode resistor, a shorted bypass capacitor, a leaky coupling \
                         capacitor, a gassy valve), or fit a larger cathode resistor, before it is on again."
                    }
                },
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
        for (about, id, limit, fields) in [
            ("Anode voltage", "anode-to-cathode", self.valve.anode_voltage, ANODE),
            ("Screen voltage", "screen-to-cathode", self.valve.screen_voltage, SCREEN),
        ] {
            let margin = margins.of(id);
            let verdict = Verdict::at_most(about, &margin, limit.map(|figure| figure.limit()), |standing| {
                let advice = match standing {
                    Standing::Within => "Measured from the cathode, as the sheet counts it.",
                    Standing::NoPublishedLimit => "Look it up on the valve’s own sheet.",
                    _ => {
                        "Many old amplifiers run over it. Write it down and tell the owner; no new valve is promised to last."
                    }
                };
                advice.to_owned()
            });
            report.verdicts.push(verdict.leaning_on(fields));
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
                    _ => {
                        let set = match self.bias {
                            Bias::Fixed => "set the bias",
                            Bias::Cathode => "choose the cathode resistor",
                        };
                        format!("The valve that takes the most is at {one}: {set} by that valve.")
                    }
                };
                Verdict::at_most(mean.about, &most, Some(limit), advice)
            }
            _ => mean,
        }
    }

    pub(super) fn working(&self, found: &Found, report: &mut Report) {
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
                "With cathode bias the current is set by the cathode resistor; the reading for a target says where a \
                 change of resistor should lead."
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
