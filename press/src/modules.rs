//! The WebAssembly modules of the book, one for each group of calculators, as `cargo xtask` has built them.

use crate::Stop;
use calc_core::calculators::{GROUPS, Group};
use sha2::{Digest, Sha256};
use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

/// The two files that bring a group of calculators to life, from the root of the book. Their names change with their
/// bytes: a page never meets the module of another edition.
#[derive(Debug)]
pub struct Module {
    /// The group it brings.
    pub group: &'static str,
    /// The script that wasm-bindgen wrote.
    pub script: String,
    /// The module itself.
    pub wasm: String,
}

/// Finds every module in `folder`, and adds its files to those of the book.
///
/// # Errors
/// When one is missing: its calculators would stay dead.
pub fn read(folder: &Path, files: &mut BTreeMap<String, Vec<u8>>) -> Result<Vec<Module>, Stop> {
    let mut one = |group: &&'static Group| {
        let group = group.name;
        let file = |end: &str| {
            let path = folder.join(format!("{group}{end}"));
            fs::read(&path).map_err(|error| {
                let path = path.display();
                Stop::Unready(format!(
                    "{path}: {error}; the calculators would stay dead; `cargo xtask serve` builds it"
                ))
            })
        };
        let (script, wasm) = (file(".js")?, file("_bg.wasm")?);
        let hash = Sha256::new().chain_update(&script).chain_update(&wasm).finalize();
        let hash: String = hash.iter().take(HASH / 2).map(|byte| format!("{byte:02x}")).collect();
        let module =
            Module { group, script: format!("{group}-{hash}.js"), wasm: format!("{group}-{hash}_bg.wasm") };
        files.insert(module.script.clone(), script);
        files.insert(module.wasm.clone(), wasm);
        Ok(module)
    };
    GROUPS.iter().map(&mut one).collect()
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
