//! The fenced blocks that stand by themselves: cautions, calculators, scripts, indices, and what shows the job. Those of a step are
//! in [`super::steps`].

use super::calculator_pages::CalculatorPages;
use super::{Context, Draft};
use crate::calculators::{self, Wrong};
use crate::fault::{Faults, nearest, quoted};
use crate::finding::indices;
use crate::markdown;
use crate::markdown::tree::{Element, Kind, Node, change, nodes};
use crate::read::book::{Page, first_line};
use crate::read::toml_text::{Located, TomlText};
use crate::source_text::{SourceLocation, SourceText};
use job::block::Keys;
use maud::html;
use std::collections::BTreeMap;

/// The words that a fence may have.
const WORDS: [&str; 12] = [
    "calculator",
    "caution",
    "choice",
    "index",
    "jobs",
    "reading",
    "script",
    "sheet",
    "survey",
    "text",
    "tick",
    "timer",
];

/// The attribute by which a caution is known.
pub(super) const CAUTION: (&str, &str) = ("class", "caution");

/// The block of a caution that the front matter names.
pub(super) fn named_caution(id: &Located) -> Node {
    let body = SourceText::new(id.place.file.clone(), id.text.clone(), id.place.line);
    Kind::Block { word: "caution".to_owned(), body }.at(id.place.clone())
}

/// Puts what they represent in the place of all blocks but those of steps. Calculators are read and not yet printed.
pub(super) fn expand(context: &Context<'_>, draft: &mut Draft<'_>) {
    let Draft { nodes, found, .. } = draft;
    // The line of each block of a calculator, by its id.
    let mut blocks: BTreeMap<String, usize> = BTreeMap::new();
    change(nodes, &mut |node| {
        let Node { kind: Kind::Block { word, body }, place } = node else { return };
        let Some(place) = place else { return };
        let kind = match word.as_str() {
            "reading" | "tick" | "choice" | "timer" => return,
            "" | "text" => Some(Kind::Html(html! { pre { (body.text) } }.into_string())),
            "caution" => {
                let id = body.text.trim();
                let caution = caution(context, id, &body.place(0));
                if caution.is_some() {
                    found.cautions.insert(id.to_owned());
                }
                caution.map(Kind::Element)
            }
            "calculator" => calculator(body, context.faults).and_then(|(block, is_sound)| {
                found.calculators.insert(block.calculator.clone());
                found.scripts.insert(calculators::WITH_JOB.to_owned());
                let is_new = is_new(&block.id, place, &mut blocks, context.faults);
                (is_new && is_sound).then_some(Kind::Calculator(block))
            }),
            "script" => script(context, body).map(|(name, printed)| {
                found.scripts.insert(name);
                printed
            }),
            "jobs" | "survey" | "sheet" => {
                found.scripts.insert(calculators::WITH_JOB.to_owned());
                Some(Kind::Html(calculators::job(word) + "\n"))
            }
            "index" => Some(Kind::Group(indices::list(context, body))),
            other => {
                let right = nearest(other, WORDS);
                context.faults.add(place, format!("```{other}"), "no such kind of block", right);
                None
            }
        };
        node.kind = kind.unwrap_or(Kind::Group(Vec::new()));
    });
}

/// The caution of this id.
fn caution(context: &Context<'_>, id: &str, place: &SourceLocation) -> Option<Element> {
    let cautions = &context.book.cautions;
    let Some(caution) = cautions.get(id) else {
        let right = nearest(id, cautions.keys().map(String::as_str));
        let wrong = "no such caution in content/cautions.toml";
        context.faults.add(place, format!("caution \"{id}\""), wrong, right);
        return None;
    };
    let signal = Element::new("strong", nodes![caution.signal.word()]);
    let title =
        Element::new("p", nodes![signal, format!(" {}", caution.title)]).with("class", "caution-title");
    let mut inside = nodes![title];
    inside.extend(markdown::read(&caution.text, context.faults));
    Some(Element::new("div", inside).with(CAUTION.0, CAUTION.1).with("role", "note"))
}

/// Whether no other block of a calculator in the page has this id.
fn is_new(id: &str, place: &SourceLocation, blocks: &mut BTreeMap<String, usize>, faults: &Faults) -> bool {
    let first = *blocks.entry(id.to_owned()).or_insert(place.line);
    if first != place.line {
        let wrong = format!("is in the page already, from line {first}");
        let right = "give the block an id of its own: id = \"second-reading\"";
        faults.add(place, format!("calculator block \"{id}\""), wrong, right);
    }
    first == place.line
}

/// A calculator's block, and whether its calculator takes it.
fn calculator(body: &SourceText, faults: &Faults) -> Option<(web::Block, bool)> {
    let toml = TomlText::read(body, "calculator block", faults)?;
    let mut keys = Keys::named("the calculator block", &toml.block);
    let calculator = keys.required("calculator");
    let (id, inputs) = (keys.text("id").unwrap_or_else(|| calculator.clone()), keys.pairs("inputs"));
    toml.finish("", keys, faults);
    if calculator.is_empty() {
        return None;
    }
    let place_of = |name: &str| toml.place(&format!("inputs.{name}"));
    let wrongs = calculators::check(&calculator, &inputs);
    for wrong in &wrongs {
        match wrong {
            Wrong::Calculator => {
                let right = nearest(&calculator, calculators::ids());
                let found = format!("calculator \"{calculator}\"");
                faults.add(toml.place("calculator"), found, "no such calculator", right);
            }
            Wrong::Field { name, known } => {
                let right = nearest(name, known.iter().map(String::as_str));
                let wrong = format!("{calculator} asks for no such field");
                faults.add(place_of(name), format!("field \"{name}\""), wrong, right);
            }
            Wrong::Value { field, message, offers } => {
                let offered = quoted(offers.iter().map(String::as_str));
                let right = if offers.is_empty() { String::new() } else { format!("could be {offered}") };
                faults.add(place_of(field), format!("field \"{field}\""), message.clone(), right);
            }
        }
    }
    if !id.bytes().all(|byte| byte.is_ascii_lowercase() || byte.is_ascii_digit() || byte == b'-') {
        let right = "use a to z, 0 to 9 and -";
        faults.add(toml.place("id"), format!("id \"{id}\""), "cannot be used in a link", right);
    }
    Some((web::Block { id, calculator, inputs }, wrongs.is_empty()))
}

/// Prints the calculators with their answers, and with links to the pages of those that take them on.
pub(super) fn print_calculators(
    context: &Context<'_>,
    pages: &CalculatorPages<'_>,
    page: &Page,
    nodes: &mut [Node],
) {
    let first = first_line(&page.file);
    change(nodes, &mut |node| {
        let Node { kind: Kind::Calculator(block), place } = node else { return };
        let place = place.as_ref().unwrap_or(&first);
        let page_of = |id: &str| pages.address(id, page, place, context).unwrap_or_default();
        // What is unknown is said already.
        let printed = calculators::printed(block, &page_of).unwrap_or_default();
        node.kind = Kind::Html(printed + "\n");
    });
}

/// A script of `web/js/`, shown and run: what it shows is what it does. It writes into the element with the id that is
/// its name with `-says`.
fn script(context: &Context<'_>, body: &SourceText) -> Option<(String, Kind)> {
    let name = body.text.trim();
    let folder = context.workspace.join("web/js");
    let Ok(text) = std::fs::read_to_string(folder.join(name)) else {
        let files = std::fs::read_dir(&folder).into_iter().flatten().flatten();
        let names: Vec<String> = files.map(|file| file.file_name().to_string_lossy().into_owned()).collect();
        let right = nearest(name, names.iter().map(String::as_str));
        context.faults.add(&body.place(0), format!("script \"{name}\""), "is not in web/js", right);
        return None;
    };
    let says = format!("{}-says", name.trim_end_matches(".js"));
    let shown = html! {
        pre tabindex="0" { code { (text) } }
        p { "What it says when it runs:" }
        pre id=(says) tabindex="0" { "It has not run: scripts are off, or this is the edition that is one file." }
    };
    Some((name.to_owned(), Kind::Html(shown.into_string())))
}
