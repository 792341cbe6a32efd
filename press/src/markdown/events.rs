//! Markdown becomes a tree, and what has no place in a page is refused.

use super::notes::Notes;
use super::tables;
use super::tree::{Element, HEADINGS, Kind, Node};
use crate::fault::Faults;
use crate::source_text::{SourceLocation, SourceText};
use math_core::MathDisplay;
use pulldown_cmark::{BrokenLink, CodeBlockKind, Event, LinkType, Options, Parser, Tag, TagEnd};
use std::cell::RefCell;
use std::ops::Range;
use std::vec::IntoIter;

/// Reads Markdown as a tree. Links, formulas, figures and fenced blocks are still as they were written.
#[must_use]
pub fn read(piece: &SourceText, faults: &Faults) -> Vec<Node> {
    let undefined = RefCell::new(Vec::new());
    let note_undefined = |link: BrokenLink<'_>| {
        if link.link_type == LinkType::Reference {
            undefined.borrow_mut().push((link.span.start, link.reference.to_string()));
        }
        None
    };
    let options = Options::ENABLE_TABLES
        | Options::ENABLE_FOOTNOTES
        | Options::ENABLE_HEADING_ATTRIBUTES
        | Options::ENABLE_MATH;
    let parser = Parser::new_with_broken_link_callback(&piece.text, options, Some(note_undefined));
    let events: Vec<_> = parser.into_offset_iter().collect();
    for (offset, reference) in undefined.into_inner() {
        let right = format!("write [{reference}]: … below");
        faults.add(&piece.place(offset), format!("[{reference}]"), "is defined nowhere", right);
    }
    let mut reader = Reader { piece, faults, events: events.into_iter(), notes: Notes::default() };
    let mut nodes = reader.nodes();
    nodes.extend(reader.notes.section(faults));
    nodes
}

type Events<'e> = IntoIter<(Event<'e>, Range<usize>)>;

/// One text being read.
struct Reader<'e> {
    piece: &'e SourceText,
    faults: &'e Faults,
    events: Events<'e>,
    notes: Notes,
}

impl<'e> Reader<'e> {
    /// The nodes up to the end of what is open.
    fn nodes(&mut self) -> Vec<Node> {
        let mut nodes: Vec<Node> = Vec::new();
        while let Some((event, range)) = self.events.next() {
            let place = self.piece.place(range.start);
            let kind = match event {
                Event::End(_) => break,
                Event::Start(tag) => match self.open(tag, &place) {
                    Some(kind) => kind,
                    None => continue,
                },
                // A note that is defined nowhere comes as plain text in pieces.
                Event::Text(text) if text.starts_with('^') && ends_in_bracket(&nodes) => {
                    let found = format!("[{}]", text.split(']').next().unwrap_or_default());
                    let right = format!("write {found}: … below");
                    self.faults.add(&place, found, "is defined nowhere", right);
                    continue;
                }
                Event::Text(text) => Kind::Text(text.into_string()),
                Event::Code(code) => Kind::Code(code.into_string()),
                Event::InlineMath(latex) => {
                    Kind::Formula { latex: latex.into_string(), display: MathDisplay::Inline }
                }
                Event::DisplayMath(latex) => {
                    Kind::Formula { latex: latex.into_string(), display: MathDisplay::Block }
                }
                Event::InlineHtml(html) | Event::Html(html) => {
                    self.refuse_html(&html, &place);
                    continue;
                }
                Event::FootnoteReference(name) => Kind::Element(self.notes.mention(&name, &place)),
                Event::SoftBreak => Kind::Text("\n".to_owned()),
                Event::HardBreak => Kind::Element(Element::new("br", Vec::new())),
                Event::Rule => Kind::Element(Element::new("hr", Vec::new())),
                Event::TaskListMarker(_) => continue,
            };
            nodes.push(kind.at(place));
        }
        nodes
    }

    /// What a tag opens; `None` where nothing of it is in the page.
    fn open(&mut self, tag: Tag<'e>, place: &SourceLocation) -> Option<Kind> {
        let element = match tag {
            Tag::Paragraph if self.is_figure_alone() => {
                let figure = match self.events.next() {
                    Some((Event::Start(Tag::Image { dest_url, title, .. }), _)) => {
                        Kind::Figure { file: dest_url.into_string(), caption: title.into_string() }
                    }
                    _ => return None,
                };
                // The image, then the paragraph.
                self.nodes();
                self.nodes();
                return Some(figure);
            }
            Tag::Paragraph => Element::new("p", self.nodes()),
            Tag::Heading { level, id, .. } => {
                let mut heading = Element::new(HEADINGS[level as usize - 1], self.nodes());
                heading.attributes.extend(id.map(|id| ("id", id.into_string())));
                heading
            }
            Tag::BlockQuote(_) => Element::new("blockquote", self.nodes()),
            Tag::List(None) => Element::new("ul", self.nodes()),
            Tag::List(Some(1)) => Element::new("ol", self.nodes()),
            Tag::List(Some(first)) => Element::new("ol", self.nodes()).with("start", first.to_string()),
            Tag::Item => Element::new("li", self.nodes()),
            Tag::Emphasis => Element::new("em", self.nodes()),
            Tag::Strong => Element::new("strong", self.nodes()),
            Tag::Table(columns) => tables::table(self.nodes(), &columns),
            Tag::TableHead => Element::new("thead", self.nodes()),
            Tag::TableRow => Element::new("tr", self.nodes()),
            Tag::TableCell => Element::new("td", self.nodes()),
            Tag::Link { dest_url, .. } => {
                return Some(Kind::Link { to: dest_url.into_string(), inner: self.nodes() });
            }
            Tag::Image { dest_url, .. } => {
                self.nodes();
                let found = format!("figure \"{dest_url}\"");
                self.faults.add(place, found, "is inside a paragraph", "put it between blank lines");
                return None;
            }
            Tag::CodeBlock(kind) => {
                let word = match kind {
                    CodeBlockKind::Fenced(word) => word.into_string(),
                    CodeBlockKind::Indented => String::new(),
                };
                let body = SourceText::new(place.file.clone(), self.raw(), place.line + 1);
                return Some(Kind::Block { word, body });
            }
            Tag::HtmlBlock => {
                let html = self.raw();
                self.refuse_html(&html, place);
                return None;
            }
            Tag::FootnoteDefinition(name) => {
                let note = self.nodes();
                self.notes.define(&name, place, note);
                return None;
            }
            // Of what the options do not ask for, the words.
            _ => return Some(Kind::Group(self.nodes())),
        };
        Some(Kind::Element(element))
    }

    /// The text up to the end of what is open, as it was written.
    fn raw(&mut self) -> String {
        let inside = self.events.by_ref().take_while(|(event, _)| !matches!(event, Event::End(_)));
        inside.fold(String::new(), |raw, (event, _)| match event {
            Event::Text(text) | Event::Html(text) => raw + &text,
            _ => raw,
        })
    }

    /// Whether the paragraph that has just begun holds a picture and nothing else.
    fn is_figure_alone(&self) -> bool {
        let rest = self.events.as_slice();
        let end = rest.iter().position(|(event, _)| *event == Event::End(TagEnd::Image));
        matches!(rest.first(), Some((Event::Start(Tag::Image { .. }), _)))
            && end.is_some_and(|end| matches!(rest.get(end + 1), Some((Event::End(TagEnd::Paragraph), _))))
    }

    fn refuse_html(&self, html: &str, place: &SourceLocation) {
        let html = html.trim();
        if !(html.starts_with("<!--") && html.ends_with("-->")) {
            let found = html.lines().next().unwrap_or_default();
            let right = "write Markdown, or \\< for a plain <";
            self.faults.add(place, found, "HTML cannot be used in the text", right);
        }
    }
}

/// Whether the text so far ends in an opening bracket.
fn ends_in_bracket(nodes: &[Node]) -> bool {
    matches!(nodes.last(), Some(Node { kind: Kind::Text(before), .. }) if before.ends_with('['))
}
