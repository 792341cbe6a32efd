//! Cautions: written once in `content/cautions.toml`, placed by id.

use super::text as read_text;
use crate::BuildError;
use crate::fault::Faults;
use crate::read::toml_text::TomlText;
use crate::source_text::SourceText;
use job::block::Keys;
use std::collections::BTreeMap;
use std::path::Path;

/// The caution that stands wherever hands go near the circuit.
pub const DISCHARGE: &str = "discharge";

/// How grave a caution is, by the signal words of ISO 3864-2 and ANSI Z535.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Signal {
    /// It will kill or maim.
    Danger,
    /// It may injure or destroy.
    Warning,
    /// It may hurt.
    Caution,
}

impl Signal {
    /// Every signal word as `cautions.toml` writes it.
    const ALL: [(Self, &str); 3] =
        [(Self::Danger, "danger"), (Self::Warning, "warning"), (Self::Caution, "caution")];

    /// The word before the title.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Danger => "Danger",
            Self::Warning => "Warning",
            Self::Caution => "Caution",
        }
    }
}

/// One caution.
#[derive(Debug)]
pub struct Caution {
    /// How grave it is.
    pub signal: Signal,
    /// What it is about, in a few words.
    pub title: String,
    /// What to do and why, as Markdown.
    pub text: SourceText,
}

/// Reads the cautions of the book; none if there is no such file.
pub fn read(workspace: &Path, faults: &Faults) -> Result<BTreeMap<String, Caution>, BuildError> {
    let file = "content/cautions.toml";
    let path = workspace.join(file);
    let mut cautions = BTreeMap::new();
    if !path.exists() {
        return Ok(cautions);
    }
    let piece = SourceText::new(file.into(), read_text(&path)?, 1);
    let Some(toml) = TomlText::read(&piece, "list of cautions", faults) else {
        return Ok(cautions);
    };
    let mut list = Keys::named("the list of cautions", &toml.block);
    for (at, block) in list.tables("caution").into_iter().enumerate() {
        let within = format!("caution.{at}.");
        let mut keys = Keys::named("the caution", block);
        let (id, title, text) = (keys.required("id"), keys.required("title"), keys.required("text"));
        let signal = keys.required_one_of("signal", &Signal::ALL.map(|(signal, name)| (name, signal)));
        toml.finish(&within, keys, faults);
        let is_whole = [&id, &title, &text].iter().all(|text| !text.is_empty());
        let Some(signal) = signal.filter(|_| is_whole) else { continue };
        let place = toml.place(&format!("{within}text"));
        let text = SourceText::new(place.file.clone(), text, place.line);
        if cautions.insert(id.clone(), Caution { signal, title, text }).is_some() {
            let place = toml.place(&format!("{within}id"));
            faults.add(place, format!("caution \"{id}\""), "is there twice", "give each caution its own id");
        }
    }
    toml.finish("", list, faults);
    Ok(cautions)
}
