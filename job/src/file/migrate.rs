//! From every earlier version of the file to this one.

use serde_json::Value;

use super::{Refused, opened};
use crate::Job;

/// The version that is written.
pub const VERSION: u64 = 3;

/// One step from a version to the next: it changes the job's JSON, or says why it cannot. `None` where the next version only
/// added what may be missing.
pub(super) type Migration = Option<fn(Value) -> Result<Value, String>>;

/// The steps, the first from version 1 to 2. A new version adds one and an old file to `job/data/`.
///
/// - To 2: what a reading was judged by and what is noted of it, what was removed.
/// - To 3: what had been changed and read when something was ticked.
pub(super) const MIGRATIONS: &[Migration] = &[None, None];

/// Whether any step changes the JSON.
pub(super) const STEPS: bool = change_anything(MIGRATIONS);

const fn change_anything(mut migrations: &[Migration]) -> bool {
    while let Some((first, rest)) = migrations.split_first() {
        if first.is_some() {
            return true;
        }
        migrations = rest;
    }
    false
}

/// Reads a file of any version up to `newest`, with the steps that lead there. Without `STEPS` none of them changes anything,
/// and what would lead a job through them is no part of the WebAssembly: it is 20 kB of brotli.
pub(super) fn read_with<const STEPS: bool>(
    text: &str,
    newest: u64,
    migrations: &[Migration],
) -> Result<Job, Refused> {
    let (version, raw) = opened(text, newest)?;
    let shape = |why: String| Refused::Shape { version, why };
    let wrong = |error: serde_json::Error| {
        let (line, column) = (error.line(), error.column());
        let said = error.to_string();
        let said = said.split(" at line ").next().unwrap_or_default().to_owned();
        shape(if line > 0 { format!("{said} (line {line}, column {column} of the job)") } else { said })
    };
    let steps = usize::try_from(version - 1).ok().and_then(|done| migrations.get(done..)).unwrap_or_default();
    // What no step changes is read straight from its text: a big job in half the time.
    let job: Job = if !STEPS || steps.iter().all(Option::is_none) {
        serde_json::from_str(raw).map_err(wrong)?
    } else {
        let value: Value = serde_json::from_str(raw).map_err(wrong)?;
        let value = steps.iter().flatten().try_fold(value, |value, step| step(value)).map_err(shape)?;
        serde_json::from_value(value).map_err(wrong)?
    };
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
                return Err(format!("photograph {} is no base64", at + 1));
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
