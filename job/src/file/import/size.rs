//! No text and no list in a file from outside is longer than the book makes them, so that every page that shows one opens; and
//! nothing occurs twice in it, of which one would be lost without a word.

use std::borrow::Cow;
use std::collections::BTreeSet;
use std::fmt;

use calc_core::quantity::notation::LONGEST;
use serde::de::{DeserializeSeed, Deserializer, Error, MapAccess, SeqAccess, Visitor};

use super::super::shortened;
use crate::length::{LINE, TEXT, is_longer};

/// Entries of a list; a job of years has a tenth.
const ENTRIES: usize = 20_000;

/// Finds the first text or list in the JSON of a job that is too long.
///
/// # Errors
/// Which, and how long it may be.
pub(super) fn check(job: &str) -> Result<(), String> {
    let mut json = serde_json::Deserializer::from_str(job);
    let checked = Member { list: "", name: "" }.deserialize(&mut json);
    checked.map_err(|error| {
        let said = error.to_string();
        said.rsplit_once(" at line ").map_or(said.as_str(), |(said, _)| said).to_owned()
    })
}

/// A member of a job: the list it is in, as `readings`, and its own name there; both empty for the job itself.
#[derive(Clone, Copy)]
struct Member<'m> {
    list: &'m str,
    name: &'m str,
}

impl Member<'_> {
    /// How many letters its text may have.
    fn most(self) -> usize {
        match (self.list, self.name) {
            ("readings", "text") => LONGEST,
            ("notes" | "advice" | "reasons", "text") | ("readings", "early") => TEXT,
            // A picture: anyone who draws it looks at it for himself.
            ("photos", "bytes") => usize::MAX,
            _ => LINE,
        }
    }

    fn text<E: Error>(self, text: &str, most: usize) -> Result<(), E> {
        let fits = !is_longer(text, most);
        let Self { list, name } = self;
        let place =
            if name == list { format!("“{list}”") } else { format!("“{name}” in “{list}”") };
        let begins = shortened(text);
        if fits {
            Ok(())
        } else {
            Err(E::custom(format!("{place} is longer than {most} characters: “{begins}”")))
        }
    }

    fn entries<E: Error>(self, entries: usize) -> Result<(), E> {
        let list = self.list;
        if entries <= ENTRIES {
            Ok(())
        } else {
            Err(E::custom(format!("“{list}” has more than {ENTRIES} entries")))
        }
    }
}

impl<'de> DeserializeSeed<'de> for Member<'_> {
    type Value = ();

    fn deserialize<D: Deserializer<'de>>(self, deserializer: D) -> Result<(), D::Error> {
        deserializer.deserialize_any(self)
    }
}

impl<'de> Visitor<'de> for Member<'_> {
    type Value = ();

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a member of a job")
    }

    fn visit_str<E: Error>(self, text: &str) -> Result<(), E> {
        self.text(text, self.most())
    }

    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<(), A::Error> {
        let mut entries = 0;
        let mut keys = BTreeSet::new();
        while let Some(key) = map.next_key::<Cow<'de, str>>()? {
            // What was removed is named by its whole text.
            let most = if self.list == "removed" { TEXT + LINE } else { LINE };
            self.text(&key, most)?;
            entries += 1;
            self.entries(entries)?;
            let list = if self.list.is_empty() { &*key } else { self.list };
            map.next_value_seed(Member { list, name: &key })?;
            if let Some(twice) = keys.replace(key) {
                return Err(A::Error::custom(format!("“{}” occurs twice in it", shortened(&twice))));
            }
        }
        Ok(())
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut list: A) -> Result<(), A::Error> {
        let mut entries = 0;
        while list.next_element_seed(self)?.is_some() {
            entries += 1;
            self.entries(entries)?;
        }
        Ok(())
    }

    fn visit_bool<E>(self, _: bool) -> Result<(), E> {
        Ok(())
    }

    fn visit_u64<E>(self, _: u64) -> Result<(), E> {
        Ok(())
    }

    fn visit_i64<E>(self, _: i64) -> Result<(), E> {
        Ok(())
    }

    fn visit_f64<E>(self, _: f64) -> Result<(), E> {
        Ok(())
    }

    fn visit_unit<E>(self) -> Result<(), E> {
        Ok(())
    }
}
