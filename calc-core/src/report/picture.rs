//! A picture of the answer: a chart as data. Anyone who shows it draws it; the same data make its table of points.

use crate::quantity::unit::{ONE, Unit};

/// A chart with two axes.
#[derive(Debug, Clone, PartialEq)]
pub struct Picture {
    /// What it shows, as its heading.
    pub title: String,
    /// What one sees in it, in a sentence or two, for a reader who does not.
    pub description: String,
    /// The axis across: what is changed.
    pub x: Axis,
    /// The axis upward: what follows from it.
    pub y: Axis,
    /// What is drawn, the first at the back.
    pub series: Vec<Series>,
}

/// An axis from `from` to `to`.
#[derive(Debug, Clone, PartialEq)]
pub struct Axis {
    /// What is along it.
    pub name: &'static str,
    /// The unit that its values are written in.
    pub unit: &'static Unit,
    /// Where it begins, in SI units.
    pub from: f64,
    /// Where it ends, in SI units.
    pub to: f64,
    /// How values are spread along it.
    pub scale: Scale,
}

/// How values are spread along an axis.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Scale {
    /// Equal steps for equal differences.
    Even,
    /// Equal steps for equal ratios; both ends above zero.
    Decades,
    /// A row for each of these, the first at 1.
    Rows(&'static [&'static str]),
}

/// Something drawn, with its points in SI units.
#[derive(Debug, Clone, PartialEq)]
pub struct Series {
    /// Its name, written at the end of its line.
    pub name: String,
    /// How it is drawn.
    pub mark: Mark,
    /// Places on both axes, in the order in which a line joins them.
    pub points: Vec<(f64, f64)>,
}

/// How a series is drawn; lines differ by dash as well as by name, never by colour alone.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Mark {
    /// A full line: a published limit.
    Limit,
    /// A dashed line: a target or a habit.
    Target,
    /// A thin line: one of several curves, told apart by the name at its end.
    Curve,
    /// Single points: the reader's own.
    Point,
    /// The corners of a region: how far the point may be off.
    Margin,
}

impl Picture {
    /// The points as comma-separated values (RFC 4180), in SI units, with the byte-order mark by which a spreadsheet knows
    /// UTF-8: without it `Ω` and `µ` become other letters.
    #[must_use]
    pub fn csv(&self) -> String {
        let quoted = |text: &str| format!("\"{}\"", text.replace('"', "\"\""));
        let head = |axis: &Axis| quoted(format!("{} {}", axis.name, axis.unit.symbol).trim_end());
        let mut csv = format!("\u{feff}\"Line\",{},{}\r\n", head(&self.x), head(&self.y));
        for series in &self.series {
            let name = quoted(&series.name);
            series.points.iter().for_each(|(x, y)| csv.push_str(&format!("{name},{x},{y}\r\n")));
        }
        csv
    }
}

impl Axis {
    /// An axis with even steps.
    #[must_use]
    pub const fn even(name: &'static str, unit: &'static Unit, from: f64, to: f64) -> Self {
        Self { name, unit, from, to, scale: Scale::Even }
    }

    /// An axis in decades, for frequencies.
    #[must_use]
    pub const fn decades(name: &'static str, unit: &'static Unit, from: f64, to: f64) -> Self {
        Self { name, unit, from, to, scale: Scale::Decades }
    }

    /// Places along an axis in decades, from end to end and even to the eye: as many as a curve needs.
    pub fn places(&self) -> impl Iterator<Item = f64> + use<> {
        let (from, to) = (self.from, self.to);
        (0..=32).map(move |step| from * libm::pow(to / from, f64::from(step) / 32.0))
    }

    /// An axis of rows that are named, not counted; a name has room for eight letters.
    #[must_use]
    pub const fn rows(name: &'static str, rows: &'static [&'static str]) -> Self {
        Self { name, unit: &ONE, from: 0.0, to: rows.len() as f64 + 1.0, scale: Scale::Rows(rows) }
    }

    /// A value as it is written along the axis and in the table of points.
    #[must_use]
    pub fn written(&self, value: f64, write: fn(f64, &Unit) -> String) -> String {
        match self.scale {
            Scale::Rows(rows) => {
                let named = rows.iter().zip(1..).find(|(_, at)| (value - f64::from(*at)).abs() < 0.5);
                named.map_or("", |(row, _)| row).to_owned()
            }
            Scale::Even | Scale::Decades => write(value, self.unit),
        }
    }

    /// Where a value lies: 0 at the beginning, 1 at the end, and never far outside.
    #[must_use]
    pub fn place(&self, value: f64) -> f64 {
        let along = |value: f64| match self.scale {
            Scale::Even | Scale::Rows(_) => value,
            Scale::Decades => libm::log10(value.max(1e-30)),
        };
        let (from, to) = (along(self.from), along(self.to));
        if to > from { ((along(value) - from) / (to - from)).clamp(-0.5, 1.5) } else { 0.0 }
    }

    /// The value at a share of the way from the beginning to the end.
    #[must_use]
    pub fn at(&self, share: f64) -> f64 {
        match self.scale {
            Scale::Even | Scale::Rows(_) => self.from + (self.to - self.from) * share,
            Scale::Decades => self.from * libm::pow(self.to / self.from, share),
        }
    }

    /// Marks along the axis: round numbers, or powers of ten.
    #[must_use]
    pub fn ticks(&self) -> Vec<f64> {
        let inside = |tick: &f64| (-1e-6..=1.0 + 1e-6).contains(&self.place(*tick));
        match self.scale {
            Scale::Decades => {
                (-15..15).map(|power| libm::pow(10.0, f64::from(power))).filter(inside).collect()
            }
            Scale::Rows(rows) => (1..).map(f64::from).take(rows.len()).collect(),
            Scale::Even => {
                let step = round_step(self.to - self.from);
                let first = libm::ceil(self.from / step - 1e-6);
                (0..=12u8).map(|count| (first + f64::from(count)) * step).filter(inside).collect()
            }
        }
    }
}

/// The smallest of 1, 2 and 5 times a power of ten that divides a range into at most eight.
fn round_step(range: f64) -> f64 {
    let mut step = 1e-15;
    for factor in [2.0, 2.5, 2.0].into_iter().cycle().take(120) {
        if range / step <= 8.0 {
            break;
        }
        step *= factor;
    }
    step
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::unit::{DECIBEL, HERTZ, VOLT};

    #[test]
    fn points_go_into_a_file_with_their_names_quoted() {
        let series = Series {
            name: "at 5, \"half\"".into(),
            mark: Mark::Curve,
            points: vec![(20.0, -3.5), (1e3, 0.0)],
        };
        let picture = Picture {
            title: String::new(),
            description: String::new(),
            x: Axis::decades("Frequency", &HERTZ, 20.0, 20e3),
            y: Axis::even("Level", &DECIBEL, -60.0, 0.0),
            series: vec![series],
        };
        let lines = [
            "\u{feff}\"Line\",\"Frequency Hz\",\"Level dB\"",
            "\"at 5, \"\"half\"\"\",20,-3.5",
            "\"at 5, \"\"half\"\"\",1000,0",
            "",
        ];
        assert_eq!(picture.csv(), lines.join("\r\n"));
    }

    #[test]
    fn ticks_are_round_and_inside() {
        let rounded =
            |axis: Axis| axis.ticks().iter().map(|tick| libm::round(*tick * 1e6) / 1e6).collect::<Vec<_>>();
        assert_eq!(
            rounded(Axis::even("", &VOLT, 0.0, 657.0)),
            [0.0, 100.0, 200.0, 300.0, 400.0, 500.0, 600.0]
        );
        assert_eq!(
            rounded(Axis::even("", &DECIBEL, -60.0, 0.0)),
            [-60.0, -50.0, -40.0, -30.0, -20.0, -10.0, 0.0]
        );
        assert_eq!(rounded(Axis::decades("", &HERTZ, 20.0, 20e3)), [100.0, 1000.0, 10000.0]);
        assert!(Axis::even("", &VOLT, 0.0, 0.0).ticks().len() <= 13);
    }
}
