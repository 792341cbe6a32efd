//! The browser entry.
fn main() {}
