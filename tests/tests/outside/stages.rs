//! Triode stages and inverters against ngspice, which solves them with the same model of the valve: the netlists are
//! written by hand, and only the model's parameters are put in.

use calc_core::calculator::Inputs;
use calc_core::valve::fitted;
use calc_core::valve::model::Model;

use crate::ngspice::{Run, run, text};

/// Runs a netlist of `tests/data/outside/netlists` with the book's model of a valve.
#[track_caller]
fn run_with(netlist: &str, valve: &str) -> Run {
    let Some(Model::Triode(triode)) = fitted(valve).map(|fitted| fitted.model) else {
        panic!("{valve} has no triode's model");
    };
    let parameters = format!(
        ".param mu={:e} ex={:e} kg1={:e} kp={:e} kvb={:e} vct={:e}",
        triode.mu, triode.ex, triode.kg1, triode.kp, triode.kvb, triode.vct
    );
    run(&text(netlist).replace("\nMODEL\n", &format!("\n{parameters}\n")))
}

#[track_caller]
fn agrees(calculator: &str, inputs: &[(&str, &str)], expected: &[(&str, f64, f64)]) {
    let inputs: Inputs = inputs.iter().map(|(id, text)| ((*id).to_owned(), (*text).to_owned())).collect();
    let outcome = calc_core::calculate(calculator, &inputs).expect("there is such a calculator");
    assert_eq!(outcome.unknown, Vec::<String>::new());
    let report = outcome.report.expect("an answer");
    for (id, theirs, share) in expected {
        let found = report.answers.iter().find(|answered| answered.answer.id == *id);
        let ours = found.unwrap_or_else(|| panic!("{calculator} has no answer {id}")).margin.value;
        let off = (ours / theirs - 1.0).abs();
        assert!(off <= *share, "{calculator}, {id}: {ours}, ngspice {theirs}, off by {off:e}");
    }
}

/// A share of the value: what the two may differ by at rest, and to signals, where ours are slopes by differences.
const AT_REST: f64 = 1e-4;
const TO_SIGNALS: f64 = 1e-3;

#[test]
fn a_gain_stage() {
    let run = run_with("gain-stage.cir", "12AX7");
    agrees(
        "gain-stage",
        &[],
        &[
            ("anode-current", run.number("current"), AT_REST),
            ("anode-voltage", run.number("v(anode)"), AT_REST),
            ("cathode-voltage", run.number("v(cathode)"), AT_REST),
            ("headroom-down", run.number("down"), AT_REST),
            ("gain", run.number("gain"), TO_SIGNALS),
            ("gain-unbypassed", run.number("bare"), TO_SIGNALS),
            ("input-capacitance", run.number("input_capacitance"), TO_SIGNALS),
            ("output-resistance", run.number("output_resistance"), TO_SIGNALS),
        ],
    );
}
