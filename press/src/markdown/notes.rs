//! Notes: numbered by their first mention, and put at the end of the text.

use super::tree::{Element, Node, nodes};
use crate::fault::{Faults, nearest};
use crate::source_text::SourceLocation;
use std::collections::BTreeMap;

/// The attribute by which the section of the notes is known.
pub const NOTES: (&str, &str) = ("class", "notes");

/// The notes of a text.
#[derive(Default)]
pub(super) struct Notes {
    /// Their names in the order of their first mention.
    mentioned: Vec<String>,
    /// What is in each, and where.
    defined: BTreeMap<String, (SourceLocation, Vec<Node>)>,
}

impl Notes {
    /// What stands where a note is mentioned.
    pub(super) fn mention(&mut self, name: &str, place: &SourceLocation) -> Element {
        let known = self.mentioned.iter().position(|mentioned| mentioned == name);
        let number = known.unwrap_or(self.mentioned.len()) + 1;
        let mut link = Element::new("a", nodes![number.to_string()]).with("class", "note");
        if known.is_none() {
            self.mentioned.push(name.to_owned());
            // The note leads back to where it was mentioned first.
            link = link.with("id", format!("note-{number}-mention"));
        }
        let link = link.with("href", format!("#note-{number}")).with("aria-label", format!("Note {number}"));
        Element::new("sup", vec![link.at(place.clone())])
    }

    /// Keeps what is in a note.
    pub(super) fn define(&mut self, name: &str, place: &SourceLocation, note: Vec<Node>) {
        self.defined.insert(name.to_owned(), (place.clone(), note));
    }

    /// The section of the notes, if there are any; complains of those that nothing mentions.
    pub(super) fn section(mut self, faults: &Faults) -> Option<Node> {
        let mut items = Vec::new();
        for (number, name) in (1..).zip(&self.mentioned) {
            let Some((place, mut note)) = self.defined.remove(name) else { continue };
            let back = Element::new("a", nodes![format!("Back to the text of note {number}")])
                .with("href", format!("#note-{number}-mention"));
            note.push(Element::new("p", nodes![back]).into());
            items.push(Element::new("li", note).with("id", format!("note-{number}")).at(place));
        }
        for (name, (place, _)) in &self.defined {
            let right = nearest(name, self.mentioned.iter().map(String::as_str));
            faults.add(place, format!("[^{name}]"), "is mentioned nowhere", right);
        }
        let list = Element::new("ol", items);
        let section =
            Element::new("section", nodes![list]).with(NOTES.0, NOTES.1).with("aria-label", "Notes");
        (!self.mentioned.is_empty()).then(|| section.into())
    }
}
