//! Sweeps of frequency: (G + jωC) x = b round the operating point.
//!
//! Stamped once, pivots chosen once; each frequency runs a list of multiplications in arrays that are already there. Two
//! things are watched at every frequency: how the multipliers grow, and one sum of all equations with fixed weights (as a
//! checksum: it is off if any of them is). Where either is too large, `nalgebra`'s elimination with exchange of rows
//! works that frequency out. Once a decade it is also worked out what rounding may have done to the answer.

use nalgebra::DMatrix;

use super::builder::Network;
use super::dense;
use super::device::Ways;
use super::equations::Equations;
use super::newton::tangent;
use super::part::{Kind, Node};
use super::phasor::Phasor;
use super::sparse::{Elimination, Square, pivots};
use super::{NetworkError, dc, ties};
use crate::quantity::{Frequency, Quantity};

/// Where pivots are chosen, in Hz; the second if the network has none at the first.
const CHOSEN_AT: [f64; 2] = [1e3, 1.618e3];
/// The largest multiplier, squared: it may cost five of sixteen digits.
const GROWTH: f64 = 1e10;
/// How much of the checksum may be left over, as a share of its terms.
const LEFT_OVER: f64 = 1e-10;
/// What rounding may do: this share of an answer, or this share of the largest voltage.
const DOUBT: f64 = 1e-6;
const DOUBT_OF_LARGEST: f64 = 1e-12;

/// A network made ready for many frequencies.
pub struct Sweep<'n> {
    equations: Equations<'n>,
    square: Square,
    drive: Vec<Phasor>,
    /// The unknowns that are asked for.
    wanted: Vec<Node>,
    elimination: Elimination,
    /// The same for any right side.
    open: Elimination,
    /// The weighted sum of all equations: of each unknown, conductance and storage; of the right side.
    sum: Vec<(f64, f64)>,
    sum_right: Phasor,
    /// Frequencies within a decade of which rounding has been looked at, in rad/s.
    looked_at: (f64, f64),
    answer: Vec<Phasor>,
    /// What it fell back for, for tests.
    #[cfg(test)]
    pub(super) fallbacks: usize,
}

impl Network {
    /// Makes ready for many frequencies: the operating point, the slopes of diodes and valves there, the order of
    /// elimination. `nodes` are those whose voltages are asked for.
    ///
    /// # Errors
    /// As [`Network::operating_point`] where diodes or valves are in it; [`NetworkError::Silent`] if no source has an
    /// amplitude; a node that nothing ties to the chassis, not even a capacitor; an unknown node.
    pub fn sweep(&self, nodes: &[&str]) -> Result<Sweep<'_>, NetworkError> {
        let equations = Equations::of(self)?;
        let wanted = nodes.iter().map(|node| self.node_called(node)).collect::<Result<Vec<_>, _>>()?;
        Sweep::new(equations, wanted)
    }
}

impl<'n> Sweep<'n> {
    fn new(equations: Equations<'n>, wanted: Vec<Node>) -> Result<Self, NetworkError> {
        ties::floating(equations.network, true)?;
        let conductance = if equations.devices.is_empty() {
            equations.conductance.clone()
        } else {
            let x = dc::rest(&equations)?;
            let at: Vec<Ways> =
                equations.devices.iter().map(|device| device.voltages(x.as_slice())).collect();
            tangent(&equations, &equations.conductance, &DMatrix::zeros(x.len(), 1), &at).matrix
        };
        let phase = |degrees: f64| libm::sincos(degrees.to_radians());
        let re = equations.drive(|form| form.ac.0 * phase(form.ac.1).1);
        let im = equations.drive(|form| form.ac.0 * phase(form.ac.1).0);
        let carries =
            |kind: &Kind| matches!(kind, Kind::Voltage(_, form) | Kind::Current(_, form) if form.ac.0 != 0.0);
        if !equations.network.parts.iter().any(|part| carries(&part.kind)) {
            return Err(NetworkError::Silent);
        }
        let mut drive: Vec<Phasor> = re.iter().zip(&im).map(|(re, im)| Phasor { re: *re, im: *im }).collect();
        let square = scaled(&conductance, &equations.storage, &mut drive);

        let last: Vec<usize> = wanted.iter().copied().flatten().collect();
        let order = CHOSEN_AT.map(|frequency| pivots(&square, angular(frequency), &last));
        let [first, second] = order;
        let order = first.or(second).map_err(|unknown| equations.undetermined(unknown))?;
        let driven: Vec<bool> = drive.iter().map(|value| value.square() != 0.0).collect();
        let elimination = Elimination::new(&square, &order, &driven);
        let open = Elimination::new(&square, &order, &vec![true; square.size]);

        let n = square.size;
        let weight = |row: usize| 1.0 + (row as f64 * 0.618).fract();
        let column =
            |values: &[f64], column: usize| (0..n).map(|row| weight(row) * values[row * n + column]).sum();
        let sum = (0..n).map(|at| (column(&square.conductance, at), column(&square.storage, at))).collect();
        let sum_right = drive.iter().enumerate().fold(Phasor::default(), |sum, (row, value)| {
            sum + Phasor { re: weight(row) * value.re, im: weight(row) * value.im }
        });
        Ok(Self {
            answer: vec![Phasor::default(); wanted.len()],
            equations,
            square,
            drive,
            wanted,
            elimination,
            open,
            sum,
            sum_right,
            looked_at: (f64::INFINITY, 0.0),
            #[cfg(test)]
            fallbacks: 0,
        })
    }

    /// The voltages of the nodes that were asked for, in their order. Nothing is allocated unless a frequency needs the
    /// slower elimination.
    ///
    /// # Errors
    /// A frequency below 0 or that is no number; at 0 Hz, a node that only capacitors tie to the chassis; values that
    /// lie too far apart.
    pub fn at(&mut self, frequency: Frequency) -> Result<&[Phasor], NetworkError> {
        let omega = angular(frequency.si());
        if !(0.0..=1e15).contains(&omega) {
            let found = frequency.si();
            return Err(NetworkError::BadAnalysis {
                what: "the frequency",
                found,
                allowed: "from 0 to 100 THz",
            });
        }
        if omega < self.looked_at.0 || omega > self.looked_at.1 {
            if !self.look(omega)? {
                return self.slowly(omega);
            }
            self.looked_at = (self.looked_at.0.min(omega / 10.0), self.looked_at.1.max(omega * 10.0));
        }
        let (growth, x) = self.elimination.run(omega, &self.drive);
        let sound = growth <= GROWTH && adds_up(&self.sum, self.sum_right, omega, x);
        if !sound {
            return self.slowly(omega);
        }
        for (answer, node) in self.answer.iter_mut().zip(&self.wanted) {
            *answer = node.map_or_else(Phasor::default, |node| x[node]);
        }
        Ok(&self.answer)
    }

    /// Works out, by the inverse, what rounding may do to the answer here; false if the elimination is not to be trusted.
    fn look(&mut self, omega: f64) -> Result<bool, NetworkError> {
        let n = self.square.size;
        let (growth, x) = self.open.run(omega, &self.drive);
        let sound = growth <= GROWTH && x.iter().all(|x| x.square().is_finite());
        if !sound {
            return Ok(false);
        }
        let x = x.to_vec();
        let mut doubt = vec![0.0; n];
        let mut unit = vec![Phasor::default(); n];
        for row in 0..n {
            let terms =
                (0..n).map(|column| (self.square.at(row * n + column, omega) * x[column]).amplitude());
            let weight = f64::EPSILON * (terms.sum::<f64>() + self.drive[row].amplitude());
            unit[row] = Phasor { re: 1.0, im: 0.0 };
            let (_, inverse) = self.open.run(omega, &unit);
            doubt.iter_mut().zip(inverse).for_each(|(doubt, inverse)| *doubt += weight * inverse.amplitude());
            unit[row] = Phasor::default();
        }
        self.judge(|at| x[at].amplitude(), |at| doubt[at])?;
        Ok(true)
    }

    /// Whether the doubt of every answer is small enough.
    fn judge(&self, size: impl Fn(usize) -> f64, doubt: impl Fn(usize) -> f64) -> Result<(), NetworkError> {
        let largest = (0..self.equations.nodes()).fold(0.0, |largest: f64, at| largest.max(size(at)));
        let sure = |at: usize| doubt(at) <= DOUBT * size(at) + DOUBT_OF_LARGEST * largest;
        match self.wanted.iter().copied().flatten().find(|&at| !sure(at)) {
            Some(at) => Err(NetworkError::Lost { at: self.equations.name(at) }),
            None => Ok(()),
        }
    }

    /// One frequency by elimination with exchange of rows, on real numbers: [G −ωC; ωC G] [re; im] = [re b; im b].
    fn slowly(&mut self, omega: f64) -> Result<&[Phasor], NetworkError> {
        #[cfg(test)]
        {
            self.fallbacks += 1;
        }
        let n = self.square.size;
        let element = |row: usize, column: usize| {
            let place = (row % n) * n + column % n;
            match (row < n, column < n) {
                (true, true) | (false, false) => self.square.conductance[place],
                (true, false) => -omega * self.square.storage[place],
                (false, true) => omega * self.square.storage[place],
            }
        };
        let matrix = DMatrix::from_fn(2 * n, 2 * n, element);
        let right = DMatrix::from_fn(2 * n, 1, |row, _| {
            let drive = self.drive[row % n];
            if row < n { drive.re } else { drive.im }
        });
        let factors = dense::factor(matrix.clone()).map_err(|at| self.equations.undetermined(at % n))?;
        let overflow = || NetworkError::NotFinite { at: self.equations.name(0) };
        let x = factors.solve(right.clone()).ok_or_else(overflow)?;
        let doubt = factors.doubt(&matrix, &x, &right).ok_or_else(overflow)?;
        let at = |at: usize| Phasor { re: x[at], im: x[at + n] };
        self.judge(|node| at(node).amplitude(), |node| doubt[node] + doubt[node + n])?;
        for (answer, node) in self.answer.iter_mut().zip(&self.wanted) {
            *answer = node.map_or_else(Phasor::default, at);
        }
        Ok(&self.answer)
    }
}

fn angular(frequency: f64) -> f64 {
    std::f64::consts::TAU * frequency
}

/// Whether the sum of all equations holds.
fn adds_up(sum: &[(f64, f64)], right: Phasor, omega: f64, x: &[Phasor]) -> bool {
    let size = |value: Phasor| value.re.abs() + value.im.abs();
    let (mut rest, mut terms) = (right, size(right));
    for ((g, c), x) in sum.iter().zip(x) {
        let term = Phasor { re: *g, im: omega * c } * *x;
        rest = rest - term;
        terms += size(term);
    }
    size(rest) <= LEFT_OVER * terms
}

/// The matrix with each row multiplied by a power of two, so that rows in siemens and in volts compare; the right side
/// with it.
fn scaled(conductance: &DMatrix<f64>, storage: &DMatrix<f64>, drive: &mut [Phasor]) -> Square {
    let n = conductance.nrows();
    let omega = angular(CHOSEN_AT[0]);
    let mut square =
        Square { size: n, conductance: Vec::with_capacity(n * n), storage: Vec::with_capacity(n * n) };
    for row in 0..n {
        let sizes = (0..n).map(|at| conductance[(row, at)].abs().max(omega * storage[(row, at)].abs()));
        let power = libm::ldexp(1.0, -libm::frexp(sizes.fold(0.0, f64::max)).1);
        let power = if power.is_finite() { power } else { 1.0 };
        square.conductance.extend((0..n).map(|at| power * conductance[(row, at)]));
        square.storage.extend((0..n).map(|at| power * storage[(row, at)]));
        drive[row] = Phasor { re: power * drive[row].re, im: power * drive[row].im };
    }
    square
}
