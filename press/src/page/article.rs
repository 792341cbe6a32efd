//! A finished text set in its page: title, cautions, what is needed, contents, text, sources, and what stands around them.

use super::layout::{self, Document, Head};
use super::{Context, Found, RenderedPage};
use super::{navigation, steps};
use crate::address::relative;
use crate::read::book::Page;
use crate::read::modules::Modules;
use crate::{address, calculators};
use maud::{Markup, PreEscaped, html};

/// A page needs a list of its own headings from this many on.
const LONG: usize = 3;

/// Sets a finished page in its layout; `find` is the file of the index, where the book has one.
#[must_use]
pub fn set<'a>(
    context: &Context<'a>,
    index: usize,
    rendered: &'a RenderedPage,
    modules: &'a Modules,
    find: Option<&str>,
) -> Document<'a> {
    let (book, page) = (context.book, &context.book.pages[index]);
    let cover = index == 0;
    let scripts = &rendered.found.scripts;
    let has_job = [calculators::WITH_JOB, steps::SCRIPT].iter().any(|script| scripts.contains(*script));
    let head = Head {
        path: &page.path,
        title: &page.front.title,
        summary: &page.front.summary,
        base: None,
        scripts: scripts.iter().map(String::as_str).collect(),
        calculators: (!rendered.found.calculators.is_empty()).then_some(&modules.calculators),
        job: has_job.then_some(&modules.job),
    };
    let body = html! {
        (layout::header(&page.path, find))
        main #page-text tabindex="-1" {
            (navigation::breadcrumbs(book, index))
            article {
                header {
                    @if !cover { p.kind { (page.front.kind.word()) } }
                    h1 { (page.front.title) }
                    p.summary { (page.front.summary) }
                }
                (PreEscaped(&rendered.cautions))
                (needs(page))
                @if !cover { (headings(rendered)) }
                (PreEscaped(&rendered.html))
                @if !cover { (chapter(context, index)) }
                @if cover && context.publish {
                    p { "Download: " a href=(address::ONE_FILE) { "the whole handbook as one file" } ". It opens from a stick, without a server, calculators included." }
                }
                (listed_sources(page, &rendered.found))
            }
            (navigation::previous_and_next(book, index))
        }
        (navigation::contents(book, index))
        (layout::footer())
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

fn headings(rendered: &RenderedPage) -> Markup {
    html! {
        @if rendered.headings.len() >= LONG {
            nav.headings aria-label="On this page" {
                p { "On this page" }
                ol { @for (id, words) in &rendered.headings { li { a href={ "#" (id) } { (PreEscaped(words)) } } } }
            }
        }
    }
}

/// The pages of the chapter that this page opens.
fn chapter(context: &Context<'_>, index: usize) -> Markup {
    let (book, page) = (context.book, &context.book.pages[index]);
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

fn listed_sources(page: &Page, found: &Found) -> Markup {
    html! {
        @if !found.sources.is_empty() {
            section.listed aria-labelledby="page-sources" {
                h2 #page-sources { "Sources" }
                ul {
                    @for source in calculators::sources().iter().filter(|source| found.sources.contains(source.id)) {
                        li { a href=(address::source(&page.path, source.id)) { (source.title) } " " span.standing { (source.trust.words()) } }
                    }
                }
            }
        }
    }
}
