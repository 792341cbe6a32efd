//! Headings: their levels, their ids, and the list of them at the top of a long page; the names of tables, which are called
//! after them.

use crate::fault::Faults;
use crate::markdown;
use crate::markdown::tree::{Element, Kind, Node, change, visit, words};
use crate::read::book::{Page, first_line};
use crate::source_text::SourceLocation;

/// Checks the order of the headings, gives an id to those that have none, and names each table by its number and the
/// heading it stands under.
pub(super) fn check(nodes: &mut [Node], page: &Page, faults: &Faults) {
    let first = first_line(&page.file);
    let (mut above, mut under, mut tables) = (1, page.front.title.clone(), 0);
    change(nodes, &mut |node| {
        let Kind::Element(element) = &mut node.kind else { return };
        if let Some(level) = element.heading_level() {
            let words = words(&element.children);
            check_level(level, above, &words, node.place.as_ref().unwrap_or(&first), faults);
            if element.attribute("id").is_none() {
                element.attributes.push(("id", id(&words)));
            }
            (above, under) = (level, words);
        } else if element.name == "section" && element.attribute("class") == Some("scroll") {
            tables += 1;
            element.attributes.push(("aria-label", format!("Table {tables}: {under}")));
        }
    });
}

fn check_level(level: u8, above: u8, words: &str, place: &SourceLocation, faults: &Faults) {
    let marks = |level: u8| "#".repeat(usize::from(level));
    if level == 1 {
        let right = "the title is in the front matter; write ##";
        faults.add(place, format!("# {words}"), "is a second title", right);
    } else if level > above + 1 {
        let right = format!("write {} {words}", marks(above + 1));
        let wrong = format!("skips a level after {}", marks(above));
        faults.add(place, format!("{} {words}", marks(level)), wrong, right);
    }
}

/// The id of a heading without one of its own: its words in small letters, joined by hyphens, as other viewers make it.
fn id(words: &str) -> String {
    let kept: String = words
        .to_lowercase()
        .chars()
        .filter(|letter| letter.is_alphanumeric() || " -_".contains(*letter))
        .collect();
    kept.trim().replace(' ', "-")
}

/// The headings of the second level: the id of each, and its words as HTML.
pub(super) fn contents(nodes: &[Node]) -> Vec<(String, String)> {
    let mut contents = Vec::new();
    visit(nodes, &mut |node| {
        if let Some(element) = node.element().filter(|element| element.heading_level() == Some(2)) {
            let id = element.attribute("id").unwrap_or_default();
            contents.push((id.to_owned(), markdown::html(&plain(&element.children))));
        }
    });
    contents
}

/// The words, the code and the formulas of a heading, without what cannot stand within a link.
fn plain(nodes: &[Node]) -> Vec<Node> {
    let one = |node: &Node| match &node.kind {
        Kind::Text(_) | Kind::Code(_) | Kind::Html(_) => vec![node.clone()],
        Kind::Element(Element { children, .. }) | Kind::Group(children) => plain(children),
        _ => Vec::new(),
    };
    nodes.iter().flat_map(one).collect()
}

#[cfg(test)]
mod tests {
    use super::id;

    #[test]
    fn a_heading_without_an_id_is_named_by_its_words() {
        assert_eq!(id("What seventy per cent is *not*"), "what-seventy-per-cent-is-not");
        assert_eq!(id("Warm: at 0, 1 and 10 minutes"), "warm-at-0-1-and-10-minutes");
    }
}
