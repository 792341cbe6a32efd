//! A fenced block as its keys and what stands under them, each taken once; what nobody asked for is a fault.

use std::collections::{BTreeMap, BTreeSet};

use calc_core::nearest;
use serde::Deserialize;

/// A block: what stands under each key. Deserialises from TOML.
pub type Block = BTreeMap<String, Raw>;

/// Readings that several procedures take, by name: what `content/readings.toml` holds.
pub type Shared = BTreeMap<String, Block>;

/// The block with the keys of the shared reading that it names under `as`; its own keys override them.
///
/// # Errors
/// The name is not one of the shared readings.
pub fn completed(mut block: Block, shared: &Shared) -> Result<Block, Fault> {
    let Some(name) = block.remove("as") else { return Ok(block) };
    let name = if let Raw::Text(name) = &name { name.as_str() } else { "" };
    let Some(keys) = shared.get(name) else {
        let right =
            nearest(name, shared.keys().map(String::as_str)).unwrap_or("a name of content/readings.toml");
        return Err(Fault::new("as", name, "is not a shared reading", right));
    };
    for (key, raw) in keys {
        block.entry(key.clone()).or_insert_with(|| raw.clone());
    }
    Ok(block)
}

/// What may stand under a key.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(untagged)]
pub enum Raw {
    /// A text.
    Text(String),
    /// True or false.
    Truth(bool),
    /// A whole number.
    Whole(i64),
    /// A number with a fraction.
    Number(f64),
    /// A list.
    List(Vec<Raw>),
    /// A table.
    Table(BTreeMap<String, Raw>),
}

/// What is wrong with a block.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault {
    /// The key at which it is wrong.
    pub key: String,
    /// What stands there; empty where nothing does.
    pub found: String,
    /// What is wrong with it: `is no unit`.
    pub wrong: String,
    /// What would be right.
    pub right: String,
}

impl Fault {
    pub(super) fn new(
        key: &str,
        found: impl Into<String>,
        wrong: impl Into<String>,
        right: impl Into<String>,
    ) -> Self {
        Self { key: key.to_owned(), found: found.into(), wrong: wrong.into(), right: right.into() }
    }
}

/// A block being read.
pub(super) struct Keys<'b> {
    block: &'b Block,
    asked: BTreeSet<&'static str>,
    pub(super) faults: Vec<Fault>,
}

impl<'b> Keys<'b> {
    pub(super) fn of(block: &'b Block) -> Self {
        Self { block, asked: BTreeSet::new(), faults: Vec::new() }
    }

    pub(super) fn fault(
        &mut self,
        key: &str,
        found: impl Into<String>,
        wrong: impl Into<String>,
        right: impl Into<String>,
    ) {
        self.faults.push(Fault::new(key, found, wrong, right));
    }

    pub(super) fn take(&mut self, key: &'static str) -> Option<&'b Raw> {
        self.asked.insert(key);
        self.block.get(key)
    }

    /// The text under `key`, if it is there.
    pub(super) fn text(&mut self, key: &'static str) -> Option<String> {
        match self.take(key)? {
            Raw::Text(text) if !text.trim().is_empty() => Some(text.trim().to_owned()),
            Raw::Text(_) => {
                self.fault(key, "", "is blank", format!("write {key} = \"…\" or leave the key out"));
                None
            }
            _ => {
                self.fault(key, "", "is not a text", format!("write {key} = \"…\""));
                None
            }
        }
    }

    /// The text under `key`, which must be there.
    pub(super) fn required(&mut self, key: &'static str) -> String {
        if !self.block.contains_key(key) {
            self.fault(key, "", "is missing", format!("write {key} = \"…\""));
        }
        self.text(key).unwrap_or_default()
    }

    /// The texts under `key`; a single text stands for a list of one.
    pub(super) fn texts(&mut self, key: &'static str) -> Vec<String> {
        let list: &[Raw] = match self.take(key) {
            None => return Vec::new(),
            Some(Raw::List(list)) => list,
            Some(other) => std::slice::from_ref(other),
        };
        let text = |raw: &Raw| if let Raw::Text(text) = raw { Some(text.trim().to_owned()) } else { None };
        let texts: Option<Vec<String>> = list.iter().map(text).collect();
        let texts = texts.filter(|texts| !texts.is_empty() && texts.iter().all(|text| !text.is_empty()));
        if texts.is_none() {
            self.fault(key, "", "is not a list of texts", format!("write {key} = [\"…\"]"));
        }
        texts.unwrap_or_default()
    }

    /// What the text under `key` names, if it is there.
    pub(super) fn one_of<T: Copy>(&mut self, key: &'static str, known: &[(&'static str, T)]) -> Option<T> {
        let text = self.text(key)?;
        let found = known.iter().find(|(name, _)| *name == text).map(|(_, named)| *named);
        if found.is_none() {
            let names: Vec<&str> = known.iter().map(|(name, _)| *name).collect();
            let right = nearest(&text, names.iter().copied());
            let right = right.map_or_else(|| format!("one of {}", names.join(", ")), str::to_owned);
            self.fault(key, &text, format!("is not a valid {key}"), right);
        }
        found
    }

    /// Done: whatever was not asked for is a fault.
    pub(super) fn finish<T>(mut self, read: T) -> Result<T, Vec<Fault>> {
        for key in self.block.keys().filter(|key| !self.asked.contains(key.as_str())) {
            let near = nearest(key, self.asked.iter().copied());
            let all = || format!("one of {}", self.asked.iter().copied().collect::<Vec<_>>().join(", "));
            self.faults.push(Fault::new(
                key,
                "",
                "is not a key of this block",
                near.map_or_else(all, str::to_owned),
            ));
        }
        if self.faults.is_empty() { Ok(read) } else { Err(self.faults) }
    }
}
