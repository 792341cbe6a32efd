//! The edition: every file of the book with the hash of its final bytes, so that a device keeps one edition whole.
//!
//! The service worker begins with the list, so it is another script in every edition, and that is how a browser learns
//! of a new one.

use crate::BuildError;
use sha2::{Digest, Sha256};
use std::collections::BTreeMap;
use std::fmt::Write;

/// The script that keeps the book on a device.
const WORKER: &str = "service-worker.js";

/// The list of the published files with their hashes.
pub const SUMS: &str = "SHA256SUMS";

/// How many hexadecimal digits name an edition: enough to tell two apart, few enough to be read out.
const DIGITS: usize = 8;

/// Lets the service worker among the files begin with the list of the others. Files that come later are not kept.
///
/// # Errors
/// When there is no service worker.
pub fn begin_worker(files: &mut BTreeMap<String, Vec<u8>>) -> Result<(), BuildError> {
    let worker = files.remove(WORKER).ok_or_else(|| BuildError::Unready(format!("no web/js/{WORKER}")))?;
    let hashes: Vec<(&String, String)> =
        files.iter().map(|(file, bytes)| (file, hexadecimal(bytes))).collect();
    // The name follows from the bytes alone, those of the worker among them: the same book is the same edition wherever
    // it was printed, and a worker that differs never shares a store.
    let mut name = hexadecimal(format!("{} {hashes:?}", hexadecimal(&worker)).as_bytes());
    name.truncate(DIGITS);
    let list =
        hashes.iter().fold(String::new(), |list, (file, hash)| format!("{list}  {file:?}: \"{hash}\",\n"));
    let head = format!(
        "// Written by press: the name of this edition, and the SHA-256 of each of its files.\n\
         const EDITION = \"{name}\";\nconst FILES = {{\n{list}}};\n\n"
    );
    files.insert(WORKER.to_owned(), [head.into_bytes(), worker].concat());
    Ok(())
}

/// The hash of every file, as `sha256sum --check` reads them.
#[must_use]
pub fn sums(files: &BTreeMap<String, Vec<u8>>) -> String {
    files.iter().fold(String::new(), |list, (file, bytes)| format!("{list}{}  {file}\n", hexadecimal(bytes)))
}

fn hexadecimal(bytes: &[u8]) -> String {
    Sha256::digest(bytes).iter().fold(String::new(), |mut digits, byte| {
        // Writing to a string cannot fail.
        let _ = write!(digits, "{byte:02x}");
        digits
    })
}
