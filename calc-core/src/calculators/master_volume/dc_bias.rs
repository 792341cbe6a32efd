//! What resistors bring a grid to, at rest: the nodes that hang from a supply, solved by elimination.
//!
//! ```text
//! Σ (V − V_k) / R_k = I                  at every node, with all that is connected to it
//! ```
//!
//! The solver of networks gives the same, and the tests hold this against it. It also does a great deal that eighty little
//! circuits of resistors at each turn of a knob do not need; a page would carry ten kilobytes more for it.
//!
//! Units: V, Ω, A. Errors: none; a node that nothing holds has no voltage. Source: Kirchhoff; conductances that all hang
//! from a supply need no exchange of rows.

use super::assembly::{Name, Parts};
use crate::circuit::CHASSIS;

/// What 0 Ω is taken for, in Ω: a touch of metal on metal.
const TOUCH: f64 = 1e-3;

/// Nodes and the resistors between them.
#[derive(Default)]
pub(super) struct DcBias {
    nodes: Vec<Node>,
    resistors: Vec<(usize, usize, f64)>,
}

struct Node {
    name: Name,
    /// By a supply, or as the chassis.
    fixed: Option<f64>,
    current: f64,
}

impl DcBias {
    fn node(&mut self, name: Name) -> usize {
        self.nodes.iter().position(|node| node.name == name).unwrap_or_else(|| {
            let fixed = (name == CHASSIS).then_some(0.0);
            self.nodes.push(Node { name, fixed, current: 0.0 });
            self.nodes.len() - 1
        })
    }

    /// The nodes that a path of resistors ties to a supply or the chassis.
    fn held(&self) -> Vec<bool> {
        let mut held: Vec<bool> = self.nodes.iter().map(|node| node.fixed.is_some()).collect();
        // Each round reaches at least one node more, or there is none.
        for _ in 0..self.nodes.len() {
            for (a, b, _) in &self.resistors {
                let either = held[*a] || held[*b];
                (held[*a], held[*b]) = (either, either);
            }
        }
        held
    }

    /// The voltages of nodes; none where nothing holds one.
    pub(super) fn voltages<const N: usize>(&self, names: [&str; N]) -> [Option<f64>; N] {
        let held = self.held();
        let free = |at: usize| held[at] && self.nodes[at].fixed.is_none();
        let unknown: Vec<usize> = (0..self.nodes.len()).filter(|at| free(*at)).collect();
        let place = |node: usize| unknown.iter().position(|at| *at == node);
        let size = unknown.len();
        // The right side is in the last column.
        let wide = size + 1;
        let mut rows = vec![0.0; size * wide];
        for (row, at) in unknown.iter().enumerate() {
            rows[row * wide + size] = self.nodes[*at].current;
        }
        for (a, b, conductance) in &self.resistors {
            for (one, other) in [(*a, *b), (*b, *a)] {
                let Some(row) = place(one) else { continue };
                rows[row * wide + row] += conductance;
                match (place(other), self.nodes[other].fixed) {
                    (Some(column), _) => rows[row * wide + column] -= conductance,
                    (None, fixed) => rows[row * wide + size] += conductance * fixed.unwrap_or(0.0),
                }
            }
        }
        for pivot in 0..size {
            for row in (0..size).filter(|row| *row != pivot) {
                let share = rows[row * wide + pivot] / rows[pivot * wide + pivot];
                // Most nodes have nothing to do with each other.
                if share == 0.0 {
                    continue;
                }
                for column in pivot..wide {
                    rows[row * wide + column] -= share * rows[pivot * wide + column];
                }
            }
        }
        names.map(|name| {
            let wanted = self.nodes.iter().position(|node| node.name == name)?;
            let solved = || place(wanted).map(|row| rows[row * wide + size] / rows[row * wide + row]);
            self.nodes[wanted].fixed.or_else(solved)
        })
    }
}

impl Parts for DcBias {
    fn resistor(&mut self, _: Name, a: Name, b: Name, resistance: f64) {
        let (a, b) = (self.node(a), self.node(b));
        self.resistors.push((a, b, 1.0 / resistance.max(TOUCH)));
    }

    fn capacitor(&mut self, _: Name, _: Name, _: Name, _: f64) {}

    fn supply(&mut self, _: Name, node: Name, voltage: f64, _: f64) {
        let node = self.node(node);
        self.nodes[node].fixed = Some(voltage);
    }

    fn current(&mut self, _: Name, into: Name, current: f64) {
        let node = self.node(into);
        self.nodes[node].current += current;
    }
}
