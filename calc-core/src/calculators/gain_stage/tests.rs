//! What a reader may type and must not break.

use crate::calculators::asked::{report, value};

/// 100 % is a tolerance that may be typed: one end of it leaves nothing of a resistor.
#[test]
fn a_tolerance_of_the_whole_value_does_not_panic() {
    for field in ["supply", "anode-resistor", "cathode-resistor", "next-leak", "source", "bypass-capacitor"] {
        for bypass in ["yes", "no"] {
            let tolerance = format!("{field}.tolerance");
            if field == "bypass-capacitor" && bypass == "no" {
                continue;
            }
            let report = report("gain-stage", &[("bypass", bypass), (&tolerance, "100 %")]);
            assert!(value(&report, "gain") > 0.0, "{field}");
            assert!(!report.as_text("").contains("NaN"), "{field}: {}", report.as_text(""));
        }
    }
}

/// Without any capacitance there is no treble corner: fuzzing once found it at infinity.
#[test]
fn a_grid_without_any_capacitance_is_refused() {
    let none = ["grid-capacitance", "anode-grid-capacitance", "stray"];
    let inputs = none.map(|id| (id.to_owned(), "0 pF".to_owned())).into();
    let outcome = crate::calculate("gain-stage", &inputs).unwrap();
    let refused: Vec<&str> = outcome.problems().map(|problem| problem.message.as_str()).collect();
    assert!(outcome.report.is_none() && refused.len() == 1, "{refused:?}");
}
