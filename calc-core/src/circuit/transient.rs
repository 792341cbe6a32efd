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
use super::newton::{Unsettled, tangent};
use super::part::{Ends, Kind, Node, Part};
use super::signal::{Form, Shape};
use super::stepper::Stepper;
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
    /// At each time, the unknowns, then the capacitors' currents, one time behind another.
    samples: Vec<f64>,
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
        let mut walk = Walk::new(&equations, x.as_slice().to_vec(), end);
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

/// A source among the equations: where it adds, and whether it takes away there.
struct Source<'n> {
    row: usize,
    sign: f64,
    form: &'n Form,
}

/// Those of the equations whose right side changes in time.
fn sources<'n>(equations: &Equations<'n>) -> Vec<Source<'n>> {
    let mut sources = Vec::new();
    for (part, branch) in equations.network.parts.iter().zip(&equations.branch) {
        match (&part.kind, branch) {
            (Kind::Voltage(_, form), Some(row)) => sources.push(Source { row: *row, sign: 1.0, form }),
            (Kind::Current((from, to), form), _) if from != to => {
                sources.extend(from.iter().map(|row| Source { row: *row, sign: -1.0, form }));
                sources.extend(to.iter().map(|row| Source { row: *row, sign: 1.0, form }));
            }
            _ => {}
        }
    }
    sources
}

/// The way through time so far.
struct Walk<'e, 'n> {
    equations: &'e Equations<'n>,
    stepper: Stepper<'e, 'n>,
    sources: Vec<Source<'n>>,
    /// The elements of C that are there.
    storage: Vec<(usize, usize, f64)>,
    capacitors: Vec<(Ends, f64)>,
    time: f64,
    x: Vec<f64>,
    /// q': what flows for a voltage that changes.
    flow: Vec<f64>,
    /// The capacitors' currents.
    charging: Vec<f64>,
    /// The last points of this stretch, newest last, of which the first so many count.
    past: [(f64, Vec<f64>); 3],
    points: usize,
    /// The unknowns that are a capacitor's voltage or a winding's current: their errors are watched.
    watched: Vec<usize>,
    largest: Vec<f64>,
    longest: f64,
    shortest: f64,
    times: Vec<f64>,
    samples: Vec<f64>,
    /// Room for the right side, what is foretold, and what is tried.
    right: Vec<f64>,
    foretold: Vec<f64>,
    tried: Vec<f64>,
}

impl<'e, 'n> Walk<'e, 'n> {
    fn new(equations: &'e Equations<'n>, x: Vec<f64>, end: f64) -> Self {
        let period = forms(equations.network).fold(f64::INFINITY, |period: f64, form| match form.shape {
            Shape::Sine(_, frequency) if frequency > 0.0 => period.min(1.0 / frequency),
            _ => period,
        });
        let size = equations.size();
        let places = (0..size * size).map(|place| (place / size, place % size));
        let storage = places.map(|(row, column)| (row, column, equations.storage[(row, column)]));
        let storage: Vec<_> = storage.filter(|(.., value)| *value != 0.0).collect();
        let watched = (0..size).filter(|at| storage.iter().any(|(_, column, _)| column == at)).collect();
        let capacitors: Vec<_> = capacitors(equations.network).collect();
        let nothing = vec![0.0; size];
        let mut walk = Self {
            equations,
            stepper: Stepper::new(equations),
            sources: sources(equations),
            storage,
            time: 0.0,
            x,
            flow: nothing.clone(),
            charging: vec![0.0; capacitors.len()],
            capacitors,
            past: std::array::from_fn(|_| (0.0, nothing.clone())),
            points: 0,
            watched,
            largest: nothing.clone(),
            longest: (end / FEWEST).min(period / FEWEST_OF_PERIOD),
            shortest: end * SHORTEST,
            times: Vec::new(),
            samples: Vec::new(),
            right: nothing.clone(),
            foretold: nothing.clone(),
            tried: nothing,
        };
        walk.keep();
        walk
    }

    /// Writes down where it is.
    fn keep(&mut self) {
        self.times.push(self.time);
        self.samples.extend_from_slice(&self.x);
        self.samples.extend_from_slice(&self.charging);
        self.largest.iter_mut().zip(&self.x).for_each(|(largest, x)| *largest = largest.max(x.abs()));
        self.remember();
    }

    /// Puts where it is behind the last points.
    fn remember(&mut self) {
        if self.points == self.past.len() {
            self.past.rotate_left(1);
            self.points -= 1;
        }
        let (time, x) = &mut self.past[self.points];
        *time = self.time;
        x.copy_from_slice(&self.x);
        self.points += 1;
    }

    fn stalled(&self, unknown: usize) -> NetworkError {
        NetworkError::Stalled { time: self.time, node: self.equations.name(unknown) }
    }

    /// Walks to the next jump.
    fn to(&mut self, stop: f64) -> Result<(), NetworkError> {
        self.points = 0;
        self.remember();
        let mut h = self.longest * AFTER_JUMP;
        let mut first = true;
        while self.time < stop {
            h = h.min(self.longest);
            // No sliver of a step is left over at the end.
            let left = stop - self.time;
            let last = h > 0.999 * left;
            let this = if last { left } else { h.min(left / 2.0) };
            if let Err(unsettled) = self.step(this, first) {
                h = this / 8.0;
                if h < self.shortest {
                    return Err(self.stalled(unsettled.unknown));
                }
                continue;
            }
            let (error, worst) = self.error(this);
            let change = (0.9 / libm::cbrt(error.max(1e-9))).clamp(0.2, 2.0);
            if error > 1.0 {
                h = this * change;
                if h < self.shortest {
                    return Err(self.stalled(worst));
                }
                continue;
            }
            self.take(this, if last { stop } else { self.time + this }, first);
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

    /// Writes the right side of a step with this weight of C to a time.
    fn drive(&mut self, time: f64, weight: f64, euler: bool) {
        if euler {
            self.right.fill(0.0);
        } else {
            self.right.copy_from_slice(&self.flow);
        }
        for source in &self.sources {
            self.right[source.row] += source.sign * source.form.at(time);
        }
        for (row, column, value) in &self.storage {
            self.right[*row] += weight * value * self.x[*column];
        }
    }

    /// Tries a step: where it leads is in `tried`, where the last points lead in `foretold`.
    fn step(&mut self, h: f64, euler: bool) -> Result<(), Unsettled> {
        let weight = weight(h, euler);
        self.drive(self.time + h, weight, euler);
        self.foretell(h);
        self.tried.copy_from_slice(&self.foretold);
        self.stepper.settle(weight, &self.right, &mut self.tried)
    }

    /// Where a parabola through the last three points leads; with fewer, where it stands.
    fn foretell(&mut self, h: f64) {
        let [(t0, x0), (t1, x1), (t2, x2)] = &self.past;
        if self.points < self.past.len() {
            self.foretold.copy_from_slice(&self.x);
            return;
        }
        let time = self.time + h;
        let share =
            |at: f64, one: f64, other: f64| (time - one) * (time - other) / ((at - one) * (at - other));
        let (w0, w1, w2) = (share(*t0, *t1, *t2), share(*t1, *t0, *t2), share(*t2, *t0, *t1));
        for (foretold, ((x0, x1), x2)) in self.foretold.iter_mut().zip(x0.iter().zip(x1).zip(x2)) {
            *foretold = x0 * w0 + x1 * w1 + x2 * w2;
        }
    }

    /// The local error as a share of what is allowed, and the unknown that has it.
    fn error(&self, h: f64) -> (f64, usize) {
        if self.points < self.past.len() {
            return (0.0, 0);
        }
        let (oldest, middle) = (self.past[0].0, self.past[1].0);
        let time = self.time + h;
        // What x‴ adds to the parabola's miss, and to the rule's own.
        let parabola = h * (time - middle) * (time - oldest) / 6.0;
        let own = h * h * h / 12.0;
        let share = own / (parabola + own);
        let nodes = self.equations.nodes();
        let kinds = dense::largest_of_each_kind(&self.largest, nodes);
        let mut most = (0.0, 0);
        for &at in &self.watched {
            let kind = kinds[usize::from(at >= nodes)];
            let x = self.tried[at];
            let allowed = SHARE * self.largest[at].max(x.abs()) + SHARE_OF_LARGEST * kind + 1e-12;
            let error = share * (x - self.foretold[at]).abs() / allowed;
            if error > most.0 {
                most = (error, at);
            }
        }
        most
    }

    /// Takes the step that was tried and found good.
    fn take(&mut self, h: f64, time: f64, euler: bool) {
        let weight = weight(h, euler);
        // Of the trapezoidal rule, what flowed before is taken away.
        let before = if euler { 0.0 } else { -1.0 };
        self.flow.iter_mut().for_each(|flow| *flow *= before);
        for (row, column, value) in &self.storage {
            self.flow[*row] += weight * value * (self.tried[*column] - self.x[*column]);
        }
        for (current, (ends, capacitance)) in self.charging.iter_mut().zip(&self.capacitors) {
            let moved = |node: Node| voltage(&self.tried, node) - voltage(&self.x, node);
            *current = *current * before + weight * capacitance * (moved(ends.0) - moved(ends.1));
        }
        std::mem::swap(&mut self.x, &mut self.tried);
        self.time = time;
        self.keep();
    }

    /// What rounding may have done to a step of this length.
    fn look(&mut self, h: f64) -> Result<(), NetworkError> {
        let weight = weight(h, false);
        self.drive(self.time + h, weight, false);
        let Equations { conductance, storage, .. } = self.equations;
        let (matrix, right) =
            (conductance + storage * weight, DMatrix::from_column_slice(self.right.len(), 1, &self.right));
        let at: Vec<Ways> = self.equations.devices.iter().map(|device| device.voltages(&self.x)).collect();
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

/// What C is multiplied by in a step of this length.
fn weight(h: f64, euler: bool) -> f64 {
    if euler { 1.0 / h } else { 2.0 / h }
}

/// The ends and values of the capacitors, in the order of the parts.
fn capacitors(network: &Network) -> impl Iterator<Item = (Ends, f64)> {
    network.parts.iter().filter_map(|part| match part.kind {
        Kind::Capacitor(ends, capacitance) => Some((ends, capacitance)),
        _ => None,
    })
}

impl Transient<'_> {
    /// What was kept at each of the times.
    fn points(&self) -> std::slice::ChunksExact<'_, f64> {
        self.samples.chunks_exact((self.samples.len() / self.times.len()).max(1))
    }

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
        Ok(self.points().map(|x| ElectricPotential::of(voltage(x, node))).collect())
    }

    /// A part's current at each of the [`Transient::times`], counted as in [`super::OperatingPoint::current`].
    ///
    /// # Errors
    /// [`NetworkError::Unknown`], with the nearest part there is.
    pub fn current(&self, part: &str) -> Result<Vec<ElectricCurrent>, NetworkError> {
        let (place, part) = self.network.part_called(part)?;
        let samples = self.times.iter().zip(self.points());
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
        let mut points = self.points().skip(after - 1);
        let mut at = || points.next().map_or(0.0, |x| voltage(x, node));
        let (v0, v1) = (at(), at());
        Ok(ElectricPotential::of(v0 + (v1 - v0) * (time - t0) / (t1 - t0)))
    }
}
