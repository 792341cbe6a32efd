//! The finished book: its folder, its edition, and all of it as one file.

pub mod edition;
pub mod files;
pub mod one_file;
pub mod strip_comments;
