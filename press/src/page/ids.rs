//! Ids: each is given once in a page, and begins with a letter.

use super::layout;
use crate::fault::Faults;
use crate::markdown::tree::{Kind, Node, visit};
use crate::read::book::{Page, first_line};
use crate::source_text::SourceLocation;
use std::collections::BTreeMap;

/// Every id of a page with the place where it was given, those of the layout among them; what is wrong with them is said.
pub(super) fn all(nodes: &[Node], page: &Page, faults: &Faults) -> BTreeMap<String, SourceLocation> {
    let first = first_line(&page.file);
    let mut ids: BTreeMap<String, SourceLocation> =
        layout::IDS.map(|id| (id.to_owned(), first.clone())).into();
    visit(nodes, &mut |node| {
        let place = node.place.as_ref().unwrap_or(&first);
        match &node.kind {
            Kind::Element(element) => {
                element.attribute("id").into_iter().for_each(|id| take(id, place, &mut ids, faults));
            }
            Kind::Html(html) => ids_in(html).for_each(|id| take(id, place, &mut ids, faults)),
            _ => {}
        }
    });
    ids
}

fn take(id: &str, place: &SourceLocation, ids: &mut BTreeMap<String, SourceLocation>, faults: &Faults) {
    if let Some(first) = ids.get(id) {
        let wrong = format!("is in the page already, from line {} of {}", first.line, first.file);
        let right = "give one of them an id of its own: ## Heading {#its-own-id}";
        faults.add(place, format!("id \"{id}\""), wrong, right);
        return;
    }
    if !id.starts_with(char::is_alphabetic) {
        let right = "give it one that does: ## 6L6GC {#valve-6l6gc}";
        faults.add(place, format!("id \"{id}\""), "does not begin with a letter", right);
    }
    ids.insert(id.to_owned(), place.clone());
}

/// The ids that finished HTML gives. In its words and values a quote is escaped, so that this is found in tags alone.
fn ids_in(html: &str) -> impl Iterator<Item = &str> {
    html.split(" id=\"").skip(1).filter_map(|rest| rest.split('"').next())
}
