//! Builds the book: the WebAssembly modules first, then `press` prints the pages round them.

use std::fs;
use std::num::NonZero;
use std::path::{Path, PathBuf};
use std::sync::{Mutex, PoisonError};
use std::thread;

use anyhow::{Result, ensure};

use crate::run::{command, run};
use crate::tool::{self, WASM, WASM_BINDGEN, WASM_OPT};

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

    /// Where its WebAssembly modules lie before `press` takes them into the book.
    pub const fn webassembly(self) -> &'static str {
        match self {
            Self::Writing => "target/webassembly/writing",
            Self::Publishing => "target/webassembly/publishing",
        }
    }
}

/// Builds WebAssembly and pages.
///
/// # Errors
/// When a tool is missing, or what a compiler or `press` find wrong, which they print themselves.
pub fn build(purpose: For) -> Result<()> {
    webassembly(purpose)?;
    print(purpose)
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

/// What Rust's output needs that `wasm-opt` does not take for granted.
const FEATURES: [&str; 6] = [
    "--enable-bulk-memory",
    "--enable-nontrapping-float-to-int",
    "--enable-sign-ext",
    "--enable-reference-types",
    "--enable-multivalue",
    "--enable-mutable-globals",
];

/// Builds every module that has changed: each binary of `web` is one.
fn webassembly(purpose: For) -> Result<()> {
    tool::ensure(&[&WASM, &WASM_BINDGEN])?;
    if purpose == For::Publishing {
        tool::ensure(&[&WASM_OPT])?;
    }
    let cargo = ["cargo", "build", "--quiet", "--package", "web", "--bins", "--profile", "wasm", "--target"];
    run(command(&cargo).arg("wasm32-unknown-unknown"))?;
    fs::create_dir_all(raw(purpose))?;
    let modules = modules()?;
    ensure!(!modules.is_empty(), "web/src/bin holds no module");
    // The tools keep one processor busy each.
    let left = Mutex::new(modules.into_iter());
    let next = || left.lock().unwrap_or_else(PoisonError::into_inner).next();
    let work = || -> Result<()> {
        while let Some(module) = next() {
            finish(&module, purpose)?;
        }
        Ok(())
    };
    thread::scope(|scope| {
        let processors = thread::available_parallelism().map_or(1, NonZero::get);
        let workers: Vec<_> = (0..processors).map(|_| scope.spawn(work)).collect();
        workers.into_iter().try_for_each(|worker| worker.join().expect("a worker does not panic"))
    })
}

/// Where modules are made: beside their place, and moved there last, so that what was broken off half-way is made again.
fn raw(purpose: For) -> PathBuf {
    Path::new(purpose.webassembly()).join("raw")
}

/// Makes of cargo's output what a browser loads, if it is newer.
fn finish(module: &str, purpose: For) -> Result<()> {
    let (from, to) = (Path::new("target/wasm32-unknown-unknown/wasm"), Path::new(purpose.webassembly()));
    let (script, wasm) = (format!("{module}.js"), format!("{module}_bg.wasm"));
    let built = from.join(module).with_extension("wasm");
    if newer(&to.join(&wasm), &built) {
        return Ok(());
    }
    let raw = raw(purpose);
    let bindgen = ["wasm-bindgen", "--target", "web", "--no-typescript", "--out-dir"];
    run(tool::with_tools(&bindgen, &[&WASM_BINDGEN])?.arg(&raw).arg(&built))?;
    if purpose == For::Publishing {
        let words = ["wasm-opt", "--strip-producers", "--strip-target-features", "-Oz"];
        let mut small = tool::with_tools(&words, &[&WASM_OPT])?;
        // Nothing lies below 1 kB: there the stack would end (rustc puts it first). Functions of like names are much alike:
        // side by side brotli packs them closer.
        run(small
            .args(["--low-memory-unused", "--converge", "--monomorphize", "--reorder-functions-by-name"])
            .args(FEATURES)
            .arg(raw.join(&wasm))
            .arg("-o")
            .arg(raw.join(&wasm)))?;
    }
    for file in [script, wasm] {
        fs::rename(raw.join(&file), to.join(&file))?;
    }
    Ok(())
}

/// The names of the modules.
fn modules() -> Result<Vec<String>> {
    let files =
        fs::read_dir("web/src/bin")?.map(|file| Ok(file?.path())).collect::<Result<Vec<PathBuf>>>()?;
    Ok(files.iter().filter_map(|file| file.file_stem()?.to_str()).map(str::to_owned).collect())
}

/// Whether `one` was written after `other`.
fn newer(one: &Path, other: &Path) -> bool {
    let time = |path: &Path| fs::metadata(path).and_then(|about| about.modified()).ok();
    time(one) > time(other)
}
