//! The edition: every file of the book with the hash of its final bytes, so that a device keeps one edition whole.
//!
//! The service worker begins with the list, so it is another script in every edition, and that is how a browser learns
//! of a new one.

use crate::Stop;
use crate::output::{all_files, is_twin, write_new};
use sha2::{Digest, Sha256};
use std::collections::BTreeMap;
use std::fmt::Write;
use std::fs;
use std::path::Path;

/// The script that keeps the book on a device.
pub const WORKER: &str = "service-worker.js";

/// How many hexadecimal digits name an edition: enough to tell two apart, few enough to be read out.
const DIGITS: usize = 8;

/// Writes the service worker of the edition that lies in `folder`; tells whether it is another one than before.
///
/// # Errors
/// When a file cannot be read or written.
pub fn write(folder: &Path, source: &[u8]) -> Result<bool, Stop> {
    let files = hashes(folder)?;
    let mut script = format!(
        "// Written by press: the name of this edition, and the SHA-256 of each of its files.\n\
         const EDITION = \"{}\";\nconst FILES = {{\n",
        name(&files, source)
    )
    .into_bytes();
    for (file, hash) in &files {
        script.extend_from_slice(format!("  {file:?}: \"{hash}\",\n").as_bytes());
    }
    script.extend_from_slice(b"};\n\n");
    script.extend_from_slice(source);
    write_new(&folder.join(WORKER), &script)
}

/// Every file that a reader may be sent, with its hash. Compressed twins are the same files in other clothes, and files
/// whose name begins with a dot belong to the server.
fn hashes(folder: &Path) -> Result<BTreeMap<String, String>, Stop> {
    let mut files = BTreeMap::new();
    for path in all_files(folder)? {
        let name = path.strip_prefix(folder).unwrap_or(&path).to_string_lossy().replace('\\', "/");
        if name != WORKER && !is_twin(&path) && !name.split('/').any(|part| part.starts_with('.')) {
            files.insert(name, hexadecimal(&fs::read(&path).map_err(Stop::at(&path))?));
        }
    }
    Ok(files)
}

/// The name follows from the bytes alone, those of the worker among them, so the same book is the same edition wherever
/// it was printed, and a worker that differs never shares a store.
fn name(files: &BTreeMap<String, String>, worker: &[u8]) -> String {
    let list = files.iter().fold(hexadecimal(worker), |list, (file, hash)| format!("{list}\n{hash}  {file}"));
    let mut name = hexadecimal(list.as_bytes());
    name.truncate(DIGITS);
    name
}

fn hexadecimal(bytes: &[u8]) -> String {
    Sha256::digest(bytes).iter().fold(String::new(), |mut digits, byte| {
        // Writing to a string cannot fail.
        let _ = write!(digits, "{byte:02x}");
        digits
    })
}
