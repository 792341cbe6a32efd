//! Pictures of a valve's model: anode curves with the rating, and with the rows of the data sheet laid over.

use super::model::Volts;
use super::{Fitted, Residual, Valve, residuals};
use crate::calculator::{Axis, Mark, Picture, Series};
use crate::numeric::order::by_number;
use crate::quantity::unit::{AMPERE, VOLT, WATT};
use crate::quantity::{Quantity, writing};

/// Points of a curve: more where the knee is, because they lie evenly in the square root of the voltage.
const STEPS: u8 = 36;

/// Less than this share of the picture's height is nothing to see, and a model of working currents says nothing about it: near
/// cut-off its exponentials fall to 1e-100 A, which as a figure would be a line of zeros.
const NOTHING: f64 = 1e-6;

/// Two screen voltages are one when a data sheet would print them the same.
const SAME_SCREEN: f64 = 0.5;

/// The anode curve at one bias, as far as it stays in the picture.
pub(crate) fn curve(grid: f64, x: &Axis, y: &Axis, current: impl Fn(f64) -> f64) -> Series {
    let voltages = (0..=STEPS).map(|step| f64::from(step) / f64::from(STEPS)).map(|part| part * part * x.to);
    Series {
        name: writing::repeated(grid, &VOLT),
        mark: Mark::Curve,
        points: voltages
            .map(|anode| (anode, current(anode)))
            .map(|(anode, current)| (anode, if current.abs() < NOTHING * y.to { 0.0 } else { current }))
            .take_while(|(_, current)| *current <= y.to)
            .collect(),
    }
}

/// The anode's rated dissipation, where it is in the picture.
pub(crate) fn rating(power: f64, x: &Axis, y: &Axis) -> Series {
    let from = power / y.to;
    let points = (0..=STEPS).map(|step| from + (x.to - from) * f64::from(step) / f64::from(STEPS));
    Series {
        name: format!("rating, {}", writing::repeated(power, &WATT)),
        mark: Mark::Limit,
        points: points.filter(|volts| *volts <= x.to).map(|volts| (volts, power / volts)).collect(),
    }
}

/// A family of anode curves with the data sheet's rows over it.
#[derive(Debug, Clone, PartialEq)]
pub struct Family {
    /// The screen voltage that all curves are drawn for; a triode has none.
    pub screen: Option<f64>,
    /// The bias of each curve, the least negative first.
    pub grids: Vec<f64>,
    /// Anode current over anode voltage, one curve for each grid voltage.
    pub picture: Picture,
}

/// The model's anode curves at the screen voltage of the data sheet's first row, with every row of that screen voltage.
#[must_use]
pub fn family(valve: &Valve, fitted: &Fitted) -> Option<Family> {
    let first = rows(fitted).next()?.sheet.row.volts;
    let level: Vec<Residual> =
        rows(fitted).filter(|row| (row.sheet.row.volts.screen - first.screen).abs() < SAME_SCREEN).collect();
    let highest = |of: fn(&Residual) -> f64| level.iter().map(of).fold(0.0, f64::max);
    let volts = highest(|row| row.sheet.row.volts.anode);
    let x = Axis::even("Anode voltage", &VOLT, 0.0, 1.4 * volts);
    let power = valve.limits.anode_power.map_or(0.0, |figure| figure.value().si());
    let top = (1.8 * highest(|row| row.sheet.row.anode)).max(1.2 * power / volts);
    let y = Axis::even("Anode current", &AMPERE, 0.0, top);
    let current = |anode: f64, grid: f64| fitted.model.currents(Volts { anode, grid, ..first }).anode;

    let grids: Vec<f64> = biases(&level, |grid| current(x.to, grid) < 0.02 * y.to);
    let mut series: Vec<Series> =
        grids.iter().map(|grid| curve(*grid, &x, &y, |anode| current(anode, *grid))).collect();
    if power > 0.0 {
        series.push(rating(power, &x, &y));
    }
    series.push(over(&level));
    let screen = (first.screen > 0.0).then_some(first.screen);
    let at = screen.map_or(String::new(), |volts| format!(", screen at {}", writing::repeated(volts, &VOLT)));
    let end = |grid: Option<&f64>| writing::repeated(grid.copied().unwrap_or(0.0), &VOLT);
    let description = format!(
        "Each thin line is one bias, from {} to {}. A dot on its line is a data-sheet figure that the model meets.",
        end(grids.first()),
        end(grids.last())
    );
    let title = format!("Anode curves of the published valve model, {}{at}", valve.name);
    Some(Family { screen, grids, picture: Picture { title, description, x, y, series } })
}

/// Every row of the data sheet, with a piece of the model's curve at that row's own bias and screen voltage.
#[must_use]
pub fn rows_with_model(valve: &Valve, fitted: &Fitted) -> Picture {
    let all: Vec<Residual> = rows(fitted).collect();
    let highest = |of: fn(&Residual) -> f64| 1.25 * all.iter().map(of).fold(0.0, f64::max);
    let x = Axis::even("Anode voltage", &VOLT, 0.0, highest(|row| row.sheet.row.volts.anode));
    let y = Axis::even("Anode current", &AMPERE, 0.0, highest(|row| row.sheet.row.anode));
    let piece = |(number, row): (usize, &Residual)| {
        let at = row.sheet.row.volts;
        let model = |part: f64| {
            let volts = Volts { anode: part * at.anode, ..at };
            (volts.anode, fitted.model.currents(volts).anode)
        };
        let dot = (at.anode, row.sheet.row.anode);
        // The line leaves the curve for the dot and comes back, so that one sees which belongs to which.
        let points = [model(0.8), model(0.9), model(1.0), dot, model(1.0), model(1.1), model(1.2)];
        Series { name: number.to_string(), mark: Mark::Curve, points: points.to_vec() }
    };
    let mut series: Vec<Series> = (1..).zip(&all).map(piece).collect();
    series.push(over(&all));
    Picture {
        title: format!("Each data-sheet figure beside the model, {}", valve.name),
        description:
            "Each thin line is a piece of the model’s anode curve at the bias and the screen voltage of one \
             data-sheet figure, numbered as in the table below, with a stem to the figure’s dot."
                .to_owned(),
        x,
        y,
        series,
    }
}

fn rows(fitted: &Fitted) -> impl Iterator<Item = Residual> {
    residuals().filter(|residual| residual.sheet.valve == fitted.valve)
}

fn over(rows: &[Residual]) -> Series {
    let points = rows.iter().map(|row| (row.sheet.row.volts.anode, row.sheet.row.anode)).collect();
    Series { name: "data-sheet figures".to_owned(), mark: Mark::Point, points }
}

/// The rows' own bias voltages, and round ones between them and down to where the valve is shut.
fn biases(rows: &[Residual], shut: impl Fn(f64) -> bool) -> Vec<f64> {
    let own = || rows.iter().map(|row| row.sheet.row.volts.grid);
    let mut low = own().fold(-0.5, f64::min);
    while !shut(low) && low > -400.0 {
        low *= 1.1;
    }
    let ticks = Axis::even("", &VOLT, low, 0.0).ticks();
    let step = ticks.windows(2).map(|pair| pair[1] - pair[0]).fold(f64::MAX, f64::min);
    let apart = |tick: &f64| own().all(|grid| (grid - tick).abs() > 0.4 * step);
    let mut grids: Vec<f64> =
        ticks.into_iter().filter(apart).chain(own()).filter(|grid| !shut(*grid)).collect();
    by_number(&mut grids, |grid| -grid);
    grids.dedup();
    grids
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::valve::{VALVES, fitted};

    /// Every valve that has a model, with its family.
    fn families() -> impl Iterator<Item = (&'static Valve, &'static Fitted, Family)> {
        VALVES.iter().filter_map(|valve| {
            let fitted = fitted(valve.name)?;
            Some((valve, fitted, family(valve, fitted).expect("a fitted valve has rows")))
        })
    }

    /// The height of a curve at a voltage, on the straight line between its neighbouring points.
    fn height(curve: &Series, volts: f64) -> Option<f64> {
        let after = curve.points.iter().position(|(x, _)| *x >= volts)?.max(1);
        let ((x0, y0), (x1, y1)) = (curve.points[after - 1], curve.points[after]);
        Some(y0 + (y1 - y0) * (volts - x0) / (x1 - x0))
    }

    #[test]
    fn a_row_lies_as_far_from_its_curve_as_the_model_lies_from_the_row() {
        let mut compared = 0;
        for (valve, fitted, family) in families() {
            let Picture { y, series, .. } = &family.picture;
            let level = |row: &Residual| {
                family.screen.is_none_or(|screen| (row.sheet.row.volts.screen - screen).abs() < SAME_SCREEN)
            };
            for row in rows(fitted).filter(level) {
                let at = row.sheet.row.volts;
                let name = writing::repeated(at.grid, &VOLT);
                let Some(own) = series.iter().find(|series| series.name == name) else {
                    assert!(row.sheet.row.cut_off, "{}: no curve at {name}", valve.name);
                    continue;
                };
                let height = height(own, at.anode).expect("the curve passes the row");
                let off = height - row.sheet.row.anode * (1.0 + row.off.anode);
                assert!(off.abs() < 0.005 * y.to, "{}: {name} at {} V is off by {off}", valve.name, at.anode);
                assert!(row.sheet.row.anode < y.to, "{}: {name} is above the picture", valve.name);
                compared += 1;
            }
        }
        assert!(compared >= 25, "only {compared} rows were compared");
    }

    #[test]
    fn curves_are_told_apart_and_few() {
        for (valve, _, family) in families() {
            let grids = &family.grids;
            assert!((3..=14).contains(&grids.len()), "{}: {grids:?}", valve.name);
            assert!(grids.windows(2).all(|pair| pair[0] > pair[1]), "{}: {grids:?}", valve.name);
        }
    }

    #[test]
    fn every_row_is_a_dot() {
        for (valve, fitted, _) in families() {
            let picture = rows_with_model(valve, fitted);
            let dots = picture.series.last().expect("the dots").points.len();
            assert_eq!((dots, picture.series.len()), (rows(fitted).count(), dots + 1), "{}", valve.name);
        }
    }
}
