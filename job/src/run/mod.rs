//! A run of a procedure: what is open, and how what was read stands to its limits.
//!
//! - [`gate`] says which steps are open, from the state of the run ([`gate::RunState`]).
//! - [`judge`] holds a reading against its limits and records it.

pub mod gate;
pub mod judge;
