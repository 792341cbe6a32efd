//! A resistance that charges a capacitance: what treble it loses.
//!
//! ```text
//! f_c  = 1 / (2π R C)
//! loss = 10 lg (1 + (f / f_c)²)       φ = −arctan (f / f_c)
//! ```

use crate::quantity::{Capacitance, ElectricalResistance, Quantity};

/// A resistance with a capacitance behind it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LowPass {
    /// The frequency at which 3 dB are lost, in hertz.
    pub corner: f64,
}

impl LowPass {
    /// Both above zero: without one of them there is no corner.
    #[must_use]
    pub fn new(resistance: ElectricalResistance, capacitance: Capacitance) -> Self {
        Self { corner: 1.0 / (std::f64::consts::TAU * resistance.si() * capacitance.si()) }
    }

    /// What is lost at a frequency, in decibels; never negative.
    #[must_use]
    pub fn loss(self, frequency: f64) -> f64 {
        let ratio = frequency / self.corner;
        // Small losses keep their figures: 1 + x² would round them away.
        10.0 / std::f64::consts::LN_10 * libm::log1p(ratio * ratio)
    }

    /// How far the output lags, in degrees; from 0 to −90.
    #[must_use]
    pub fn phase(self, frequency: f64) -> f64 {
        -libm::atan(frequency / self.corner).to_degrees()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn corners_and_losses_are_those_of_the_tables() {
        // Corner of 68 kΩ with 100 pF, and the one-pole losses at a tenth, half, one and ten times the corner:
        // collected closed forms, worked apart in Python.
        let filter = LowPass::new(ElectricalResistance::of(68e3), Capacitance::of(100e-12));
        assert!((filter.corner - 23.41e3).abs() < 5.0);
        for (times, loss) in [(0.1, 0.04), (0.5, 0.97), (1.0, 3.01), (2.0, 6.99), (10.0, 20.04)] {
            assert!((filter.loss(times * filter.corner) - loss).abs() < 0.005, "{times}");
        }
        assert!((filter.phase(filter.corner) + 45.0).abs() < 1e-9);
    }
}
