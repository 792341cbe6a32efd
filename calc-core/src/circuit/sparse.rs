//! Elimination as a list: which element is divided by which is found once, and then run at each frequency in arrays that
//! are already there.
//!
//! Pivots are chosen at one frequency: of those that are not much smaller than their column's largest (so that rounding
//! does not grow), the one that makes the fewest new elements (Markowitz). At other frequencies they may be poor: so each
//! run says how large its multipliers grew.

use super::complex4::{Complex4, LANES, larger};
use super::linear_system::LinearSystem;
use super::phasor::Phasor;

/// A pivot must be at least this share of its column's largest element (squared).
const THRESHOLD: f64 = 0.01;
/// What is below this share of what its column began with (squared) is what rounding left of a zero.
const VANISHED: f64 = 1e-30;
/// Represents an element that is not there.
const NONE: u32 = u32::MAX;

/// Pivots as row and column, in their order; the columns in `last` come last. The error is a column without a pivot.
pub(super) fn pivots(
    system: &LinearSystem,
    omega: f64,
    last: &[usize],
) -> Result<Vec<(usize, usize)>, usize> {
    let n = system.size;
    let mut values: Vec<Phasor> = (0..n * n).map(|place| system.at(place / n, place % n, omega)).collect();
    let mut there: Vec<bool> = (0..n * n).map(|place| system.there(place / n, place % n)).collect();
    let began: Vec<f64> = (0..n)
        .map(|column| (0..n).fold(0.0, |m: f64, row| m.max(values[row * n + column].square())))
        .collect();
    let (mut rows, mut columns): (Vec<usize>, Vec<usize>) = ((0..n).collect(), (0..n).collect());
    let mut order = Vec::with_capacity(n);
    while !columns.is_empty() {
        let early = columns.iter().any(|column| !last.contains(column));
        let mut best: Option<(usize, f64, usize, usize)> = None;
        for &column in columns.iter().filter(|column| !early || !last.contains(column)) {
            let most = rows.iter().fold(0.0, |m: f64, row| m.max(values[row * n + column].square()));
            // What is no number is smaller than anything.
            if !(most > VANISHED * began[column] && most.is_finite()) {
                return Err(column);
            }
            let down = rows.iter().filter(|&row| there[row * n + column]).count() - 1;
            for &row in &rows {
                let size = values[row * n + column].square();
                if size < THRESHOLD * most {
                    continue;
                }
                let along = columns.iter().filter(|&column| there[row * n + column]).count() - 1;
                let fills = down * along;
                if best.is_none_or(|(least, largest, ..)| (fills, -size) < (least, -largest)) {
                    best = Some((fills, size, row, column));
                }
            }
        }
        let Some((_, _, row, column)) = best else { return Err(columns[0]) };
        order.push((row, column));
        rows.retain(|&other| other != row);
        columns.retain(|&other| other != column);
        let inverse = values[row * n + column].inverse();
        for &i in rows.iter().filter(|&i| there[i * n + column]) {
            let factor = values[i * n + column] * inverse;
            for &j in columns.iter().filter(|&j| there[row * n + j]) {
                values[i * n + j] = values[i * n + j] - factor * values[row * n + j];
            }
        }
        for &i in &rows {
            for &j in &columns {
                there[i * n + j] |= there[i * n + column] && there[row * n + j];
            }
        }
    }
    Ok(order)
}

/// What is eliminated: one number, or one for each of several frequencies.
pub(super) trait Value: Copy + Default {
    /// One over it; no number where it is zero.
    fn inverse(&self) -> Self;
    fn times(&self, other: &Self) -> Self;
    /// `self − one · other`.
    fn less(&self, one: &Self, other: &Self) -> Self;
}

impl Value for f64 {
    #[inline(always)]
    fn inverse(&self) -> Self {
        1.0 / self
    }

    #[inline(always)]
    fn times(&self, other: &Self) -> Self {
        self * other
    }

    #[inline(always)]
    fn less(&self, one: &Self, other: &Self) -> Self {
        self - one * other
    }
}

impl Value for Complex4 {
    #[inline(always)]
    fn inverse(&self) -> Self {
        Self::inverse(self)
    }

    #[inline(always)]
    fn times(&self, other: &Self) -> Self {
        Self::times(self, other)
    }

    #[inline(always)]
    fn less(&self, one: &Self, other: &Self) -> Self {
        Self::less(self, one, other)
    }
}

/// One pivot: its element, and where its lists end.
struct Step {
    pivot: u32,
    /// Of the right side in the pivot's row.
    right: u32,
    column: u32,
    rows_end: u32,
    upper_end: u32,
}

/// The list: which element is divided by which. The values lie one behind another: the elements of the matrix that are
/// there, row by row; those of the right side; and those that come in on the way.
pub(super) struct Plan {
    steps: Vec<Step>,
    /// The element to be divided, and where its updates end.
    rows: Vec<(u32, u32)>,
    /// The element that changes, and the pivot row's that changes it.
    updates: Vec<(u32, u32)>,
    /// The elements right of the pivot, and their columns.
    upper: Vec<(u32, u32)>,
    /// How many values there are in all.
    pub(super) values: usize,
}

impl Plan {
    /// Writes the list for these pivots, for the elements that are there, of the matrix and of the right side.
    pub(super) fn new(
        n: usize,
        there: impl Fn(usize, usize) -> bool,
        driven: impl Fn(usize) -> bool,
        order: &[(usize, usize)],
    ) -> Self {
        let wide = n + 1;
        // Places of the elements by row and column; the right side is one more column.
        let mut places = vec![NONE; n * wide];
        let mut next = 0;
        let mut give = |place: &mut u32| {
            *place = next;
            next += 1;
            *place
        };
        for (row, column) in (0..n * n).map(|place| (place / n, place % n)) {
            if there(row, column) {
                give(&mut places[row * wide + column]);
            }
        }
        for row in (0..n).filter(|row| driven(*row)) {
            give(&mut places[row * wide + n]);
        }
        let (mut steps, mut rows, mut updates, mut upper) = (vec![], vec![], vec![], vec![]);
        let (mut rows_left, mut columns_left): (Vec<usize>, Vec<usize>) =
            ((0..n).collect(), (0..n).collect());
        for &(row, column) in order {
            rows_left.retain(|&other| other != row);
            columns_left.retain(|&other| other != column);
            for &i in &rows_left {
                let divided = places[i * wide + column];
                if divided == NONE {
                    continue;
                }
                for &j in columns_left.iter().chain([&n]) {
                    let changing = places[row * wide + j];
                    if changing != NONE {
                        let changed = &mut places[i * wide + j];
                        let changed = if *changed == NONE { give(changed) } else { *changed };
                        updates.push((changed, changing));
                    }
                }
                rows.push((divided, number(updates.len())));
            }
            for &j in &columns_left {
                let element = places[row * wide + j];
                if element != NONE {
                    upper.push((element, number(j)));
                }
            }
            steps.push(Step {
                pivot: places[row * wide + column],
                right: places[row * wide + n],
                column: number(column),
                rows_end: number(rows.len()),
                upper_end: number(upper.len()),
            });
        }
        Self { steps, rows, updates, upper, values: next as usize }
    }

    /// Solves into `x` with room for the pivots' inverses; each multiplier is shown to `watch`. A pivot that is none leads
    /// to what is no number.
    #[inline(always)]
    pub(super) fn run<V: Value>(
        &self,
        values: &mut [V],
        inverses: &mut [V],
        x: &mut [V],
        mut watch: impl FnMut(&V),
    ) {
        let (mut row, mut update) = (0, 0);
        for (step, inverse) in self.steps.iter().zip(&mut *inverses) {
            *inverse = values[step.pivot as usize].inverse();
            for &(divided, end) in &self.rows[row..step.rows_end as usize] {
                let factor = values[divided as usize].times(inverse);
                watch(&factor);
                for &(changed, changing) in &self.updates[update..end as usize] {
                    values[changed as usize] =
                        values[changed as usize].less(&factor, &values[changing as usize]);
                }
                update = end as usize;
            }
            row = step.rows_end as usize;
        }
        let mut end = self.upper.len();
        for (at, step) in self.steps.iter().enumerate().rev() {
            let begin = if at == 0 { 0 } else { self.steps[at - 1].upper_end as usize };
            let mut sum = if step.right == NONE { V::default() } else { values[step.right as usize] };
            for &(element, column) in &self.upper[begin..end] {
                sum = sum.less(&values[element as usize], &x[column as usize]);
            }
            x[step.column as usize] = sum.times(&inverses[at]);
            end = begin;
        }
    }
}

/// An elimination over frequency, ready to run.
pub(super) struct Elimination {
    plan: Plan,
    /// Of each element of the matrix, what is steady and what rises with frequency.
    elements: Vec<(f64, f64)>,
    /// The same of each element of the right side.
    drive: Vec<(Phasor, Phasor)>,
    values: Vec<Complex4>,
    inverses: Vec<Complex4>,
    pub(super) x: Vec<Complex4>,
}

impl Elimination {
    /// Writes the list for these pivots.
    pub(super) fn new(system: &LinearSystem, order: &[(usize, usize)]) -> Self {
        let n = system.size;
        let driven = |row: usize| system.drive[row] != Default::default();
        let plan = Plan::new(n, |row, column| system.there(row, column), driven, order);
        let places = (0..n * n).filter(|place| system.there(place / n, place % n));
        let none = Complex4::default();
        Self {
            elements: places.map(|place| (system.conductance[place], system.storage[place])).collect(),
            drive: (0..n).filter(|row| driven(*row)).map(|row| system.drive[row]).collect(),
            values: vec![none; plan.values],
            inverses: vec![none; n],
            x: vec![none; n],
            plan,
        }
    }

    /// Takes another right side, by rows; it must have had an element in each.
    pub(super) fn drive_with(&mut self, right: impl Fn(usize) -> Phasor) {
        self.drive.iter_mut().enumerate().for_each(|(row, drive)| *drive = (right(row), Phasor::default()));
    }

    /// Solves at four angular frequencies, into `x`, and says how large the largest multiplier was (squared) at each; no
    /// number if a pivot was none.
    pub(super) fn run(&mut self, omega: &[f64; LANES]) -> [f64; LANES] {
        let (matrix, rest) = self.values.split_at_mut(self.elements.len());
        for (value, (steady, rising)) in matrix.iter_mut().zip(&self.elements) {
            let (steady, rising) = (Phasor { re: *steady, im: 0.0 }, Phasor { re: *rising, im: 0.0 });
            *value = Complex4::affine(steady, rising, omega);
        }
        let (drive, fills) = rest.split_at_mut(self.drive.len());
        for (value, (steady, rising)) in drive.iter_mut().zip(&self.drive) {
            *value = Complex4::affine(*steady, *rising, omega);
        }
        fills.fill(Complex4::default());
        let mut growth = [0.0; LANES];
        let watch = |factor: &Complex4| growth = larger(&growth, &factor.squares());
        self.plan.run(&mut self.values, &mut self.inverses, &mut self.x, watch);
        growth
    }
}

/// A place in a list. No network comes near four thousand million elements.
#[allow(clippy::cast_possible_truncation)]
fn number(place: usize) -> u32 {
    place as u32
}
