//! A chain of parts in series and across, put together from its end backward.
//!
//! ```text
//! across  Y' = Y + y                      H' = H
//! series  Y' = Y / (1 + z Y)              H' = H / (1 + z Y)
//! ```
//!
//! H is the voltage at the end, of that at the beginning; Y what the beginning looks like. Units: Ω, S. Range: any parts
//! whose impedance is not negative. Errors: none. Source: Ohm's law.

use crate::circuit::Phasor;

/// What has been put together so far.
#[derive(Debug, Clone, Copy)]
pub(super) struct Ladder {
    /// The voltage at the end, of that at the beginning.
    pub(super) gain: Phasor,
    /// What the beginning looks like.
    pub(super) admittance: Phasor,
}

/// The whole of a voltage.
pub(super) const ONE: Phasor = Phasor { re: 1.0, im: 0.0 };

/// A conductance or a resistance.
pub(super) const fn real(value: f64) -> Phasor {
    Phasor { re: value, im: 0.0 }
}

/// The admittance of a capacitance at an angular frequency.
pub(super) fn capacitor(capacitance: f64, omega: f64) -> Phasor {
    Phasor { re: 0.0, im: omega * capacitance }
}

impl Ladder {
    /// Nothing but the end.
    pub(super) const END: Self = Self { gain: ONE, admittance: real(0.0) };

    /// Adds a part from this point to the chassis.
    pub(super) fn across(self, admittance: Phasor) -> Self {
        Self { admittance: self.admittance + admittance, ..self }
    }

    /// A part in series.
    pub(super) fn series(self, impedance: Phasor) -> Self {
        let share = (ONE + impedance * self.admittance).inverse();
        Self { gain: self.gain * share, admittance: self.admittance * share }
    }
}
