//! Symptoms: what goes wrong, what to do at once, and the places of the book that decide. Written in
//! `content/symptoms.toml`; a target is a link as in any page, from the folder `content/`.

use crate::BuildError;
use crate::fault::Faults;
use crate::read::text as read_text;
use crate::read::toml_text::{Located, TomlText};
use crate::source_text::SourceText;
use job::block::Keys;
use std::path::Path;

/// How a symptom comes to be noticed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sense {
    /// It is seen or smelt.
    Seen,
    /// It is heard.
    Heard,
    /// A meter shows it.
    Read,
}

impl Sense {
    /// Each with its name in the file and its heading.
    pub const ALL: [(Self, &str, &str); 3] = [
        (Self::Seen, "seen", "You see or smell it"),
        (Self::Heard, "heard", "You hear it"),
        (Self::Read, "read", "The meter shows it"),
    ];
}

/// One symptom.
#[derive(Debug)]
pub struct Symptom {
    /// How it is noticed.
    pub sense: Sense,
    /// What is noticed, as a short sentence without its full stop.
    pub what: String,
    /// Other words for it, by which it is searched.
    pub also: String,
    /// What to do at once; empty where nothing is urgent.
    pub first: String,
    /// The places that decide, the likeliest first.
    pub look: Vec<Look>,
}

/// A place that decides.
#[derive(Debug)]
pub struct Look {
    /// The link to it.
    pub to: Located,
    /// What is found there.
    pub why: String,
}

/// Reads the symptoms of the book; none if there is no such file.
pub fn read(workspace: &Path, faults: &Faults) -> Result<Vec<Symptom>, BuildError> {
    let file = "content/symptoms.toml";
    let path = workspace.join(file);
    let mut symptoms = Vec::new();
    if !path.exists() {
        return Ok(symptoms);
    }
    let piece = SourceText::new(file.into(), read_text(&path)?, 1);
    let Some(toml) = TomlText::read(&piece, "list of symptoms", faults) else { return Ok(symptoms) };
    let mut list = Keys::named("the list of symptoms", &toml.block);
    for (at, block) in list.tables("symptom").into_iter().enumerate() {
        let within = format!("symptom.{at}.");
        let mut keys = Keys::named("the symptom", block);
        let sense = keys.required_one_of("sense", &Sense::ALL.map(|(sense, name, _)| (name, sense)));
        let what = keys.required("what");
        let (also, first) = (keys.text("also").unwrap_or_default(), keys.text("first").unwrap_or_default());
        let look = keys.tables("look");
        if look.is_empty() {
            keys.fault("look", "", "leads nowhere", "write look = [{ to = \"FILE.md#place\", why = \"…\" }]");
        }
        toml.finish(&within, keys, faults);
        let look = look.into_iter().enumerate().map(|(number, block)| {
            let within = format!("{within}look.{number}.");
            let mut keys = Keys::named("the place that decides", block);
            let (to, why) = (keys.required("to"), keys.required("why"));
            toml.finish(&within, keys, faults);
            Look { to: toml.located(&format!("{within}to"), to), why }
        });
        let look = look.collect();
        symptoms.extend(sense.map(|sense| Symptom { sense, what, also, first, look }));
    }
    toml.finish("", list, faults);
    Ok(symptoms)
}
