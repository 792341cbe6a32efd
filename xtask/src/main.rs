//! The chores of the project: `cargo xtask serve | test | check | bench | dist`.
//!
//! Each chore installs what it needs and lacks (see [`tool`]) and runs from the root of the workspace.

mod bench;
mod book;
mod prose;
mod run;
mod serve;
mod test;
mod tool;

use std::process::ExitCode;

use anyhow::{Context, Result, bail};

const USAGE: &str = "\
cargo xtask serve [PORT]    build the book, serve it on 127.0.0.1 and rebuild what changes (port 8000)
cargo xtask test [NAME]     everything CI runs; with a name, the book and the journeys with that name in theirs
cargo xtask check [--long]  the quick half, without a browser; --long: many more random inputs
cargo xtask bench           measure, and write BENCH.md
cargo xtask dist            the book for publishing, in dist/";

fn main() -> ExitCode {
    let words: Vec<String> = std::env::args().skip(1).collect();
    let words: Vec<&str> = words.iter().map(String::as_str).collect();
    match chore(&words) {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            eprintln!("\n{error:#}");
            ExitCode::FAILURE
        }
    }
}

fn chore(words: &[&str]) -> Result<()> {
    let root = concat!(env!("CARGO_MANIFEST_DIR"), "/..");
    std::env::set_current_dir(root).with_context(|| format!("cannot enter {root}"))?;
    match words {
        ["serve"] => serve::serve(8000),
        ["serve", port] => {
            let port = port.parse();
            serve::serve(port.with_context(|| format!("`{}` is not a port; try 8000", words[1]))?)
        }
        ["test"] => test::everything(),
        ["test", name] => test::journeys(name),
        ["check"] => test::quick_half(&[]),
        ["check", "--long"] => test::quick_half(&[("PROPTEST_CASES", "20000")]),
        ["bench"] => bench::bench(),
        ["dist"] => book::build(book::For::Publishing),
        _ => bail!("xtask has these chores:\n\n{USAGE}"),
    }
}
