//! A page from its tree: passes put in the place of what is only named what it represents, and the tree is written once.
//!
//! ```text
//! layout, navigation, article: what stands around the text
//!
//! blocks     cautions, calculators, scripts, blocks of the job        steps    steps of a procedure and what they carry
//! links      where each link leads                                    figures  drawings from their files
//! own_words  this amplifier's words in braces                         headings levels, ids, names of tables, contents
//! glossary   terms, linked where the page first uses them             rows     ids of the rows of tables
//! ids        every id once
//! ```
//!
//! What a calculator printed is never touched: the browser takes over that very markup. Where a link to a calculator leads
//! is known when the trees of all pages are there ([`CalculatorPages`]): so a page is made in two, [`draft`] and [`finish`].

pub mod article;
pub(crate) mod blocks;
pub mod calculator_pages;
pub(crate) mod figures;
pub mod formulas;
pub mod glossary;
mod headings;
mod ids;
pub mod layout;
pub mod links;
mod navigation;
mod own_words;
mod rows;
pub(crate) mod steps;

use crate::calculators;
use crate::fault::{Faults, nearest};
use crate::finding::place::{self, Place};
use crate::finding::symptoms::Symptom;
use crate::markdown;
use crate::markdown::tree::{Kind, Node, change};
use crate::read::book::{Body, Book, Page, first_line};
use crate::read::cautions::DISCHARGE;
use crate::source_text::SourceLocation;
use calculator_pages::CalculatorPages;
use formulas::Formulas;
use glossary::Glossary;
use links::{Anchor, Follow};
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

/// Where what stands behind the book stands. Rows there are records: ids for all of them would make its pages heavier than any.
const APPENDIX: &str = "appendix/";

/// What every page is made with.
pub struct Context<'a> {
    /// The folder that holds `content/`.
    pub workspace: &'a Path,
    /// The whole book.
    pub book: &'a Book,
    /// The terms that are linked at their first use.
    pub glossary: Glossary,
    /// What goes wrong, and where the book decides it.
    pub symptoms: Vec<Symptom>,
    /// Words that mean the same.
    pub synonyms: Vec<Vec<String>>,
    /// LaTeX to MathML.
    pub formulas: Formulas,
    /// Where the complaints go.
    pub faults: &'a Faults,
    /// Whether the book is published, and so has what only readers need.
    pub publish: bool,
}

/// A page as a tree, and what was found in it so far.
pub struct Draft<'a> {
    page: &'a Page,
    /// The cautions that the front matter asks for, then the text.
    nodes: Vec<Node>,
    /// How many of the nodes are cautions of the front matter.
    cautions_before: usize,
    found: Found,
}

/// What a page holds, by name.
#[derive(Debug, Default)]
pub struct Found {
    /// Calculators.
    pub calculators: BTreeSet<String>,
    /// Cautions.
    pub cautions: BTreeSet<String>,
    /// Scripts that the page runs.
    pub scripts: BTreeSet<String>,
    /// Sources that it links to or names in its front matter.
    pub sources: BTreeSet<String>,
    /// Links to places within pages.
    pub anchors: Vec<Anchor>,
}

/// A page whose text is finished, and is yet to be set in its layout.
pub struct RenderedPage {
    /// The cautions of the front matter, as HTML.
    pub cautions: String,
    /// The text, as HTML.
    pub html: String,
    /// The headings of the second level: id and words, these as HTML.
    pub headings: Vec<(String, String)>,
    /// Every id in the page and where it was given.
    pub ids: BTreeMap<String, SourceLocation>,
    /// What can be found of it.
    pub places: Vec<Place>,
    /// What it holds.
    pub found: Found,
}

/// Reads a page as a tree, and finds its cautions and calculators.
#[must_use]
pub fn draft<'a>(context: &Context<'a>, page: &'a Page) -> Draft<'a> {
    let named = page.front.cautions.iter();
    let mut nodes: Vec<Node> = named.map(blocks::named_caution).collect();
    let cautions_before = nodes.len();
    match &page.body {
        Body::Markdown(text) => nodes.extend(markdown::read(text, context.faults)),
        Body::Written(written) => nodes.extend(written.iter().cloned()),
    }
    let mut draft = Draft { page, nodes, cautions_before, found: Found::default() };
    blocks::expand(context, &mut draft);
    draft
}

/// Finishes a page: every pass, then the tree as HTML.
#[must_use]
pub fn finish(context: &Context<'_>, pages: &CalculatorPages<'_>, draft: Draft<'_>) -> RenderedPage {
    let Draft { page, mut nodes, cautions_before, mut found } = draft;
    let follow = Follow { context, pages, page };
    let steps = steps::read(follow, &mut nodes, &mut found.anchors);
    blocks::print_calculators(context, pages, page, &mut nodes);
    follow_links(follow, &mut nodes, &mut found);
    headings::check(&mut nodes, page, context.faults);
    if page.path == glossary::PATH {
        glossary::name_rows(&mut nodes);
    } else if !page.path.starts_with(APPENDIX) {
        rows::name(&mut nodes);
    }
    let places = place::all(page, &nodes, steps.all());
    figures::print(context, &mut nodes);
    if steps::has_steps(page) {
        own_words::mark(&mut nodes, context.faults);
    }
    print_formulas(context, &mut nodes);
    glossary::link_terms(&context.glossary, page, &mut nodes);
    steps.offer_run(context, page, &mut nodes, &mut found);
    let ids = ids::all(&nodes, page, context.faults);
    check_sources(page, &mut found, context.faults);
    check_hands(page, &found, context.faults);
    let headings = headings::contents(&nodes);
    let text = nodes.split_off(cautions_before);
    RenderedPage {
        cautions: markdown::html(&nodes),
        html: markdown::html(&text),
        headings,
        ids,
        places,
        found,
    }
}

/// Puts the address of each link in its place.
fn follow_links(follow: Follow<'_>, nodes: &mut [Node], found: &mut Found) {
    let first = first_line(&follow.page.file);
    change(nodes, &mut |node| {
        let Kind::Link { to, inner } = &mut node.kind else { return };
        let place = node.place.as_ref().unwrap_or(&first);
        let link = follow.link(to, place, &mut found.anchors).unwrap_or_default();
        found.sources.extend(link.source.clone());
        node.kind = Kind::Element(link.around(std::mem::take(inner)));
    });
}

/// Puts MathML in the place of each formula.
fn print_formulas(context: &Context<'_>, nodes: &mut [Node]) {
    change(nodes, &mut |node| {
        let Kind::Formula { latex, display } = &node.kind else { return };
        match context.formulas.printed(latex, *display) {
            Ok(formula) => node.kind = formula,
            Err(wrong) => {
                let found = format!("formula ${latex}$");
                if let Some(place) = &node.place {
                    context.faults.add(place, found, wrong, "write LaTeX as in $P_a = V_a I_a$");
                }
            }
        }
    });
}

/// Adds the sources of the front matter to those that the text links to.
fn check_sources(page: &Page, found: &mut Found, faults: &Faults) {
    let known = calculators::sources();
    for id in &page.front.sources {
        if known.iter().any(|source| source.id == id.text) {
            found.sources.insert(id.text.clone());
        } else {
            let right = nearest(&id.text, known.iter().map(|source| source.id));
            faults.add(&id.place, format!("source \"{}\"", id.text), "no such source", right);
        }
    }
}

/// Where hands go near the circuit, the discharge caution must stand.
fn check_hands(page: &Page, found: &Found, faults: &Faults) {
    if page.front.hands_near_circuit && !found.cautions.contains(DISCHARGE) {
        let right =
            format!("write cautions = [\"{DISCHARGE}\"], or hands_near_circuit = false if no hand goes near");
        let wrong = "has hands near the circuit and no discharge caution";
        faults.add(&first_line(&page.file), "page", wrong, right);
    }
}
