//! A picture of the answer: a chart as data. Whoever shows it draws it; the same data make its table of points.

use crate::quantity::unit::Unit;

/// A chart with two axes.
#[derive(Debug, Clone, PartialEq)]
pub struct Picture {
    /// What it shows.
    pub title: String,
    /// What one sees in it, in a sentence or two, for a reader who does not.
    pub description: String,
    /// The axis across.
    pub x: Axis,
    /// The axis upward.
    pub y: Axis,
    /// What is drawn, the first at the back.
    pub series: Vec<Series>,
}

/// An axis from zero to `to`.
#[derive(Debug, Clone, PartialEq)]
pub struct Axis {
    /// What is along it.
    pub name: &'static str,
    /// Its unit.
    pub unit: &'static Unit,
    /// Where it ends, in SI units.
    pub to: f64,
}

/// Something drawn, with its points in SI units.
#[derive(Debug, Clone, PartialEq)]
pub struct Series {
    /// What it is.
    pub name: String,
    /// How it is drawn.
    pub mark: Mark,
    /// Where.
    pub points: Vec<(f64, f64)>,
}

/// How a series is drawn; lines differ by dash as well as by name, never by colour alone.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Mark {
    /// A full line: a published limit.
    Limit,
    /// A dashed line: a target or a habit.
    Target,
    /// A single point: the reader's own.
    Point,
    /// The corners of a region: how far the point may be off.
    Margin,
}

impl Axis {
    /// Marks along the axis: round numbers, five to ten of them.
    #[must_use]
    pub fn ticks(&self) -> Vec<f64> {
        let mut step = 1e-15;
        let steps = [2.0, 2.5, 2.0];
        let mut at = 0;
        while self.to / step > 8.0 {
            step *= steps[at % 3];
            at += 1;
        }
        (0..=10u8).map(|count| f64::from(count) * step).take_while(|tick| *tick <= self.to * 1.0001).collect()
    }
}
