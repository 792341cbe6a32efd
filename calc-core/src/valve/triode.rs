//! A triode in a stage: which one, how far its model may be off, and what it does at a point.
//!
//! ```text
//! I_a = k_m k_v I_model(V_a, V_g)
//! g_m = k_g k_w g_m,model     µ = k_µ k_u µ_model      where the model's grid is moved to the same I_a
//! r_a = µ / g_m
//! ```
//!
//! The k are 100 % and carry the margins: see [`margin`].

use super::fitted::{FITTED, Fitted};
use super::model::{Flow, Model, Volts};
use super::{VALVES, Valve, margin};
use crate::calculator::{Ask, Expr, named};
use crate::numeric::root::falling;
use crate::quantity::{ElectricCurrent, ElectricalConductance, ElectricalResistance, Quantity, Ratio};

/// A triode of the table, by its model.
#[derive(Debug, Clone, Copy)]
pub struct Triode {
    /// Its entry of the valve table, for ratings and capacitances.
    pub valve: &'static Valve,
    /// Its model, fitted to its sheet.
    pub fitted: &'static Fitted,
    /// k_m: the data sheet's anode current against the model's.
    model_share: Ratio,
    /// k_v: this valve's anode current against the average one's.
    valve_share: Ratio,
    /// k_g k_w: data sheet against model, and this valve against the average, of gm.
    gm_share: Ratio,
    /// k_µ k_u: the same of µ.
    mu_share: Ratio,
}

/// What a valve makes of small signals at a point.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Slopes {
    /// Mutual conductance: how the anode current follows the grid.
    pub gm: ElectricalConductance,
    /// Anode resistance: how the anode voltage moves with its current, the grid held.
    pub ra: ElectricalResistance,
    /// Amplification factor, gm times ra.
    pub mu: Ratio,
}

/// How a valve's voltages, from its cathode, fall as its current rises: in V with no current, and in Ω.
#[derive(Debug, Clone, Copy)]
pub struct Line {
    /// What feeds the anode.
    pub anode: f64,
    /// What the current passes on its way.
    pub anode_falls: f64,
    /// Where the grid stands with no current.
    pub grid: f64,
    /// What lifts the cathode above it.
    pub grid_falls: f64,
}

/// What a valve draws at a point.
#[derive(Debug, Clone, Copy)]
pub struct Drawn {
    /// Its anode current, in A.
    pub current: f64,
    /// How that follows the grid, in A/V.
    pub by_grid: f64,
    /// The same of the anode.
    pub by_anode: f64,
}

/// Below this a valve is cut off, and a model of its working currents says nothing.
const CUT_OFF: f64 = 1e-6;

/// Those with a model, in the order of the valve table.
fn known() -> impl Iterator<Item = &'static Fitted> {
    FITTED.iter().filter(|fitted| matches!(fitted.model, Model::Triode(_)))
}

fn valve_of(fitted: &Fitted) -> &'static Valve {
    // Every model is of a valve of the table.
    VALVES.iter().find(|valve| valve.name == fitted.valve).unwrap_or(&VALVES[0])
}

/// Asks which triode it is.
pub fn ask_triode(a: &mut Ask, default: &'static str) -> (&'static Valve, &'static Fitted) {
    let listed = || known().map(|fitted| (fitted.valve.to_owned(), valve_of(fitted).label())).collect();
    let at = a.one_of("valve", "Valve", "", default, &listed);
    // The choice is one of those listed.
    let fitted = known().nth(at).unwrap_or(&FITTED[0]);
    (valve_of(fitted), fitted)
}

impl Triode {
    /// Asks how far the model and the valve may be off.
    pub fn ask_shares(a: &mut Ask, (valve, fitted): (&'static Valve, &'static Fitted)) -> Self {
        let known = Some(fitted);
        let (model_share, gm, mu) =
            (margin::ask_anode(a, known), margin::ask_gm(a, known), margin::ask_mu(a, known));
        let valve_share = margin::ask_valve(a);
        let gm = gm * margin::ask_valve_at_current(a, "valve-gm", "Spread of real valves: gm").si();
        let mu = mu * margin::ask_valve_mu(a).si();
        Self { valve, fitted, model_share, valve_share, gm_share: gm, mu_share: mu }
    }

    fn share(&self) -> f64 {
        self.model_share.si() * self.valve_share.si()
    }

    fn model(&self) -> &'static Model {
        &self.fitted.model
    }

    /// The anode current, in A, at these voltages from the cathode.
    #[must_use]
    pub fn current(&self, anode: f64, grid: f64) -> f64 {
        self.at(anode, grid).current
    }

    /// The anode current and its slopes, in A and A/V, at these voltages from the cathode.
    #[must_use]
    pub fn at(&self, anode: f64, grid: f64) -> Drawn {
        let (share, flow) = (self.share(), self.model().flow(Volts { anode, screen: 0.0, grid }));
        Drawn {
            current: share * flow.currents.anode,
            by_grid: share * flow.by_grid,
            by_anode: share * flow.by_anode,
        }
    }

    /// Where the valve settles along a line, looked for from the current `from`, in A. Cut off, or with no voltage left for
    /// its anode, it draws nothing.
    #[must_use]
    pub fn on_line(&self, line: Line, from: f64) -> Drawn {
        let Line { anode, anode_falls, grid, grid_falls } = line;
        let mut last = Drawn { current: 0.0, by_grid: 0.0, by_anode: 0.0 };
        // At the upper end nothing is left for the anode, and nothing flows: there always is a point between.
        let current = falling(0.0, (anode / anode_falls).max(0.0), from, |current| {
            last = self.at(anode - current * anode_falls, grid - current * grid_falls);
            (last.current - current, -1.0 - last.by_anode * anode_falls - last.by_grid * grid_falls)
        });
        Drawn { current, ..last }
    }

    /// The grid from the cathode at which the anode draws a current, in V; `None` where no grid brings it there.
    #[must_use]
    pub fn grid_for(&self, anode: f64, current: f64) -> Option<f64> {
        Some(self.model().at_current(Volts { anode, screen: 0.0, grid: 0.0 }, current / self.share())?.grid)
    }

    /// The slopes at a point; `None` where the valve is cut off. They follow the current: they are the model's where it
    /// draws what this valve draws.
    #[must_use]
    pub fn slopes(&self, anode: f64, grid: f64) -> Option<Slopes> {
        let current = self.current(anode, grid);
        let model = self.model();
        let volts = model.at_current(Volts { anode, screen: 0.0, grid }, current)?;
        let Flow { by_grid: steep, by_anode: rise, .. } = model.flow(volts);
        let gm = self.gm_share.si() * steep;
        let mu = self.mu_share.si() * steep / rise;
        let alive = current >= CUT_OFF && rise > 1e-9 && gm > 0.0 && mu > 0.0;
        alive.then(|| Slopes {
            gm: ElectricalConductance::of(gm),
            ra: ElectricalResistance::of(mu / gm),
            mu: Ratio::of(mu),
        })
    }

    /// The current as a formula: the model's, times both shares.
    #[must_use]
    pub fn formula(&self, current: ElectricCurrent) -> Expr {
        let modelled = ElectricCurrent::of(current.si() / self.share());
        named("k_v", self.valve_share) * (named("k_m", self.model_share) * named("I_model", modelled))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn triode(name: &str) -> Triode {
        let fitted = known().find(|fitted| fitted.valve == name).unwrap();
        let valve = valve_of(fitted);
        let all = Ratio::of(1.0);
        Triode { valve, fitted, model_share: all, valve_share: all, gm_share: all, mu_share: all }
    }

    #[test]
    fn a_point_on_the_load_line_lies_on_it_and_on_the_curve() {
        let valve = triode("12AX7");
        let line = Line { anode: 300.0, anode_falls: 100e3, grid: -0.2, grid_falls: 1e3 };
        for from in [0.0, 1e-3, 1.0] {
            let current = valve.on_line(line, from).current;
            let (anode, grid) = (300.0 - 100e3 * current, -0.2 - 1e3 * current);
            assert!((valve.current(anode, grid) - current).abs() < 1e-12);
            assert!((valve.grid_for(anode, current).unwrap() - grid).abs() < 1e-9);
        }
    }

    #[test]
    fn where_nothing_flows_there_are_no_slopes() {
        let valve = triode("12AT7");
        let line = Line { anode: -10.0, anode_falls: 100e3, grid: 0.0, grid_falls: 0.0 };
        assert_eq!(valve.on_line(line, 1e-3).current, 0.0);
        assert_eq!(valve.slopes(200.0, -100.0), None);
        assert!(valve.slopes(200.0, -2.0).is_some());
    }
}
