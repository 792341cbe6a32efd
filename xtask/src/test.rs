//! `test`: everything CI runs, cheapest first, so that what is wrong shows early. `check` is its quick half.

use std::io::{BufRead, BufReader};
use std::path::Path;
use std::process::{Child, Command, ExitStatus, Stdio};
use std::time::Instant;

use anyhow::{Context, Result, ensure};
use server::{SUB_PATH, Server};

use crate::book::{self, For};
use crate::prose::prose;
use crate::run::{command, hear, listen, run, seconds, stage};
use crate::tool::{
    self, AXE, CARGO_DENY, CHROMEDRIVER, CHROMIUM, FIREFOX, GECKODRIVER, HTML_VALIDATE, NGSPICE, NODE,
    PDFTOTEXT, SCIPY, TYPESCRIPT, WASI, WASM, WASM_BINDGEN, WEBKIT, XVFB,
};

/// Everything CI runs.
///
/// # Errors
/// The first stage that fails.
pub fn everything() -> Result<()> {
    let started = Instant::now();
    stage("format", format)?;
    stage("prose", prose)?;
    stage("dependencies: licences and origins", dependencies)?;
    stage("lints", || lints(&["--features", "tests/book"]))?;
    stage("JavaScript", javascript)?;
    stage("reference", reference)?;
    stage("tests", || native_tests(&[]))?;
    stage("calc-core's tests as WebAssembly", core_as_webassembly)?;
    stage("hard inputs as WebAssembly", || hard_as_webassembly("200"))?;
    stage("calculators for programs and the store of jobs, in a browser", in_browser_by_themselves)?;
    stage("build the book for publishing", || book::build(For::Publishing))?;
    stage("the book: site checks, budgets and browser journeys", || in_every_browser(&[]))?;
    println!("\nEverything passed in {}.", seconds(started.elapsed()));
    Ok(())
}

/// The journeys whose names hold this, in the book as it now stands.
///
/// # Errors
/// When the book does not build or a journey fails.
pub fn journeys(name: &str) -> Result<()> {
    book::build(For::Publishing)?;
    in_every_browser(&["--", name])
}

/// What can be tested in a minute, with these environment variables for the tests.
///
/// # Errors
/// The first stage that fails.
pub fn quick_half(variables: &[(&str, &str)]) -> Result<()> {
    stage("format", format)?;
    stage("prose", prose)?;
    stage("lints", || lints(&[]))?;
    stage("JavaScript", javascript)?;
    stage("tests", || native_tests(variables))?;
    if !variables.is_empty() {
        stage("hard inputs as WebAssembly", || hard_as_webassembly("100000"))?;
    }
    println!("\nThe quick half passed; `cargo xtask test` runs the rest.");
    Ok(())
}

fn format() -> Result<()> {
    run(&mut command(&["cargo", "fmt", "--all", "--check"]))
}

fn lints(features: &[&str]) -> Result<()> {
    let mut clippy = command(&["cargo", "clippy", "--quiet", "--workspace", "--all-targets"]);
    run(clippy.args(features).args(["--", "--deny", "warnings"]))
}

/// The scripts that a browser runs as they stand: every name is one, and is used as it is meant; the service worker does
/// what it should where something is lost.
fn javascript() -> Result<()> {
    tool::ensure(&[&NODE, &TYPESCRIPT])?;
    for scripts in ["page", "worker"] {
        let project = format!("web/js/check/{scripts}.json");
        run(&mut tool::with_tools(&["tsc", "--project", &project], &[&TYPESCRIPT])?)?;
    }
    run(&mut command(&["node", "--test", "--test-reporter=dot", "web/js/check/"]))
}

fn reference() -> Result<()> {
    run(command(&["cargo", "doc", "--quiet", "--workspace", "--no-deps"])
        .env("RUSTDOCFLAGS", "--deny warnings"))
}

fn dependencies() -> Result<()> {
    tool::ensure(&[&CARGO_DENY])?;
    run(&mut tool::with_tools(&["cargo", "deny", "check", "bans", "licenses", "sources"], &[&CARGO_DENY])?)?;
    // The list of known vulnerabilities is on a host that not every machine reaches.
    let fetched =
        tool::with_tools(&["cargo", "deny", "fetch", "db"], &[&CARGO_DENY])?.output()?.status.success();
    if fetched {
        run(&mut tool::with_tools(
            &["cargo", "deny", "check", "--disable-fetch", "advisories"],
            &[&CARGO_DENY],
        )?)
    } else {
        println!("NOT CHECKED: known vulnerabilities; their list cannot be reached from this machine.");
        Ok(())
    }
}

fn native_tests(variables: &[(&str, &str)]) -> Result<()> {
    tool::ensure(&[&NGSPICE, &SCIPY])?;
    run(command(&["cargo", "test", "--workspace"]).envs(variables.iter().copied()))
}

/// On wasm32-unknown-unknown plain tests run nothing and succeed; as WASI programs they run, and we count them.
fn core_as_webassembly() -> Result<()> {
    let ran = passed(&listen(&mut as_wasi(&["test", "--package", "calc-core"])?)?);
    ensure!(ran > 0, "no test of calc-core ran as WebAssembly");
    Ok(())
}

/// Every calculator with so many hard inputs (`tests/src/hard.rs`), as WebAssembly.
fn hard_as_webassembly(runs: &str) -> Result<()> {
    run(as_wasi(&["run", "--quiet", "--package", "tests", "--bin", "hard"])?.args(["--", runs]))
}

/// Cargo, for a WASI program that node runs.
fn as_wasi(cargo: &[&str]) -> Result<Command> {
    tool::ensure(&[&WASI, &NODE])?;
    let mut command = command(&[&["cargo"], cargo, &["--target", "wasm32-wasip1"]].concat());
    let runner = std::env::current_dir()?.join("xtask/wasi.mjs");
    command.env("CARGO_TARGET_WASM32_WASIP1_RUNNER", format!("node --no-warnings {}", runner.display()));
    Ok(command)
}

/// The browser's half of `web` runs its own tests in a browser.
fn in_browser_by_themselves() -> Result<()> {
    for test in ["api", "store", "job_pages", "run_page"] {
        let ran = passed(&web_in_browser(&["--test", test])?);
        ensure!(ran > 0, "no test of web/tests/{test}.rs ran");
    }
    Ok(())
}

/// Runs tests of `web` as WebAssembly in a browser, and gives back what they printed.
///
/// # Errors
/// When a tool is missing, or one of them fails.
pub fn web_in_browser(which: &[&str]) -> Result<String> {
    tool::ensure(&[&WASM, &WASM_BINDGEN, &CHROMIUM, &CHROMEDRIVER])?;
    let cargo = ["cargo", "test", "--package", "web", "--target", "wasm32-unknown-unknown"];
    let mut tests = tool::with_tools(&[&cargo, which].concat(), &[&WASM_BINDGEN])?;
    tests.env(
        "CARGO_TARGET_WASM32_UNKNOWN_UNKNOWN_RUNNER",
        WASM_BINDGEN.programs().join("wasm-bindgen-test-runner"),
    );
    tests.env("CHROMEDRIVER", "/usr/bin/chromedriver");
    // In seconds, for all tests of a file.
    tests.env("WASM_BINDGEN_TEST_TIMEOUT", "120");
    listen(&mut tests)
}

/// How many tests passed, by the closing lines of the test runner.
fn passed(output: &str) -> u32 {
    let counts = output.lines().filter_map(|line| line.strip_prefix("test result: ok. ")?.split(' ').next());
    counts.filter_map(|count| count.parse::<u32>().ok()).sum()
}

/// The journeys in Chromium, Firefox and WebKit.
///
/// One that fails beside all the others is tried once more, alone: what fails twice is wrong, and what passes alone is
/// named as unsteady, to be looked into by someone who reads the log. More than a few are no accident.
fn in_every_browser(which: &[&str]) -> Result<()> {
    const FEW: usize = 5;
    tool::ensure(&[&FIREFOX, &GECKODRIVER, &WEBKIT, &XVFB, &PDFTOTEXT])?;
    let screen = Screen::start()?;
    let display = [("DISPLAY", screen.name.as_str())];
    let target = ["test", "--test", "book"];
    let (status, heard) = hear_in_browser(&[&target, which].concat(), &display)?;
    if status.success() {
        return Ok(());
    }
    let failed = failed(&heard);
    ensure!((1..=FEW).contains(&failed.len()), "the journeys failed ({status})");
    println!("\nOnce more, alone: {}", failed.join(", "));
    let alone = [&target[..], &["--", "--exact", "--test-threads=1"], &failed].concat();
    let (status, heard) = hear_in_browser(&alone, &display)?;
    ensure!(
        status.success() && passed(&heard) as usize == failed.len(),
        "{} failed twice",
        failed.join(", ")
    );
    println!("UNSTEADY: failed beside the others and passed alone: {}", failed.join(", "));
    Ok(())
}

/// Runs a target of the crate `tests` that looks at the built book in a browser, with these environment variables, and
/// gives back what it printed.
///
/// # Errors
/// When a tool is missing or the target fails.
pub fn in_browser(cargo: &[&str], variables: &[(&str, &str)]) -> Result<String> {
    let (status, heard) = hear_in_browser(cargo, variables)?;
    ensure!(status.success(), "`{}` failed ({status})", cargo.join(" "));
    Ok(heard)
}

fn hear_in_browser(cargo: &[&str], variables: &[(&str, &str)]) -> Result<(ExitStatus, String)> {
    tool::ensure(&[&CHROMIUM, &CHROMEDRIVER, &AXE, &HTML_VALIDATE])?;
    let server = Server::careful(Path::new(For::Publishing.folder()), 0, &[])?;
    let words = ["cargo", cargo[0], "--package", "tests", "--features", "book"];
    let mut target = tool::with_tools(&words, &[&GECKODRIVER])?;
    target
        .args(&cargo[1..])
        .env("BOOK_URL", &server.address)
        .env("BOOK_SUB_URL", format!("{}{SUB_PATH}", server.address))
        .env("BOOK_DIR", std::fs::canonicalize(For::Publishing.folder())?)
        .env("PRESS", std::fs::canonicalize("target/release/press")?)
        .env("WEBASSEMBLY", std::fs::canonicalize(For::Publishing.webassembly())?)
        .env("AXE_JS", AXE.file("axe.min.js"))
        .env("HTML_VALIDATE", HTML_VALIDATE.programs().join("html-validate"))
        // Else the frames of the runtime follow what a driver said, and logs are cut there.
        .env("RUST_BACKTRACE", "0")
        .envs(variables.iter().copied());
    hear(&mut target)
}

/// The tests that failed, by the closing list of the test runner.
fn failed(output: &str) -> Vec<&str> {
    let list = output.rsplit_once("\nfailures:\n").map_or("", |(_, list)| list);
    list.lines().map_while(|line| line.strip_prefix("    ")).collect()
}

/// A screen that nobody sees; dropped, it is gone.
struct Screen {
    process: Child,
    name: String,
}

impl Screen {
    fn start() -> Result<Self> {
        // It takes a number that is free and says which.
        let words = ["Xvfb", "-displayfd", "1", "-screen", "0", "1280x1600x24", "-nolisten", "tcp"];
        let started = command(&words).stdout(Stdio::piped()).stderr(Stdio::null()).spawn();
        let mut screen = Self { process: started.context("cannot start Xvfb")?, name: String::new() };
        let mut number = String::new();
        let output = screen.process.stdout.take().context("Xvfb says nothing")?;
        BufReader::new(output).read_line(&mut number)?;
        ensure!(!number.trim().is_empty(), "Xvfb did not say which screen it is");
        screen.name = format!(":{}", number.trim());
        Ok(screen)
    }
}

impl Drop for Screen {
    fn drop(&mut self) {
        self.process.kill().ok();
        self.process.wait().ok();
    }
}

#[cfg(test)]
mod tests {
    use super::{failed, passed};

    #[test]
    fn only_tests_that_ran_count() {
        let output = "running 3 tests\ntest result: ok. 3 passed; 0 failed; 0 ignored\n\
            test result: ok. 0 passed; 0 failed\ntest result: ok. 12 passed; 0 failed";
        assert_eq!(passed(output), 15);
        assert_eq!(passed("running 0 tests\ntest result: ok. 0 passed; 0 failed"), 0);
        assert_eq!(passed("Finished"), 0);
    }

    #[test]
    fn the_closing_list_names_what_failed() {
        let output = "test a::b ... FAILED\n\nfailures:\n\n---- a::b stdout ----\nfailures: many\n\n\nfailures:\n    a::b\n    \
            c::webkit\n\ntest result: FAILED. 2 passed; 2 failed";
        assert_eq!(failed(output), ["a::b", "c::webkit"]);
        assert!(failed("test result: ok. 2 passed").is_empty());
    }
}
