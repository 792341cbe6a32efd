//! The glossary, and the links to it: a term is linked where a page first uses it in its running text.
//!
//! The first cell of each row of `glossary.md` holds the forms of a term, parted by commas. A form is found with a plural s
//! and with a capital as well. Where the cell's own words will not do, a comment in the cell says so:
//! `<!-- linked as: law of a control -->`, or `<!-- not linked -->`.

use super::blocks::CAUTION;
use crate::address::relative;
use crate::fault::Faults;
use crate::markdown::tree::{Element, Kind, Node, change, nodes, words};
use crate::read::book::{Body, Book, Page};
use crate::source_text::{SourceLocation, SourceText};
use pulldown_cmark::{Event, Options, Parser, Tag, TagEnd};
use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;

/// Where the glossary is in the book.
pub const PATH: &str = "appendix/glossary.html";

/// The terms that are linked.
#[derive(Debug, Default)]
pub struct Glossary {
    /// By the letter they begin with in a text, small or capital; the longest form first, so that *anode dissipation* is
    /// not taken for *anode*.
    forms: BTreeMap<char, Vec<Form>>,
}

#[derive(Debug)]
struct Form {
    /// As it is in a text.
    words: String,
    id: String,
}

/// A term found in a text.
#[derive(Debug, PartialEq, Eq)]
pub struct Found<'g> {
    /// Where it is in the text.
    pub at: Range<usize>,
    /// The id of its row in the glossary.
    pub id: &'g str,
}

impl Glossary {
    /// Reads the glossary of the book; without one nothing is linked.
    #[must_use]
    pub fn read(book: &Book, faults: &Faults) -> Self {
        let page = book.pages.iter().find(|page| page.path == PATH);
        let Some(Body::Markdown(piece)) = page.map(|page| &page.body) else { return Self::default() };
        Self::of(terms(piece, faults))
    }

    fn of(mut terms: Vec<Form>) -> Self {
        terms.sort_by_key(|form| std::cmp::Reverse(form.words.len()));
        let mut forms: BTreeMap<char, Vec<Form>> = BTreeMap::new();
        for form in terms.into_iter().flat_map(Form::small_and_capital) {
            forms.entry(form.words.chars().next().unwrap_or_default()).or_default().push(form);
        }
        Self { forms }
    }

    /// The terms in a text that are not in `seen`, in order; they are then.
    pub fn find<'g>(&'g self, text: &str, seen: &mut BTreeSet<String>) -> Vec<Found<'g>> {
        let mut found = Vec::new();
        let mut from = 0;
        while let Some((at, form)) = self.next(text, from) {
            from = at.end;
            if seen.insert(form.id.clone()) {
                found.push(Found { at, id: &form.id });
            }
        }
        found
    }

    fn next(&self, text: &str, from: usize) -> Option<(Range<usize>, &Form)> {
        let mut before = text[..from].chars().next_back();
        text[from..].char_indices().find_map(|(at, letter)| {
            if before.replace(letter).is_some_and(joins) {
                return None;
            }
            let at = from + at;
            let end = |form: &Form| Some(at..at + form.length_in(&text[at..])?);
            self.forms.get(&letter)?.iter().find_map(|form| Some((end(form)?, form)))
        })
    }
}

impl Form {
    /// As it stands within a sentence, and as it begins one.
    fn small_and_capital(self) -> impl Iterator<Item = Self> {
        let mut letters = self.words.chars();
        let first = letters.next().map(|first| first.to_uppercase().to_string()).unwrap_or_default();
        let capital = Self { words: first + letters.as_str(), id: self.id.clone() };
        let capital = (capital.words != self.words).then_some(capital);
        [Some(self), capital].into_iter().flatten()
    }

    /// How much of the beginning of a text is this form.
    fn length_in(&self, text: &str) -> Option<usize> {
        let rest = text.strip_prefix(self.words.as_str())?;
        let rest = rest.strip_prefix('s').unwrap_or(rest);
        (!rest.chars().next().is_some_and(joins)).then_some(text.len() - rest.len())
    }
}

/// Whether a letter beside a form makes it a part of another word.
fn joins(letter: char) -> bool {
    letter.is_alphanumeric() || letter == '-'
}

/// The id of a row, from the words of its first cell.
#[must_use]
pub fn id(cell: &str) -> String {
    let first = cell.split(',').next().unwrap_or_default().trim();
    format!("term-{}", first.to_lowercase().replace(' ', "-"))
}

fn terms(piece: &SourceText, faults: &Faults) -> Vec<Form> {
    let mut forms = Vec::new();
    let (mut column, mut words, mut said) = (0, String::new(), None);
    for (event, range) in Parser::new_ext(&piece.text, Options::ENABLE_TABLES).into_offset_iter() {
        match event {
            Event::Start(Tag::TableRow) => (column, words, said) = (0, String::new(), None),
            Event::Text(text) if column == 0 => words.push_str(&text),
            Event::InlineHtml(comment) if column == 0 => {
                said = linked_as(&comment, &piece.place(range.start), faults);
            }
            Event::End(TagEnd::TableCell) => column += 1,
            Event::End(TagEnd::TableRow) => {
                let id = id(&words);
                let linked = said.take().unwrap_or_else(|| words.clone());
                let all = linked.split(',').map(str::trim).filter(|form| !form.is_empty());
                forms.extend(all.map(|form| Form { words: form.to_owned(), id: id.clone() }));
            }
            _ => {}
        }
    }
    forms
}

/// What the comment in a cell says of the forms.
fn linked_as(comment: &str, place: &SourceLocation, faults: &Faults) -> Option<String> {
    let said = comment.trim_start_matches("<!--").trim_end_matches("-->").trim();
    if said == "not linked" {
        return Some(String::new());
    }
    let forms = said.strip_prefix("linked as:");
    if forms.is_none() {
        faults.add(
            place,
            comment,
            "does not say how the term is linked",
            "write <!-- linked as: law of a control --> or <!-- not linked -->",
        );
    }
    forms.map(str::to_owned)
}

/// Names each row of the glossary's table, so that links can lead to it.
pub(super) fn name_rows(nodes: &mut [Node]) {
    change(nodes, &mut |node| {
        let Kind::Element(row) = &mut node.kind else { return };
        let first = row.children.first().and_then(Node::element).filter(|cell| cell.name == "td");
        if let ("tr", Some(cell)) = (row.name, first) {
            row.attributes.push(("id", id(&words(&cell.children))));
        }
    });
}

/// Elements that hold running text, in which terms are linked.
const RUNNING: [&str; 2] = ["p", "li"];

/// Elements in which no term is linked: what is a link or set off already, and tables, whose cells are no running text.
const QUIET: [&str; 4] = ["a", "strong", "em", "table"];

/// Links each term where the running text of the page first uses it. A caution is read at once and is on many pages: it
/// stays as it is.
pub(super) fn link_terms(glossary: &Glossary, page: &Page, nodes: &mut [Node]) {
    let href = relative(&page.path, PATH);
    Linker { glossary, href, seen: BTreeSet::new() }.link(nodes, false);
}

struct Linker<'g> {
    glossary: &'g Glossary,
    href: String,
    /// The terms that are linked already.
    seen: BTreeSet<String>,
}

impl Linker<'_> {
    fn link(&mut self, nodes: &mut [Node], running: bool) {
        for node in nodes {
            match &mut node.kind {
                Kind::Text(words) if running => {
                    if let Some(linked) = self.linked(words) {
                        node.kind = Kind::Group(linked);
                    }
                }
                Kind::Element(element) => {
                    let is_caution = element.attribute(CAUTION.0) == Some(CAUTION.1);
                    let is_quiet = QUIET.contains(&element.name) || element.heading_level().is_some();
                    if !is_caution && !is_quiet {
                        self.link(&mut element.children, running || RUNNING.contains(&element.name));
                    }
                }
                Kind::Group(nodes) => self.link(nodes, running),
                _ => {}
            }
        }
    }

    /// The words with their terms linked, if there are any in them.
    fn linked(&mut self, words: &str) -> Option<Vec<Node>> {
        let mut seen = self.seen.clone();
        let found = self.glossary.find(words, &mut seen);
        // What is nothing but a term is a name in a list, and no running text.
        if found.iter().any(|term| term.at == (0..words.len())) {
            return None;
        }
        self.seen = seen;
        let (mut nodes, mut from) = (Vec::new(), 0);
        for term in &found {
            let link = Element::new("a", nodes![&words[term.at.clone()]])
                .with("class", "term")
                .with("href", format!("{}#{}", self.href, term.id));
            nodes.extend(nodes![&words[from..term.at.start], link]);
            from = term.at.end;
        }
        nodes.push(words[from..].into());
        (!found.is_empty()).then_some(nodes)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn found(text: &str) -> Vec<String> {
        let faults = Faults::default();
        let table = "| Word | Meaning |\n|---|---|\n| anode | x |\n| anode dissipation | x |\n| HT | x |\n\
                     | law <!-- linked as: law of a control --> | the law |\n| valve <!-- not linked --> | x |\n";
        let glossary = Glossary::of(terms(&SourceText::new("glossary.md".into(), table, 1), &faults));
        let found = glossary.find(text, &mut BTreeSet::new());
        found.into_iter().map(|found| format!("{} → {}", &text[found.at], found.id)).collect()
    }

    #[test]
    fn a_term_is_found_once_in_every_form_and_not_inside_another_word() {
        assert_eq!(found("Anodes glow, an anode does."), ["Anodes → term-anode"]);
        assert_eq!(found("anode-to-cathode, an-anode, anodes, cathanode"), ["anodes → term-anode"]);
        assert_eq!(found("the HT; ht"), ["HT → term-ht"]);
        assert_eq!(found("The law of a control. The law."), ["law of a control → term-law"]);
        assert_eq!(found("a valve’s Ω"), [""; 0]);
    }

    #[test]
    fn the_longest_form_wins_and_hides_the_shorter() {
        assert_eq!(
            found("anode dissipation, anode dissipation, anode"),
            ["anode dissipation → term-anode-dissipation", "anode → term-anode"]
        );
    }
}
