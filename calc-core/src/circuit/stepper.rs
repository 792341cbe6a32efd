//! Newton's method for one step after another of the same network: which element is divided by which is found once, only
//! what has changed is written again, and nothing is allocated.
//!
//! How the multipliers grow is watched at every solution. Where they grow too far, the order of elimination is chosen again
//! for the matrix as it is now; where that does not help, `nalgebra`'s elimination with exchange of rows answers.

use nalgebra::DMatrix;

use super::dense;
use super::device::Ways;
use super::equations::Equations;
use super::linear_system::{LinearSystem, to_about_one};
use super::newton::{Unsettled, iterate};
use super::phasor::Phasor;
use super::sparse::{Plan, pivots};

/// The largest multiplier: it may cost five of sixteen digits.
const GROWTH: f64 = 1e5;

/// An element of the matrix: what it holds without devices is `conductance + weight · storage`.
struct Element {
    row: usize,
    column: usize,
    conductance: f64,
    storage: f64,
}

/// Where a device's slope goes.
struct SlopeStamp {
    device: usize,
    current: usize,
    voltage: usize,
    element: usize,
    sign: f64,
}

/// Where a device's current goes.
struct CurrentStamp {
    device: usize,
    current: usize,
    row: usize,
    sign: f64,
}

/// Solves `(G + weight · C) x + i(x) = right` for one weight and right side after another.
pub(super) struct Stepper<'e, 'n> {
    equations: &'e Equations<'n>,
    elements: Vec<Element>,
    slopes: Vec<SlopeStamp>,
    currents: Vec<CurrentStamp>,
    /// None until there is a matrix to choose pivots in.
    plan: Option<Plan>,
    /// What each row is multiplied by, so that rows in siemens and in volts compare.
    scale: Vec<f64>,
    /// The elements for the weight of this step, without devices.
    linear: Vec<f64>,
    /// All elements, unscaled, and the right side.
    matrix: Vec<f64>,
    right: Vec<f64>,
    values: Vec<f64>,
    inverses: Vec<f64>,
    at: Vec<Ways>,
    next: Vec<f64>,
}

impl<'e, 'n> Stepper<'e, 'n> {
    pub(super) fn new(equations: &'e Equations<'n>) -> Self {
        let size = equations.size();
        let mut there = vec![false; size * size];
        for (place, there) in there.iter_mut().enumerate() {
            let at = (place / size, place % size);
            *there = equations.conductance[at] != 0.0 || equations.storage[at] != 0.0;
        }
        let (mut stamps, mut currents) = (Vec::new(), Vec::new());
        for (place, device) in equations.devices.iter().enumerate() {
            for (current, (from, to)) in device.outputs().filter(|(_, (from, to))| from != to) {
                for (row, sign) in from.iter().map(|row| (*row, 1.0)).chain(to.iter().map(|row| (*row, -1.0)))
                {
                    currents.push(CurrentStamp { device: place, current, row, sign });
                    // Nothing is between a node and itself.
                    for (voltage, (a, b)) in device.inputs().filter(|(_, (a, b))| a != b) {
                        for (column, way) in
                            a.iter().map(|at| (*at, sign)).chain(b.iter().map(|at| (*at, -sign)))
                        {
                            there[row * size + column] = true;
                            stamps.push((place, current, voltage, row * size + column, way));
                        }
                    }
                }
            }
        }
        let places: Vec<usize> = (0..size * size).filter(|place| there[*place]).collect();
        let element_at = |place: usize| places.partition_point(|other| *other < place);
        let slopes = stamps.into_iter().map(|(device, current, voltage, place, sign)| SlopeStamp {
            device,
            current,
            voltage,
            element: element_at(place),
            sign,
        });
        let slopes = slopes.collect();
        let elements = places.iter().map(|place| {
            let (row, column) = (place / size, place % size);
            let (conductance, storage) =
                (equations.conductance[(row, column)], equations.storage[(row, column)]);
            Element { row, column, conductance, storage }
        });
        Self {
            elements: elements.collect(),
            slopes,
            currents,
            plan: None,
            scale: vec![1.0; size],
            linear: vec![0.0; places.len()],
            matrix: vec![0.0; places.len()],
            right: vec![0.0; size],
            values: Vec::new(),
            inverses: vec![0.0; size],
            at: vec![Default::default(); equations.devices.len()],
            next: vec![0.0; size],
            equations,
        }
    }

    /// From a guess in `x`; on success `x` is the solution.
    pub(super) fn settle(&mut self, weight: f64, right: &[f64], x: &mut [f64]) -> Result<(), Unsettled> {
        for (linear, element) in self.linear.iter_mut().zip(&self.elements) {
            *linear = element.conductance + weight * element.storage;
        }
        let (mut at, mut next) = (std::mem::take(&mut self.at), std::mem::take(&mut self.next));
        let devices = &self.equations.devices;
        let settled = iterate(devices, x, &mut at, &mut next, |at, next| self.solve(right, at, next));
        (self.at, self.next) = (at, next);
        settled
    }

    /// With every device replaced by its tangent at these voltages.
    fn solve(&mut self, right: &[f64], at: &[Ways], x: &mut [f64]) -> Result<bool, usize> {
        self.stamp(right, at);
        // A diode straight across a supply carries more than a number holds.
        if self.matrix.iter().any(|value| !value.is_finite()) {
            return Ok(false);
        }
        if self.eliminate(x) {
            return Ok(true);
        }
        self.choose();
        if self.eliminate(x) {
            return Ok(true);
        }
        let found = dense::factor(self.whole(), self.equations.nodes())?.solve(&DMatrix::from_column_slice(
            self.right.len(),
            1,
            &self.right,
        ));
        found.iter().for_each(|found| x.copy_from_slice(found.as_slice()));
        Ok(found.is_some())
    }

    /// Writes matrix and right side.
    fn stamp(&mut self, right: &[f64], at: &[Ways]) {
        self.matrix.copy_from_slice(&self.linear);
        self.right.copy_from_slice(right);
        let (mut slope, mut current) = (0, 0);
        for (place, (device, voltages)) in self.equations.devices.iter().zip(at).enumerate() {
            let (currents, slopes) = device.tangent(voltages);
            while let Some(stamp) = self.slopes.get(slope).filter(|stamp| stamp.device == place) {
                self.matrix[stamp.element] += stamp.sign * slopes[stamp.current][stamp.voltage];
                slope += 1;
            }
            while let Some(stamp) = self.currents.get(current).filter(|stamp| stamp.device == place) {
                // What the tangent leaves at no voltage.
                let along =
                    slopes[stamp.current].iter().zip(voltages).map(|(slope, voltage)| slope * voltage);
                self.right[stamp.row] -= stamp.sign * (currents[stamp.current] - along.sum::<f64>());
                current += 1;
            }
        }
    }

    /// Solves by the list; false where that is not to be trusted.
    fn eliminate(&mut self, x: &mut [f64]) -> bool {
        let Some(plan) = &self.plan else { return false };
        let (matrix, rest) = self.values.split_at_mut(self.elements.len());
        let (right, fills) = rest.split_at_mut(self.right.len());
        for ((value, own), element) in matrix.iter_mut().zip(&self.matrix).zip(&self.elements) {
            *value = own * self.scale[element.row];
        }
        for ((value, own), scale) in right.iter_mut().zip(&self.right).zip(&self.scale) {
            *value = own * scale;
        }
        fills.fill(0.0);
        let mut growth = 0.0_f64;
        plan.run(&mut self.values, &mut self.inverses, x, |factor| growth = growth.max(factor.abs()));
        growth <= GROWTH && x.iter().all(|x| x.is_finite())
    }

    /// Chooses the order of elimination for the matrix as it is.
    fn choose(&mut self) {
        let size = self.right.len();
        let whole = self.whole();
        for (row, scale) in whole.row_iter().zip(&mut self.scale) {
            *scale = to_about_one(row.iter().fold(0.0, |largest: f64, value| largest.max(value.abs())));
        }
        let none = DMatrix::zeros(size, size);
        let system = LinearSystem::of(&whole, &none, &vec![Phasor::default(); size], 0.0);
        self.plan = pivots(&system, 0.0, &[]).ok().map(|order| {
            let is_there = |row, column| self.elements.iter().any(|at| at.row == row && at.column == column);
            Plan::new(size, is_there, |_| true, &order)
        });
        self.values = vec![0.0; self.plan.as_ref().map_or(0, |plan| plan.values)];
    }

    /// The matrix with all that is not there.
    fn whole(&self) -> DMatrix<f64> {
        let size = self.right.len();
        let mut whole = DMatrix::zeros(size, size);
        for (element, value) in self.elements.iter().zip(&self.matrix) {
            whole[(element.row, element.column)] = *value;
        }
        whole
    }
}
