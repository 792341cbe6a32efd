//! Links: what the writer wrote, what stands in the page, and whether it leads anywhere.

use crate::book::{Book, Page};
use crate::calculators;
use crate::fault::{Faults, Place, nearest};
use crate::sources;
use std::collections::{BTreeMap, BTreeSet};

/// A link as the page has it.
#[derive(Debug, Default)]
pub struct Link {
    /// The address, relative to the page.
    pub href: String,
    /// What to print beside it on paper: the title of the page, or the address in the world. A source stands at
    /// the foot of the page anyway.
    pub leads_to: String,
    /// The source it names, if it names one.
    pub source: Option<String>,
}

/// A link to a place within a page, to be checked when all pages are printed.
#[derive(Debug)]
pub struct Anchor {
    /// Where the link stands.
    pub place: Place,
    /// The link as it was written.
    pub written: String,
    /// The page it leads to.
    pub path: String,
    /// The id it names there.
    pub id: String,
}

/// The address of `to` seen from the page at `from`, both from the root of the book.
#[must_use]
pub fn relative(from: &str, to: &str) -> String {
    "../".repeat(from.matches('/').count()) + to
}

/// Follows a link written at `place` in a text of `page`; a place within a page goes to `anchors`.
pub fn follow(
    written: &str,
    place: &Place,
    page: &Page,
    book: &Book,
    anchors: &mut Vec<Anchor>,
    faults: &Faults,
) -> Option<Link> {
    let fault = |wrong: &str, right: String| {
        faults.add(place, format!("link \"{written}\""), wrong, right);
        None
    };
    if let Some(id) = written.strip_prefix("source:") {
        let sources = calculators::sources();
        return match sources.iter().find(|source| source.id == id) {
            None => fault("no such source", nearest(id, sources.iter().map(|source| source.id))),
            Some(_) => Some(Link {
                href: sources::address(&page.path, id),
                leads_to: String::new(),
                source: Some(id.into()),
            }),
        };
    }
    if written.starts_with(crate::homes::SCHEME) {
        return Some(Link { href: written.into(), ..Link::default() });
    }
    if written.starts_with("https://") || written.starts_with("http://") {
        return Some(Link { href: written.into(), leads_to: written.into(), source: None });
    }
    let (file, id) = written.split_once('#').map_or((written, None), |(file, id)| (file, Some(id)));
    let target = if file.is_empty() {
        page
    } else if !file.ends_with(".md") || file.starts_with('/') || file.contains(':') {
        return fault(
            "leads to no page",
            "write the way to a .md file from this one, source:ID, calculator:ID, #anchor or https://…"
                .into(),
        );
    } else {
        let file = beside(&place.file, file);
        match book.page_of(&file) {
            Some(target) => target,
            None => {
                return fault(&format!("there is no {file}"), nearest(&file, book.page_files()));
            }
        }
    };
    if let Some(id) = id {
        anchors.push(Anchor {
            place: place.clone(),
            written: written.into(),
            path: target.path.clone(),
            id: id.into(),
        });
    }
    let href = match (file.is_empty(), id) {
        (true, id) => format!("#{}", id.unwrap_or_default()),
        (false, Some(id)) => format!("{}#{id}", relative(&page.path, &target.path)),
        (false, None) => relative(&page.path, &target.path),
    };
    let leads_to = if file.is_empty() { String::new() } else { target.front.title.clone() };
    Some(Link { href, leads_to, source: None })
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

/// The file that `way` leads to from the folder of `file`.
#[must_use]
pub fn beside(file: &str, way: &str) -> String {
    let mut parts: Vec<&str> = file.split('/').collect();
    parts.pop();
    for part in way.split('/') {
        match part {
            "." | "" => {}
            ".." => drop(parts.pop()),
            part => parts.push(part),
        }
    }
    parts.join("/")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ways_are_followed_from_the_folder_of_the_file() {
        assert_eq!(beside("content/3-x/1-a.md", "2-b.md"), "content/3-x/2-b.md");
        assert_eq!(beside("content/3-x/1-a.md", "../4-y/./index.md"), "content/4-y/index.md");
        assert_eq!(beside("content/cautions.toml", "1-z/a.md"), "content/1-z/a.md");
    }

    #[test]
    fn addresses_are_relative_at_every_depth() {
        assert_eq!(relative("index.html", "a/b.html"), "a/b.html");
        assert_eq!(relative("a/b.html", "index.html"), "../index.html");
        assert_eq!(relative("a/b/c.html", "book.css"), "../../book.css");
    }
}
