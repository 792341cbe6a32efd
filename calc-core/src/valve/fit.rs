//! Fits a model to published or measured rows by Levenberg–Marquardt.
//!
//! What is made small is the sum of the squares of
//!
//! ```text
//! ln(model / row) / s       s: 5 % for an anode current (15 % at cut-off), 12 % for a screen current,
//!                              10 % for gm and for ra
//! (p − p0) / w              for each parameter p, from where the fit begins (p0), with the width w
//! ```
//!
//! so currents count by their ratio, as near cut-off as far from it, and a data sheet with few rows leaves the parameters that
//! its rows say nothing about where the published set had them. The widths are our own choice; what came of them is held
//! against the data sheets in [`residuals`](super::residuals).
//!
//! `build.rs` fits the valves of the table with this file, so it knows no other part of the crate but the equations.

use levenberg_marquardt::{LeastSquaresProblem, LevenbergMarquardt};
use nalgebra::storage::Owned;
use nalgebra::{DVector, Dyn, OMatrix, SVector, U8};

use super::model::{Model, Pentode, Triode, Volts};

/// What a data sheet or a reader says of one point, in V and A.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Row {
    /// Where it was read, in V from the cathode.
    pub volts: Volts,
    /// Anode current there, in A.
    pub anode: f64,
    /// Screen current, where it is given.
    pub screen: Option<f64>,
    /// gm, where it is given.
    pub gm: Option<f64>,
    /// ra in Ω, where it is given.
    pub ra: Option<f64>,
    /// A current near nothing, which no data sheet gives closely.
    pub cut_off: bool,
}

impl Row {
    /// How many figures about the anode current the row holds.
    #[must_use]
    pub fn anode_figures(&self) -> usize {
        1 + usize::from(self.gm.is_some()) + usize::from(self.ra.is_some())
    }

    /// How far the model lies from each figure of the row: 0.1 for a tenth above it.
    #[must_use]
    pub fn deviations(&self, model: &Model) -> Deviations {
        self.deviations_at(model, self.volts)
    }

    /// The same with the model's grid moved to where it gives the row's anode current: what is then left of the screen
    /// current and the slopes is theirs alone. Where no grid gives that current, the row's own grid stands.
    #[must_use]
    pub fn deviations_at_its_current(&self, model: &Model) -> Deviations {
        self.deviations_at(model, model.at_current(self.volts, self.anode).unwrap_or(self.volts))
    }

    fn deviations_at(&self, model: &Model, volts: Volts) -> Deviations {
        let currents = model.currents(volts);
        let off = |is: f64, row: f64| is / row - 1.0;
        Deviations {
            anode: off(currents.anode, self.anode),
            screen: self.screen.map(|row| off(currents.screen, row)),
            gm: self.gm.map(|row| off(model.mutual_conductance(volts), row)),
            ra: self.ra.map(|row| off(1.0 / model.anode_conductance(volts), row)),
        }
    }
}

/// How far a model lies from a row, as a share of the row's figures.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Deviations {
    /// Of the anode current.
    pub anode: f64,
    /// Of the screen current.
    pub screen: Option<f64>,
    /// Of gm, where the row gives it.
    pub gm: Option<f64>,
    /// Of ra, where the row gives it.
    pub ra: Option<f64>,
}

impl Deviations {
    /// Of the amplification factor, the product of gm and ra.
    #[must_use]
    pub fn mu(&self) -> Option<f64> {
        Some((1.0 + self.gm?) * (1.0 + self.ra?) - 1.0)
    }
}

/// The model, begun at `from`, that is nearest to the rows.
///
/// Total: rows that no model can follow leave it near `from`; a step that leads to no number is not taken.
#[must_use]
pub fn fit(from: &Model, rows: &[Row]) -> Model {
    let begin = parameters(from);
    let problem = Fit { from: *from, begin, at: begin, rows };
    let (found, _) = LevenbergMarquardt::new().with_patience(20).minimize(problem);
    let model = found.model();
    // The search may give up where a trial overflowed; what it then holds is no better than where it began.
    if found.residuals().is_some_and(|left| left.iter().all(|off| off.is_finite())) { model } else { *from }
}

/// MU, KG1, KP and the like as logarithms, because they are scales; EX and A as they are.
type Parameters = SVector<f64, 8>;

/// How far each parameter may be expected to lie from where the fit begins.
const PENTODE_WIDTHS: [f64; 8] = [0.3, 0.2, 0.5, 1.5, 0.8, 3e-4, 0.7, 0.4];
const TRIODE_WIDTHS: [f64; 8] = [0.2, 0.2, 0.5, 1.5, 1.0, 1.0, 1.0, 1.0];

fn parameters(model: &Model) -> Parameters {
    let ln = libm::log;
    SVector::from(match model {
        Model::Pentode(p) => {
            [ln(p.mu), p.ex, ln(p.kp), ln(p.kg1), ln(p.kg2), p.slope, ln(p.alpha_s), ln(p.beta)]
        }
        Model::Triode(t) => [ln(t.mu), t.ex, ln(t.kp), ln(t.kg1), ln(t.kvb), 0.0, 0.0, 0.0],
    })
}

struct Fit<'r> {
    from: Model,
    begin: Parameters,
    at: Parameters,
    rows: &'r [Row],
}

impl Fit<'_> {
    fn model(&self) -> Model {
        let [mu, ex, kp, kg1, fifth, slope, alpha_s, beta]: [f64; 8] = self.at.into();
        let e = libm::exp;
        match self.from {
            Model::Pentode(_) => Model::Pentode(Pentode {
                mu: e(mu),
                ex,
                kg1: e(kg1),
                kg2: e(fifth),
                kp: e(kp),
                slope,
                alpha_s: e(alpha_s),
                beta: e(beta),
            }),
            Model::Triode(Triode { vct, .. }) => {
                Model::Triode(Triode { mu: e(mu), ex, kg1: e(kg1), kp: e(kp), kvb: e(fifth), vct })
            }
        }
    }

    fn misses(&self) -> DVector<f64> {
        let model = self.model();
        let widths = match self.from {
            Model::Pentode(_) => PENTODE_WIDTHS,
            Model::Triode(_) => TRIODE_WIDTHS,
        };
        let mut misses = Vec::with_capacity(8 + 4 * self.rows.len());
        misses.extend((self.at - self.begin).component_div(&SVector::from(widths)).iter());
        for row in self.rows {
            let Deviations { anode, screen, gm, ra } = row.deviations(&model);
            let anode_width = if row.cut_off { 0.15 } else { 0.05 };
            let of = [(Some(anode), anode_width), (screen, 0.12), (gm, 0.1), (ra, 0.1)];
            // A ratio of nothing, or a slope that falls, has no logarithm; far off will do.
            let far = |off: f64| if off > -1.0 { libm::log1p(off).min(20.0) } else { -20.0 };
            misses.extend(of.iter().filter_map(|(off, width)| off.map(|off| far(off).max(-20.0) / width)));
        }
        misses.into()
    }
}

impl LeastSquaresProblem<f64, Dyn, U8> for Fit<'_> {
    type ResidualStorage = Owned<f64, Dyn>;
    type JacobianStorage = Owned<f64, Dyn, U8>;
    type ParameterStorage = Owned<f64, U8>;

    fn set_params(&mut self, at: &Parameters) {
        self.at = *at;
    }

    fn params(&self) -> Parameters {
        self.at
    }

    fn residuals(&self) -> Option<DVector<f64>> {
        Some(self.misses())
    }

    fn jacobian(&self) -> Option<OMatrix<f64, Dyn, U8>> {
        // Both ways: a difference one way only leads a millionth past the nearest model.
        let columns: Vec<DVector<f64>> = (0..8)
            .map(|parameter| {
                // A's own size is some 5e-4 per volt, the others' about 1.
                let step = if parameter == 5 { 1e-8 } else { 1e-5 };
                let moved = |step| Self { at: self.at + Parameters::ith(parameter, step), ..*self }.misses();
                (moved(step) - moved(-step)) / (2.0 * step)
            })
            .collect();
        Some(OMatrix::<f64, Dyn, U8>::from_columns(&columns))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const VALVE: Pentode = Pentode {
        mu: 9.0,
        ex: 1.35,
        kg1: 400.0,
        kg2: 8000.0,
        kp: 40.0,
        slope: 4e-4,
        alpha_s: 4.0,
        beta: 0.06,
    };

    fn rows(model: &Model, count: u32) -> Vec<Row> {
        let row = |at: u32| {
            let volts = Volts {
                anode: 100.0 + 60.0 * f64::from(at % 7),
                screen: 200.0 + 40.0 * f64::from(at % 5),
                grid: -8.0 - 2.0 * f64::from(at % 11),
            };
            let currents = model.currents(volts);
            let screen = Some(currents.screen);
            Row { volts, anode: currents.anode, screen, gm: None, ra: None, cut_off: false }
        };
        (0..count).map(row).collect()
    }

    #[test]
    fn sixty_points_of_a_known_valve_are_met() {
        let known = Model::Pentode(VALVE);
        let begin = Model::Pentode(Pentode { mu: 11.0, ex: 1.2, kg1: 250.0, kg2: 4000.0, kp: 60.0, ..VALVE });
        let rows = rows(&known, 60);
        let found = fit(&begin, &rows);
        for row in &rows {
            let Deviations { anode, screen, .. } = row.deviations(&found);
            assert!(anode.abs() < 0.03 && screen.unwrap().abs() < 0.03, "{row:?}: {anode} {screen:?}");
        }
    }

    #[test]
    fn without_rows_nothing_moves() {
        let begin = Model::Pentode(VALVE);
        let Model::Pentode(found) = fit(&begin, &[]) else { panic!("a pentode stays one") };
        assert!((found.mu - VALVE.mu).abs() < 1e-9 && (found.kg1 - VALVE.kg1).abs() < 1e-6);
    }

    #[test]
    fn rows_that_no_valve_could_have_leave_numbers() {
        let row = Row {
            volts: Volts { anode: 1.0, screen: 1.0, grid: -300.0 },
            anode: 2.0,
            screen: Some(1e-9),
            gm: None,
            ra: None,
            cut_off: false,
        };
        let found = fit(&Model::Pentode(VALVE), &[row, row]);
        let currents = found.currents(Volts { anode: 250.0, screen: 250.0, grid: -14.0 });
        assert!(currents.anode.is_finite() && currents.screen.is_finite(), "{found:?}");
    }
}
