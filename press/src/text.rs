//! The text of a page: Markdown events in, HTML out, each checked on the way.
//!
//! What CommonMark knows goes straight through; headings, steps, tables, figures, links, formulas, notes and fenced blocks are
//! written here. No inline style is ever written, for the content policy would refuse it.

use crate::book::{Book, Page};
use crate::fault::{Faults, Place, nearest};
use crate::glossary::{self, Glossary};
use crate::link::Anchor;
use crate::math::Formulas;
use crate::piece::Piece;
use job::procedure::Step;
use math_core::MathDisplay;
use maud::{Markup, html};
use pulldown_cmark::{Alignment, CodeBlockKind, CowStr, Event, LinkType, Options, Parser, Tag, TagEnd};
use std::cell::RefCell;
use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::ops::Range;
use std::path::Path;

/// What every page is printed with.
pub struct Shop<'a> {
    /// The folder that holds `content/`.
    pub workspace: &'a Path,
    /// The whole book.
    pub book: &'a Book,
    /// The terms that are linked at their first use.
    pub glossary: Glossary,
    /// LaTeX to MathML.
    pub formulas: Formulas,
    /// Where the complaints go.
    pub faults: &'a Faults,
    /// Whether the book is published, and so has what only readers need.
    pub publish: bool,
}

/// What came of the text of a page.
#[derive(Debug, Default)]
pub struct Text {
    /// The text as HTML.
    pub html: String,
    /// The headings of the second level: id and words.
    pub headings: Vec<(String, Markup)>,
    /// Every id in the page and where it was given.
    pub ids: BTreeMap<String, Place>,
    /// Links to places within pages.
    pub anchors: Vec<Anchor>,
    /// Sources that the text links to.
    pub sources: BTreeSet<String>,
    /// Scripts that the page shows and runs.
    pub scripts: BTreeSet<String>,
    /// Cautions that the page shows.
    pub cautions: BTreeSet<String>,
    /// The calculators that stand in the page, by name.
    pub calculators: BTreeSet<String>,
    /// The steps of a procedure, and what they carry.
    pub steps: Vec<Step>,
}

impl Text {
    /// How the first list of steps begins.
    pub const STEPS: &'static str = "<ol class=\"steps\">";
}

/// Writes the text of one page.
pub struct Writer<'a> {
    pub(crate) shop: &'a Shop<'a>,
    pub(crate) page: &'a Page,
    /// What has come of it so far.
    pub text: Text,
    /// The level and the words of the last heading.
    pub(crate) level: u8,
    pub(crate) heading: String,
    tables: usize,
    /// The terms of the glossary that the page has linked.
    pub(crate) terms: BTreeSet<String>,
}

pub(crate) type Events<'e> = std::vec::IntoIter<(Event<'e>, Range<usize>)>;

/// One run of Markdown on its way to HTML.
pub(crate) struct Flow<'e> {
    pub(crate) piece: &'e Piece,
    pub(crate) out: Vec<Event<'e>>,
    /// The lists that are open; a number is the next step of a procedure.
    pub(crate) lists: Vec<Option<u64>>,
    pub(crate) columns: Vec<Alignment>,
    pub(crate) in_head: bool,
    pub(crate) column: usize,
    /// Notes in order of their first mention, and what stands in them.
    pub(crate) mentioned: Vec<CowStr<'e>>,
    pub(crate) notes: HashMap<CowStr<'e>, (Place, Vec<Event<'e>>)>,
    /// How many things are open in which no term is linked.
    pub(crate) quiet: u32,
}

impl Flow<'_> {
    pub(crate) fn html(&mut self, html: impl Into<String>) {
        self.out.push(Event::Html(html.into().into()));
    }
}

impl<'a> Writer<'a> {
    /// A writer for `page`, in which the ids of the frame are taken already.
    pub fn new(shop: &'a Shop<'a>, page: &'a Page, frame: &[&str]) -> Self {
        let mut writer = Self {
            shop,
            page,
            text: Text::default(),
            level: 1,
            heading: String::new(),
            tables: 0,
            terms: BTreeSet::new(),
        };
        for id in frame {
            writer.take_id(id, &crate::book::first_line(&page.file));
        }
        writer
    }

    /// Claims an id for the page; it may be claimed once.
    pub fn take_id(&mut self, id: &str, place: &Place) {
        if let Some(first) = self.text.ids.get(id) {
            let wrong = format!("is in the page already, from line {} of {}", first.line, first.file);
            self.shop.faults.add(
                place,
                format!("id \"{id}\""),
                wrong,
                "give one of them an id of its own: ## Heading {#its-own-id}",
            );
            return;
        }
        if !id.starts_with(char::is_alphabetic) {
            self.shop.faults.add(
                place,
                format!("id \"{id}\""),
                "does not begin with a letter",
                "give it one that does: ## 6L6GC {#valve-6l6gc}",
            );
        }
        self.text.ids.insert(id.into(), place.clone());
    }

    /// Writes a piece of Markdown.
    pub fn markdown(&mut self, piece: &Piece) -> String {
        let dead = RefCell::new(Vec::new());
        let callback = |link: pulldown_cmark::BrokenLink<'_>| {
            if link.link_type == LinkType::Reference {
                dead.borrow_mut().push((link.span.start, link.reference.to_string()));
            }
            None
        };
        let options = Options::ENABLE_TABLES
            | Options::ENABLE_FOOTNOTES
            | Options::ENABLE_HEADING_ATTRIBUTES
            | Options::ENABLE_MATH;
        let parser = Parser::new_with_broken_link_callback(&piece.text, options, Some(callback));
        let events: Vec<_> = parser.into_offset_iter().collect();
        for (offset, reference) in dead.into_inner() {
            self.shop.faults.add(
                &piece.place(offset),
                format!("[{reference}]"),
                "is defined nowhere",
                format!("write [{reference}]: … below"),
            );
        }
        let mut flow = Flow {
            piece,
            out: Vec::with_capacity(events.len()),
            lists: Vec::new(),
            columns: Vec::new(),
            in_head: false,
            column: 0,
            mentioned: Vec::new(),
            notes: HashMap::new(),
            // A caution is read at once, and stands on many pages.
            quiet: u32::from(piece.file != self.page.file),
        };
        self.run(&mut events.into_iter(), &mut flow);
        self.write_notes(&mut flow);
        let mut html = String::with_capacity(piece.text.len() * 2);
        pulldown_cmark::html::push_html(&mut html, flow.out.into_iter());
        html
    }

    pub(crate) fn run<'e>(&mut self, events: &mut Events<'e>, flow: &mut Flow<'e>) {
        while let Some((event, range)) = events.next() {
            let place = flow.piece.place(range.start);
            match &event {
                Event::Start(tag) if is_quiet(tag.to_end()) => flow.quiet += 1,
                Event::End(end) if is_quiet(*end) => flow.quiet -= 1,
                _ => {}
            }
            match event {
                Event::Start(Tag::Heading { level, id, .. }) => {
                    let inner = until(events, |end| matches!(end, TagEnd::Heading(_)));
                    self.write_heading(level, id, inner, &place, flow);
                }
                Event::Start(Tag::Paragraph) if figure_alone(events.as_slice()) => {
                    let Some((Event::Start(Tag::Image { dest_url, title, .. }), _)) = events.next() else {
                        continue;
                    };
                    until(events, |end| *end == TagEnd::Image);
                    events.next();
                    let figure = self.figure(&dest_url, &title, &place);
                    flow.html(figure);
                }
                Event::Start(Tag::Image { dest_url, .. }) => {
                    until(events, |end| *end == TagEnd::Image);
                    self.shop.faults.add(
                        &place,
                        format!("figure \"{dest_url}\""),
                        "stands in the midst of a text",
                        "put it between blank lines",
                    );
                }
                Event::Start(Tag::CodeBlock(kind)) => {
                    let inner = until(events, |end| *end == TagEnd::CodeBlock);
                    let written = self.fenced(&kind, &plain(&inner), &place);
                    flow.html(written);
                }
                Event::Start(Tag::HtmlBlock) => {
                    let inner = until(events, |end| *end == TagEnd::HtmlBlock);
                    self.refuse_html(&plain(&inner), &place);
                }
                Event::InlineHtml(html) => self.refuse_html(&html, &place),
                Event::Start(Tag::Link { dest_url, .. }) => {
                    self.write_link(&dest_url, &place, events.as_slice(), flow)
                }
                Event::End(TagEnd::Link) => flow.html("</a>"),
                Event::InlineMath(latex) => flow.html(self.formula(&latex, MathDisplay::Inline, &place)),
                Event::DisplayMath(latex) => {
                    let formula = self.formula(&latex, MathDisplay::Block, &place);
                    flow.html(format!("<span class=\"formula\" role=\"group\" aria-label=\"Formula\" tabindex=\"0\">{formula}</span>"));
                }
                Event::Start(Tag::List(first)) => self.open_list(first, flow),
                Event::End(TagEnd::List(_)) => {
                    let steps = flow.lists.pop().flatten().is_some();
                    if steps { flow.html("</ol>\n") } else { flow.out.push(event) }
                }
                Event::Start(Tag::Item) => self.open_item(&place, flow),
                Event::FootnoteReference(name) => self.write_mention(name, &place, flow),
                Event::Start(Tag::FootnoteDefinition(name)) => {
                    let inner = until(events, |end| *end == TagEnd::FootnoteDefinition);
                    let before = std::mem::take(&mut flow.out);
                    self.run(&mut inner.into_iter(), flow);
                    let note = std::mem::replace(&mut flow.out, before);
                    flow.notes.insert(name, (place, note));
                }
                Event::Start(Tag::Table(columns)) => {
                    self.tables += 1;
                    let label = if self.heading.is_empty() { &self.page.front.title } else { &self.heading };
                    let label = escaped(&format!("Table {}: {label}", self.tables));
                    flow.columns = columns;
                    flow.html(format!(
                        "<section class=\"scroll\" tabindex=\"0\" aria-label=\"{label}\">\n<table>\n"
                    ));
                }
                // A note that is defined nowhere comes as plain text in pieces.
                Event::Text(text) if text.starts_with('^') && follows_bracket(flow) => {
                    let found = format!("[{}]", text.split(']').next().unwrap_or_default());
                    let right = format!("write {found}: … below");
                    self.shop.faults.add(&place, found, "is defined nowhere", right);
                }
                Event::Text(text) if self.has_steps() && text.contains('{') => {
                    self.write_own(&text, &place, flow);
                }
                Event::Text(text) if flow.quiet == 0 => self.write_words(text, flow),
                Event::Start(Tag::TableRow) if self.page.path == glossary::PATH => {
                    self.begin_term(events.as_slice(), &place, flow);
                }
                event => table_event(event, flow),
            }
        }
    }

    pub(crate) fn formula(&self, latex: &str, display: MathDisplay, place: &Place) -> String {
        self.shop.formulas.convert(latex, display).unwrap_or_else(|wrong| {
            self.shop.faults.add(
                place,
                format!("formula ${latex}$"),
                wrong,
                "write LaTeX as in $P_a = V_a I_a$",
            );
            String::new()
        })
    }

    fn refuse_html(&self, html: &str, place: &Place) {
        let html = html.trim();
        if !(html.starts_with("<!--") && html.ends_with("-->")) {
            let found = html.lines().next().unwrap_or_default();
            self.shop.faults.add(
                place,
                found,
                "HTML has no place in the text",
                "write Markdown, or \\< for a plain <",
            );
        }
    }

    fn fenced(&mut self, kind: &CodeBlockKind<'_>, body: &str, place: &Place) -> String {
        let word = if let CodeBlockKind::Fenced(word) = kind { word.as_ref() } else { "" };
        let inside = Piece::new(place.file.clone(), body, place.line + 1);
        match word {
            "" | "text" => html! { pre { (body) } }.into_string(),
            "calculator" => self.calculator(&inside, place),
            "caution" => self.caution(body.trim(), &inside.place(0)),
            "reading" => self.reading(&inside),
            "tick" => self.tick(&inside),
            "choice" => self.choice(&inside),
            "timer" => self.timer(&inside),
            "script" => self.script(&inside),
            "jobs" | "survey" | "sheet" => self.job(word, place),
            other => {
                let known = [
                    "calculator",
                    "caution",
                    "choice",
                    "jobs",
                    "reading",
                    "script",
                    "sheet",
                    "survey",
                    "text",
                    "tick",
                    "timer",
                ];
                let right = nearest(other, known);
                self.shop.faults.add(place, format!("```{other}"), "no such kind of block", right);
                String::new()
            }
        }
    }
}

/// Where no term is linked: links, what is set off already, and tables, whose cells are no running text.
fn is_quiet(end: TagEnd) -> bool {
    matches!(end, TagEnd::Link | TagEnd::Strong | TagEnd::Emphasis | TagEnd::Table)
}

/// Marks the cell just written if a link is all it holds: such a link is pressed like a button.
fn mark_lone_link(out: &mut [Event]) {
    let html = |event: &Event, start: &str| matches!(event, Event::Html(html) if html.starts_with(start));
    let Some(cell) = out.iter().rposition(|event| html(event, "<td")) else { return };
    let within = &out[cell + 1..];
    let lone = within.first().is_some_and(|event| html(event, "<a "))
        && within.iter().position(|event| html(event, "</a>")) == Some(within.len() - 1);
    if lone && let Event::Html(start) = &out[cell] {
        out[cell] = Event::Html(start.replacen("<td", "<td data-lone-link", 1).into());
    }
}

fn table_event<'e>(event: Event<'e>, flow: &mut Flow<'e>) {
    match event {
        Event::End(TagEnd::Table) => flow.html("</tbody>\n</table>\n</section>\n"),
        Event::Start(Tag::TableHead) => {
            (flow.in_head, flow.column) = (true, 0);
            flow.html("<thead>\n<tr>");
        }
        Event::End(TagEnd::TableHead) => {
            flow.in_head = false;
            flow.html("</tr>\n</thead>\n<tbody>\n");
        }
        Event::Start(Tag::TableRow) => {
            flow.column = 0;
            flow.html("<tr>");
        }
        Event::End(TagEnd::TableRow) => flow.html("</tr>\n"),
        Event::Start(Tag::TableCell) => {
            let class = match flow.columns.get(flow.column) {
                Some(Alignment::Right) => " class=\"right\"",
                Some(Alignment::Center) => " class=\"centre\"",
                _ => "",
            };
            flow.column += 1;
            flow.html(if flow.in_head {
                format!("<th scope=\"col\"{class}>")
            } else {
                format!("<td{class}>")
            });
        }
        Event::End(TagEnd::TableCell) if flow.in_head => match flow.out.last() {
            // Nothing came between: a corner that heads no column is no heading.
            Some(Event::Html(start)) if start.starts_with("<th") => {
                flow.out.pop();
                flow.html("<td></td>");
            }
            _ => flow.html("</th>"),
        },
        Event::End(TagEnd::TableCell) => {
            mark_lone_link(&mut flow.out);
            flow.html("</td>");
        }
        event => flow.out.push(event),
    }
}

/// The events up to the end that `is_end` knows; the end itself is dropped.
fn until<'e>(events: &mut Events<'e>, is_end: impl Fn(&TagEnd) -> bool) -> Vec<(Event<'e>, Range<usize>)> {
    events.by_ref().take_while(|(event, _)| !matches!(event, Event::End(end) if is_end(end))).collect()
}

/// Whether the text so far ends in an opening bracket.
fn follows_bracket(flow: &Flow<'_>) -> bool {
    matches!(flow.out.last(), Some(Event::Text(before)) if before.ends_with('['))
}

/// Whether a paragraph that has just begun holds a picture and nothing else.
fn figure_alone(rest: &[(Event<'_>, Range<usize>)]) -> bool {
    let end = rest.iter().position(|(event, _)| *event == Event::End(TagEnd::Image));
    matches!(rest.first(), Some((Event::Start(Tag::Image { .. }), _)))
        && end.is_some_and(|end| matches!(rest.get(end + 1), Some((Event::End(TagEnd::Paragraph), _))))
}

pub(crate) fn plain(events: &[(Event<'_>, Range<usize>)]) -> String {
    events.iter().map(|(event, _)| words_of(event)).collect()
}

pub(crate) fn words_of<'e>(event: &'e Event<'_>) -> &'e str {
    match event {
        Event::Text(text) | Event::Code(text) | Event::Html(text) | Event::InlineMath(text) => text,
        Event::SoftBreak | Event::HardBreak => " ",
        _ => "",
    }
}

/// Text made safe for an element or a quoted attribute.
pub(crate) fn escaped(text: &str) -> String {
    html! { (text) }.into_string()
}
