//! Prints the book.
fn main() {}
