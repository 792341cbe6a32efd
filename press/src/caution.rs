//! Cautions: written once in `content/cautions.toml`, placed by id.

use crate::fault::Faults;
use crate::piece::Piece;
use crate::table::Table;
use crate::{Stop, read_text};
use std::collections::BTreeMap;
use std::path::Path;

/// The caution that stands wherever hands go near the circuit.
pub const DISCHARGE: &str = "discharge";

/// One caution.
#[derive(Debug)]
pub struct Caution {
    /// What it is about, in a few words.
    pub title: String,
    /// What to do and why, as Markdown.
    pub text: Piece,
}

/// Reads the cautions of the book; none if there is no such file.
pub fn read(workspace: &Path, faults: &Faults) -> Result<BTreeMap<String, Caution>, Stop> {
    let file = "content/cautions.toml";
    let path = workspace.join(file);
    let mut cautions = BTreeMap::new();
    if !path.exists() {
        return Ok(cautions);
    }
    let piece = Piece::new(file.into(), read_text(&path)?, 1);
    let Some(mut table) = Table::parse(&piece, "list of cautions", faults) else {
        return Ok(cautions);
    };
    for mut entry in table.tables("caution") {
        let (id, title, text) = (entry.required("id"), entry.required("title"), entry.required("text"));
        entry.finish();
        let (Some(id), Some(title), Some(text)) = (id, title, text) else {
            continue;
        };
        let caution = Caution {
            title: title.text,
            text: Piece::new(text.place.file.clone(), text.text, text.place.line),
        };
        if cautions.insert(id.text.clone(), caution).is_some() {
            faults.add(
                &id.place,
                format!("caution \"{}\"", id.text),
                "is there twice",
                "give each caution its own id",
            );
        }
    }
    Ok(cautions)
}
