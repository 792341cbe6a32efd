//! A capacitance between a resistance that drives it and one that it drives: what bass it loses.
//!
//! ```text
//! f_c  = 1 / (2π C (R_i + R_l))
//! loss = 10 lg (1 + (f_c / f)²)
//! ```

use crate::quantity::{Capacitance, ElectricalResistance, Quantity};

/// A capacitance with the resistance round it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HighPass {
    /// The frequency at which 3 dB are lost, in hertz.
    pub corner: f64,
}

impl HighPass {
    /// Both above zero: without one of them there is no corner. The resistance is all that lies round the capacitor,
    /// what drives it and what it drives, one after the other.
    #[must_use]
    pub fn new(resistance: ElectricalResistance, capacitance: Capacitance) -> Self {
        Self { corner: 1.0 / (std::f64::consts::TAU * resistance.si() * capacitance.si()) }
    }

    /// What is lost at a frequency, in decibels; never negative.
    #[must_use]
    pub fn loss(self, frequency: f64) -> f64 {
        let ratio = self.corner / frequency;
        // Small losses keep their figures: 1 + x² would round them away.
        10.0 / std::f64::consts::LN_10 * libm::log1p(ratio * ratio)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn corners_and_losses_are_those_of_the_tables() {
        // 22 nF with 220 kΩ: 32.88 Hz; 2.24 dB at 40 Hz, 0.68 dB at 80 Hz: two collections of closed forms, worked apart
        // in Python.
        let filter = HighPass::new(ElectricalResistance::of(220e3), Capacitance::of(22e-9));
        assert!((filter.corner - 32.88).abs() < 0.005);
        assert!((filter.loss(40.0) - 2.24).abs() < 0.005 && (filter.loss(80.0) - 0.68).abs() < 0.005);
        assert!((filter.loss(filter.corner) - 3.0103).abs() < 1e-4);
    }
}
