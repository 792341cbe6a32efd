//! A TOML text as its keys, and where each is in its file. What the keys say is read by [`job::block::Keys`], the one
//! reader of blocks; here its complaints get their line.

use crate::fault::Faults;
use crate::source_text::{SourceLocation, SourceText};
use job::block::{Block, Fault, Keys};
use std::collections::BTreeMap;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// A text and the place where it stands.
#[derive(Debug, Clone)]
pub struct Located {
    /// What was written.
    pub text: String,
    /// The file and line that it begins in.
    pub place: SourceLocation,
}

/// A TOML text that has been read.
pub struct TomlText {
    /// What stands under each key.
    pub block: Block,
    /// Where each key's value stands: `title`, `cautions.0`, `inputs.screen-voltage`, `caution.2.id`.
    places: BTreeMap<String, SourceLocation>,
    /// The first line.
    start: SourceLocation,
}

impl TomlText {
    /// Reads `piece`; `what` names it in the complaint that it is not TOML.
    pub fn read(piece: &SourceText, what: &str, faults: &Faults) -> Option<Self> {
        let read = || Ok((toml::from_str(&piece.text)?, DeTable::parse(&piece.text)?));
        let (block, spans) = read()
            .map_err(|error: toml::de::Error| {
                let place = piece.place(error.span().map_or(0, |span| span.start));
                let wrong = format!("not TOML: {}", error.message().replace('\n', ", "));
                faults.add(&place, what, wrong, "write key = \"value\"");
            })
            .ok()?;
        let mut places = BTreeMap::new();
        find_places(spans.get_ref(), "", piece, &mut places);
        Some(Self { block, places, start: piece.place(0) })
    }

    /// Where the value under `key` stands; where it is not there, what would hold it.
    pub fn place(&self, key: &str) -> &SourceLocation {
        let mut key = key.split(' ').next().unwrap_or_default();
        loop {
            match (self.places.get(key), key.rsplit_once('.')) {
                (Some(place), _) => return place,
                (None, Some((holder, _))) => key = holder,
                (None, None) => return &self.start,
            }
        }
    }

    /// A text that stands under `key`, with its place.
    pub fn located(&self, key: &str, text: String) -> Located {
        Located { text, place: self.place(key).clone() }
    }

    /// The texts of the list under `key`, each with its place.
    pub fn all_located(&self, key: &str, texts: Vec<String>) -> Vec<Located> {
        let one = |(at, text)| self.located(&format!("{key}.{at}"), text);
        texts.into_iter().enumerate().map(one).collect()
    }

    /// Complains of what is wrong with the keys, each at its line. `within` is the key of the table that they are in, with
    /// a dot behind it, or nothing.
    pub fn complain(&self, within: &str, wrongs: Vec<Fault>, faults: &Faults) {
        for wrong in wrongs {
            complain(self.place(&format!("{within}{}", wrong.key)), wrong, faults);
        }
    }

    /// Everything was asked of `keys`: complains of what is wrong with them.
    pub fn finish(&self, within: &str, keys: Keys<'_>, faults: &Faults) {
        self.complain(within, keys.end(), faults);
    }
}

/// Complains of what is wrong with one key.
pub fn complain(place: &SourceLocation, wrong: Fault, faults: &Faults) {
    let Fault { key, found, wrong, right } = wrong;
    let found = if found.is_empty() { format!("`{key}`") } else { format!("{key} = \"{found}\"") };
    faults.add(place, found, wrong, right);
}

fn find_places(
    table: &DeTable<'_>,
    within: &str,
    piece: &SourceText,
    places: &mut BTreeMap<String, SourceLocation>,
) {
    for (key, value) in table {
        find_place(value, format!("{within}{}", key.get_ref()), piece, places);
    }
}

fn find_place(
    value: &Spanned<DeValue<'_>>,
    key: String,
    piece: &SourceText,
    places: &mut BTreeMap<String, SourceLocation>,
) {
    match value.get_ref() {
        DeValue::Table(table) => find_places(table, &format!("{key}."), piece, places),
        DeValue::Array(items) => {
            for (at, item) in items.iter().enumerate() {
                find_place(item, format!("{key}.{at}"), piece, places);
            }
        }
        _ => {}
    }
    places.insert(key, piece.place(value.span().start));
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_key_is_found_on_its_line_and_a_missing_one_where_it_would_stand() {
        let text = "unit = \"V\"\nlow = [\n \"1\",\n \"2\" ]\n[[caution]]\nid = \"a\"\n[inputs]\nx.tolerance = \"1 %\"\n";
        let toml = TomlText::read(&SourceText::new("a.md".into(), text, 10), "block", &Faults::default())
            .expect("TOML");
        let line = |key: &str| toml.place(key).line;
        assert_eq!((line("unit"), line("low.0"), line("low.1"), line("low.2")), (10, 12, 13, 11));
        assert_eq!((line("caution.0.id"), line("caution.0.text"), line("gone")), (15, 14, 10));
        assert_eq!(line("inputs.x.tolerance"), 17);
    }
}
