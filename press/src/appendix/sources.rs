//! The list of sources, written from what `calc-core` knows: each with how it was seen.

use crate::address;
use crate::calculators;
use crate::markdown::tree::nodes;
use crate::read::book::Page;
use maud::{Markup, html};

/// The page of the list.
#[must_use]
pub fn page() -> Page {
    let summary = "Where each figure and formula of the handbook comes from, and how it was seen.";
    Page::written("list of sources", address::SOURCES, "List of sources", summary, nodes![list()])
}

fn list() -> Markup {
    html! {
        dl.sources {
            @for source in calculators::sources() {
                div id=(address::source_anchor(source.id)) {
                    dt { (source.title) }
                    dd { "Standing: " (source.trust.words()) "." }
                    dd { "How we know it: " (source.seen) "." }
                }
            }
        }
    }
}
