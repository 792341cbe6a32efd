//! What of a job goes into a link: a run for the apprentice, the hand-over sheet for the owner.

pub mod run_link;
pub mod sheet_link;
