//! The list of sources, written from what `calc-core` knows: each with how it was seen.

use crate::book::Page;
use crate::calculators;
use maud::{Markup, html};

/// Where the list stands in the book.
pub const PATH: &str = "appendix/sources.html";

/// The page of the list.
#[must_use]
pub fn page() -> Page {
    let summary = "Where each figure and formula of the handbook comes from, and how it was seen.";
    Page::written("list of sources", PATH, "List of sources", summary, list().into_string())
}

fn list() -> Markup {
    html! {
        dl.sources {
            @for source in calculators::sources() {
                div id=(anchor(source.id)) {
                    dt { (source.title) }
                    dd { "Standing: " (source.trust.words()) "." }
                    dd { "How we know it: " (source.seen) "." }
                }
            }
        }
    }
}

/// Where a source stands in the list, seen from a page at `from`.
#[must_use]
pub fn address(from: &str, id: &str) -> String {
    format!("{}#{}", crate::link::relative(from, PATH), anchor(id))
}

/// The id of a source in the list. A source may be named after a valve; an id begins with a letter.
fn anchor(id: &str) -> String {
    format!("source-{id}")
}
