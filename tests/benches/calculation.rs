//! How long one calculation takes: from what was typed to answers, margins, verdicts and working.

use std::hint::black_box;
use std::time::{Duration, Instant};

use calc_core::calculator::Inputs;
use calc_core::circuit::units::*;
use calc_core::circuit::{Network, Phasor};
use calc_core::valve::fit::{Row, fit};
use calc_core::valve::model::Volts;
use tests::bias_supply::bias_supply;
use tests::master::{FREQUENCIES, master_volume};

/// Enough rounds to be sure of a figure; a slow one is asked for this long.
const ROUNDS: u32 = 20_000;
const LONG_ENOUGH: Duration = Duration::from_secs(2);

fn main() {
    for entry in calc_core::calculators() {
        let id = entry.sheet.id;
        let work = || black_box(calc_core::calculate(black_box(id), &Inputs::new()));
        // The first rounds warm caches and find the clock's speed.
        (0..20).for_each(|_| drop(work()));
        let started = Instant::now();
        let rounds = (1..=ROUNDS).find(|round| {
            drop(work());
            *round == ROUNDS || started.elapsed() > LONG_ENOUGH
        });
        let each = started.elapsed() / rounds.unwrap_or(ROUNDS);
        println!("| `{id}`, one calculation, native | {:.1} µs |", each.as_secs_f64() * 1e6);
    }
    let rows = sixty_rows();
    let begin = calc_core::valve::fitted("6L6GC").expect("the 6L6GC has a model").model;
    let started = Instant::now();
    (0..100).for_each(|_| {
        black_box(fit(black_box(&begin), &rows));
    });
    println!(
        "| a valve model fitted to 60 points, native | {:.2} ms |",
        started.elapsed().as_secs_f64() * 10.0
    );
    sweep();
    transient();
}

/// A rectifier for the bias, coming up from nothing.
fn transient() {
    let supply = bias_supply();
    let started = Instant::now();
    let transient = supply.transient(seconds(1.0)).expect("the supply comes up");
    let (took, steps) = (started.elapsed(), transient.times().count());
    println!(
        "| a rectifier followed for 50 periods, {steps} steps, native | {:.1} ms |",
        took.as_secs_f64() * 1e3
    );
}

/// A sweep of one output, by ours and by ngspice: its own analysis time, without start, reading and writing.
fn sweep() {
    let network = master_volume();
    let mut sweep = network.sweep(&["grid upper"]).expect("the network can be solved");
    let unknowns = sweep.unknowns();
    let frequencies: Vec<_> = (1..=FREQUENCIES).map(|at| hertz(f64::from(at))).collect();
    let mut answers = vec![Phasor::default(); frequencies.len()];
    let mut work = || sweep.fill(black_box(&frequencies), black_box(&mut answers)).expect("it has answers");
    work();
    let started = Instant::now();
    work();
    let each = started.elapsed() / FREQUENCIES;
    println!(
        "| network sweep of 100,000 frequencies, {unknowns} unknowns, native | {:.3} µs a point |",
        each.as_secs_f64() * 1e6
    );
    let each = by_ngspice(&network)
        .map_or_else(|| "ngspice is missing".to_owned(), |each| format!("{each:.3} µs a point"));
    println!("| the same by ngspice, its own analysis time | {each} |");
}

fn by_ngspice(network: &Network) -> Option<f64> {
    let netlist = network.netlist("Master volume").expect("the network can be written out");
    let elements = netlist.strip_suffix(".op\n.end\n")?;
    let folder = std::path::Path::new(env!("CARGO_TARGET_TMPDIR"));
    let commands = format!(".control\nsave grid_upper\nac lin {FREQUENCIES} 1 100k\nrusage\n.endc\n.end\n");
    std::fs::write(folder.join("bench.cir"), format!("{elements}{commands}")).ok()?;
    let run = std::process::Command::new("ngspice")
        .args(["-n", "-b", "bench.cir"])
        .current_dir(folder)
        .output()
        .ok()?;
    let printed = String::from_utf8_lossy(&run.stdout).into_owned();
    let seconds = printed.lines().find_map(|line| line.strip_prefix("Total analysis time (seconds) = "))?;
    Some(seconds.trim().parse::<f64>().ok()? / f64::from(FREQUENCIES) * 1e6)
}

/// Points as a reader might measure them, of a valve unlike the one that the fit begins with.
fn sixty_rows() -> Vec<Row> {
    let model = calc_core::valve::fitted("EL34").expect("the EL34 has a model").model;
    let row = |at: u32| {
        let volts = Volts {
            anode: 150.0 + 50.0 * f64::from(at % 7),
            screen: 200.0 + 40.0 * f64::from(at % 5),
            grid: -6.0 - 2.0 * f64::from(at % 11),
        };
        let currents = model.currents(volts);
        Row {
            volts,
            anode: currents.anode,
            screen: Some(currents.screen),
            gm: None,
            ra: None,
            cut_off: false,
        }
    };
    (0..60).map(row).collect()
}
