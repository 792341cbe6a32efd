//! How long one calculation takes: from what was typed to answers, margins, verdicts and working.

use std::hint::black_box;
use std::time::Instant;

use calc_core::calculator::Inputs;

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
}
