//! `test`: everything CI runs, cheapest first, so that what is wrong shows early. `check` is its quick half.

use std::io::{BufRead, BufReader};
use std::process::{Child, Stdio};
use std::time::Instant;

use anyhow::{Context, Result, ensure};

use crate::book::{self, For};
use crate::run::{command, listen, run, seconds, stage};
use crate::server::{SUB_PATH, Server};
use crate::tool::{
    self, AXE, CARGO_DENY, CHROMEDRIVER, CHROMIUM, FIREFOX, GECKODRIVER, HTML_VALIDATE, NGSPICE, NODE,
    PDFTOTEXT, WASI, WASM, WASM_BINDGEN, WEBKIT, XVFB,
};

/// Everything CI runs.
///
/// # Errors
/// The first stage that fails.
pub fn everything() -> Result<()> {
    let started = Instant::now();
    stage("format", format)?;
    stage("dependencies: licences and origins", dependencies)?;
    stage("lints", || lints(&["--features", "tests/book"]))?;
    stage("reference", reference)?;
    stage("tests", || native_tests(&[]))?;
    stage("calc-core's tests as WebAssembly", core_as_webassembly)?;
    stage("the calculators for programs, in a browser", api_in_browser)?;
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
    stage("lints", || lints(&[]))?;
    stage("tests", || native_tests(variables))?;
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

fn reference() -> Result<()> {
    run(command(&["cargo", "doc", "--quiet", "--workspace", "--no-deps"])
        .env("RUSTDOCFLAGS", "--deny warnings"))
}

fn dependencies() -> Result<()> {
    tool::ensure(&[&CARGO_DENY])?;
    run(&mut tool::with_tools(&["cargo", "deny", "check", "bans", "licenses", "sources"], &[&CARGO_DENY])?)?;
    // The list of known vulnerabilities lies on a host that not every machine reaches.
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
    tool::ensure(&[&NGSPICE])?;
    run(command(&["cargo", "test", "--workspace"]).envs(variables.iter().copied()))
}

/// On wasm32-unknown-unknown plain tests run nothing and succeed; as WASI programs they run, and we count them.
fn core_as_webassembly() -> Result<()> {
    tool::ensure(&[&WASI, &NODE])?;
    let mut tests = command(&["cargo", "test", "--package", "calc-core", "--target", "wasm32-wasip1"]);
    let runner = std::env::current_dir()?.join("xtask/wasi.mjs");
    tests.env("CARGO_TARGET_WASM32_WASIP1_RUNNER", format!("node --no-warnings {}", runner.display()));
    let ran = passed(&listen(&mut tests)?);
    ensure!(ran > 0, "no test of calc-core ran as WebAssembly");
    Ok(())
}

/// The browser's half of `web` runs its own tests in a browser.
fn api_in_browser() -> Result<()> {
    let ran = passed(&web_in_browser(&["--test", "api"])?);
    ensure!(ran > 0, "no test of the calculators for programs ran");
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
    listen(&mut tests)
}

/// How many tests passed, by the closing lines of the test runner.
fn passed(output: &str) -> u32 {
    let counts = output.lines().filter_map(|line| line.strip_prefix("test result: ok. ")?.split(' ').next());
    counts.filter_map(|count| count.parse::<u32>().ok()).sum()
}

/// The journeys in Chromium, Firefox and WebKit.
fn in_every_browser(which: &[&str]) -> Result<()> {
    tool::ensure(&[&FIREFOX, &GECKODRIVER, &WEBKIT, &XVFB, &PDFTOTEXT])?;
    let screen = Screen::start()?;
    let words = [&["test", "--test", "book"], which].concat();
    in_browser(&words, &[("DISPLAY", &screen.name)]).map(drop)
}

/// Runs a target of the crate `tests` that looks at the built book in a browser, with these environment variables, and
/// gives back what it printed.
///
/// # Errors
/// When a tool is missing or the target fails.
pub fn in_browser(cargo: &[&str], variables: &[(&str, &str)]) -> Result<String> {
    tool::ensure(&[&CHROMIUM, &CHROMEDRIVER, &AXE, &HTML_VALIDATE])?;
    let server = Server::start(For::Publishing.folder(), 0, &[])?;
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
        .envs(variables.iter().copied());
    listen(&mut target)
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
    use super::passed;

    #[test]
    fn only_tests_that_ran_count() {
        let output = "running 3 tests\ntest result: ok. 3 passed; 0 failed; 0 ignored\n\
            test result: ok. 0 passed; 0 failed\ntest result: ok. 12 passed; 0 failed";
        assert_eq!(passed(output), 15);
        assert_eq!(passed("running 0 tests\ntest result: ok. 0 passed; 0 failed"), 0);
        assert_eq!(passed("Finished"), 0);
    }
}
