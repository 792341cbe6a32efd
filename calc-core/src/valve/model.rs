//! Published valve models: how much anode and screen current flow at given voltages.
//!
//! ```text
//! triode (Koren 1996)
//!   E1   = V_a/KP · ln(1 + exp(KP (1/MU + (V_g + VCT)/√(KVB + V_a²))))
//!   I_a  = 2 · E1^EX / KG1
//!
//! pentode (Koren 1996)
//!   E1   = V_g2/KP · ln(1 + exp(KP (1/MU + V_g1/V_g2)))
//!   I_a  = 2 · E1^EX / KG1 · arctan(V_a/KVB)
//!   I_g2 = (V_g1 + V_g2/MU)^x / KG2       nothing below cut-off; x is 1.5 in the article, EX in libraries
//!
//! pentode (Reefman 2016), the same E1, no factor 2
//!   I_g2 = E1^EX / KG2 · (1 + α_s/(1 + β V_a))
//!   I_a  = E1^EX · (1/KG1 − 1/KG2 + A V_a/KG1 − (α/KG1 + α_s/KG2)/(1 + β V_a))
//!   α    = 1 − KG1/KG2 · (1 + α_s)        so that no anode current flows at V_a = 0
//! ```
//!
//! The factor 2 is `1 + sgn E1` in the libraries that carry Koren's equations; some copies drop it and keep KG1, and are
//! then wrong by two. Koren's pentode gives no screen current below cut-off, where output valves of a class AB stage
//! idle, and hardly any slope to the anode current; so the book's output valves use Reefman's form, whose screen current
//! follows the same E1 and shrinks as the anode voltage grows.
//!
//! Units: V, A. Range: any finite voltages; an anode or screen at or below its cathode carries nothing. Leaves out: grid
//! current, secondary emission, temperature. `build.rs` uses this file too, so it knows no other part of the crate.

/// Voltages from the cathode, in V.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Volts {
    /// Anode.
    pub anode: f64,
    /// Screen; a triode has none, and it is not looked at.
    pub screen: f64,
    /// Control grid.
    pub grid: f64,
}

/// Currents, in A.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Currents {
    /// Anode.
    pub anode: f64,
    /// Screen; 0 in a triode.
    pub screen: f64,
}

/// ln(1 + eˣ), which is x itself once eˣ would be too large to hold.
#[must_use]
pub fn softplus(x: f64) -> f64 {
    if x > 36.0 { x } else { libm::log1p(libm::exp(x)) }
}

/// E1, in V: the voltage that drives the current, from the electrode that attracts it.
fn drive(attracting: f64, kp: f64, mu: f64, grid_share: f64) -> f64 {
    if attracting > 0.0 { attracting / kp * softplus(kp * (1.0 / mu + grid_share)) } else { 0.0 }
}

/// Koren's triode.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Triode {
    /// Amplification factor.
    pub mu: f64,
    /// Exponent.
    pub ex: f64,
    /// Inverse of the current's scale.
    pub kg1: f64,
    /// Sharpness of cut-off.
    pub kp: f64,
    /// Bend at low anode voltage, V².
    pub kvb: f64,
    /// Voltage added to the grid's, V.
    pub vct: f64,
}

impl Triode {
    /// The anode current, in A.
    #[must_use]
    pub fn anode(&self, volts: Volts) -> f64 {
        let share = (volts.grid + self.vct) / libm::sqrt(self.kvb + volts.anode * volts.anode);
        2.0 * libm::pow(drive(volts.anode, self.kp, self.mu, share), self.ex) / self.kg1
    }
}

/// Koren's pentode, as published; see [`Pentode`] for the form that is fitted.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct KorenPentode {
    /// Amplification factor from control grid to screen.
    pub mu: f64,
    /// Exponent.
    pub ex: f64,
    /// Inverse of the anode current's scale.
    pub kg1: f64,
    /// Inverse of the screen current's scale.
    pub kg2: f64,
    /// Sharpness of cut-off.
    pub kp: f64,
    /// The knee, V.
    pub kvb: f64,
}

impl KorenPentode {
    /// The anode current, in A.
    #[must_use]
    pub fn anode(&self, volts: Volts) -> f64 {
        let e1 = drive(volts.screen, self.kp, self.mu, volts.grid / volts.screen);
        2.0 * libm::pow(e1, self.ex) / self.kg1 * libm::atan(volts.anode.max(0.0) / self.kvb)
    }

    /// The screen current, in A, with the exponent that its KG2 belongs to.
    #[must_use]
    pub fn screen(&self, volts: Volts, exponent: f64) -> f64 {
        libm::pow((volts.grid + volts.screen / self.mu).max(0.0), exponent) / self.kg2
    }
}

/// Reefman's pentode.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pentode {
    /// Amplification factor from control grid to screen.
    pub mu: f64,
    /// Exponent.
    pub ex: f64,
    /// Inverse of the space current's scale.
    pub kg1: f64,
    /// Inverse of the screen current's scale.
    pub kg2: f64,
    /// Sharpness of cut-off.
    pub kp: f64,
    /// A: how the current grows with the anode voltage, 1/V.
    pub slope: f64,
    /// α_s: how much more the screen takes when the anode is at the cathode's voltage.
    pub alpha_s: f64,
    /// β: how soon the anode takes over, 1/V.
    pub beta: f64,
}

impl Pentode {
    fn currents(&self, volts: Volts) -> Currents {
        let Self { mu, ex, kg1, kg2, kp, slope, alpha_s, beta } = *self;
        let space = libm::pow(drive(volts.screen, kp, mu, volts.grid / volts.screen), ex);
        let anode = volts.anode.max(0.0);
        let alpha = 1.0 - kg1 / kg2 * (1.0 + alpha_s);
        let near = 1.0 / (1.0 + beta * anode);
        let taken = 1.0 / kg1 - 1.0 / kg2 + slope * anode / kg1 - (alpha / kg1 + alpha_s / kg2) * near;
        Currents { anode: space * taken.max(0.0), screen: space / kg2 * (1.0 + alpha_s * near) }
    }
}

/// A model of one valve.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Model {
    /// Koren's triode.
    Triode(Triode),
    /// Reefman's pentode, for beam tetrodes as well.
    Pentode(Pentode),
}

impl Model {
    /// The currents at these voltages.
    #[must_use]
    pub fn currents(&self, volts: Volts) -> Currents {
        match self {
            Self::Triode(triode) => Currents { anode: triode.anode(volts), screen: 0.0 },
            Self::Pentode(pentode) => pentode.currents(volts),
        }
    }

    /// gm, in A/V: how the anode current follows the grid.
    #[must_use]
    pub fn mutual_conductance(&self, volts: Volts) -> f64 {
        self.steepness(volts, 1e-4, |volts, step| volts.grid += step)
    }

    /// 1/ra, in A/V: how the anode current follows the anode.
    #[must_use]
    pub fn anode_conductance(&self, volts: Volts) -> f64 {
        self.steepness(volts, 1e-2, |volts, step| volts.anode += step)
    }

    /// A difference over twice `step`: with these steps good to six figures.
    fn steepness(&self, at: Volts, step: f64, shift: impl Fn(&mut Volts, f64)) -> f64 {
        let moved = |step: f64| {
            let mut volts = at;
            shift(&mut volts, step);
            self.currents(volts).anode
        };
        (moved(step) - moved(-step)) / (2.0 * step)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const TRIODE: Triode = Triode { mu: 100.0, ex: 1.4, kg1: 1060.0, kp: 600.0, kvb: 300.0, vct: 0.0 };
    const PENTODE: Pentode = Pentode {
        mu: 9.4,
        ex: 1.33,
        kg1: 452.0,
        kg2: 9520.0,
        kp: 36.0,
        slope: 4.6e-4,
        alpha_s: 4.5,
        beta: 0.06,
    };

    #[test]
    fn softplus_neither_overflows_nor_jumps() {
        assert_eq!(softplus(1e6), 1e6);
        assert_eq!(softplus(-1e6), 0.0);
        assert!((softplus(36.0 + 1e-9) - softplus(36.0)).abs() < 2e-9);
    }

    #[test]
    fn without_anode_voltage_no_anode_current_flows() {
        let volts = |anode: f64| Volts { anode, screen: 400.0, grid: -10.0 };
        let none = Model::Pentode(PENTODE).currents(volts(0.0));
        assert!(none.anode.abs() < 1e-15 && none.screen > 0.0);
        assert_eq!(Model::Triode(TRIODE).currents(volts(0.0)).anode, 0.0);
    }

    proptest::proptest! {
        #[test]
        fn any_voltages_give_currents(anode in -2e3..2e3f64, screen in -2e3..2e3f64, grid in -1e3..1e3f64) {
            for model in [Model::Triode(TRIODE), Model::Pentode(PENTODE)] {
                let Currents { anode, screen } = model.currents(Volts { anode, screen, grid });
                proptest::prop_assert!(anode.is_finite() && anode >= 0.0 && screen.is_finite() && screen >= 0.0);
            }
        }
    }
}
