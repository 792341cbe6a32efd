//! Sweeps of frequency: (G + jωC) x = b round the operating point.
//!
//! Stamped once; what does not depend on the frequency is eliminated once; pivots are chosen once. Then four frequencies
//! at a time run a list of multiplications in arrays that are already there. Two things are watched at every frequency:
//! how the multipliers grow, and one sum of all equations with fixed weights (as a checksum: it is off if any of them
//! is). Where either is too large, `nalgebra`'s elimination with exchange of rows works that frequency out. Once a
//! decade the unreduced equations are solved as well, and what rounding may have done to the answer is worked out.

use nalgebra::DMatrix;

use super::builder::Network;
use super::complex4::{Complex4, LANES, sum};
use super::dense;
use super::device::Ways;
use super::equations::Equations;
use super::linear_system::LinearSystem;
use super::newton::tangent;
use super::part::{Kind, Node};
use super::phasor::Phasor;
use super::sparse::{Elimination, pivots};
use super::{NetworkError, dc, union_find};
use crate::quantity::{Frequency, Quantity};

/// Where pivots are chosen, in Hz; the second if the network has none at the first.
const CHOSEN_AT: [f64; 2] = [1e3, 1.618e3];
/// The highest angular frequency.
const HIGHEST: f64 = 1e15;
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
    system: LinearSystem,
    /// The unknowns that are asked for, and their places among those that were left.
    wanted: Vec<Option<(usize, usize)>>,
    elimination: Elimination,
    /// Of all the equations, for any right side.
    whole: Elimination,
    /// The weighted sum of the equations that were left: of each unknown, conductance and storage; of the right side.
    sum: Vec<(f64, f64)>,
    sum_right: (Phasor, Phasor),
    /// Angular frequencies between which rounding has been looked at.
    looked_at: (f64, f64),
    answer: Vec<Phasor>,
    /// For a look, so that none allocates.
    room: Room,
    /// How many frequencies needed the slower elimination.
    fallbacks: usize,
}

/// Room to look in: the right side, the solution, and the doubt of each unknown.
#[derive(Default)]
struct Room {
    right: Vec<Phasor>,
    x: Vec<Phasor>,
    doubt: Vec<f64>,
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
        union_find::floating(equations.network, true)?;
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
        let drive: Vec<Phasor> = re.iter().zip(&im).map(|(re, im)| Phasor { re: *re, im: *im }).collect();
        let system = LinearSystem::of(&conductance, &equations.storage, &drive, angular(CHOSEN_AT[0]));
        let last: Vec<usize> = wanted.iter().copied().flatten().collect();
        let choose = |system: &LinearSystem, last: &[usize]| {
            let at = |frequency: f64| pivots(system, angular(frequency), last);
            at(CHOSEN_AT[0]).or_else(|_| at(CHOSEN_AT[1]))
        };
        let order = choose(&system, &last).map_err(|unknown| equations.undetermined(unknown))?;
        let driven = vec![(Phasor { re: 1.0, im: 0.0 }, Phasor::default()); system.size];
        let whole = Elimination::new(&LinearSystem { drive: driven, ..system.clone() }, &order);

        let (folded, left) = system.fold(&last);
        let place = |unknown: usize| left.iter().position(|left| *left == unknown);
        let last: Vec<usize> = last.iter().filter_map(|unknown| place(*unknown)).collect();
        let order = choose(&folded, &last).map_err(|at| equations.undetermined(left[at]))?;
        let elimination = Elimination::new(&folded, &order);
        let wanted =
            wanted.iter().map(|node| node.and_then(|node| Some((node, place(node)?)))).collect::<Vec<_>>();

        let n = folded.size;
        let weight = |row: usize| 1.0 + (row as f64 * 0.618).fract();
        let column =
            |values: &[f64], column: usize| (0..n).map(|row| weight(row) * values[row * n + column]).sum();
        let sum = (0..n).map(|at| (column(&folded.conductance, at), column(&folded.storage, at))).collect();
        let sum_right = folded.drive.iter().enumerate().fold(
            (Phasor::default(), Phasor::default()),
            |sum, (row, (steady, rising))| {
                (sum.0 + steady.times(weight(row)), sum.1 + rising.times(weight(row)))
            },
        );
        Ok(Self {
            answer: vec![Phasor::default(); wanted.len() * LANES],
            room: Room {
                right: vec![Phasor::default(); system.size],
                x: vec![Phasor::default(); system.size],
                doubt: vec![0.0; system.size],
            },
            equations,
            system,
            wanted,
            elimination,
            whole,
            sum,
            sum_right,
            looked_at: (f64::INFINITY, 0.0),
            fallbacks: 0,
        })
    }

    /// The voltages of the nodes that were asked for, in their order.
    ///
    /// # Errors
    /// A frequency below 0 or that is no number; at 0 Hz, a node that only capacitors tie to the chassis; values that
    /// lie too far apart.
    pub fn at(&mut self, frequency: Frequency) -> Result<&[Phasor], NetworkError> {
        self.four(&[frequency])?;
        Ok(&self.answer[..self.wanted.len()])
    }

    /// The same for many frequencies, four at a time: into `answers`, those of one frequency after those of another.
    /// Nothing is allocated unless a frequency needs the slower elimination.
    ///
    /// # Errors
    /// As [`Sweep::at`]; `answers` that hold another number than frequencies times nodes.
    pub fn fill(&mut self, frequencies: &[Frequency], answers: &mut [Phasor]) -> Result<(), NetworkError> {
        let nodes = self.wanted.len();
        if answers.len() != frequencies.len() * nodes {
            let found = answers.len() as f64;
            let allowed = "frequencies times nodes";
            return Err(NetworkError::BadAnalysis { what: "the number of answers", found, allowed });
        }
        for (at, frequencies) in frequencies.chunks(LANES).enumerate() {
            self.four(frequencies)?;
            let room = &mut answers[at * LANES * nodes..][..frequencies.len() * nodes];
            room.copy_from_slice(&self.answer[..frequencies.len() * nodes]);
        }
        Ok(())
    }

    /// Up to four frequencies, into `answer`.
    fn four(&mut self, frequencies: &[Frequency]) -> Result<(), NetworkError> {
        let mut omega = [0.0; LANES];
        for (at, omega) in omega.iter_mut().enumerate() {
            let frequency = frequencies[at.min(frequencies.len() - 1)].si();
            *omega = angular(frequency);
            if !(0.0..=HIGHEST).contains(omega) {
                let allowed = "from 0 to 100 THz";
                return Err(NetworkError::BadAnalysis { what: "the frequency", found: frequency, allowed });
            }
        }
        let growth = self.elimination.run(&omega);
        let left_over = left_over(&self.sum, self.sum_right, &omega, &self.elimination.x);
        for at in 0..frequencies.len() {
            for (answer, wanted) in self.answer.iter_mut().skip(at * self.wanted.len()).zip(&self.wanted) {
                *answer = wanted.map_or_else(Phasor::default, |(_, left)| self.elimination.x[left].lane(at));
            }
            let fresh = omega[at] < self.looked_at.0 || omega[at] > self.looked_at.1;
            let sound =
                growth[at] <= GROWTH && left_over[at] <= LEFT_OVER && (!fresh || self.look(omega[at], at)?);
            if !sound {
                self.slowly(omega[at], at)?;
            }
        }
        Ok(())
    }

    /// How many frequencies needed the slower elimination so far.
    #[must_use]
    pub fn fallbacks(&self) -> usize {
        self.fallbacks
    }

    /// How many unknowns the network has: node voltages, and currents through what fixes a voltage.
    #[must_use]
    pub fn unknowns(&self) -> usize {
        self.system.size
    }

    /// Solves all the equations, as they were before any was eliminated, and works out by the inverse what rounding may
    /// do to the answer; false if the elimination is not to be trusted.
    fn look(&mut self, omega: f64, at: usize) -> Result<bool, NetworkError> {
        let mut room = std::mem::take(&mut self.room);
        let sound = self.look_in(&mut room, omega, at);
        self.room = room;
        sound
    }

    fn look_in(&mut self, room: &mut Room, omega: f64, at: usize) -> Result<bool, NetworkError> {
        let Room { right, x, doubt } = room;
        for (row, right) in right.iter_mut().enumerate() {
            *right = self.system.right(row, omega);
        }
        self.whole.drive_with(|row| right[row]);
        let growth = self.whole.run(&[omega; LANES])[0];
        x.iter_mut().zip(&self.whole.x).for_each(|(x, found)| *x = found.lane(0));
        let sound = growth <= GROWTH && x.iter().all(|x| x.square().is_finite());
        if !sound {
            return Ok(false);
        }
        doubt.fill(0.0);
        for (row, right) in right.iter().enumerate() {
            let (mut left_over, mut terms) = (*right, right.amplitude());
            for (column, x) in x.iter().enumerate() {
                let term = self.system.at(row, column, omega) * *x;
                left_over = left_over - term;
                terms += term.amplitude();
            }
            let weight = f64::EPSILON * terms + left_over.amplitude();
            let one = |other: usize| Phasor { re: f64::from(u8::from(other == row)), im: 0.0 };
            self.whole.drive_with(one);
            self.whole.run(&[omega; LANES]);
            for (doubt, inverse) in doubt.iter_mut().zip(&self.whole.x) {
                *doubt += weight * inverse.lane(0).amplitude();
            }
        }
        self.judge(|at| x[at].amplitude(), |at| doubt[at])?;
        let largest = x.iter().take(self.equations.nodes()).fold(0.0, |m: f64, x| m.max(x.amplitude()));
        let answers = self.wanted.iter().zip(self.answer.iter().skip(at * self.wanted.len()));
        let same = { answers }.all(|(wanted, answer)| {
            wanted.is_none_or(|(node, _)| {
                let off = (*answer - x[node]).amplitude();
                off <= DOUBT * x[node].amplitude() + DOUBT_OF_LARGEST * largest
            })
        });
        if same {
            self.looked_at = (self.looked_at.0.min(omega / 10.0), self.looked_at.1.max(omega * 10.0));
        }
        Ok(same)
    }

    /// Whether the doubt of every answer is small enough.
    fn judge(&self, size: impl Fn(usize) -> f64, doubt: impl Fn(usize) -> f64) -> Result<(), NetworkError> {
        let largest = (0..self.equations.nodes()).fold(0.0, |largest: f64, at| largest.max(size(at)));
        let sure = |at: usize| doubt(at) <= DOUBT * size(at) + DOUBT_OF_LARGEST * largest;
        match self.wanted.iter().flatten().find(|(at, _)| !sure(*at)) {
            Some(&(at, _)) => Err(NetworkError::Lost { at: self.equations.name(at) }),
            None => Ok(()),
        }
    }

    /// As [`Sweep::at`], by the slower elimination.
    #[cfg(test)]
    pub(super) fn at_slowly(&mut self, frequency: Frequency) -> Result<&[Phasor], NetworkError> {
        self.slowly(angular(frequency.si()), 0)?;
        Ok(&self.answer[..self.wanted.len()])
    }

    /// One frequency by elimination with exchange of rows, on real numbers: [G −ωC; ωC G] [re; im] = [re b; im b].
    fn slowly(&mut self, omega: f64, at: usize) -> Result<(), NetworkError> {
        self.fallbacks += 1;
        let n = self.system.size;
        let matrix = DMatrix::from_fn(2 * n, 2 * n, |row, column| {
            let element = self.system.at(row % n, column % n, omega);
            match (row < n, column < n) {
                (true, true) | (false, false) => element.re,
                (true, false) => -element.im,
                (false, true) => element.im,
            }
        });
        let right = DMatrix::from_fn(2 * n, 1, |row, _| {
            let right = self.system.right(row % n, omega);
            if row < n { right.re } else { right.im }
        });
        let factors = dense::factor(matrix, self.equations.nodes())
            .map_err(|at| self.equations.undetermined(at % n))?;
        let overflow = || NetworkError::NotFinite { at: self.equations.name(0) };
        let x = factors.solve(&right).ok_or_else(overflow)?;
        if let Some(lost) = factors.lost(&x, &right, 2 * n, 0.0) {
            return Err(NetworkError::Lost { at: self.equations.name(lost % n) });
        }
        let phasor = |node: usize| Phasor { re: x[node], im: x[node + n] };
        for (answer, wanted) in self.answer.iter_mut().skip(at * self.wanted.len()).zip(&self.wanted) {
            *answer = wanted.map_or_else(Phasor::default, |(node, _)| phasor(node));
        }
        Ok(())
    }
}

fn angular(frequency: f64) -> f64 {
    std::f64::consts::TAU * frequency
}

/// What is left over of the sum of all equations, as a share of its terms.
fn left_over(
    of_unknowns: &[(f64, f64)],
    (steady, rising): (Phasor, Phasor),
    omega: &[f64; LANES],
    x: &[Complex4],
) -> [f64; LANES] {
    let mut rest = Complex4::affine(steady, rising, omega);
    let mut terms = [0.0; LANES];
    for ((g, c), x) in of_unknowns.iter().zip(x) {
        let (steady, rising) = (Phasor { re: *g, im: 0.0 }, Phasor { re: *c, im: 0.0 });
        let coefficient = Complex4::affine(steady, rising, omega);
        rest = rest.less(&coefficient, x);
        terms = sum(&terms, &coefficient.times(x).sizes());
    }
    let rest = rest.sizes();
    // Nothing at all is left over of nothing.
    std::array::from_fn(|at| if rest[at] == 0.0 { 0.0 } else { rest[at] / terms[at] })
}
