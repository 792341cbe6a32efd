//! Questions that several calculators ask, each written once: its symbol, its default, how far it may be off, between what
//! it must lie.
//!
//! Ids and names are handed in where the calculators differ: links keep an id for ever. What is given back as a
//! [`Question`](crate::calculator::Question) takes what the calculator adds, a hint or a range of its own. A question of
//! one calculator only stays beside its physics.

pub mod bias;
pub mod control;
pub mod mains;
pub mod parts;
pub mod reading;
pub mod stage;
pub mod threshold;
pub mod valve;

/// What a field is called: its id, its symbol, its name.
pub type Label = [&'static str; 3];
