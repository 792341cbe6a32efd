//! Builds the book: Trunk makes the WebAssembly modules and calls `press`, which prints the pages round them.

use std::fs;
use std::path::{Path, PathBuf};

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
    /// Where the book lies; `press --trunk` knows it too. Two folders, so that `test` and `serve` can run side by side.
    pub const fn folder(self) -> &'static str {
        match self {
            Self::Writing => "target/serve",
            Self::Publishing => "dist",
        }
    }

    /// Where Trunk puts its WebAssembly modules, from which `press` takes them into the book; as in `Trunk.toml`.
    pub const fn webassembly(self) -> &'static str {
        match self {
            Self::Writing => "target/webassembly/writing",
            Self::Publishing => "target/webassembly/publishing",
        }
    }
}

/// Builds WebAssembly and pages. Where no module has changed, `press` alone does.
///
/// # Errors
/// When a tool is missing, or what a compiler or `press` find wrong, which they print themselves.
pub fn build(purpose: For) -> Result<()> {
    tool::ensure(&[&WASM, &WASM_BINDGEN, &TRUNK])?;
    if purpose == For::Publishing {
        tool::ensure(&[&WASM_OPT])?;
    }
    let cargo = ["cargo", "build", "--quiet", "--package", "web", "--bins", "--profile", "wasm", "--target"];
    run(command(&cargo).arg("wasm32-unknown-unknown"))?;
    if are_new(purpose)? {
        return print(purpose);
    }
    let release = format!("--release={}", purpose == For::Publishing);
    let words = ["trunk", "build", &release, "--dist", purpose.webassembly()];
    // Of that variable Trunk takes nothing but true and false.
    run(tool::with_tools(&words, &[&TRUNK, &WASM_BINDGEN, &WASM_OPT])?.env_remove("NO_COLOR"))
}

/// Prints the pages round the WebAssembly that is there. `press` writes nothing at all when it finds a fault.
///
/// # Errors
/// When there is no WebAssembly yet, or what `press` finds wrong, which it prints itself.
pub fn print(purpose: For) -> Result<()> {
    let mut press = command(&["cargo", "run", "--quiet", "--release", "--package", "press", "--"]);
    press.args(["--webassembly", purpose.webassembly(), "--out", purpose.folder()]);
    if purpose == For::Publishing {
        press.arg("--publish");
    }
    run(&mut press)
}

/// Whether what Trunk has made is newer than what it makes it of: cargo's output for each binary of `web`, and how to.
fn are_new(purpose: For) -> Result<bool> {
    let written = |path: &Path| fs::metadata(path).and_then(|about| about.modified()).ok();
    let modules: Vec<PathBuf> =
        fs::read_dir("web/src/bin")?.map(|file| Ok(file?.path())).collect::<Result<_>>()?;
    Ok(modules.iter().filter_map(|module| module.file_stem()?.to_str()).all(|module| {
        let built = format!("target/wasm32-unknown-unknown/wasm/{module}.wasm");
        let made = written(&Path::new(purpose.webassembly()).join(format!("{module}_bg.wasm")));
        [&*built, "Trunk.toml", "web/index.html"].iter().all(|from| made > written(Path::new(from)))
    }))
}
