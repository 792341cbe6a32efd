//! A supply to measure by, and to hold against ngspice.

use calc_core::circuit::units::*;
use calc_core::circuit::{CHASSIS, Network, Signal};

/// A rectifier for the bias with two filters, coming up from nothing.
#[must_use]
pub fn bias_supply() -> Network {
    let mut supply = Network::new();
    supply.voltage("winding", "w", CHASSIS, Signal::sine(volts(0.0), volts(50.0), hertz(50.0)));
    supply.resistor("winding resistance", "w", "a", ohms(220.0));
    supply.diode("rectifier", "first", "a", amperes(2.5e-9), 1.75);
    supply.capacitor("reservoir", "first", CHASSIS, farads(10e-6));
    supply.resistor("filter", "first", "second", ohms(15e3));
    supply.capacitor("second reservoir", "second", CHASSIS, farads(10e-6));
    supply.resistor("load", "second", CHASSIS, ohms(56e3));
    supply
}
