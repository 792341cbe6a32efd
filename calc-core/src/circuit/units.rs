//! Short names for quantities in SI units, so that a network reads like its schematic.

use crate::quantity::{
    Angle, Capacitance, ElectricCurrent, ElectricPotential, ElectricalConductance, ElectricalResistance,
    Frequency, Inductance, Quantity, Time,
};

macro_rules! short {
    ($($(#[$doc:meta])* $name:ident: $quantity:ident;)*) => {
        $($(#[$doc])* #[must_use] pub fn $name(value: f64) -> $quantity { $quantity::of(value) })*
    };
}

short! {
    /// Volts.
    volts: ElectricPotential;
    /// Amperes.
    amperes: ElectricCurrent;
    /// Ohms; an infinite number is an open path.
    ohms: ElectricalResistance;
    /// Siemens.
    siemens: ElectricalConductance;
    /// Farads.
    farads: Capacitance;
    /// Henries.
    henries: Inductance;
    /// Hertz.
    hertz: Frequency;
    /// Seconds.
    seconds: Time;
    /// Degrees of phase.
    degrees: Angle;
}
