//! What stands around every page: the document's head, the header, the footer; and the page that is shown where there is none.

use crate::address::relative;
use crate::finding;
use crate::read::book::Book;
use crate::read::modules::Module;
use maud::{DOCTYPE, Markup, html};

/// The name of the book.
pub const NAME: &str = "Standing Current";

/// How a page says that press wrote it, so that a later printing may remove it.
pub const GENERATOR: &str = "Standing Current press";

/// Ids that the layout gives in a page.
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
    /// What the page is about, in one sentence.
    pub summary: &'a str,
    /// Where addresses begin, on the one page that is shown at any address.
    pub base: Option<&'a str>,
    /// Scripts that it shows and runs.
    pub scripts: Vec<&'a str>,
    /// What brings its calculators to life, if there are any.
    pub calculators: Option<&'a Module>,
    /// What brings the job when it is wanted, if it can be.
    pub job: Option<&'a Module>,
}

/// A page as it is written out: head, body and its place in the book.
pub struct Document<'a> {
    /// Its head.
    pub head: Head<'a>,
    /// What kind of page it is.
    pub kind: &'a str,
    /// What is in it.
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
                meta name="generator" content=(GENERATOR);
                title { (title) }
                meta name="description" content=(head.summary);
                link rel="icon" type="image/svg+xml" href=(to("icon.svg"));
                link rel="apple-touch-icon" href=(to("icon-180.png"));
                link rel="manifest" href=(to("manifest.webmanifest"));
                link rel="stylesheet" href=(to("book.css"));
                script defer src=(to("kept.js")) {}
                link rel="modulepreload" href=(to("current-job.js"));
                script type="module" src=(to("stop.js")) {}
                script type="module" src=(to("bar.js")) {}
                @if let Some(module) = head.calculators {
                    link rel="modulepreload" data-module=(module.name) href=(to(&module.script));
                    link rel="preload" as="fetch" type="application/wasm" crossorigin href=(to(&module.wasm));
                    link rel="modulepreload" href=(to("alive.js"));
                    script type="module" src=(to("loader.js")) {}
                }
                @if let Some(module) = head.job { link rel=(module.name) data-module=(module.name) href=(to(&module.script)); }
                @for script in &head.scripts { script type="module" src=(to(script)) {} }
            }
            body data-kind=(kind) { (body) }
        }
    }
    .into_string()
        + "\n"
}

/// The header: what comes first for someone who cannot see, the name of the book, the ways to find and to the contents. `index` is the
/// file that the find field searches, where the book has one.
#[must_use]
pub fn header(path: &str, index: Option<&str>) -> Markup {
    html! {
        a.skip href="#page-text" { "Skip to the text" }
        header.bar {
            nav aria-label="Book" {
                (name_and_find(path, index))
                a.to-contents href="#page-contents" { "Contents" }
            }
        }
    }
}

fn name_and_find(path: &str, index: Option<&str>) -> Markup {
    html! {
        a.name href=(relative(path, "index.html")) { (NAME) }
        @if let Some(index) = index {
            a.to-find href=(relative(path, finding::PAGE)) data-index=(relative(path, index)) { "Find" }
        }
    }
}

/// What the handbook defers to, and which handbook this is. `kept.js` adds whether it is kept on the device: only a
/// script can know.
#[must_use]
pub fn footer() -> Markup {
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

/// The page shown where there is none. It may be shown at any address, so `root` says where the book begins; `index` is as in [`header`].
#[must_use]
pub fn not_found(book: &Book, root: &str, index: Option<&str>) -> String {
    let head = Head {
        path: "404.html",
        title: "No such page",
        summary: "There is no page at this address.",
        base: Some(root),
        scripts: vec![],
        calculators: None,
        job: None,
    };
    let body = html! {
        header.bar { nav aria-label="Book" { (name_and_find("404.html", index)) } }
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
        (footer())
    };
    document(&Document { head, kind: "not-found", body })
}
