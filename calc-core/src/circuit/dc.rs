//! The operating point: where the network comes to rest.
//!
//! Newton's method from nothing at all. Should it not settle: with a conductance from every node to the chassis, made
//! smaller step by step (gmin stepping); then with the sources brought up from zero (source stepping). What it comes to
//! is held against the equations themselves, and against what rounding may have done to it.

use nalgebra::DMatrix;

use super::builder::Network;
use super::dense;
use super::device::{Device, Ways, volts};
use super::equations::Equations;
use super::newton::{Tangent, Unsettled, settle, tangent};
use super::part::{Kind, Node, Part};
use super::signal::Form;
use super::{NetworkError, union_find};
use crate::quantity::{ElectricCurrent, ElectricPotential, Quantity};
use crate::valve::model::{Currents, Volts};

/// The first conductance of gmin stepping, in S, and how often it is divided by ten before it is taken away.
const FIRST_SHUNT: f64 = 1e-1;
const SHUNTS: i32 = 14;
/// The smallest step, as a share, in which the sources are brought up.
const SMALLEST_RISE: f64 = 1e-5;
/// Where a network comes to rest.
#[derive(Debug, Clone)]
pub struct OperatingPoint<'n> {
    network: &'n Network,
    branch: Vec<Option<usize>>,
    x: Vec<f64>,
}

impl Network {
    /// Where the network comes to rest with its sources at their steady values: no current through capacitors, no
    /// voltage across windings but that of their resistance.
    ///
    /// # Errors
    /// Whatever was wrong with a part; a node that floats; a loop without resistance; no convergence; values that lie
    /// too far apart.
    pub fn operating_point(&self) -> Result<OperatingPoint<'_>, NetworkError> {
        let equations = Equations::of(self)?;
        let x = rest(&equations)?;
        Ok(OperatingPoint { network: self, branch: equations.branch, x: x.as_slice().to_vec() })
    }
}

/// The unknowns at rest.
pub(super) fn rest(equations: &Equations<'_>) -> Result<DMatrix<f64>, NetworkError> {
    union_find::floating(equations.network, false)?;
    let right = equations.drive(|form| form.steady);
    let x = find(equations, &right).map_err(|unsettled| {
        if unsettled.undetermined {
            equations.undetermined(unsettled.unknown)
        } else {
            NetworkError::NoConvergence { node: equations.name(unsettled.unknown) }
        }
    })?;
    let x = polish(equations, x, &right);
    check(equations, &x, &right)?;
    Ok(x)
}

/// One more step, which squares what is left of the error: an amplifier may have made much of it.
fn polish(equations: &Equations<'_>, x: DMatrix<f64>, right: &DMatrix<f64>) -> DMatrix<f64> {
    let at: Vec<Ways> = equations.devices.iter().map(|device| device.voltages(x.as_slice())).collect();
    let Tangent { matrix, right } = tangent(equations, &equations.conductance, right, &at);
    dense::factor(matrix, equations.nodes()).ok().and_then(|factors| factors.solve(&right)).unwrap_or(x)
}

fn find(equations: &Equations<'_>, right: &DMatrix<f64>) -> Result<DMatrix<f64>, Unsettled> {
    let linear = &equations.conductance;
    let nothing = DMatrix::zeros(equations.size(), 1);
    let mut x = nothing.clone();
    let plain = settle(equations, linear, right, &mut x, 0.0);
    if plain.is_ok() || equations.devices.is_empty() {
        return plain.map(|()| x);
    }
    by_shunts(equations, right, nothing.clone()).or_else(|_| by_rise(equations, right, nothing))
}

fn by_shunts(
    equations: &Equations<'_>,
    right: &DMatrix<f64>,
    mut x: DMatrix<f64>,
) -> Result<DMatrix<f64>, Unsettled> {
    let mut shunt = FIRST_SHUNT;
    for _ in 0..SHUNTS {
        settle(equations, &equations.conductance, right, &mut x, shunt)?;
        shunt /= 10.0;
    }
    settle(equations, &equations.conductance, right, &mut x, 0.0)?;
    Ok(x)
}

fn by_rise(
    equations: &Equations<'_>,
    right: &DMatrix<f64>,
    mut x: DMatrix<f64>,
) -> Result<DMatrix<f64>, Unsettled> {
    let (mut risen, mut rise) = (0.0, 0.01);
    while risen < 1.0 {
        let to = f64::min(risen + rise, 1.0);
        let mut tried = x.clone();
        match settle(equations, &equations.conductance, &(right * to), &mut tried, 0.0) {
            Ok(()) => {
                x = tried;
                risen = to;
                rise *= 2.0;
            }
            Err(unsettled) if rise < SMALLEST_RISE => return Err(unsettled),
            Err(_) => rise /= 4.0,
        }
    }
    Ok(x)
}

/// Holds a solution against the equations: on the tangents at the solution itself, what is left over is what Kirchhoff's
/// law lacks with every device at its own current.
fn check(equations: &Equations<'_>, x: &DMatrix<f64>, right: &DMatrix<f64>) -> Result<(), NetworkError> {
    let at: Vec<Ways> = equations.devices.iter().map(|device| device.voltages(x.as_slice())).collect();
    let Tangent { matrix, right } = tangent(equations, &equations.conductance, right, &at);
    let factors =
        dense::factor(matrix, equations.nodes()).map_err(|unknown| equations.undetermined(unknown))?;
    match factors.lost(x, &right, equations.nodes(), besides(equations)) {
        Some(unknown) => Err(NetworkError::Lost { at: equations.name(unknown) }),
        None => Ok(()),
    }
}

/// What an unknown may be off as well, in V or A: more than rounding leaves of a zero; and where something bends, Newton's
/// method has stopped that near.
pub(super) fn besides(equations: &Equations<'_>) -> f64 {
    if equations.devices.is_empty() { 1e-12 } else { 1e-9 }
}

impl OperatingPoint<'_> {
    /// A node's voltage from the chassis.
    ///
    /// # Errors
    /// [`NetworkError::Unknown`], with the nearest node there is.
    pub fn voltage(&self, node: &str) -> Result<ElectricPotential, NetworkError> {
        Ok(ElectricPotential::of(self.at(self.network.node_called(node)?)))
    }

    /// The voltage of the first node from the second.
    ///
    /// # Errors
    /// [`NetworkError::Unknown`], with the nearest node there is.
    pub fn between(&self, node: &str, from: &str) -> Result<ElectricPotential, NetworkError> {
        Ok(self.voltage(node)? - self.voltage(from)?)
    }

    /// The current through a part, from the node named first to the second; of a transformer the primary's, of a valve
    /// the anode's.
    ///
    /// # Errors
    /// [`NetworkError::Unknown`], with the nearest part there is; a current beyond what a number holds.
    pub fn current(&self, part: &str) -> Result<ElectricCurrent, NetworkError> {
        let (place, part) = self.network.part_called(part)?;
        current(&self.branch, &self.x, (place, part), |form| form.steady)
    }

    /// A valve's voltages from its cathode, and its currents.
    ///
    /// # Errors
    /// [`NetworkError::Unknown`], with the nearest part there is.
    pub fn valve(&self, name: &str) -> Result<(Volts, Currents), NetworkError> {
        let (_, part) = self.network.part_called(name)?;
        let Kind::Valve(pins, model) = &part.kind else {
            return Err(NetworkError::Unknown { kind: "valve", name: name.to_owned(), nearest: None });
        };
        let valve = Device::valve(*pins, *model);
        let at = volts(&valve.voltages(&self.x));
        Ok((at, model.currents(at)))
    }

    fn at(&self, node: Node) -> f64 {
        voltage(&self.x, node)
    }
}

pub(super) fn voltage(x: &[f64], node: Node) -> f64 {
    node.and_then(|node| x.get(node)).copied().unwrap_or(0.0)
}

/// The current through a part at these unknowns; 0 through a capacitor. `source` is what a source gives.
pub(super) fn current(
    branch: &[Option<usize>],
    x: &[f64],
    (place, part): (usize, &Part),
    source: impl Fn(&Form) -> f64,
) -> Result<ElectricCurrent, NetworkError> {
    let across = |(a, b): (Node, Node)| voltage(x, a) - voltage(x, b);
    let unknown = |place: usize| branch.get(place).copied().flatten().and_then(|at| x.get(at)).copied();
    let bends = |device: Device| device.currents(&device.voltages(x))[0];
    let current = unknown(place).unwrap_or_else(|| match &part.kind {
        Kind::Resistor(ends, resistance) => across(*ends) / resistance,
        Kind::Current(_, form) => source(form),
        Kind::CurrentByVoltage(_, input, conductance) => conductance * across(*input),
        Kind::CurrentByCurrent(_, source, gain) => gain * unknown(*source).unwrap_or(0.0),
        Kind::Diode(ends, saturation, ideality) => bends(Device::diode(*ends, *saturation, *ideality)),
        Kind::Valve(pins, model) => bends(Device::valve(*pins, *model)),
        _ => 0.0,
    });
    if current.is_finite() {
        Ok(ElectricCurrent::of(current))
    } else {
        Err(NetworkError::NotFinite { at: part.name.clone() })
    }
}
