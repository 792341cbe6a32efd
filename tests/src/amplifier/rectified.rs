//! A rectifier into a capacitor, and a lamp in series: closed formulas for what a network at rest does not know.
//!
//! ```text
//! cos θ = V / V_pk                       the leg conducts ±θ round each crest
//! I = n V_pk / (π R) (sin θ − θ cos θ)   mean current into the capacitor, n pulses a period
//! −dI/dV = n θ / (π R)
//! P = n V_pk / (2π R) (V_pk (θ + ½ sin 2θ) − 2 V sin θ)    what the winding delivers
//! ```
//!
//! By integration of `(V_pk cos φ − V) / R` over the conduction, the capacitor large and the drop a resistance: the
//! ordinary theory of the capacitor-input filter. `tests/tests/outside/amplifiers.rs` holds it against ngspice.

use std::f64::consts::{PI, SQRT_2, TAU};

/// What feeds a capacitor.
#[derive(Debug, Clone, Copy)]
pub struct Rectified {
    /// Crest without load, the diode's drop taken off.
    pub crest: f64,
    /// Resistance in series.
    pub ohms: f64,
    /// Pulses a period: 1 or 2; 0 where no leg conducts.
    pub pulses: f64,
}

/// What represents it in a network, near one voltage: a source behind a resistance.
#[derive(Debug, Clone, Copy)]
pub struct Tangent {
    /// The source.
    pub volts: f64,
    /// The resistance.
    pub ohms: f64,
}

impl Rectified {
    /// From a winding's RMS volts.
    #[must_use]
    pub fn of(rms: f64, drop: f64, ohms: f64, pulses: f64) -> Self {
        Self { crest: (rms * SQRT_2 - drop).max(0.0), ohms, pulses }
    }

    fn angle(&self, volts: f64) -> f64 {
        if volts >= self.crest { 0.0 } else { libm::acos((volts / self.crest).max(0.0)) }
    }

    /// Mean current at a voltage.
    #[must_use]
    pub fn current(&self, volts: f64) -> f64 {
        let angle = self.angle(volts);
        self.pulses * self.crest / (PI * self.ohms) * (libm::sin(angle) - angle * libm::cos(angle))
    }

    /// Watts that the winding delivers at a voltage.
    #[must_use]
    pub fn power(&self, volts: f64) -> f64 {
        let angle = self.angle(volts);
        let crests = self.crest * (angle + libm::sin(2.0 * angle) / 2.0);
        self.pulses * self.crest / (TAU * self.ohms) * (crests - 2.0 * volts * libm::sin(angle))
    }

    /// The tangent at a voltage.
    #[must_use]
    pub fn tangent(&self, volts: f64) -> Tangent {
        let (current, angle) = (self.current(volts), self.angle(volts).max(0.02));
        let ohms = PI * self.ohms / (self.pulses * angle);
        Tangent { volts: volts + current * ohms, ohms }
    }

    /// With a capacitor so small that it swings: its mean is lower by what grows with the square of the swing, as ngspice has it
    /// within 2 % down to half the crest. It is never below that of bare half waves.
    #[must_use]
    pub fn sagging(&self, volts: f64, hertz: f64, capacitance: f64) -> Self {
        let mut sagged = *self;
        for _ in 0..6 {
            let swing = sagged.swing(volts, hertz, capacitance);
            let crest = (self.crest - 0.7 * swing * swing / self.crest).max(self.crest / PI);
            sagged.crest = f64::midpoint(sagged.crest, crest);
        }
        sagged
    }

    /// The swing of the capacitor's voltage, peak to peak: the charge that the load takes between two pulses.
    #[must_use]
    pub fn swing(&self, volts: f64, hertz: f64, capacitance: f64) -> f64 {
        let idle = 1.0 / self.pulses.max(1.0) - self.angle(volts) / PI;
        self.current(volts) * idle.max(0.0) / (hertz * capacitance)
    }
}

/// The current of a lamp of so many watts at so many volts, with `across` over it: current grows with the 0.55th power of
/// the voltage (Fink and Beaty), and cold it has a fifteenth of its ohms.
#[must_use]
pub fn lamp_current(watts: f64, rated: f64, across: f64) -> f64 {
    let share = (across / rated).max(0.0);
    (watts / rated * libm::pow(share, 0.55)).min(15.0 * across.max(0.0) * watts / (rated * rated))
}
