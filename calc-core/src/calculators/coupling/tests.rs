//! A capacitor is typed as it is marked.

use crate::calculators::asked::{problem, report, standing};

const FIELDS: [(&str, &str); 3] =
    [("coupling", "capacitance"), ("bias-splitter", "coupling"), ("master-volume", "coupling")];

/// Parts are marked in microfarads, in picofarads, or by two digits and how many zeros of picofarads (IEC 60062).
#[test]
fn a_bare_number_is_asked_back_with_what_parts_are_marked_with() {
    for (calculator, field) in FIELDS {
        for (typed, meant, literal) in [
            (".1", "100n", ".1 nF"),
            ("0,1", "100n", "0,1 nF"),
            ("0.022", "22n", "0.022 nF"),
            ("473", "47n", "473 nF"),
            ("104", "100n", "104 nF"),
            ("4700", "4n7", "4700 nF"),
        ] {
            let asked = problem(calculator, &[(field, typed)], field);
            let asked = asked.unwrap_or_else(|| panic!("{calculator}: {typed} is taken in silence"));
            let asked = asked.replace('\u{a0}', " ");
            assert!(asked.contains(meant) && asked.contains(literal), "{calculator}: {typed}: {asked}");
            for taken in [meant, literal] {
                // All that is offered can be taken.
                assert_eq!(problem(calculator, &[(field, taken)], field), None, "{calculator}: {taken}");
            }
        }
    }
}

#[test]
fn a_bare_number_of_nanofarads_is_one() {
    for (calculator, field) in FIELDS {
        for typed in ["100", "47", "22", "220", "2.2", "1"] {
            assert_eq!(problem(calculator, &[(field, typed)], field), None, "{calculator}: {typed}");
        }
        let _ = report(calculator, &[(field, "47")]);
    }
    // What is shown in microfarads is typed as electrolytic capacitors are marked.
    for typed in ["47", "0.1", "220", "473"] {
        assert_eq!(problem("discharge", &[("second", typed)], "second"), None, "{typed}");
    }
}

/// Bench rule: a margin that straddles a limit is never within. By hand: 1 µA through 1 MΩ lifts the grid by 1 V, and with a
/// tenth more by 1.1 V; at 0.1 mS that is 0.11 mA, a thousandth of 100 mA.
#[test]
fn a_small_rise_is_not_within_where_the_bias_may_be_gone() {
    let judged = |bias: &str| {
        let typed = [
            ("bias", "cathode"),
            ("bias-voltage", bias),
            ("leak", "1M"),
            ("leakage-by", "current"),
            ("leakage-current", "1 µA"),
            ("leakage-current.tolerance", "10 %"),
            ("gm", "0.1 mS"),
            ("idle", "100 mA"),
        ];
        standing(&report("coupling", &typed), "Leakage")
    };
    assert_eq!(judged("-1.5 V"), "within");
    assert_eq!(judged("-1.05 V"), "borderline");
    assert_eq!(judged("-1.0 V"), "beyond");
}
