//! Solves circuits: operating point, sweep of frequencies, transient. Any circuit leads to an answer or to an error
//! that names the part or the node; none is guessed.
//!
//! A [`Network`] is built as a schematic is read: each part with its name, the nodes it is between, its value. Nodes
//! are words; [`CHASSIS`] is the one that all voltages count from. What is wrong with a part shows when the network is
//! solved, so the builder reads on.
//!
//! ```
//! use calc_core::circuit::{CHASSIS, Network, Pins, Signal, units::*};
//! use calc_core::quantity::Quantity;
//! use calc_core::valve::fitted;
//!
//! let mut stage = Network::new();
//! stage.voltage("supply", "ht", CHASSIS, volts(300.0));
//! stage.voltage("input", "grid", CHASSIS, Signal::dc(volts(0.0)).ac(volts(1.0)));
//! stage.resistor("anode load", "ht", "anode", ohms(100e3));
//! stage.resistor("cathode resistor", "cathode", CHASSIS, ohms(1.5e3));
//! stage.capacitor("bypass", "cathode", CHASSIS, farads(22e-6));
//! stage.valve("V1", Pins::triode("anode", "grid", "cathode"), fitted("12AX7").unwrap().model);
//! stage.capacitor("coupling", "anode", "out", farads(22e-9));
//! stage.resistor("leak", "out", CHASSIS, ohms(1e6));
//!
//! let idle = stage.operating_point()?;
//! assert!((100.0..250.0).contains(&idle.voltage("anode")?.si()));
//!
//! let mut sweep = stage.sweep(&["out"])?;
//! let gain = sweep.at(hertz(1e3))?[0].decibels().unwrap();
//! assert!((30.0..40.0).contains(&gain), "{gain} dB");
//!
//! let mistaken = idle.voltage("anodes").unwrap_err().to_string();
//! assert_eq!(mistaken, "the network has no node “anodes”; is it “anode”?");
//! # Ok::<(), calc_core::circuit::NetworkError>(())
//! ```
//!
//! Method: modified nodal analysis (source `mna`). The unknowns are the node voltages, and the currents through what
//! fixes a voltage:
//!
//! ```text
//! G x + C x' + i(x) = b(t)
//! ```
//!
//! with G from resistors and controlled sources, C from capacitors and windings, i from diodes and valves, b from
//! sources. [`Network::operating_point`] leaves C out, [`Network::sweep`] solves (G + jωC) x = b round the operating
//! point, [`Network::transient`] steps through time.
//!
//! How near: on the networks of `tests/tests/outside/network.rs` ngspice agrees within 2·10⁻⁶ dB, 2·10⁻⁵ °, 10⁻⁹ of a
//! voltage at rest, and 0.13 % of the peak in time. What rounding can have done to an answer is worked out with it, and
//! is an error ([`NetworkError::Lost`]) when it is more than a millionth of the answer, 10⁻¹² of the largest voltage or
//! current in the network, and 1 pV or 1 pA (1 nV or 1 nA where something bends).
//!
//! Units: SI. Signs: a part's current counts from the node named first through the part to the node named second, so a
//! supply that delivers reads negative. Temperature: 27 °C, as ngspice has it. Leaves out: valve capacitances and grid
//! current unless they are put in as parts, and everything that a part's formula leaves out.

mod ac;
mod builder;
mod complex4;
mod dc;
mod dense;
mod device;
mod equations;
mod error;
mod linear_system;
mod newton;
mod part;
mod phasor;
mod signal;
mod sparse;
mod spice;
mod stepper;
mod transient;
mod union_find;
pub mod units;

#[cfg(test)]
mod tests;

pub use ac::Sweep;
pub use builder::{Network, Pins};
pub use dc::OperatingPoint;
pub use error::NetworkError;
pub use phasor::Phasor;
pub use signal::Signal;
pub use spice::Analysis;
pub use transient::Transient;

/// The node that all voltages count from.
pub const CHASSIS: &str = "chassis";

/// Conductance across each diode, in S, as SPICE has it: keeps a node behind two blocking diodes from floating.
pub const GMIN: f64 = 1e-12;
