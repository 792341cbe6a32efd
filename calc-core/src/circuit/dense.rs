//! Dense elimination with exchange of rows (`nalgebra`), and how far its answer may be off.

use nalgebra::{DMatrix, Dyn, LU};

use super::linear_system::to_about_one;

/// A pivot below this share of its column's largest value is what rounding left of a zero.
const VANISHED: f64 = 4e-16;

/// A matrix as its factors, so that several right-hand sides are solved for.
pub(super) struct Factors {
    lu: LU<f64, Dyn, Dyn>,
    /// The matrix itself, with its rows multiplied.
    matrix: DMatrix<f64>,
    /// What each row was multiplied by, a power of two, so that rows in siemens and in volts compare.
    scale: Vec<f64>,
}

/// Factors a square matrix; the error is the place of an unknown that has no value of its own: of several, one of the
/// first `nodes`, which are voltages.
pub(super) fn factor(mut matrix: DMatrix<f64>, nodes: usize) -> Result<Factors, usize> {
    let size = matrix.nrows();
    let mut scale = Vec::with_capacity(size);
    for mut row in matrix.row_iter_mut() {
        let largest = row.iter().fold(0.0, |largest: f64, value| largest.max(value.abs()));
        let power = to_about_one(largest);
        row.iter_mut().for_each(|value| *value *= power);
        scale.push(power);
    }
    let largest: Vec<f64> = matrix
        .column_iter()
        .map(|column| column.iter().fold(0.0, |largest: f64, value| largest.max(value.abs())))
        .collect();
    let lu = matrix.clone().lu();
    let upper = lu.lu_internal();
    // What is no number fails the comparison, and so counts as vanished.
    let sound = |k: usize| upper[(k, k)].abs() > VANISHED * largest[k] && upper[(k, k)].is_finite();
    match (0..size).find(|&k| !sound(k)) {
        Some(k) => Err(loose(&|row, column| upper[(row, column)], k, nodes)),
        None => Ok(Factors { lu, matrix, scale }),
    }
}

/// Which unknown may have any value when pivot `k` vanished: what it moves along with itself, by back substitution. A
/// voltage that moves floats; where none does, currents run in a ring.
fn loose(upper: &impl Fn(usize, usize) -> f64, k: usize, nodes: usize) -> usize {
    let mut moves = vec![0.0; k + 1];
    moves[k] = 1.0_f64;
    for row in (0..k).rev() {
        let sum: f64 = (row + 1..=k).map(|column| upper(row, column) * moves[column]).sum();
        moves[row] = -sum / upper(row, row);
    }
    let largest = |most: usize, at: usize| if moves[at].abs() > moves[most].abs() { at } else { most };
    let all = (0..=k).fold(k, largest);
    let voltage = (0..nodes.min(k + 1)).fold(0, largest);
    if moves[voltage].abs() > 1e-9 * moves[all].abs() { voltage } else { k }
}

impl Factors {
    /// Solves for each column, and once more for what is left over: so that rounding does no more than it would have done
    /// to the matrix itself. None if a number overflows.
    pub(super) fn solve(&self, right: &DMatrix<f64>) -> Option<DMatrix<f64>> {
        // nalgebra takes no matrix without rows.
        if right.nrows() == 0 {
            return Some(right.clone());
        }
        let right = self.scaled(right);
        let rough = self.lu.solve(&right)?;
        let left_over = right - &self.matrix * &rough;
        let solution = rough + self.lu.solve(&left_over)?;
        solution.iter().all(|value| value.is_finite()).then_some(solution)
    }

    fn scaled(&self, right: &DMatrix<f64>) -> DMatrix<f64> {
        let mut right = right.clone();
        for (mut row, scale) in right.row_iter_mut().zip(&self.scale) {
            row.iter_mut().for_each(|value| *value *= scale);
        }
        right
    }

    /// The first unknown of a solution that is lost. The largest error that it can have, to first order, comes from
    /// rounding in matrix and right side (Skeel) and from what is left over: `|A⁻¹| (ε (|A| |x| + |b|) + |b − A x|)`. It
    /// may be a millionth of the unknown; or 10⁻¹² of the largest of its kind, be that an unknown (the first `nodes` are
    /// voltages) or a sum of terms in an equation (the first `nodes` are sums of currents); or what is allowed as well,
    /// in V or A.
    pub(super) fn lost(
        &self,
        x: &DMatrix<f64>,
        right: &DMatrix<f64>,
        nodes: usize,
        besides: f64,
    ) -> Option<usize> {
        let size = self.matrix.nrows();
        let unscaled = DMatrix::from_fn(size, size, |i, j| if i == j { 1.0 / self.scale[i] } else { 0.0 });
        let Some(inverse) = self.solve(&unscaled).map(|inverse| inverse.abs()) else { return Some(0) };
        let right = self.scaled(right);
        let left_over = &right - &self.matrix * x;
        let terms = self.matrix.abs() * x.abs() + right.abs();
        let error = inverse * (&terms * f64::EPSILON + left_over.abs());
        let [voltage, current] = largest_of_each_kind(x.as_slice(), nodes);
        let terms: Vec<f64> = terms.iter().zip(&self.scale).map(|(terms, scale)| terms / scale).collect();
        let [sum_of_currents, sum_of_voltages] = largest_of_each_kind(&terms, nodes);
        let kinds = [voltage.max(sum_of_voltages), current.max(sum_of_currents)];
        let kind = |at: usize| kinds[usize::from(at >= nodes)];
        let sure = |at: usize| error[at] <= 1e-6 * x[at].abs() + 1e-12 * kind(at) + besides;
        (0..size).find(|&at| !sure(at))
    }
}

/// The largest voltage and the largest current among unknowns of which the first `nodes` are voltages.
pub(super) fn largest_of_each_kind(x: &[f64], nodes: usize) -> [f64; 2] {
    let largest = |values: &[f64]| values.iter().fold(0.0, |largest: f64, value| largest.max(value.abs()));
    let (voltages, currents) = x.split_at(nodes.min(x.len()));
    [largest(voltages), largest(currents)]
}
