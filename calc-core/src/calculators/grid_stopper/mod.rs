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

mod words;

use super::questions::parts::resistor;
use super::questions::stage::grid_capacitance;
use super::questions::valve;
use crate::calculator::{Answer, Ask, Calculator, Impossible, Inverse, Margins, Report, Section, Sheet};
use crate::numeric::low_pass::LowPass;
use crate::preferred;
use crate::quantity::unit::{DECIBEL, DEGREE, FARAD, HERTZ, OHM, ONE};
use crate::quantity::{
    Capacitance, ElectricCurrent, ElectricPotential, ElectricalResistance, Frequency, Quantity, writing,
};
use crate::source::{BOLTZMANN, PRACTICE, RADIOTRON};
use crate::valve::Valve;

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

/// Corners, noise and drop of the stopper.
pub struct Found {
    capacitance: Capacitance,
    /// The low-pass of the stopper alone, driven by a stiff source.
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
        question: "What does this stopper cost, and above which frequency does it work?",
        edition: 1,
        headline: &["corner"],
        form: &[Section {
            name: "Stopper and valve",
            fields: &["stopper", "valve", "drive", "gain", "grid-capacitance", "anode-grid-capacitance"],
            more: &["stray", "grid-current", "bandwidth"],
        }],
        leaves_out: &[
            "At radio frequency the anode’s load is leakage inductance and stray capacitance: the gain there is not the gain \
             typed, and may have any phase.",
            "Whether a stage oscillates depends on its layout, and no value can promise that it will not: check with \
             an oscilloscope.",
            "Capacitance of the lead before the stopper belongs to the lead, not to this corner.",
            "The inductance of the stopper and its leads; a wirewound part is a choke, not a stopper.",
            "Noise from anything but the stopper; carbon composition adds to the thermal noise when it carries \
             current.",
        ],
        sources: &[&RADIOTRON, &BOLTZMANN, &PRACTICE],
    };
    const INVERSE: &'static [Inverse] = &[Inverse {
        id: "wanted.stopper",
        question: "Which stopper leaves this treble corner?",
        field: "stopper",
        answer: "corner",
        example: "20 kHz",
        made_in: Some(preferred::Series::E24),
    }];
    type Found = Found;

    fn ask(a: &mut Ask) -> Self {
        let known = |valve: &Valve| grid(valve).is_some() && anode_grid(valve).is_some();
        let valve = valve::which(a, "Valve", known, Some("another, from its data sheet"));
        // What the data sheet of the chosen valve prints is there until something else is typed.
        let printed = |figure: fn(&Valve) -> Option<Capacitance>, otherwise: f64| {
            valve.and_then(figure).map_or(otherwise, Quantity::si)
        };
        let output = valve.is_none_or(Valve::is_output);
        // Not 68k: a bare number would be in kilohms then, and in ohms at an output valve.
        let stopper = resistor(a, ["stopper", "R_s", "Grid stopper"], if output { "1k5" } else { "68k0" });
        let stopper = stopper.within("1R", "10M").get();
        let drive = "Output resistance of the stage before, with the grid leak across it; about 40 kΩ for a long-tailed \
                     pair.";
        let drive = a
            .quantity("drive", "R_d", "Resistance that drives it", "40k")
            .hint(drive)
            .within("0R", "10M")
            .tolerance("20 %")
            .get();
        let all = ["grid-capacitance", "C_g", "Grid to all except the anode"];
        let all = grid_capacitance(a, all, printed(grid, 15e-12))
            .hint("“Input” in a pentode’s data sheet, “grid to cathode” in a triode’s.")
            .within("0.01 pF", "1 nF")
            .get();
        let anode = ["anode-grid-capacitance", "C_ga", "Grid to anode"];
        let anode = grid_capacitance(a, anode, printed(anode_grid, 1e-12)).within("0 pF", "100 pF").get();
        let gain = "An output valve: gm × the load it sees, 5.2 mA/V × half of 4.2 kΩ. A 12AX7 with 100 kΩ: about 60.";
        let gain = a
            .quantity("gain", "A", "Gain from grid to anode", if output { "11" } else { "60" })
            .hint(gain)
            .within("0", "1000")
            .tolerance("20 %")
            .get_in(&ONE);
        let stray = a
            .usual()
            .quantity("stray", "C_s", "Socket and wiring at the grid", "5 pF")
            .hint("After the stopper only. An estimate, common practice, no source.")
            .within("0 pF", "1 nF")
            .tolerance("50 %")
            .get();
        let grid_current =
            a.usual().quantity("grid-current", "I_g", "Grid current", "1 µA").within("0 A", "10 mA").get();
        let bandwidth = a
            .usual()
            .quantity("bandwidth", "B", "Bandwidth for the noise", "20 kHz")
            .within("1 Hz", "10 MHz")
            .get();
        Self { valve, stopper, drive, grid: all, anode_grid: anode, gain, stray, grid_current, bandwidth }
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
            Answer::in_unit("corner", "f_c", "Corner with the source resistance", &HERTZ, whole.corner),
            Answer::in_unit("loss", "", "Loss at 20 kHz", &DECIBEL, whole.loss(TOP)).not_below_zero(),
            Answer::in_unit("added-loss", "", "Of that, due to the stopper", &DECIBEL, found.added)
                .not_below_zero(),
            Answer::in_unit("phase", "φ", "Phase at 20 kHz", &DEGREE, whole.phase(TOP)),
            Answer::new("noise", "v_n", "Thermal noise of the stopper", found.noise),
            Answer::new("drop", "ΔV", "Drop from grid current", found.drop),
        ]
    }

    fn report(&self, found: &Found, _: &Margins, report: &mut Report) {
        report.summary = format!(
            "{} into {}: the stopper alone works above {}. With the resistance that drives it, the loss at 20 kHz is \
             {}; the stopper’s own part of that is {}.",
            writing::repeated(self.stopper.si(), &OHM),
            writing::nearest(found.capacitance.si(), &FARAD),
            writing::nearest(found.own.corner, &HERTZ),
            writing::loss(found.whole.loss(TOP)),
            writing::loss(found.added),
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
