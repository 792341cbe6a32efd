//! The margin that an answer from a valve's model carries, against the valve's own data sheet: at the voltages of a published row,
//! or at its current, the published figure lies within the stated margin. Readings count as exact here and valves as all
//! the same, so that nothing is left but the model against its data sheet.

use std::collections::BTreeMap;

use calc_core::calculator::{Inputs, Report, tolerance_id};
use calc_core::margin::Margin;
use calc_core::valve::{Residual, VALVES, fitted, residuals};

/// The fields whose tolerance is the model's own.
const MODEL: &[&str] = &["model-share", "screen-share", "gm-share", "ra-share", "mu-share"];

/// The report for what is typed, with no tolerance anywhere but the model's.
#[track_caller]
fn report(calculator: &str, typed: &[(&str, String)]) -> Report {
    let mut inputs: Inputs = typed.iter().map(|(id, text)| ((*id).to_owned(), text.clone())).collect();
    let asked = calc_core::calculate(calculator, &inputs).expect("there is such a calculator");
    for field in asked.fields {
        if field.tolerance.is_some() && !MODEL.contains(&field.id) {
            inputs.insert(tolerance_id(field.id), "0 %".to_owned());
        }
    }
    let outcome = calc_core::calculate(calculator, &inputs).expect("there is such a calculator");
    assert_eq!(outcome.unknown, Vec::<String>::new());
    let problems: Vec<_> = outcome.problems().cloned().collect();
    outcome.report.unwrap_or_else(|| panic!("{calculator}, {typed:?}: {problems:?}"))
}

fn margin(report: &Report, id: &str) -> Margin {
    report.answers.iter().find(|answered| answered.answer.id == id).expect("the answer is there").margin
}

/// Whether a published figure is within a margin, to the last digits of a number.
#[track_caller]
fn holds(said: &str, report: &Report, id: &str, published: f64) {
    let Margin { value, low, high, known, .. } = margin(report, id);
    let last = 1e-6 * published.abs();
    assert!(known, "{said}: the margin of {id} is not known");
    assert!(
        low - last <= published && published <= high + last,
        "{said}: {id} {value} ({low} to {high}), the sheet {published}"
    );
}

fn rows() -> impl Iterator<Item = Residual> {
    residuals().filter(|residual| !residual.sheet.row.cut_off)
}

fn volts(value: f64) -> String {
    format!("{value:.6} V")
}

#[test]
fn at_the_voltages_of_a_row_its_figures_lie_within_the_margin() {
    let (mut figures, mut valves) = (0, Vec::new());
    for Residual { sheet, .. } in rows() {
        let row = sheet.row;
        let at = [("anode-voltage", volts(row.volts.anode)), ("screen-voltage", volts(row.volts.screen))];
        let at = if row.volts.screen > 0.0 { &at[..] } else { &at[..1] };
        let valve = ("valve", sheet.valve.to_owned());
        let current = [valve.clone(), ("find", "current".to_owned()), ("bias", volts(row.volts.grid))];
        let bias = [valve, ("target", format!("{:.6} mA", 1e3 * row.anode))];
        let said = format!("{}, {:?}", sheet.valve, row.volts);
        let published = [("screen-current", row.screen), ("gm", row.gm), ("ra", row.ra)]
            .map(|(id, figure)| figure.map(|of| (id, of)));
        let found = report("idle-point", &[at, &current].concat());
        holds(&said, &found, "anode-current", row.anode);
        // With no bias at all there is none to seek.
        let sought = (row.volts.grid < 0.0).then(|| report("idle-point", &[at, &bias].concat()));
        if let Some(sought) = &sought {
            holds(&said, sought, "bias", row.volts.grid);
        }
        for (id, figure) in published.into_iter().flatten() {
            holds(&format!("{said}, by its voltages"), &found, id, figure);
            if let Some(sought) = &sought {
                holds(&format!("{said}, by its current"), sought, id, figure);
            }
            figures += 1;
        }
        figures += 1;
        valves.push(sheet.valve);
    }
    valves.dedup();
    let with_model = VALVES.iter().filter(|valve| fitted(valve.name).is_some()).count();
    assert_eq!(valves.len(), with_model, "{valves:?}");
    assert!(figures >= 120, "only {figures} figures were compared");
}

/// A stage that rests where a row is: a cathode resistor for its bias, and next to nothing at the anode.
#[test]
fn a_stage_at_a_row_has_its_slopes_within_the_margin() {
    let mut stages = 0;
    for Residual { sheet, .. } in rows().filter(|residual| residual.sheet.row.volts.screen == 0.0) {
        let row = sheet.row;
        let (Some(gm), Some(ra), true) = (row.gm, row.ra, row.volts.grid < 0.0) else { continue };
        let (anode, cathode) = (100.0, -row.volts.grid / row.anode);
        let typed = [
            ("valve", sheet.valve.to_owned()),
            ("supply", volts(row.volts.anode + row.anode * (anode + cathode))),
            ("anode-resistor", format!("{anode} Ω")),
            ("cathode-resistor", format!("{cathode:.3} Ω")),
        ];
        let found = report("gain-stage", &typed);
        for (id, figure) in [("anode-current", row.anode), ("gm", gm), ("ra", ra), ("mu", gm * ra)] {
            holds(&format!("{}, {:?}", sheet.valve, row.volts), &found, id, figure);
        }
        stages += 1;
    }
    assert!(stages >= 8, "only {stages} stages were compared");
}

/// The margins are those that other code finds by a fit of its own: `tests/reference/model_fit.py`.
#[test]
fn other_code_finds_the_rows_as_far_from_the_model() {
    let theirs: BTreeMap<String, BTreeMap<String, [f64; 2]>> =
        toml::from_str(include_str!("../../data/outside/model-margin.toml")).expect("a table for each valve");
    let mut compared = 0;
    for fitted in VALVES.iter().filter_map(|valve| fitted(valve.name)) {
        let sheet = fitted.sheet;
        let ours = [
            ("anode", Some(sheet.anode)),
            ("screen", sheet.screen),
            ("gm", sheet.gm),
            ("ra", sheet.ra),
            ("mu", sheet.mu),
        ];
        for (figure, span) in ours {
            let theirs = theirs.get(fitted.valve).and_then(|spans| spans.get(figure));
            assert_eq!(span.is_some(), theirs.is_some(), "{}, {figure}", fitted.valve);
            let (Some(ours), Some([low, high])) = (span, theirs) else { continue };
            let off = (ours.low - low).abs().max((ours.high - high).abs());
            assert!(off < 0.003, "{}, {figure}: {ours:?}, by other code {low} to {high}", fitted.valve);
            compared += 1;
        }
    }
    assert!(compared >= 70, "only {compared} spans were compared");
}

/// No margin is worth having that holds anything: with the rows as they are, half the value is the widest.
#[test]
fn no_margin_of_a_model_is_wider_than_half() {
    for valve in VALVES.iter().filter_map(|valve| fitted(valve.name)) {
        let sheet = valve.sheet;
        for span in [Some(sheet.anode), sheet.screen, sheet.gm, sheet.ra, sheet.mu].into_iter().flatten() {
            assert!((0.15..=0.5).contains(&span.wide), "{}: {sheet:?}", valve.valve);
            assert!(span.low.abs().max(span.high.abs()) <= span.wide, "{}: {sheet:?}", valve.valve);
        }
    }
}

/// One rule for all: the slope at one idle point has one margin, whichever calculator gives it.
#[test]
fn the_slope_of_an_idle_point_has_one_margin() {
    let of = |calculator: &str, current: &str| {
        let typed = [(current, "32.5 mA")].map(|(id, text)| (id.to_owned(), text.to_owned()));
        let mut inputs = Inputs::from(typed);
        for exact in ["anode-voltage", "screen-voltage", current] {
            inputs.insert(tolerance_id(exact), "0 %".to_owned());
        }
        let asked = calc_core::calculate(calculator, &inputs).expect("there is such a calculator");
        inputs.retain(|id, _| !asked.unknown.contains(id));
        let outcome = calc_core::calculate(calculator, &inputs).expect("there is such a calculator");
        margin(&outcome.report.expect("the defaults have an answer"), "gm")
    };
    let (sought, looped) = (of("idle-point", "target"), of("lead-order", "idle-current"));
    for (one, other) in [(sought.low, looped.low), (sought.value, looped.value), (sought.high, looped.high)] {
        assert!((one / other - 1.0).abs() < 1e-6, "{sought:?} {looped:?}");
    }
    assert!(sought.low < 0.65 * sought.value && sought.high > 1.4 * sought.value, "{sought:?}");
}
