//! A master volume between the inverter and the grids of the output valves: five ways to place it, what each does to
//! signal, bandwidth and bias, and what every way of failing does to the valves.
//!
//! `circuit` works out one side with its control anywhere; `network` builds the whole of it, with any fault; `faults` reads
//! the grids of it, `failure_modes` names them. `failsafe` sweeps the fail-safe resistor, `parts` says what to buy, `wires`
//! lists them. `schematic` and `wiring` draw.
//!
//! ```text
//! H    = V_g / V_i                        from the inverter with nothing on it to the grid, at 1 kHz
//! R_gc = R_s + n R_w + N R_b              the grid circuit of one valve
//! R_10 = R_P ∥ (R_f + R_s) / n            full up, the fail-safe resistors of n grid tags across the whole track; ∥ R_f
//!                                         where one at the pot or the socket serves the side
//! V_m  = V_g1 R_m / (R_m + R_h + R_b)     what a meter reads at a grid that only fail-safe resistors hold: R_h its own, beside
//!                                         those of the side's other valves through both stoppers
//! V_x  = V_s                              along a section of the track, full up; 2 V_s across the two grids
//! P_x  = V_x² / R_P                       an overdriven inverter's square wave; in a rheostat's used part: `parts`
//! ```
//!
//! Units: Ω, F, V, A, Hz, dB; the knob from 0 to 10. Errors: measured points that are no law. Sources: Ohm's law, modified
//! nodal analysis, published valve models; the rules on the page *Why the gates are as they are*.

mod ask;
mod assembly;
mod circuit;
mod curves;
mod dc_bias;
mod failsafe;
mod failure_modes;
mod faults;
mod form;
mod ladder;
mod network;
mod parts;
mod schematic;
#[cfg(test)]
mod tests;
mod wires;
mod wiring;
mod words;
mod working;

use std::rc::Rc;

use circuit::{Circuit, Place, Topology};
use parts::Used;

use crate::calculator::{
    Answer, Ask, Calculator, Export, Impossible, Inverse, Lazy, Margins, Report, Sheet, Table, if_wanted,
};
use crate::calculators::questions::control::Track;
use crate::circuit::Analysis;
use crate::circuit::units::hertz;
use crate::quantity::unit::{DECIBEL, DECIBEL_PER_DEGREE};
use crate::quantity::{
    Capacitance, ElectricCurrent, ElectricPotential, ElectricalResistance, Frequency, Power, Quantity, Ratio,
};
use crate::source::{
    BOURNS_PDB18, GUITAR_LEAD, GUM, KOREN, MEMORY, MNA, OMEG_POTS, PRACTICE, RADIOTRON, REEFMAN,
};
use crate::valve::{Figure, Fitted, GridCircuit};

/// Where levels are read.
const MIDDLE: f64 = 1e3;
/// As far as a corner is looked for, in Hz.
const ENDS: (f64, f64) = (1e-9, 1e13);
/// Input resistance of the usual meter, in Ω.
const METER: f64 = 10e6;

/// The control, what it sits in, and what is looked at.
#[derive(Clone)]
pub struct MasterVolume {
    topology: Topology,
    knob: Ratio,
    track: Track,
    angle: f64,
    end: ElectricalResistance,
    mismatch: Option<f64>,
    safe: Option<(Place, ElectricalResistance)>,
    inverter: ElectricalResistance,
    imbalance: Ratio,
    inverter_voltage: ElectricPotential,
    /// The inverter's, highest, peak.
    swing: ElectricPotential,
    /// Of the inverter's supply, with nothing drawing current.
    unloaded: ElectricPotential,
    /// What a section of the track bears.
    element_voltage: ElectricPotential,
    element_power: Power,
    coupling: Capacitance,
    second: Option<Capacitance>,
    leak: ElectricalResistance,
    stopper: ElectricalResistance,
    lead: Lead,
    valve: GridCircuit,
    model: Option<&'static Fitted>,
    anode_power: Option<Figure<Power>>,
    input: Capacitance,
    valves: u32,
    anode: ElectricPotential,
    screen: ElectricPotential,
    idle: ElectricCurrent,
    bias: ElectricPotential,
    bias_source: ElectricalResistance,
    bias_capacitor: Capacitance,
    grid_current: ElectricCurrent,
    seen: Seen,
    /// Whether anything reads what is long to work out.
    wanted: Wanted,
}

#[derive(Clone, Copy)]
struct Wanted {
    bass: bool,
    treble: bool,
    load_least: bool,
    residual: bool,
}

/// The lead between socket and pot.
#[derive(Clone)]
struct Lead {
    /// Length of the lead to the control, in metres.
    length: f64,
    /// A metre of it.
    to_screen: Capacitance,
    to_core: Capacitance,
}

/// From which side the wiring is drawn.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Seen {
    Lugs,
    Shaft,
}

/// What the control does to signals, bias and bass at this setting.
pub struct Found {
    circuit: Circuit,
    /// In decibels: of the inverter with nothing on it, here and full up; full up before there was a master.
    here: f64,
    full_up: f64,
    before: f64,
    bass: f64,
    treble: f64,
    grid_circuit: f64,
    grid_circuit_most: f64,
    grid_circuit_lifted: Option<f64>,
    /// What the meter reads at a grid that only the fail-safe resistors of its side hold.
    lifted_reading: Option<f64>,
    /// Track and fail-safe resistors side by side, full up.
    beside: Option<f64>,
    load: f64,
    load_least: f64,
    residual: f64,
    /// At the inverter's highest swing, full up.
    along: f64,
    heat: f64,
    /// A rheostat's track at its worst knob.
    used: Option<Used>,
    balance: Option<f64>,
    /// For a degree more, a degree less.
    feel: (Option<f64>, Option<f64>),
}

impl Calculator for MasterVolume {
    const SHEET: &'static Sheet = &Sheet {
        id: "master-volume",
        title: "Master volume after the inverter",
        question: "What does this control do to drive, bass, treble and bias, and what does each fault do to the \
                   valves?",
        edition: 3,
        headline: &["gain"],
        form: form::FORM,
        leaves_out: &[
            "Levels are for a small signal. How far the inverter can swing into the load before it clips is another \
             question.",
            "Both sides are taken as the same except for what is asked: the gangs’ mismatch and the inverter’s \
             imbalance.",
            "The two sides meet at the bias node; what is common to both flows through its impedance, with a \
             capacitor free of losses.",
            "Currents under a fault come from a published model, shifted along the grid voltage until it gives the \
             idle current typed, with anode and screen voltages constant. A supply sags and a fuse blows: read them \
             as “about”.",
            "The time until a valve exceeds its rating is an estimate, for an anode that takes 20 s to warm; not yet \
             confirmed.",
            "Grids are taken to draw no current when they are positive: where one is driven up to its cathode the table stops at 0 V.",
            "Feedback around the output stage: the gain here is that of the control alone.",
        ],
        sources: &[
            &MNA,
            &RADIOTRON,
            &KOREN,
            &REEFMAN,
            &BOURNS_PDB18,
            &OMEG_POTS,
            &GUITAR_LEAD,
            &GUM,
            &PRACTICE,
            &MEMORY,
        ],
    };
    const INVERSE: &'static [Inverse] = &[Inverse {
        id: "wanted.knob",
        question: "Where on the knob is this level at the grids?",
        field: "knob",
        answer: "gain",
        example: "-20 dB",
        made_in: None,
    }];
    type Found = Found;

    fn ask(a: &mut Ask) -> Self {
        ask::ask(a)
    }

    fn work(&self) -> Result<Found, Impossible> {
        let circuit = self.circuit()?;
        let share = circuit.law.share(self.knob);
        let top = circuit.law.full_up();
        let here = circuit.decibels(share, MIDDLE);
        let step = Ratio::of(1.0 / self.angle);
        let at = |rotation: Ratio| circuit.decibels(circuit.law.share(rotation), MIDDLE);
        let (higher, lower) = (self.knob + step, self.knob - step);
        let feel =
            ((higher.si() <= 1.0).then(|| at(higher) - here), (lower.si() >= 0.0).then(|| here - at(lower)));
        let balance = self.mismatch.map(|mismatch| {
            // At either end both wipers rest on metal.
            let between = share.si() > 0.0 && share.si() < 1.0;
            let other = share * libm::pow(10.0, -mismatch / 20.0);
            if between { here - circuit.decibels(other, MIDDLE) } else { 0.0 }
        });
        let source = self.bias_source.si();
        Ok(Found {
            here,
            full_up: circuit.decibels(top, MIDDLE),
            before: circuit.before(MIDDLE),
            bass: if_wanted(self.wanted.bass, || circuit.corner(share, MIDDLE, ENDS.0)),
            treble: if_wanted(self.wanted.treble, || circuit.corner(share, MIDDLE, ENDS.1)),
            grid_circuit: circuit.grid_circuit(share),
            grid_circuit_most: circuit.grid_circuit(top),
            grid_circuit_lifted: circuit.grid_circuit_lifted(),
            lifted_reading: circuit
                .held_by_safe()
                .map(|held| self.bias.si() * METER / (METER + held + source)),
            beside: circuit.safe_from_wiper().map(|safe| 1.0 / (1.0 / circuit.track + 1.0 / safe)),
            load: circuit.load(share, MIDDLE),
            load_least: if_wanted(self.wanted.load_least, || circuit.load_least(MIDDLE)),
            along: self.along(),
            heat: self.along() * self.along() / circuit.track,
            used: self.used(&circuit),
            residual: if_wanted(self.wanted.residual, || circuit.residual(self.imbalance.si(), MIDDLE)),
            balance,
            feel,
            circuit,
        })
    }

    fn answers(found: &Found) -> Vec<Answer> {
        let decibel = |id, symbol, name, value| Answer::in_unit(id, symbol, name, &DECIBEL, value);
        let ohms = |id, symbol, name, value| Answer::new(id, symbol, name, ElectricalResistance::of(value));
        let hertz = |id, symbol, name, value| Answer::new(id, symbol, name, Frequency::of(value));
        let mut answers = vec![
            decibel("gain", "H", "Level at the grids, relative to the unloaded inverter", found.here),
            decibel("below-full", "L", "Level, below full up", found.here - found.full_up),
            decibel(
                "change",
                "",
                "Full up, compared with the amplifier as it was",
                found.full_up - found.before,
            ),
            hertz("bass", "f_1", "Bass corner, −3 dB", found.bass),
            hertz("treble", "f_2", "Treble corner, −3 dB", found.treble),
            ohms("grid-circuit", "R_gc", "Grid circuit of each valve, here", found.grid_circuit),
            ohms(
                "grid-circuit-most",
                "R_gc",
                "Grid circuit of each valve, highest at any setting",
                found.grid_circuit_most,
            ),
        ];
        let optional = [
            ("full-up-track", "R_10", "Full up, track with the fail-safe resistor across it", found.beside),
            ("grid-circuit-lifted", "R_gc", "Grid circuit with the wiper lifted", found.grid_circuit_lifted),
        ];
        answers.extend(
            optional.into_iter().filter_map(|(id, symbol, name, value)| Some(ohms(id, symbol, name, value?))),
        );
        if let Some(reading) = found.lifted_reading {
            let reading = ElectricPotential::of(reading);
            answers.push(Answer::new(
                "lifted-reading",
                "V_m",
                "Wiper lifted, a 10 MΩ meter at the grid reads",
                reading,
            ));
        }
        answers.extend([
            ohms("load", "Z_i", "The inverter sees, each side, here", found.load),
            ohms("load-least", "Z_i", "The inverter sees, lowest at any setting", found.load_least),
            decibel("residual", "", "Level left at 0, below full up", found.residual),
            Answer::new(
                "track-voltage",
                "V_x",
                "Voltage along a section of the track, at the highest swing",
                ElectricPotential::of(found.along),
            ),
            Answer::new(
                "track-power",
                "P_x",
                "Heat in that section, from a square wave",
                Power::of(found.heat),
            ),
        ]);
        if let Some(Used { heat, current }) = found.used {
            let heat = Power::of(heat);
            answers.push(Answer::new(
                "used-power",
                "P_u",
                "Heat in the used part of the track, at the worst setting",
                heat,
            ));
            let current = ElectricCurrent::of(current);
            answers.push(Answer::new(
                "used-current",
                "I_u",
                "Current in the used part of the track, at the lowest",
                current,
            ));
        }
        answers.extend(
            found
                .balance
                .map(|balance| decibel("balance", "", "Difference between the sides, here", balance)),
        );
        for (id, name, feel) in [
            ("feel-up", "Turning up, per degree", found.feel.0),
            ("feel-down", "Turning down, per degree", found.feel.1),
        ] {
            answers.extend(feel.map(|feel| Answer::in_unit(id, "", name, &DECIBEL_PER_DEGREE, feel)));
        }
        answers
    }

    fn report(&self, found: &Found, margins: &Margins, report: &mut Report) {
        self.say(found, margins, report);
        self.working(found, report);
        self.signal_working(found, report);
        // What the margins cannot tell is bought by the value itself.
        let heat = found.used.map_or(("track-power", found.heat), |used| ("used-power", used.heat));
        let bears = [("track-voltage", found.along), heat];
        let bears = bears.map(|(id, value)| margins.of(id).high.max(value));
        let both = Rc::new((self.clone(), found.circuit.clone()));
        let mut table = |make: fn(&Self, &Circuit, [f64; 2]) -> Table| {
            let both = Rc::clone(&both);
            report.tables.push(Lazy::new(move || make(&both.0, &both.1, bears)));
        };
        table(|_, circuit, _| curves::table(circuit));
        table(|own, circuit, _| own.faults(circuit));
        if self.topology.takes_safe() {
            table(|own, circuit, _| own.values(circuit));
        }
        table(Self::parts);
        table(|own, circuit, _| own.wire_list(circuit));
        self.schematic(found, self.healthy(&found.circuit), report);
        self.wiring(report);
        report.exports.push(Export {
            name: "master-volume.cir",
            what: "circuit netlist (SPICE)",
            media: "text/plain",
            text: Lazy::new(move || both.0.netlist(&both.1)),
        });
        curves::draw(&found.circuit, self.knob, report);
    }
}

impl MasterVolume {
    /// Both sides as a netlist, from 1 Hz to 1 MHz.
    fn netlist(&self, circuit: &Circuit) -> String {
        let place = circuit.safe.map(|(place, _)| place);
        let mut build = self.build(circuit, circuit.law.share(self.knob), None, place);
        build.whole = true;
        let analysis = Analysis::Sweep { from: hertz(1.0), to: hertz(1e6), nodes: &["grid A", "grid B"] };
        let text = build.network().netlist_for("Master volume after the inverter", analysis);
        text.unwrap_or_else(|error| format!("* {error}\n"))
    }

    /// One side, as the ladder and the network take it.
    fn circuit(&self) -> Result<Circuit, Impossible> {
        let (law, track) = self.track.law(self.angle)?;
        let lead = self.lead.length * (self.lead.to_screen.si() + 2.0 * self.lead.to_core.si());
        let circuit = Circuit {
            topology: self.topology,
            law,
            track: track.si(),
            end: self.end.si(),
            safe: self.safe.map(|(place, safe)| (place, safe.si())),
            inverter: self.inverter.si(),
            coupling: self.coupling.si(),
            second: self.second.map_or(0.0, Quantity::si),
            leak: self.leak.si(),
            stopper: self.stopper.si(),
            input: self.input.si(),
            lead,
            bias_source: self.bias_source.si(),
            bias_capacitor: self.bias_capacitor.si(),
            valves: f64::from(self.valves),
        };
        // A tolerance of the whole value leaves nothing of a part.
        let parts = [circuit.track, circuit.inverter, circuit.coupling, circuit.leak];
        let second = self.topology != Topology::Chassis || circuit.second > 0.0;
        let safe = circuit.safe.is_none_or(|(_, safe)| safe > 0.0);
        if second && safe && parts.iter().all(|part| *part > 0.0) {
            return Ok(circuit);
        }
        let message = "At one end of its tolerance a part is zero. Type a smaller tolerance.";
        Err(Impossible { field: "coupling", message: message.to_owned() })
    }
}
