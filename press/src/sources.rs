//! The list of sources, written from what `calc-core` knows: each with how it was seen.

use crate::book::{Body, Page};
use crate::calculators;
use crate::front::{Front, Kind};
use maud::{Markup, html};

/// Where the list stands in the book.
pub const PATH: &str = "appendix/sources.html";

/// The page of the list.
#[must_use]
pub fn page() -> Page {
    let front = Front {
        title: "List of sources".into(),
        kind: Kind::Appendix,
        summary: "Where each figure and formula of the handbook comes from, and how it was seen.".into(),
        cautions: Vec::new(),
        needs: Vec::new(),
        sources: Vec::new(),
        hands_near_circuit: false,
    };
    Page { file: "list of sources, written by press".into(), path: PATH.into(), front, body: Body::Sources }
}

/// The list itself.
#[must_use]
pub fn list() -> Markup {
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
