//! A block of keys, as fenced blocks, front matter and lists of the book are written: what stands under each key, taken
//! once; what nobody asked for is a fault. So the reading of a block and the list of its valid keys cannot drift apart.
//!
//! `press` reads TOML into blocks and knows where each key stands; here is what the keys may say.

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
    /// A text, between quotes.
    Text(String),
    /// True or false.
    Truth(bool),
    /// A whole number.
    Whole(i64),
    /// A number with a fraction.
    Number(f64),
    /// A list, between brackets.
    List(Vec<Raw>),
    /// A table within the block, between braces.
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
    /// A fault at `key`.
    pub fn new(
        key: &str,
        found: impl Into<String>,
        wrong: impl Into<String>,
        right: impl Into<String>,
    ) -> Self {
        Self { key: key.to_owned(), found: found.into(), wrong: wrong.into(), right: right.into() }
    }
}

/// A block being read.
pub struct Keys<'b> {
    block: &'b Block,
    /// What it is called in complaints.
    name: &'static str,
    asked: BTreeSet<&'static str>,
    /// What is wrong so far.
    pub faults: Vec<Fault>,
}

impl<'b> Keys<'b> {
    /// Begins to read a fenced block.
    #[must_use]
    pub fn of(block: &'b Block) -> Self {
        Self::named("this block", block)
    }

    /// Begins to read a block that has a name, as `the front matter`.
    #[must_use]
    pub fn named(name: &'static str, block: &'b Block) -> Self {
        Self { block, name, asked: BTreeSet::new(), faults: Vec::new() }
    }

    /// Notes what is wrong at a key.
    pub fn fault(
        &mut self,
        key: &str,
        found: impl Into<String>,
        wrong: impl Into<String>,
        right: impl Into<String>,
    ) {
        self.faults.push(Fault::new(key, found, wrong, right));
    }

    /// What stands under `key`, if it is there.
    pub fn take(&mut self, key: &'static str) -> Option<&'b Raw> {
        self.asked.insert(key);
        self.block.get(key)
    }

    /// The text under `key`, if it is there.
    pub fn text(&mut self, key: &'static str) -> Option<String> {
        self.text_or(key, " or leave the key out")
    }

    fn text_or(&mut self, key: &'static str, or: &str) -> Option<String> {
        let wrong = match self.take(key)? {
            Raw::Text(text) if !text.trim().is_empty() => return Some(text.trim().to_owned()),
            Raw::Text(_) => ("is blank", or),
            _ => ("is not a text", ""),
        };
        self.fault(key, "", wrong.0, format!("write {key} = \"…\"{}", wrong.1));
        None
    }

    /// The text under `key`, which must be there; empty where it is not.
    pub fn required(&mut self, key: &'static str) -> String {
        self.require(key);
        self.text_or(key, "").unwrap_or_default()
    }

    /// The texts under `key`; a single text represents a list of one.
    pub fn texts(&mut self, key: &'static str) -> Vec<String> {
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

    /// The truth value under `key`, if it is there.
    pub fn truth(&mut self, key: &'static str) -> Option<bool> {
        match self.take(key)? {
            Raw::Truth(truth) => Some(*truth),
            _ => {
                self.fault(key, "", "is neither true nor false", format!("write {key} = true"));
                None
            }
        }
    }

    /// The names and texts in the table under `key`; none if it is not there. A fault's key is `key.NAME`.
    pub fn pairs(&mut self, key: &'static str) -> BTreeMap<String, String> {
        let mut pairs = BTreeMap::new();
        match self.take(key) {
            None => {}
            Some(Raw::Table(table)) => {
                for (name, raw) in table {
                    if let Raw::Text(text) = raw {
                        pairs.insert(name.clone(), text.clone());
                    } else {
                        let right = format!("write {name} = \"…\"");
                        self.fault(&format!("{key}.{name}"), "", "is not a text", right);
                    }
                }
            }
            Some(_) => self.fault(key, "", "is not a table", format!("write [{key}] on a line of its own")),
        }
        pairs
    }

    /// The tables under `[[key]]`; none if it is not there.
    pub fn tables(&mut self, key: &'static str) -> Vec<&'b Block> {
        let table = |raw: &'b Raw| if let Raw::Table(table) = raw { Some(table) } else { None };
        let tables = match self.take(key) {
            None => return Vec::new(),
            Some(Raw::List(list)) => list.iter().map(table).collect(),
            Some(_) => None,
        };
        if tables.is_none() {
            self.fault(key, "", "is not a list of tables", format!("write [[{key}]] on a line of its own"));
        }
        tables.unwrap_or_default()
    }

    /// What the text under `key` names, if it is there.
    pub fn one_of<T: Copy>(&mut self, key: &'static str, known: &[(&'static str, T)]) -> Option<T> {
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

    /// The same of a text that must be there.
    pub fn required_one_of<T: Copy>(&mut self, key: &'static str, known: &[(&'static str, T)]) -> Option<T> {
        self.require(key);
        self.one_of(key, known)
    }

    fn require(&mut self, key: &'static str) {
        if !self.block.contains_key(key) {
            self.fault(key, "", "is missing", format!("write {key} = \"…\""));
        }
    }

    /// Done: whatever was not asked for is a fault.
    ///
    /// # Errors
    /// Everything that is wrong with the block.
    pub fn finish<T>(self, read: T) -> Result<T, Vec<Fault>> {
        let faults = self.end();
        if faults.is_empty() { Ok(read) } else { Err(faults) }
    }

    /// Done: everything that is wrong with the block, whatever was not asked for among it.
    #[must_use]
    pub fn end(mut self) -> Vec<Fault> {
        for key in self.block.keys().filter(|key| !self.asked.contains(key.as_str())) {
            let near = nearest(key, self.asked.iter().copied());
            let all = || format!("one of {}", self.asked.iter().copied().collect::<Vec<_>>().join(", "));
            let (wrong, right) =
                (format!("is not a key of {}", self.name), near.map_or_else(all, str::to_owned));
            self.faults.push(Fault::new(key, "", wrong, right));
        }
        self.faults
    }
}
