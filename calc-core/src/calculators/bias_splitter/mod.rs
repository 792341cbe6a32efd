//! The bias splitter: the grid leaks of an output stage, against the data sheet, the bass and the inverter at once.
//!
//! ```text
//! R_gc = R_s + n R_l + N R_b           grid circuit of one valve: n valves on its leak, N on the bias source
//! ΔV = I_g R_gc    ΔI = g_m ΔV         what grid current does to the bias and to the idle current
//! R_l' = R_l / m                       the m leaks of a side, side by side
//! τ = C (R_l' + R_i)   f = 1 / 2πτ     recovery of the coupling capacitor, and bass corner
//! a = R_l' / (R_l' + R_i)              what of the drive reaches the grids
//! ```
//!
//! Units: Ω, V, A, F, S. Errors: valves that do not divide into two sides that are the same. Source: Ohm's law and textbook forms; limits from
//! the valve table; the usual leaks are common practice, no source.

mod circuit;
mod tables;
#[cfg(test)]
mod tests;
mod words;

use circuit::{Circuit, Worked};

use super::questions::{bias, parts, threshold, valve};
use crate::calculator::{Answer, Ask, Calculator, Impossible, Inverse, Margins, Report, Section, Sheet};
use crate::preferred;
use crate::quantity::unit::DECIBEL;
use crate::quantity::{ElectricPotential, ElectricalConductance, ElectricalResistance, Frequency, Quantity};
use crate::source::{GUM, IEC_60063, PRACTICE, RADIOTRON};
use crate::valve::{Figure, GridCircuit, GridCircuitFields, ask_grid_circuit};

/// The circuit, the design in hand, and another to hold beside it.
pub struct BiasSplitter {
    bias: Bias,
    circuit: Circuit,
    design: Design,
    other: Design,
    highest_corner: Frequency,
    /// The largest acceptable loss of drive, in decibels.
    most_loss: f64,
}

#[derive(Clone, Copy)]
enum Bias {
    Fixed(ElectricPotential),
    Cathode,
}

/// What differs between two designs.
struct Design {
    valve: GridCircuit,
    leak: ElectricalResistance,
    gm: ElectricalConductance,
}

/// The circuit worked out for both designs.
pub struct Found {
    design: Worked,
    other: Worked,
    /// Within the data sheet's limit, where there is one.
    largest_leak: Option<ElectricalResistance>,
    bias_left: Option<ElectricPotential>,
}

const OTHER_VALVE: GridCircuitFields = GridCircuitFields {
    valve: ("other-valve", "Other design: output valve"),
    sheet: ("other-sheet", "Other design: which data sheet"),
    fixed: ("other-limit-fixed", "Other design: highest grid-circuit resistance, fixed bias"),
    cathode: ("other-limit-cathode", "Other design: highest grid-circuit resistance, cathode bias"),
};

impl Calculator for BiasSplitter {
    const SHEET: &'static Sheet = &Sheet {
        id: "bias-splitter",
        title: "Grid leaks and the bias splitter",
        question: "Which grid leak keeps the bias where it was set, and what does it cost in bass and drive?",
        edition: 2,
        headline: &["grid-circuit"],
        form: &[
            Section {
                name: "Valve and leak",
                fields: &[
                    "valve",
                    "sheet",
                    "limit-fixed",
                    "limit-cathode",
                    "leak",
                    "valves-on-leak",
                    "valves",
                ],
                more: &[],
            },
            Section {
                name: "Bias",
                fields: &["bias", "bias-voltage", "bias-source", "gm"],
                more: &["stopper", "grid-current"],
            },
            Section {
                name: "Drive",
                fields: &["coupling", "inverter"],
                more: &["highest-corner", "most-loss"],
            },
            Section {
                name: "Another design",
                fields: &[
                    "other-valve",
                    "other-sheet",
                    "other-limit-fixed",
                    "other-limit-cathode",
                    "other-leak",
                ],
                more: &["other-gm"],
            },
        ],
        leaves_out: &[
            "Every valve is taken to draw the same grid current. A hot valve draws more, which heats it further; that \
             is not counted.",
            "g_m is as typed: it changes with the idle current and does not follow the valve chosen.",
            "With cathode bias the idle current rises less, because the cathode resistor corrects part of it.",
            "For signals the bias source is taken as decoupled by its capacitor, and the grids as drawing no current.",
            "Left out: any control, feedback or second pair of capacitors after the inverter, and how far the \
             inverter can swing into the load.",
            "The table of preferred leaks judges bass and loss at nominal values; type the one you choose as the leak to see its margins.",
        ],
        sources: &[&RADIOTRON, &IEC_60063, &GUM, &PRACTICE],
    };
    const INVERSE: &'static [Inverse] = &[
        Inverse {
            id: "wanted.leak",
            question: "Which grid leak leaves this much bias?",
            field: "leak",
            answer: "bias-left",
            example: "-45 V",
            made_in: Some(preferred::Series::E24),
        },
        Inverse {
            id: "wanted.coupling",
            question: "Which coupling capacitor gives this bass corner?",
            field: "coupling",
            answer: "corner",
            example: "30 Hz",
            made_in: Some(preferred::Series::E12),
        },
    ];
    type Found = Found;

    fn ask(a: &mut Ask) -> Self {
        let valve = ask_grid_circuit(a, &valve::GRID_CIRCUIT, "6L6GC");
        let fixed = bias::is_fixed(a, "Bias", "The data sheet gives a maximum for each.");
        let (bias, bias_source) = if fixed {
            let voltage = bias::reading(a, "Bias, at the node that feeds the leaks").get();
            (Bias::Fixed(voltage), bias::source(a))
        } else {
            // The leaks end at chassis.
            (Bias::Cathode, ElectricalResistance::of(0.0))
        };
        let leak = |a: &mut Ask, id, name, default| parts::leak(a, (id, name), default).get();
        let gm = |a: &mut Ask, id, name, default| {
            valve::slope(a, (id, name), default).hint(valve::SLOPE_HINT).get()
        };
        let first = leak(a, "leak", "Grid leak, each side", "220k");
        let valves_on_leak = a.count("valves-on-leak", "Valves on one leak", "1", 8);
        let valves = a.count("valves", "Valves on the bias source, in total", "2", 8);
        let stopper = parts::stopper(a);
        let grid_current = bias::grid_current(a);
        let first_gm = gm(a, "gm", "Slope at idle", "3.3 mS");
        let coupling = parts::coupling(a, "coupling", "Coupling capacitor");
        let inverter = parts::inverter(a)
            .hint("Its anode resistor in parallel with the valve; not yet confirmed.")
            .get();
        let highest_corner = threshold::highest_corner(a, "Highest acceptable bass corner");
        let highest_corner = highest_corner.within("0.1 Hz", "1 kHz").get();
        let most_loss = threshold::will_do(a, ["most-loss", "", "Largest acceptable loss of drive"], "3 dB");
        let most_loss = most_loss.within("0.01 dB", "40 dB").get_in(&DECIBEL);
        let other_valve = ask_grid_circuit(a, &OTHER_VALVE, "6550");
        let second = leak(a, "other-leak", "Other design: grid leak", "150k");
        let second_gm = gm(a, "other-gm", "Other design: slope at idle", "7.5 mS");
        Self {
            bias,
            circuit: Circuit {
                bias_source,
                valves_on_leak,
                valves,
                stopper,
                grid_current,
                coupling,
                inverter,
            },
            design: Design { valve, leak: first, gm: first_gm },
            other: Design { valve: other_valve, leak: second, gm: second_gm },
            highest_corner,
            most_loss,
        }
    }

    fn work(&self) -> Result<Found, Impossible> {
        let Circuit { valves_on_leak, valves, .. } = self.circuit;
        if valves_on_leak > valves {
            let message = format!(
                "{valves_on_leak} valves on one leak, but only {valves} in total on the bias source. Count both \
                 sides."
            );
            return Err(Impossible { field: "valves", message });
        }
        let design = self.circuit.with(self.design.leak, self.design.gm)?;
        Ok(Found {
            design,
            other: self.circuit.with(self.other.leak, self.other.gm)?,
            largest_leak: self.largest_leak(&self.design),
            bias_left: match self.bias {
                Bias::Fixed(voltage) => Some(voltage + design.bias_lost),
                Bias::Cathode => None,
            },
        })
    }

    fn answers(found: &Found) -> Vec<Answer> {
        let Found { design, other, largest_leak, bias_left } = found;
        let mut answers =
            vec![Answer::new("grid-circuit", "R_gc", "Grid circuit, each valve", design.grid_circuit)];
        if let Some(leak) = largest_leak {
            answers.push(Answer::new("largest-leak", "R_l,max", "Largest leak within the limit here", *leak));
        }
        answers.push(Answer::new("bias-lost", "ΔV", "Bias lost to grid current", design.bias_lost));
        if let Some(bias) = bias_left {
            answers.push(Answer::new("bias-left", "V_g1", "Bias left at each grid", *bias));
        }
        answers.extend([
            Answer::new("current-rise", "ΔI", "Rise in each valve’s idle current", design.current_rise),
            Answer::new("inverter-load", "R_l", "Load on the inverter, each side", design.load),
            Answer::in_unit("loss", "", "Loss of drive between inverter and grids", &DECIBEL, design.loss)
                .not_below_zero(),
            Answer::new("corner", "f", "Bass corner", design.corner),
            Answer::new("recovery", "τ", "Time constant of recovery after grid current", design.recovery),
            Answer::new(
                "other-grid-circuit",
                "R_gc",
                "Other design: grid circuit, each valve",
                other.grid_circuit,
            ),
            Answer::new("other-current-rise", "ΔI", "Other design: rise in idle current", other.current_rise),
        ]);
        answers
    }

    fn report(&self, found: &Found, margins: &Margins, report: &mut Report) {
        report.summary = self.summary(found);
        self.judge(margins, report);
        self.working(found, report);
        self.compare(found, report);
        self.preferred(found, margins, report);
        self.notes(found, report);
        report.picture = Some(self.picture(found));
    }
}

impl BiasSplitter {
    /// The data sheet's maximum for the kind of bias in hand.
    fn limit(&self, design: &Design) -> Option<Figure<ElectricalResistance>> {
        match self.bias {
            Bias::Fixed(_) => design.valve.fixed,
            Bias::Cathode => design.valve.cathode,
        }
    }

    /// The largest leak that the data sheet allows in this circuit; zero when none is small enough.
    fn largest_leak(&self, design: &Design) -> Option<ElectricalResistance> {
        self.limit(design).map(|limit| self.circuit.largest_leak(limit.value()))
    }
}
