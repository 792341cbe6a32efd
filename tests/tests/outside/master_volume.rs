//! The master volume against netlists written by hand, and its own netlist against its own answer.

use calc_core::calculator::{Inputs, Lazy, Report};

use super::ngspice::{run, run_file};

fn report(typed: &[(&str, &str)]) -> Report {
    let inputs: Inputs = typed.iter().map(|(id, text)| ((*id).to_owned(), (*text).to_owned())).collect();
    let outcome = calc_core::calculate("master-volume", &inputs).expect("there is such a calculator");
    outcome.report.expect("it has an answer")
}

#[track_caller]
fn answer(report: &Report, id: &str) -> f64 {
    report
        .answers
        .iter()
        .find(|answered| answered.answer.id == id)
        .expect("there is such an answer")
        .answer
        .value
}

#[test]
fn level_and_corners_at_eight_settings_are_those_of_ngspice() {
    let run = run_file("master-volume-ac.cir");
    for knob in ["1", "2", "3", "4", "6", "7", "8", "9"] {
        let report = report(&[("knob", knob)]);
        let level = run.number(&format!("mid{knob}"));
        let gain = answer(&report, "gain");
        assert!((gain - level).abs() <= 0.005, "at {knob}: {gain} dB, by ngspice {level} dB");
        for corner in ["bass", "treble"] {
            let (is, should) = (answer(&report, corner), run.number(&format!("{corner}{knob}")));
            assert!((is / should - 1.0).abs() <= 1e-3, "{corner} at {knob}: {is}, by ngspice {should}");
        }
    }
}

/// The cell of the table of faults, as printed: the grid's voltage comes first.
#[track_caller]
fn cell(report: &Report, fault: &str, column: &str) -> String {
    let mut tables = report.tables.iter().map(Lazy::get);
    let table = tables.find(|table| table.title.starts_with("Faults")).expect("a table of faults");
    let column = table.head.iter().position(|head| head.contains(column)).expect("such a column");
    let row = table.rows.iter().find(|row| row[0] == fault).expect("such a fault");
    row[column].clone()
}

#[track_caller]
fn is_at(cell: &str, volts: f64) {
    let text = cell.split('\u{a0}').next().unwrap_or_default().replace('−', "-");
    let shown: f64 = text.parse().unwrap_or_else(|_| panic!("“{cell}” begins with no voltage"));
    assert!((shown - volts).abs() <= 0.051, "{cell}: should be at {volts} V");
}

#[test]
fn grids_under_faults_are_where_ngspice_finds_them() {
    let run = run_file("master-volume-dc.cir");
    let report = report(&[]);
    is_at(&cell(&report, "Wiper lifted", "grid tag"), run.number("v(g1)"));
    is_at(&cell(&report, "Coupling capacitor leaks 10 MΩ, knob at 10", "No fail-safe"), run.number("v(g3)"));
    let grounded = cell(&report, BODY, "grid tag");
    assert!(grounded.starts_with('0') && run.number("v(g4)").abs() < 0.05, "{grounded}");
    assert_eq!(cell(&report, "Wiper lifted", "No fail-safe"), "floats: nothing holds it");
    // The screen: no bias anywhere, resistor or not.
    for column in ["No fail-safe", "at the pot", "socket side", "grid tag"] {
        let screen = cell(&report, "Screen of the lead on chassis", column);
        assert!(screen.starts_with("0\u{a0}V,") && screen.ends_with("all valves"), "{screen}");
    }
}

#[test]
fn grids_of_every_topology_are_where_ngspice_finds_them() {
    let run = run_file("master-volume-others.cir");
    for (topology, fault, column, node) in [
        ("divider", "Coupling capacitor shorted, knob at 0", "No fail-safe", "v(grida)"),
        ("across", "Coupling capacitor leaks 10 MΩ, knob at 10", "The valve", "v(gridb)"),
        ("instead", "Wiper lifted", "No fail-safe", "v(gridc)"),
        ("bridge", "Coupling capacitor leaks 10 MΩ, knob at 0", "The valve", "v(gridd)"),
        ("chassis", "Second coupling capacitor leaks 10 MΩ, knob at 10", "The valve", "v(gride)"),
        ("chassis", "Second coupling capacitor shorted, knob at 10", "The valve", "v(gridf)"),
        ("divider", "Wiper and low lug of one gang swapped", "grid tag", "v(gridh)"),
        ("divider", "A gassy valve, 10 µA out of its grid, knob at 10", "grid tag", "v(gridk)"),
        ("divider", "Wet or fluxed board, 50 MΩ from the HT to the grid", "at the pot", "v(gridl)"),
    ] {
        is_at(&cell(&report(&[("topology", topology)]), fault, column), run.number(node));
    }
    let shorted = cell(
        &report(&[("topology", "chassis")]),
        "Second coupling capacitor shorted, knob at 0",
        "The valve",
    );
    assert!(shorted.starts_with("0\u{a0}V,") && run.number("v(gridg)").abs() < 0.05, "{shorted}");
}

const BODY: &str = "Wiper, or the track beside it, on an earthed body";
const OTHER: &str = "; the other side ";

#[test]
fn what_a_fault_does_to_the_other_side_is_what_ngspice_finds() {
    let run = run_file("master-volume-both.cir");
    for (topology, fault, column, node) in [
        ("divider", BODY, "No fail-safe", "v(gridn)"),
        ("across", BODY, "The valve", "v(grido)"),
        ("bridge", BODY, "The valve", "v(gridp)"),
        ("bridge", "Coupling capacitor shorted, knob at 10", "The valve", "v(gridq)"),
        ("divider", "Coupling capacitor shorted, knob at 10", "No fail-safe", "v(gridr)"),
        ("chassis", "Second coupling capacitor shorted, knob at 0", "The valve", "v(gridu)"),
    ] {
        let cell = cell(&report(&[("topology", topology)]), fault, column);
        let (_, other) = cell.split_once(OTHER).unwrap_or_else(|| panic!("{topology}, {fault}: {cell}"));
        is_at(other, run.number(node));
    }
    // Turned down, a body that is touched takes the bias of all.
    let down = cell(&report(&[]), &format!("{BODY}, knob at 0"), "grid tag");
    assert!(
        down.starts_with("0\u{a0}V,") && down.ends_with("all valves") && run.number("v(gridm)") > -0.05,
        "{down}"
    );
    let fed = cell(&report(&[]), "Feed to the low lugs open", "grid tag");
    is_at(&fed, run.number("v(gridt)"));
    assert!(
        fed.ends_with("all valves") && (run.number("v(gridt)") - run.number("v(gridt2)")).abs() < 1e-6,
        "{fed}"
    );
    // Where the leaks hold, nothing else is touched.
    for fault in [BODY, "Screen of the lead on chassis", "Coupling capacitor shorted, knob at 10"] {
        let cell = cell(&report(&[("topology", "chassis")]), fault, "The valve");
        assert!(!cell.contains(';'), "{fault}: {cell}");
    }
}

/// By hand: the heat is the current times the 438 V of the demonstration amplifier, and an anode that warms in 20 s from its
/// 14.4 W comes over 30 W after 20 s × ln((P − 14.4) / (P − 30)).
#[test]
fn heat_and_time_follow_from_the_current() {
    let report = report(&[]);
    for fault in ["Screen of the lead on chassis", BODY, "Coupling capacitor shorted, knob at 10"] {
        let cell = cell(&report, fault, "No fail-safe");
        for valve in cell.split(OTHER).filter(|valve| valve.contains("; over")) {
            let figure = |unit: &str| -> f64 {
                let (before, _) =
                    valve.split_once(&format!("\u{a0}{unit}")).unwrap_or_else(|| panic!("{valve}"));
                before
                    .rsplit([' ', ','])
                    .next()
                    .and_then(|figure| figure.parse().ok())
                    .unwrap_or_else(|| panic!("{valve}"))
            };
            let (current, heat, time) = (figure("mA") / 1e3, figure("W"), figure("s"));
            assert!((heat / (current * 438.0) - 1.0).abs() < 0.06, "{valve}");
            let by_hand = 20.0 * libm::log((heat - 14.4) / (heat - 30.0));
            // The heat is printed with two digits, the time with one.
            let spread = 20.0 * libm::log((heat * 1.02 - 14.4) / (heat * 1.02 - 30.0));
            assert!(
                (time - by_hand).abs() <= (by_hand - spread).abs() + 0.06 * by_hand + 0.5,
                "{valve}: {by_hand}"
            );
        }
    }
}

/// Worked by hand: 250 kΩ with 2.2 MΩ is 224 kΩ, the stopper and twice the 12 kΩ as well, against 0.1 MΩ.
#[test]
fn the_resistor_swept_says_how_far_over_the_sheet_it_lies() {
    let report = report(&[]);
    let mut tables = report.tables.iter().map(Lazy::get);
    let table = tables.find(|table| table.title.starts_with("Value of")).expect("a table of values");
    let habit = table.rows.last().expect("a last row");
    assert_eq!(habit[0], "2.20\u{a0}MΩ");
    assert!(habit[1].contains("2.5 × the limit") && habit[2].contains("22 × the limit"), "{habit:?}");
}

/// The data sheet's curves give a 6L6GC some 0.36 A at 0 V and 400 V on the screen (not yet
/// confirmed); a model shifted to one idle current may be a fifth off there.
#[test]
fn a_valve_without_bias_draws_what_its_sheet_says() {
    let report = report(&[]);
    let screen = cell(&report, "Screen of the lead on chassis", "No fail-safe");
    let current = screen.split(", ").nth(1).and_then(|current| current.strip_suffix("\u{a0}mA"));
    let current: f64 = current.expect("a current in mA").parse().expect("a number");
    assert!((current / 360.0 - 1.0).abs() <= 0.2, "{screen}");
}

#[test]
fn its_own_netlist_gives_its_own_answer() {
    for topology in ["divider", "across", "instead", "bridge", "chassis"] {
        let report = report(&[("topology", topology), ("knob", "7")]);
        let export = report.exports.first().expect("a netlist");
        let netlist = export.text.get();
        let elements = netlist.strip_suffix(".end\n").expect("it ends");
        let commands = ".control\nrun\nmeas ac level find vdb(grid_a) at=1000\nmeas ac other find vdb(grid_b) at=1000\n.endc\n.end\n";
        let run = run(&format!("{elements}{commands}"));
        let gain = answer(&report, "gain");
        for side in ["level", "other"] {
            let level = run.number(side);
            assert!((gain - level).abs() <= 0.005, "{topology}, {side}: {gain} dB, by ngspice {level} dB");
        }
    }
}
