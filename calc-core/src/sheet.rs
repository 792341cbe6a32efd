//! What a calculator says of itself.

use crate::form::Section;
use crate::source::Source;

/// What a calculator says of itself.
#[derive(Debug, PartialEq)]
pub struct Sheet {
    /// Its name in pages and links; never changed once published.
    pub id: &'static str,
    /// What it is called.
    pub title: &'static str,
    /// The question it answers.
    pub question: &'static str,
    /// Which set of defaults this is: links name it, so that the same link keeps its inputs for ever.
    pub edition: u32,
    /// The ids of the answers that may be the headline: the first of them that is found.
    pub headline: &'static [&'static str],
    /// How its fields are laid out.
    pub form: &'static [Section],
    /// What the model leaves out, one line each.
    pub leaves_out: &'static [&'static str],
    /// Where its formulas and figures come from.
    pub sources: &'static [&'static Source],
}
