//! The whole book as one file, for a stick: pages and WebAssembly lie packed in it, and a script turns the pages.
//!
//! Opened from `file://` it can fetch nothing, and its policy lets it ask nobody.

use crate::BuildError;
use crate::page::layout::{self, Document, GENERATOR};
use crate::read::modules;
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use flate2::Compression;
use flate2::write::GzEncoder;
use maud::{DOCTYPE, PreEscaped, html};
use serde::Serialize;
use sha2::{Digest, Sha256};
use std::collections::BTreeMap;
use std::io::Write;
use std::path::Path;

/// The script that turns its pages, and that nothing else needs.
pub const SCRIPT: &str = "one-file.js";

#[derive(Serialize)]
struct Page<'a> {
    title: String,
    kind: &'a str,
    html: &'a str,
}

/// The library that searches: in a scope of its own, for its names are many.
const LIBRARY: (&str, &str) = ("minisearch.js", "MiniSearch");

/// What the book runs of its own, in the order of need.
const SCRIPTS: [&str; 6] = ["readings.js", "finder.js", "find.js", "bar.js", "alive.js", SCRIPT];

/// The text of the file: every document, styles and scripts from among the book's `files`, the `index` that the find field
/// searches, and the WebAssembly of all calculators from its folder.
///
/// # Errors
/// When a script, the styles or the WebAssembly are missing.
pub fn text(
    documents: &[Document<'_>],
    files: &BTreeMap<String, Vec<u8>>,
    index: Option<&[u8]>,
    webassembly: &Path,
) -> Result<String, BuildError> {
    let file = |name: &str| {
        let bytes = files.get(name).ok_or_else(|| BuildError::Unready(format!("the book has no {name}")))?;
        Ok::<_, BuildError>(String::from_utf8_lossy(bytes).into_owned())
    };
    let (glue, wasm) = modules::calculators(webassembly)?;
    // One script: what it would import is in it, and what it exports is of no use here and does no harm.
    let (library, name) = LIBRARY;
    let library = format!("const {name} = (() => {{\n{}return {name};\n}})();\n", alone(&file(library)?));
    let mut parts = vec![glue, library];
    for script in SCRIPTS {
        parts.push(alone(&file(script)?));
    }
    let script = parts.join("\n").replace("</script", "<\\/script");
    let styles = file("book.css")?;
    let pages: BTreeMap<&str, Page<'_>> = documents
        .iter()
        .map(|document| {
            let page = Page {
                title: layout::title(document.head.title),
                kind: document.kind,
                html: &document.body.0,
            };
            (document.head.path, page)
        })
        .collect();
    let pages = serde_json::to_vec(&pages).map_err(|error| BuildError::Unready(error.to_string()))?;
    let policy = format!(
        "default-src 'none'; script-src 'sha256-{}' 'wasm-unsafe-eval'; style-src 'sha256-{}'; img-src data:; base-uri 'none'; form-action 'none'",
        STANDARD.encode(Sha256::digest(&script)),
        STANDARD.encode(Sha256::digest(&styles)),
    );
    let document = html! {
        (DOCTYPE)
        html lang="en-GB" {
            head {
                meta charset="utf-8";
                meta http-equiv="Content-Security-Policy" content=(policy);
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                meta name="generator" content=(GENERATOR);
                title { (layout::NAME) }
                style { (PreEscaped(&styles)) }
                script type="text/plain" id="book" { (packed(&pages)?) }
                @if let Some(index) = index { script type="text/plain" id="find-index" { (packed(index)?) } }
                script type="text/plain" id="webassembly" { (packed(&wasm)?) }
            }
            body {
                main #page-text tabindex="-1" {
                    h1 { (layout::NAME) }
                    noscript { p { "This file turns its pages with a script, and scripts are off. Turn them on for it, or take the edition that is a folder: that one reads without." } }
                }
                script type="module" { (PreEscaped(&script)) }
            }
        }
    };
    Ok(document.into_string() + "\n")
}

/// A module without the lines by which it takes from others and gives itself to them: all of them are in one.
fn alone(module: &str) -> String {
    let others = |line: &&str| {
        !(line.starts_with("import ") && line.contains(" from \"./") || line.starts_with("export {"))
    };
    module.lines().filter(others).flat_map(|line| [line, "\n"]).collect()
}

fn packed(bytes: &[u8]) -> Result<String, BuildError> {
    let mut gzip = GzEncoder::new(Vec::new(), Compression::best());
    let packed = gzip.write_all(bytes).and_then(|()| gzip.finish());
    Ok(STANDARD.encode(packed.map_err(|error| BuildError::Unready(error.to_string()))?))
}
