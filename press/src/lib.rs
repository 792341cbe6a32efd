//! Press prints the book: the Markdown under `content/` in, static pages out. Internal to Standing Current.
//!
//! ```text
//! content/ ─► book      chapters, pages in reading order, front matter, cautions
//!             text      Markdown to HTML; parts, blocks, figure, math and link write what CommonMark does not know
//!             leaf      a page: its text with what its kind calls for
//!             frame     what stands around every page: head, way, contents, turn, foot
//!             edition   which files make up this edition, for the worker that keeps them on a device
//!             output    only what changed is written, what is stale goes, texts get compressed twins
//! ```
//!
//! Invariants:
//!
//! - Nothing is written unless everything is right: faults are gathered from the whole book and shown together, each with its
//!   file and line, what was found, what is wrong and what would be right ([`fault`]).
//! - The same content gives the same bytes.
//! - Every address in a page is relative, except on `404.html`, which may be shown anywhere and says where the book begins.
//! - No inline script and no inline style: the content policy would refuse them.
//! - What a calculator printed is never touched: the browser takes over that very markup.
//! - Press asks `calc-core` and `web` through one door ([`calculators`]) and calculates nothing itself.

pub mod book;
pub mod calculators;
pub mod caution;
mod checks;
pub mod edition;
pub mod fault;
pub mod figure;
pub mod frame;
pub mod front;
pub mod leaf;
pub mod link;
pub mod math;
pub mod output;
pub mod piece;
pub mod sources;
pub mod table;
pub mod text;
mod valves;

mod blocks;
mod parts;

use book::Book;
use fault::Faults;
use frame::Wasm;
use leaf::Leaf;
use output::Done;
use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use text::Shop;

/// How a page says that press wrote it, so that a later printing may remove it.
pub const GENERATOR: &str = "Standing Current press";

/// What to print, and where to.
#[derive(Debug)]
pub struct Job {
    /// The folder that holds `content/`, `press/assets/` and `web/browser/`.
    pub workspace: PathBuf,
    /// Where the pages go; the WebAssembly lies there already.
    pub out: PathBuf,
    /// The path of the book on its server, for the page that is shown where there is none.
    pub root: String,
    /// Whether to put compressed twins beside texts.
    pub compress: bool,
}

/// Why nothing was printed.
#[derive(Debug, thiserror::Error)]
pub enum Stop {
    /// The content is not right.
    #[error("{0}press: {n} {faults}, nothing printed", n = .0.len(), faults = if .0.len() == 1 { "fault" } else { "faults" })]
    Faults(Faults),
    /// A file cannot be read or written.
    #[error("press: {path}: {error}")]
    File {
        /// Which file.
        path: PathBuf,
        /// What the system says.
        error: std::io::Error,
    },
    /// What press works with is not ready, as when the WebAssembly is missing.
    #[error("press: {0}")]
    Unready(String),
}

impl Stop {
    /// Makes a stop of what the system says of `path`.
    pub fn at(path: &Path) -> impl FnOnce(std::io::Error) -> Self {
        move |error| Self::File { path: path.to_path_buf(), error }
    }
}

/// Prints the book; says how many pages it has and what was done.
///
/// # Errors
/// When the content is not right or a file cannot be read or written; then no page has changed.
pub fn print(job: &Job) -> Result<(usize, Done), Stop> {
    let faults = Faults::default();
    let book = Book::read(&job.workspace, &faults)?;
    let shop = Shop {
        workspace: &job.workspace,
        book: &book,
        formulas: math::Formulas::new().map_err(Stop::Unready)?,
        faults: &faults,
    };
    let leaves: Vec<Leaf> = book.pages.iter().map(|page| leaf::write(&shop, page)).collect();
    let ids = book
        .pages
        .iter()
        .zip(&leaves)
        .map(|(page, leaf)| (page.path.as_str(), leaf.text.ids.keys().map(String::as_str).collect()))
        .collect();
    for leaf in &leaves {
        link::check(&leaf.text.anchors, &ids, &faults);
    }
    if !faults.is_empty() {
        return Err(Stop::Faults(faults));
    }
    let wasm =
        if leaves.iter().any(|leaf| leaf.text.calculates) { wasm_in(&job.out)? } else { Wasm::default() };
    let mut files = assets(&job.workspace)?;
    for (index, leaf) in leaves.iter().enumerate() {
        files.insert(book.pages[index].path.clone(), leaf::set(&shop, index, leaf, &wasm).into_bytes());
    }
    files.insert("404.html".into(), frame::not_found(&book, &job.root).into_bytes());
    let worker = job.workspace.join("web/browser").join(edition::WORKER);
    let worker =
        files.remove(edition::WORKER).ok_or_else(|| Stop::Unready(format!("no {}", worker.display())))?;
    let mut done = output::write(&job.out, &files)?;
    done.written += usize::from(edition::write(&job.out, &worker)?);
    if job.compress {
        done.compressed = output::compress_all(&job.out)?;
    }
    Ok((book.pages.len(), done))
}

/// The stylesheet, the icons, the scripts: what is sent as it stands.
fn assets(workspace: &Path) -> Result<BTreeMap<String, Vec<u8>>, Stop> {
    let mut files = BTreeMap::new();
    for folder in ["press/assets", "web/browser"].map(|folder| workspace.join(folder)) {
        for entry in fs::read_dir(&folder).map_err(Stop::at(&folder))? {
            let path = entry.map_err(Stop::at(&folder))?.path();
            if let (Some(name), true) = (path.file_name(), path.is_file()) {
                files.insert(name.to_string_lossy().into_owned(), fs::read(&path).map_err(Stop::at(&path))?);
            }
        }
    }
    Ok(files)
}

/// The one script and the one module that Trunk put into `out`.
fn wasm_in(out: &Path) -> Result<Wasm, Stop> {
    let mut names: Vec<String> = Vec::new();
    for entry in fs::read_dir(out).map_err(Stop::at(out))? {
        names.push(entry.map_err(Stop::at(out))?.file_name().to_string_lossy().into_owned());
    }
    names.sort();
    let one = |end: &str| match names
        .iter()
        .filter(|name| name.starts_with("web-") && name.ends_with(end))
        .collect::<Vec<_>>()
        .as_slice()
    {
        [name] => Ok((*name).clone()),
        [] => Err(Stop::Unready(format!(
            "no web-…{end} in {}: the calculators would stay dead; run `trunk build` first",
            out.display()
        ))),
        many => Err(Stop::Unready(format!(
            "{} files web-…{end} in {}: no telling which is in force; remove the old ones",
            many.len(),
            out.display()
        ))),
    };
    Ok(Wasm { script: one(".js")?, module: one("_bg.wasm")? })
}

/// A text file.
pub(crate) fn read_text(path: &Path) -> Result<String, Stop> {
    fs::read_to_string(path).map_err(Stop::at(path))
}
