//! A triode in a stage: which one, how far its model may be off, and what it does at a point.
//!
//! ```text
//! I_a = k_m k_v I_model(V_a, V_g)     k_m, k_v: 100 %, with the margins of the model and of valves of one type
//! µ   = g_m r_a
//! ```

use super::fitted::{FITTED, Fitted, fitted};
use super::model::{Model, Volts};
use super::{Kind, VALVES, Valve};
use crate::calculator::{Ask, Expr, named};
use crate::quantity::{ElectricCurrent, ElectricalConductance, ElectricalResistance, Quantity, Ratio};
use crate::root::root;

/// A triode of the table, by its model.
#[derive(Debug, Clone, Copy)]
pub struct Triode {
    /// Which.
    pub valve: &'static Valve,
    /// Its model.
    pub fitted: &'static Fitted,
    /// The average valve against the model.
    model_share: Ratio,
    /// This valve against the average one.
    valve_share: Ratio,
}

/// What a valve makes of small signals at a point.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Slopes {
    /// Mutual conductance.
    pub gm: ElectricalConductance,
    /// Anode resistance.
    pub ra: ElectricalResistance,
    /// Amplification factor.
    pub mu: Ratio,
}

/// Below this a valve is cut off, and a model of its working currents says nothing.
const CUT_OFF: f64 = 1e-6;
/// Grids beyond these are not looked at, in V.
const GRIDS: (f64, f64) = (-500.0, 500.0);

fn known() -> impl Iterator<Item = (&'static Valve, &'static Fitted)> {
    let triodes = VALVES.iter().filter(|valve| valve.kind == Kind::Triode);
    triodes.filter_map(|valve| Some((valve, fitted(valve.name)?)))
}

/// Asks which triode it is.
pub fn ask_triode(a: &mut Ask, default: &'static str) -> (&'static Valve, &'static Fitted) {
    let listed = || known().map(|(valve, _)| (valve.name.to_owned(), valve.label())).collect();
    let at = a.one_of("valve", "Valve", "", default, &listed);
    // The choice is one of those listed.
    known().nth(at).unwrap_or((&VALVES[0], &FITTED[0]))
}

impl Triode {
    /// Asks how far the model and the valve may be off.
    pub fn ask_shares(a: &mut Ask, (valve, fitted): (&'static Valve, &'static Fitted)) -> Self {
        let model_share = a
            .usual()
            .quantity("model-share", "k_m", "Average valve, against the model", "100 %")
            .hint("How far the model lies from the rows it was fitted to.")
            .within("25 %", "400 %")
            .tolerance(fitted.margin)
            .get();
        let valve_share = a
            .usual()
            .quantity("valve-share", "k_v", "This valve, against the average", "100 %")
            .hint("Real valves of a type spread by some 30 %. Common practice, no source.")
            .within("25 %", "400 %")
            .tolerance("30 %")
            .get();
        Self { valve, fitted, model_share, valve_share }
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
        self.share() * self.model().currents(Volts { anode, screen: 0.0, grid }).anode
    }

    /// The anode current of a valve whose anode is fed through a resistance: on its load line, in A. `supply` counts
    /// from the cathode.
    #[must_use]
    pub fn on_load(&self, supply: f64, resistance: f64, grid: f64) -> f64 {
        let over = |current: f64| self.current(supply - current * resistance, grid) - current;
        // At the upper end nothing is left for the anode, and nothing flows: there always is a point between.
        root(0.0, (supply / resistance).max(0.0), over).unwrap_or(0.0)
    }

    /// The grid from the cathode at which the anode draws a current, in V; `None` where no grid brings it there.
    #[must_use]
    pub fn grid_for(&self, anode: f64, current: f64) -> Option<f64> {
        root(GRIDS.0, GRIDS.1, |grid| self.current(anode, grid) - current).ok()
    }

    /// The slopes at a point; `None` where the valve is cut off.
    #[must_use]
    pub fn slopes(&self, anode: f64, grid: f64) -> Option<Slopes> {
        let volts = Volts { anode, screen: 0.0, grid };
        let gm = self.share() * self.model().mutual_conductance(volts);
        let rise = self.share() * self.model().anode_conductance(volts);
        let alive = self.current(anode, grid) >= CUT_OFF && rise > 1e-9 && gm > 0.0;
        alive.then(|| Slopes {
            gm: ElectricalConductance::of(gm),
            ra: ElectricalResistance::of(1.0 / rise),
            mu: Ratio::of(gm / rise),
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
        let (valve, fitted) = known().find(|(valve, _)| valve.name == name).unwrap();
        Triode { valve, fitted, model_share: Ratio::of(1.0), valve_share: Ratio::of(1.0) }
    }

    #[test]
    fn a_point_on_the_load_line_lies_on_it_and_on_the_curve() {
        let valve = triode("12AX7");
        let current = valve.on_load(300.0, 100e3, -1.5);
        assert!((valve.current(300.0 - 100e3 * current, -1.5) - current).abs() < 1e-12);
        let grid = valve.grid_for(300.0 - 100e3 * current, current).unwrap();
        assert!((grid + 1.5).abs() < 1e-9);
    }

    #[test]
    fn where_nothing_flows_there_are_no_slopes() {
        let valve = triode("12AT7");
        assert_eq!(valve.on_load(-10.0, 100e3, 0.0), 0.0);
        assert_eq!(valve.slopes(200.0, -100.0), None);
        assert!(valve.slopes(200.0, -2.0).is_some());
    }
}
