//! Rows of tables: each gets an id from its first cell, so that a link, a symptom or the find field leads to the very row.

use crate::markdown::tree::{Kind, Node, change, words};
use std::collections::BTreeMap;

/// How many letters of a cell make its id, at most; whole words only.
const LONGEST: usize = 36;

/// Names each row by the words of its first cell: `row-wiper-lead`; the second of the same name in a page `row-wiper-lead-2`.
pub(super) fn name(nodes: &mut [Node]) {
    let mut taken: BTreeMap<String, usize> = BTreeMap::new();
    change(nodes, &mut |node| {
        let Kind::Element(row) = &mut node.kind else { return };
        let first = row.children.first().and_then(Node::element).filter(|cell| cell.name == "td");
        let ("tr", Some(cell), None) = (row.name, first, row.attribute("id")) else { return };
        let Some(id) = id(&words(&cell.children)) else { return };
        let before = taken.entry(id.clone()).or_default();
        *before += 1;
        row.attributes.push(("id", if *before == 1 { id } else { format!("{id}-{before}") }));
    });
}

/// The id of a row whose first cell has these words, if they make one.
fn id(cell: &str) -> Option<String> {
    let cell = cell.to_lowercase();
    let mut id = String::from("row");
    for word in cell.split(|letter: char| !letter.is_ascii_alphanumeric()).filter(|word| !word.is_empty()) {
        if id.len() + word.len() > LONGEST {
            break;
        }
        id.extend(["-", word]);
    }
    (id != "row").then_some(id)
}

#[cfg(test)]
mod tests {
    use super::id;

    #[test]
    fn a_row_is_named_by_whole_words_of_its_first_cell() {
        assert_eq!(id("feed to the low lugs").as_deref(), Some("row-feed-to-the-low-lugs"));
        assert_eq!(
            id("*Wiper*, or the track beside it, touches a body").as_deref(),
            Some("row-wiper-or-the-track-beside-it")
        );
        assert_eq!(id("–"), None);
    }
}
