//! What makes the book's places findable: the index that the find field searches, and the printed indices.
//!
//! ```text
//! place     what can be found of a page: itself, its headings, steps, rows of tables
//! symptoms  what goes wrong, from content/symptoms.toml, and the places that decide it
//! synonyms  words of the trade that mean the same, from content/synonyms.toml
//! indices   the printed lists: calculators as the questions they answer, symptoms, valves
//! file      all of it as one file, which `web/js/finder.js` reads
//! ```

pub mod file;
pub mod indices;
pub mod place;
pub mod symptoms;
pub mod synonyms;

/// The page that leads to the printed indices; where scripts are off it is what the find field is.
pub const PAGE: &str = "find/index.html";
