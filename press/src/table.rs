//! A TOML table that is asked for its keys and complains about the rest.
//!
//! Each key is taken once; what nobody asked for is a fault that names the nearest key that somebody did. So the reading of a
//! table and the list of its valid keys cannot drift apart.

use crate::fault::{Faults, Place, nearest};
use crate::piece::Piece;
use serde::de::DeserializeOwned;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// A string and the place where it stands.
#[derive(Debug, Clone)]
pub struct Located {
    /// What was written.
    pub text: String,
    /// Where.
    pub place: Place,
}

/// Reads `piece` as TOML into a type of its own; `what` names it in complaints.
pub fn from_toml<T: DeserializeOwned>(piece: &Piece, what: &'static str, faults: &Faults) -> Option<T> {
    sound(toml::from_str(&piece.text), piece, what, faults)
}

/// What was read; of what is not TOML, a complaint at its place.
fn sound<T>(
    read: Result<T, toml::de::Error>,
    piece: &Piece,
    what: &'static str,
    faults: &Faults,
) -> Option<T> {
    read.map_err(|error| {
        let place = piece.place(error.span().map_or(0, |span| span.start));
        let wrong = format!("not TOML: {}", error.message().replace('\n', ", "));
        faults.add(&place, what, wrong, "write key = \"value\"");
    })
    .ok()
}

/// A table being read.
pub struct Table<'a> {
    what: &'static str,
    piece: &'a Piece,
    entries: DeTable<'a>,
    start: Place,
    asked: Vec<&'static str>,
    /// Where the complaints go.
    pub faults: &'a Faults,
}

impl<'a> Table<'a> {
    /// Reads `piece` as TOML; `what` names the table in complaints, as in "front matter".
    pub fn parse(piece: &'a Piece, what: &'static str, faults: &'a Faults) -> Option<Self> {
        let table = sound(DeTable::parse(&piece.text), piece, what, faults)?;
        Some(Self {
            what,
            piece,
            entries: table.into_inner(),
            start: piece.place(0),
            asked: Vec::new(),
            faults,
        })
    }

    /// The string under `key`, if it is there.
    pub fn string(&mut self, key: &'static str) -> Option<Located> {
        let value = self.take(key)?;
        self.as_string(key, &value)
    }

    /// The string under `key`, which must be there and not be blank.
    pub fn required(&mut self, key: &'static str) -> Option<Located> {
        let present = self.entries.contains_key(key);
        let found = self.string(key);
        let blank = found.as_ref().is_some_and(|found| found.text.trim().is_empty());
        if !present || blank {
            let place = found.map_or_else(|| self.start.clone(), |found| found.place);
            let wrong = if blank { "is blank" } else { "is missing" };
            self.faults.add(&place, self.what, format!("`{key}` {wrong}"), format!("write {key} = \"…\""));
            return None;
        }
        found
    }

    /// The strings under `key`; none if it is not there.
    pub fn strings(&mut self, key: &'static str) -> Vec<Located> {
        match self.take(key) {
            None => Vec::new(),
            Some(value) => match value.get_ref() {
                DeValue::Array(items) => items.iter().filter_map(|item| self.as_string(key, item)).collect(),
                _ => {
                    let place = self.piece.place(value.span().start);
                    self.faults.add(
                        &place,
                        format!("`{key}`"),
                        "is not a list of strings",
                        format!("write {key} = [\"…\"]"),
                    );
                    Vec::new()
                }
            },
        }
    }

    /// The truth value under `key`, if it is there.
    pub fn bool(&mut self, key: &'static str) -> Option<bool> {
        let value = self.take(key)?;
        let found = value.get_ref().as_bool();
        if found.is_none() {
            let place = self.piece.place(value.span().start);
            self.faults.add(
                &place,
                format!("`{key}`"),
                "is neither true nor false",
                format!("write {key} = true"),
            );
        }
        found
    }

    /// The pairs of strings in the table under `key`; none if it is not there.
    pub fn pairs(&mut self, key: &'static str) -> Vec<(String, Located)> {
        let Some(value) = self.take(key) else {
            return Vec::new();
        };
        let DeValue::Table(pairs) = value.get_ref() else {
            let place = self.piece.place(value.span().start);
            self.faults.add(
                &place,
                format!("`{key}`"),
                "is not a table",
                format!("write [{key}] on a line of its own"),
            );
            return Vec::new();
        };
        pairs
            .iter()
            .filter_map(|(name, value)| {
                Some((name.get_ref().to_string(), self.as_string(name.get_ref(), value)?))
            })
            .collect()
    }

    /// The tables under `[[key]]`; none if it is not there.
    pub fn tables(&mut self, key: &'static str) -> Vec<Self> {
        let Some(value) = self.take(key) else {
            return Vec::new();
        };
        let start = self.piece.place(value.span().start);
        let DeValue::Array(items) = value.into_inner() else {
            self.faults.add(
                &start,
                format!("`{key}`"),
                "is not a list of tables",
                format!("write [[{key}]] on a line of its own"),
            );
            return Vec::new();
        };
        let table = |item: Spanned<DeValue<'a>>| {
            let start = self.piece.place(item.span().start);
            match item.into_inner() {
                DeValue::Table(entries) => Some(Self {
                    what: key,
                    piece: self.piece,
                    entries,
                    start,
                    asked: Vec::new(),
                    faults: self.faults,
                }),
                _ => None,
            }
        };
        items.into_iter().filter_map(table).collect()
    }

    /// Complains about every key that was not asked for.
    pub fn finish(self) {
        for (key, _) in &self.entries {
            let name: &str = key.get_ref();
            let place = self.piece.place(key.span().start);
            self.faults.add(
                &place,
                format!("\"{name}\""),
                format!("no such key in the {}", self.what),
                nearest(name, self.asked.iter().copied()),
            );
        }
    }

    fn take(&mut self, key: &'static str) -> Option<Spanned<DeValue<'a>>> {
        self.asked.push(key);
        self.entries.remove(key)
    }

    fn as_string(&self, key: &str, value: &Spanned<DeValue<'_>>) -> Option<Located> {
        let place = self.piece.place(value.span().start);
        if let DeValue::String(text) = value.get_ref() {
            return Some(Located { text: text.to_string(), place });
        }
        let written = &self.piece.text[value.span()];
        self.faults.add(
            &place,
            format!("{key} = {written}"),
            "not a string",
            format!("write {key} = \"{written}\""),
        );
        None
    }
}
