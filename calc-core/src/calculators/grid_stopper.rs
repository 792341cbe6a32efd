//! Grid stopper: what its value does at audio, at radio frequency, to the noise and to the bias.
//!
//! ```text
//! C_in = C_g + C_ga (1 + A) + C_s     the gain multiplies the capacitance to the anode
//! f_s  = 1 / (2π R_s C_in)            the stopper alone: its lead sees the grid no more above it
//! f_c  = 1 / (2π (R_d + R_s) C_in)    with what drives it: where treble is lost
//! loss = 10 lg (1 + (f / f_c)²)       φ = −arctan (f / f_c)
//! v_n  = √(4 k T R_s B)               T = 290 K
//! ΔV   = I_g R_s
//! ```
//!
//! Units: Ω, F, Hz, dB, °, V. Errors: none beyond the fields' own ranges. Sources: standard forms; the range of values
//! that the trade fits is common practice, no source.

use crate::calculator::{
    Answer, Ask, Axis, Calculator, Expr, Impossible, Limit, Margins, Mark, Picture, Report, Series, Sheet,
    Standing, Table, Verdict, named, named_in, number,
};
use crate::low_pass::LowPass;
use crate::preferred;
use crate::quantity::unit::{DECIBEL, DEGREE, FARAD, HERTZ, OHM, ONE, VOLT};
use crate::quantity::{
    Capacitance, ElectricCurrent, ElectricPotential, ElectricalResistance, Frequency, Quantity, Ratio,
    writing,
};
use crate::source::{BOLTZMANN, PRACTICE, RADIOTRON};
use crate::valve::{VALVES, Valve};

/// Where the loss is judged: the upper end of hearing.
const TOP: f64 = 20e3;
/// The usual reference temperature of noise, in kelvin.
const TEMPERATURE: f64 = 290.0;
/// Exact by definition since 2019, in joules per kelvin.
const BOLTZMANN_CONSTANT: f64 = 1.380_649e-23;
/// What the trade fits at output valves, in ohms.
const HABIT: (f64, f64) = (1.5e3, 10e3);

/// The stopper, what drives it and what it feeds.
pub struct GridStopper {
    valve: Option<&'static Valve>,
    stopper: ElectricalResistance,
    drive: ElectricalResistance,
    grid: Capacitance,
    anode_grid: Capacitance,
    gain: f64,
    stray: Capacitance,
    grid_current: ElectricCurrent,
    bandwidth: Frequency,
}

/// What was found.
pub struct Found {
    capacitance: Capacitance,
    /// The stopper alone.
    own: LowPass,
    /// The stopper behind what drives it.
    whole: LowPass,
    /// What of the loss the stopper adds, in decibels.
    added: f64,
    noise: ElectricPotential,
    drop: ElectricPotential,
}

fn noise(resistance: ElectricalResistance, bandwidth: Frequency) -> ElectricPotential {
    let square = 4.0 * BOLTZMANN_CONSTANT * TEMPERATURE * resistance.si() * bandwidth.si();
    ElectricPotential::of(libm::sqrt(square))
}

impl Calculator for GridStopper {
    const SHEET: &'static Sheet = &Sheet {
        id: "grid-stopper",
        title: "Grid stopper",
        question: "What does this stopper cost, and from where on does it work?",
        edition: 1,
        leaves_out: &[
            "At radio frequency the anode’s load is leakage inductance and stray capacitance: the gain there is not the gain \
             typed, and may have any phase.",
            "Whether a stage oscillates follows from its layout, and no value can promise that it does not: look with an \
             oscilloscope.",
            "Capacitance of the lead before the stopper belongs to the lead, not to this corner.",
            "The inductance of the stopper and its leads; a wirewound part is a choke and no stopper.",
            "Noise of anything but the stopper; carbon composition makes more than the thermal part when it carries current.",
        ],
        sources: &[&RADIOTRON, &BOLTZMANN, &PRACTICE],
    };
    type Found = Found;

    fn ask(a: &mut Ask) -> Self {
        let valve = ask_valve(a);
        // What the sheet of the chosen valve prints stands there until something else is typed.
        let published = |figure: fn(&Valve) -> Option<Capacitance>, otherwise: f64| {
            let figure = valve.and_then(figure).map_or(otherwise, Quantity::si);
            writing::repeated(figure, &FARAD)
        };
        let output = valve.is_none_or(Valve::is_output);
        Self {
            stopper: a
                // Not 68k: a bare number would be in kilohms then, and in ohms at an output valve.
                .quantity("stopper", "R_s", "Grid stopper", if output { "1k5" } else { "68k0" })
                .within("1R", "10M")
                .tolerance("5 %")
                .get(),
            drive: a
                .quantity("drive", "R_d", "Resistance that drives it", "40k")
                .hint("Output resistance of the stage before, with the grid leak across it; about 40 kΩ for a long-tailed pair.")
                .within("0R", "10M")
                .tolerance("20 %")
                .get(),
            grid: a.usual()
                .quantity("grid-capacitance", "C_g", "Grid to all but the anode", published(grid, 15e-12))
                .hint("“Input” on the sheet of a pentode, grid to cathode on that of a triode.")
                .within("0.01 pF", "1 nF")
                .tolerance("10 %")
                .get(),
            anode_grid: a.usual()
                .quantity("anode-grid-capacitance", "C_ga", "Grid to anode", published(anode_grid, 1e-12))
                .within("0 pF", "100 pF")
                .tolerance("10 %")
                .get(),
            gain: a
                .quantity("gain", "A", "Gain from grid to anode", if output { "11" } else { "60" })
                .hint("An output valve: gm × the load it sees, 5.2 mA/V × half of 4.2 kΩ. A 12AX7 with 100 kΩ: about 60.")
                .within("0", "1000")
                .tolerance("20 %")
                .get_in(&ONE),
            stray: a.usual()
                .quantity("stray", "C_s", "Socket and wiring at the grid", "5 pF")
                .hint("Behind the stopper only. An estimate, common practice, no source.")
                .within("0 pF", "1 nF")
                .tolerance("50 %")
                .get(),
            grid_current: a.usual().quantity("grid-current", "I_g", "Grid current", "1 µA").within("0 A", "10 mA").get(),
            bandwidth: a.usual()
                .quantity("bandwidth", "B", "Bandwidth for the noise", "20 kHz")
                .within("1 Hz", "10 MHz")
                .get(),
            valve,
        }
    }

    fn work(&self) -> Result<Found, Impossible> {
        let capacitance = self.grid + self.anode_grid * (1.0 + self.gain) + self.stray;
        let whole = LowPass::new(self.drive + self.stopper, capacitance);
        // Without a stopper and without resistance in the drive nothing is lost.
        let before =
            if self.drive.si() > 0.0 { LowPass::new(self.drive, capacitance).loss(TOP) } else { 0.0 };
        Ok(Found {
            capacitance,
            own: LowPass::new(self.stopper, capacitance),
            whole,
            added: whole.loss(TOP) - before,
            noise: noise(self.stopper, self.bandwidth),
            drop: self.grid_current * self.stopper,
        })
    }

    fn answers(found: &Found) -> Vec<Answer> {
        let Found { own, whole, .. } = found;
        vec![
            Answer::new("input-capacitance", "C_in", "Input capacitance", found.capacitance),
            Answer::in_unit("own-corner", "f_s", "Corner of the stopper alone", &HERTZ, own.corner),
            Answer::in_unit("corner", "f_c", "Corner with what drives it", &HERTZ, whole.corner),
            Answer::in_unit("loss", "", "Loss at 20 kHz", &DECIBEL, whole.loss(TOP)).not_below_zero(),
            Answer::in_unit("added-loss", "", "Of that, by the stopper", &DECIBEL, found.added)
                .not_below_zero(),
            Answer::in_unit("phase", "φ", "Phase at 20 kHz", &DEGREE, whole.phase(TOP)),
            Answer::new("noise", "v_n", "Thermal noise of the stopper", found.noise),
            Answer::new("drop", "ΔV", "Drop by grid current", found.drop),
        ]
    }

    fn report(&self, found: &Found, _: &Margins, report: &mut Report) {
        report.summary = format!(
            "{} into {}: the stopper alone works from {} on. With what drives it, it costs {} at 20 kHz; the stopper’s \
             own part of that is {}.",
            writing::repeated(self.stopper.si(), &OHM),
            writing::nearest(found.capacitance.si(), &FARAD),
            writing::nearest(found.own.corner, &HERTZ),
            decibels(found.whole.loss(TOP)),
            decibels(found.added),
        );
        report.verdicts.push(self.habit());
        self.working(found, report);
        self.notes(report);
        let sweep = self.sweep();
        report.picture = Some(self.picture(found, &sweep));
        report.tables.push(self.table(found, &sweep).into());
    }
}

fn grid(valve: &Valve) -> Option<Capacitance> {
    valve.capacitances.grid.map(|figure| figure.value())
}

fn anode_grid(valve: &Valve) -> Option<Capacitance> {
    valve.capacitances.anode_grid.map(|figure| figure.value())
}

/// Asks which valve it is; `None` is another, whose capacitances are typed.
fn ask_valve(a: &mut Ask) -> Option<&'static Valve> {
    let known = || VALVES.iter().filter(|valve| grid(valve).is_some() && anode_grid(valve).is_some());
    let at = a.one_of("valve", "Valve", "", "6L6GC", &|| {
        let another = ("typed".to_owned(), "another, from its sheet".to_owned());
        known().map(|valve| (valve.name.to_owned(), valve.label())).chain([another]).collect()
    });
    known().nth(at)
}

/// A loss as the bench reads it: what lies below a hundredth of a decibel is nothing.
fn decibels(loss: f64) -> String {
    if loss < 0.01 { "under 0.01\u{a0}dB".to_owned() } else { writing::nearest(loss, &DECIBEL) }
}

impl GridStopper {
    /// How the value stands to what the trade fits. A habit names marked values, so the value typed counts without its
    /// tolerance; a value at either end is the edge.
    fn habit(&self) -> Verdict {
        let about = "Value, by the habit of the trade";
        if !self.valve.is_none_or(Valve::is_output) {
            let advice = "The habit is one of output valves. Here the loss at 20 kHz and the noise decide.";
            return Verdict::new(about, Standing::NoPublishedLimit, None, advice.to_owned());
        }
        let value = self.stopper.si();
        let (low, high) = HABIT;
        let edge = |end: f64| (value - end).abs() <= 1e-6 * end;
        let standing = if edge(low) || edge(high) {
            Standing::Borderline
        } else if (low..=high).contains(&value) {
            Standing::Within
        } else {
            Standing::Beyond
        };
        let lower = value * value < low * high;
        let (end, kind) = if lower {
            (low, "rule of thumb, the lower end of 1k5 to 10k")
        } else {
            (high, "rule of thumb, the upper end of 1k5 to 10k")
        };
        let advice = match (standing, lower) {
            (Standing::Within, _) => "The proof decides, not the value.",
            (Standing::Borderline, true) => {
                "At the low edge, to be judged: leave it where the proof shows a quiet stage, go up where it does not."
            }
            (_, true) => "Less than the trade fits. Where the proof shows a quiet stage it may stay.",
            _ => "Look at the loss at 20 kHz, and count it into the grid circuit.",
        };
        let limit = Limit::new(ElectricalResistance::of(end), kind, &PRACTICE);
        Verdict::new(about, standing, Some(limit), advice.to_owned())
    }

    fn working(&self, found: &Found, report: &mut Report) {
        let gain = || named_in("A", self.gain, &ONE);
        let formula = named("C_g", self.grid)
            + named("C_ga", self.anode_grid) * (number(1.0) + gain())
            + named("C_s", self.stray);
        let says =
            "The anode moves against the grid, so its capacitance counts once more for each unit of gain.";
        let capacitance = report.step(says, "C_in", formula, found.capacitance);
        let corner = |resistance: Expr| {
            let turn = Expr::Named { symbol: "2π", shown: "6.283".to_owned(), value: std::f64::consts::TAU };
            number(1.0) / (turn * resistance * capacitance.clone())
        };
        let stopper = named("R_s", self.stopper);
        report.step_in("The stopper alone.", "f_s", corner(stopper.clone()), found.own.corner, &HERTZ);
        let both = named("R_d", self.drive) + stopper.clone();
        let says = "With the resistance that drives it.";
        let corner = report.step_in(says, "f_c", corner(both), found.whole.corner, &HERTZ);
        let ratio = named_in("f", TOP, &HERTZ) / corner;
        let left = 1.0 / libm::sqrt(1.0 + (TOP / found.whole.corner) * (TOP / found.whole.corner));
        report.step(
            format!(
                "What of a signal of 20 kHz arrives; −20 lg of it are {}.",
                decibels(found.whole.loss(TOP))
            ),
            "V_g / V_d",
            number(1.0) / (number(1.0) + ratio.squared()).root(),
            Ratio::of(left),
        );
        let boltzmann =
            Expr::Named {
                symbol: "k", shown: "1.381 × 10⁻²³ J/K".to_owned(), value: BOLTZMANN_CONSTANT
            };
        let temperature = Expr::Named { symbol: "T", shown: "290\u{a0}K".to_owned(), value: TEMPERATURE };
        let formula =
            (number(4.0) * boltzmann * temperature * stopper.clone() * named("B", self.bandwidth)).root();
        report.step("Thermal noise, RMS.", "v_n", formula, found.noise);
        let formula = named("I_g", self.grid_current) * stopper;
        report.step("Grid current lifts the grid by the drop.", "ΔV", formula, found.drop);
    }

    fn notes(&self, report: &mut Report) {
        let Some(valve) = self.valve else { return };
        let figures = [
            ("grid to all but the anode", valve.capacitances.grid, self.grid),
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
                "The stopper is part of the grid circuit, for which the sheet allows {} with fixed bias: {}.",
                writing::repeated(limit.value().si(), &OHM),
                limit.source.cited()
            ));
        }
    }

    /// Values that one can buy around this one, and this one.
    fn sweep(&self) -> Vec<f64> {
        let here = self.stopper.si();
        let mut values: Vec<f64> = preferred::Series::E12.between(here / 3.0, here * 7.0).collect();
        if values.iter().all(|value| !self.is_here(*value)) {
            values.push(here);
            values.sort_by(f64::total_cmp);
        }
        values
    }

    fn is_here(&self, value: f64) -> bool {
        (value - self.stopper.si()).abs() <= 1e-6 * value
    }

    fn table(&self, found: &Found, sweep: &[f64]) -> Table {
        let row = |value: &f64| {
            let stopper = ElectricalResistance::of(*value);
            let whole = LowPass::new(self.drive + stopper, found.capacitance);
            let yours = if self.is_here(*value) { ", yours" } else { "" };
            vec![
                format!("{}{yours}", writing::repeated(*value, &OHM)),
                writing::nearest(LowPass::new(stopper, found.capacitance).corner, &HERTZ),
                writing::nearest(whole.corner, &HERTZ),
                decibels(whole.loss(TOP)),
                writing::nearest(noise(stopper, self.bandwidth).si(), &VOLT),
            ]
        };
        let head = ["Stopper", "Corner, alone", "Corner, with the drive", "Loss at 20\u{a0}kHz", "Noise"];
        Table {
            title: "Values of E12 around it".to_owned(),
            head: head.map(str::to_owned).to_vec(),
            rows: sweep.iter().map(row).collect(),
        }
    }

    /// Level at the grid over frequency: this stopper and both ends of the sweep alone, and this one with its drive.
    fn picture(&self, found: &Found, sweep: &[f64]) -> Picture {
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
        let steps = 32;
        let curve = |filter: LowPass| {
            let at = |step: i32| x.from * libm::pow(x.to / x.from, f64::from(step) / f64::from(steps));
            let points = (0..=steps).map(at).map(|frequency| (frequency, -filter.loss(frequency)));
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
                "The stopper alone takes 3 dB at {}; with the resistance that drives it 3 dB are lost at {}.",
                writing::nearest(found.own.corner, &HERTZ),
                writing::nearest(found.whole.corner, &HERTZ)
            ),
            x,
            y,
            series,
        }
    }
}

#[cfg(test)]
mod tests {
    use crate::calculators::asked::outcome;

    #[test]
    fn a_bare_number_is_in_ohms_whichever_the_valve() {
        for valve in ["6L6GC", "12AX7", "typed"] {
            let outcome = outcome("grid-stopper", &[("valve", valve), ("stopper", "1500")]);
            let field = outcome.fields.iter().find(|field| field.id == "stopper").unwrap();
            assert_eq!(field.reading.replace('\u{a0}', " "), "1.5 kΩ", "{valve}");
        }
    }
}
