//! From every earlier version of the file to this one.

use super::Refused;
use crate::Job;
use crate::procedure::{Purpose, SOCKETS};
use crate::record::value_key;

/// The version that is written.
pub const VERSION: u64 = 4;

/// One step from a version to the next. It changes the job as it was read: every member that a later version added may be
/// missing. `None` where that is all.
pub(super) type Migration = Option<fn(&mut Job)>;

/// The steps, the first from version 1 to 2. A new version adds one and an old file to `job/data/`.
///
/// - To 2: what a reading was judged by and what is noted of it, what was removed.
/// - To 3: what had been changed and read when something was ticked.
/// - To 4: what a reading is evidence of, sockets, timers, the edition of a run.
pub(super) const MIGRATIONS: &[Migration] = &[None, None, Some(to_4)];

/// The end of what was noted, as earlier editions wrote it.
const NO_PROOF: &str = concat!(": proves nothing ", "of the amplifier");

/// A purpose was told by the end of what was noted; an output stage had a side A and a side B, and a number of valves beside
/// them; a standby switch stood nowhere in particular. A run under way has no edition, and does not go on.
fn to_4(job: &mut Job) {
    for taken in &mut job.readings {
        if let Some(noted) = taken.why.strip_suffix(NO_PROOF) {
            let (why, aside) = noted.rsplit_once("; ").unwrap_or(("", noted));
            let purpose = Purpose::NAMED.into_iter().find(|purpose| purpose.aside() == Some(aside));
            // Who says that it proves nothing is believed, whatever the reason.
            taken.purpose = purpose.unwrap_or(Purpose::BehindTheLamp);
            taken.why = why.to_owned();
        }
        // The two halves of a primary are halves still.
        if matches!(taken.blank.as_str(), "A" | "B") && taken.reading != "halves" {
            taken.blank.push('1');
        }
    }
    if let Some(count) = job.values.remove("output-valves") {
        job.values.insert(SOCKETS.to_owned(), count);
    }
    if let Some(gone) = job.removed.remove(&value_key("output-valves")) {
        job.removed.insert(value_key(SOCKETS), gone);
    }
    if let Some(standby) = job.values.get_mut("standby").filter(|standby| standby.text == "switch") {
        "dc".clone_into(&mut standby.text);
    }
}

/// Reads the text of the job in a file of this version, with the steps that lead from there to the newest.
pub(super) fn job(version: u64, raw: &str, migrations: &[Migration]) -> Result<Job, Refused> {
    let shape = |why: String| Refused::Shape { version, why };
    let mut job: Job = serde_json::from_str(raw).map_err(|error| {
        let (line, column) = (error.line(), error.column());
        let said = error.to_string();
        let said = said.split(" at line ").next().unwrap_or_default();
        shape(format!("{said} (line {line}, column {column} of the job)"))
    })?;
    let done = usize::try_from(version - 1).unwrap_or(usize::MAX);
    for step in migrations.iter().skip(done).flatten() {
        step(&mut job);
    }
    job.sound().map_err(shape)?;
    Ok(job)
}

impl Job {
    /// What no shape can say: names that are there, pictures that are base64.
    fn sound(&self) -> Result<(), String> {
        if self.id.is_empty() {
            return Err("“id” is empty".to_owned());
        }
        for (at, photo) in self.photos.iter().enumerate() {
            if photo.bytes.as_deref().is_some_and(|bytes| !is_base64(bytes)) {
                return Err(format!("photograph {} is not base64", at + 1));
            }
        }
        Ok(())
    }
}

/// RFC 4648, 4, with padding and without line breaks.
fn is_base64(text: &str) -> bool {
    let body = text.trim_end_matches('=');
    text.len().is_multiple_of(4)
        && text.len() - body.len() <= 2
        && body.bytes().all(|byte| byte.is_ascii_alphanumeric() || byte == b'+' || byte == b'/')
}
