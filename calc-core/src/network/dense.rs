//! Dense elimination with exchange of rows (`nalgebra`), and how far its answer may be off.

use nalgebra::{DMatrix, Dyn, LU};

/// A pivot below this share of its column's largest value is what rounding left of a zero.
const VANISHED: f64 = 4e-16;

/// A matrix, factored.
pub(super) struct Factors {
    lu: LU<f64, Dyn, Dyn>,
    /// What each row was multiplied by, a power of two, so that rows in siemens and in volts compare.
    scale: Vec<f64>,
}

/// Factors a square matrix; the error is the place of an unknown that has no value of its own.
pub(super) fn factor(mut matrix: DMatrix<f64>) -> Result<Factors, usize> {
    let size = matrix.nrows();
    let mut scale = Vec::with_capacity(size);
    for mut row in matrix.row_iter_mut() {
        let largest = row.iter().fold(0.0, |largest: f64, value| largest.max(value.abs()));
        let power = libm::ldexp(1.0, -libm::frexp(largest).1);
        let power = if power.is_finite() { power } else { 1.0 };
        row.iter_mut().for_each(|value| *value *= power);
        scale.push(power);
    }
    let largest: Vec<f64> = matrix
        .column_iter()
        .map(|column| column.iter().fold(0.0, |largest: f64, value| largest.max(value.abs())))
        .collect();
    let lu = matrix.lu();
    let upper = lu.lu_internal();
    // What is no number fails the comparison, and so counts as vanished.
    let sound = |k: usize| upper[(k, k)].abs() > VANISHED * largest[k] && upper[(k, k)].is_finite();
    match (0..size).find(|&k| !sound(k)) {
        Some(k) => Err(k),
        None => Ok(Factors { lu, scale }),
    }
}

impl Factors {
    /// Solves for each column; none if a number overflows.
    pub(super) fn solve(&self, mut right: DMatrix<f64>) -> Option<DMatrix<f64>> {
        for (mut row, scale) in right.row_iter_mut().zip(&self.scale) {
            row.iter_mut().for_each(|value| *value *= scale);
        }
        self.lu.solve(&right).filter(|solution| solution.iter().all(|value| value.is_finite()))
    }

    /// The largest error that rounding in matrix and right side can make in each unknown, to first order (Skeel):
    /// `ε |A⁻¹| (|A| |x| + |b|)`.
    pub(super) fn doubt(
        &self,
        matrix: &DMatrix<f64>,
        x: &DMatrix<f64>,
        right: &DMatrix<f64>,
    ) -> Option<DMatrix<f64>> {
        let inverse = self.solve(DMatrix::identity(matrix.nrows(), matrix.nrows()))?;
        let mut doubt = DMatrix::zeros(matrix.nrows(), 1);
        for j in 0..matrix.nrows() {
            let terms: f64 = (0..matrix.nrows()).map(|k| (matrix[(j, k)] * x[k]).abs()).sum();
            let weight = terms + right[j].abs();
            for i in 0..matrix.nrows() {
                doubt[i] += f64::EPSILON * inverse[(i, j)].abs() * weight;
            }
        }
        Some(doubt)
    }
}

/// The first unknown whose doubt is more than a millionth of it, or of a thousandth of the largest of its kind.
pub(super) fn lost(x: &[f64], doubt: &[f64], nodes: usize) -> Option<usize> {
    let largest = |values: &[f64]| values.iter().fold(0.0, |largest: f64, value| largest.max(value.abs()));
    let (voltages, currents) = x.split_at(nodes.min(x.len()));
    let kinds = [largest(voltages), largest(currents)];
    let sure = |at: usize| doubt[at] <= 1e-6 * (x[at].abs() + 1e-3 * kinds[usize::from(at >= nodes)]);
    (0..x.len()).find(|&at| !sure(at))
}
