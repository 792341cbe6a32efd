//! How long one calculation takes: from what was typed to answers, margins, verdicts and working.

use std::hint::black_box;
use std::time::Instant;

use calc_core::calculator::Inputs;
use calc_core::valve::fit::{Row, fit};
use calc_core::valve::model::Volts;

const ROUNDS: u32 = 20_000;

fn main() {
    for entry in calc_core::calculators() {
        let id = entry.sheet.id;
        let work = || black_box(calc_core::calculate(black_box(id), &Inputs::new()));
        // The first rounds warm caches and find the clock's speed.
        (0..ROUNDS / 10).for_each(|_| drop(work()));
        let started = Instant::now();
        (0..ROUNDS).for_each(|_| drop(work()));
        let each = started.elapsed() / ROUNDS;
        println!("| `{id}`, one calculation, native | {:.1} µs |", each.as_secs_f64() * 1e6);
    }
    let rows = sixty_rows();
    let begin = calc_core::valve::fitted("6L6GC").expect("the 6L6GC has a model").model;
    let started = Instant::now();
    (0..100).for_each(|_| {
        black_box(fit(black_box(&begin), &rows));
    });
    println!(
        "| a valve model fitted to 60 points, native | {:.2} ms |",
        started.elapsed().as_secs_f64() * 10.0
    );
}

/// Points as a reader might measure them, of a valve unlike the one that the fit begins with.
fn sixty_rows() -> Vec<Row> {
    let model = calc_core::valve::fitted("EL34").expect("the EL34 has a model").model;
    let row = |at: u32| {
        let volts = Volts {
            anode: 150.0 + 50.0 * f64::from(at % 7),
            screen: 200.0 + 40.0 * f64::from(at % 5),
            grid: -6.0 - 2.0 * f64::from(at % 11),
        };
        let currents = model.currents(volts);
        Row {
            volts,
            anode: currents.anode,
            screen: Some(currents.screen),
            gm: None,
            ra: None,
            cut_off: false,
        }
    };
    (0..60).map(row).collect()
}
