//! Runs ngspice, an independent solver, on a netlist.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::atomic::{AtomicUsize, Ordering};

static RUNS: AtomicUsize = AtomicUsize::new(0);

/// What ngspice printed, and the folder that it wrote its tables to; dropped, the folder goes.
pub struct Run {
    pub printed: String,
    folder: PathBuf,
}

impl Drop for Run {
    fn drop(&mut self) {
        fs::remove_dir_all(&self.folder).ok();
    }
}

/// Runs a netlist of `tests/data/outside/netlists`.
#[track_caller]
pub fn run_file(name: &str) -> Run {
    run(&text(name))
}

/// A netlist of `tests/data/outside/netlists`.
#[track_caller]
pub fn text(name: &str) -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("data/outside/netlists").join(name);
    fs::read_to_string(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()))
}

/// Runs a netlist.
#[track_caller]
pub fn run(netlist: &str) -> Run {
    let number = RUNS.fetch_add(1, Ordering::Relaxed);
    let folder =
        Path::new(env!("CARGO_TARGET_TMPDIR")).join(format!("ngspice-{}-{number}", std::process::id()));
    fs::create_dir_all(&folder).expect("the folder for tests can be written to");
    fs::write(folder.join("netlist.cir"), netlist).expect("the folder for tests can be written to");
    let ran = Command::new("ngspice").args(["-n", "-b", "netlist.cir"]).current_dir(&folder).output();
    let ran = ran.unwrap_or_else(|error| {
        panic!("ngspice is needed ({error}); type: apt-get update && apt-get install --yes ngspice")
    });
    let printed = String::from_utf8_lossy(&ran.stdout).into_owned();
    assert!(
        !printed.contains("aborted") && !printed.contains("Error"),
        "ngspice:\n{printed}\n{}\n{netlist}",
        String::from_utf8_lossy(&ran.stderr)
    );
    Run { printed, folder }
}

impl Run {
    /// A number that was printed as `name = number`.
    #[track_caller]
    pub fn number(&self, name: &str) -> f64 {
        let line = self.printed.lines().find_map(|line| line.strip_prefix(name)?.trim().strip_prefix("= "));
        let number = line.unwrap_or_else(|| panic!("ngspice printed no {name}:\n{}", self.printed));
        number.trim().parse().expect("ngspice prints a number")
    }

    /// The node voltages of an operating point that was written by `write` as text, by the node's name.
    #[track_caller]
    pub fn raw(&self, name: &str) -> BTreeMap<String, f64> {
        let text = fs::read_to_string(self.folder.join(name))
            .unwrap_or_else(|error| panic!("ngspice wrote no {name} ({error}):\n{}", self.printed));
        let (head, values) = text.split_once("Values:").expect("a file of values");
        let (_, names) = head.split_once("\nVariables:").expect("a list of variables");
        // A line of a variable is its number, its name, its kind; a value may have the point's number before it.
        let names = names.lines().filter_map(|line| line.split_whitespace().nth(1));
        let values = values.lines().filter_map(|line| line.split_whitespace().last());
        let values = values.map(|value| value.parse().expect("a number"));
        let node =
            |name: &str| name.strip_prefix("v(").and_then(|name| name.strip_suffix(')')).map(str::to_owned);
        names.zip(values).filter_map(|(name, value)| Some((node(name)?, value))).collect()
    }

    /// A table that was written by `wrdata`: of each row, the variable, and each vector's value.
    #[track_caller]
    pub fn table(&self, name: &str) -> Vec<(f64, Vec<f64>)> {
        let text = fs::read_to_string(self.folder.join(name))
            .unwrap_or_else(|error| panic!("ngspice wrote no {name} ({error}):\n{}", self.printed));
        let numbers = |line: &str| -> Vec<f64> {
            line.split_whitespace().map(|number| number.parse().expect("a number")).collect()
        };
        let rows = text.lines().map(numbers).filter(|row| !row.is_empty());
        rows.map(|row| (row[0], row.iter().skip(1).step_by(2).copied().collect())).collect()
    }
}
