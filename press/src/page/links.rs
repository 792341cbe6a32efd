//! Links: what the writer wrote, what is in the page, and whether it leads anywhere.

use crate::address::{self, beside, relative};
use crate::appendix::valves;
use crate::calculators;
use crate::fault::{Faults, nearest};
use crate::markdown::tree::{Element, Node, words};
use crate::page::Context;
use crate::page::calculator_pages::{CalculatorPages, SCHEME};
use crate::read::book::Page;
use crate::source_text::SourceLocation;
use std::collections::{BTreeMap, BTreeSet};

/// A link as the page has it.
#[derive(Debug, Default)]
pub struct Link {
    /// The address, relative to the page.
    pub href: String,
    /// What to print beside it on paper: the title of the page, or the address in the world. A source is at
    /// the foot of the page anyway.
    pub leads_to: String,
    /// The source it names, if it names one.
    pub source: Option<String>,
}

/// A link to a place within a page, to be checked when all pages are printed.
#[derive(Debug)]
pub struct Anchor {
    /// Where the link stands.
    pub place: SourceLocation,
    /// The link as it was written.
    pub written: String,
    /// The page it leads to.
    pub path: String,
    /// The id it names there.
    pub id: String,
}

impl Link {
    /// The link around its words, which are not said again.
    #[must_use]
    pub fn around(self, inner: Vec<Node>) -> Element {
        let leads_to = Some(self.leads_to).filter(|to| !to.is_empty() && *to != words(&inner));
        let mut link = Element::new("a", inner).with("href", self.href);
        link.attributes.extend(leads_to.map(|to| ("data-to", to)));
        link
    }
}

/// What a link is followed with.
#[derive(Clone, Copy)]
pub struct Follow<'a> {
    /// The book it is in, and where the complaints go.
    pub context: &'a Context<'a>,
    /// The pages of the calculators.
    pub pages: &'a CalculatorPages<'a>,
    /// The page it is in.
    pub page: &'a Page,
}

impl Follow<'_> {
    /// Follows a link written at `place`; a place within a page goes to `anchors`. `None` where the faults say why not.
    pub fn link(&self, written: &str, place: &SourceLocation, anchors: &mut Vec<Anchor>) -> Option<Link> {
        let page = self.page;
        let fault = |wrong: &str, right: String| {
            self.context.faults.add(place, format!("link \"{written}\""), wrong, right);
            None
        };
        if let Some(id) = written.strip_prefix("source:") {
            let sources = calculators::sources();
            return match sources.iter().find(|source| source.id == id) {
                None => fault("no such source", nearest(id, sources.iter().map(|source| source.id))),
                Some(_) => Some(Link {
                    href: address::source(&page.path, id),
                    leads_to: String::new(),
                    source: Some(id.into()),
                }),
            };
        }
        if let Some(id) = written.strip_prefix(SCHEME) {
            let href = self.pages.address(id, page, place, self.context)?;
            let block = self.pages.home(id).map(|(_, block)| block).unwrap_or_default();
            return Some(Link { href: format!("{href}#{block}"), ..Link::default() });
        }
        if let Some(name) = written.strip_prefix("valve:") {
            return match valves::named(name) {
                None => fault("is not in the valve table", nearest(name, valves::names())),
                Some(valve) => Some(Link {
                    href: relative(&page.path, &valves::path(valve)),
                    leads_to: valve.name.into(),
                    source: None,
                }),
            };
        }
        if written.starts_with("https://") || written.starts_with("http://") {
            return Some(Link { href: written.into(), leads_to: written.into(), source: None });
        }
        self.file(written, place, anchors)
    }

    /// A link to a page by its file, to a place within one, or to both.
    fn file(&self, written: &str, place: &SourceLocation, anchors: &mut Vec<Anchor>) -> Option<Link> {
        const RIGHT: &str = "write the way to a .md file from this one, source:ID, valve:TYPE, calculator:ID, #anchor or https://…";
        let (book, page) = (self.context.book, self.page);
        let fault = |wrong: &str, right: &str| {
            self.context.faults.add(place, format!("link \"{written}\""), wrong, right);
            None
        };
        let (file, id) = written.split_once('#').map_or((written, None), |(file, id)| (file, Some(id)));
        let target = if file.is_empty() {
            page
        } else if !file.ends_with(".md") || file.starts_with('/') || file.contains(':') {
            return fault("leads to no page", RIGHT);
        } else {
            let file = beside(&place.file, file);
            match book.page_of(&file) {
                Some(target) => target,
                None => return fault(&format!("there is no {file}"), &nearest(&file, book.page_files())),
            }
        };
        if let Some(id) = id {
            let (place, written) = (place.clone(), written.to_owned());
            anchors.push(Anchor { place, written, path: target.path.clone(), id: id.to_owned() });
        }
        let href = match (file.is_empty(), id) {
            (true, id) => format!("#{}", id.unwrap_or_default()),
            (false, Some(id)) => format!("{}#{id}", relative(&page.path, &target.path)),
            (false, None) => relative(&page.path, &target.path),
        };
        let leads_to = if file.is_empty() { String::new() } else { target.front.title.clone() };
        Some(Link { href, leads_to, source: None })
    }
}

/// Complains about every link to a place that is not in its page; `ids` are the places of each page.
pub fn check(anchors: &[Anchor], ids: &BTreeMap<&str, BTreeSet<&str>>, faults: &Faults) {
    for anchor in anchors {
        let Some(there) = ids.get(anchor.path.as_str()) else {
            continue;
        };
        if !there.contains(anchor.id.as_str()) {
            let wrong = format!("there is no #{} in {}", anchor.id, anchor.path);
            faults.add(
                &anchor.place,
                format!("link \"{}\"", anchor.written),
                wrong,
                nearest(&anchor.id, there.iter().copied()),
            );
        }
    }
}
