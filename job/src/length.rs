//! How long a text of a job may be, wherever it comes from.

/// Letters of a line: what the amplifier is called, whose it is, what a part was. Also of every name that the book gives.
pub const LINE: usize = 1_000;
/// Letters of what is written down: a note, advice, a reason.
pub const TEXT: usize = 100_000;

/// Whether a text has more letters than so many.
#[must_use]
pub fn is_longer(text: &str, most: usize) -> bool {
    text.len() > most && text.chars().nth(most).is_some()
}
