//! `prose`: what readers read, and what the code says in comments and messages, against our list of patterns and a British
//! dictionary (both in `xtask/prose`).

mod code;

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use anyhow::{Context, Result, ensure};

use crate::run::listen;
use crate::tool::{self, CSPELL, NODE, PRH};

/// What is read: the handbook, and what a newcomer reads first.
const READ: [&str; 4] = ["content", "README.md", "CHANGELOG.md", "DEVELOPERS.md"];

/// Where the code is, of which comments and sentences are read.
const CODE: [&str; 7] = ["calc-core", "job", "press", "server", "tests", "web", "xtask"];

/// Whose English is not ours.
const LEFT_OUT: [&str; 1] = ["web/js/minisearch"];

/// Where the code is put for the linters, with nothing but its English in it.
const ENGLISH: &str = "target/prose";

/// What the trade says and the book does not, for those who search.
const OTHER_NAMES: &str = "synonyms.toml";

/// Names file, line and what to write instead, for every word that is not the book's English.
///
/// # Errors
/// When there is one, or a tool is missing.
pub fn prose() -> Result<()> {
    tool::ensure(&[&NODE, &PRH, &CSPELL])?;
    let mut files = Vec::new();
    for place in READ {
        gather(Path::new(place), &["md", "toml"], &mut files)?;
    }
    read(Path::new("."), files)?;
    let mut files = Vec::new();
    for place in CODE {
        gather(Path::new(place), &["rs", "js", "mjs"], &mut files)?;
    }
    for file in &files {
        let script = file.extension().is_none_or(|extension| extension != "rs");
        let tests = file
            .components()
            .any(|part| matches!(part.as_os_str().to_str(), Some("tests" | "benches" | "tests.rs")));
        let source = fs::read_to_string(file).with_context(|| format!("cannot read {}", file.display()))?;
        let to = Path::new(ENGLISH).join(file);
        fs::create_dir_all(to.parent().context("a file is in a folder")?)?;
        fs::write(to, code::english(&source, script, !tests))?;
    }
    read(Path::new(ENGLISH), files)
}

/// Lets both linters read files that are in a folder.
fn read(folder: &Path, mut files: Vec<PathBuf>) -> Result<()> {
    files.sort();
    let settings = std::path::absolute("xtask/prose")?;
    let settings = |name: &str| settings.join(name).display().to_string();
    let patterns = ["--rules", &settings("patterns.yml")];
    let found = listen(linter("prh", &patterns)?.args(&files).current_dir(folder))?;
    let found = found.lines().count();
    let words =
        ["lint", "--no-progress", "--no-summary", "--show-suggestions", "--config", &settings("cspell.json")];
    let spelt = listen(linter("cspell", &words)?.args(&files).current_dir(folder));
    ensure!(found == 0, "{found} places to reword: each line above ends with what to write instead");
    spelt.context("a misspelling, or a word of the trade that belongs in xtask/prose/words.txt").map(drop)
}

fn linter(program: &str, words: &[&str]) -> Result<Command> {
    tool::with_tools(&[&[program], words].concat(), &[&PRH, &CSPELL])
}

/// Every file below a place with one of these endings.
fn gather(place: &Path, endings: &[&str], files: &mut Vec<PathBuf>) -> Result<()> {
    if place.is_dir() {
        for entry in fs::read_dir(place)? {
            gather(&entry?.path(), endings, files)?;
        }
    } else if place
        .extension()
        .and_then(|extension| extension.to_str())
        .is_some_and(|ending| endings.contains(&ending))
        && !place.ends_with(OTHER_NAMES)
        && !LEFT_OUT.iter().any(|left| place.to_str().is_some_and(|place| place.starts_with(left)))
    {
        files.push(place.to_owned());
    }
    Ok(())
}
