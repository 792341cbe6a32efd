//! What can be found of a page: itself, its headings, its steps, the rows of its tables.

use crate::markdown::tree::{Element, Kind, Node, visit};
use crate::read::book::{Body, Page};
use job::procedure::Step;
use job::procedure::words::{Part, parts};

/// How much of a text is kept beside its title, in letters. The index is fetched whole.
const LONGEST: usize = 180;

/// What a place is, and the group of results that it is in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Group {
    /// A page, or a heading in it.
    Page,
    /// A step of a procedure.
    Step,
    /// A row of a table.
    Row,
}

/// A place in a page.
#[derive(Debug, PartialEq, Eq)]
pub struct Place {
    /// What it is.
    pub group: Group,
    /// Its id in the page; empty for the page itself.
    pub anchor: String,
    /// What it is called: title, heading, the first words of a step, the first cell of a row.
    pub title: String,
    /// The heading it stands under; empty for headings themselves.
    pub under: String,
    /// What else it says: the first sentence, what stands out, captions, readings, the other cells.
    pub text: String,
}

/// The places of a page, as its tree is once headings, steps and rows have their ids. Of what press writes itself, the
/// page alone: valves and sources are found as such.
pub fn all(page: &Page, nodes: &[Node], steps: &[Step]) -> Vec<Place> {
    let itself = Place {
        group: Group::Page,
        anchor: String::new(),
        title: page.front.title.clone(),
        under: String::new(),
        text: page.front.summary.clone(),
    };
    let mut walk = Walk { places: vec![itself], under: String::new(), heading: 0 };
    if let Body::Markdown(_) = page.body {
        walk.nodes(nodes, false);
    }
    for step in steps {
        let readings = step.readings().map(|reading| reading.quantity.as_str());
        if let Some(place) = walk.places.iter_mut().find(|place| place.anchor == step.id) {
            readings.for_each(|quantity| add(&mut place.text, quantity, LONGEST * 2));
        }
    }
    walk.places
}

struct Walk {
    places: Vec<Place>,
    under: String,
    /// Which place the running text belongs to: the page itself or its last heading.
    heading: usize,
}

impl Walk {
    fn nodes(&mut self, nodes: &[Node], in_step: bool) {
        for node in nodes {
            match &node.kind {
                Kind::Element(element) => self.element(element, in_step),
                Kind::Group(inside) => self.nodes(inside, in_step),
                Kind::Figure { caption, .. } => {
                    add(&mut self.places[self.heading].text, caption, LONGEST * 2)
                }
                _ => {}
            }
        }
    }

    fn element(&mut self, element: &Element, in_step: bool) {
        let id = element.attribute("id").unwrap_or_default();
        if element.heading_level().is_some() {
            self.under = plain(&element.children);
            self.heading = self.places.len();
            self.add(Group::Page, id, self.under.clone(), String::new());
            self.places[self.heading].under.clear();
        } else if element.name == "li" && id.starts_with("step-") {
            let is_text = |part: &&Element| part.name == "p" && part.attribute("class").is_none();
            // In a list without blank lines between its items the words stand there by themselves.
            let bare =
                element.children.iter().filter(|part| part.element().is_none_or(|part| part.name != "p"));
            let (title, text) = match element.children.iter().filter_map(Node::element).find(is_text) {
                Some(said) => begun(&said.children),
                None => begun(&bare.cloned().collect::<Vec<_>>()),
            };
            self.add(Group::Step, id, title, text);
            self.nodes(&element.children, true);
        } else if element.name == "tr" && !id.is_empty() {
            let cells = element.children.iter().filter_map(Node::element).map(|cell| plain(&cell.children));
            let mut cells = cells.filter(|cell| cell.chars().any(char::is_alphanumeric));
            let title = cells.next().unwrap_or_default();
            let text = cells.collect::<Vec<_>>().join(" · ");
            // A row of blanks to fill says nothing.
            if !text.is_empty() {
                self.add(Group::Row, id, title, text);
            }
        } else if element.name == "p" && !in_step {
            let place = &mut self.places[self.heading];
            let is_first = self.heading > 0 && place.text.is_empty();
            let said = plain(&element.children);
            let sentence = first_sentence(&said).to_owned();
            if is_first {
                add(&mut place.text, &sentence, LONGEST);
            }
            visit(&element.children, &mut |node| {
                if let Some(strong) = node.element().filter(|element| element.name == "strong") {
                    let words = plain(&strong.children);
                    if !(is_first && sentence.contains(&words)) {
                        add(&mut self.places[self.heading].text, &words, LONGEST * 2);
                    }
                }
            });
        } else if element.attribute("class") != Some("caution") {
            self.nodes(&element.children, in_step);
        }
    }

    fn add(&mut self, group: Group, anchor: &str, title: String, mut text: String) {
        cut(&mut text, LONGEST);
        if !title.is_empty() {
            self.places.push(Place {
                group,
                anchor: anchor.to_owned(),
                title,
                under: self.under.clone(),
                text,
            });
        }
    }
}

/// The words of a step: what is set off at its beginning, or its first sentence, and what follows.
fn begun(nodes: &[Node]) -> (String, String) {
    let whole = plain(nodes);
    let strong = nodes.first().and_then(Node::element).filter(|first| matches!(first.name, "strong" | "em"));
    let title = strong.map_or_else(|| first_sentence(&whole).to_owned(), |strong| plain(&strong.children));
    let rest = whole.strip_prefix(&title).unwrap_or_default().trim().to_owned();
    (title, rest)
}

/// Adds words to a text unless it is long already.
fn add(text: &mut String, words: &str, longest: usize) {
    if text.len() + words.len() <= longest {
        if !text.is_empty() {
            text.push(' ');
        }
        text.push_str(words);
    }
}

/// Cuts a text behind a word.
fn cut(text: &mut String, longest: usize) {
    if text.len() > longest {
        let end = text
            .char_indices()
            .take_while(|(at, _)| *at <= longest)
            .filter(|(_, letter)| *letter == ' ')
            .last();
        text.truncate(end.map_or(0, |(at, _)| at));
        text.push('…');
    }
}

/// A text up to its first full stop that ends a sentence.
pub fn first_sentence(text: &str) -> &str {
    let end = text.match_indices(['.', ':', '?']).find(|(at, _)| {
        let rest = &text[at + 1..];
        rest.is_empty() || rest.starts_with(' ')
    });
    end.map_or(text, |(at, _)| &text[..=at])
}

/// The words of nodes as they are read: the amplifier's own words as printed, no formulas, single spaces.
fn plain(nodes: &[Node]) -> String {
    let mut said = String::new();
    visit(nodes, &mut |node| match &node.kind {
        Kind::Text(text) => parts(text).into_iter().for_each(|part| match part {
            Part::Text(text) | Part::Own(_, text) => said.push_str(text),
        }),
        Kind::Code(text) => said.push_str(text),
        _ => {}
    });
    said.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[cfg(test)]
mod tests {
    use super::{cut, first_sentence};

    #[test]
    fn a_sentence_ends_at_its_stop_and_not_within_a_figure() {
        assert_eq!(first_sentence("Read 2.2 V here. Then off."), "Read 2.2 V here.");
        assert_eq!(first_sentence("No stop"), "No stop");
    }

    #[test]
    fn a_long_text_is_cut_behind_a_word() {
        let mut text = "one two three".to_owned();
        cut(&mut text, 8);
        assert_eq!(text, "one two…");
    }
}
