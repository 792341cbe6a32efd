//! Where each calculator is at home: its page, which links from everywhere lead to.
//!
//! A link to it is written `calculator:ID`, in the content and by `web`; its page is known when all pages are written.

use crate::book::{Book, first_line};
use crate::calculators;
use crate::fault::{Faults, nearest};
use crate::leaf::Leaf;
use crate::link::relative;
use std::collections::BTreeMap;

/// How a link to a calculator begins.
pub const SCHEME: &str = "calculator:";

/// The page of each calculator.
pub struct Homes<'a>(BTreeMap<&'a str, &'a str>);

impl<'a> Homes<'a> {
    /// Finds them: the first page of its kind that holds the calculator, or else the first page.
    #[must_use]
    pub fn of(book: &'a Book, leaves: &'a [Leaf]) -> Self {
        let mut homes = BTreeMap::new();
        let (own, others): (Vec<_>, Vec<_>) =
            book.pages.iter().zip(leaves).partition(|(page, _)| page.front.kind.name() == "calculator");
        for (page, leaf) in own.into_iter().chain(others) {
            for calculator in &leaf.text.calculators {
                homes.entry(calculator.as_str()).or_insert(page.path.as_str());
            }
        }
        Self(homes)
    }

    /// The text of the page at `path` with the addresses in place.
    #[must_use]
    pub fn put(&self, path: &str, html: &str) -> String {
        let mut parts = html.split(SCHEME);
        let mut put = parts.next().unwrap_or_default().to_owned();
        for part in parts {
            let (id, rest) = part.split_at(length_of_id(part));
            match self.0.get(id) {
                Some(home) => put += &relative(path, home),
                None => put.extend([SCHEME, id]),
            }
            put += rest;
        }
        put
    }

    /// Complains of links to calculators that stand on no page.
    pub fn check(&self, book: &Book, leaves: &[Leaf], faults: &Faults) {
        for (page, leaf) in book.pages.iter().zip(leaves) {
            for part in leaf.text.html.split(SCHEME).skip(1) {
                let id = &part[..length_of_id(part)];
                if !self.0.contains_key(id) {
                    let right = if calculators::ids().any(|known| known == id) {
                        "give it a page with a calculator block".to_owned()
                    } else {
                        nearest(id, self.0.keys().copied())
                    };
                    faults.add(
                        &first_line(&page.file),
                        format!("link \"{SCHEME}{id}\""),
                        "no page holds this calculator",
                        right,
                    );
                }
            }
        }
    }
}

fn length_of_id(text: &str) -> usize {
    text.find(|letter: char| !(letter.is_ascii_lowercase() || letter.is_ascii_digit() || letter == '-'))
        .unwrap_or(text.len())
}
