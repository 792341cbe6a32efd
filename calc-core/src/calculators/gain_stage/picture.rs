//! The picture: the valve's curves, the load line across them, and where the stage stands.

use super::{Found, GainStage};
use crate::calculator::{Axis, Margins, Mark, Picture, Series};
use crate::quantity::unit::{AMPERE, VOLT};
use crate::quantity::{Quantity, writing};
use crate::valve::curves;

impl GainStage {
    pub(super) fn picture(&self, found: &Found, margins: &Margins) -> Picture {
        let supply = self.supply.si();
        let short = supply / (self.anode.si() + self.cathode.si());
        let (across, current, grid) = (found.across.si(), found.current.si(), -found.cathode.si());
        let x = Axis::even("Across the valve", &VOLT, 0.0, supply * 1.1);
        let y = Axis::even("Anode current", &AMPERE, 0.0, short.max(current * 1.5) * 1.1);
        // Half of them above the point, half below, and the grid at its cathode.
        let mut grids = Axis::even("", &VOLT, 2.0 * grid, 0.0).ticks();
        grids.reverse();
        let mut series: Vec<Series> = grids
            .into_iter()
            .map(|grid| curves::curve(grid, &x, &y, |anode| self.triode.current(anode, grid)))
            .filter(|curve| curve.points.len() > 2)
            .collect();
        series.push(Series {
            name: format!("load line, {}", writing::repeated(supply, &VOLT)),
            mark: Mark::Target,
            points: vec![(supply, 0.0), (0.0, short)],
        });
        // To signals the line is steeper, and turns round the point.
        let signals = [(across - found.down.si(), current + found.rise.si()), (across + found.up.si(), 0.0)];
        series.push(Series {
            name: "the steeper one, the load line for signals".to_owned(),
            mark: Mark::Target,
            points: signals.to_vec(),
        });
        if let Some(rating) = self.triode.valve.limits.anode_power {
            let rating = curves::rating(rating.value().si(), &x, &y);
            // A stub in the corner tells nobody anything.
            let seen = |rating: &Series| rating.points.first().is_some_and(|(volts, _)| *volts < 0.8 * x.to);
            series.extend(Some(rating).filter(seen));
        }
        let (volts, amperes) = (margins.of("across"), margins.of("anode-current"));
        if volts.known && amperes.known && volts.low < volts.high {
            let (left, right) = (volts.low, volts.high);
            let ends =
                [(left, amperes.low), (right, amperes.low), (right, amperes.high), (left, amperes.high)];
            series.push(Series { name: "its margin".to_owned(), mark: Mark::Margin, points: ends.to_vec() });
        }
        series.push(Series {
            name: "at rest".to_owned(),
            mark: Mark::Point,
            points: vec![(across, current)],
        });
        Picture {
            title: format!("Curves of the model, {}, and the load line", self.triode.valve.name),
            description: format!(
                "Each thin line is one bias. The load line crosses them, beginning at the supply; the stage idles at \
                 {} across the valve, {} and a bias of {}.",
                writing::nearest(across, &VOLT),
                writing::nearest(current, &AMPERE),
                writing::nearest(grid, &VOLT)
            ),
            x,
            y,
            series,
        }
    }
}
