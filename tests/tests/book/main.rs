//! The built book, checked as files and in a browser. `cargo xtask test` builds and serves it first.

mod access;
mod alive;
mod calculator;
mod chart;
mod dock;
mod find;
mod job;
mod link;
mod look;
mod mended;
mod names;
mod new_edition;
mod offline;
mod one_file;
mod paper;
mod run;
mod sheet;
mod site;
mod typing;
