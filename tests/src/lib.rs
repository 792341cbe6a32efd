//! Looks on from outside: what checks and measurements have in common.

pub mod amplifier;
pub mod bias_supply;
#[cfg(feature = "book")]
pub mod browser;
#[cfg(feature = "book")]
pub mod edition;
#[cfg(feature = "book")]
pub mod engine;
pub mod hard;
pub mod master;
pub mod random_inputs;
#[cfg(feature = "book")]
pub mod site;
pub mod walk;
