//! The link of a hand-over sheet: what the hand-over sheet says, without whose amplifier it is, as the fragment of the page's address.
//!
//! ```text
//! sheet.1.…          the text of a job's file, deflated (RFC 1951), in base64 for addresses (RFC 4648, 5)
//! ```
//!
//! What is left out: the job's name, the owner, notes, photographs, ticks, branches, where old parts are kept, what was
//! removed, and every reading that the hand-over sheet does not show. What stays: what the reader wrote into advice, parts and
//! reasons, and the times, for an idle current after ten minutes is none without them.

use std::collections::BTreeMap;

use base64::Engine;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use miniz_oxide::deflate::compress_to_vec;
use miniz_oxide::inflate::decompress_to_vec_with_limit;

use crate::file::{self, Imported, Refused};
use crate::record::{Change, From, Reading, Reason, Value};
use crate::sheet::shown::{Made, Row, rows};
use crate::{Job, values};

const HEAD: &str = "sheet.";
const EDITION: &str = "1";
/// As hard as it can: a messenger may cut what is long.
const HARDEST: u8 = 10;
/// More than any hand-over sheet is, in bytes: a link that claims more is none of ours.
const MOST: usize = 4_000_000;

/// Why a link shows no sheet.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Unread {
    /// A later edition of the handbook made it.
    #[error("it is of edition {0}, and this handbook reads edition {EDITION}; take the newer handbook first")]
    Edition(String),
    /// Letters are missing or others.
    #[error("it is incomplete; perhaps it was cut short on its way")]
    Broken,
    /// It could be unpacked, and what came out is refused.
    #[error("{0}")]
    Refused(Refused),
}

/// The fragment of the link to the hand-over sheet of a job, without its `#`.
#[must_use]
pub fn written(job: &Job) -> String {
    let packed = compress_to_vec(file::write(&anonymous(job)).as_bytes(), HARDEST);
    format!("{HEAD}{EDITION}.{}", URL_SAFE_NO_PAD.encode(packed))
}

/// The job of a link, as far as its hand-over sheet shows it, and what of it is not as the link says; `None` where the fragment of the address, without its `#`, is no link
/// to a sheet.
#[must_use]
pub fn read(fragment: &str) -> Option<Result<Imported, Unread>> {
    Some(unpacked(fragment.strip_prefix(HEAD)?))
}

fn unpacked(rest: &str) -> Result<Imported, Unread> {
    let (edition, packed) = rest.split_once('.').ok_or(Unread::Broken)?;
    if edition != EDITION {
        return Err(Unread::Edition(edition.chars().take(12).collect()));
    }
    let packed = URL_SAFE_NO_PAD.decode(packed).map_err(|_| Unread::Broken)?;
    let text = decompress_to_vec_with_limit(&packed, MOST).map_err(|_| Unread::Broken)?;
    let Imported { job, doubts } = file::import(&text).map_err(|refused| match refused {
        Refused::Checksum | Refused::Broken { .. } | Refused::Empty => Unread::Broken,
        other => Unread::Refused(other),
    })?;
    // Anyone who wrote it: nothing but what a hand-over sheet shows is shown, and every verdict is the link's.
    let mut job = anonymous(&job);
    job.readings.iter_mut().for_each(|taken| taken.from_file = true);
    Ok(Imported { job, doubts })
}

/// The job with nothing in it but what its hand-over sheet shows, and of that nothing that says whose it is.
#[must_use]
pub fn anonymous(job: &Job) -> Job {
    let made = Made::of(job);
    // Changes that were removed are gone, so what came after so many comes after fewer.
    let counted = |count: usize| made.among(count).unwrap_or(count);
    // The readings that the hand-over sheet shows, and whether each is a proof.
    let mut shown = BTreeMap::new();
    for Row { before, after, proof, .. } in rows(job) {
        shown.extend([before, after, proof].into_iter().flatten().map(|at| (at, Some(at) == proof)));
    }
    let reading = |(at, is_proof): (usize, bool)| {
        let taken = job.readings.get(at)?;
        Some(Reading {
            step: String::new(),
            // What proves nothing now must not seem to.
            range: if is_proof { taken.range.clone() } else { String::new() },
            run: 0,
            changes_before: counted(taken.changes_before),
            inputs_used: None,
            from_file: false,
            ..taken.clone()
        })
    };
    let value = |(id, value): (&String, &Value)| {
        let known = values::find(id).is_ok();
        let value =
            Value { from: From::Typed, changes_before: counted(value.changes_before), ..value.clone() };
        known.then(|| (id.clone(), value))
    };
    Job {
        id: "link".to_owned(),
        made: job.changed,
        changed: job.changed,
        values: job.values.iter().filter_map(value).collect(),
        readings: shown.into_iter().filter_map(reading).collect(),
        reasons: job
            .reasons
            .iter()
            .map(|reason| Reason { run: 0, changes_before: 0, readings_before: 0, ..reason.clone() })
            .collect(),
        changes: job
            .standing(&job.changes)
            .map(|change| Change { kept: String::new(), ..change.clone() })
            .collect(),
        advice: job.standing(&job.advice).cloned().collect(),
        ..Job::default()
    }
}

#[cfg(test)]
mod tests;
