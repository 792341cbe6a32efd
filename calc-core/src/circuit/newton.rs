//! Newton's method on the network's equations: each device is replaced by its tangent, the linear network solved, and so
//! on until nothing moves (Nagel 1975).

use nalgebra::DMatrix;

use super::dense;
use super::device::{Device, Ways};
use super::equations::{Equations, pair, row_of};
use super::part::Node;

/// Steps before a try is given up.
const TRIES: usize = 100;
/// What counts as nothing moving: this share of a device's own voltage, this many volts, and what rounding does to the
/// voltages of its nodes. Nothing else needs a look, for all else follows in one step.
const SHARE: f64 = 1e-9;
const VOLTS: f64 = 1e-9;
const ROUNDING: f64 = 1e-14;
/// Where rounding keeps voltages moving, up to so many times as much counts, if it grows no less.
const RESTLESS: f64 = 1e3;

/// Why it gave up: the unknown that moves most, or that has no value of its own.
#[derive(Debug, Clone, Copy)]
pub(super) struct Unsettled {
    pub(super) unknown: usize,
    pub(super) undetermined: bool,
}

/// Linear equations with tangents in them.
pub(super) struct Tangent {
    pub(super) matrix: DMatrix<f64>,
    pub(super) right: DMatrix<f64>,
}

/// The equations with every device replaced by its tangent at its voltages.
pub(super) fn tangent(
    equations: &Equations<'_>,
    linear: &DMatrix<f64>,
    right: &DMatrix<f64>,
    at: &[Ways],
) -> Tangent {
    let (mut matrix, mut right) = (linear.clone(), right.clone());
    for (device, voltages) in equations.devices.iter().zip(at) {
        let (currents, slopes) = device.tangent(voltages);
        for (out, (from, to)) in device.outputs().filter(|(_, (from, to))| from != to) {
            let mut current = currents[out];
            for (way, ends) in device.inputs() {
                let slope = slopes[out][way];
                current -= slope * voltages[way];
                if ends == (from, to) {
                    pair(&mut matrix, ends, slope);
                } else {
                    from.iter().for_each(|row| row_of(&mut matrix, ends, *row, slope));
                    to.iter().for_each(|row| row_of(&mut matrix, ends, *row, -slope));
                }
            }
            from.iter().for_each(|row| right[*row] -= current);
            to.iter().for_each(|row| right[*row] += current);
        }
    }
    Tangent { matrix, right }
}

/// Solves `linear x + i(x) = right` from a guess in `x`; on success `x` is the solution. `shunt` is a conductance from
/// every node to the chassis.
pub(super) fn settle(
    equations: &Equations<'_>,
    linear: &DMatrix<f64>,
    right: &DMatrix<f64>,
    x: &mut DMatrix<f64>,
    shunt: f64,
) -> Result<(), Unsettled> {
    let nodes = equations.nodes();
    let mut linear = linear.clone();
    for node in 0..nodes {
        linear[(node, node)] += shunt;
    }
    let mut at: Vec<Ways> = vec![Default::default(); equations.devices.len()];
    let mut next = vec![0.0; x.len()];
    iterate(&equations.devices, x.as_mut_slice(), &mut at, &mut next, |at, next| {
        let Tangent { matrix, right } = tangent(equations, &linear, right, at);
        // A diode straight across a supply carries more than a number holds.
        if matrix.iter().any(|value| !value.is_finite()) {
            return Ok(false);
        }
        let found = dense::factor(matrix, nodes)?.solve(&right);
        found.iter().for_each(|found| next.copy_from_slice(found.as_slice()));
        Ok(found.is_some())
    })
}

/// Steps of Newton's method from a guess in `x`. `solve` is given the voltages at which each device is replaced by its
/// tangent, writes the solution, and says whether there is one; its error is an unknown that has no value of its own.
/// `at` and `next` are room: a voltage for each device, a number for each unknown.
pub(super) fn iterate(
    devices: &[Device],
    x: &mut [f64],
    at: &mut [Ways],
    next: &mut [f64],
    mut solve: impl FnMut(&[Ways], &mut [f64]) -> Result<bool, usize>,
) -> Result<(), Unsettled> {
    at.iter_mut().zip(devices).for_each(|(at, device)| *at = device.voltages(x));
    let (mut worst, mut before) = (0, f64::INFINITY);
    for _ in 0..TRIES {
        let mut limited = false;
        for (device, last) in devices.iter().zip(&mut *at) {
            let (voltages, nearer) = device.limit(&device.voltages(x), last);
            *last = voltages;
            limited |= nearer;
        }
        if !solve(at, next).map_err(|unknown| Unsettled { unknown, undetermined: true })? {
            break;
        }
        let (moved, most) = movement(devices, at, next);
        worst = most;
        x.copy_from_slice(next);
        let settled = moved <= 1.0 || (moved <= RESTLESS && moved > before / 2.0);
        if devices.is_empty() || (settled && !limited) {
            return Ok(());
        }
        before = moved;
    }
    Err(Unsettled { unknown: worst, undetermined: false })
}

/// How far the devices' voltages move, in what counts as nothing; and the node that moves most.
fn movement(devices: &[Device], from: &[Ways], to: &[f64]) -> (f64, usize) {
    let of = |node: Node| node.map_or(0.0, |node| to[node]);
    let mut most = (0.0, 0);
    for (device, from) in devices.iter().zip(from) {
        for (at, (node, common)) in device.inputs() {
            let across = of(node) - of(common);
            let allowed = SHARE * across.abs() + VOLTS + ROUNDING * (of(node).abs() + of(common).abs());
            let moved = (across - from[at]).abs() / allowed;
            if moved > most.0 {
                most = (moved, node.or(common).unwrap_or(0));
            }
        }
    }
    most
}
