//! Faults: what is wrong in the content, where, and what would be right.
//!
//! Nothing stops at the first fault: all are gathered and shown together, in the order of the files.

use crate::source_text::SourceLocation;
use std::collections::BTreeSet;
use std::fmt;
use std::sync::{Mutex, MutexGuard, PoisonError};

/// One thing wrong, with its remedy.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Fault {
    /// The file and line that it is in.
    pub place: SourceLocation,
    /// What was found, as it was written.
    pub found: String,
    /// What is wrong with it.
    pub wrong: String,
    /// What would be right.
    pub right: String,
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}: {}", self.place, self.found, self.wrong)?;
        if self.right.is_empty() { Ok(()) } else { write!(f, "; {}", self.right) }
    }
}

/// All faults of one printing, each once and in order.
#[derive(Debug, Default)]
pub struct Faults(Mutex<BTreeSet<Fault>>);

impl Faults {
    /// Adds a fault to those that are reported at the end of the build.
    pub fn add(
        &self,
        place: &SourceLocation,
        found: impl Into<String>,
        wrong: impl Into<String>,
        right: impl Into<String>,
    ) {
        self.all().insert(Fault {
            place: place.clone(),
            found: found.into(),
            wrong: wrong.into(),
            right: right.into(),
        });
    }

    fn all(&self) -> MutexGuard<'_, BTreeSet<Fault>> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Whether the book may be printed.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.all().is_empty()
    }

    /// How many faults there are.
    #[must_use]
    pub fn len(&self) -> usize {
        self.all().len()
    }
}

impl fmt::Display for Faults {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for fault in &*self.all() {
            writeln!(f, "{fault}")?;
        }
        Ok(())
    }
}

/// A list of known names longer than this helps nobody.
const FEW: usize = 12;

/// The remedy for a name that is not known: the nearest one that is, or all of them where they are few.
pub fn nearest<'n>(word: &str, names: impl IntoIterator<Item = &'n str>) -> String {
    let names: Vec<&str> = names.into_iter().collect();
    match crate::calculators::nearest(word, names.iter().copied()) {
        Some(name) => format!("nearest: \"{name}\""),
        None if names.is_empty() => "there are none".into(),
        None if names.len() <= FEW => format!("known: {}", quoted(names)),
        None => format!("no similar name among the {} known", names.len()),
    }
}

/// Names in a row, each in quotes.
pub fn quoted<'n>(names: impl IntoIterator<Item = &'n str>) -> String {
    names.into_iter().map(|name| format!("\"{name}\"")).collect::<Vec<_>>().join(", ")
}
