//! How long a point of a network sweep takes in a browser. `cargo xtask bench` runs it and keeps what it prints.

#![cfg(target_arch = "wasm32")]

#[path = "../../tests/src/master.rs"]
mod master;

use calc_core::circuit::Phasor;
use calc_core::circuit::units::hertz;
use master::{FREQUENCIES, master_volume};
use wasm_bindgen_test::{console_log, wasm_bindgen_test, wasm_bindgen_test_configure};

wasm_bindgen_test_configure!(run_in_browser);

#[wasm_bindgen_test]
fn sweep() {
    let network = master_volume();
    let mut sweep = network.sweep(&["grid upper"]).expect("the network can be solved");
    let frequencies: Vec<_> = (1..=FREQUENCIES).map(|at| hertz(f64::from(at))).collect();
    let mut answers = vec![Phasor::default(); frequencies.len()];
    let now =
        || web_sys::window().and_then(|window| window.performance()).map_or(f64::NAN, |clock| clock.now());
    // The first rounds are compiled on the way.
    let mut took = f64::NAN;
    for _ in 0..5 {
        let started = now();
        sweep.fill(&frequencies, &mut answers).expect("it has answers");
        took = now() - started;
    }
    assert!(answers.iter().all(|answer| answer.amplitude().is_finite()));
    console_log!(
        "| network sweep of 100,000 frequencies, in Chromium | {:.3} µs a point |",
        took * 1e3 / f64::from(FREQUENCIES)
    );
}
