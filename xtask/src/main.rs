//! Build tasks.
fn main() {}
