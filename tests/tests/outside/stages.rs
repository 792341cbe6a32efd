//! Triode stages and inverters against ngspice, which solves them with the same model of the valve: the netlists are
//! written by hand, and only parameters are put in: the model's, and what a stage of any values is built of.

use calc_core::calculator::{Inputs, Report};
use calc_core::valve::fitted;
use calc_core::valve::model::Model;
use tests::random_inputs::random::Random;

use crate::ngspice::{Run, run, text};

/// The parameters of the book's model of a triode.
#[track_caller]
fn model(valve: &str) -> String {
    let Some(Model::Triode(triode)) = fitted(valve).map(|fitted| fitted.model) else {
        panic!("{valve} has no triode's model");
    };
    format!(
        ".param mu={:e} ex={:e} kg1={:e} kp={:e} kvb={:e} vct={:e}",
        triode.mu, triode.ex, triode.kg1, triode.kp, triode.kvb, triode.vct
    )
}

/// Runs a netlist of `tests/data/outside/netlists` with the book's model of a valve.
#[track_caller]
fn run_with(netlist: &str, valve: &str) -> Run {
    run(&text(netlist).replace("\nMODEL\n", &format!("\n{}\n", model(valve))))
}

#[track_caller]
fn report(calculator: &str, inputs: &[(&str, &str)]) -> Report {
    let inputs: Inputs = inputs.iter().map(|(id, text)| ((*id).to_owned(), (*text).to_owned())).collect();
    let outcome = calc_core::calculate(calculator, &inputs).expect("there is such a calculator");
    assert_eq!(outcome.unknown, Vec::<String>::new());
    let problems: Vec<_> = outcome.problems().map(|problem| problem.message.clone()).collect();
    assert!(problems.is_empty(), "{calculator} {inputs:?}: {problems:?}");
    outcome.report.expect("it has an answer")
}

#[track_caller]
fn answer(report: &Report, id: &str) -> f64 {
    let found = report.answers.iter().find(|answered| answered.answer.id == id);
    found.unwrap_or_else(|| panic!("no answer {id}")).margin.value
}

#[track_caller]
fn agrees(calculator: &str, inputs: &[(&str, &str)], expected: &[(&str, f64, f64)]) {
    let report = report(calculator, inputs);
    for (id, theirs, share) in expected {
        near(&format!("{calculator} {inputs:?}, {id}"), answer(&report, id), *theirs, *share);
    }
}

#[track_caller]
fn near(what: &str, ours: f64, theirs: f64, share: f64) {
    let off = (ours / theirs - 1.0).abs();
    assert!(off <= share, "{what}: {ours}, ngspice {theirs}, off by {off:e}");
}

/// A share of the value: what the two may differ by at rest, and to signals.
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

/// A number that ngspice measured in a sweep; it prints more behind it.
#[track_caller]
fn measured(run: &Run, name: &str) -> f64 {
    let line = run.printed.lines().find_map(|line| line.strip_prefix(name)?.trim().strip_prefix("= "));
    let number = line.and_then(|line| line.split_whitespace().next());
    number.unwrap_or_else(|| panic!("no {name}:\n{}", run.printed)).parse().expect("a number")
}

#[test]
fn a_long_tailed_pair() {
    let run = run_with("phase-inverter.cir", "12AT7");
    let (up, down) = (measured(&run, "up_grid"), measured(&run, "down_grid"));
    let drive = up.min(-down);
    // The sides at rest and at that drive either way, by a straight line between the points of the sweep.
    let swept = run.table("swing");
    let at = |volts: f64| {
        let after =
            swept.iter().position(|(drive, _)| *drive >= volts).expect("the sweep goes so far").max(1);
        let ((x0, low), (x1, high)) = (&swept[after - 1], &swept[after]);
        let part = (volts - x0) / (x1 - x0);
        [0, 1].map(|side| low[side] + part * (high[side] - low[side]))
    };
    let ways =
        [at(drive), at(-drive)].into_iter().flat_map(|moved| [0, 1].map(|side| moved[side] - at(0.0)[side]));
    let swing = ways.fold(f64::INFINITY, |least, way| least.min(way.abs()));
    // The netlist has the leaks of 1 MΩ, which the book's formulas leave out.
    let leaks = 2e-3;
    agrees(
        "phase-inverter",
        &[],
        &[
            ("voltage-1", run.number("v(a1)"), AT_REST),
            ("voltage-2", run.number("v(a2)"), AT_REST),
            ("cathode-voltage", run.number("v(k)"), AT_REST),
            ("grid-voltage", run.number("v(tail)"), AT_REST),
            ("current-1", run.number("current1"), AT_REST),
            ("current-2", run.number("current2"), AT_REST),
            ("drive", drive, TO_SIGNALS),
            ("swing", swing, TO_SIGNALS),
            ("gain-1", run.number("gain1"), TO_SIGNALS),
            ("gain-2", run.number("gain2"), TO_SIGNALS),
            ("alone-1", run.number("alone1"), leaks),
            ("alone-2", run.number("alone2"), leaks),
        ],
    );
}

/// The split load has the same line and the same ends whichever program draws them.
#[test]
fn a_split_load() {
    let run = run_with("split-load.cir", "12AX7");
    agrees(
        "phase-inverter",
        &[("kind", "split"), ("valve", "12AX7"), ("supply", "300 V")],
        &[
            ("voltage-1", run.number("v(anode)"), AT_REST),
            ("voltage-2", run.number("v(load)"), AT_REST),
            ("cathode-voltage", run.number("v(k)"), AT_REST),
            ("gain-1", run.number("gain1"), TO_SIGNALS),
            ("gain-2", run.number("gain2"), TO_SIGNALS),
            ("alone-1", run.number("alone1"), TO_SIGNALS),
            ("alone-2", run.number("alone2"), TO_SIGNALS),
            ("output-resistance-1", run.number("alike"), TO_SIGNALS),
        ],
    );
}

/// What one resistor, voltage or share of a stage may be.
struct Part {
    /// The field that it is typed into.
    field: &'static str,
    /// What the netlist calls it.
    parameter: &'static str,
    low: f64,
    high: f64,
    /// What is typed behind the number, and what one of it is.
    unit: (&'static str, f64),
}

const fn ohms(field: &'static str, parameter: &'static str, low: f64, high: f64) -> Part {
    Part { field, parameter, low, high, unit: (" Ω", 1.0) }
}

const fn volts(field: &'static str, parameter: &'static str, low: f64, high: f64) -> Part {
    Part { field, parameter, low, high, unit: (" V", 1.0) }
}

const fn picofarads(field: &'static str, parameter: &'static str) -> Part {
    Part { field, parameter, low: 1.0, high: 100.0, unit: (" pF", 1e-12) }
}

const SHARE: Part =
    Part { field: "valve-share", parameter: "share", low: 60.0, high: 160.0, unit: (" %", 0.01) };

/// A stage that was built at random.
struct Built {
    /// Whether the valve is the model's own: the slopes of another are the model's at its current, which no netlist has.
    average: bool,
    typed: Vec<(&'static str, String)>,
    /// For the netlist.
    parameters: String,
}

impl Built {
    /// Of a valve and of parts with figures that a bench would type, spread evenly over their decades.
    fn of(parts: &[Part], average: bool, random: &mut Random) -> Self {
        let valve = *random.one_of(&["12AX7", "12AT7", "12AU7", "12AY7", "5751"]);
        let mut built = Self { average, typed: vec![("valve", valve.to_owned())], parameters: model(valve) };
        for part in parts {
            let Part { field, parameter, low, high, unit: (unit, one) } = *part;
            let drawn = libm::round(random.over_decades(low, high));
            let number = if average && field == SHARE.field { 100.0 } else { drawn };
            built.typed.push((field, format!("{number}{unit}")));
            built.give(parameter, number * one);
        }
        built
    }

    fn give(&mut self, parameter: &str, value: f64) {
        self.parameters += &format!(" {parameter}={value:e}");
    }

    fn chosen(&mut self, field: &'static str, choice: &str) {
        self.typed.push((field, choice.to_owned()));
    }

    fn typed(&self) -> Vec<(&str, &str)> {
        self.typed.iter().map(|(field, text)| (*field, text.as_str())).collect()
    }

    fn run(&self, netlist: &str) -> Run {
        run(&text(netlist).replace("\nPARAMETERS\n", &format!("\n{}\n", self.parameters)))
    }

    /// Holds the answers against what is expected, and those that follow from the slopes where the valve is average.
    #[track_caller]
    fn agrees(&self, calculator: &str, expected: &[(&str, f64, f64)], of_slopes: &[(&str, f64, f64)]) {
        agrees(calculator, &self.typed(), expected);
        if self.average {
            agrees(calculator, &self.typed(), of_slopes);
        }
    }

    /// Runs a netlist that is told the drive at which the swing ends by the calculator.
    fn driven(&mut self, netlist: &str) -> Run {
        let drive = answer(&report("phase-inverter", &self.typed()), "drive");
        self.give("drive", drive);
        self.run(netlist)
    }
}

/// Stages built at random differ by no more than what the netlists leave: capacitors of 1 F for wires, 10 mΩ for none.
const ANY: f64 = 1e-5;
const STAGES: u64 = 8;

/// Every second pair of stages: either kind of stage has either kind of valve.
fn is_average(seed: u64) -> bool {
    seed % 4 < 2
}

#[test]
fn gain_stages_of_any_values() {
    let parts = [
        volts("supply", "supply", 150.0, 450.0),
        ohms("anode-resistor", "r_a", 33e3, 330e3),
        ohms("cathode-resistor", "r_k", 470.0, 10e3),
        ohms("next-leak", "r_n", 47e3, 2.2e6),
        picofarads("grid-capacitance", "c_g"),
        picofarads("anode-grid-capacitance", "c_ga"),
        picofarads("stray", "c_s"),
        SHARE,
    ];
    for seed in 0..STAGES {
        let mut built = Built::of(&parts, is_average(seed), &mut Random::seeded(seed));
        let bypassed = seed % 2 == 0;
        built.chosen("bypass", if bypassed { "yes" } else { "no" });
        built.give("bypassed", if bypassed { 1.0 } else { 0.0 });
        let run = built.run("any-gain-stage.cir");
        let expected = [
            ("anode-current", run.number("v(current)"), ANY),
            ("anode-voltage", run.number("v(a1)"), ANY),
            ("cathode-voltage", run.number("v(k1)"), ANY),
            ("headroom-down", run.number("v(down)"), ANY),
        ];
        let mut of_slopes = vec![
            ("gain-bypassed", run.number("bypassed"), ANY),
            ("gain-unbypassed", run.number("free"), ANY),
        ];
        if bypassed {
            of_slopes.push(("output-resistance", run.number("held_out"), ANY));
            of_slopes.push(("input-capacitance", run.number("input"), ANY));
        } else {
            of_slopes.push(("output-resistance", run.number("free_out"), ANY));
        }
        built.agrees("gain-stage", &expected, &of_slopes);
    }
}

/// One of the ends is reached, as a share, and none is passed.
#[track_caller]
fn ends(over: &[f64]) {
    let nearest = over.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    assert!(nearest.abs() < ANY, "{over:?}");
}

/// Where a valve counts as shut, from the page: down to a tenth of its idle current.
const SHUT: f64 = 0.1;

#[test]
fn long_tailed_pairs_of_any_values() {
    let parts = [
        volts("supply", "supply", 250.0, 450.0),
        ohms("anode-1", "r_1", 47e3, 220e3),
        ohms("anode-2", "r_2", 47e3, 220e3),
        ohms("cathode", "r_k", 330.0, 2.2e3),
        ohms("tail", "r_t", 4.7e3, 68e3),
        ohms("load", "r_l", 68e3, 1e6),
        SHARE,
    ];
    for seed in 0..STAGES {
        let mut built = Built::of(&parts, is_average(seed), &mut Random::seeded(seed));
        let run = built.driven("any-long-tailed-pair.cir");
        let number = |name: &str| run.number(name);
        built.agrees(
            "phase-inverter",
            &[
                ("voltage-1", number("v(a1)"), ANY),
                ("voltage-2", number("v(a2)"), ANY),
                ("cathode-voltage", number("v(k)"), ANY),
                ("grid-voltage", number("v(tail)"), ANY),
                ("current-1", number("v(i1)"), ANY),
                ("current-2", number("v(i2)"), ANY),
                ("heater-peak", number("v(ku)"), ANY),
                ("swing", number("v(swing)"), ANY),
            ],
            &[
                ("gain-1", number("gain1"), ANY),
                ("gain-2", number("gain2"), ANY),
                ("alone-1", number("alone1"), ANY),
                ("alone-2", number("alone2"), ANY),
            ],
        );
        let (up, down) = (number("v(up_left)"), number("v(down_left)"));
        ends(&[number("v(up_grid)"), number("v(down_grid)"), SHUT - up, SHUT - down]);
    }
}

#[test]
fn split_loads_of_any_values() {
    let parts = [
        volts("supply", "supply", 250.0, 450.0),
        ohms("anode-load", "r_a", 33e3, 100e3),
        ohms("cathode-load", "r_k", 33e3, 100e3),
        ohms("load", "r_l", 68e3, 1e6),
        SHARE,
    ];
    for seed in 0..STAGES {
        let mut random = Random::seeded(seed);
        let own = seed % 2 == 0;
        let mut built = Built::of(&parts, is_average(seed), &mut random);
        built.chosen("kind", "split");
        built.chosen("grid", if own { "own" } else { "direct" });
        built.give("own", if own { 1.0 } else { 0.0 });
        if own {
            let bias = libm::round(random.between(470.0, 4.7e3));
            built.chosen("bias-resistor", &format!("{bias} Ω"));
            built.give("r_b", bias);
            built.give("v_g", 0.0);
        } else {
            let grid = libm::round(random.between(20.0, 50.0));
            built.chosen("grid-voltage", &format!("{grid} V"));
            built.give("r_b", 0.01);
            built.give("v_g", grid);
        }
        let run = built.driven("any-split-load.cir");
        let number = |name: &str| run.number(name);
        built.agrees(
            "phase-inverter",
            &[
                ("voltage-1", number("v(a)"), ANY),
                ("voltage-2", number("v(l)"), ANY),
                ("cathode-voltage", number("v(k)"), ANY),
                ("grid-voltage", number("v(g)"), ANY),
                ("current-1", number("v(i)"), ANY),
                ("heater-peak", number("v(uk)"), ANY),
                ("swing", number("v(swing)"), ANY),
            ],
            &[
                ("gain-1", number("gain1"), ANY),
                ("gain-2", number("gain2"), ANY),
                ("alone-1", number("alone1"), ANY),
                ("alone-2", number("alone2"), ANY),
            ],
        );
        ends(&[number("v(up_grid)"), SHUT - number("v(down_left)")]);
    }
}
