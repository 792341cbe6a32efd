//! The built book as files: its pages, what they refer to, and what a first visit costs.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

use scraper::{ElementRef, Html, Selector};

/// The whole book as one file, which is none of its pages.
pub const ONE_FILE: &str = "standing-current.html";

/// One page of the built book.
pub struct Page {
    /// Where it is in the book: `output-stage/set-idle-current.html`.
    pub path: String,
    /// Its parsed text.
    pub html: Html,
}

/// A variable that `cargo xtask test` sets.
///
/// # Panics
/// When it is not set: nothing can be looked at then.
#[must_use]
pub fn given(variable: &str) -> String {
    std::env::var(variable).unwrap_or_else(|_| panic!("{variable} is not set; run `cargo xtask test`"))
}

/// The folder of the built book.
#[must_use]
pub fn folder() -> PathBuf {
    PathBuf::from(given("BOOK_DIR"))
}

/// Every page of the book, by path.
///
/// # Panics
/// When there is none, or one cannot be read.
#[must_use]
pub fn pages() -> Vec<Page> {
    pages_whose(|_| true)
}

/// The pages whose text, as it is written in the file, is wanted: only they are parsed.
fn pages_whose(text_is_wanted: impl Fn(&str) -> bool) -> Vec<Page> {
    let book = folder();
    let mut files = Vec::new();
    collect(&book, &mut files);
    files.sort();
    files.retain(|file| {
        file.extension().is_some_and(|extension| extension == "html") && !file.ends_with(ONE_FILE)
    });
    assert!(!files.is_empty(), "no page in {}", book.display());
    let page = |file: PathBuf| {
        let text = fs::read_to_string(&file).expect("a page is text");
        let path = file.strip_prefix(&book).expect("a file of the book").to_string_lossy().into_owned();
        text_is_wanted(&text).then(|| Page { path, html: Html::parse_document(&text) })
    };
    files.into_iter().filter_map(page).collect()
}

/// The pages that differ in more than their figures: of those that press makes of a table row by row, the pages of the
/// valves, only a few. For journeys that cost a second a page.
#[must_use]
pub fn unlike_pages() -> Vec<Page> {
    const FEW: usize = 3;
    let (of_valves, mut others): (Vec<Page>, Vec<Page>) =
        pages().into_iter().partition(|page| page.path.starts_with("appendix/valves/"));
    others.extend(of_valves.into_iter().take(FEW));
    others
}

/// One page of each depth and set of modules. How files are found differs between these alone.
#[must_use]
pub fn pages_of_each_kind() -> Vec<Page> {
    let mut seen = BTreeSet::new();
    let mut pages = unlike_pages();
    pages.retain(|page| {
        let modules: Vec<String> = page.modules().into_iter().map(str::to_owned).collect();
        seen.insert((page.path.matches('/').count(), modules))
    });
    pages
}

/// The page of a calculator: its own, or else the first on which it stands.
///
/// # Panics
/// When it is on none.
#[must_use]
pub fn page_with(calculator: &str) -> String {
    let selector = format!("[data-calculator={calculator}]");
    // Half the journeys ask; parsing the whole book each time took longer than some of them.
    let mut pages = pages_whose(|text| text.contains(&format!("data-calculator=\"{calculator}\"")));
    pages.retain(|page| page.first(&selector).is_some());
    pages.sort_by_key(|page| page.first("body[data-kind=calculator]").is_none());
    let page = pages.into_iter().next();
    page.unwrap_or_else(|| panic!("no page holds the calculator `{calculator}`")).path
}

impl Page {
    /// The elements that a selector finds.
    ///
    /// # Panics
    /// When the selector is none.
    #[must_use]
    pub fn all(&self, selector: &str) -> Vec<ElementRef<'_>> {
        let selector = Selector::parse(selector).expect("a selector of ours");
        self.html.select(&selector).collect()
    }

    /// The first element that a selector finds.
    #[must_use]
    pub fn first(&self, selector: &str) -> Option<ElementRef<'_>> {
        self.all(selector).into_iter().next()
    }

    /// Whether any calculator is on the page.
    #[must_use]
    pub fn calculates(&self) -> bool {
        self.first("[data-calculator]").is_some()
    }

    /// The WebAssembly modules that the head names.
    #[must_use]
    pub fn modules(&self) -> Vec<&str> {
        let links = self.all("head > link[data-module]").into_iter();
        links.filter_map(|link| link.attr("data-module")).collect()
    }

    /// What the page refers to, as written: links and resources.
    #[must_use]
    pub fn references(&self) -> Vec<&str> {
        let of = |attribute| {
            let elements = self.all(&format!("[{attribute}]")).into_iter();
            elements.filter_map(move |element| element.attr(attribute))
        };
        ["href", "src", "srcset", "data", "poster", "action", "formaction"].into_iter().flat_map(of).collect()
    }

    /// The file of the book that a reference on this page names, and its anchor if it has one.
    #[must_use]
    pub fn target(&self, reference: &str) -> (PathBuf, Option<String>) {
        let (path, anchor) = match reference.split_once('#') {
            Some((path, anchor)) => (path, Some(anchor.to_owned())),
            None => (reference, None),
        };
        let mut file = PathBuf::from(&self.path);
        if !path.is_empty() {
            file.pop();
            for name in path.split('/') {
                match name {
                    "." => {}
                    ".." => {
                        assert!(file.pop(), "{}: `{reference}` leads out of the book", self.path);
                    }
                    name => file.push(name),
                }
            }
        }
        (file, anchor)
    }

    /// Bytes that a first visit of this page fetches when compressed with brotli: the page, styles, scripts, icons,
    /// WebAssembly; not the icon for a home screen, which is fetched when the book is put there, and not the module of the job,
    /// which is fetched when it is wanted.
    ///
    /// # Panics
    /// When a file of the page is not there.
    #[must_use]
    pub fn first_visit(&self) -> u64 {
        let resources =
            self.all("link[href]:not([rel=apple-touch-icon], [rel=job]), script[src], img[src]").into_iter();
        let mut files: BTreeSet<PathBuf> = resources
            .filter_map(|element| element.attr("href").or_else(|| element.attr("src")))
            .filter(|reference| !reference.starts_with("data:"))
            .map(|reference| self.target(reference).0)
            .filter(|file| file.extension().is_none_or(|extension| extension != "html"))
            .collect();
        files.insert(PathBuf::from(&self.path));
        files.iter().map(|file| compressed(&folder().join(file))).sum()
    }
}

/// The length of a file as it is sent: of its brotli form, where there is one.
///
/// # Panics
/// When it is not there.
#[must_use]
pub fn compressed(file: &Path) -> u64 {
    let mut brotli = file.as_os_str().to_owned();
    brotli.push(".br");
    let about = fs::metadata(brotli).or_else(|_| fs::metadata(file));
    about.unwrap_or_else(|error| panic!("{}: {error}", file.display())).len()
}

/// The WebAssembly modules of the book.
///
/// # Panics
/// When there is none.
#[must_use]
pub fn webassembly() -> Vec<PathBuf> {
    let mut files = Vec::new();
    collect(&folder(), &mut files);
    files.retain(|file| file.extension().is_some_and(|extension| extension == "wasm"));
    assert!(!files.is_empty(), "the book holds no WebAssembly");
    files
}

fn collect(folder: &Path, files: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).expect("a folder of the book").flatten() {
        let path = entry.path();
        if path.is_dir() {
            collect(&path, files);
        } else {
            files.push(path);
        }
    }
}
