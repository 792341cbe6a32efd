//! An edition of the book: the one that was built, or another, printed for journeys.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use crate::site::{ONE_FILE, compressed, folder, given};

/// What `press` prints a book from, in the workspace.
const INPUTS: [&str; 4] = ["content", "press/assets", "web/js", "tests/data/outside"];

/// The finished files of an edition.
pub struct Edition {
    folder: PathBuf,
}

impl Edition {
    /// The book as it was built.
    #[must_use]
    pub fn built() -> Self {
        Self { folder: folder() }
    }

    /// Prints another edition in `room`: this book after `change` was made to a copy of what it is printed from.
    ///
    /// # Panics
    /// When it cannot be printed.
    #[must_use]
    pub fn printed(room: &Path, change: impl FnOnce(&Path)) -> Self {
        let workspace = concat!(env!("CARGO_MANIFEST_DIR"), "/..");
        let (copy, out) = (room.join("workspace"), room.join("book"));
        for inputs in INPUTS {
            copy_folder(&Path::new(workspace).join(inputs), &copy.join(inputs));
        }
        change(&copy);
        let press = Command::new(given("PRESS"))
            .args(["--webassembly", &given("WEBASSEMBLY"), "--out"])
            .arg(&out)
            .current_dir(&copy)
            .output();
        let press = press.expect("press runs");
        assert!(press.status.success(), "{}", String::from_utf8_lossy(&press.stderr));
        Self { folder: out }
    }

    /// A copy of this edition in a folder, to be damaged.
    #[must_use]
    pub fn copied(&self, to: &Path) -> Self {
        copy_folder(&self.folder, to);
        Self { folder: to.to_owned() }
    }

    /// Where its files lie.
    #[must_use]
    pub fn folder(&self) -> &Path {
        &self.folder
    }

    /// The name that the service worker gives.
    ///
    /// # Panics
    /// When it gives none.
    #[must_use]
    pub fn name(&self) -> String {
        let worker = fs::read_to_string(self.folder.join("service-worker.js")).expect("a service worker");
        let name = worker.split_once("const EDITION = \"").and_then(|(_, rest)| rest.split_once('"'));
        name.expect("the worker names its edition").0.to_owned()
    }

    /// Every file that readers are sent, save the service worker, with its SHA-256 as `sha256sum` (GNU coreutils) says it.
    ///
    /// # Panics
    /// When `sha256sum` fails.
    #[must_use]
    pub fn files(&self) -> BTreeMap<String, String> {
        let mut files = Vec::new();
        collect(&self.folder, &mut files);
        let sums = Command::new("sha256sum").args(&files).output().expect("sha256sum runs");
        assert!(sums.status.success(), "{}", String::from_utf8_lossy(&sums.stderr));
        let line = |line: &str| {
            let (sum, file) = line.split_once("  ").expect("a sum and a file");
            let file = Path::new(file).strip_prefix(&self.folder).expect("a file of the edition");
            (file.to_string_lossy().into_owned(), sum.to_owned())
        };
        String::from_utf8_lossy(&sums.stdout).lines().map(line).collect()
    }

    /// How many files keeping the edition fetches, the service worker among them, and their bytes as they are sent.
    #[must_use]
    pub fn transferred(&self) -> (usize, u64) {
        let mut files = vec![self.folder.join("service-worker.js")];
        collect(&self.folder, &mut files);
        (files.len(), files.iter().map(|file| compressed(file)).sum())
    }
}

/// Collects the files of a folder that a device keeps: no compressed twins, not the service worker, and not what is only
/// there to be taken along.
fn collect(folder: &Path, files: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).expect("a folder of the book").flatten() {
        let path = entry.path();
        let left_out = ["service-worker.js", ONE_FILE, "SHA256SUMS"].iter().any(|name| path.ends_with(name))
            || path.extension().is_some_and(|end| end == "br" || end == "gz");
        if path.is_dir() {
            collect(&path, files);
        } else if !left_out {
            files.push(path);
        }
    }
}

fn copy_folder(from: &Path, to: &Path) {
    fs::create_dir_all(to).expect("a folder for the copy");
    for entry in fs::read_dir(from).expect("a folder to copy").flatten() {
        let (path, copy) = (entry.path(), to.join(entry.file_name()));
        if path.is_dir() {
            copy_folder(&path, &copy);
        } else {
            fs::copy(&path, &copy).expect("a file to copy");
        }
    }
}
