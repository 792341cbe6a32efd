//! The trade: one file a calculator, all of it: inputs, physics, verdicts, working, sources.

#[cfg(test)]
pub(crate) mod asked;
pub mod bias_splitter;
pub mod coupling;
pub mod discharge;
pub mod dissipation;
pub mod gain_stage;
pub mod grid_stopper;
pub mod idle_current;
pub mod idle_point;
pub mod lamp_limiter;
pub mod lead_loss;
pub mod lead_order;
pub mod mains_drift;
pub mod master_volume;
pub mod output_power;
pub mod phase_inverter;
mod questions;
pub mod stop_figures;
pub mod taper;

use crate::calculator::Entry;

/// The register, in the order of the book.
pub static REGISTER: [Entry; 17] = [
    Entry::of::<discharge::Discharge>(),
    Entry::of::<dissipation::Dissipation>(),
    Entry::of::<bias_splitter::BiasSplitter>(),
    Entry::of::<idle_current::IdleCurrent>(),
    Entry::of::<idle_point::IdlePoint>(),
    Entry::of::<stop_figures::StopFigures>(),
    Entry::of::<master_volume::MasterVolume>(),
    Entry::of::<lead_loss::LeadLoss>(),
    Entry::of::<lead_order::LeadOrder>(),
    Entry::of::<grid_stopper::GridStopper>(),
    Entry::of::<lamp_limiter::LampLimiter>(),
    Entry::of::<output_power::OutputPower>(),
    Entry::of::<mains_drift::MainsDrift>(),
    Entry::of::<gain_stage::GainStage>(),
    Entry::of::<coupling::Coupling>(),
    Entry::of::<phase_inverter::PhaseInverter>(),
    Entry::of::<taper::Taper>(),
];
