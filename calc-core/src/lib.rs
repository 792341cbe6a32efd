//! Works out what the bench needs to know.
pub mod calculator;
