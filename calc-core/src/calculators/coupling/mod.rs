//! Coupling capacitor: what bass it takes, and what its leakage does to the bias behind it.
//!
//! ```text
//! f_c  = 1 / (2π C (R_i + R_l))       the bias source is held by its capacitor, and no part of it to signals
//! loss = 10 lg (1 + (f_c / f)²)
//! R_d  = R_l + R_b                    direct, from the grid to where the bias is made
//! I_c  = (V_1 − V_b) / (R_c + R_i + R_d)      what leaks; or as measured
//! ΔV   = I_c R_d        ΔI = g_m ΔV
//! V_c  = V_n − V_b                    over the capacitor while the valves are cold
//! ```
//!
//! Units: Ω, F, V, A, S, Hz, dB. Range: a lift beyond the bias is said to be one, for the slope says nothing about a valve
//! without bias. Errors: none beyond the fields' own ranges. Source: Ohm's law and textbook forms; what corner and what
//! rise will do is the reader's choice.

#[cfg(test)]
mod tests;
mod words;

use super::questions::reading::VOLTMETER;
use super::questions::{bias, parts, stage, threshold, valve};
use crate::calculator::{
    Answer, Ask, Calculator, Carry, Impossible, Inputs, Inverse, Margins, Report, Section, Sheet,
};
use crate::numeric::high_pass::HighPass;
use crate::preferred;
use crate::quantity::unit::{DECIBEL, HERTZ, OHM, VOLT};
use crate::quantity::{
    Capacitance, ElectricCurrent, ElectricPotential, ElectricalConductance, ElectricalResistance, Frequency,
    Quantity, Ratio, writing,
};
use crate::source::{PRACTICE, RADIOTRON};

/// The capacitor, what lies before it and behind it.
pub struct Coupling {
    capacitance: Capacitance,
    before: ElectricalResistance,
    leak: ElectricalResistance,
    frequency: Frequency,
    highest_corner: Frequency,
    bias: Bias,
    /// Direct, before the capacitor.
    anode: ElectricPotential,
    leakage: Leakage,
    gm: ElectricalConductance,
    idle: ElectricCurrent,
    most_rise: Ratio,
    rated: ElectricPotential,
    /// The highest that the node feeding the stage before can reach.
    node: ElectricPotential,
}

struct Bias {
    fixed: bool,
    /// Bias of the valve after it: grid from cathode, negative.
    voltage: ElectricPotential,
    source: ElectricalResistance,
}

#[derive(Clone, Copy)]
enum Leakage {
    Insulation(ElectricalResistance),
    Current(ElectricCurrent),
}

/// Corner and losses, and where the leakage puts the grid.
pub struct Found {
    filter: HighPass,
    /// What of the signal reaches the grid where the capacitor counts for nothing.
    middle: Ratio,
    at_frequency: f64,
    /// From the grid to where the bias is made.
    direct: ElectricalResistance,
    leakage: ElectricCurrent,
    lift: ElectricPotential,
    bias_left: ElectricPotential,
    rise: ElectricCurrent,
    rise_share: Ratio,
    over_capacitor: ElectricPotential,
}

impl Calculator for Coupling {
    const SHEET: &'static Sheet = &Sheet {
        id: "coupling",
        title: "Coupling capacitor",
        question: "How much bass does it cost, and what does its leakage do to the bias after it?",
        edition: 2,
        headline: &["corner"],
        form: &[
            Section {
                name: "Capacitor",
                fields: &["capacitance", "leak", "source"],
                more: &["frequency", "highest-corner"],
            },
            Section {
                name: "Leakage",
                fields: &[
                    "leakage-by",
                    "insulation",
                    "leakage-current",
                    "anode-voltage",
                    "rated",
                    "highest-node",
                ],
                more: &[],
            },
            Section {
                name: "Valve behind it",
                fields: &["bias", "bias-voltage", "bias-source", "gm", "idle"],
                more: &["most-rise"],
            },
        ],
        leaves_out: &[
            "The slope is taken as constant. It grows with the current, so a large lift does more than is shown here.",
            "With cathode bias the idle current rises less, because the cathode resistor corrects part of it.",
            "One capacitor is taken to leak. If both of a pair do, each also lifts the other’s grid, by its current \
             in the bias source.",
            "Leakage grows with heat and with time under voltage; a cold test at a few volts does not find it.",
            "Grid current, the stopper, and any control or second capacitor after this one.",
        ],
        sources: &[&RADIOTRON, &PRACTICE],
    };
    const INVERSE: &'static [Inverse] = &[Inverse {
        id: "wanted.capacitance",
        question: "Which capacitor gives this bass corner?",
        field: "capacitance",
        answer: "corner",
        example: "30 Hz",
        made_in: Some(preferred::Series::E12),
    }];
    type Found = Found;

    fn ask(a: &mut Ask) -> Self {
        let capacitance = parts::coupling(a, "capacitance", "Coupling capacitor");
        let before = parts::output_resistance(a, "source", "Output resistance of the stage before")
            .hint("The calculators for the gain stage and the inverter give it.")
            .get();
        let leak =
            parts::leak(a, ("leak", "Grid leak after it, or control"), "220k").within("1k", "22M").get();
        let frequency = a
            .usual()
            .quantity("frequency", "f", "Frequency to look at", "82 Hz")
            .hint("The low E of a guitar is 82 Hz, of a bass guitar 41 Hz.")
            .within("1 Hz", "100 kHz")
            .get();
        let highest_corner = threshold::highest_corner(a, "Highest acceptable corner");
        let highest_corner = highest_corner.within("0.1 Hz", "10 kHz").get();
        let bias = ask_bias(a);
        let anode = a
            .quantity("anode-voltage", "V_1", "DC voltage before it, at the anode", "175 V")
            .within("0 V", "1000 V")
            .tolerance("2 %")
            .get();
        let leakage = ask_leakage(a);
        let gm = valve::slope(a, ("gm", "Slope at idle of the valve after it"), "3.3 mS");
        let gm = gm.hint(valve::SLOPE_HINT).get();
        let idle = a
            .quantity("idle", "I_a", "Idle current of the valve after it", "32.5 mA")
            .hint("Anode current of one valve.")
            .within("0.01 mA", "1 A")
            .tolerance("3 %")
            .get();
        let most_rise =
            threshold::will_do(a, ["most-rise", "", "Largest acceptable rise in idle current"], "5 %");
        let most_rise = most_rise.within("0.1 %", "100 %").get();
        let rated = a
            .quantity("rated", "V_r", "Rated direct voltage of the capacitor", "630 V")
            .within("1 V", "10000 V")
            .get();
        let node = "Highest voltage of the node that feeds the stage before";
        let node = stage::no_load(a, ["highest-node", "V_n", node])
            .hint(
                "With the valves cold or out nothing is dropped: use the HT’s no-load voltage if you know no \
                   better.",
            )
            .tolerance("2 %")
            .get();
        Self {
            capacitance,
            before,
            leak,
            frequency,
            highest_corner,
            bias,
            anode,
            leakage,
            gm,
            idle,
            most_rise,
            rated,
            node,
        }
    }

    fn work(&self) -> Result<Found, Impossible> {
        let round = self.before + self.leak;
        let filter = HighPass::new(round, self.capacitance);
        let direct = self.direct();
        let leakage = self.leaks();
        let lift = leakage * direct;
        let rise = self.gm * lift;
        Ok(Found {
            filter,
            middle: self.leak / round,
            at_frequency: filter.loss(self.frequency.si()),
            direct,
            leakage,
            lift,
            bias_left: self.bias.voltage + lift,
            rise,
            rise_share: rise / self.idle,
            over_capacitor: self.node - self.foot(),
        })
    }

    fn answers(found: &Found) -> Vec<Answer> {
        let Found { filter, .. } = found;
        let middle = -20.0 * libm::log10(found.middle.si());
        vec![
            Answer::in_unit("corner", "f_c", "Bass corner", &HERTZ, filter.corner),
            Answer::in_unit("loss-40", "", "Loss at 40 Hz", &DECIBEL, filter.loss(40.0)).not_below_zero(),
            Answer::in_unit("loss-80", "", "Loss at 80 Hz", &DECIBEL, filter.loss(80.0)).not_below_zero(),
            Answer::in_unit("loss", "", "Loss at the frequency you chose", &DECIBEL, found.at_frequency)
                .not_below_zero(),
            Answer::in_unit(
                "middle-loss",
                "",
                "Loss at all frequencies, from source and leak",
                &DECIBEL,
                middle,
            )
            .not_below_zero(),
            Answer::new("leakage", "I_c", "Leakage through it", found.leakage),
            Answer::new("lift", "ΔV", "Lift of the grid by the leakage", found.lift).not_below_zero(),
            Answer::new("bias-left", "V_left", "Bias remaining", found.bias_left),
            Answer::new("rise", "ΔI", "Rise in idle current", found.rise),
            Answer::new("rise-share", "ΔI / I_a", "The same, as a share", found.rise_share).not_below_zero(),
            Answer::new(
                "over-capacitor",
                "V_c",
                "Voltage across it while the valves are cold",
                found.over_capacitor,
            ),
        ]
    }

    fn report(&self, found: &Found, margins: &Margins, report: &mut Report) {
        report.summary = self.summary(found);
        self.judge(found, margins, report);
        self.working(found, report);
        self.notes(found, report);
        report.tables.push(self.leakages().into());
        report.tables.push(self.values().into());
        report.picture = Some(self.picture(found));
    }
}

fn ask_bias(a: &mut Ask) -> Bias {
    let fixed = bias::is_fixed(a, "Bias of the valve after it", "");
    let voltage = a
        .quantity("bias-voltage", "V_g1", "Bias, grid from cathode", if fixed { "-46 V" } else { "-1.5 V" })
        .within("-200 V", "-0.1 V")
        .tolerance(VOLTMETER)
        .get();
    let source = if fixed {
        bias::source(a)
    } else {
        // The leak ends at chassis.
        ElectricalResistance::of(0.0)
    };
    Bias { fixed, voltage, source }
}

fn ask_leakage(a: &mut Ask) -> Leakage {
    let measured = a.usual().choice(
        "leakage-by",
        "Leakage known as",
        "",
        &[
            ("insulation", "insulation resistance of the capacitor", false),
            ("current", "current, measured at its working voltage", true),
        ],
    );
    if measured {
        let current = a.quantity("leakage-current", "I_c", "Leakage current", "1 µA");
        Leakage::Current(current.within("0 A", "100 mA").tolerance("5 %").get())
    } else {
        let insulation = a.quantity("insulation", "R_c", "Insulation resistance", "1G");
        let insulation = insulation.hint(
            "0R means shorted. A sound film capacitor has gigohms, an old paper one \
                                          often tens of megohms.",
        );
        Leakage::Insulation(insulation.within("0R", "1000G").tolerance("20 %").get())
    }
}

impl Coupling {
    /// What a stage takes on to the capacitor after it: its output resistance, what loads it, the direct voltage of its anode.
    pub(super) fn after(
        output: ElectricalResistance,
        load: ElectricalResistance,
        anode: ElectricPotential,
    ) -> Carry {
        // One by one: a map made of an array sorts it, which nothing else in the browser needs.
        let mut inputs = Inputs::new();
        inputs.insert("source".to_owned(), writing::bench(output.si().clamp(0.0, 1e6), &OHM));
        inputs.insert("leak".to_owned(), writing::bench(load.si().clamp(1e3, 22e6), &OHM));
        inputs.insert("anode-voltage".to_owned(), writing::bench(anode.si(), &VOLT));
        let what = format!(
            "{} as the resistance before the capacitor, {} as its voltage",
            writing::nearest(output.si(), &OHM),
            writing::nearest(anode.si(), &VOLT)
        );
        Carry { to: Self::SHEET, what, inputs, answers: vec![], is_example: false }
    }

    /// What the leak's far end is at, from the chassis.
    fn foot(&self) -> ElectricPotential {
        if self.bias.fixed { self.bias.voltage } else { ElectricPotential::of(0.0) }
    }

    fn direct(&self) -> ElectricalResistance {
        self.leak + self.bias.source
    }

    fn leaks(&self) -> ElectricCurrent {
        match self.leakage {
            Leakage::Current(current) => current,
            Leakage::Insulation(insulation) => self.through(insulation),
        }
    }

    /// What flows through an insulation resistance, from the anode before it to the bias.
    fn through(&self, insulation: ElectricalResistance) -> ElectricCurrent {
        (self.anode - self.foot()) / (insulation + self.before + self.direct())
    }
}
