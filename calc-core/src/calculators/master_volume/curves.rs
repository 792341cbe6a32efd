//! What the control does over its rotation: the table, and level against frequency.

use super::circuit::Circuit;
use super::{ENDS, MIDDLE};
use crate::calculator::{Axis, Mark, Picture, Report, Series, Table};
use crate::numeric::memo::MemoLast;
use crate::quantity::unit::{DECIBEL, HERTZ, OHM, ONE};
use crate::quantity::{Quantity, Ratio, writing};

/// What the picture shows, in decibels and Hz.
const FLOOR: f64 = -60.0;
const FROM: f64 = 10.0;
const TO: f64 = 50e3;
/// Along a curve: more than the eye needs of lines as smooth as these.
const POINTS: u8 = 20;

/// A level to a tenth of a decibel.
pub(super) fn decibel(level: f64) -> String {
    let tenths = libm::round(level * 10.0) / 10.0;
    let minus = if tenths < 0.0 { "−" } else { "" };
    format!("{minus}{:.1}\u{a0}dB", tenths.abs())
}

thread_local! {
    /// The knob changes nothing of its own rotation.
    static ROTATION: MemoLast<Circuit, Vec<Vec<String>>> = const { MemoLast::new() };
}

pub(super) fn table(circuit: &Circuit) -> Table {
    let rows = ROTATION.with(|last| last.of(circuit.clone(), rotation));
    Table {
        title: "From 0 to 10".to_owned(),
        head: [
            "Knob",
            "Level at the grids, 1 kHz",
            "Bass corner",
            "Treble corner",
            "Grid circuit, each valve",
            "The inverter sees",
        ]
        .map(str::to_owned)
        .to_vec(),
        rows,
    }
}

fn rotation(circuit: &Circuit) -> Vec<Vec<String>> {
    let row = |mark: u8| {
        let share = circuit.share(mark);
        vec![
            mark.to_string(),
            decibel(circuit.decibels(share, MIDDLE)),
            writing::nearest(circuit.corner(share, MIDDLE, ENDS.0), &HERTZ),
            writing::nearest(circuit.corner(share, MIDDLE, ENDS.1), &HERTZ),
            writing::nearest(circuit.grid_circuit(share), &OHM),
            writing::nearest(circuit.load(share, MIDDLE), &OHM),
        ]
    };
    (0..=10).map(row).collect()
}

pub(super) fn draw(circuit: &Circuit, knob: Ratio, report: &mut Report) {
    let line = |name: String, mark, share: Ratio| {
        let frequencies =
            (0..=POINTS).map(|at| FROM * libm::pow(TO / FROM, f64::from(at) / f64::from(POINTS)));
        let points = frequencies.map(|frequency| (frequency, circuit.decibels(share, frequency)));
        let points = points.filter(|(_, level)| *level >= FLOOR).collect();
        Series { name, mark, points }
    };
    let mut series: Vec<Series> =
        [10, 8, 6, 4, 2].map(|mark| line(format!("at {mark}"), Mark::Curve, circuit.share(mark))).into();
    let here = circuit.law.share(knob);
    series.push(line("the knob’s position".to_owned(), Mark::Target, here));
    series.retain(|series| !series.points.is_empty());
    report.picture = Some(Picture {
        title: "Level at the grids against frequency".to_owned(),
        description: format!(
            "With the knob at 10, 8, 6, 4 and 2, relative to the unloaded inverter; at the present setting, {}, it is \
             {} at 1 kHz.",
            writing::repeated(knob.si() * 10.0, &ONE),
            decibel(circuit.decibels(here, MIDDLE))
        ),
        x: Axis::decades("Frequency", &HERTZ, FROM, TO),
        y: Axis::even("Level", &DECIBEL, FLOOR, 0.0),
        series,
    });
}
