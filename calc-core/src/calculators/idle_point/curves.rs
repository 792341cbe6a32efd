//! The picture: anode current over anode voltage for bias in steps, the data sheet's rating across it, and the point.

use crate::calculator::{Axis, Mark, Picture, Series};
use crate::quantity::unit::{AMPERE, VOLT};
use crate::quantity::{Quantity, writing};
use crate::valve::model::{Model, Volts};
use crate::valve::{Valve, curves};

/// The family of curves round a point.
pub fn picture(valve: &Valve, model: &Model, share: f64, at: Volts) -> Picture {
    let current = |anode: f64, grid: f64| share * model.currents(Volts { anode, grid, ..at }).anode;
    let here = (at.anode, current(at.anode, at.grid));
    let rating = valve.limits.anode_power.map(|figure| figure.value());
    let x = Axis::even("Anode voltage", &VOLT, 0.0, at.anode * 1.5);
    let rated = rating.map_or(0.0, |heat| heat.si() / at.anode);
    let y = Axis::even("Anode current", &AMPERE, 0.0, (here.1 * 2.0).max(rated * 1.5));
    let mut series: Vec<Series> = biases(at.grid)
        .into_iter()
        .filter(|grid| (0.01..1.0).contains(&(current(at.anode, *grid) / y.to)))
        .map(|grid| curves::curve(grid, &x, &y, |anode| current(anode, grid)))
        .collect();
    if rated > 0.0 {
        series.push(curves::rating(rated * at.anode, &x, &y));
    }
    series.push(Series { name: "idle".to_owned(), mark: Mark::Point, points: vec![here] });
    Picture {
        title: format!("Anode curves of the model, {}", valve.name),
        description: format!(
            "Each thin line is one bias; the point is at {}, {} and a bias of {}.",
            writing::nearest(here.0, &VOLT),
            writing::nearest(here.1, &AMPERE),
            writing::nearest(at.grid, &VOLT)
        ),
        x,
        y,
        series,
    }
}

/// Round bias voltages on both sides of the point, close enough together for the sharp grids of output valves.
fn biases(grid: f64) -> Vec<f64> {
    let reach = (0.4 * -grid).max(0.5);
    Axis::even("", &VOLT, grid - reach, (grid + reach).min(0.0)).ticks()
}
