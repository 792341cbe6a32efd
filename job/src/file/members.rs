//! The members of the file as they stand, before anything in them is believed: each with its raw text, none left out.

use std::fmt;

use serde::de::{Deserialize, Deserializer, MapAccess, Visitor};
use serde_json::value::RawValue;

/// The members of a JSON object in their order; one that stands twice is there twice.
pub(super) struct Members<'f>(Vec<(String, &'f RawValue)>);

impl<'f> Members<'f> {
    /// The raw text of a member.
    pub(super) fn get(&self, name: &str) -> Option<&'f str> {
        self.0.iter().find(|(known, _)| known == name).map(|(_, raw)| raw.get())
    }

    /// The first member that is none of these, or stands twice.
    pub(super) fn strange(&self, names: &[&str]) -> Option<&str> {
        let mut members = self.0.iter().map(|(name, _)| name.as_str()).enumerate();
        let twice = |at: usize, name: &str| self.0.iter().take(at).any(|(earlier, _)| earlier == name);
        members.find(|(at, name)| !names.contains(name) || twice(*at, name)).map(|(_, name)| name)
    }
}

impl<'de: 'f, 'f> Deserialize<'de> for Members<'f> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Each;

        impl<'de> Visitor<'de> for Each {
            type Value = Vec<(String, &'de RawValue)>;

            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("an object")
            }

            fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Self::Value, A::Error> {
                let mut members = Vec::new();
                while let Some(member) = map.next_entry()? {
                    members.push(member);
                }
                Ok(members)
            }
        }

        deserializer.deserialize_map(Each).map(Self)
    }
}
