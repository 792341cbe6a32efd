//! Quantities as the bench knows them: typed by `uom`, read from what people type, written as the trade writes them.
//!
//! `unit` and `notation` read, `writing` writes, `tolerance` says how far a value may be off. In between there are
//! typed quantities: a [`Quantity`] is a `uom` type that knows its bench unit.

pub mod capacitor;
pub mod notation;
pub mod tolerance;
pub mod unit;
pub mod writing;

pub use unit::Unit;
pub use uom::si::f64::{
    Angle, Capacitance, ElectricCurrent, ElectricPotential, ElectricalConductance, ElectricalResistance,
    Frequency, Inductance, Power, Ratio, Time,
};

/// A typed quantity that a field asks for or an answer gives.
pub trait Quantity: Copy {
    /// How it is written at the bench.
    const UNIT: &'static Unit;
    /// From its value in SI units (an angle: in degrees).
    fn of(si: f64) -> Self;
    /// Its value in SI units (an angle: in degrees).
    fn si(self) -> f64;
}

macro_rules! quantities {
    ($($quantity:ident in $module:ident::$one:ident as $unit:ident;)*) => {
        $(impl Quantity for $quantity {
            const UNIT: &'static Unit = &unit::$unit;
            fn of(si: f64) -> Self {
                Self::new::<uom::si::$module::$one>(si)
            }
            fn si(self) -> f64 {
                self.get::<uom::si::$module::$one>()
            }
        })*
    };
}

quantities! {
    ElectricPotential in electric_potential::volt as VOLT;
    ElectricCurrent in electric_current::ampere as AMPERE;
    ElectricalResistance in electrical_resistance::ohm as OHM;
    ElectricalConductance in electrical_conductance::siemens as SIEMENS;
    Power in power::watt as WATT;
    Capacitance in capacitance::farad as FARAD;
    Inductance in inductance::henry as HENRY;
    Frequency in frequency::hertz as HERTZ;
    Time in time::second as SECOND;
    Ratio in ratio::ratio as PER_CENT;
    Angle in angle::degree as DEGREE;
}
