//! A valve's anode current over its grid voltage as ngspice has it, from the equation on the page of the models.

use calc_core::valve::fitted;
use calc_core::valve::model::{Model, Pentode};

use super::wiring::Values;
use crate::ngspice::run;

/// As far as a grid is swept, in V, and how finely.
const ENDS: (f64, f64, f64) = (-300.0, 300.0, 0.05);

/// Anode current over grid voltage, rising.
pub struct Curve(Vec<(f64, f64)>);

impl Curve {
    /// Of the valve, its anode and screen held.
    pub fn of(v: &Values) -> Self {
        let Some(Model::Pentode(Pentode { mu, ex, kg1, kg2, kp, slope, alpha_s, beta })) =
            fitted(v.valve).map(|fitted| fitted.model)
        else {
            panic!("{} has no pentode’s model", v.valve);
        };
        let (low, high, step) = ENDS;
        let (va, vs) = (v.anode, v.screen);
        let netlist = format!(
            "Reefman’s pentode over its grid, at {va} V and {vs} V\n.options gmin=1e-15\nVg g 0 0\n\
             Be e 0 V={{{vs}/{kp}*ln(1+exp({kp}*(1/{mu}+v(g)/{vs})))}}\n\
             Bi i 0 V={{v(e)^{ex}*(1/{kg1}-1/{kg2}+{slope}*{va}/{kg1}\
             -((1-{kg1}/{kg2}*(1+{alpha_s}))/{kg1}+{alpha_s}/{kg2})/(1+{beta}*{va}))}}\n\
             .control\nset numdgt=12\ndc Vg {low} {high} {step}\nwrdata curve.txt v(i)\n.endc\n.end\n"
        );
        let rows = run(&netlist).table("curve.txt");
        Self(rows.into_iter().map(|(grid, current)| (grid, current[0])).collect())
    }

    /// The current at a grid voltage, in A.
    pub fn at(&self, grid: f64) -> f64 {
        let after = self.0.partition_point(|(known, _)| *known < grid).clamp(1, self.0.len() - 1);
        let ((x1, y1), (x2, y2)) = (self.0[after - 1], self.0[after]);
        y1 + (y2 - y1) * ((grid - x1) / (x2 - x1)).clamp(0.0, 1.0)
    }

    /// The grid voltage, at most 0 V, at which this current flows; none where none does.
    pub fn grid_for(&self, current: f64) -> Option<f64> {
        let after = self.0.partition_point(|(_, known)| *known < current);
        let (x1, y1) = *self.0.get(after.checked_sub(1)?)?;
        let (x2, y2) = *self.0.get(after)?;
        let grid = x1 + (x2 - x1) * (current - y1) / (y2 - y1);
        (grid <= 0.0).then_some(grid)
    }
}
