//! Inputs as one line of text, `anode-voltage=438 V;sharing=2`: kept in the page, in the reader's browser and in links.
//!
//! A space is written as `+`, as forms do; letters that would end a field or cannot be in a link as `%3B` and so on
//! (RFC 3986, 2.1). Reading never fails: a part that is no input, or names one a second time, is handed back, so that it can
//! be shown.

use std::collections::btree_map::{BTreeMap, Entry};

use crate::quantity::notation::LONGEST;

/// What the reader typed, by field id; what is absent is at its default.
pub type Inputs = BTreeMap<String, String>;

/// The inputs as one line.
#[must_use]
pub fn to_line(inputs: &Inputs) -> String {
    let part = |(id, text): (&String, &String)| format!("{}={}", escaped(id), escaped(text));
    inputs.iter().map(part).collect::<Vec<_>>().join(";")
}

/// The inputs of a line, and the parts that are none, short enough to be shown. Of two inputs of one name the first counts.
#[must_use]
pub fn from_line(line: &str) -> (Inputs, Vec<String>) {
    let mut inputs = Inputs::new();
    let mut damaged = Vec::new();
    for part in line.split(';').filter(|part| !part.is_empty()) {
        match part.split_once('=').map(|(id, text)| (unescaped(id), unescaped(text))) {
            Some((Some(id), Some(text))) if !id.is_empty() && shortened(&id) == id => {
                match inputs.entry(id) {
                    Entry::Vacant(place) => _ = place.insert(text),
                    Entry::Occupied(there) => damaged.push(a_second_time(there.key())),
                }
            }
            _ => damaged.push(shortened(part)),
        }
    }
    (inputs, damaged)
}

/// What is handed back of an input that is in a link twice.
pub(crate) fn a_second_time(id: &str) -> String {
    format!("{id}, a second time")
}

/// As much of a text as can be shown: no name and no number is longer.
pub(crate) fn shortened(text: &str) -> String {
    match text.char_indices().nth(LONGEST) {
        Some((end, _)) => format!("{}…", &text[..end]),
        None => text.to_owned(),
    }
}

/// A text as part of a line.
pub(crate) fn escaped(text: &str) -> String {
    let plain = |byte: u8| byte.is_ascii_alphanumeric() || b".,-_/".contains(&byte);
    text.bytes().fold(String::new(), |mut line, byte| {
        match byte {
            b' ' => line.push('+'),
            byte if plain(byte) => line.push(char::from(byte)),
            byte => line.push_str(&format!("%{byte:02X}")),
        }
        line
    })
}

/// The text that a part of a line represents, if it represents one.
pub(crate) fn unescaped(text: &str) -> Option<String> {
    let mut bytes = Vec::with_capacity(text.len());
    let mut rest = text.bytes();
    while let Some(byte) = rest.next() {
        bytes.push(match byte {
            b'%' => {
                let digits = [rest.next()?, rest.next()?];
                u8::from_str_radix(std::str::from_utf8(&digits).ok()?, 16).ok()?
            }
            b'+' => b' ',
            byte => byte,
        });
    }
    String::from_utf8(bytes).ok()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_damaged_part_is_handed_back_and_the_rest_is_read() {
        let (inputs, damaged) = from_line("sharing=2;broken;bias=%4;=5;valve=EL34");
        assert_eq!(damaged, ["broken", "bias=%4", "=5"]);
        assert_eq!(to_line(&inputs), "sharing=2;valve=EL34");
    }

    #[test]
    fn what_stands_twice_is_handed_back_and_the_first_counts() {
        let (inputs, damaged) = from_line("sharing=2;valve=EL34;sharing=4");
        assert_eq!(damaged, ["sharing, a second time"]);
        assert_eq!(to_line(&inputs), "sharing=2;valve=EL34");
    }

    #[test]
    fn a_name_that_is_a_page_long_is_none_and_not_said_back_whole() {
        let long = "a".repeat(1_000_000);
        let (inputs, damaged) = from_line(&format!("{long}=2;{long};valve=EL34"));
        assert_eq!(to_line(&inputs), "valve=EL34");
        assert!(damaged.len() == 2 && damaged.iter().all(|part| part.chars().count() == LONGEST + 1));
    }

    proptest! {
        #[test]
        fn what_is_written_is_read_back(inputs in proptest::collection::btree_map("\\PC{1,8}", "\\PC{0,8}", 0..4)) {
            prop_assert_eq!(from_line(&to_line(&inputs)), (inputs, vec![]));
        }

        #[test]
        fn any_line_is_read(line in "\\PC{0,40}") {
            let _ = from_line(&line);
        }
    }
}
