//! The frame around every page: head, way, contents, turn of the page, foot.

use crate::book::{Book, Page};
use crate::link::relative;
use crate::modules::Module;
use maud::{DOCTYPE, Markup, html};

/// The name of the book.
pub const NAME: &str = "Standing Current";

/// Ids that the frame gives in a page.
pub const IDS: [&str; 4] = ["page-text", "page-contents", "page-needs", "page-sources"];

/// No inline script, no inline style, no foreign origin. The server's header adds `frame-ancestors`, which a page cannot say.
const POLICY: &str = "default-src 'none'; script-src 'self' 'wasm-unsafe-eval'; style-src 'self'; img-src 'self' data:; connect-src 'self'; \
     manifest-src 'self'; worker-src 'self'; base-uri 'self'; form-action 'none'";

/// What the head of a page says.
pub struct Head<'a> {
    /// The page, from the root of the book.
    pub path: &'a str,
    /// The title without the name of the book.
    pub title: &'a str,
    /// One sentence.
    pub summary: &'a str,
    /// Where addresses begin, on the one page that is shown at any address.
    pub base: Option<&'a str>,
    /// Scripts that it shows and runs.
    pub scripts: Vec<&'a str>,
    /// What brings its calculators to life.
    pub modules: Vec<&'a Module>,
    /// What brings the job, when it is wanted.
    pub later: Vec<&'a Module>,
}

/// A page, set.
pub struct Document<'a> {
    /// Its head.
    pub head: Head<'a>,
    /// What kind of page it is.
    pub kind: &'a str,
    /// What stands in it.
    pub body: Markup,
}

/// The title of a document, with the name of the book.
#[must_use]
pub fn title(page: &str) -> String {
    if page == NAME { NAME.to_string() } else { format!("{page} – {NAME}") }
}

/// A whole document.
#[must_use]
pub fn document(document: &Document<'_>) -> String {
    let Document { head, kind, body } = document;
    let to = |file: &str| relative(head.path, file);
    let title = title(head.title);
    html! {
        (DOCTYPE)
        html lang="en-GB" {
            head {
                meta charset="utf-8";
                meta http-equiv="Content-Security-Policy" content=(POLICY);
                @if let Some(base) = head.base { base href=(base); }
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                meta name="theme-color" media="(prefers-color-scheme: light)" content="#fbfaf5";
                meta name="theme-color" media="(prefers-color-scheme: dark)" content="#161511";
                meta name="generator" content=(crate::GENERATOR);
                title { (title) }
                meta name="description" content=(head.summary);
                link rel="icon" type="image/svg+xml" href=(to("icon.svg"));
                link rel="apple-touch-icon" href=(to("icon-180.png"));
                link rel="manifest" href=(to("manifest.webmanifest"));
                link rel="stylesheet" href=(to("book.css"));
                script defer src=(to("kept.js")) {}
                script defer src=(to("stop.js")) {}
                @for module in &head.modules {
                    link rel="modulepreload" data-group=(module.group) href=(to(&module.script));
                    link rel="preload" as="fetch" type="application/wasm" crossorigin data-group=(module.group) href=(to(&module.wasm));
                }
                @if !head.modules.is_empty() {
                    link rel="modulepreload" href=(to("alive.js"));
                    script type="module" src=(to("loader.js")) {}
                }
                @for module in &head.later { link rel=(module.group) href=(to(&module.script)) data-wasm=(to(&module.wasm)); }
                @for script in &head.scripts { script type="module" src=(to(script)) {} }
            }
            body data-kind=(kind) { (body) }
        }
    }
    .into_string()
        + "\n"
}

/// The bar at the top: what comes first for who cannot see, the name of the book, the way to the contents.
#[must_use]
pub fn bar(path: &str) -> Markup {
    html! {
        a.skip href="#page-text" { "Skip to the text" }
        header.bar {
            nav aria-label="Book" {
                a.name href=(relative(path, "index.html")) { (NAME) }
                a.to-contents href="#page-contents" { "Contents" }
            }
        }
    }
}

/// Where the page stands: book, chapter, page.
#[must_use]
pub fn way(book: &Book, index: usize) -> Markup {
    let page = &book.pages[index];
    let chapter = book.chapter_of[index].and_then(|chapter| book.chapters[chapter].start);
    html! {
        @if index != 0 {
            nav.way aria-label="Where you are" {
                ol {
                    li { a href=(relative(&page.path, "index.html")) { "Cover" } }
                    @if let Some(start) = chapter.filter(|start| *start != index) { li { (link(page, &book.pages[start])) } }
                    li aria-current="page" { (page.front.title) }
                }
            }
        }
    }
}

/// The pages before and after, in reading order.
#[must_use]
pub fn turn(book: &Book, index: usize) -> Markup {
    let page = &book.pages[index];
    let previous = index.checked_sub(1).map(|before| &book.pages[before]);
    let one = |rel: &str, word: &str, other: &Page| {
        html! { a rel=(rel) href=(relative(&page.path, &other.path)) { span { (word) } " " (other.front.title) } }
    };
    html! {
        nav.turn aria-label="Previous and next page" {
            @if let Some(other) = previous { (one("prev", "Previous", other)) }
            @if let Some(other) = book.pages.get(index + 1) { (one("next", "Next", other)) }
        }
    }
}

/// The contents of the book: all chapters, and the pages of those that are open. The cover opens all.
#[must_use]
pub fn contents(book: &Book, index: usize) -> Markup {
    let page = &book.pages[index];
    let entry = |other: usize| {
        let current = (other == index).then_some("page");
        html! { a href=(relative(&page.path, &book.pages[other].path)) aria-current=[current] { (book.pages[other].front.title) } }
    };
    html! {
        nav #page-contents.contents aria-label="Contents" {
            h2 { "Contents" }
            ol {
                @for (number, chapter) in book.chapters.iter().enumerate() {
                    @let open = index == 0 || book.chapter_of[index] == Some(number);
                    @if let Some(start) = chapter.start {
                        li {
                            (entry(start))
                            @if open && !chapter.pages.is_empty() { ol { @for other in &chapter.pages { li { (entry(*other)) } } } }
                        }
                    } @else {
                        @for other in &chapter.pages { li { (entry(*other)) } }
                    }
                }
            }
        }
    }
}

/// What the handbook defers to, and which handbook this is. `kept.js` adds whether it is kept on the device: only a
/// script can know.
#[must_use]
pub fn foot() -> Markup {
    html! {
        footer.foot {
            p {
                "Local electrical codes, the maker’s service data and licensed practice come before this handbook. "
                "Where they say otherwise, do as they say; where they ask for a licence, leave the work to someone who has one."
            }
            p { (NAME) " " (env!("CARGO_PKG_VERSION")) "." span data-kept {} }
        }
    }
}

/// The page shown where there is none. It may be shown at any address, so `root` says where the book begins.
#[must_use]
pub fn not_found(book: &Book, root: &str) -> String {
    let head = Head {
        path: "404.html",
        title: "No such page",
        summary: "There is no page at this address.",
        base: Some(root),
        scripts: vec![],
        modules: vec![],
        later: vec![],
    };
    let body = html! {
        header.bar { nav aria-label="Book" { a.name href="index.html" { (NAME) } } }
        main #page-text {
            article {
                h1 { "No such page" }
                p.summary { "There is no page at this address. It may have moved, or the address may be misspelt." }
                ul {
                    li { a href="index.html" { "Cover" } }
                    @for start in book.chapters.iter().filter_map(|chapter| chapter.start) {
                        li { a href=(book.pages[start].path) { (book.pages[start].front.title) } }
                    }
                }
            }
        }
        (foot())
    };
    document(&Document { head, kind: "not-found", body })
}

fn link(from: &Page, to: &Page) -> Markup {
    html! { a href=(relative(&from.path, &to.path)) { (to.front.title) } }
}
