//! A network's equations at one frequency, `(g + jωc) x = b₀ + jω b₁`, and what of them need not wait for a frequency.

use nalgebra::DMatrix;

use super::phasor::Phasor;

/// A pivot is at least this share of its column's largest element.
const THRESHOLD: f64 = 0.1;

/// The power of two that brings a row's largest element to between a half and one; 1 for a row of nothing.
pub(super) fn to_about_one(largest: f64) -> f64 {
    let power = libm::ldexp(1.0, -libm::frexp(largest).1);
    if power.is_finite() { power } else { 1.0 }
}

/// A square system of equations, row by row.
#[derive(Clone)]
pub(super) struct LinearSystem {
    pub(super) size: usize,
    pub(super) conductance: Vec<f64>,
    pub(super) storage: Vec<f64>,
    /// b₀ and b₁.
    pub(super) drive: Vec<(Phasor, Phasor)>,
}

impl LinearSystem {
    /// From G, C and b, with each row multiplied by a power of two so that rows in siemens and in volts compare at
    /// `omega`.
    pub(super) fn of(
        conductance: &DMatrix<f64>,
        storage: &DMatrix<f64>,
        drive: &[Phasor],
        omega: f64,
    ) -> Self {
        let n = conductance.nrows();
        let mut system = Self { size: n, conductance: vec![], storage: vec![], drive: vec![] };
        for (row, drive) in drive.iter().enumerate() {
            let sizes = (0..n).map(|at| conductance[(row, at)].abs().max(omega * storage[(row, at)].abs()));
            let power = to_about_one(sizes.fold(0.0, f64::max));
            system.conductance.extend((0..n).map(|at| power * conductance[(row, at)]));
            system.storage.extend((0..n).map(|at| power * storage[(row, at)]));
            system.drive.push((drive.times(power), Phasor::default()));
        }
        system
    }

    /// An element of the matrix.
    pub(super) fn at(&self, row: usize, column: usize, omega: f64) -> Phasor {
        let place = row * self.size + column;
        Phasor { re: self.conductance[place], im: omega * self.storage[place] }
    }

    /// An element of the right side.
    pub(super) fn right(&self, row: usize, omega: f64) -> Phasor {
        let (steady, rising) = self.drive[row];
        Phasor { re: steady.re - omega * rising.im, im: steady.im + omega * rising.re }
    }

    /// Whether there is an element.
    pub(super) fn there(&self, row: usize, column: usize) -> bool {
        let place = row * self.size + column;
        self.conductance[place] != 0.0 || self.storage[place] != 0.0
    }

    /// Eliminates beforehand what does so without regard to frequency, but no unknown in `kept`: where pivot and its
    /// whole row, or its whole column, hold no capacitor or winding, what is left is again of this form. Gives what is
    /// left, and which unknowns those are.
    pub(super) fn fold(&self, kept: &[usize]) -> (Self, Vec<usize>) {
        let mut folded = self.clone();
        let (mut rows, mut columns): (Vec<usize>, Vec<usize>) =
            ((0..self.size).collect(), (0..self.size).collect());
        while let Some((row, column)) = folded.foldable(&rows, &columns, kept) {
            rows.retain(|other| *other != row);
            columns.retain(|other| *other != column);
            folded.eliminate(row, column, &rows, &columns);
        }
        let pick = |values: &[f64]| -> Vec<f64> {
            rows.iter()
                .flat_map(|row| columns.iter().map(move |column| values[row * self.size + column]))
                .collect()
        };
        let left = Self {
            size: rows.len(),
            conductance: pick(&folded.conductance),
            storage: pick(&folded.storage),
            drive: rows.iter().map(|row| folded.drive[*row]).collect(),
        };
        (left, columns)
    }

    /// The pivot that makes the fewest new elements.
    fn foldable(&self, rows: &[usize], columns: &[usize], kept: &[usize]) -> Option<(usize, usize)> {
        let n = self.size;
        let (g, c) = (
            |row: usize, column: usize| self.conductance[row * n + column],
            |row: usize, column: usize| self.storage[row * n + column],
        );
        let mut best: Option<(usize, usize, usize)> = None;
        for &column in columns.iter().filter(|column| !kept.contains(column)) {
            let steady_column = rows.iter().all(|row| c(*row, column) == 0.0);
            let largest = rows.iter().fold(0.0, |m: f64, row| m.max(g(*row, column).abs()));
            let down = rows.iter().filter(|row| self.there(**row, column)).count();
            for &row in rows.iter().filter(|row| c(**row, column) == 0.0) {
                let steady_row = columns.iter().all(|column| c(row, *column) == 0.0);
                // A right side that rises with frequency twice over would no longer be of this form.
                let simple = self.drive[row].1 == Phasor::default();
                let large = g(row, column) != 0.0 && g(row, column).abs() >= THRESHOLD * largest;
                if large && (steady_column || (steady_row && simple)) {
                    let along = columns.iter().filter(|column| self.there(row, **column)).count();
                    let fills = (down - 1) * (along - 1);
                    if best.is_none_or(|(least, ..)| fills < least) {
                        best = Some((fills, row, column));
                    }
                }
            }
        }
        // One that makes more elements than it takes away would not pay.
        best.filter(|(fills, ..)| *fills <= 2).map(|(_, row, column)| (row, column))
    }

    fn eliminate(&mut self, row: usize, column: usize, rows: &[usize], columns: &[usize]) {
        let n = self.size;
        let pivot = self.conductance[row * n + column];
        for &i in rows.iter().filter(|i| self.there(**i, column)).collect::<Vec<_>>() {
            let (g, c) = (self.conductance[i * n + column] / pivot, self.storage[i * n + column] / pivot);
            for &j in columns {
                let (own_g, own_c) = (self.conductance[row * n + j], self.storage[row * n + j]);
                self.conductance[i * n + j] -= g * own_g;
                self.storage[i * n + j] -= g * own_c + c * own_g;
            }
            let (steady, rising) = self.drive[row];
            let drive = &mut self.drive[i];
            drive.0 = drive.0 - steady.times(g);
            drive.1 = drive.1 - rising.times(g) - steady.times(c);
        }
    }
}
