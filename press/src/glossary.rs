//! The glossary, and the links to it: a term is linked where a page first uses it in its running text.
//!
//! The first cell of each row of `glossary.md` holds the forms of a term, parted by commas. A form is found with a plural s
//! and with a capital as well. Where the cell's own words will not do, a comment in the cell says so:
//! `<!-- linked as: law of a control -->`, or `<!-- not linked -->`.

use crate::book::{Body, Book};
use crate::fault::{Faults, Place};
use crate::link::relative;
use crate::piece::Piece;
use crate::text::{Flow, Writer, escaped, words_of};
use pulldown_cmark::{CowStr, Event, Options, Parser, Tag, TagEnd};
use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;

/// Where the glossary stands in the book.
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
    /// As it stands in a text.
    words: String,
    id: String,
}

/// A term found in a text.
#[derive(Debug, PartialEq, Eq)]
pub struct Found<'g> {
    /// Where it stands in the text.
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

fn terms(piece: &Piece, faults: &Faults) -> Vec<Form> {
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
fn linked_as(comment: &str, place: &Place, faults: &Faults) -> Option<String> {
    let said = comment.trim_start_matches("<!--").trim_end_matches("-->").trim();
    if said == "not linked" {
        return Some(String::new());
    }
    let forms = said.strip_prefix("linked as:");
    if forms.is_none() {
        faults.add(
            place,
            comment,
            "says nothing of how the term is linked",
            "write <!-- linked as: law of a control --> or <!-- not linked -->",
        );
    }
    forms.map(str::to_owned)
}

impl Writer<'_> {
    /// Begins a row of the glossary, which links lead to.
    pub(crate) fn begin_term(
        &mut self,
        row: &[(Event<'_>, Range<usize>)],
        place: &Place,
        flow: &mut Flow<'_>,
    ) {
        let cell = row.iter().take_while(|(event, _)| *event != Event::End(TagEnd::TableCell));
        let id = id(&cell.map(|(event, _)| words_of(event)).collect::<String>());
        self.take_id(&id, place);
        flow.column = 0;
        flow.html(format!("<tr id=\"{}\">", escaped(&id)));
    }

    /// Words of the running text, their terms linked.
    pub(crate) fn write_words<'e>(&mut self, text: CowStr<'e>, flow: &mut Flow<'e>) {
        let found = self.shop.glossary.find(&text, &mut self.terms);
        if found.is_empty() {
            flow.out.push(Event::Text(text));
            return;
        }
        let mut from = 0;
        for term in found {
            flow.out.push(Event::Text(text[from..term.at.start].to_owned().into()));
            flow.html(self.term(term.id, &escaped(&text[term.at.clone()])));
            from = term.at.end;
        }
        flow.out.push(Event::Text(text[from..].to_owned().into()));
    }

    /// The paragraphs and lists of a page that press wrote itself, their terms linked.
    pub(crate) fn linked(&mut self, html: &str) -> String {
        let mut written = String::with_capacity(html.len());
        let (mut running, mut quiet) = (0_u32, 0_u32);
        for piece in html.split_inclusive('>') {
            let (words, tag) = piece.split_at(piece.find('<').unwrap_or(piece.len()));
            let mut from = 0;
            let found = if running > 0 && quiet == 0 {
                self.shop.glossary.find(words, &mut self.terms)
            } else {
                Vec::new()
            };
            for term in found {
                written.push_str(&words[from..term.at.start]);
                written.push_str(&self.term(term.id, &words[term.at.clone()]));
                from = term.at.end;
            }
            written.push_str(&words[from..]);
            written.push_str(tag);
            let closing = tag.starts_with("</");
            let name = tag.trim_start_matches(['<', '/']).split([' ', '>']).next().unwrap_or_default();
            let depth = match name {
                "p" | "li" => &mut running,
                "a" | "strong" | "em" | "table" | "svg" | "figure" => &mut quiet,
                _ => continue,
            };
            *depth = if closing { depth.saturating_sub(1) } else { *depth + 1 };
        }
        written
    }

    fn term(&self, id: &str, words: &str) -> String {
        let href = format!("{}#{id}", relative(&self.page.path, PATH));
        format!("<a class=\"term\" href=\"{}\">{words}</a>", escaped(&href))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn found(text: &str) -> Vec<String> {
        let faults = Faults::default();
        let table = "| Word | Meaning |\n|---|---|\n| anode | x |\n| anode dissipation | x |\n| HT | x |\n\
                     | law <!-- linked as: law of a control --> | the law |\n| valve <!-- not linked --> | x |\n";
        let glossary = Glossary::of(terms(&Piece::new("glossary.md".into(), table, 1), &faults));
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
