//! Where the parts of the whole are put, one by one: into the solver of networks, or into what works out the grids at rest.

use crate::circuit::units::{amperes, farads, ohms, volts};
use crate::circuit::{CHASSIS, Network, Signal};

/// The name of a part or node.
pub(super) type Name = &'static str;

/// Where parts are put.
pub(super) trait Parts {
    /// A resistor, in Ω.
    fn resistor(&mut self, name: Name, a: Name, b: Name, resistance: f64);
    /// A capacitor, in F.
    fn capacitor(&mut self, name: Name, a: Name, b: Name, capacitance: f64);
    /// A supply from a node to the chassis, in V, and how it swings.
    fn supply(&mut self, name: Name, node: Name, voltage: f64, swing: f64);
    /// A current that comes into a node, in A.
    fn current(&mut self, name: Name, into: Name, current: f64);
}

impl Parts for Network {
    fn resistor(&mut self, name: Name, a: Name, b: Name, resistance: f64) {
        Self::resistor(self, name, a, b, ohms(resistance));
    }

    fn capacitor(&mut self, name: Name, a: Name, b: Name, capacitance: f64) {
        Self::capacitor(self, name, a, b, farads(capacitance));
    }

    fn supply(&mut self, name: Name, node: Name, voltage: f64, swing: f64) {
        Self::voltage(self, name, node, CHASSIS, Signal::dc(volts(voltage)).ac(volts(swing)));
    }

    fn current(&mut self, name: Name, into: Name, current: f64) {
        Self::current(self, name, CHASSIS, into, amperes(current));
    }
}
