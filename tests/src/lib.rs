//! Looks on from outside: what checks and measurements have in common.

pub mod amplifier;
#[cfg(feature = "book")]
pub mod browser;
#[cfg(feature = "book")]
pub mod edition;
#[cfg(feature = "book")]
pub mod engine;
pub mod master;
#[cfg(feature = "book")]
pub mod server;
#[cfg(feature = "book")]
pub mod site;
