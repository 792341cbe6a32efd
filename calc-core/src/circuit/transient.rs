//! The transient: what happens in time, from the operating point on.
//!
//! ```text
//! trapezoidal       G x₁ + i(x₁) + (2/h) C (x₁ − x₀) − q'₀ = b(t₁)      q'₁ = (2/h) C (x₁ − x₀) − q'₀
//! backward Euler    G x₁ + i(x₁) + (1/h) C (x₁ − x₀)       = b(t₁)      q'₁ = (1/h) C (x₁ − x₀)
//! ```
//!
//! q' is what flows into capacitors and across windings. Time runs from step to step of the sources; after each comes
//! one very short backward Euler step, so that the jump does not ring on in the trapezoidal rule. The step follows the
//! local error: a parabola through the last three points foretells the next, and how far it misses tells the trapezoidal
//! rule's own `h³ x‴/12` (source `trapezoidal`).

use nalgebra::DMatrix;

use super::NetworkError;
use super::builder::Network;
use super::dc::{self, voltage};
use super::dense;
use super::device::Ways;
use super::equations::Equations;
use super::newton::{Unsettled, settle, tangent};
use super::part::{Kind, Node, Part};
use super::signal::{Form, Shape};
use crate::quantity::{ElectricCurrent, ElectricPotential, Quantity, Time};

/// The local error that a step may make, as a share of the largest that the unknown has been, and of the largest of all
/// of its kind.
const SHARE: f64 = 3e-5;
const SHARE_OF_LARGEST: f64 = 1e-7;
/// At least this many steps in the whole transient, and in a sine's period.
const FEWEST: f64 = 100.0;
const FEWEST_OF_PERIOD: f64 = 40.0;
/// The step after a jump, as a share of the longest; and the shortest of all, as a share of the transient.
const AFTER_JUMP: f64 = 1e-5;
const SHORTEST: f64 = 1e-14;
/// More steps than this are too many.
const MOST: usize = 100_000;
/// How often what rounding does is looked at, in steps.
const LOOK: usize = 64;

/// What a network did from time 0 on.
#[derive(Debug, Clone)]
pub struct Transient<'n> {
    network: &'n Network,
    branch: Vec<Option<usize>>,
    times: Vec<f64>,
    /// At each time, the unknowns, then the capacitors' currents.
    samples: Vec<Vec<f64>>,
}

impl Network {
    /// What happens in time from 0 to `duration`, beginning at rest with the sources at their steady values. To see a
    /// network come up, give its supplies a step at time 0.
    ///
    /// ```
    /// use calc_core::circuit::{CHASSIS, Network, Signal, units::*};
    /// use calc_core::quantity::Quantity;
    ///
    /// let mut supply = Network::new();
    /// supply.voltage("winding", "w", CHASSIS, Signal::sine(volts(0.0), volts(50.0), hertz(50.0)));
    /// supply.resistor("winding resistance", "w", "a", ohms(220.0));
    /// supply.diode("rectifier", "bias", "a", amperes(2.5e-9), 1.75);
    /// supply.capacitor("reservoir", "bias", CHASSIS, farads(10e-6));
    /// supply.resistor("load", "bias", CHASSIS, ohms(56e3));
    /// let transient = supply.transient(seconds(0.5))?;
    /// assert!((-50.0..-40.0).contains(&transient.voltage_at("bias", seconds(0.5))?.si()));
    /// # Ok::<(), calc_core::circuit::NetworkError>(())
    /// ```
    ///
    /// # Errors
    /// As [`Network::operating_point`]; a duration that is not above 0; steps that became too short or too many.
    pub fn transient(&self, duration: Time) -> Result<Transient<'_>, NetworkError> {
        let end = duration.si();
        if !(end > 0.0 && end.is_finite()) {
            return Err(NetworkError::BadAnalysis { what: "the duration", found: end, allowed: "above 0 s" });
        }
        let equations = Equations::of(self)?;
        let x = dc::rest(&equations)?;
        let mut walk = Walk::new(&equations, x, end);
        for stop in jumps(self, end) {
            walk.to(stop)?;
        }
        let Walk { times, samples, .. } = walk;
        Ok(Transient { network: self, branch: equations.branch, times, samples })
    }
}

/// When sources jump, and the end.
fn jumps(network: &Network, end: f64) -> Vec<f64> {
    let times = forms(network)
        .flat_map(|form| match &form.shape {
            Shape::Steps(steps) => steps.iter().map(|step| step.0).collect(),
            _ => vec![],
        })
        .filter(|time| *time > 0.0 && *time < end)
        .chain([end]);
    times.fold(Vec::new(), |mut ordered: Vec<f64>, time| {
        let before = ordered.partition_point(|earlier| *earlier < time);
        if ordered.get(before) != Some(&time) {
            ordered.insert(before, time);
        }
        ordered
    })
}

pub(super) fn forms(network: &Network) -> impl Iterator<Item = &Form> {
    network.parts.iter().filter_map(|part| match &part.kind {
        Kind::Voltage(_, form) | Kind::Current(_, form) => Some(form),
        _ => None,
    })
}

/// The way through time so far.
struct Walk<'e, 'n> {
    equations: &'e Equations<'n>,
    time: f64,
    x: DMatrix<f64>,
    /// q': what flows for a voltage that changes.
    flow: DMatrix<f64>,
    capacitors: Vec<f64>,
    /// The last points of this stretch, newest last.
    past: Vec<(f64, DMatrix<f64>)>,
    /// Whether an unknown is a capacitor's voltage or a winding's current: their errors are watched.
    watched: Vec<bool>,
    largest: Vec<f64>,
    longest: f64,
    shortest: f64,
    times: Vec<f64>,
    samples: Vec<Vec<f64>>,
}

impl<'e, 'n> Walk<'e, 'n> {
    fn new(equations: &'e Equations<'n>, x: DMatrix<f64>, end: f64) -> Self {
        let period = forms(equations.network).fold(f64::INFINITY, |period: f64, form| match form.shape {
            Shape::Sine(_, frequency) if frequency > 0.0 => period.min(1.0 / frequency),
            _ => period,
        });
        let size = equations.size();
        let watched = (0..size).map(|at| equations.storage.column(at).iter().any(|c| *c != 0.0)).collect();
        let mut walk = Self {
            equations,
            time: 0.0,
            x,
            flow: DMatrix::zeros(size, 1),
            capacitors: vec![0.0; capacitors(equations.network).count()],
            past: Vec::new(),
            watched,
            largest: vec![0.0; size],
            longest: (end / FEWEST).min(period / FEWEST_OF_PERIOD),
            shortest: end * SHORTEST,
            times: Vec::new(),
            samples: Vec::new(),
        };
        walk.keep();
        walk
    }

    /// Writes down where it is.
    fn keep(&mut self) {
        self.times.push(self.time);
        self.samples.push(self.x.iter().chain(&self.capacitors).copied().collect());
        self.largest.iter_mut().zip(&self.x).for_each(|(largest, x)| *largest = largest.max(x.abs()));
        self.past.push((self.time, self.x.clone()));
        if self.past.len() > 3 {
            self.past.remove(0);
        }
    }

    fn stalled(&self, unknown: usize) -> NetworkError {
        NetworkError::Stalled { time: self.time, node: self.equations.name(unknown) }
    }

    /// Walks to the next jump.
    fn to(&mut self, stop: f64) -> Result<(), NetworkError> {
        self.past = vec![(self.time, self.x.clone())];
        let mut h = self.longest * AFTER_JUMP;
        let mut first = true;
        while self.time < stop {
            h = h.min(self.longest);
            // No sliver of a step is left over at the end.
            let left = stop - self.time;
            let last = h > 0.999 * left;
            let this = if last { left } else { h.min(left / 2.0) };
            let tried = self.step(this, first);
            let (x, error, worst) = match tried {
                Ok(x) => {
                    let (error, worst) = self.error(this, &x);
                    (x, error, worst)
                }
                Err(unsettled) => {
                    h = this / 8.0;
                    if h < self.shortest {
                        return Err(self.stalled(unsettled.unknown));
                    }
                    continue;
                }
            };
            let change = (0.9 / libm::cbrt(error.max(1e-9))).clamp(0.2, 2.0);
            if error > 1.0 {
                h = this * change;
                if h < self.shortest {
                    return Err(self.stalled(worst));
                }
                continue;
            }
            self.take(x, this, if last { stop } else { self.time + this }, first);
            first = false;
            if self.times.len().is_multiple_of(LOOK) {
                self.look(this)?;
            }
            if self.times.len() > MOST {
                return Err(self.stalled(worst));
            }
            h = this * change;
        }
        Ok(())
    }

    /// The matrix of a step, and its right side.
    fn equations_of(&self, h: f64, euler: bool) -> (DMatrix<f64>, DMatrix<f64>) {
        let Equations { conductance, storage, .. } = self.equations;
        let weight = if euler { 1.0 / h } else { 2.0 / h };
        let matrix = conductance + storage * weight;
        let time = self.time + h;
        let mut right = self.equations.drive(|form| form.at(time)) + storage * &self.x * weight;
        if !euler {
            right += &self.flow;
        }
        (matrix, right)
    }

    fn step(&self, h: f64, euler: bool) -> Result<DMatrix<f64>, Unsettled> {
        let (matrix, right) = self.equations_of(h, euler);
        let mut x = self.foretold(h).unwrap_or_else(|| self.x.clone());
        settle(self.equations, &matrix, &right, &mut x, 0.0)?;
        Ok(x)
    }

    /// Where a parabola through the last three points leads.
    fn foretold(&self, h: f64) -> Option<DMatrix<f64>> {
        let [(t0, x0), (t1, x1), (t2, x2)] = self.past.as_slice() else { return None };
        let time = self.time + h;
        let weight =
            |at: f64, one: f64, other: f64| (time - one) * (time - other) / ((at - one) * (at - other));
        Some(x0 * weight(*t0, *t1, *t2) + x1 * weight(*t1, *t0, *t2) + x2 * weight(*t2, *t0, *t1))
    }

    /// The local error as a share of what is allowed, and the unknown that has it.
    fn error(&self, h: f64, x: &DMatrix<f64>) -> (f64, usize) {
        let Some(foretold) = self.foretold(h) else { return (0.0, 0) };
        let (oldest, middle) = (self.past[0].0, self.past[1].0);
        let time = self.time + h;
        // What x‴ adds to the parabola's miss, and to the rule's own.
        let parabola = h * (time - middle) * (time - oldest) / 6.0;
        let own = h * h * h / 12.0;
        let share = own / (parabola + own);
        let nodes = self.equations.nodes();
        let kinds = dense::largest_of_each_kind(&self.largest, nodes);
        let mut most = (0.0, 0);
        for at in (0..x.len()).filter(|&at| self.watched[at]) {
            let kind = kinds[usize::from(at >= nodes)];
            let allowed = SHARE * self.largest[at].max(x[at].abs()) + SHARE_OF_LARGEST * kind + 1e-12;
            let error = share * (x[at] - foretold[at]).abs() / allowed;
            if error > most.0 {
                most = (error, at);
            }
        }
        most
    }

    /// Takes a step that was found good.
    fn take(&mut self, x: DMatrix<f64>, h: f64, time: f64, euler: bool) {
        let weight = if euler { 1.0 / h } else { 2.0 / h };
        let moved = &x - &self.x;
        let flow = &self.equations.storage * &moved * weight;
        self.flow = if euler { flow } else { flow - &self.flow };
        for (current, (ends, capacitance)) in
            self.capacitors.iter_mut().zip(capacitors(self.equations.network))
        {
            let across = voltage(moved.as_slice(), ends.0) - voltage(moved.as_slice(), ends.1);
            let new = weight * capacitance * across;
            *current = if euler { new } else { new - *current };
        }
        self.x = x;
        self.time = time;
        self.keep();
    }

    /// What rounding may have done to a step of this length.
    fn look(&self, h: f64) -> Result<(), NetworkError> {
        let (matrix, right) = self.equations_of(h, false);
        let devices = self.equations.devices.iter();
        let at: Vec<Ways> = devices.map(|device| device.voltages(self.x.as_slice())).collect();
        let tangent = tangent(self.equations, &matrix, &right, &at);
        let factors = dense::factor(tangent.matrix, self.equations.nodes())
            .map_err(|at| self.equations.undetermined(at))?;
        let (nodes, besides) = (self.equations.nodes(), dc::besides(self.equations));
        let x = factors.solve(&tangent.right);
        let lost = x.map_or(Some(0), |x| factors.lost(&x, &tangent.right, nodes, besides));
        match lost {
            Some(at) => Err(NetworkError::Lost { at: self.equations.name(at) }),
            None => Ok(()),
        }
    }
}

/// The ends and values of the capacitors, in the order of the parts.
fn capacitors(network: &Network) -> impl Iterator<Item = ((Node, Node), f64)> {
    network.parts.iter().filter_map(|part| match part.kind {
        Kind::Capacitor(ends, capacitance) => Some((ends, capacitance)),
        _ => None,
    })
}

impl Transient<'_> {
    /// The times of the steps, of which the first is 0.
    pub fn times(&self) -> impl Iterator<Item = Time> {
        self.times.iter().map(|time| Time::of(*time))
    }

    /// A node's voltage at each of the [`Transient::times`].
    ///
    /// # Errors
    /// [`NetworkError::Unknown`], with the nearest node there is.
    pub fn voltage(&self, node: &str) -> Result<Vec<ElectricPotential>, NetworkError> {
        let node = self.network.node_called(node)?;
        Ok(self.samples.iter().map(|x| ElectricPotential::of(voltage(x, node))).collect())
    }

    /// A part's current at each of the [`Transient::times`], counted as in [`super::OperatingPoint::current`].
    ///
    /// # Errors
    /// [`NetworkError::Unknown`], with the nearest part there is.
    pub fn current(&self, part: &str) -> Result<Vec<ElectricCurrent>, NetworkError> {
        let (place, part) = self.network.part_called(part)?;
        let samples = self.times.iter().zip(&self.samples);
        samples.map(|(time, x)| self.current_at(*time, x, place, part)).collect()
    }

    fn current_at(
        &self,
        time: f64,
        x: &[f64],
        place: usize,
        part: &Part,
    ) -> Result<ElectricCurrent, NetworkError> {
        if let Kind::Capacitor(..) = part.kind {
            let before = self.network.parts.iter().take(place);
            let earlier = before.filter(|part| matches!(part.kind, Kind::Capacitor(..))).count();
            let first = x.len() - capacitors(self.network).count();
            return Ok(ElectricCurrent::of(x.get(first + earlier).copied().unwrap_or(0.0)));
        }
        dc::current(&self.branch, x, (place, part), |form| form.at(time))
    }

    /// A node's voltage at any time of the transient, by a straight line between the steps.
    ///
    /// # Errors
    /// [`NetworkError::Unknown`], with the nearest node there is; a time that is not in the transient.
    pub fn voltage_at(&self, node: &str, time: Time) -> Result<ElectricPotential, NetworkError> {
        let node = self.network.node_called(node)?;
        let time = time.si();
        let (first, last) =
            (self.times.first().copied().unwrap_or(0.0), self.times.last().copied().unwrap_or(0.0));
        if !(first..=last).contains(&time) {
            return Err(NetworkError::BadAnalysis {
                what: "the time",
                found: time,
                allowed: "within the transient",
            });
        }
        let after = self.times.partition_point(|at| *at < time).max(1).min(self.times.len() - 1);
        let (t0, t1) = (self.times[after - 1], self.times[after]);
        let (v0, v1) = (voltage(&self.samples[after - 1], node), voltage(&self.samples[after], node));
        Ok(ElectricPotential::of(v0 + (v1 - v0) * (time - t0) / (t1 - t0)))
    }
}
