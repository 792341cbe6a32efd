//! Builds the book: Trunk makes the WebAssembly, and its hook lets `press` print the pages.

use anyhow::Result;

use crate::run::{command, run};
use crate::tool::{self, TRUNK, WASM, WASM_BINDGEN, WASM_OPT};

/// What a book is built for.
#[derive(Clone, Copy, PartialEq)]
pub enum For {
    /// Reading it while it is written: built fast.
    Writing,
    /// Publishing it: small WebAssembly, every file compressed as well.
    Publishing,
}

impl For {
    /// Where the book lies. Two folders, so that `test` and `serve` can run side by side.
    pub const fn folder(self) -> &'static str {
        match self {
            Self::Writing => "target/serve",
            Self::Publishing => "dist",
        }
    }
}

/// Builds WebAssembly and pages.
///
/// # Errors
/// When a tool is missing, or what Trunk or `press` find wrong, which they print themselves.
pub fn build(purpose: For) -> Result<()> {
    tool::ensure(&[&WASM, &WASM_BINDGEN, &TRUNK])?;
    match purpose {
        For::Writing => run(&mut tool::with_tools(
            &["trunk", "build", "--dist", purpose.folder()],
            &[&TRUNK, &WASM_BINDGEN],
        )?),
        For::Publishing => {
            tool::ensure(&[&WASM_OPT])?;
            let tools = [&TRUNK, &WASM_BINDGEN, &WASM_OPT];
            run(&mut tool::with_tools(&["trunk", "build", "--release"], &tools)?)
        }
    }
}

/// Prints the pages again around the WebAssembly that is there. `press` writes nothing at all when it finds a fault.
///
/// # Errors
/// When there is no built book yet, or what `press` finds wrong, which it prints itself.
pub fn print_again() -> Result<()> {
    let press = ["cargo", "run", "--quiet", "--release", "--package", "press", "--", "--out"];
    run(command(&press).arg(For::Writing.folder()))
}

/// Whether a file of the book is one that Trunk made.
pub fn is_webassembly(name: &str) -> bool {
    name.starts_with("web-") && (name.ends_with(".js") || name.ends_with(".wasm"))
}
