//! Invented amplifiers on the bench, and what their meters show.
//!
//! [`circuit`] is what an amplifier is made of, [`family`] the amplifiers, [`faults`] what can be wrong with one, [`state`] what
//! has been done to it. [`solve`] makes a network of a circuit in a state (`parts`; rectifiers and the lamp: [`rectified`]) and
//! solves it. [`meters`] reads it, with `formulas` for what a network at rest does not know. [`readings`] and its tables
//! (`rows`) say which reading of a procedure is taken with which meter, [`survey`] what the job says of the sound amplifier,
//! [`harm`] whether a state does harm.

pub mod circuit;
pub mod family;
pub mod faults;
mod formulas;
pub mod harm;
pub mod meters;
mod parts;
pub mod readings;
pub mod rectified;
mod rows;
pub mod solve;
pub mod state;
pub mod survey;
pub mod technician;
