//! A capacitor is typed as it is marked.

use crate::calculators::asked::{problem, report};

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
