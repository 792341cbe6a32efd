//! `serve`: the book as it is written. Text is printed again, code is built again, the reader reloads.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant, SystemTime};

use anyhow::{Context, Result};
use server::{SUB_PATH, Server};

use crate::book::{self, For};
use crate::run::{seconds, stage};

/// What `press` reads when it runs: a change needs no compiler.
const TEXT: &[&str] = &["content", "press/assets", "web/js"];
/// What the compiler reads.
const CODE: &[&str] = &[
    "calc-core",
    "job",
    "web/src",
    "web/Cargo.toml",
    "web/index.html",
    "press/src",
    "press/Cargo.toml",
    "Cargo.toml",
    "Cargo.lock",
    "Trunk.toml",
];

/// How often to look. Looking at a few hundred files costs under a millisecond and works on every file system.
const INTERVAL: Duration = Duration::from_millis(200);

/// Every change is another edition, and a browser that keeps editions would go on showing the first.
const WITHHELD: &[&str] = &["service-worker.js"];

/// Builds, serves and watches until it is stopped.
///
/// # Errors
/// When the first build fails or the port is taken; a later build that fails is only reported.
pub fn serve(port: u16) -> Result<()> {
    let mut seen = Seen::now();
    stage("build the book", || book::build(For::Writing))?;
    let server = Server::careful(Path::new(For::Writing.folder()), port, WITHHELD).with_context(|| {
        format!("cannot listen on port {port}; try `cargo xtask serve {}`", port.wrapping_add(1))
    })?;
    println!("\nThe book is at {0} (and at {0}{SUB_PATH}). Ctrl-C stops.", server.address);
    // Whether the WebAssembly is that of the code as it was last seen: a build that fails may have left the old one.
    let mut built_code = true;
    loop {
        std::thread::sleep(INTERVAL);
        let now = Seen::now();
        let started = Instant::now();
        let changed = (now.code != seen.code, now.text != seen.text);
        let built = match changed {
            (false, false) => continue,
            (false, true) if built_code => book::print(For::Writing),
            _ => {
                let built = book::build(For::Writing);
                built_code = built.is_ok();
                built
            }
        };
        match built {
            Ok(()) => {
                println!("The book is new again after {}: {}", seconds(started.elapsed()), server.address)
            }
            Err(error) => eprintln!("{error:#}\nThe book stays as it was."),
        }
        // The state before the build: what changed while it ran is built next.
        seen = now;
    }
}

/// Every watched file with its time of change and length.
type Files = BTreeMap<PathBuf, (SystemTime, u64)>;

struct Seen {
    text: Files,
    code: Files,
}

impl Seen {
    fn now() -> Self {
        let look = |paths: &[&str]| {
            let mut files = Files::new();
            paths.iter().for_each(|path| note(Path::new(path), &mut files));
            files
        };
        Self { text: look(TEXT), code: look(CODE) }
    }
}

/// Notes a file, or the files of a folder. What vanishes while we look is simply not there.
fn note(path: &Path, files: &mut Files) {
    if let Ok(entries) = fs::read_dir(path) {
        entries.flatten().for_each(|entry| note(&entry.path(), files));
    } else if let Ok(about) = fs::metadata(path) {
        files.insert(path.to_path_buf(), (about.modified().unwrap_or(SystemTime::UNIX_EPOCH), about.len()));
    }
}
