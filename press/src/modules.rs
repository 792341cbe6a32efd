//! The WebAssembly modules of the book, one for each group of calculators, as `cargo xtask` has built them.

use crate::Stop;
use calc_core::calculators::GROUPS;
use sha2::{Digest, Sha256};
use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

/// The module of the job, which a page names and only brings when it is wanted.
pub const JOBS: &str = "jobs";
/// The module that runs procedures; likewise.
pub const BENCH: &str = "bench";
/// The script of all calculators together: programs ask for it by name, so it keeps its name.
pub const WHOLE: &str = "calculators.js";

/// The two files that bring a group of calculators to life, from the root of the book. Their names change with their
/// bytes: a page never meets the module of another edition.
#[derive(Debug)]
pub struct Module {
    /// The group it brings, [`JOBS`] or [`BENCH`].
    pub group: &'static str,
    /// The script that wasm-bindgen wrote.
    pub script: String,
    /// The module itself.
    pub wasm: String,
}

/// Finds every module in `folder`, those of the job last, and adds its files to those of the book.
///
/// # Errors
/// When one is missing: its calculators would stay dead.
pub fn read(folder: &Path, files: &mut BTreeMap<String, Vec<u8>>) -> Result<Vec<Module>, Stop> {
    let mut names = GROUPS.iter().map(|group| group.name).chain([JOBS, BENCH]);
    let modules = names.try_fold(Vec::new(), |mut modules, name| {
        modules.push(one(folder, name, files)?);
        Ok(modules)
    })?;
    let (script, wasm) = whole(folder)?;
    files.insert(WHOLE.to_owned(), script.into_bytes());
    files.insert("calculators_bg.wasm".to_owned(), wasm);
    Ok(modules)
}

fn one(folder: &Path, group: &'static str, files: &mut BTreeMap<String, Vec<u8>>) -> Result<Module, Stop> {
    let script = file(folder, &format!("{group}.js"))?;
    let wasm = file(folder, &format!("{group}_bg.wasm"))?;
    let hash = Sha256::new().chain_update(&script).chain_update(&wasm).finalize();
    let hash: String = hash.iter().take(HASH / 2).map(|byte| format!("{byte:02x}")).collect();
    let module =
        Module { group, script: format!("{group}-{hash}.js"), wasm: format!("{group}-{hash}_bg.wasm") };
    files.insert(module.script.clone(), script);
    files.insert(module.wasm.clone(), wasm);
    Ok(module)
}

/// The module of all calculators together, script and WebAssembly: for the book that is one file, and for programs.
///
/// # Errors
/// When it is missing.
pub fn whole(folder: &Path) -> Result<(String, Vec<u8>), Stop> {
    let (script, wasm) = (file(folder, WHOLE)?, file(folder, "calculators_bg.wasm")?);
    Ok((String::from_utf8_lossy(&script).into_owned(), wasm))
}

fn file(folder: &Path, name: &str) -> Result<Vec<u8>, Stop> {
    let path = folder.join(name);
    fs::read(&path).map_err(|error| {
        let path = path.display();
        Stop::Unready(format!(
            "{path}: {error}; the calculators would stay dead; `cargo xtask serve` builds it"
        ))
    })
}

/// Hexadecimal digits of a hash in a name.
const HASH: usize = 16;

/// Whether a file at the root of the book is a module's, of this edition or of an earlier one.
#[must_use]
pub fn is_one(name: &str) -> bool {
    let stem = name.strip_suffix(".js").or_else(|| name.strip_suffix("_bg.wasm"));
    let parts = stem.and_then(|stem| stem.rsplit_once('-'));
    parts.is_some_and(|(_, hash)| hash.len() == HASH && hash.bytes().all(|byte| byte.is_ascii_hexdigit()))
}
