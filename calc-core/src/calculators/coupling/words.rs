//! The words: summary, verdicts, working, tables, and the picture.

use super::{Coupling, Found, Leakage};
use crate::calculator::{
    Axis, Limit, Margins, Mark, Picture, Report, Series, Standing, Table, Verdict, named, named_in, number,
    two_pi,
};
use crate::numeric::high_pass::HighPass;
use crate::numeric::order::by_number;
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
            "Its leakage takes away all of the bias: nothing holds back the valve after it.".to_owned()
        };
        format!(
            "{} into {}: bass corner {}, {} lost at {}. {end}",
            writing::repeated(self.capacitance.si(), &FARAD),
            writing::repeated(self.leak.si(), &OHM),
            writing::nearest(found.filter.corner, &HERTZ),
            writing::loss(found.at_frequency),
            writing::repeated(self.frequency.si(), &HERTZ),
        )
    }

    pub(super) fn judge(&self, found: &Found, margins: &Margins, report: &mut Report) {
        report.verdicts.push(self.leaks_too_much(found, margins));
        let rated = Limit::new(self.rated, "rated by its maker", &TYPED);
        report.verdicts.push(Verdict::at_most(
            "Voltage across it",
            &margins.of("over-capacitor"),
            Some(rated),
            |standing| {
                let advice = match standing {
                    Standing::Within => "It can take a cold start, when nothing is dropped before it.",
                    _ => {
                        "At every cold start it sees more than its maker allows: fit one with a higher rating."
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
                    _ => "A larger capacitor, or a higher leak where the valve’s grid-circuit limit allows it, brings it down.",
                };
                advice.to_owned()
            },
        ));
    }

    /// How the rise of the idle current stands to what will do. The slope says nothing about a valve without bias, so that a small
    /// rise counts for nothing where the bias is gone, or may be.
    fn leaks_too_much(&self, found: &Found, margins: &Margins) -> Verdict {
        let about = "Leakage";
        let limit = Limit::new(self.most_rise, "your choice", &PRACTICE);
        if found.bias_left.si() >= 0.0 {
            let advice = "No bias is left. Do not power it with the valves in; replace the capacitor first, and its twin.";
            return Verdict::new(about, Standing::Beyond, Some(limit), advice.to_owned());
        }
        let advice = |standing| {
            let advice = match standing {
                Standing::Within => "As far as leakage goes, it may stay.",
                Standing::Borderline => "Measure the leakage warm, at its working voltage, or replace it.",
                _ => "Replace it, and its twin on the other side. Then read the bias again at both grids.",
            };
            advice.to_owned()
        };
        let verdict = Verdict::at_most(about, &margins.of("rise-share"), Some(limit), advice);
        if verdict.standing == Standing::Within && margins.of("bias-left").high >= 0.0 {
            return Verdict::new(about, Standing::Borderline, Some(limit), advice(Standing::Borderline));
        }
        verdict
    }

    pub(super) fn working(&self, found: &Found, report: &mut Report) {
        let (before, leak) = (|| named("R_i", self.before), || named("R_l", self.leak));
        let corner = number(1.0) / (two_pi() * named("C", self.capacitance) * (before() + leak()));
        let says = "All the resistance around the capacitor counts, because the bias node has a capacitor of its own.";
        let corner = report.step_in(says, "f_c", corner, found.filter.corner, &HERTZ);
        let ratio = corner.clone() / named("f", self.frequency);
        let here = found.filter.corner / self.frequency.si();
        report.step(
            "The share of that frequency that passes.",
            "V_g / V",
            number(1.0) / (number(1.0) + ratio.clone().squared()).root(),
            Ratio::of(1.0 / libm::sqrt(1.0 + here * here)),
        );
        report.step_in("The same, as a loss.", "L", ratio.one_pole(), found.at_frequency, &DECIBEL);
        for (symbol, frequency) in [("L_40", 40.0), ("L_80", 80.0)] {
            let ratio = corner.clone() / named_in("f", frequency, &HERTZ);
            let says = format!("The loss at {}.", writing::repeated(frequency, &HERTZ));
            report.step_in(says, symbol, ratio.one_pole(), found.filter.loss(frequency), &DECIBEL);
        }
        let says = "What passes at frequencies where the capacitor no longer matters.";
        let middle = report.step(says, "V / V_1", leak() / (before() + leak()), found.middle);
        let formula = number(0.0) - middle.decibels();
        let loss = -20.0 * libm::log10(found.middle.si());
        report.step_in("That, as a loss.", "L_m", formula, loss, &DECIBEL);
        let mut direct = leak();
        if self.bias.fixed {
            let says = "Direct current flows through the bias source as well.";
            direct = report.step(says, "R_d", leak() + named("R_b", self.bias.source), found.direct);
        }
        let leakage = match self.leakage {
            Leakage::Current(current) => report.state("As measured.", "I_c", current),
            Leakage::Insulation(insulation) => {
                let mut across = named("V_1", self.anode);
                if self.bias.fixed {
                    across = across - named("V_g1", self.bias.voltage);
                }
                let formula = across / (named("R_c", insulation) + before() + direct.clone());
                let says = "From the anode through the insulation to the far end of the leak.";
                report.step(says, "I_c", formula, found.leakage)
            }
        };
        let lift = report.step("The leakage has only this path.", "ΔV", leakage * direct, found.lift);
        let says = "What is left between grid and cathode.";
        report.step(says, "V_left", named("V_g1", self.bias.voltage) + lift.clone(), found.bias_left);
        let rise = report.step(
            "The valve’s slope turns the lift into current.",
            "ΔI",
            named("g_m", self.gm) * lift,
            found.rise,
        );
        report.step("As a share.", "ΔI / I_a", rise / named("I_a", self.idle), found.rise_share);
        if self.bias.fixed {
            let says = "Cold valves draw nothing: the full supply voltage is before it, the bias after it.";
            let formula = named("V_n", self.node) - named("V_g1", self.bias.voltage);
            report.step(says, "V_c", formula, found.over_capacitor);
        } else {
            let says = "Cold valves draw nothing: the full supply voltage is before it.";
            report.step(says, "V_c", named("V_n", self.node), found.over_capacitor);
        }
    }

    pub(super) fn notes(&self, found: &Found, report: &mut Report) {
        if found.bias_left.si() >= 0.0 {
            report.notes.push(
                "The grid conducts before it rises that far, and clamps itself near its cathode. The lift shown is \
                 what the circuit would do without grid current; only the supply then limits the current."
                    .to_owned(),
            );
        }
        report.notes.push(
            "To measure it: with the valve after it out and the HT on, compare the DC voltage at the grid tag with \
             that at the far end of the leak. Measure warm, because leakage grows with heat."
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
        let head = [
            "Insulation",
            "Leakage",
            "Lift, without grid current",
            "Bias remaining",
            "Idle current rises by",
        ];
        Table {
            title: "What leakage does here".to_owned(),
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
                writing::loss(filter.loss(40.0)),
                writing::loss(filter.loss(80.0)),
                writing::loss(filter.loss(self.frequency.si())),
            ]
        };
        // Capacitors are sold in every second step of E12.
        let sold = preferred::Series::E12.between(1e-12, 1e-3).step_by(2);
        let mut values: Vec<f64> = sold
            .filter(|value| (0.2..5.0).contains(&(value / here)) && (value / here - 1.0).abs() > 1e-6)
            .collect();
        values.push(here);
        by_number(&mut values, |value| *value);
        let head =
            ["Capacitor", "Corner", "Loss at 40\u{a0}Hz", "Loss at 80\u{a0}Hz", "Loss at your frequency"];
        Table {
            title: "E6 values around it".to_owned(),
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
            let points = x.places().map(|frequency| (frequency, -filter.loss(frequency)));
            Series {
                name: writing::repeated(capacitance.si(), &FARAD),
                mark,
                points: points.filter(|(_, level)| *level >= y.from).collect(),
            }
        };
        Picture {
            title: "What reaches the grid".to_owned(),
            description: format!(
                "With {} the loss is 3 dB at {}; a fifth of that capacitance loses 3 dB at five times that frequency.",
                writing::repeated(self.capacitance.si(), &FARAD),
                writing::nearest(found.filter.corner, &HERTZ)
            ),
            series: [(5.0, Mark::Curve), (0.2, Mark::Limit), (1.0, Mark::Target)].map(curve).into(),
            x,
            y,
        }
    }
}
