//! What the bias splitter says, and not only what it finds.

use crate::calculate;
use crate::calculator::{Inputs, Report};
use crate::calculators::asked;

fn report(inputs: &[(&str, &str)]) -> Report {
    let inputs: Inputs = inputs.iter().map(|(id, text)| ((*id).to_owned(), (*text).to_owned())).collect();
    let outcome = calculate("bias-splitter", &inputs).unwrap();
    assert!(outcome.unknown.is_empty(), "{:?}", outcome.unknown);
    outcome.report.unwrap_or_else(|| panic!("{:?}", outcome.fields))
}

fn standing(report: &Report, about: &str) -> &'static str {
    let verdict = report.verdicts.iter().find(|verdict| verdict.about == about);
    verdict.unwrap_or_else(|| panic!("nothing is said of {about}")).standing.word()
}

/// The leaks that the table of preferred values marks as satisfying all at once.
fn that_do(report: &Report) -> Vec<String> {
    let table = report.tables.last().unwrap().get();
    let rows = table.rows.iter();
    rows.filter(|row| row.last().unwrap().starts_with("yes"))
        .map(|row| row[0].replace('\u{a0}', " "))
        .collect()
}

#[test]
fn a_usual_value_beyond_the_sheet_is_shown_as_both() {
    let report = report(&[("other-valve", "6550"), ("other-leak", "150k")]);
    for whose in ["", ", other design"] {
        assert_eq!(standing(&report, &format!("Grid circuit, fixed bias{whose}")), "beyond");
        assert_eq!(standing(&report, &format!("Leak, by common practice{whose}")), "within");
    }
    for (valve, usual, limit) in
        [("6L6GC", "220\u{a0}kΩ", "100\u{a0}kΩ"), ("6550", "150\u{a0}kΩ", "50\u{a0}kΩ")]
    {
        let said = |note: &&String| note.starts_with(usual) && note.contains(valve) && note.contains(limit);
        assert_eq!(report.notes.iter().filter(said).count(), 1, "{valve}: {:?}", report.notes);
    }
    let habits =
        report.verdicts.iter().filter(|verdict| verdict.about.starts_with("Leak, by common practice"));
    assert!(habits.map(|verdict| verdict.is_rule_of_thumb()).eq([true, true]));
}

#[test]
fn the_habit_is_one_valves_too() {
    assert_eq!(
        standing(&report(&[("leak", "220k"), ("valves-on-leak", "2")]), "Leak, by common practice"),
        "beyond"
    );
    assert_eq!(
        standing(&report(&[("leak", "100k"), ("valves-on-leak", "2")]), "Leak, by common practice"),
        "within"
    );
}

#[test]
fn fixed_and_cathode_bias_have_their_own_maximum_and_no_habit_is_carried_over() {
    let cathode = report(&[("bias", "cathode")]);
    assert_eq!(standing(&cathode, "Grid circuit, cathode bias"), "within");
    assert!(!cathode.verdicts.iter().any(|verdict| verdict.about.starts_with("Leak, by common practice")));
    assert!(cathode.steps[0].value < 222e3, "the leaks end at chassis: no bias source counts");
}

#[test]
fn the_values_that_do_are_marked_and_the_finer_series_is_taken_where_the_coarse_has_none() {
    // By hand: 100 k less 1.5 k and 2 · 12 k leave 74.5 k; 20 Hz with 100 nF and 18 k needs 61.6 k.
    assert_eq!(that_do(&report(&[])), ["68 kΩ"]);
    // 18 Hz needs 70.4 k: 68 k is too low, 82 k too high, and of E24 only 75 k would lie between, over 74.5 k.
    assert!(that_do(&report(&[("highest-corner", "18 Hz")])).is_empty());
    // With 11 k of bias source 76.5 k are left, and 75 k does, if the parts are exact.
    let exact = ["leak.tolerance", "stopper.tolerance", "bias-source.tolerance"].map(|part| (part, "0 %"));
    let wanted = [("highest-corner", "18 Hz"), ("bias-source", "11k")];
    assert_eq!(that_do(&report(&[&exact[..], &wanted].concat())), ["75 kΩ"]);
    assert!(that_do(&report(&wanted)).is_empty());
}

#[test]
fn a_row_stands_to_the_sheet_as_the_same_leak_typed_does() {
    let four = [("valve", "EL34"), ("valves-on-leak", "2"), ("valves", "4")];
    let table = report(&four).tables.pop().unwrap().get();
    for row in &table.rows {
        let leak = row[0].replace("\u{a0}", " ");
        let typed = report(&[&four[..], &[("leak", leak.as_str())]].concat());
        assert!(row[1].ends_with(standing(&typed, "Grid circuit, fixed bias")), "{row:?}");
    }
    // 220 k is inside at its nominal value, and not with 5 %.
    assert!(
        table.rows.iter().any(|row| row[0] == "220\u{a0}kΩ" && row[4] == "borderline"),
        "{:?}",
        table.rows
    );
}

#[test]
fn a_limit_nobody_published_is_not_satisfied() {
    let report = report(&[("valve", "KT77")]);
    assert_eq!(standing(&report, "Grid circuit, fixed bias"), "no published limit");
    assert!(that_do(&report).is_empty());
}

#[test]
fn a_valve_typed_from_its_sheet_brings_both_limits() {
    let typed = [("valve", "typed"), ("limit-fixed", "250k"), ("limit-cathode", "200k")];
    assert_eq!(standing(&report(&typed), "Grid circuit, fixed bias"), "borderline");
    let cathode = [&typed[..], &[("bias", "cathode")]].concat();
    assert_eq!(standing(&report(&cathode), "Grid circuit, cathode bias"), "beyond");
}

#[test]
fn a_bias_source_that_takes_the_whole_limit_leaves_no_leak() {
    let report = report(&[("bias-source", "100k")]);
    let verdict = report.verdicts.first().unwrap();
    assert!(verdict.advice.starts_with("No leak is low enough"), "{}", verdict.advice);
    assert!(
        report.answers.iter().any(|found| found.answer.id == "largest-leak" && found.margin.value == 0.0)
    );
}

#[test]
fn grid_current_that_takes_the_whole_bias_is_called_what_it_is() {
    assert!(report(&[("grid-current", "200 µA")]).notes[0].contains("runs away"));
    assert!(!report(&[("grid-current", "100 µA")]).notes[0].contains("runs away"));
}

#[test]
fn more_valves_on_a_leak_than_in_all_is_a_contradiction() {
    let inputs = Inputs::from([("valves-on-leak".to_owned(), "4".to_owned())]);
    let outcome = calculate("bias-splitter", &inputs).unwrap();
    let field = outcome.fields.iter().find(|field| field.id == "valves").unwrap();
    assert!(field.problem.as_ref().unwrap().message.contains("Count both sides"));
}

/// By hand: four valves with a leak each are two leaks a side. 220 k / 2 = 110 kΩ; 20 lg (128 / 110) = 1.316 dB;
/// 1 / (2π × 100 nF × 128 kΩ) = 12.43 Hz.
#[test]
fn leaks_are_counted_a_side() {
    for (valves, on_leak, load, loss, corner) in [
        ("2", "1", 220e3, 0.683, 6.687),
        ("4", "2", 220e3, 0.683, 6.687),
        ("4", "1", 110e3, 1.316, 12.434),
        ("8", "1", 55e3, 2.459, 21.802),
        ("1", "1", 220e3, 0.683, 6.687),
    ] {
        let typed = [("valves", valves), ("valves-on-leak", on_leak)];
        let report = asked::report("bias-splitter", &typed);
        for (id, expected) in [("inverter-load", load), ("loss", loss), ("corner", corner)] {
            let found = asked::value(&report, id);
            assert!(asked::near(found, expected, 1e-3), "{valves}, {on_leak}, {id}: {found}");
        }
    }
    for (valves, on_leak) in [("3", "1"), ("5", "2"), ("6", "4"), ("6", "2")] {
        let typed = [("valves", valves), ("valves-on-leak", on_leak)];
        let refused = asked::problem("bias-splitter", &typed, "valves");
        assert!(refused.is_some_and(|said| said.contains("side")), "{valves}, {on_leak}");
    }
}
