//! Press prints the book: the Markdown under `content/` in, static pages out. Internal to Standing Current.
//!
//! ```text
//! content/ ─► book      chapters, pages in reading order, front matter, cautions
//!             text      Markdown to HTML; parts, blocks, figure, math and link write what CommonMark does not know
//!             leaf      a page: its text with what its kind calls for
//!             frame     what stands around every page: head, way, contents, turn, foot
//!             modules   the WebAssembly that brings calculators to life
//!             one_file  the whole book as one file
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
mod code;
mod edition;
pub mod fault;
pub mod figure;
pub mod frame;
pub mod front;
pub mod glossary;
pub mod homes;
pub mod leaf;
pub mod link;
pub mod math;
pub mod modules;
pub mod one_file;
pub mod output;
pub mod piece;
pub mod sources;
pub mod table;
pub mod text;
mod valves;

mod blocks;
mod parts;
mod steps;

use book::Book;
use fault::Faults;
use frame::Document;
use glossary::Glossary;
use homes::Homes;
use leaf::Leaf;
use maud::PreEscaped;
use output::Done;
use rayon::prelude::*;
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
    /// The folder that holds the WebAssembly modules.
    pub webassembly: PathBuf,
    /// Where the book goes.
    pub out: PathBuf,
    /// The path of the book on its server, for the page that is shown where there is none.
    pub root: String,
    /// Whether to add what only readers need: the book as one file, and compressed twins beside texts.
    pub publish: bool,
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
    /// What press works with is not ready, as when a WebAssembly module is missing.
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
        glossary: Glossary::read(&book, &faults),
        formulas: math::Formulas::new().map_err(Stop::Unready)?,
        faults: &faults,
        publish: job.publish,
    };
    let leaves: Vec<Leaf> = book.pages.par_iter().map(|page| leaf::write(&shop, page)).collect();
    let ids = book
        .pages
        .iter()
        .zip(&leaves)
        .map(|(page, leaf)| (page.path.as_str(), leaf.text.ids.keys().map(String::as_str).collect()))
        .collect();
    for leaf in &leaves {
        link::check(&leaf.text.anchors, &ids, &faults);
    }
    let homes = Homes::of(&book, &leaves);
    homes.check(&book, &leaves, &faults);
    if !faults.is_empty() {
        return Err(Stop::Faults(faults));
    }
    let mut files = assets(&job.workspace)?;
    let modules = modules::read(&job.webassembly, &mut files)?;
    if job.publish {
        // What programs ask for by name is read by those who write them.
        let is_code = |name: &str| name.ends_with(".js") || name.ends_with(".css");
        let sent = files.iter_mut().filter(|(name, _)| is_code(name) && *name != modules::WHOLE);
        sent.for_each(|(_, code)| *code = code::slim(&String::from_utf8_lossy(code)).into_bytes());
    }
    let set = |(index, leaf)| {
        let mut document = leaf::set(&shop, index, leaf, &modules);
        document.body = PreEscaped(homes.put(document.head.path, &document.body.0));
        let text = frame::document(&document);
        (document, text)
    };
    let set: Vec<(Document<'_>, String)> = leaves.par_iter().enumerate().map(set).collect();
    let mut documents = Vec::with_capacity(set.len());
    for (document, text) in set {
        files.insert(document.head.path.to_owned(), text.into_bytes());
        documents.push(document);
    }
    files.insert("404.html".into(), frame::not_found(&book, &job.root).into_bytes());
    let one_file = job.publish.then(|| one_file::text(&documents, &files, &job.webassembly)).transpose()?;
    files.remove(one_file::SCRIPT);
    edition::begin_worker(&mut files)?;
    // Beside the pages that a device keeps; it is them once more.
    if let Some(text) = one_file {
        files.insert(one_file::NAME.to_owned(), text.into_bytes());
        files.insert(edition::SUMS.to_owned(), edition::sums(&files).into_bytes());
    }
    Ok((book.pages.len(), output::write(&job.out, &files, job.publish)?))
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

/// A text file.
pub(crate) fn read_text(path: &Path) -> Result<String, Stop> {
    fs::read_to_string(path).map_err(Stop::at(path))
}
