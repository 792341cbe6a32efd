//! A file that was damaged, in a thousand ways, and whatever else a file may be.

use super::*;

/// Damage as it happens: a bit that flipped, an end that is missing, bytes lost or doubled within, two members exchanged.
#[derive(Debug, Clone)]
enum Damage {
    Flip(usize, u8),
    Cut(usize),
    Lose(usize, usize),
    Double(usize, usize),
    Exchange(usize, usize),
}

fn damage() -> impl Strategy<Value = Damage> {
    let place = 0..100_000_usize;
    prop_oneof![
        4 => (place.clone(), 0..8_u8).prop_map(|(at, bit)| Damage::Flip(at, bit)),
        2 => place.clone().prop_map(Damage::Cut),
        1 => (place.clone(), 1..64_usize).prop_map(|(at, count)| Damage::Lose(at, count)),
        1 => (place.clone(), 1..64_usize).prop_map(|(at, count)| Damage::Double(at, count)),
        2 => (place.clone(), place).prop_map(|(one, other)| Damage::Exchange(one, other)),
    ]
}

/// The bytes with that damage; the same bytes where it happens to change nothing.
fn damaged(text: &str, damage: &Damage) -> Vec<u8> {
    let mut bytes = text.as_bytes().to_vec();
    let length = bytes.len();
    match damage {
        Damage::Flip(at, bit) => bytes[at % length] ^= 1 << bit,
        Damage::Cut(at) => bytes.truncate(at % length),
        Damage::Lose(at, count) => {
            let at = at % length;
            bytes.drain(at..(at + count).min(length));
        }
        Damage::Double(at, count) => {
            let at = at % length;
            let again = bytes[at..(at + count).min(length)].to_vec();
            bytes.splice(at..at, again);
        }
        Damage::Exchange(one, other) => {
            // Two texts between quotes change places.
            let quotes: Vec<usize> =
                bytes.iter().enumerate().filter(|(_, byte)| **byte == b'"').map(|(at, _)| at).collect();
            let pairs: Vec<(usize, usize)> =
                quotes.chunks(2).filter_map(|pair| Some((*pair.first()?, *pair.get(1)?))).collect();
            let (first, second) = (one % pairs.len(), other % pairs.len());
            let (first, second) = (pairs[first.min(second)], pairs[first.max(second)]);
            if first != second {
                let (a, b) = (bytes[first.0..=first.1].to_vec(), bytes[second.0..=second.1].to_vec());
                bytes.splice(second.0..=second.1, a);
                bytes.splice(first.0..=first.1, b);
            }
        }
    }
    bytes
}

proptest! {
    // The issue asks for a thousand.
    #![proptest_config(ProptestConfig { cases: ProptestConfig::default().cases.max(1000), ..ProptestConfig::default() })]

    /// None is taken for a job, and each says what is wrong: where, or which member, or that the checksum does not agree.
    #[test]
    fn no_damaged_file_is_read(damage in damage()) {
        let whole = write(&kept());
        let bytes = damaged(&whole, &damage);
        prop_assert_eq!(import(&bytes).is_ok(), bytes == whole.as_bytes());
        match read_bytes(&bytes) {
            Ok(job) => {
                prop_assert!(bytes == whole.as_bytes(), "a damaged file was read");
                prop_assert_eq!(job, kept());
            }
            Err(refused) => {
                prop_assert!(bytes != whole.as_bytes());
                let named = match &refused {
                    Refused::Empty => bytes.iter().all(u8::is_ascii_whitespace),
                    Refused::Broken { line, column, why } => *line == 1 && *column > 0 && !why.is_empty(),
                    Refused::Foreign(why) => !why.is_empty(),
                    // A name can be damaged to an empty one; it is between its quotes all the same.
                    Refused::Other { member } => refused.to_string().contains(&format!("“{member}”")),
                    Refused::Newer { version } => *version > VERSION,
                    Refused::Head { member, why } => !member.is_empty() && !why.is_empty(),
                    Refused::Checksum => true,
                    // With a checksum that agrees a wrong shape would be a collision.
                    Refused::Shape { .. } | Refused::Beyond(_) => false,
                };
                prop_assert!(named, "{:?}: {}", refused, refused);
            }
        }
    }

    #[test]
    fn any_bytes_are_refused_or_read(bytes in prop::collection::vec(any::<u8>(), 0..80)) {
        prop_assert!(read_bytes(&bytes).is_err());
    }

    #[test]
    fn what_is_written_is_read_back(
        label in "\\PC{0,12}", owner in "\\PC{0,12}", note in "(?s).{0,12}", text in "\\PC{0,12}", seconds in 0..4_000_000_000_u64,
        photo in prop::option::of("[A-Za-z0-9+/]{4}"),
    ) {
        let at = Time::from_seconds(seconds);
        let mut job = kept();
        (job.label, job.owner_ref, job.changed) = (label, owner, at);
        job.notes.push(Note { at, text: note });
        job.values.insert("fuse".into(), Value { text, at, from: From::Typed, changes_before: 0 });
        job.photos[0].bytes = photo;
        let text = write(&job);
        prop_assert_eq!(read_bytes(text.as_bytes()), Ok(job));
    }
}
