//! Words of the trade that mean the same, or that one looks for in place of the other: each line of
//! `content/synonyms.toml` is one list of them.

use crate::BuildError;
use crate::fault::Faults;
use crate::read::text as read_text;
use crate::read::toml_text::TomlText;
use crate::source_text::SourceText;
use job::block::{Keys, Raw};
use std::path::Path;

/// Reads the synonyms of the book; none if there is no such file.
pub fn read(workspace: &Path, faults: &Faults) -> Result<Vec<Vec<String>>, BuildError> {
    let file = "content/synonyms.toml";
    let path = workspace.join(file);
    if !path.exists() {
        return Ok(Vec::new());
    }
    let piece = SourceText::new(file.into(), read_text(&path)?, 1);
    let Some(toml) = TomlText::read(&piece, "list of synonyms", faults) else { return Ok(Vec::new()) };
    let mut keys = Keys::named("the list of synonyms", &toml.block);
    let lists = match keys.take("alike") {
        Some(Raw::List(lists)) => lists.iter().map(alike).collect::<Option<Vec<_>>>(),
        _ => None,
    };
    if lists.is_none() {
        keys.fault(
            "alike",
            "",
            "is not a list of lists of words",
            "write alike = [[\"valve\", \"tube\"], …]",
        );
    }
    toml.finish("", keys, faults);
    Ok(lists.unwrap_or_default())
}

fn alike(list: &Raw) -> Option<Vec<String>> {
    let Raw::List(words) = list else { return None };
    words.iter().map(|word| if let Raw::Text(word) = word { Some(word.clone()) } else { None }).collect()
}
