//! A job as one file: JSON with a format, a version and a checksum of the job's own text.
//!
//! ```text
//! {"format":"standing-current-job","version":4,"sha256":"…","job":{…}}
//! ```
//!
//! The checksum is SHA-256 over the version, a space, and the bytes of the `job` member as they are in the file; up to
//! version 2 over those bytes alone. Its shape is
//! `job/schema/job-4.schema.json`. Reading gives a whole job or an error that names what is wrong, never a part of one; what
//! comes from outside is imported, which believes less.

mod csv;
mod import;
mod members;
mod migrate;
mod name;

use sha2::{Digest, Sha256};

use crate::Job;
pub use crate::length::{LINE, TEXT, is_longer};
pub use csv::readings_csv;
pub use import::{Imported, fits, import};
use members::Members;
pub use migrate::VERSION;
pub use name::name;

/// What is in every file of ours.
pub const FORMAT: &str = "standing-current-job";

/// Why a file is refused. Nothing was changed.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Refused {
    /// There is nothing in it.
    #[error("the file is empty")]
    Empty,
    /// It is not JSON, or ends in the middle.
    #[error("the file is damaged at line {line}, column {column}: {why}")]
    Broken {
        /// The line, from 1.
        line: usize,
        /// The column, from 1.
        column: usize,
        /// What is wrong there.
        why: String,
    },
    /// It is whole, but another program's.
    #[error(
        "this is not a job of this handbook: {0}; a job’s file says \"format\": \"standing-current-job\""
    )]
    Foreign(String),
    /// It is of a later edition of the handbook.
    #[error(
        "the file is of version {version}, and this edition of the handbook reads up to version {VERSION}; take the newer edition first"
    )]
    Newer {
        /// The version it says.
        version: u64,
    },
    /// Something is in it beside what belongs there, or twice.
    #[error("the file holds a “{member}” that does not belong there")]
    Other {
        /// The name of the member.
        member: String,
    },
    /// What it says of itself cannot be.
    #[error("the file’s “{member}” is wrong: {why}")]
    Head {
        /// The name of the member: `version`.
        member: &'static str,
        /// What is wrong with it.
        why: String,
    },
    /// The job in it is not the one that was written.
    #[error(
        "the file was changed or damaged after it was written: the job in it does not agree with its checksum"
    )]
    Checksum,
    /// The checksum is right, but it is no job.
    #[error("the job in the file is not one of version {version}: {why}")]
    Shape {
        /// The version it says.
        version: u64,
        /// What is wrong, and where.
        why: String,
    },
    /// It is a job, and something in it is beyond what a job can hold: why.
    #[error("the job in the file cannot be taken in: {0}")]
    Beyond(String),
}

/// The text of the file of a job.
#[must_use]
pub fn write(job: &Job) -> String {
    // A map with text keys, numbers and texts always becomes JSON.
    let text = serde_json::to_string(job).unwrap_or_default();
    format!(
        r#"{{"format":"{FORMAT}","version":{VERSION},"sha256":"{}","job":{text}}}"#,
        checksum(VERSION, &text)
    )
}

/// Reads the text of a file.
///
/// # Errors
/// [`Refused`], which says what is wrong with it.
pub fn read(text: &str) -> Result<Job, Refused> {
    let (version, raw) = opened(text, VERSION)?;
    migrate::job(version, raw, migrate::MIGRATIONS)
}

/// Reads the bytes of a file.
///
/// # Errors
/// [`Refused`], which says what is wrong with it.
pub fn read_bytes(bytes: &[u8]) -> Result<Job, Refused> {
    read(unicode(bytes)?)
}

/// The text of the bytes of a file.
fn unicode(bytes: &[u8]) -> Result<&str, Refused> {
    std::str::from_utf8(bytes).map_err(|error| {
        let good = bytes.get(..error.valid_up_to()).unwrap_or_default();
        let line = good.iter().filter(|byte| **byte == b'\n').count() + 1;
        let column = good.iter().rev().take_while(|byte| **byte != b'\n').count() + 1;
        Refused::Broken { line, column, why: "a character that is not UTF-8".to_owned() }
    })
}

/// The version and the raw text of the job of a file whose checksum is right.
fn opened(text: &str, newest: u64) -> Result<(u64, &str), Refused> {
    let text = text.trim_start_matches('\u{feff}');
    if text.trim().is_empty() {
        return Err(Refused::Empty);
    }
    if !text.trim_start().starts_with('{') {
        let first: String = text.trim_start().chars().take(12).collect();
        return Err(Refused::Foreign(format!("it begins with “{first}”")));
    }
    let members: Members<'_> = serde_json::from_str(text).map_err(|error| broken(&error))?;
    let member = |name| members.get(name);
    let format = member("format").ok_or_else(|| Refused::Foreign("it has no “format”".to_owned()))?;
    if format != format!("\"{FORMAT}\"") {
        return Err(Refused::Foreign(format!("its format is {}", shortened(format))));
    }
    let missing = |member| Refused::Head { member, why: "it is missing".to_owned() };
    let version = member("version").ok_or_else(|| missing("version"))?;
    let version: u64 = version.parse().ok().filter(|version| *version > 0).ok_or_else(|| Refused::Head {
        member: "version",
        why: format!("{} is not a version", shortened(version)),
    })?;
    if version > newest {
        return Err(Refused::Newer { version });
    }
    if let Some(member) = members.strange(&["format", "version", "sha256", "job"]) {
        return Err(Refused::Other { member: shortened(member) });
    }
    let said = member("sha256").ok_or_else(|| missing("sha256"))?;
    let job = member("job").ok_or_else(|| missing("job"))?;
    if said != format!("\"{}\"", checksum(version, job)) {
        return Err(Refused::Checksum);
    }
    Ok((version, job))
}

fn broken(error: &serde_json::Error) -> Refused {
    let (line, column) = (error.line(), error.column());
    let why = match error.classify() {
        serde_json::error::Category::Eof => "the file ends in the middle".to_owned(),
        _ => {
            let said = error.to_string();
            said.split(" at line ").next().unwrap_or_default().to_owned()
        }
    };
    Refused::Broken { line, column, why }
}

fn shortened(text: &str) -> String {
    let short: String = text.chars().take(40).collect();
    if short.len() < text.len() { format!("{short}…") } else { short }
}

/// SHA-256 in hexadecimal. From version 3 on the version counts too: one that was damaged must not be taken for an earlier.
fn checksum(version: u64, text: &str) -> String {
    use std::fmt::Write;
    let text = if version < 3 { text.to_owned() } else { format!("{version} {text}") };
    Sha256::digest(text.as_bytes()).iter().fold(String::with_capacity(64), |mut hex, byte| {
        // Writing into a text cannot fail.
        let _ = write!(hex, "{byte:02x}");
        hex
    })
}

#[cfg(test)]
mod tests;
