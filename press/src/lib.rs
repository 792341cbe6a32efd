//! Press prints the book: the Markdown under `content/` in, static pages out. Internal to Standing Current.
//!
//! ```text
//! content/ ─► read      chapters, pages in reading order, front matter, cautions; the WebAssembly modules
//!             appendix  the pages that press writes itself: valves, sources, checks
//!             markdown  Markdown to a tree, and the tree to HTML
//!             page      passes over the tree of a page, where what is only named becomes what it represents; its layout
//!             finding   the index that the find field searches, and the printed indices
//!             output    the folder, the edition that a device keeps, the book as one file
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

pub mod address;
pub mod appendix;
pub mod calculators;
pub mod fault;
pub mod finding;
pub mod markdown;
pub mod output;
pub mod page;
pub mod read;
pub mod source_text;

use fault::Faults;
use finding::{file, symptoms, synonyms};
use output::files::{self, Summary};
use output::strip_comments::strip_comments;
use output::{edition, one_file};
use page::calculator_pages::CalculatorPages;
use page::formulas::Formulas;
use page::glossary::Glossary;
use page::layout::{self, Document};
use page::{Context, Draft, RenderedPage, article, links};
use rayon::prelude::*;
use read::book::Book;
use read::modules;
use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

/// What to print, and where to.
#[derive(Debug)]
pub struct BuildOptions {
    /// The folder that holds `content/`, `press/assets/` and `web/js/`.
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
pub enum BuildError {
    /// The content is not right.
    #[error("{0}press: {n} {faults}, nothing printed", n = .0.len(), faults = if .0.len() == 1 { "fault" } else { "faults" })]
    Faults(Faults),
    /// A file cannot be read or written.
    #[error("press: {path}: {error}")]
    File {
        /// The file that could not be read or written.
        path: PathBuf,
        /// What the system says.
        error: std::io::Error,
    },
    /// What press works with is not ready, as when a WebAssembly module is missing.
    #[error("press: {0}")]
    Unready(String),
}

impl BuildError {
    /// Makes an error of what the system says of `path`.
    pub fn at(path: &Path) -> impl FnOnce(std::io::Error) -> Self {
        move |error| Self::File { path: path.to_path_buf(), error }
    }
}

/// Prints the book; says how many pages it has and what was done.
///
/// # Errors
/// When the content is not right or a file cannot be read or written; then no page has changed.
pub fn print(options: &BuildOptions) -> Result<(usize, Summary), BuildError> {
    let faults = Faults::default();
    let mut book = Book::read(&options.workspace, &faults)?;
    book.add_appendix(appendix::pages(&options.workspace, &faults), &faults);
    let context = Context {
        workspace: &options.workspace,
        book: &book,
        glossary: Glossary::read(&book, &faults),
        symptoms: symptoms::read(&options.workspace, &faults)?,
        synonyms: synonyms::read(&options.workspace, &faults)?,
        formulas: Formulas::new().map_err(BuildError::Unready)?,
        faults: &faults,
        publish: options.publish,
    };
    let drafts: Vec<Draft<'_>> = book.pages.par_iter().map(|page| page::draft(&context, page)).collect();
    let homes = CalculatorPages::of(&drafts);
    let pages: Vec<RenderedPage> =
        drafts.into_par_iter().map(|draft| page::finish(&context, &homes, draft)).collect();
    let ids = book
        .pages
        .iter()
        .zip(&pages)
        .map(|(page, rendered)| (page.path.as_str(), rendered.ids.keys().map(String::as_str).collect()))
        .collect();
    for page in &pages {
        links::check(&page.found.anchors, &ids, &faults);
    }
    if !faults.is_empty() {
        return Err(BuildError::Faults(faults));
    }
    let mut files = assets(&options.workspace)?;
    let has_find = book.pages.iter().any(|page| page.path == finding::PAGE);
    let find = has_find.then(|| file::written(&context, &homes, &pages));
    let index = find.as_ref().map(|(name, _)| name.as_str());
    let modules = modules::read(&options.webassembly, &mut files)?;
    if options.publish {
        let is_code = |name: &str| name.ends_with(".js") || name.ends_with(".css");
        let sent = files.iter_mut().filter(|(name, _)| is_code(name));
        sent.for_each(|(_, code)| *code = strip_comments(&String::from_utf8_lossy(code)).into_bytes());
    }
    let set = |(number, rendered)| {
        let document = article::set(&context, number, rendered, &modules, index);
        let text = layout::document(&document);
        (document, text)
    };
    let set: Vec<(Document<'_>, String)> = pages.par_iter().enumerate().map(set).collect();
    let mut documents = Vec::with_capacity(set.len());
    for (document, text) in set {
        files.insert(document.head.path.to_owned(), text.into_bytes());
        documents.push(document);
    }
    files.insert("404.html".into(), layout::not_found(&book, &options.root, index).into_bytes());
    let found_by = find.as_ref().map(|(_, bytes)| bytes.as_slice());
    let one_file = options
        .publish
        .then(|| one_file::text(&documents, &files, found_by, &options.webassembly))
        .transpose()?;
    files.remove(one_file::SCRIPT);
    files.extend(find);
    edition::begin_worker(&mut files)?;
    // Beside the pages that a device keeps; it is them once more.
    if let Some(text) = one_file {
        files.insert(address::ONE_FILE.to_owned(), text.into_bytes());
        files.insert(edition::SUMS.to_owned(), edition::sums(&files).into_bytes());
    }
    Ok((book.pages.len(), files::write(&options.out, &files, options.publish)?))
}

/// The stylesheet of every page, and what the others of the folder are joined to.
const STYLES: &str = "book.css";

/// The styles, the icons, the scripts: what is sent as it stands. Of files with styles there are several, for those who write
/// them; a page asks for one.
fn assets(workspace: &Path) -> Result<BTreeMap<String, Vec<u8>>, BuildError> {
    let mut files = BTreeMap::new();
    for folder in ["press/assets", "web/js"].map(|folder| workspace.join(folder)) {
        for entry in fs::read_dir(&folder).map_err(BuildError::at(&folder))? {
            let path = entry.map_err(BuildError::at(&folder))?.path();
            if let (Some(name), true) = (path.file_name(), path.is_file()) {
                files.insert(
                    name.to_string_lossy().into_owned(),
                    fs::read(&path).map_err(BuildError::at(&path))?,
                );
            }
        }
    }
    let others = files.extract_if(.., |name, _| name.ends_with(".css") && name != STYLES);
    let more: Vec<u8> = others.flat_map(|(_, styles)| styles).collect();
    files.entry(STYLES.to_owned()).or_default().extend(more);
    Ok(files)
}
