//! The words: summary, verdicts, working, tables, and the picture.

use super::{Coupling, Found, Leakage};
use crate::calculator::{
    Axis, Expr, Limit, Margins, Mark, Picture, Report, Series, Standing, Table, Verdict, named, number,
};
use crate::high_pass::HighPass;
use crate::preferred;
use crate::quantity::unit::{AMPERE, DECIBEL, FARAD, HERTZ, OHM, VOLT};
use crate::quantity::{Capacitance, ElectricalResistance, Quantity, Ratio, writing};
use crate::source::{PRACTICE, TYPED};

/// Insulation resistances to show side by side, in ohms: from a sound part to a shorted one.
const INSULATIONS: [f64; 7] = [10e9, 1e9, 100e6, 22e6, 4.7e6, 1e6, 0.0];

impl Coupling {
    pub(super) fn summary(&self, found: &Found) -> String {
        let end = if found.bias_left.si() < 0.0 {
            format!(
                "Its leakage of {} lifts the grid by {}, and the idle current by about {}.",
                writing::nearest(found.leakage.si(), &AMPERE),
                writing::nearest(found.lift.si(), &VOLT),
                writing::nearest(found.rise.si(), &AMPERE),
            )
        } else {
            "Its leakage takes the whole bias away: the valve behind it is not held back by anything."
                .to_owned()
        };
        format!(
            "{} into {}: bass corner {}, {} lost at {}. {end}",
            writing::repeated(self.capacitance.si(), &FARAD),
            writing::repeated(self.leak.si(), &OHM),
            writing::nearest(found.filter.corner, &HERTZ),
            decibels(found.at_frequency),
            writing::repeated(self.frequency.si(), &HERTZ),
        )
    }

    pub(super) fn judge(&self, found: &Found, margins: &Margins, report: &mut Report) {
        let limit = Limit::new(self.most_rise, "your choice", &PRACTICE);
        let gone = found.bias_left.si() >= 0.0;
        let rise = margins.of("rise-share");
        let verdict = if gone {
            let advice = "No bias is left. Do not power it with the valves in; replace the capacitor first, and its twin.";
            Verdict::new("Leakage", Standing::Beyond, Some(limit), advice.to_owned())
        } else {
            Verdict::at_most("Leakage", &rise, Some(limit), |standing| {
                let advice = match standing {
                    Standing::Within => "It may stay as far as leakage goes.",
                    Standing::Borderline => {
                        "Measure the leakage warm, at its working voltage, or replace it."
                    }
                    _ => {
                        "Replace it, and its twin on the other side. Then read the bias again at both grids."
                    }
                };
                advice.to_owned()
            })
        };
        report.verdicts.push(verdict);
        let rated = Limit::new(self.rated, "rated by its maker", &TYPED);
        report.verdicts.push(Verdict::at_most(
            "Voltage over it",
            &margins.of("over-capacitor"),
            Some(rated),
            |standing| {
                let advice = match standing {
                    Standing::Within => "It bears the cold start, when nothing is dropped before it.",
                    _ => {
                        "At every cold start it sees more than its maker allows: fit one of a higher rating."
                    }
                };
                advice.to_owned()
            },
        ));
        let corner = Limit::new(self.highest_corner, "your choice", &PRACTICE);
        report.verdicts.push(Verdict::at_most(
            "Bass corner",
            &margins.of("corner"),
            Some(corner),
            |standing| {
                let advice = match standing {
                    Standing::Within => "The bass you asked for passes.",
                    _ => "A larger capacitor, or a higher leak where the valve’s sheet allows it, brings it down.",
                };
                advice.to_owned()
            },
        ));
    }

    pub(super) fn working(&self, found: &Found, report: &mut Report) {
        let turn = || Expr::Named { symbol: "2π", shown: "6.283".to_owned(), value: std::f64::consts::TAU };
        let (before, leak) = (|| named("R_i", self.before), || named("R_l", self.leak));
        let corner = number(1.0) / (turn() * named("C", self.capacitance) * (before() + leak()));
        let says = "All the resistance round the capacitor counts, for the bias node is held by its own.";
        let corner = report.step_in(says, "f_c", corner, found.filter.corner, &HERTZ);
        let ratio = corner / named("f", self.frequency);
        let here = found.filter.corner / self.frequency.si();
        report.step(
            format!("What of that frequency passes; −20 lg of it are {}.", decibels(found.at_frequency)),
            "V_g / V",
            number(1.0) / (number(1.0) + ratio.squared()).root(),
            Ratio::of(1.0 / libm::sqrt(1.0 + here * here)),
        );
        let says = "What passes where the capacitor counts for nothing.";
        report.step(says, "V / V_1", leak() / (before() + leak()), found.middle);
        let mut direct = leak();
        if self.bias.fixed {
            let says = "Direct current has the bias source to pass as well.";
            direct = report.step(says, "R_d", leak() + named("R_b", self.bias.source), found.direct);
        }
        let leakage = match self.leakage {
            Leakage::Current(current) => named("I_c", current),
            Leakage::Insulation(insulation) => {
                let mut across = named("V_1", self.anode);
                if self.bias.fixed {
                    across = across - named("V_g1", self.bias.voltage);
                }
                let formula = across / (named("R_c", insulation) + before() + direct.clone());
                let says = "From the anode through the insulation to where the leak ends.";
                report.step(says, "I_c", formula, found.leakage)
            }
        };
        let lift = report.step("It has one way to go.", "ΔV", leakage * direct, found.lift);
        let says = "What is left between grid and cathode.";
        report.step(says, "V_left", named("V_g1", self.bias.voltage) + lift.clone(), found.bias_left);
        let rise =
            report.step("The valve follows its slope.", "ΔI", named("g_m", self.gm) * lift, found.rise);
        report.step("As a share.", "ΔI / I_a", rise / named("I_a", self.idle), found.rise_share);
        if self.bias.fixed {
            let says = "Cold valves draw nothing: the whole node stands before it, the bias behind it.";
            let formula = named("V_n", self.node) - named("V_g1", self.bias.voltage);
            report.step(says, "V_c", formula, found.over_capacitor);
        }
    }

    pub(super) fn notes(&self, found: &Found, report: &mut Report) {
        if found.bias_left.si() >= 0.0 {
            report.notes.push(
                "The grid conducts before it gets so far, and holds itself near its cathode: the lift is what the circuit \
                 would do without it, and the current is bounded by the supply alone."
                    .to_owned(),
            );
        }
        report.notes.push(
            "To measure it: the valve behind it out, the HT on, the direct voltage at the grid tag against what stands at \
             the leak’s far end. Warm, for leakage grows with heat."
                .to_owned(),
        );
    }

    /// What insulation resistances do to this grid.
    pub(super) fn leakages(&self) -> Table {
        let row = |ohms: &f64| {
            let insulation = ElectricalResistance::of(*ohms);
            let current = self.through(insulation);
            let lift = current * self.direct();
            let left = self.bias.voltage + lift;
            let name = if *ohms > 0.0 { writing::repeated(*ohms, &OHM) } else { "shorted".to_owned() };
            let (left, rise) = if left.si() < 0.0 {
                let rise = self.gm * lift;
                (writing::nearest(left.si(), &VOLT), writing::nearest(rise.si(), &AMPERE))
            } else {
                ("none".to_owned(), "all the valve can give".to_owned())
            };
            vec![
                name,
                writing::nearest(current.si(), &AMPERE),
                writing::nearest(lift.si(), &VOLT),
                left,
                rise,
            ]
        };
        let head =
            ["Insulation", "Leakage", "Lift, without grid current", "Bias left", "Idle current rises by"];
        Table {
            title: "What a leaky one does here".to_owned(),
            head: head.map(str::to_owned).to_vec(),
            rows: INSULATIONS.iter().map(row).collect(),
        }
    }

    /// Values that one can buy round this one.
    pub(super) fn values(&self) -> Table {
        let here = self.capacitance.si();
        let row = |farads: f64| {
            let filter = HighPass::new(self.before + self.leak, Capacitance::of(farads));
            let yours = if (farads - here).abs() < 1e-6 * here { ", yours" } else { "" };
            vec![
                format!("{}{yours}", writing::repeated(farads, &FARAD)),
                writing::nearest(filter.corner, &HERTZ),
                decibels(filter.loss(40.0)),
                decibels(filter.loss(80.0)),
                decibels(filter.loss(self.frequency.si())),
            ]
        };
        // Capacitors are sold in every second step of E12.
        let sold = preferred::Series::E12.between(1e-12, 1e-3).step_by(2);
        let mut values: Vec<f64> = sold
            .filter(|value| (0.2..5.0).contains(&(value / here)) && (value / here - 1.0).abs() > 1e-6)
            .collect();
        values.push(here);
        values.sort_by(f64::total_cmp);
        let head = ["Capacitor", "Corner", "Loss at 40\u{a0}Hz", "Loss at 80\u{a0}Hz", "Loss at yours"];
        Table {
            title: "Values of E6 round it".to_owned(),
            head: head.map(str::to_owned).to_vec(),
            rows: values.into_iter().map(row).collect(),
        }
    }

    /// Level over frequency: this capacitor, and a fifth and five times of it.
    pub(super) fn picture(&self, found: &Found) -> Picture {
        let decade = |frequency: f64| libm::pow(10.0, libm::round(libm::log10(frequency)));
        let middle = decade(found.filter.corner);
        let x = Axis::decades("Frequency", &HERTZ, middle / 10.0, middle * 100.0);
        let y = Axis::even("Level at the grid", &DECIBEL, -30.0, 0.0);
        let curve = |(times, mark): (f64, Mark)| {
            let capacitance = self.capacitance * times;
            let filter = HighPass::new(self.before + self.leak, capacitance);
            let at = |step: i32| x.from * libm::pow(x.to / x.from, f64::from(step) / 32.0);
            let points = (0..=32).map(at).map(|frequency| (frequency, -filter.loss(frequency)));
            Series {
                name: writing::repeated(capacitance.si(), &FARAD),
                mark,
                points: points.filter(|(_, level)| *level >= y.from).collect(),
            }
        };
        Picture {
            title: "What reaches the grid".to_owned(),
            description: format!(
                "With {} 3 dB are lost at {}; a fifth of it loses them at five times that frequency.",
                writing::repeated(self.capacitance.si(), &FARAD),
                writing::nearest(found.filter.corner, &HERTZ)
            ),
            series: [(5.0, Mark::Curve), (0.2, Mark::Limit), (1.0, Mark::Target)].map(curve).into(),
            x,
            y,
        }
    }
}

/// A loss as the bench reads it: what lies below a hundredth of a decibel is nothing.
fn decibels(loss: f64) -> String {
    if loss < 0.01 { "under 0.01\u{a0}dB".to_owned() } else { writing::nearest(loss, &DECIBEL) }
}
