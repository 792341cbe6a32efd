//! Runs every calculator with hard inputs, natively or as WebAssembly (WASI):
//!
//! ```text
//! cargo run --package tests --bin hard -- RUNS [FIRST-SEED [CALCULATOR]]
//! ```
//!
//! Prints each run that went wrong with its seed, and of each calculator how many runs had an answer. Fails where one went
//! wrong; a panic names its seed as well.

use std::cell::Cell;
use std::process::ExitCode;

use tests::hard::{hard_inputs, run};

thread_local! {
    /// Which calculator and seed is being run, for a panic that nothing returns from.
    static NOW: Cell<(&'static str, u64)> = const { Cell::new(("", 0)) };
}

fn main() -> ExitCode {
    let words: Vec<String> = std::env::args().skip(1).collect();
    let number = |at: usize, usual: u64| words.get(at).and_then(|word| word.parse().ok()).unwrap_or(usual);
    let (runs, first) = (number(0, 1000), number(1, 1));
    let usual = std::panic::take_hook();
    std::panic::set_hook(Box::new(move |panic| {
        let (id, seed) = NOW.get();
        let typed = calc_core::find(id).map(|entry| hard_inputs(entry, seed));
        println!("{id}, seed {seed}: panic with {typed:?}");
        usual(panic);
    }));
    let mut wrong = 0;
    for entry in calc_core::calculators().filter(|entry| words.get(2).is_none_or(|id| id == entry.sheet.id)) {
        let id = entry.sheet.id;
        let seeds = (first..first + runs).inspect(|seed| NOW.set((id, *seed)));
        let found = run(entry, seeds, |seed, complaints| {
            wrong += 1;
            println!("{id}, seed {seed}: {}", complaints.join("\n  "));
        });
        println!(
            "{id}: {runs} runs from seed {first}, {} with an answer; margins unknown: {:?}",
            found.answered, found.unknown
        );
    }
    if wrong == 0 { ExitCode::SUCCESS } else { ExitCode::FAILURE }
}
