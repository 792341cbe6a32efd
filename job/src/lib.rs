//! One amplifier on the bench: what is known of it, what was read and done, which step of a procedure is open. Pure: no
//! files, no clock, no page; the caller gives time and random names.
//!
//! - [`Job`] is the record; [`Time`] its moments; [`values`] the table of what can be known.
//! - [`mod@block`] reads blocks of keys, as pages are written with.
//! - [`procedure`] is what a page says of its steps: `press` checks it, the browser reads it back.
//! - [`run`] holds a reading against its limits and says which steps are open.
//! - [`mod@file`] is the exported file, [`length`] how long a text in it may be, [`sheet`] the hand-over sheet, [`share`] their links.
//!
//! What always holds: a hard gate is passed by readings in range of this run and by nothing else; a text that cannot be
//! read is no reading; what is missing or stale for a limit means *cannot tell*, never *in range*; a damaged file changes
//! nothing.

#![forbid(unsafe_code)]
#![warn(missing_docs)]

pub mod block;
pub mod file;
pub mod length;
mod merge;
pub mod procedure;
mod record;
pub mod run;
pub mod share;
pub mod sheet;
mod time;
pub mod unit;
pub mod values;

pub use record::{
    Change, ChangeKind, Choice, Entry, Filled, From, Job, Judged, NotTaken, Note, Photo, Place, Reading,
    Reason, Started, Tick, Value,
};
pub use run::judge::Judgement;
pub use time::Time;
