//! A text of the content, and which line of which file each part of it is on.

use std::fmt;
use std::sync::Arc;

/// A line of a content file.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct SourceLocation {
    /// The file as the writer names it, from the workspace root: `content/2-make-it-safe/index.md`.
    pub file: Arc<str>,
    /// The line, from 1.
    pub line: usize,
}

impl fmt::Display for SourceLocation {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}:{}", self.file, self.line)
    }
}

/// Text that knows where it came from.
#[derive(Debug, Clone)]
pub struct SourceText {
    /// The file as the writer names it, from the workspace root.
    pub file: Arc<str>,
    /// The text itself.
    pub text: String,
    first_line: usize,
    line_starts: Vec<usize>,
}

impl SourceText {
    /// A piece of `file` whose text begins on `first_line`.
    #[must_use]
    pub fn new(file: Arc<str>, text: impl Into<String>, first_line: usize) -> Self {
        let text = text.into();
        let line_starts = std::iter::once(0).chain(text.match_indices('\n').map(|(at, _)| at + 1)).collect();
        Self { file, text, first_line, line_starts }
    }

    /// Where the byte at `offset` of the text is in the file.
    #[must_use]
    pub fn place(&self, offset: usize) -> SourceLocation {
        let line = self.line_starts.partition_point(|start| *start <= offset);
        SourceLocation { file: self.file.clone(), line: self.first_line + line.saturating_sub(1) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_place_is_counted_from_the_first_line_of_the_piece() {
        let piece = SourceText::new("a.md".into(), "one\ntwo\n\nfour", 7);
        let lines: Vec<usize> =
            [0, 3, 4, 8, 9, 12, 99].iter().map(|offset| piece.place(*offset).line).collect();
        assert_eq!(lines, [7, 7, 8, 9, 10, 10, 10]);
    }
}
