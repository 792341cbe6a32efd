//! Looks on from outside: what the checks and measurements of the built book have in common.

#[cfg(feature = "book")]
pub mod browser;
#[cfg(feature = "book")]
pub mod edition;
#[cfg(feature = "book")]
pub mod engine;
#[cfg(feature = "book")]
pub mod server;
#[cfg(feature = "book")]
pub mod site;
