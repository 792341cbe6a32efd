//! The whole book as one file, for a stick: pages and WebAssembly lie packed in it, and a script turns the pages.
//!
//! Opened from `file://` it can fetch nothing, and its policy lets it ask nobody.

use crate::frame::{self, Document};
use crate::{GENERATOR, Stop, modules};
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

/// Its name, beside the pages of the published book.
pub const NAME: &str = "standing-current.html";

/// The script that turns its pages, and that nothing else needs.
pub const SCRIPT: &str = "one-file.js";

#[derive(Serialize)]
struct Page<'a> {
    title: String,
    kind: &'a str,
    html: &'a str,
}

/// The text of the file: every document, styles and scripts from among the book's `files`, and the WebAssembly of all
/// calculators from its folder.
///
/// # Errors
/// When a script, the styles or the WebAssembly are missing.
pub fn text(
    documents: &[Document<'_>],
    files: &BTreeMap<String, Vec<u8>>,
    webassembly: &Path,
) -> Result<String, Stop> {
    let file = |name: &str| {
        let bytes = files.get(name).ok_or_else(|| Stop::Unready(format!("the book has no {name}")))?;
        Ok::<_, Stop>(String::from_utf8_lossy(bytes).into_owned())
    };
    let (glue, wasm) = modules::whole(webassembly)?;
    // One script in the order of need: what it exports is of no use here and does no harm.
    let script = [file("alive.js")?, glue, file(SCRIPT)?].join("\n").replace("</script", "<\\/script");
    let styles = file("book.css")?;
    let pages: BTreeMap<&str, Page<'_>> = documents
        .iter()
        .map(|document| {
            let page = Page {
                title: frame::title(document.head.title),
                kind: document.kind,
                html: &document.body.0,
            };
            (document.head.path, page)
        })
        .collect();
    let pages = serde_json::to_vec(&pages).map_err(|error| Stop::Unready(error.to_string()))?;
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
                title { (frame::NAME) }
                style { (PreEscaped(&styles)) }
                script type="text/plain" id="book" { (packed(&pages)?) }
                script type="text/plain" id="webassembly" { (packed(&wasm)?) }
            }
            body {
                main #page-text tabindex="-1" {
                    h1 { (frame::NAME) }
                    noscript { p { "This file turns its pages with a script, and scripts are off. Turn them on for it, or take the edition that is a folder: that one reads without." } }
                }
                script type="module" { (PreEscaped(&script)) }
            }
        }
    };
    Ok(document.into_string() + "\n")
}

fn packed(bytes: &[u8]) -> Result<String, Stop> {
    let mut gzip = GzEncoder::new(Vec::new(), Compression::best());
    let packed = gzip.write_all(bytes).and_then(|()| gzip.finish());
    Ok(STANDARD.encode(packed.map_err(|error| Stop::Unready(error.to_string()))?))
}
