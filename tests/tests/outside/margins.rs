//! The margins against the worked examples of JCGM 100:2008 (GUM).
//!
//! Our root sum square is the GUM's combined uncertainty for inputs that do not depend on each other, to first order;
//! so each input is moved by its standard uncertainty here.

use calc_core::margin::{Margin, propagate};

fn margin(inputs: &[(f64, f64)], model: impl Fn(&[f64]) -> f64) -> Margin {
    let at = |moves: &[f64]| -> Vec<f64> {
        inputs.iter().zip(moves).map(|((value, half), share)| value + share * half).collect()
    };
    let centre = model(&at(&vec![0.0; inputs.len()]));
    propagate(&[centre], &[None], inputs.len(), |moves| Some(vec![model(&at(moves))]))[0]
}

#[track_caller]
fn close(is: f64, should_be: f64, within: f64) {
    assert!((is - should_be).abs() <= within, "{is} should be {should_be} within {within}");
}

/// GUM H.1, the end gauge. Printed there: l = 50 000 838 nm, combined standard uncertainty 32 nm to first order.
/// Inputs and results as read in the documentation of the metrology library GTC 1.5.1 (31.7 nm by its own working).
#[test]
fn the_end_gauge_of_h_1() {
    let standard = (50_000_623.0, 25.0);
    // The difference: scatter 5.8, comparator random 3.9 and systematic 6.7 nm.
    let differences = [(215.0, 5.8), (0.0, 3.9), (0.0, 6.7)];
    let (expansion, expansion_difference) = ((11.5e-6, 1.2e-6), (0.0, 0.58e-6));
    let (temperature, temperature_difference) = ((-0.1, 0.41), (0.0, 0.029));
    let inputs = [
        standard,
        differences[0],
        differences[1],
        differences[2],
        expansion_difference,
        temperature,
        expansion,
        temperature_difference,
    ];
    let length = margin(&inputs, |x| x[0] + x[1] + x[2] + x[3] - x[0] * (x[4] * x[5] + x[6] * x[7]));
    close(length.value, 50_000_838.0, 0.5);
    close(length.rss, 31.7, 0.1);
    assert_eq!(length.most, Some(0), "the standard's own calibration weighs most");
}

/// GUM H.2, resistance, reactance and impedance from voltage, current and phase. The GUM's own uncertainties (0.071,
/// 0.295, 0.236 Ω) count the correlation of the readings, which ours does not know: without it numpy and GTC 1.5.1 give
/// 0.194, 0.201 and 0.204 Ω. The second half holds that the difference is real, so that nobody takes the one for the
/// other.
#[test]
fn the_impedance_of_h_2_without_its_correlations() {
    let inputs = [(4.9990, 0.0032), (19.6610e-3, 0.0095e-3), (1.044_46, 0.000_75)];
    let resistance = margin(&inputs, |x| x[0] * libm::cos(x[2]) / x[1]);
    let reactance = margin(&inputs, |x| x[0] * libm::sin(x[2]) / x[1]);
    let impedance = margin(&inputs, |x| x[0] / x[1]);
    close(resistance.value, 127.732, 0.001);
    close(reactance.value, 219.847, 0.001);
    close(impedance.value, 254.260, 0.001);
    close(resistance.rss, 0.194, 0.001);
    close(reactance.rss, 0.201, 0.001);
    close(impedance.rss, 0.204, 0.001);
    assert!(resistance.rss > 2.5 * 0.071, "the printed figure counts correlation");
}
