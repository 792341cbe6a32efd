//! A network to measure by, for the benchmarks and for the test that it allocates nothing.

use calc_core::circuit::units::*;
use calc_core::circuit::{CHASSIS, Network, Signal};

/// As many as a sweep of it is measured by.
pub const FREQUENCIES: u32 = 100_000;

/// A master volume after the inverter: both sides, dividers onto a common bias node.
#[must_use]
pub fn master_volume() -> Network {
    let mut network = Network::new();
    for (side, phase) in [("upper", 1.0), ("lower", -1.0)] {
        let name = |part: &str| format!("{part} {side}");
        let [input, drive, top, wiper, grid] = ["in", "drive", "top", "wiper", "grid"].map(name);
        network.voltage(&name("source"), &input, CHASSIS, Signal::dc(volts(0.0)).ac(volts(phase)));
        network.resistor(&name("inverter"), &input, &drive, ohms(33e3));
        network.capacitor(&name("coupling"), &drive, &top, farads(47e-9));
        network.resistor(&name("track above"), &top, &wiper, ohms(110e3));
        network.resistor(&name("track below"), &wiper, "bias", ohms(110e3));
        network.resistor(&name("fail-safe"), &wiper, "bias", ohms(1e6));
        network.capacitor(&name("lead"), &wiper, "bias", farads(150e-12));
        network.resistor(&name("stopper"), &wiper, &grid, ohms(5.6e3));
        network.capacitor(&name("input"), &grid, CHASSIS, farads(60e-12));
    }
    network.resistor("bias source", "bias", CHASSIS, ohms(15e3));
    network.capacitor("bias reservoir", "bias", CHASSIS, farads(10e-6));
    network
}
