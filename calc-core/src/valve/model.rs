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
//! idle, and almost no slope to the anode current; so the book's output valves use Reefman's form, whose screen current
//! follows the same E1 and shrinks as the anode voltage grows.
//!
//! Units: V, A. Range: any finite voltages; an anode or screen at or below its cathode carries nothing. Leaves out: grid
//! current, secondary emission, temperature. `build.rs` uses this file too, so it knows no other part of the crate.

/// Voltages from the cathode, in V.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Volts {
    /// Current into the anode, in A.
    pub anode: f64,
    /// The screen's; a triode has none, and it is not looked at.
    pub screen: f64,
    /// The control grid's; negative in normal use.
    pub grid: f64,
}

/// What the model says flows into anode and screen, in A.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Currents {
    /// Into the anode, not below 0.
    pub anode: f64,
    /// Into the screen; 0 in a triode.
    pub screen: f64,
}

/// ln(1 + eˣ), which is x itself once eˣ would be too large to hold.
#[must_use]
pub fn softplus(x: f64) -> f64 {
    bent(x).0
}

/// [`softplus`], and how it rises: one exponential serves both.
fn bent(x: f64) -> (f64, f64) {
    if x > STRAIGHT {
        return (x, 1.0);
    }
    let exp = libm::exp(x);
    (libm::log1p(exp), exp / (1.0 + exp))
}

/// Above this [`softplus`] is straight.
const STRAIGHT: f64 = 36.0;

/// A power of what is not below zero. `libm::pow` keeps more digits than any valve has, for twice the time; most of a
/// margin's time is spent here.
fn power(base: f64, exponent: f64) -> f64 {
    libm::exp(exponent * libm::log(base))
}

/// E1, in V: the voltage that drives the current, from the electrode that attracts it; and how it rises with the grid's
/// share of that electrode's voltage, per volt of it.
fn drive(attracting: f64, kp: f64, mu: f64, grid_share: f64) -> (f64, f64) {
    let (bent, rise) = bent(kp * (1.0 / mu + grid_share));
    if attracting > 0.0 { (attracting / kp * bent, rise) } else { (0.0, 0.0) }
}

/// The grid's share of the attracting electrode's voltage at which [`drive`] is this; `None` where none is.
fn grid_share(attracting: f64, kp: f64, mu: f64, e1: f64) -> Option<f64> {
    let bent = e1 * kp / attracting;
    let straight = if bent > STRAIGHT { bent } else { libm::log(libm::expm1(bent)) };
    let share = straight / kp - 1.0 / mu;
    (attracting > 0.0 && e1 > 0.0 && share.is_finite()).then_some(share)
}

/// The currents at a point, and how the anode's follows grid and anode there.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Flow {
    /// Of anode and screen, in A.
    pub currents: Currents,
    /// gm, in A/V.
    pub by_grid: f64,
    /// 1/ra, in A/V.
    pub by_anode: f64,
}

/// The currents at a point, and all their derivatives there, in A/V.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tangent {
    /// Of anode and screen, in A.
    pub currents: Currents,
    /// The anode current's, by the voltages of anode, screen and grid.
    pub anode: [f64; 3],
    /// The screen current's, by the same.
    pub screen: [f64; 3],
}

/// Koren's triode: the constants of the equations at the top of this file.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Triode {
    /// Amplification factor, grid against anode.
    pub mu: f64,
    /// Exponent of E1; 1.5 for an ideal diode.
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
        self.flow(volts).currents.anode
    }

    /// The anode current and its derivatives.
    fn flow(&self, volts: Volts) -> Flow {
        let Self { mu, ex, kg1, kp, kvb, vct } = *self;
        let (anode, grid) = (volts.anode, volts.grid + vct);
        let root = libm::sqrt(kvb + anode * anode);
        let (e1, rise) = drive(anode, kp, mu, grid / root);
        let current = 2.0 * power(e1, ex) / kg1;
        let currents = Currents { anode: current, screen: 0.0 };
        if e1 <= 0.0 {
            return Flow { currents, by_grid: 0.0, by_anode: 0.0 };
        }
        let by_e1 = current * ex / e1;
        let by_grid = anode / root * rise;
        let by_anode = e1 / anode - by_grid * grid * anode / (root * root);
        Flow { currents, by_grid: by_e1 * by_grid, by_anode: by_e1 * by_anode }
    }

    /// The grid, from the cathode, at which the anode draws this current, in A: [`Self::flow`] the other way round.
    /// `None` where no grid brings it there.
    fn grid(&self, anode: f64, current: f64) -> Option<f64> {
        let e1 = power(self.kg1 * current / 2.0, 1.0 / self.ex);
        let share = grid_share(anode, self.kp, self.mu, e1)?;
        Some(share * libm::sqrt(self.kvb + anode * anode) - self.vct)
    }
}

/// Koren's pentode, as published; see [`Pentode`] for the form that is fitted.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct KorenPentode {
    /// Amplification factor from control grid to screen.
    pub mu: f64,
    /// Exponent of E1; 1.5 for an ideal diode.
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
        let (e1, _) = drive(volts.screen, self.kp, self.mu, volts.grid / volts.screen);
        2.0 * libm::pow(e1, self.ex) / self.kg1 * libm::atan(volts.anode.max(0.0) / self.kvb)
    }

    /// The screen current, in A, with the exponent that its KG2 belongs to.
    #[must_use]
    pub fn screen(&self, volts: Volts, exponent: f64) -> f64 {
        libm::pow((volts.grid + volts.screen / self.mu).max(0.0), exponent) / self.kg2
    }
}

/// Reefman's pentode, the form that is fitted: the constants of the equations at the top of this file.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pentode {
    /// Amplification factor from control grid to screen.
    pub mu: f64,
    /// Exponent of E1; 1.5 for an ideal diode.
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
    /// Of the current that passes the grid, what the anode takes; how that rises with its voltage; what the screen takes.
    fn taken(&self, anode: f64) -> (f64, f64, f64) {
        let Self { kg1, kg2, slope, alpha_s, beta, .. } = *self;
        let alpha = 1.0 - kg1 / kg2 * (1.0 + alpha_s);
        let near = 1.0 / (1.0 + beta * anode.max(0.0));
        let left = alpha / kg1 + alpha_s / kg2;
        let taken = 1.0 / kg1 - 1.0 / kg2 + slope * anode.max(0.0) / kg1 - left * near;
        let rise = slope / kg1 + left * beta * near * near;
        (taken.max(0.0), rise, (1.0 + alpha_s * near) / kg2)
    }

    /// The currents and the anode's derivatives.
    fn flow(&self, volts: Volts) -> Flow {
        let (e1, rise) = drive(volts.screen, self.kp, self.mu, volts.grid / volts.screen);
        let space = power(e1, self.ex);
        let (taken, rises, screen) = self.taken(volts.anode);
        let currents = Currents { anode: space * taken, screen: space * screen };
        if e1 <= 0.0 || currents.anode <= 0.0 {
            return Flow { currents, by_grid: 0.0, by_anode: 0.0 };
        }
        Flow { currents, by_grid: currents.anode * self.ex / e1 * rise, by_anode: space * rises }
    }

    /// The currents and all their derivatives.
    fn tangent(&self, volts: Volts) -> Tangent {
        let Volts { anode, screen, grid } = volts;
        let (e1, by_grid) = drive(screen, self.kp, self.mu, grid / screen);
        let space = power(e1, self.ex);
        let (taken, rises, screens) = self.taken(anode);
        let currents = Currents { anode: space * taken, screen: space * screens };
        if e1 <= 0.0 {
            return Tangent { currents, anode: [0.0; 3], screen: [0.0; 3] };
        }
        let by_e1 = space * self.ex / e1;
        let by_screen = (e1 - by_grid * grid) / screen;
        let near = 1.0 / (1.0 + self.beta * anode.max(0.0));
        let (rises, falls) = if anode > 0.0 && taken > 0.0 {
            (space * rises, -space * self.alpha_s * self.beta * near * near / self.kg2)
        } else {
            (0.0, 0.0)
        };
        let each = |by_anode: f64, share: f64| [by_anode, by_e1 * by_screen * share, by_e1 * by_grid * share];
        Tangent { currents, anode: each(rises, taken), screen: each(falls, screens) }
    }

    /// The grid, from the cathode, at which the anode draws this current, in A; `None` where no grid brings it there.
    fn grid(&self, anode: f64, screen: f64, current: f64) -> Option<f64> {
        let (taken, ..) = self.taken(anode);
        let e1 = power(current / taken, 1.0 / self.ex);
        Some(grid_share(screen, self.kp, self.mu, e1)? * screen)
    }
}

/// As far as the grid of a current is looked for, in V.
const GRIDS: std::ops::RangeInclusive<f64> = -500.0..=100.0;

/// A model of one valve.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Model {
    /// One grid: Koren's equations.
    Triode(Triode),
    /// Reefman's pentode, for beam tetrodes as well.
    Pentode(Pentode),
}

impl Model {
    /// The currents at these voltages, and their slopes.
    #[must_use]
    pub fn flow(&self, volts: Volts) -> Flow {
        match self {
            Self::Triode(triode) => triode.flow(volts),
            Self::Pentode(pentode) => pentode.flow(volts),
        }
    }

    /// The currents at these voltages, and all their derivatives.
    #[must_use]
    pub fn tangent(&self, volts: Volts) -> Tangent {
        match self {
            Self::Triode(triode) => {
                let Flow { currents, by_grid, by_anode } = triode.flow(volts);
                Tangent { currents, anode: [by_anode, 0.0, by_grid], screen: [0.0; 3] }
            }
            Self::Pentode(pentode) => pentode.tangent(volts),
        }
    }

    /// The currents at these voltages.
    #[must_use]
    pub fn currents(&self, volts: Volts) -> Currents {
        self.flow(volts).currents
    }

    /// gm, in A/V: how the anode current follows the grid.
    #[must_use]
    pub fn mutual_conductance(&self, volts: Volts) -> f64 {
        self.flow(volts).by_grid
    }

    /// 1/ra, in A/V: how the anode current follows the anode.
    #[must_use]
    pub fn anode_conductance(&self, volts: Volts) -> f64 {
        self.flow(volts).by_anode
    }

    /// These voltages with the grid where the anode draws a current, in A; `None` where no grid between -500 and +100 V
    /// brings it there.
    #[must_use]
    pub fn at_current(&self, volts: Volts, current: f64) -> Option<Volts> {
        let grid = match self {
            Self::Triode(triode) => triode.grid(volts.anode, current),
            Self::Pentode(pentode) => pentode.grid(volts.anode, volts.screen, current),
        };
        let grid = grid.filter(|grid| GRIDS.contains(grid))?;
        Some(Volts { grid, ..volts })
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

    /// Held against differences over steps that are small beside what bends the curves: near cut-off, and with almost no
    /// anode voltage, where a fixed step of 10 mV was once off by 3e-4.
    #[test]
    fn slopes_are_what_small_steps_make() {
        let sharp = Triode { kp: 17_950.0, kvb: 524.4, vct: 0.5, ..TRIODE };
        for (model, anode, grid) in [
            (Model::Triode(TRIODE), 250.0, -2.0),
            (Model::Triode(TRIODE), 0.05, 0.5),
            (Model::Triode(sharp), 30.0, -0.87),
            (Model::Pentode(PENTODE), 400.0, -50.0),
            (Model::Pentode(PENTODE), 0.05, -10.0),
        ] {
            let current = |anode: f64, grid: f64| model.currents(Volts { anode, screen: 400.0, grid }).anode;
            let (small, least) = (1e-5 * anode, 1e-6);
            let by_anode = (current(anode + small, grid) - current(anode - small, grid)) / (2.0 * small);
            let by_grid = (current(anode, grid + least) - current(anode, grid - least)) / (2.0 * least);
            let at = Volts { anode, screen: 400.0, grid };
            assert!((model.anode_conductance(at) / by_anode - 1.0).abs() < 1e-6, "{model:?} {anode} {grid}");
            assert!((model.mutual_conductance(at) / by_grid - 1.0).abs() < 1e-6, "{model:?} {anode} {grid}");
            let tangent = model.tangent(at);
            let moved = |by: usize, step: f64| {
                let [anode, screen, grid] = [0, 1, 2].map(|at| if at == by { step } else { 0.0 });
                model.currents(Volts {
                    anode: at.anode + anode,
                    screen: at.screen + screen,
                    grid: at.grid + grid,
                })
            };
            for (by, step) in [small, 1e-3, least].into_iter().enumerate() {
                let (up, down) = (moved(by, step), moved(by, -step));
                let differences =
                    [up.anode - down.anode, up.screen - down.screen].map(|both| both / (2.0 * step));
                for (slope, difference) in
                    [tangent.anode[by], tangent.screen[by]].into_iter().zip(differences)
                {
                    let off = (slope - difference).abs();
                    assert!(
                        off <= 1e-6 * difference.abs() + 1e-12,
                        "{model:?} {anode} {grid}: {slope} {difference}"
                    );
                }
            }
        }
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
