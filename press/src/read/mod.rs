//! Reads what is in the workspace: the book under `content/`, and the WebAssembly modules.

pub mod book;
pub mod cautions;
pub mod front_matter;
pub mod modules;
pub mod toml_text;

use crate::BuildError;
use std::path::Path;

/// The text of a file.
pub(crate) fn text(path: &Path) -> Result<String, BuildError> {
    std::fs::read_to_string(path).map_err(BuildError::at(path))
}
