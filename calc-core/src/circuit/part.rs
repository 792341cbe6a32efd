//! The parts that a network is made of, as the builder leaves them: nodes as numbers, values in SI units.

use super::signal::Form;
use crate::valve::model::Model;

/// A node: none is the chassis.
pub(super) type Node = Option<usize>;

/// A part with its name and its ends.
#[derive(Debug, Clone)]
pub(super) struct Part {
    pub(super) name: String,
    pub(super) kind: Kind,
}

/// Two ends; the current counts from the first through the part to the second.
pub(super) type Ends = (Node, Node);

#[derive(Debug, Clone)]
pub(super) enum Kind {
    /// Between two nodes, in Ω.
    Resistor(Ends, f64),
    /// Between two nodes, in F.
    Capacitor(Ends, f64),
    /// In H, with the winding's resistance in Ω.
    Inductor(Ends, f64, f64),
    /// Two inductors, by their place in the list of parts, and their coefficient of coupling.
    Coupling(usize, usize, f64),
    Voltage(Ends, Form),
    Current(Ends, Form),
    /// Voltage controlled by a voltage: output, input, gain.
    VoltageByVoltage(Ends, Ends, f64),
    /// Current controlled by a voltage: output, input, in S.
    CurrentByVoltage(Ends, Ends, f64),
    /// Voltage controlled by the current through a voltage source: output, the source, in Ω.
    VoltageByCurrent(Ends, usize, f64),
    /// Current controlled by the current through a voltage source: output, the source, gain.
    CurrentByCurrent(Ends, usize, f64),
    /// Primary, secondary, turns of the primary for one of the secondary.
    Transformer(Ends, Ends, f64),
    /// Saturation current in A, ideality.
    Diode(Ends, f64, f64),
    /// Anode, screen, grid, cathode.
    Valve([Node; 4], Model),
}

impl Part {
    /// The pairs of nodes between which a steady current may flow.
    pub(super) fn paths(&self) -> Vec<Ends> {
        match &self.kind {
            Kind::Resistor(_, resistance) if resistance.is_infinite() => vec![],
            Kind::Resistor(ends, _)
            | Kind::Inductor(ends, ..)
            | Kind::Voltage(ends, _)
            | Kind::VoltageByVoltage(ends, ..)
            | Kind::VoltageByCurrent(ends, ..)
            | Kind::Diode(ends, ..) => vec![*ends],
            Kind::Transformer(primary, secondary, _) => vec![*primary, *secondary],
            Kind::Valve([anode, screen, _, cathode], model) => match model {
                Model::Triode(_) => vec![(*anode, *cathode)],
                Model::Pentode(_) => vec![(*anode, *cathode), (*screen, *cathode)],
            },
            Kind::Capacitor(..)
            | Kind::Current(..)
            | Kind::CurrentByVoltage(..)
            | Kind::CurrentByCurrent(..)
            | Kind::Coupling(..) => vec![],
        }
    }
}
