use super::*;
use crate::calculator::{Inputs, Outcome};

fn outcome(inputs: &[(&str, &str)]) -> Outcome {
    let inputs: Inputs = inputs.iter().map(|(id, text)| ((*id).to_owned(), (*text).to_owned())).collect();
    let outcome = crate::calculate("taper", &inputs).unwrap();
    assert!(outcome.unknown.is_empty(), "{:?}", outcome.unknown);
    outcome
}

fn report(inputs: &[(&str, &str)]) -> Report {
    let outcome = outcome(inputs);
    let problems: Vec<String> = outcome.problems().map(|problem| problem.message.clone()).collect();
    outcome.report.unwrap_or_else(|| panic!("{problems:?}"))
}

fn value(report: &Report, id: &str) -> f64 {
    let answered = report.answers.iter().find(|answered| answered.answer.id == id);
    answered.unwrap_or_else(|| panic!("no answer {id}")).answer.value
}

/// A pot with nothing round it.
const BARE: [(&str, &str); 4] = [("driver", "0R"), ("loaded", "no"), ("dead-low", "0"), ("dead-high", "0")];

fn bare(more: &[(&'static str, &'static str)]) -> Report {
    report(&[&BARE[..], more].concat())
}

#[test]
fn the_law_is_two_straight_segments_not_a_logarithm() {
    // 15 % at half rotation and 7.5 % at a quarter: an exponential would have 4.4 % there.
    assert!((value(&bare(&[("knob", "2.5")]), "share") - 0.075).abs() < 1e-12);
    // At the knee the next degree up does five times what the last one did.
    let knee = bare(&[]);
    assert!(value(&knee, "feel-up") > 5.0 * value(&knee, "feel-down"));
}

#[test]
fn a_loaded_law_is_not_the_law_on_the_sheet() {
    let loaded = report(&[("driver", "0R"), ("resistance", "1M"), ("load", "220k")]);
    assert!(value(&loaded, "level") < value(&loaded, "level-made") - 3.0);
    assert!(loaded.notes.iter().any(|note| note.contains("not the track’s own law")), "{:?}", loaded.notes);
    let bare = bare(&[]);
    assert!((value(&bare, "level") - value(&bare, "level-made")).abs() < 1e-9);
    assert!(!bare.notes.iter().any(|note| note.contains("not the track’s own law")));
}

#[test]
fn three_decibels_between_gangs_are_41_per_cent() {
    let report = bare(&[("mismatch", "3 dB")]);
    assert!(report.summary.contains("41\u{a0}% more drive"), "{}", report.summary);
    assert!((value(&report, "balance") - 3.0).abs() < 1e-9);
    // At either end both wipers rest on metal.
    for knob in ["0", "10"] {
        assert_eq!(value(&bare(&[("knob", knob)]), "balance-ratio"), 1.0, "{knob}");
    }
}

#[test]
fn tracking_is_judged_only_where_sheets_promise_it() {
    for (inputs, word) in [
        (&[("mismatch", "3 dB")][..], "within"),
        (&[("mismatch", "3 dB"), ("mismatch.tolerance", "0.5 dB")], "borderline"),
        (&[("mismatch", "5 dB")], "beyond"),
        (&[("mismatch", "3 dB"), ("knob", "0.2")], "no published limit"),
        (&[("law", "linear"), ("mismatch", "3.5 dB")], "within"),
        (&[("law", "linear"), ("mismatch", "3.5 dB"), ("knob", "0.5")], "no published limit"),
    ] {
        assert_eq!(bare(inputs).verdicts[0].standing.word(), word, "{inputs:?}");
    }
    assert!(bare(&[("gangs", "one")]).verdicts.is_empty());
}

#[test]
fn points_in_per_cent_and_in_ohms_are_the_same_law() {
    let shares = report(&[("law", "points"), ("points", "0:0 2:3% 5:15% 8:60% 10:100%")]);
    let ohms = report(&[("law", "ohm-points"), ("ohm-points", "0:0 2:7k5 5:37k5 8:150k 10:250k")]);
    for id in ["share", "level", "source", "knob-at-40", "driver-load"] {
        let (a, b) = (value(&shares, id), value(&ohms, id));
        assert!((a - b).abs() <= 1e-9 * a.abs(), "{id}: {a} and {b}");
    }
    let drawn = shares.picture.unwrap();
    let points = drawn.series.iter().find(|series| series.name == "your points").unwrap();
    assert_eq!(points.points.len(), 4, "all but the one where nothing comes out");
}

#[test]
fn points_that_are_no_law_are_refused_at_their_field() {
    for (law, field, text, reason) in [
        ("points", "points", "0:0 5:15 9:90", "begin at one stop"),
        ("points", "points", "0:0 5:50 6:40 10:100", "fall as the knob rises"),
        ("ohm-points", "ohm-points", "0:250k 10:0", "reads zero"),
        ("points", "points", "0:0 5:15%, 10", "point 2"),
    ] {
        let outcome = outcome(&[("law", law), (field, text)]);
        let at = outcome.fields.iter().find(|asked| asked.id == field).unwrap();
        let message = &at.problem.as_ref().unwrap().message;
        assert!(message.contains(reason), "{text}: {message}");
        assert!(outcome.report.is_none());
    }
}

#[test]
fn what_never_gets_quiet_says_so() {
    let report = report(&[("law", "points"), ("points", "0:5% 10:100%"), ("knob", "0")]);
    assert_eq!(value(&report, "knob-at-40"), 0.0);
    assert!(report.notes.iter().any(|note| note.contains("never falls")), "{:?}", report.notes);
    assert!(!bare(&[]).notes.iter().any(|note| note.contains("never falls")));
}

#[test]
fn nothing_has_no_level_but_the_rest_is_still_answered() {
    let report = report(&[("knob", "0")]);
    assert!(report.summary.contains("nothing comes out"));
    assert!(report.answers.iter().all(|answered| answered.answer.id != "level"));
    assert_eq!(value(&report, "fraction"), 0.0);
}

#[test]
fn a_shunt_says_its_price() {
    let report = report(&[("law", "linear"), ("shunted", "yes"), ("shunt", "47k"), ("loaded", "no")]);
    let price = report.notes.iter().find(|note| note.contains("price of the shunt")).unwrap();
    assert!(price.replace('\u{a0}', " ").contains("39.6 kΩ in place of 250 kΩ"), "{price}");
}

#[test]
fn the_table_runs_from_stop_to_stop() {
    let rows = report(&[]).tables.remove(0).get().rows;
    assert_eq!(rows.len(), 11);
    assert_eq!(rows[0][3], "nothing");
    assert_eq!(rows[10][3], "0.0\u{a0}dB");
}

/// The label says half rotation, and so do the makers: 15 % there, wherever the live part begins and ends.
#[test]
fn half_rotation_is_half_rotation() {
    for (low, high) in [("0°", "40°"), ("40°", "0°"), ("20°", "20°"), ("0°", "80°")] {
        let dead = [("dead-low", low), ("dead-high", high), ("knob", "5")];
        assert!((value(&report(&dead), "share") - 0.15).abs() < 1e-12, "{low} {high}");
    }
    // A reverse law is an audio law from the other end.
    let reverse = report(&[("law", "reverse"), ("dead-low", "0°"), ("dead-high", "40°")]);
    assert!((value(&reverse, "share") - 0.85).abs() < 1e-12);
    // A linear track is straight along its live part: 150° of 240°.
    let linear = report(&[("law", "linear"), ("dead-low", "0°"), ("dead-high", "60°")]);
    assert!((value(&linear, "share") - 0.625).abs() < 1e-12);
}
