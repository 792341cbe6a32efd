//! The folder of finished pages: only what changed is written, what is stale goes, and each text has its compressed twins.

use super::edition;
use crate::BuildError;
use crate::page::layout::GENERATOR;
use crate::read::modules;
use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};

/// Files worth compressing, by the end of their name.
const TEXTS: [&str; 8] = ["html", "css", "js", "wasm", "svg", "json", "txt", "webmanifest"];
const TWINS: [&str; 2] = ["br", "gz"];

/// What was done to the folder.
#[derive(Debug, Default, PartialEq, Eq)]
pub struct Summary {
    /// Files whose bytes are new.
    pub written: usize,
    /// Pages and modules of an earlier printing that are gone.
    pub removed: usize,
    /// How many files had changed and were compressed again.
    pub compressed: usize,
}

/// Brings `folder` to hold `files`, by their path in it, and no page or module that an earlier printing left.
///
/// # Errors
/// When the folder cannot be read or written.
pub fn write(
    folder: &Path,
    files: &BTreeMap<String, Vec<u8>>,
    compress: bool,
) -> Result<Summary, BuildError> {
    let mut done = Summary::default();
    // What the last publishing listed is press's own, and goes when it is no longer among the files.
    let listed = fs::read_to_string(folder.join(edition::SUMS)).unwrap_or_default();
    let listed: BTreeSet<&str> = listed.lines().filter_map(|line| Some(line.split_once("  ")?.1)).collect();
    for (name, bytes) in files {
        let path = folder.join(name);
        if fs::read(&path).is_ok_and(|old| old == *bytes) {
            continue;
        }
        if let Some(parent) = path.parent() {
            fs::create_dir_all(parent).map_err(BuildError::at(parent))?;
        }
        fs::write(&path, bytes).map_err(BuildError::at(&path))?;
        remove_twins(&path)?;
        done.written += 1;
    }
    let present = all_files(folder)?;
    for path in &present {
        let name = path.strip_prefix(folder).unwrap_or(path).to_string_lossy().replace('\\', "/");
        let orphan =
            TWINS.iter().any(|twin| name.ends_with(&format!(".{twin}"))) && !path.with_extension("").exists();
        let stale = !files.contains_key(&name)
            && (listed.contains(name.as_str())
                || modules::is_one(&name)
                || name.ends_with(".html") && is_ours(path));
        if stale {
            remove_twins(path)?;
            done.removed += 1;
        }
        if stale || orphan && path.exists() {
            fs::remove_file(path).map_err(BuildError::at(path))?;
            // A chapter that is gone leaves no empty folder; one that is not empty stays.
            path.parent().map(fs::remove_dir);
        }
    }
    if compress {
        done.compressed = compress_all(&present)?;
    }
    Ok(done)
}

/// Whether press wrote this page, so that press may remove it.
fn is_ours(path: &Path) -> bool {
    fs::read_to_string(path).is_ok_and(|text| text.contains(&format!("content=\"{GENERATOR}\"")))
}

fn all_files(folder: &Path) -> Result<Vec<PathBuf>, BuildError> {
    let mut files = Vec::new();
    for entry in fs::read_dir(folder).map_err(BuildError::at(folder))? {
        let path = entry.map_err(BuildError::at(folder))?.path();
        if path.is_dir() { files.extend(all_files(&path)?) } else { files.push(path) }
    }
    files.sort();
    Ok(files)
}

fn twin(path: &Path, end: &str) -> PathBuf {
    let mut name = path.as_os_str().to_owned();
    name.push(".");
    name.push(end);
    name.into()
}

fn remove_twins(path: &Path) -> Result<(), BuildError> {
    for twin in TWINS.map(|end| twin(path, end)).into_iter().filter(|twin| twin.exists()) {
        fs::remove_file(&twin).map_err(BuildError::at(&twin))?;
    }
    Ok(())
}

/// Compresses every text that has no twins or older ones, on all processors.
fn compress_all(present: &[PathBuf]) -> Result<usize, BuildError> {
    let is_text = |path: &&PathBuf| path.extension().is_some_and(|end| TEXTS.iter().any(|text| end == *text));
    let todo: Vec<&PathBuf> =
        present.iter().filter(is_text).filter(|path| path.exists() && !twins_are_new(path)).collect();
    let workers = std::thread::available_parallelism().map_or(1, usize::from);
    std::thread::scope(|scope| {
        let work =
            |first: usize| todo.iter().skip(first).step_by(workers).try_for_each(|path| compress(path));
        let threads: Vec<_> = (0..workers).map(|first| scope.spawn(move || work(first))).collect();
        threads
            .into_iter()
            .try_for_each(|thread| thread.join().unwrap_or_else(|panic| std::panic::resume_unwind(panic)))
    })?;
    Ok(todo.len())
}

fn twins_are_new(path: &Path) -> bool {
    let time = |path: &Path| fs::metadata(path).and_then(|data| data.modified()).ok();
    TWINS.iter().all(|end| time(&twin(path, end)) >= time(path))
}

fn compress(path: &Path) -> Result<(), BuildError> {
    let bytes = fs::read(path).map_err(BuildError::at(path))?;
    let params = brotli::enc::BrotliEncoderParams {
        quality: 11,
        lgwin: 22,
        size_hint: bytes.len(),
        ..Default::default()
    };
    let mut small = Vec::new();
    brotli::BrotliCompress(&mut bytes.as_slice(), &mut small, &params).map_err(BuildError::at(path))?;
    put(&twin(path, "br"), &small)?;
    let mut gzip = flate2::write::GzEncoder::new(Vec::new(), flate2::Compression::best());
    let small = gzip.write_all(&bytes).and_then(|()| gzip.finish()).map_err(BuildError::at(path))?;
    put(&twin(path, "gz"), &small)
}

fn put(path: &Path, bytes: &[u8]) -> Result<(), BuildError> {
    fs::write(path, bytes).map_err(BuildError::at(path))
}
