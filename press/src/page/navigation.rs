//! Ways to other pages: where a page stands, what comes before and after, the contents of the book and of a chapter.

use crate::address::relative;
use crate::read::book::{Book, Page};
use maud::{Markup, html};

/// Where the page stands: book, chapter, page.
#[must_use]
pub fn breadcrumbs(book: &Book, index: usize) -> Markup {
    let page = &book.pages[index];
    let chapter = book.chapter_of[index].and_then(|chapter| book.chapters[chapter].start);
    html! {
        @if index != 0 {
            nav.way aria-label="Where you are" {
                ol {
                    li { a href=(relative(&page.path, "index.html")) { "Cover" } }
                    @if let Some(start) = chapter.filter(|start| *start != index) { li { (link(page, &book.pages[start])) } }
                    li aria-current="page" { (page.front.title) }
                }
            }
        }
    }
}

/// The pages before and after, in reading order.
#[must_use]
pub fn previous_and_next(book: &Book, index: usize) -> Markup {
    let page = &book.pages[index];
    let previous = index.checked_sub(1).map(|before| &book.pages[before]);
    let one = |rel: &str, word: &str, other: &Page| {
        html! { a rel=(rel) href=(relative(&page.path, &other.path)) { span { (word) } " " (other.front.title) } }
    };
    html! {
        nav.turn aria-label="Previous and next page" {
            @if let Some(other) = previous { (one("prev", "Previous", other)) }
            @if let Some(other) = book.pages.get(index + 1) { (one("next", "Next", other)) }
        }
    }
}

/// The contents of the book: all chapters, and the pages of those that are open. The cover opens all.
#[must_use]
pub fn contents(book: &Book, index: usize) -> Markup {
    let page = &book.pages[index];
    let entry = |other: usize| {
        let current = (other == index).then_some("page");
        html! { a href=(relative(&page.path, &book.pages[other].path)) aria-current=[current] { (book.pages[other].front.title) } }
    };
    html! {
        nav #page-contents.contents aria-label="Contents" {
            h2 { "Contents" }
            ol {
                @for (number, chapter) in book.chapters.iter().enumerate() {
                    @let open = index == 0 || book.chapter_of[index] == Some(number);
                    @if let Some(start) = chapter.start {
                        li {
                            (entry(start))
                            @if open && !chapter.pages.is_empty() { ol { @for other in &chapter.pages { li { (entry(*other)) } } } }
                        }
                    } @else {
                        @for other in &chapter.pages { li { (entry(*other)) } }
                    }
                }
            }
        }
    }
}

fn link(from: &Page, to: &Page) -> Markup {
    html! { a href=(relative(&from.path, &to.path)) { (to.front.title) } }
}
