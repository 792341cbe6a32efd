//! The words of the grid stopper: verdict, working, notes, table and picture.

use super::{BOLTZMANN_CONSTANT, Found, GridStopper, HABIT, TEMPERATURE, TOP, noise};
use crate::calculator::{
    Axis, Expr, Limit, Mark, Picture, Report, Series, Standing, Table, Verdict, named, named_in, number,
    two_pi,
};
use crate::numeric::low_pass::LowPass;
use crate::numeric::order::by_number;
use crate::preferred;
use crate::quantity::unit::{DECIBEL, DEGREE, FARAD, HERTZ, OHM, ONE, VOLT};
use crate::quantity::{ElectricalResistance, Quantity, Ratio, writing};
use crate::source::PRACTICE;
use crate::valve::Valve;

impl GridStopper {
    /// How the value stands to what the trade fits. A rule of thumb names marked values, so the value typed counts without
    /// its tolerance, and either end is still inside; a published maximum is held against the whole margin.
    pub(super) fn habit(&self) -> Verdict {
        let about = "Value, by common practice";
        if !self.valve.is_none_or(Valve::is_output) {
            let advice = "The practice is for output valves. Here the loss at 20 kHz and the noise decide.";
            return Verdict::new(about, Standing::NoPublishedLimit, None, advice.to_owned());
        }
        let value = self.stopper.si();
        let (low, high) = HABIT;
        let edge = |end: f64| (value - end).abs() <= 1e-6 * end;
        let inside = (low..=high).contains(&value) || edge(low) || edge(high);
        let standing = if inside { Standing::Within } else { Standing::Beyond };
        let lower = value * value < low * high;
        let (end, kind) = if lower {
            (low, "rule of thumb, the lower end of 1k5 to 10k")
        } else {
            (high, "rule of thumb, the upper end of 1k5 to 10k")
        };
        let advice = match (standing, lower) {
            (Standing::Within, true) if edge(low) => {
                "At the low end: leave it if the test shows a quiet stage, go up if it does not."
            }
            (Standing::Within, _) => "The test decides, not the value.",
            (_, true) => "Less than is usually fitted. If the test shows a quiet stage, it may stay.",
            _ => "Check the loss at 20 kHz, and include the stopper in the grid circuit.",
        };
        let limit = Limit::new(ElectricalResistance::of(end), kind, &PRACTICE);
        Verdict::new(about, standing, Some(limit), advice.to_owned())
    }

    pub(super) fn working(&self, found: &Found, report: &mut Report) {
        let gain = || named_in("A", self.gain, &ONE);
        let formula = named("C_g", self.grid)
            + named("C_ga", self.anode_grid) * (number(1.0) + gain())
            + named("C_s", self.stray);
        let says =
            "The anode moves opposite to the grid, so this capacitance is multiplied by one plus the gain.";
        let capacitance = report.step(says, "C_in", formula, found.capacitance);
        let corner_of = |resistance: Expr| number(1.0) / (two_pi() * resistance * capacitance.clone());
        let stopper = named("R_s", self.stopper);
        report.step_in("The stopper alone.", "f_s", corner_of(stopper.clone()), found.own.corner, &HERTZ);
        let both = named("R_d", self.drive) + stopper.clone();
        let says = "With the resistance that drives it.";
        let corner = report.step_in(says, "f_c", corner_of(both), found.whole.corner, &HERTZ);
        let ratio = named_in("f", TOP, &HERTZ) / corner;
        let left = 1.0 / libm::sqrt(1.0 + (TOP / found.whole.corner) * (TOP / found.whole.corner));
        let says = "The share of a 20 kHz signal that arrives.";
        let formula = number(1.0) / (number(1.0) + ratio.clone().squared()).root();
        report.step(says, "V_g / V_d", formula, Ratio::of(left));
        let loss = ratio.clone().one_pole();
        let loss = report.step_in("The same, as a loss.", "L", loss, found.whole.loss(TOP), &DECIBEL);
        let before = found.whole.loss(TOP) - found.added;
        let before = if self.drive.si() > 0.0 {
            let alone = LowPass::new(self.drive, found.capacitance).corner;
            let formula = named("R_d", self.drive);
            let alone =
                report.step_in("The corner without a stopper.", "f_d", corner_of(formula), alone, &HERTZ);
            let formula = (named_in("f", TOP, &HERTZ) / alone).one_pole();
            report.step_in("What is lost without a stopper.", "L_d", formula, before, &DECIBEL)
        } else {
            named_in("L_d", before, &DECIBEL)
        };
        report.step_in("What the stopper adds.", "ΔL", loss - before, found.added, &DECIBEL);
        let says = "The phase lag there.";
        report.step_in(says, "φ", number(0.0) - ratio.arctan(), found.whole.phase(TOP), &DEGREE);
        let boltzmann = Expr::shown_as("k", "1.381 × 10⁻²³ J/K".to_owned(), BOLTZMANN_CONSTANT);
        let temperature = Expr::shown_as("T", "290\u{a0}K".to_owned(), TEMPERATURE);
        let formula =
            (number(4.0) * boltzmann * temperature * stopper.clone() * named("B", self.bandwidth)).root();
        report.step("Thermal noise, RMS.", "v_n", formula, found.noise);
        let formula = named("I_g", self.grid_current) * stopper;
        report.step("Grid current lifts the grid by the drop across the stopper.", "ΔV", formula, found.drop);
    }

    pub(super) fn notes(&self, report: &mut Report) {
        let Some(valve) = self.valve else { return };
        let figures = [
            ("grid to all except the anode", valve.capacitances.grid, self.grid),
            ("grid to anode", valve.capacitances.anode_grid, self.anode_grid),
        ];
        for (what, figure, taken) in figures {
            let Some(figure) = figure else { continue };
            let published = writing::repeated(figure.value().si(), &FARAD);
            let typed = (taken.si() - figure.value().si()).abs() > 1e-6 * figure.value().si();
            let typed = if typed { "; you typed another figure" } else { "" };
            let aside = if figure.note.is_empty() { String::new() } else { format!(" ({})", figure.note) };
            let name = valve.name;
            report
                .notes
                .push(format!("{name}, {what}: {published}{aside}, {}{typed}.", figure.source.cited()));
        }
        if let Some(limit) = valve.limits.grid_circuit_fixed.filter(|_| valve.is_output()) {
            report.notes.push(format!(
                "The stopper is part of the grid circuit; its limit with fixed bias is {}.",
                limit.said_of(valve.name)
            ));
        }
    }

    /// Values that one can buy around this one, and this one.
    pub(super) fn sweep(&self) -> Vec<f64> {
        let here = self.stopper.si();
        let mut values: Vec<f64> = preferred::Series::E12.between(here / 3.0, here * 7.0).collect();
        if values.iter().all(|value| !self.is_here(*value)) {
            values.push(here);
            by_number(&mut values, |value| *value);
        }
        values
    }

    fn is_here(&self, value: f64) -> bool {
        (value - self.stopper.si()).abs() <= 1e-6 * value
    }

    pub(super) fn table(&self, found: &Found, sweep: &[f64]) -> Table {
        let row = |value: &f64| {
            let stopper = ElectricalResistance::of(*value);
            let whole = LowPass::new(self.drive + stopper, found.capacitance);
            let yours = if self.is_here(*value) { ", yours" } else { "" };
            vec![
                format!("{}{yours}", writing::repeated(*value, &OHM)),
                writing::nearest(LowPass::new(stopper, found.capacitance).corner, &HERTZ),
                writing::nearest(whole.corner, &HERTZ),
                writing::loss(whole.loss(TOP)),
                writing::nearest(noise(stopper, self.bandwidth).si(), &VOLT),
            ]
        };
        let head = ["Stopper", "Corner, alone", "Corner, with the drive", "Loss at 20\u{a0}kHz", "Noise"];
        Table {
            title: "E12 values around it".to_owned(),
            head: head.map(str::to_owned).to_vec(),
            rows: sweep.iter().map(row).collect(),
        }
    }

    /// Level at the grid over frequency: this stopper and both ends of the sweep alone, and this one with its drive.
    pub(super) fn picture(&self, found: &Found, sweep: &[f64]) -> Picture {
        let here = self.stopper.si();
        let (low, high) = (sweep.first().copied().unwrap_or(here), sweep.last().copied().unwrap_or(here));
        let alone = |value| LowPass::new(ElectricalResistance::of(value), found.capacitance);
        let decade =
            |frequency: f64, beyond: f64| libm::pow(10.0, libm::round(libm::log10(frequency)) + beyond);
        let x = Axis::decades(
            "Frequency",
            &HERTZ,
            decade(alone(high).corner.min(found.whole.corner), -1.0),
            decade(alone(low).corner, 1.0),
        );
        let y = Axis::even("Level at the grid", &DECIBEL, -30.0, 0.0);
        let curve = |filter: LowPass| {
            let points = x.places().map(|frequency| (frequency, -filter.loss(frequency)));
            points.filter(|(_, level)| *level >= y.from).collect()
        };
        let mut series: Vec<Series> = [low, here, high]
            .map(|value| Series {
                name: writing::repeated(value, &OHM),
                mark: Mark::Curve,
                points: curve(alone(value)),
            })
            .into();
        series.push(Series {
            name: format!("{} with the drive", writing::repeated(here, &OHM)),
            mark: Mark::Target,
            points: curve(found.whole),
        });
        Picture {
            title: "What reaches the grid".to_owned(),
            description: format!(
                "The stopper alone loses 3 dB at {}; with the resistance that drives it, 3 dB is lost at {}.",
                writing::nearest(found.own.corner, &HERTZ),
                writing::nearest(found.whole.corner, &HERTZ)
            ),
            x,
            y,
            series,
        }
    }
}
