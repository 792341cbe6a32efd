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
//! Units: Ω, F, V, A, S, Hz, dB. Range: a lift beyond the bias is said to be one, for the slope says nothing of a valve
//! without bias. Errors: none beyond the fields' own ranges. Source: Ohm's law and textbook forms; what corner and what
//! rise will do is the reader's choice.

#[cfg(test)]
mod tests;
mod words;

use crate::calculator::{Answer, Ask, Calculator, Impossible, Margins, Report, Sheet};
use crate::high_pass::HighPass;
use crate::quantity::unit::{DECIBEL, HERTZ};
use crate::quantity::{
    Capacitance, ElectricCurrent, ElectricPotential, ElectricalConductance, ElectricalResistance, Frequency,
    Quantity, Ratio,
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
    /// Grid from cathode.
    voltage: ElectricPotential,
    source: ElectricalResistance,
}

#[derive(Clone, Copy)]
enum Leakage {
    Insulation(ElectricalResistance),
    Current(ElectricCurrent),
}

/// What was found.
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
        question: "What bass does it take, and what does its leakage do to the bias behind it?",
        edition: 2,
        leaves_out: &[
            "The slope is taken as constant. It grows with the current, so a large lift does more than is said here.",
            "With cathode bias the idle current rises by less, for the cathode resistor takes back a part.",
            "One capacitor leaks. When both of a pair do, each lifts the other’s grid too, by its current in the bias source.",
            "Leakage grows with heat and with time under voltage; a cold meter of a few volts does not find it.",
            "Grid current, the stopper, and any control or second capacitor behind this one.",
        ],
        sources: &[&RADIOTRON, &PRACTICE],
    };
    type Found = Found;

    fn ask(a: &mut Ask) -> Self {
        let capacitance = a
            .quantity("capacitance", "C", "Coupling capacitor", "100n")
            .within("10p", "100u")
            .tolerance("10 %")
            .get();
        let before = a
            .quantity("source", "R_i", "Output resistance of the stage before", "18k")
            .hint("The calculators of gain stage and inverter give it.")
            .within("0R", "1M")
            .tolerance("30 %")
            .get();
        let leak = a
            .quantity("leak", "R_l", "Grid leak behind it, or control", "220k")
            .within("1k", "22M")
            .tolerance("5 %")
            .get();
        let frequency = a
            .usual()
            .quantity("frequency", "f", "Frequency to look at", "82 Hz")
            .hint("The low E of a guitar is 82 Hz, of a bass guitar 41 Hz.")
            .within("1 Hz", "100 kHz")
            .get();
        let highest_corner = a
            .usual()
            .quantity("highest-corner", "f_max", "Highest corner that will do", "20 Hz")
            .hint("Your choice. Common practice, no source.")
            .within("0.1 Hz", "10 kHz")
            .get();
        let bias = ask_bias(a);
        let anode = a
            .quantity("anode-voltage", "V_1", "Direct voltage before it, at the anode", "175 V")
            .within("0 V", "1000 V")
            .tolerance("2 %")
            .get();
        let leakage = ask_leakage(a);
        let gm = a
            .quantity("gm", "g_m", "Slope at idle of the valve behind it", "3.3 mS")
            .hint("3.3 mS is 3.3 mA/V. From memory, to be confirmed: sheets give it at a higher current.")
            .within("0.1 mS", "50 mS")
            .tolerance("30 %")
            .get();
        let idle = a
            .quantity("idle", "I_a", "Idle current of the valve behind it", "32.5 mA")
            .hint("Of one valve, its anode’s.")
            .within("0.01 mA", "1 A")
            .tolerance("3 %")
            .get();
        let most_rise = a
            .usual()
            .quantity("most-rise", "", "Most rise of the idle current that will do", "5 %")
            .hint("Your choice. Common practice, no source.")
            .within("0.1 %", "100 %")
            .get();
        let rated = a
            .quantity("rated", "V_r", "Rated direct voltage of the capacitor", "630 V")
            .within("1 V", "10000 V")
            .get();
        let node = a
            .quantity("highest-node", "V_n", "Highest voltage of the node that feeds the stage before", "490 V")
            .hint("With the valves cold or out nothing is dropped: the HT’s no-load voltage, where you know no better.")
            .within("0 V", "1500 V")
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
            Answer::in_unit("loss", "", "Loss at the frequency you named", &DECIBEL, found.at_frequency)
                .not_below_zero(),
            Answer::in_unit(
                "middle-loss",
                "",
                "Loss at all frequencies, by source and leak",
                &DECIBEL,
                middle,
            )
            .not_below_zero(),
            Answer::new("leakage", "I_c", "Leakage through it", found.leakage),
            Answer::new("lift", "ΔV", "Lift of the grid by the leakage", found.lift).not_below_zero(),
            Answer::new("bias-left", "V_left", "Bias that is left", found.bias_left),
            Answer::new("rise", "ΔI", "Rise of the idle current", found.rise),
            Answer::new("rise-share", "ΔI / I_a", "The same, as a share", found.rise_share).not_below_zero(),
            Answer::new("over-capacitor", "V_c", "Over it while the valves are cold", found.over_capacitor),
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
    let fixed = a.choice(
        "bias",
        "Bias of the valve behind it",
        "",
        &[("fixed", "fixed, a negative supply", true), ("cathode", "cathode (self), by a resistor", false)],
    );
    let voltage = a
        .quantity("bias-voltage", "V_g1", "Bias, grid from cathode", if fixed { "-46 V" } else { "-1.5 V" })
        .within("-200 V", "-0.1 V")
        .tolerance("1 %")
        .get();
    let source = if fixed {
        a.quantity("bias-source", "R_b", "Bias source, its direct resistance", "12k")
            .hint("What an ohmmeter would see from that node to chassis, its capacitor charged.")
            .within("0R", "1M")
            .tolerance("10 %")
            .get()
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
        let insulation = insulation.hint("0R is a shorted one. A sound film capacitor has gigohms, an old paper one often tens of megohms.");
        Leakage::Insulation(insulation.within("0R", "1000G").tolerance("20 %").get())
    }
}

impl Coupling {
    /// What the leak's far end stands at, from the chassis.
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
