//! How each calculator was checked, written from the very tables that the tests read (`tests/data/outside`).

use crate::fault::Faults;
use crate::markdown::tree::{Element, Node, nodes};
use crate::read::book::Page;
use crate::source_text::SourceLocation;
use maud::html;
use serde::Deserialize;
use std::fs;
use std::path::Path;

/// Where the page is in the book.
const PATH: &str = "appendix/checks.html";

/// What the page needs of a table of checks; the tests read the rest.
#[derive(Deserialize)]
struct Checks {
    check: Vec<Check>,
}

#[derive(Deserialize)]
struct Check {
    shows: String,
    source: String,
}

/// The page, if there are checks in the workspace.
#[must_use]
pub fn page(workspace: &Path, faults: &Faults) -> Option<Page> {
    let mut chapters = Vec::new();
    for entry in calc_core::calculators() {
        let file = format!("tests/data/outside/{}.toml", entry.sheet.id);
        let Ok(text) = fs::read_to_string(workspace.join(&file)) else { continue };
        match toml::from_str::<Checks>(&text) {
            Ok(checks) => chapters.push((entry.sheet, checks.check)),
            Err(error) => faults.add(
                &SourceLocation { file: file.into(), line: 1 },
                "table of checks".to_owned(),
                error.message().to_owned(),
                "each [[check]] has `shows` and `source`",
            ),
        }
    }
    let summary = "What each calculator was checked against: figures published or worked out by others.";
    let nodes = chapters.iter().flat_map(|(sheet, checks)| section(sheet.title, sheet.id, checks)).collect();
    (!chapters.is_empty())
        .then(|| Page::written("list of checks", PATH, "How each calculator was checked", summary, nodes))
}

fn section(title: &str, id: &str, checks: &[Check]) -> Vec<Node> {
    let list = html! {
        dl.sources {
            @for check in checks {
                div { dt { (check.shows) } dd { "Source: " (check.source) } }
            }
        }
    };
    nodes![Element::heading(&format!("checks-{id}"), title), list]
}
