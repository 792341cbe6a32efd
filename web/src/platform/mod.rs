//! What is asked of the browser, and how parts of a page are set again.

pub mod morph;
pub mod page;
pub(crate) mod patch;
