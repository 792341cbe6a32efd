//! One page in full: its text in the frame, with what its kind calls for.

use crate::book::{Body, Page};
use crate::caution::DISCHARGE;
use crate::fault::nearest;
use crate::frame::{self, Document, Head};
use crate::link::relative;
use crate::modules::{BENCH, JOBS, Module};
use crate::text::{Shop, Text, Writer};
use crate::{calculators, one_file, sources, steps};
use maud::{Markup, PreEscaped, html};
use std::collections::BTreeSet;

/// A page needs a list of its own headings from this many on.
const LONG: usize = 3;

/// A page that has been written, and is yet to be set in its frame.
pub struct Leaf {
    cautions: String,
    /// The text, and what it claims and links to.
    pub text: Text,
}

/// Writes what stands in the page, and notes what is wrong with it.
#[must_use]
pub fn write(shop: &Shop<'_>, page: &Page) -> Leaf {
    let mut writer = Writer::new(shop, page, &frame::IDS);
    let cautions = page.front.cautions.iter().map(|id| writer.caution(&id.text, &id.place)).collect();
    let html = match &page.body {
        Body::Markdown(piece) => {
            let html = writer.markdown(piece);
            writer.end_steps(html)
        }
        Body::Written(html) => {
            writer.take_ids_in(html, &crate::book::first_line(&page.file));
            writer.text.headings = headings_in(html);
            writer.linked(html)
        }
    };
    let mut text = writer.text;
    text.html = html;
    for id in &page.front.sources {
        let known = calculators::sources();
        if known.iter().any(|source| source.id == id.text) {
            text.sources.insert(id.text.clone());
        } else {
            shop.faults.add(
                &id.place,
                format!("source \"{}\"", id.text),
                "no such source",
                nearest(&id.text, known.iter().map(|source| source.id)),
            );
        }
    }
    if page.front.hands_near_circuit && !text.cautions.contains(DISCHARGE) {
        let right =
            format!("write cautions = [\"{DISCHARGE}\"], or hands_near_circuit = false if no hand goes near");
        shop.faults.add(
            &crate::book::first_line(&page.file),
            "page",
            "has hands near the circuit and no discharge caution",
            right,
        );
    }
    Leaf { cautions, text }
}

/// The headings of the second level in a page that press wrote itself.
fn headings_in(html: &str) -> Vec<(String, Markup)> {
    let heading = |rest: &str| {
        let (id, rest) = rest.split_once("\">")?;
        let (words, _) = rest.split_once("</h2>")?;
        Some((id.to_owned(), PreEscaped(words.to_owned())))
    };
    html.split("<h2 id=\"").skip(1).filter_map(heading).collect()
}

/// Sets a written page in its frame.
#[must_use]
pub fn set<'a>(shop: &Shop<'a>, index: usize, leaf: &'a Leaf, modules: &'a [Module]) -> Document<'a> {
    let (book, page) = (shop.book, &shop.book.pages[index]);
    let cover = index == 0;
    let groups: BTreeSet<&str> =
        leaf.text.calculators.iter().filter_map(|calculator| calculators::group_of(calculator)).collect();
    let head = Head {
        path: &page.path,
        title: &page.front.title,
        summary: &page.front.summary,
        base: None,
        scripts: leaf.text.scripts.iter().map(String::as_str).collect(),
        modules: modules.iter().filter(|module| groups.contains(module.group)).collect(),
        later: modules
            .iter()
            .filter(|module| {
                module.group == JOBS || module.group == BENCH && leaf.text.scripts.contains(steps::SCRIPT)
            })
            .collect(),
    };
    let body = html! {
        (frame::bar(&page.path))
        main #page-text tabindex="-1" {
            (frame::way(book, index))
            article {
                header {
                    @if !cover { p.kind { (page.front.kind.word()) } }
                    h1 { (page.front.title) }
                    p.summary { (page.front.summary) }
                }
                (PreEscaped(&leaf.cautions))
                (needs(page))
                @if !cover { (headings(&leaf.text)) }
                (PreEscaped(&leaf.text.html))
                @if !cover { (chapter(shop, index)) }
                @if cover && shop.publish {
                    p { "To take along: " a href=(one_file::NAME) { "the whole handbook as one file" } ". It opens from a stick, without a server, calculators included." }
                }
                (listed_sources(page, &leaf.text))
            }
            (frame::turn(book, index))
        }
        (frame::contents(book, index))
        (frame::foot())
    };
    Document { head, kind: if cover { "cover" } else { page.front.kind.name() }, body }
}

fn needs(page: &Page) -> Markup {
    html! {
        @if !page.front.needs.is_empty() {
            section.needs aria-labelledby="page-needs" {
                h2 #page-needs { "What you need" }
                ul { @for need in &page.front.needs { li { (need.text) } } }
            }
        }
    }
}

fn headings(text: &Text) -> Markup {
    html! {
        @if text.headings.len() >= LONG {
            nav.headings aria-label="On this page" {
                p { "On this page" }
                ol { @for (id, words) in &text.headings { li { a href={ "#" (id) } { (words) } } } }
            }
        }
    }
}

/// The pages of the chapter that this page opens.
fn chapter(shop: &Shop<'_>, index: usize) -> Markup {
    let (book, page) = (shop.book, &shop.book.pages[index]);
    let pages = book
        .chapters
        .iter()
        .find(|chapter| chapter.start == Some(index))
        .map(|chapter| chapter.pages.as_slice())
        .unwrap_or_default();
    html! {
        @if !pages.is_empty() {
            nav.chapter aria-label="In this chapter" {
                ol {
                    @for other in pages.iter().map(|other| &book.pages[*other]) {
                        li {
                            a href=(relative(&page.path, &other.path)) { (other.front.title) }
                            p { span.kind { (other.front.kind.word()) } " " (other.front.summary) }
                        }
                    }
                }
            }
        }
    }
}

fn listed_sources(page: &Page, text: &Text) -> Markup {
    html! {
        @if !text.sources.is_empty() {
            section.listed aria-labelledby="page-sources" {
                h2 #page-sources { "Sources" }
                ul {
                    @for source in calculators::sources().iter().filter(|source| text.sources.contains(source.id)) {
                        li { a href=(sources::address(&page.path, source.id)) { (source.title) } " " span.standing { (source.trust.words()) } }
                    }
                }
            }
        }
    }
}
