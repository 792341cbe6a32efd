//! `bench`: measures, and writes `BENCH.md`. Figures are printed, never judged; the budgets are tests.

use std::fmt::Write;
use std::fs;
use std::path::Path;
use std::time::{Duration, Instant};

use anyhow::{Context, Result};

use crate::book::{self, For};
use crate::run::{command, listen, run, seconds, stage};
use crate::test::{in_browser, web_in_browser};
use crate::tool::{self, MDBOOK, NGSPICE};

const SYNTHETIC_PAGES: u32 = 1000;

/// Measures everything and writes the table.
///
/// # Errors
/// When something to be measured does not run.
pub fn bench() -> Result<()> {
    let mut rows = String::new();
    stage("build the book for publishing", || book::build(For::Publishing))?;
    tool::ensure(&[&NGSPICE])?;
    let calculation = stage("calculations, native", || {
        listen(&mut command(&["cargo", "bench", "--package", "tests", "--bench", "calculation"]))
    })?;
    rows.push_str(&table_rows(&calculation));
    let sweep = stage("a sweep, in the browser", || {
        web_in_browser(&["--test", "sweep", "--release", "--", "--nocapture"])
    })?;
    rows.push_str(&table_rows(&sweep));
    let browser =
        stage("pages and calculators in the browser", || in_browser(&["bench", "--bench", "browser"], &[]))?;
    rows.push_str(&table_rows(&browser));

    let this_book = stage("press, this book", || press(Path::new("."), "target/bench/this-book"))?;
    writeln!(rows, "| press, this book | {} |", seconds(this_book))?;
    let many = stage("press, many pages", || {
        synthetic_book("target/bench/many")?;
        press(Path::new("target/bench/many"), "dist")
    })?;
    let pages = f64::from(SYNTHETIC_PAGES) / many.as_secs_f64();
    writeln!(
        rows,
        "| press, {SYNTHETIC_PAGES} synthetic pages more | {} ({pages:.0} pages/s) |",
        seconds(many)
    )?;

    let general = stage("a general book generator, as many pages", || general_book("target/bench/general"))?;
    let pages = f64::from(SYNTHETIC_PAGES) / general.as_secs_f64();
    writeln!(
        rows,
        "| mdbook, {SYNTHETIC_PAGES} pages of the same words, no search | {} ({pages:.0} pages/s) |",
        seconds(general)
    )?;

    stage("a change in content", || book::build(For::Writing))?;
    let started = Instant::now();
    book::print(For::Writing)?;
    writeln!(
        rows,
        "| `serve`: from a change in content to the new page | {} + up to 0.2 s to notice |",
        seconds(started.elapsed())
    )?;

    let commit = command(&["git", "describe", "--always", "--dirty"])
        .output()
        .context("git is needed to name the commit")?;
    let commit = String::from_utf8_lossy(&commit.stdout).trim().to_owned();
    let cores = std::thread::available_parallelism()?;
    let table = format!(
        "# Measured\n\nWritten by `cargo xtask bench` at commit {commit}, {cores} cores.\n\n| what | figure |\n|---|---|\n{rows}"
    );
    fs::write("BENCH.md", &table)?;
    println!("\n{table}");
    Ok(())
}

/// The lines of a program's output that are rows of the table.
fn table_rows(output: &str) -> String {
    output.lines().filter(|line| line.starts_with("| ")).fold(String::new(), |rows, line| rows + line + "\n")
}

/// Prints the book of a workspace into a folder and says how long that took.
fn press(workspace: &Path, out: &str) -> Result<Duration> {
    let program = fs::canonicalize("target/release/press")?;
    let out = workspace.join(out);
    // What an earlier measurement printed would be left unwritten.
    if out.exists() {
        fs::remove_dir_all(&out)?;
    }
    fs::create_dir_all(&out)?;
    let mut press = command(&[&program.to_string_lossy()]);
    press.arg("--webassembly").arg(fs::canonicalize(For::Publishing.webassembly())?);
    press.arg("--out").arg(fs::canonicalize(out)?);
    let started = Instant::now();
    run(press.current_dir(workspace))?;
    Ok(started.elapsed())
}

/// A copy of this book's inputs with many more pages, each with a calculator.
fn synthetic_book(workspace: &str) -> Result<()> {
    let workspace = Path::new(workspace);
    for inputs in ["content", "press/assets", "web/js"] {
        let copy = workspace.join(inputs);
        fs::create_dir_all(&copy)?;
        run(command(&["cp", "--recursive", &format!("{inputs}/.")]).arg(&copy))?;
    }
    let chapter = workspace.join("content/99-synthetic");
    fs::create_dir_all(&chapter)?;
    fs::write(
        chapter.join("index.md"),
        "+++\ntitle = \"Synthetic\"\nkind = \"chapter\"\nsummary = \"Many pages.\"\n+++\n",
    )?;
    for number in 1..=SYNTHETIC_PAGES {
        let page = format!(
            "+++\ntitle = \"Page {number}\"\nkind = \"calculator\"\nsummary = \"Page {number} of many.\"\n+++\n\n\
            {}```calculator\ncalculator = \"dissipation\"\n```\n",
            words(number)
        );
        fs::write(chapter.join(format!("{number}-page-{number}.md")), page)?;
    }
    Ok(())
}

/// About a thousand words: ten paragraphs, each with a formula.
fn words(number: u32) -> String {
    let sentence = "The meter is set to its range before it touches anything that is live. ";
    let paragraph = format!("{}Here $P = U I$ comes to {number}.\n\n", sentence.repeat(6));
    paragraph.repeat(11)
}

/// The same words as a book of a general generator, which has neither calculators nor checks. Says how long it took.
fn general_book(folder: &str) -> Result<Duration> {
    tool::ensure(&[&MDBOOK])?;
    let source = Path::new(folder).join("src");
    fs::create_dir_all(&source)?;
    fs::write(
        Path::new(folder).join("book.toml"),
        "[book]\ntitle = \"Synthetic\"\n[output.html.search]\nenable = false\n",
    )?;
    let mut summary = String::from("# Summary\n\n");
    for number in 1..=SYNTHETIC_PAGES {
        fs::write(source.join(format!("page-{number}.md")), format!("# Page {number}\n\n{}", words(number)))?;
        writeln!(summary, "- [Page {number}](page-{number}.md)")?;
    }
    fs::write(source.join("SUMMARY.md"), summary)?;
    let started = Instant::now();
    run(&mut tool::with_tools(&["mdbook", "build", folder], &[&MDBOOK])?)?;
    Ok(started.elapsed())
}
