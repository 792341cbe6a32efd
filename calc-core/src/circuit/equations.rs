//! The network's equations `G x + C x' + i(x) = b(t)`, stamped once from its parts.

use nalgebra::DMatrix;

use super::NetworkError;
use super::builder::Network;
use super::device::Device;
use super::part::{Ends, Kind, Node};
use super::union_find::UnionFind;

/// Resistors below this, in Ω, or below this share of the largest, are given their own current as an unknown: as
/// conductances they would drown their neighbours'.
const SMALL: f64 = 1.0;
const SMALL_SHARE: f64 = 1e-8;

/// The equations of a network.
pub(super) struct Equations<'n> {
    pub(super) network: &'n Network,
    /// G: what flows for a voltage, in S.
    pub(super) conductance: DMatrix<f64>,
    /// C: what flows where a voltage changes.
    pub(super) storage: DMatrix<f64>,
    /// i(x): diodes and valves, whose currents bend.
    pub(super) devices: Vec<Device>,
    /// Of each part, the place of its current among the unknowns.
    pub(super) branch: Vec<Option<usize>>,
}

impl<'n> Equations<'n> {
    pub(super) fn of(network: &'n Network) -> Result<Self, NetworkError> {
        if let Some(problem) = &network.problem {
            return Err(problem.clone());
        }
        let branch = branches(network);
        let size = network.nodes.len() + branch.iter().flatten().count();
        let mut equations = Self {
            network,
            conductance: DMatrix::zeros(size, size),
            storage: DMatrix::zeros(size, size),
            devices: Vec::new(),
            branch,
        };
        equations.stamp();
        check_couplings(network)?;
        let values = equations.conductance.iter().chain(equations.storage.iter());
        if values.into_iter().any(|value| !value.is_finite()) {
            let part = network.parts.first().map_or_else(String::new, |part| part.name.clone());
            return Err(NetworkError::NotFinite { at: part });
        }
        Ok(equations)
    }

    /// How many unknowns there are.
    pub(super) fn size(&self) -> usize {
        self.conductance.nrows()
    }

    /// How many of them are voltages.
    pub(super) fn nodes(&self) -> usize {
        self.network.nodes.len()
    }

    /// b: what the sources give, by a value of each.
    pub(super) fn drive(&self, value: impl Fn(&super::signal::Form) -> f64) -> DMatrix<f64> {
        let mut drive = DMatrix::zeros(self.size(), 1);
        for (part, branch) in self.network.parts.iter().zip(&self.branch) {
            match (&part.kind, branch) {
                (Kind::Voltage(_, form), Some(row)) => drive[*row] = value(form),
                (Kind::Current((from, to), form), _) => {
                    let value = value(form);
                    if from != to {
                        from.iter().for_each(|row| drive[*row] -= value);
                        to.iter().for_each(|row| drive[*row] += value);
                    }
                }
                _ => {}
            }
        }
        drive
    }

    /// The name of an unknown: a node, or the part whose current it is.
    pub(super) fn name(&self, unknown: usize) -> String {
        if let Some(node) = self.network.nodes.get(unknown) {
            return node.clone();
        }
        let part = self.branch.iter().position(|branch| *branch == Some(unknown));
        part.and_then(|at| self.network.parts.get(at)).map_or_else(String::new, |part| part.name.clone())
    }

    /// What it means that an unknown has no value of its own.
    pub(super) fn undetermined(&self, unknown: usize) -> NetworkError {
        let name = self.name(unknown);
        if unknown < self.nodes() {
            NetworkError::Floating { node: name }
        } else {
            NetworkError::Loop { part: name }
        }
    }

    fn stamp(&mut self) {
        let mut wires = UnionFind::new(self.nodes());
        for (part, branch) in self.network.parts.iter().zip(self.branch.clone()) {
            let g = &mut self.conductance;
            match (&part.kind, branch) {
                (Kind::Resistor(ends, resistance), None) => pair(g, *ends, 1.0 / resistance),
                (Kind::Capacitor(ends, value), _) => pair(&mut self.storage, *ends, *value),
                (Kind::Resistor(ends, resistance), Some(row)) => {
                    // A wire that is beside others carries nothing: which of them does is anyone's choice.
                    if *resistance > 0.0 || wires.union(*ends) {
                        branch_row(g, *ends, row, 1.0);
                        g[(row, row)] -= resistance;
                    } else {
                        g[(row, row)] = 1.0;
                    }
                }
                (Kind::Inductor(ends, inductance, resistance), Some(row)) => {
                    branch_row(g, *ends, row, 1.0);
                    g[(row, row)] -= resistance;
                    self.storage[(row, row)] -= inductance;
                }
                (Kind::Coupling(one, other, coefficient), _) => {
                    let windings = [one, other].map(|at| (self.branch[*at], self.network.parts.get(*at)));
                    let inductance = |at: usize| match windings[at].1.map(|part| &part.kind) {
                        Some(Kind::Inductor(_, inductance, _)) => *inductance,
                        _ => 0.0,
                    };
                    let mutual = coefficient * inductance(0).sqrt() * inductance(1).sqrt();
                    if let (Some(one), Some(other)) = (windings[0].0, windings[1].0) {
                        self.storage[(one, other)] -= mutual;
                        self.storage[(other, one)] -= mutual;
                    }
                }
                (Kind::Voltage(ends, _), Some(row)) => branch_row(g, *ends, row, 1.0),
                (Kind::VoltageByVoltage(ends, input, gain), Some(row)) => {
                    branch_row(g, *ends, row, 1.0);
                    row_of(g, *input, row, -gain);
                }
                (Kind::VoltageByCurrent(ends, source, resistance), Some(row)) => {
                    branch_row(g, *ends, row, 1.0);
                    if let Some(column) = self.branch[*source] {
                        g[(row, column)] -= resistance;
                    }
                }
                (Kind::Transformer(primary, secondary, turns), Some(row)) => {
                    branch_row(g, *primary, row, 1.0);
                    branch_row(g, *secondary, row, -turns);
                }
                (Kind::CurrentByVoltage(ends, input, value), _) => {
                    ends.0.iter().for_each(|row| row_of(g, *input, *row, *value));
                    ends.1.iter().for_each(|row| row_of(g, *input, *row, -value));
                }
                (Kind::CurrentByCurrent(ends, source, gain), _) => {
                    if let Some(column) = self.branch[*source] {
                        column_of(g, *ends, column, *gain);
                    }
                }
                (Kind::Diode(ends, saturation, ideality), _) => {
                    self.devices.push(Device::diode(*ends, *saturation, *ideality));
                }
                (Kind::Valve(pins, model), _) => self.devices.push(Device::valve(*pins, *model)),
                _ => {}
            }
        }
    }
}

/// Gives each part that needs one an unknown for its current.
fn branches(network: &Network) -> Vec<Option<usize>> {
    let largest = network.parts.iter().fold(0.0, |largest: f64, part| match part.kind {
        Kind::Resistor(_, resistance) if resistance.is_finite() => largest.max(resistance),
        _ => largest,
    });
    let small = SMALL.max(largest * SMALL_SHARE);
    let mut next = network.nodes.len();
    let mut give = |wanted: bool| {
        next += usize::from(wanted);
        wanted.then(|| next - 1)
    };
    let parts = network.parts.iter();
    parts
        .map(|part| {
            give(match part.kind {
                Kind::Resistor(_, resistance) => resistance < small,
                Kind::Inductor(..)
                | Kind::Voltage(..)
                | Kind::VoltageByVoltage(..)
                | Kind::VoltageByCurrent(..)
                | Kind::Transformer(..) => true,
                _ => false,
            })
        })
        .collect()
}

/// A value between two nodes, as a conductance or capacitance is stamped.
pub(super) fn pair(matrix: &mut DMatrix<f64>, ends: Ends, value: f64) {
    ends.0.iter().for_each(|row| row_of(matrix, ends, *row, value));
    ends.1.iter().for_each(|row| row_of(matrix, ends, *row, -value));
}

/// In one row, `value · (v(a) − v(b))`. Nothing is between a node and itself: adding it and taking it away again would
/// cost the digits of what is there.
pub(super) fn row_of(matrix: &mut DMatrix<f64>, (a, b): Ends, row: usize, value: f64) {
    if a == b {
        return;
    }
    let mut add = |node: Node, value: f64| node.iter().for_each(|column| matrix[(row, *column)] += value);
    add(a, value);
    add(b, -value);
}

/// In one column, the current that leaves `a` and enters `b`.
fn column_of(matrix: &mut DMatrix<f64>, (a, b): Ends, column: usize, value: f64) {
    if a == b {
        return;
    }
    let mut add = |node: Node, value: f64| node.iter().for_each(|row| matrix[(*row, column)] += value);
    add(a, value);
    add(b, -value);
}

/// A branch whose current is an unknown: it leaves `a` and enters `b`, and its row holds `v(a) − v(b)`, times `value`.
fn branch_row(matrix: &mut DMatrix<f64>, ends: Ends, row: usize, value: f64) {
    row_of(matrix, ends, row, value);
    column_of(matrix, ends, row, value);
}

/// Coupled windings store energy whatever their currents: else their coefficients contradict each other, as when two
/// windings couple fully to a third but not to one another.
fn check_couplings(network: &Network) -> Result<(), NetworkError> {
    let size = network.parts.len();
    let mut matrix = DMatrix::<f64>::identity(size, size);
    let mut last = None;
    for part in &network.parts {
        if let Kind::Coupling(one, other, coefficient) = part.kind {
            matrix[(one, other)] += coefficient;
            matrix[(other, one)] += coefficient;
            last = Some((&part.name, coefficient));
        }
    }
    let Some((name, coefficient)) = last else { return Ok(()) };
    // Elimination without exchange: the energy is never negative if no pivot is.
    let wrong = || NetworkError::BadValue {
        part: name.clone(),
        what: "coefficient of coupling",
        found: coefficient,
        allowed: "such that all windings coupled together store energy",
    };
    for k in 0..size {
        let pivot = matrix[(k, k)];
        let rest: f64 = (k + 1..size).map(|j| matrix[(k, j)].abs()).sum();
        if pivot < -1e-9 || (pivot < 1e-9 && rest > 1e-4) {
            return Err(wrong());
        }
        if pivot < 1e-9 {
            continue;
        }
        for i in k + 1..size {
            let factor = matrix[(i, k)] / pivot;
            for j in k..size {
                matrix[(i, j)] -= factor * matrix[(k, j)];
            }
        }
    }
    Ok(())
}
