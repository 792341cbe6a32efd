//! Cautions: written once in `content/cautions.toml`, placed by id.

use crate::fault::{Faults, nearest};
use crate::piece::Piece;
use crate::table::{Located, Table};
use crate::{Stop, read_text};
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

    /// The signal of this name; what is no name is a fault.
    fn read(name: &Located, faults: &Faults) -> Option<Self> {
        let known = Self::ALL.iter().find(|(_, known)| *known == name.text);
        if known.is_none() {
            let right = nearest(&name.text, Self::ALL.iter().map(|(_, known)| *known));
            faults.add(&name.place, format!("signal = \"{}\"", name.text), "no such signal word", right);
        }
        known.map(|(signal, _)| *signal)
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
        let (id, signal) = (entry.required("id"), entry.required("signal"));
        let (title, text) = (entry.required("title"), entry.required("text"));
        entry.finish();
        let signal = signal.and_then(|name| Signal::read(&name, faults));
        let (Some(id), Some(signal), Some(title), Some(text)) = (id, signal, title, text) else {
            continue;
        };
        let caution = Caution {
            signal,
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
