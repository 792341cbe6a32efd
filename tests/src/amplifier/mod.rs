//! Invented amplifiers on the bench, and what their meters show.
//!
//! [`circuit`] is what an amplifier is made of, [`family`] the amplifiers, [`state`] what has been done to one. [`solve`] makes
//! a network of a circuit in a state ([`parts`]) and solves it; [`meters`] reads it.

pub mod circuit;
pub mod family;
pub mod faults;
pub mod harm;
pub mod meters;
mod parts;
pub mod readings;
pub mod rectified;
mod rows;
pub mod solve;
pub mod state;
pub mod survey;
