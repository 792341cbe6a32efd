//! What is asked of the browser, and how parts of a page are set again.

pub(crate) mod later;
pub mod morph;
pub mod page;
pub(crate) mod patch;
pub(crate) mod persistence;
pub(crate) mod picture;
pub(crate) mod saved_inputs;
pub(crate) mod share;
pub(crate) mod tone;
pub(crate) mod wake_lock;
