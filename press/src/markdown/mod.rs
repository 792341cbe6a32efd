//! Markdown to a tree of what will be in a page: read once, worked on by passes, written as HTML once.
//!
//! ```text
//! events     Markdown becomes a tree; what it names but does not hold is still named there: links as they were written,
//!            formulas as LaTeX, figures by their file, fenced blocks by their word
//! tables     the tables of a tree
//! notes      its notes, numbered and put at its end
//! tree       nodes, and how a pass visits them
//! serialise  the tree as HTML
//! ```

mod events;
mod notes;
mod serialise;
mod tables;
pub mod tree;

pub use events::read;
pub use notes::NOTES;
pub use serialise::html;
