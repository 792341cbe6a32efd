//! The trade: one file a calculator, all of it: inputs, physics, verdicts, working, sources.

pub mod bias_splitter;
pub mod dissipation;
pub mod grid_stopper;
pub mod idle_current;
pub mod idle_point;
pub mod output_power;
pub mod taper;

use crate::calculator::Entry;

/// The register, in the order of the book.
pub(crate) static REGISTER: &[Entry] = &[
    Entry::of::<idle_current::IdleCurrent>(),
    Entry::of::<dissipation::Dissipation>(),
    Entry::of::<idle_point::IdlePoint>(),
    Entry::of::<bias_splitter::BiasSplitter>(),
    Entry::of::<grid_stopper::GridStopper>(),
    Entry::of::<output_power::OutputPower>(),
    Entry::of::<taper::Taper>(),
];
