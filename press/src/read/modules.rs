//! The WebAssembly modules of the book, as `cargo xtask` has built them: one of all calculators, one of the job.

use crate::BuildError;
use sha2::{Digest, Sha256};
use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

/// The module of all calculators.
const CALCULATORS: &str = "calculators";
/// The module of the amplifier on the bench, which a page names and only brings when it is wanted.
const JOB: &str = "job";
/// The script that programs ask for by name.
const FOR_PROGRAMS: &str = "calculators.js";

/// The modules of the book.
#[derive(Debug)]
pub struct Modules {
    /// What brings calculators to life.
    pub calculators: Module,
    /// What shows jobs and runs procedures.
    pub job: Module,
}

/// The two files of a module, from the root of the book. Their names change with their bytes: a page never meets the module
/// of another edition.
#[derive(Debug)]
pub struct Module {
    /// By which scripts find it in the head of a page.
    pub name: &'static str,
    /// The script that wasm-bindgen wrote; it fetches the other.
    pub script: String,
    /// The module itself.
    pub wasm: String,
}

/// Finds both modules in `folder` and adds their files to those of the book, and the script that programs ask for.
///
/// # Errors
/// When a file is missing, or does not name the other: its calculators would stay dead.
pub fn read(folder: &Path, files: &mut BTreeMap<String, Vec<u8>>) -> Result<Modules, BuildError> {
    let calculators = one(folder, CALCULATORS, files)?;
    let job = one(folder, JOB, files)?;
    let script = &calculators.script;
    let for_programs = format!("export * from \"./{script}\";\nexport {{ default }} from \"./{script}\";\n");
    files.insert(FOR_PROGRAMS.to_owned(), for_programs.into_bytes());
    Ok(Modules { calculators, job })
}

fn one(
    folder: &Path,
    name: &'static str,
    files: &mut BTreeMap<String, Vec<u8>>,
) -> Result<Module, BuildError> {
    let (script, wasm) = built(folder, name)?;
    let hash = Sha256::new().chain_update(&script).chain_update(&wasm).finalize();
    let hash: String = hash.iter().take(HASH / 2).map(|byte| format!("{byte:02x}")).collect();
    let module = Module { name, script: format!("{name}-{hash}.js"), wasm: format!("{name}-{hash}_bg.wasm") };
    let fetched = format!("{name}_bg.wasm");
    if !script.contains(&fetched) {
        let path = folder.join(format!("{name}.js"));
        return Err(BuildError::Unready(format!("{}: it does not fetch {fetched}", path.display())));
    }
    files.insert(module.script.clone(), script.replace(&fetched, &module.wasm).into_bytes());
    files.insert(module.wasm.clone(), wasm);
    Ok(module)
}

/// The module of all calculators as it was built, script and WebAssembly.
///
/// # Errors
/// When it is missing.
pub fn calculators(folder: &Path) -> Result<(String, Vec<u8>), BuildError> {
    built(folder, CALCULATORS)
}

fn built(folder: &Path, name: &str) -> Result<(String, Vec<u8>), BuildError> {
    let (script, wasm) = (file(folder, &format!("{name}.js"))?, file(folder, &format!("{name}_bg.wasm"))?);
    Ok((String::from_utf8_lossy(&script).into_owned(), wasm))
}

fn file(folder: &Path, name: &str) -> Result<Vec<u8>, BuildError> {
    let path = folder.join(name);
    fs::read(&path).map_err(|error| {
        let path = path.display();
        BuildError::Unready(format!(
            "{path}: {error}; the calculators would stay dead; `cargo xtask serve` builds it"
        ))
    })
}

/// Hexadecimal digits of a hash in a name.
const HASH: usize = 16;

/// Whether a file at the root of the book is a module's or the index, of this edition or of an earlier one.
#[must_use]
pub fn is_one(name: &str) -> bool {
    let ends = [".js", "_bg.wasm", ".json"];
    let stem = ends.iter().find_map(|end| name.strip_suffix(end));
    let parts = stem.and_then(|stem| stem.rsplit_once('-'));
    parts.is_some_and(|(_, hash)| hash.len() == HASH && hash.bytes().all(|byte| byte.is_ascii_hexdigit()))
}
