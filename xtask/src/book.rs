//! Builds the book into `dist/`: Trunk makes the WebAssembly, and its hook lets `press` print the pages.

use std::fs;
use std::path::Path;

use anyhow::{Context, Result};

use crate::run::{command, run};
use crate::tool::{self, TRUNK, WASM, WASM_BINDGEN, WASM_OPT};

/// Where the book lies when it is built.
pub const DIST: &str = "dist";
/// Where `press` prints while readers still see the old book, and where that goes when the new one takes its place.
const NEXT: &str = "dist-next";
const OLD: &str = "dist-old";

/// What a book is built for.
#[derive(Clone, Copy, PartialEq)]
pub enum For {
    /// Reading it while it is written: built fast.
    Writing,
    /// Publishing it: small WebAssembly, every file compressed as well.
    Publishing,
}

/// Builds WebAssembly and pages.
///
/// # Errors
/// When a tool is missing, or what Trunk or `press` find wrong, which they print themselves.
pub fn build(purpose: For) -> Result<()> {
    tool::ensure(&[&WASM, &WASM_BINDGEN, &TRUNK])?;
    match purpose {
        For::Writing => run(&mut tool::with_tools(&["trunk", "build"], &[&TRUNK, &WASM_BINDGEN])?),
        For::Publishing => {
            tool::ensure(&[&WASM_OPT])?;
            let tools = [&TRUNK, &WASM_BINDGEN, &WASM_OPT];
            run(&mut tool::with_tools(&["trunk", "build", "--release"], &tools)?)
        }
    }
}

/// Prints the pages again around the WebAssembly that is there. A book that does not print leaves the old one.
///
/// # Errors
/// When there is no built book yet, or what `press` finds wrong, which it prints itself.
pub fn print_again() -> Result<()> {
    for left_over in [NEXT, OLD] {
        if Path::new(left_over).exists() {
            fs::remove_dir_all(left_over)?;
        }
    }
    fs::create_dir(NEXT)?;
    for file in fs::read_dir(DIST).context("no book is built yet")? {
        let file = file?;
        if is_webassembly(&file.file_name().to_string_lossy()) {
            fs::copy(file.path(), Path::new(NEXT).join(file.file_name()))?;
        }
    }
    run(&mut command(&["cargo", "run", "--quiet", "--release", "--package", "press", "--", "--out", NEXT]))?;
    fs::rename(DIST, OLD)?;
    fs::rename(NEXT, DIST)?;
    fs::remove_dir_all(OLD)?;
    Ok(())
}

/// Whether a file of the book is one that Trunk made.
pub fn is_webassembly(name: &str) -> bool {
    name.starts_with("web-") && (name.ends_with(".js") || name.ends_with(".wasm"))
}
