//! Stop figures: the readings at which the mains goes off, worked out before the mains goes on.
//!
//! ```text
//! fixed bias     I_k = P_a,max / V_a,high             all the cathode current counted as the anode's
//! cathode bias   I_k = 1.1 (1 + k) P_a,max / V_a      k: the screen's share, beside the anode's current
//! screen         V_s = R_s P_g2,max / V_g2 / 2        half the rated heat, at idle
//! bias           V   = V_g1 V_now / V_marked          the winding follows the mains
//!                V_m = V R_m / (R_m + R_series)       R_series: bias feed, grid leak, grid stopper
//! ```
//!
//! Units: V, A, Ω, W. Range: any within the fields' own. Errors: none beyond those. Source: ratings from the valve table;
//! the tenth above the rating, the half of the screen's watts and the screen's share are common practice, no source.

use super::questions::reading::VOLTMETER;
use super::questions::{bias, mains, stage, valve};
use crate::calculator::{
    Answer, Ask, Calculator, Expr, Impossible, Limit, Margins, Report, Section, Sheet, Standing, Verdict,
    named, number,
};
use crate::quantity::unit::{AMPERE, VOLT};
use crate::quantity::{
    ElectricCurrent, ElectricPotential, ElectricalResistance, Power, Quantity, Ratio, writing,
};
use crate::source::{GUM, PRACTICE, Source};
use crate::valve::{Kind, Ratings, ask_output_valve};

/// How far above its rating a cathode-biased valve may read: it idles close to the rating.
const ABOVE_THE_RATING: f64 = 1.1;

/// The share of the screen's rated watts at which an idle valve is stopped.
const SCREEN_AT_IDLE: f64 = 0.5;

/// The resistor at the grid's tag, in the meter's lead, through which a grid may be read with the HT on.
const LEAD: f64 = 1e6;

/// The share of a bias that a meter may take off by its own load.
const METER_LOAD: f64 = 0.05;

/// The valve, the voltages across it, and how its bias is made and read.
pub struct StopFigures {
    valve: Ratings,
    way: Way,
    screen: ElectricPotential,
    stopper: ElectricalResistance,
}

/// Where the bias comes from decides which limit applies to the current.
enum Way {
    Fixed { highest: ElectricPotential, bias: Bias },
    Cathode { anode: ElectricPotential, screen_share: Ratio },
}

/// A fixed bias, and the meter that reads it.
struct Bias {
    expected: ElectricPotential,
    marked: ElectricPotential,
    measured: ElectricPotential,
    leak: ElectricalResistance,
    stopper: ElectricalResistance,
    source: ElectricalResistance,
    meter: ElectricalResistance,
}

/// The figures at which to stop; those that the valve's data sheet says nothing about are absent.
pub struct Found {
    cathode_current: Option<ElectricCurrent>,
    screen_drop: Option<ElectricPotential>,
    /// The anode voltage that the stop figure was worked out from.
    counted: ElectricPotential,
    /// The most its data sheet allows between anode and cathode.
    anode_voltage: Option<ElectricPotential>,
    /// Where the limits of anode heat, screen heat and anode voltage come from.
    sources: [Option<&'static Source>; 3],
    bias: Option<BiasRead>,
}

struct BiasRead {
    /// At the grid, with nothing on it.
    true_bias: ElectricPotential,
    /// As the meter shows it at the grid's tag.
    shown: ElectricPotential,
    /// The same through 1 MΩ in the meter's lead.
    through_lead: ElectricPotential,
    /// What the meter takes off.
    load: Ratio,
}

impl Calculator for StopFigures {
    const SHEET: &'static Sheet = &Sheet {
        id: "stop-figures",
        title: "Stop figures",
        question: "At which readings must you switch off?",
        edition: 2,
        headline: &["cathode-current"],
        form: &[
            Section {
                name: "Valve",
                fields: &[
                    "valve",
                    "sheet",
                    "anode-rating",
                    "screen-rating",
                    "bias-feed",
                    "highest-voltage",
                    "anode-voltage",
                    "screen-voltage",
                    "screen-stopper",
                ],
                more: &["screen-share"],
            },
            Section {
                name: "Bias",
                fields: &["bias-expected", "mains-marked", "mains-measured", "grid-leak"],
                more: &["meter-resistance", "grid-stopper", "bias-source"],
            },
        ],
        leaves_out: &[
            "With fixed bias all the cathode current counts as anode current, at the highest voltage: the stop comes early.",
            "Stop figures are for idle. Signal heats the screen far more.",
            "A stabilised bias does not follow the mains.",
            "Grid current, gas and a leaky coupling capacitor move the bias; the expected figure allows for none of \
             them.",
        ],
        sources: &[&GUM, &PRACTICE],
    };
    type Found = Found;

    fn ask(a: &mut Ask) -> Self {
        let valve = ask_output_valve(a, "6L6GC");
        let cathode = a.choice(
            "bias-feed",
            "Where the bias comes from",
            "",
            &[
                ("tap", "a tap or winding of its own", false),
                ("ht", "the HT winding", false),
                ("cathode", "the cathode resistor", true),
            ],
        );
        let way = if cathode {
            let share = if valve.kind == Some(Kind::Pentode) { "10 %" } else { "5 %" };
            Way::Cathode {
                anode: valve::anode(a, "Anode voltage, from the cathode", "438 V").tolerance(VOLTMETER).get(),
                screen_share: a
                    .usual()
                    .quantity("screen-share", "k", "Screen current, as a share of the anode current", share)
                    .hint("Common practice, no source: 5 % in beam tetrodes, 10 % in pentodes.")
                    .within("0 %", "50 %")
                    .get(),
            }
        } else {
            let highest = stage::no_load(a, ["highest-voltage", "V_a,high", "Highest anode voltage"])
                .hint("HT with the output valves out.")
                .within("1 V", "1500 V")
                .get();
            Way::Fixed { highest, bias: Bias::ask(a) }
        };
        Self {
            valve,
            way,
            screen: valve::screen(a, "Screen voltage, from the cathode", "434 V").tolerance(VOLTMETER).get(),
            stopper: valve::screen_stopper(a),
        }
    }

    fn work(&self) -> Result<Found, Impossible> {
        let rating = self.valve.anode_power.map(|figure| figure.value());
        let (counted, allowed) = match &self.way {
            Way::Fixed { highest, .. } => (*highest, 1.0),
            Way::Cathode { anode, screen_share } => (*anode, ABOVE_THE_RATING * (1.0 + screen_share.si())),
        };
        let screen_rating = self.valve.screen_power.map(|figure| figure.value());
        Ok(Found {
            cathode_current: rating.map(|rating: Power| rating / counted * allowed),
            screen_drop: screen_rating
                .map(|rating: Power| self.stopper * (rating / self.screen) * SCREEN_AT_IDLE),
            counted,
            anode_voltage: self.valve.anode_voltage.map(|figure| figure.value()),
            sources: [
                self.valve.anode_power.map(|figure| figure.source),
                self.valve.screen_power.map(|figure| figure.source),
                self.valve.anode_voltage.map(|figure| figure.source),
            ],
            bias: match &self.way {
                Way::Fixed { bias, .. } => Some(bias.read()),
                Way::Cathode { .. } => None,
            },
        })
    }

    fn answers(found: &Found) -> Vec<Answer> {
        let mut answers = Vec::new();
        let [anode, screen, volts] = found.sources;
        if let Some(current) = found.cathode_current {
            let name = "Stop above, cathode current of one valve";
            let answer = Answer::new("cathode-current", "I_k", name, current).depending_on(CURRENT);
            answers.push(answer.resting_on(anode));
        }
        if let Some(drop) = found.screen_drop {
            let name = "Stop above, voltage across the screen stopper";
            answers.push(Answer::new("screen-drop", "V_s", name, drop).resting_on(screen));
        }
        if let Some(limit) = found.anode_voltage {
            let name = "Limit of the anode voltage";
            answers.push(Answer::new("anode-voltage", "V_a,max", name, limit).resting_on(volts));
        }
        if let Some(bias) = &found.bias {
            answers.push(Answer::new("bias", "V_m", "Bias to expect on the meter", bias.shown));
            let name = "The same with 1 MΩ in the meter’s lead";
            answers.push(Answer::new("bias-through-1m", "V_1M", name, bias.through_lead));
            answers.push(Answer::new(
                "true-bias",
                "V_g1",
                "Bias at the grid, no meter on it",
                bias.true_bias,
            ));
            answers.push(Answer::new("meter-load", "", "Lost to the meter’s load", bias.load));
        }
        answers.push(Answer::new("counted-voltage", "V_a", "Anode voltage used", found.counted));
        answers
    }

    fn report(&self, found: &Found, margins: &Margins, report: &mut Report) {
        report.summary = self.summary(found);
        self.judge(margins, report);
        self.working(found, report);
        let note = match self.way {
            Way::Fixed { .. } => {
                "The procedures stop at a bias less negative than 0.95 times the figure for the meter. More negative \
                 is noted: it harms nothing."
            }
            Way::Cathode { .. } => {
                "With cathode bias there is no bias to read at the grids before the HT is on: each grid is at chassis."
            }
        };
        report.notes.push(note.to_owned());
    }
}

impl Bias {
    fn ask(a: &mut Ask) -> Self {
        Self {
            expected: bias::voltage(a, "bias-expected", "Bias expected, at the marked mains").get(),
            marked: mains::marked(a, "mains-marked", "V_marked"),
            measured: mains::measured(
                a,
                ["mains-measured", "V_now", "Mains at the amplifier, as measured"],
                "117 V",
            )
            .within("1 V", "500 V")
            .get(),
            leak: a
                .quantity("grid-leak", "R_leak", "Grid leak", "220k")
                .within("1k", "10M")
                .tolerance("10 %")
                .get(),
            meter: a
                .quantity("meter-resistance", "R_m", "Meter’s input resistance", "10M")
                .hint("On its DC volts range; 20 kΩ/V on the 50 V range is 1 MΩ.")
                .within("1k", "100G")
                .tolerance("5 %")
                .get(),
            // Not filled by a job: at nothing they make the stop stricter, and what a job does not know must not relax it.
            stopper: a
                .usual()
                .quantity("grid-stopper", "R_stop", "Grid stopper", "0R")
                .hint("If left at 0, the stop is stricter.")
                .within("0R", "1M")
                .get(),
            source: a
                .usual()
                .quantity("bias-source", "R_feed", "Resistance of the bias feed", "0R")
                .hint("If left at 0, the stop is stricter.")
                .within("0R", "10M")
                .get(),
        }
    }

    fn read(&self) -> BiasRead {
        let true_bias = self.expected * (self.measured / self.marked);
        let series = self.source + self.leak + self.stopper;
        let through = |lead| true_bias * (self.meter / (self.meter + series + lead));
        let shown = through(ElectricalResistance::of(0.0));
        BiasRead {
            true_bias,
            shown,
            through_lead: through(ElectricalResistance::of(LEAD)),
            load: Ratio::of(1.0) - shown / true_bias,
        }
    }
}

/// The fields that the stop current depends on.
const CURRENT: &[&str] =
    &["valve", "anode-rating", "bias-feed", "highest-voltage", "anode-voltage", "screen-share"];

impl StopFigures {
    fn summary(&self, found: &Found) -> String {
        let mut above = Vec::new();
        if let Some(current) = found.cathode_current {
            above.push(format!("{} in one cathode", writing::nearest(current.si(), &AMPERE)));
        }
        if let Some(drop) = found.screen_drop {
            above.push(format!("{} across a screen stopper", writing::nearest(drop.si(), &VOLT)));
        }
        let stop = if above.is_empty() {
            format!("No stop figure: we know of no published limits for the {}.", self.valve.name)
        } else {
            format!("Mains off above {}.", above.join(", or above "))
        };
        match &found.bias {
            Some(bias) => {
                format!(
                    "{stop} The meter should show {} at the grids.",
                    writing::nearest(bias.shown.si(), &VOLT)
                )
            }
            None => stop,
        }
    }

    fn judge(&self, margins: &Margins, report: &mut Report) {
        let about = match self.way {
            Way::Fixed { .. } => "Highest anode voltage",
            Way::Cathode { .. } => "Anode voltage",
        };
        let limit = self.valve.anode_voltage.map(|figure| figure.limit());
        let verdict = Verdict::at_most(about, &margins.of("counted-voltage"), limit, |standing| {
            let advice = match standing {
                Standing::Within => "Within the limit.",
                Standing::NoPublishedLimit => "Look it up in the valve’s own data sheet.",
                _ => {
                    "More than the limit. Write it down, tell the owner, and choose valves that can take it."
                }
            };
            advice.to_owned()
        });
        let fields = &["valve", "bias-feed", "highest-voltage", "anode-voltage"];
        report.verdicts.push(verdict.depending_on(fields));
        if let Way::Fixed { .. } = self.way {
            let limit = Limit::new(Ratio::of(METER_LOAD), "of the bias", &PRACTICE);
            let load = margins.of("meter-load");
            let verdict = Verdict::at_most("The meter’s load on the grid", &load, Some(limit), |standing| {
                let advice = match standing {
                    Standing::Within => "It is included in the figure for the meter.",
                    _ => {
                        "Read the bias with a meter of a higher input resistance, or at the bias feed as well."
                    }
                };
                advice.to_owned()
            });
            let fields = &["bias-feed", "grid-leak", "grid-stopper", "bias-source", "meter-resistance"];
            report.verdicts.push(verdict.depending_on(fields));
        }
    }

    fn working(&self, found: &Found, report: &mut Report) {
        if let (Some(rating), Some(current)) = (self.valve.anode_power, found.cathode_current) {
            let rated = named("P_a,max", rating.value());
            let (says, formula): (_, Expr) = match &self.way {
                Way::Fixed { highest, .. } => {
                    let says = "The rated anode watts at the highest anode voltage: no healthy idle current comes \
                                near it.";
                    (says, rated / named("V_a,high", *highest))
                }
                Way::Cathode { anode, screen_share } => {
                    let says = "Cathode bias idles near the rating: the rated watts, the screen’s share, and a tenth \
                                more.";
                    let both = number(1.0) + named("k", *screen_share);
                    (says, number(ABOVE_THE_RATING) * both * (rated / named("V_a", *anode)))
                }
            };
            report.step(says, "I_k", formula, current);
        }
        if let (Some(rating), Some(drop)) = (self.valve.screen_power, found.screen_drop) {
            let current = named("P_g2,max", rating.value()) / named("V_g2", self.screen);
            let formula = number(SCREEN_AT_IDLE) * named("R_s", self.stopper) * current;
            report.step("Half the rated screen watts, through the stopper.", "V_s", formula, drop);
        }
        let says = match self.way {
            Way::Fixed { .. } => "The highest voltage is what counts.",
            Way::Cathode { .. } => "The working voltage is what counts.",
        };
        report.state(says, "V_a", found.counted);
        if let Some(limit) = self.valve.anode_voltage {
            report.state(
                format!("Its limit: {}.", limit.said_of(&self.valve.name)),
                "V_a,max",
                limit.value(),
            );
        }
        let (Way::Fixed { bias, .. }, Some(read)) = (&self.way, &found.bias) else { return };
        let formula =
            named("V_g1", bias.expected) * (named("V_now", bias.measured) / named("V_marked", bias.marked));
        let at_grid = report.step("The bias follows the mains.", "V_g1", formula, read.true_bias);
        let meter = || named("R_m", bias.meter);
        let series =
            || named("R_leak", bias.leak) + named("R_stop", bias.stopper) + named("R_feed", bias.source);
        let formula = at_grid.clone() * (meter() / (meter() + series()));
        let says = "The meter divides it with the resistance in front of the grid.";
        let shown = report.step(says, "V_m", formula, read.shown);
        let formula = number(1.0) - shown / at_grid.clone();
        report.step("What the meter’s load takes off.", "d", formula, read.load);
        let lead = named("R_1M", ElectricalResistance::of(LEAD));
        let formula = at_grid * (meter() / (meter() + series() + lead));
        report.step("With 1 MΩ in the meter’s lead.", "V_1M", formula, read.through_lead);
    }
}
