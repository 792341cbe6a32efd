//! What must not allocate, and does not.

use calc_core::circuit::Phasor;
use calc_core::circuit::units::hertz;
use tests::master::master_volume;

#[test]
fn a_sweep_allocates_nothing_between_its_first_and_its_last_frequency() {
    let network = master_volume();
    let mut sweep = network.sweep(&["grid upper"]).expect("the network can be solved");
    let frequencies: Vec<_> = (1..=10_000_u32).map(|at| hertz(f64::from(at))).collect();
    let mut answers = vec![Phasor::default(); frequencies.len()];
    let filled = allocation_counter::measure(|| {
        sweep.fill(&frequencies, &mut answers).expect("it has answers");
    });
    assert_eq!(filled.count_total, 0, "{filled:?}");
    // One by one as well.
    let one = allocation_counter::measure(|| {
        for frequency in &frequencies {
            sweep.at(*frequency).expect("it has an answer");
        }
    });
    assert_eq!(one.count_total, 0, "{one:?}");
    // The counter counts.
    assert!(allocation_counter::measure(|| drop(network.sweep(&["grid upper"]))).count_total > 0);
}
