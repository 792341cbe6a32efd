//! Discharge: how long a resistor needs until a supply may be touched, and what it must bear.
//!
//! ```text
//! C = C_1 + C_2 + C_3      tau = R · C
//! t = tau · ln(V_0 / V)    E = C · V_0² / 2    P = V_0² / R    in the first instant
//! ```
//!
//! Units: V, µF, Ω, s, J, W. Errors: a target that is not below the voltage; no capacitance. Source: the closed form of an RC; 60 V DC is
//! energy class ES1 of IEC 62368-1; 10 V, and five seconds' worth of its rating as a resistor's pulse, are common practice.

use super::questions::stage;
use crate::calculator::{
    Answer, Ask, Axis, Calculator, Expr, Impossible, Inverse, Limit, Margins, Mark, Picture, Report, Section,
    Series, Sheet, Standing, Table, Verdict, named, number,
};
use crate::numeric::order::by_number;
use crate::preferred;
use crate::quantity::unit::{JOULE, ONE, SECOND, VOLT};
use crate::quantity::{Capacitance, ElectricPotential, ElectricalResistance, Power, Quantity, Time, writing};
use crate::source::{DIELECTRIC_ABSORPTION, IEC_62368, PRACTICE, TYPED};

/// Up to so much of its voltage an electrolytic gives back.
const RECOVERY: f64 = 0.15;
/// A resistor can take a pulse of so many seconds of its rating, by common practice.
const PULSE: f64 = 5.0;
/// Above this voltage, in V, or this capacitance, in F, a resistor of so many watts or more.
const LARGE: (f64, f64, f64) = (500.0, 150e-6, 10.0);
/// What dry and whole skin may touch, in V.
const TOUCH: f64 = 60.0;
/// Below this hands go in, in V: skin at a bench is neither.
const HANDS: f64 = 10.0;

/// A supply, and the resistor that empties it.
pub struct Discharge {
    voltage: ElectricPotential,
    nodes: [Capacitance; 3],
    resistor: ElectricalResistance,
    rating: Power,
    body: ElectricPotential,
    target: ElectricPotential,
}

/// How long it takes, and what the resistor bears.
pub struct Found {
    capacitance: Capacitance,
    constant: Time,
    /// How many time constants.
    times: f64,
    time: Time,
    /// What the capacitors hold when it begins, in joules.
    energy: f64,
    first: Power,
    recovered: ElectricPotential,
    highest: ElectricPotential,
}

/// A time that must not be called shorter than it is.
fn longest(seconds: f64) -> String {
    writing::engineering(seconds, &SECOND, writing::FIGURES, writing::Rounding::Up)
}

impl Calculator for Discharge {
    const SHEET: &'static Sheet = &Sheet {
        id: "discharge",
        title: "Discharge",
        question: "How long before hands can go in, and is the resistor up to it?",
        edition: 1,
        headline: &["time"],
        form: &[Section {
            name: "Capacitors and resistor",
            fields: &["voltage", "reservoir", "second", "others", "resistor", "rating", "body", "target"],
            more: &[],
        }],
        leaves_out: &[
            "A node behind a dropping resistor empties more slowly, and one behind an open part not at all: read each.",
            "Bleeders would help; they are not counted, since they may be open.",
            "This answer is not proof. The proof is the meter, checked before and after.",
        ],
        sources: &[&IEC_62368, &DIELECTRIC_ABSORPTION, &PRACTICE],
    };
    const INVERSE: &'static [Inverse] = &[Inverse {
        id: "wanted.resistor",
        question: "Which resistor discharges it in this time?",
        field: "resistor",
        answer: "time",
        example: "10 s",
        made_in: Some(preferred::Series::E24),
    }];
    type Found = Found;

    fn ask(a: &mut Ask) -> Self {
        let voltage = stage::no_load(a, ["voltage", "V_0", "Starting voltage"])
            .hint("With nothing drawing current: the highest it can be.")
            .within("10 V", "2 kV")
            .tolerance("2 %")
            .get();
        let mut node = |id, symbol, name, default, hint| {
            a.quantity(id, symbol, name, default).hint(hint).within("0 F", "10m").tolerance("20 %").get()
        };
        let nodes = [
            node("reservoir", "C_1", "Reservoir", "50u", "For two in series, the value of the pair."),
            node("second", "C_2", "Node behind the choke or first dropper", "47u", ""),
            node("others", "C_3", "All nodes after it, together", "44u", ""),
        ];
        Self {
            voltage,
            nodes,
            resistor: a
                .quantity("resistor", "R", "Discharge resistor, measured", "10k")
                .within("100R", "1M")
                .tolerance("1 %")
                .get(),
            rating: a.quantity("rating", "P_R", "Its power rating", "10 W").within("0.1 W", "500 W").get(),
            body: a
                .quantity("body", "V_R", "Its voltage rating", "500 V")
                .hint("From its data sheet.")
                .within("10 V", "10 kV")
                .get(),
            target: a.usual().quantity("target", "V", "Down to", "10 V").within("1 V", "120 V").get(),
        }
    }

    fn work(&self) -> Result<Found, Impossible> {
        let [first, second, others] = self.nodes;
        let capacitance = first + second + others;
        if self.target.si() >= self.voltage.si() {
            let message = "It is already there: type a target below the starting voltage.";
            return Err(Impossible { field: "target", message: message.to_owned() });
        }
        if capacitance.si() <= 0.0 {
            let message =
                "There is nothing to discharge: all nodes are 0 F. Type the capacitance of at least one.";
            return Err(Impossible { field: "reservoir", message: message.to_owned() });
        }
        let constant: Time = self.resistor * capacitance;
        let times = libm::log(self.voltage.si() / self.target.si());
        Ok(Found {
            capacitance,
            constant,
            times,
            time: constant * times,
            energy: capacitance.si() * self.voltage.si() * self.voltage.si() / 2.0,
            first: self.voltage * self.voltage / self.resistor,
            recovered: self.voltage * RECOVERY,
            highest: self.voltage,
        })
    }

    fn answers(found: &Found) -> Vec<Answer> {
        vec![
            Answer::new("time", "t", "Time until the target", found.time),
            Answer::in_unit("energy", "E", "Energy that goes into the resistor", &JOULE, found.energy),
            Answer::new("first", "P", "Power at the first instant", found.first),
            Answer::new("constant", "tau", "Time constant", found.constant),
            Answer::new("capacitance", "C", "All nodes together", found.capacitance),
            Answer::new("highest", "V_0", "Voltage across the resistor, at first", found.highest),
            Answer::new("recovered", "V_r", "May return once the resistor is off, up to", found.recovered),
        ]
    }

    fn report(&self, found: &Found, margins: &Margins, report: &mut Report) {
        let time = margins.of("time");
        report.summary = format!(
            "From {} to {} in {}, {} at the longest; then leave the resistor on, and read again after five minutes.",
            writing::repeated(self.voltage.si(), &VOLT),
            writing::repeated(self.target.si(), &VOLT),
            writing::nearest(found.time.si(), &SECOND),
            longest(time.high),
        );
        let bears = Limit {
            value: self.rating.si() * PULSE,
            unit: &JOULE,
            kind: "five seconds of its rating",
            source: &PRACTICE,
        };
        report.verdicts.push(Verdict::at_most(
            "Resistor, energy of the pulse",
            &margins.of("energy"),
            Some(bears),
            |standing| {
                let advice = match standing {
                    Standing::Within => {
                        "Its mass can absorb it. Use a wirewound part: a film part may go open \
                                         without a sign."
                    }
                    _ => "Too much at once: use a wirewound one with a higher rating.",
                };
                advice.to_owned()
            },
        ));
        let body = Limit::new(self.body, "of its body", &TYPED);
        let volts = margins.of("highest");
        report.verdicts.push(Verdict::at_most("Resistor, voltage", &volts, Some(body), |standing| {
            let advice = match standing {
                Standing::Within => "It can take the full voltage.",
                _ => "Use two in series, or a part made for it: above its rated voltage it flashes over or goes open.",
            };
            advice.to_owned()
        }));
        report.verdicts.push(self.rated(margins));
        let touch = Limit::new(ElectricPotential::of(TOUCH), "for dry, unbroken skin", &IEC_62368);
        let back = margins.of("recovered");
        report.verdicts.push(Verdict::at_most("What may come back", &back, Some(touch), |standing| {
            let advice = match standing {
                Standing::Within => "It may still exceed the 10 V below which hands go in. Leave the resistor on.",
                _ => "Discharged and left alone, it may become dangerous again. Leave the resistor on while hands are \
                      in.",
            };
            advice.to_owned()
        }));
        self.working(found, report);
        report.tables.push(self.on_the_way(found, margins).into());
        report.picture = Some(self.picture(found));
    }
}

impl Discharge {
    /// The resistor's rating against the voltage and the capacitance.
    fn rated(&self, margins: &Margins) -> Verdict {
        let (volts, farads, watts) = LARGE;
        let ends = [(margins.of("highest"), volts), (margins.of("capacitance"), farads)];
        // A sum of three nodes may differ from its limit by its last digit only.
        let above = |value: f64, limit: f64| value > limit * (1.0 + 1e-9);
        let standing = if self.rating.si() >= watts {
            Standing::Within
        } else if ends.iter().any(|(margin, limit)| margin.known && above(margin.low, *limit)) {
            Standing::Beyond
        } else if ends.iter().any(|(margin, _)| !margin.known) {
            Standing::CannotTell
        } else if ends.iter().any(|(margin, limit)| above(margin.high, *limit)) {
            Standing::Borderline
        } else {
            Standing::Within
        };
        let advice = match standing {
            Standing::Within => "Enough for this voltage and this capacitance.",
            // The frame says why.
            Standing::CannotTell => "",
            _ => "Above 500\u{a0}V or 150\u{a0}µF use a wirewound one of 10\u{a0}W or more.",
        };
        let limit = Limit {
            value: watts,
            unit: Power::UNIT,
            kind: "or more, above 500\u{a0}V or 150\u{a0}µF",
            source: &PRACTICE,
        };
        let verdict = Verdict::new("Resistor, rating", standing, Some(limit), advice.to_owned());
        verdict.depending_on(&["voltage", "reservoir", "second", "others", "rating"])
    }

    fn working(&self, found: &Found, report: &mut Report) {
        let [first, second, others] = self.nodes;
        let sum = named("C_1", first) + named("C_2", second) + named("C_3", others);
        let capacitance = report.step(
            "With the standby switch at play, all nodes are connected.",
            "C",
            sum,
            found.capacitance,
        );
        let constant = report.step(
            "In this time it falls to 37\u{a0}%.",
            "tau",
            named("R", self.resistor) * capacitance.clone(),
            found.constant,
        );
        let volts = || named("V_0", self.voltage);
        let says = "The number of time constants to the target.";
        let ratio = volts() / named("V", self.target);
        let times = report.step_in(says, "n", ratio.ln(), found.times, &ONE);
        report.step("All of them.", "t", constant * times, found.time);
        report.state("At first the whole voltage is across the resistor.", "V_0", found.highest);
        let says = "An electrolytic left alone may recover up to this share of its voltage.";
        report.step(says, "V_r", number(RECOVERY) * volts(), found.recovered);
        let energy: Expr = capacitance * volts().squared() / number(2.0);
        report.step_in("The resistor’s own mass absorbs it.", "E", energy, found.energy, &JOULE);
        report.step(
            "Only at the first instant; it halves with every third of a time constant.",
            "P",
            volts().squared() / named("R", self.resistor),
            found.first,
        );
    }

    /// When it passes what is said of voltages on the way down.
    fn on_the_way(&self, found: &Found, margins: &Margins) -> Table {
        let levels = [
            (self.voltage.si() / 2.0, "half of it".to_owned()),
            (TOUCH, "may be touched with dry, unbroken skin (IEC 62368-1, ES1)".to_owned()),
            (HANDS, "hands may go in, once it has been read twice".to_owned()),
            (self.target.si(), "the target".to_owned()),
        ];
        let mut levels: Vec<_> = levels.into_iter().filter(|(level, _)| *level < self.voltage.si()).collect();
        by_number(&mut levels, |(level, _)| -level);
        levels.dedup_by(|later, earlier| {
            let same = (later.0 - earlier.0).abs() < 1e-9;
            if same {
                earlier.1 = format!("{}; {}", earlier.1, later.1);
            }
            same
        });
        let (slowest, from) = (margins.of("constant").high, margins.of("highest").high);
        let row = |(level, says): (f64, String)| {
            let after = found.constant.si() * libm::log(self.voltage.si() / level);
            vec![
                writing::repeated(level, &VOLT),
                writing::nearest(after, &SECOND),
                longest(slowest * libm::log(from / level)),
                says,
            ]
        };
        Table {
            title: "On the way down".to_owned(),
            head: ["Below", "After", "At the longest", "What that means"].map(str::to_owned).to_vec(),
            rows: levels.into_iter().map(row).collect(),
        }
    }

    fn picture(&self, found: &Found) -> Picture {
        let end = (found.constant.si() * (found.times + 1.0)).max(1e-6);
        let at = |step: i32| end * f64::from(step) / 48.0;
        let volts = |time: f64| self.voltage.si() * libm::exp(-time / found.constant.si().max(1e-9));
        let level = self.target.si();
        Picture {
            title: "The voltage while the resistor is on".to_owned(),
            description: format!(
                "Falls from {} to {} in {}.",
                writing::repeated(self.voltage.si(), &VOLT),
                writing::repeated(level, &VOLT),
                writing::nearest(found.time.si(), &SECOND)
            ),
            x: Axis::even("Time", &SECOND, 0.0, end),
            y: Axis::even("Voltage", &VOLT, 0.0, self.voltage.si()),
            series: vec![
                Series {
                    name: "voltage".to_owned(),
                    mark: Mark::Curve,
                    points: (0..=48).map(at).map(|time| (time, volts(time))).collect(),
                },
                Series {
                    name: writing::repeated(level, &VOLT),
                    mark: Mark::Limit,
                    points: vec![(0.0, level), (end, level)],
                },
            ],
        }
    }
}

#[cfg(test)]
mod tests {
    use crate::calculators::asked::{problem, report, standing};

    const RULE: &str = "Resistor, rating";

    /// Above 500 V or 150 µF, 10 W or more.
    #[test]
    fn a_high_voltage_or_a_large_capacitor_asks_for_ten_watts() {
        let nothing = [("second", "0F"), ("others", "0F")];
        for (voltage, capacitance, rating, word) in [
            ("600 V", "60u", "3 W", "beyond"),
            ("600 V", "60u", "10 W", "within"),
            ("400 V", "200u", "5 W", "beyond"),
            ("400 V", "200u", "10 W", "within"),
            ("400 V", "100u", "5 W", "within"),
            // 20 % more is 168 µF; 2 % more is 505 V.
            ("400 V", "140u", "5 W", "borderline"),
            ("495 V", "60u", "5 W", "borderline"),
        ] {
            let typed = [("voltage", voltage), ("reservoir", capacitance), ("rating", rating)];
            let report = report("discharge", &[&typed[..], &nothing].concat());
            assert_eq!(standing(&report, RULE), word, "{voltage}, {capacitance}, {rating}");
        }
        assert_eq!(standing(&report("discharge", &[]), RULE), "within");
    }

    #[test]
    fn nothing_to_discharge_is_refused() {
        let nothing = [("reservoir", "0F"), ("second", "0F"), ("others", "0F")];
        let refused = problem("discharge", &nothing, "reservoir");
        assert!(refused.is_some_and(|said| said.contains("0 F")));
    }
}
