//! The trade: one file a calculator, all of it: inputs, physics, verdicts, working, sources.

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
pub mod stop_figures;
pub mod taper;
mod track;

use crate::calculator::Entry;

/// Calculators that stand on the same pages. Each group becomes a WebAssembly module of its own (`web/src/bin/`), so that
/// a page brings only what it needs.
pub struct Group {
    /// Its name, and that of its module.
    pub name: &'static str,
    /// Its calculators, in the order of the book.
    pub entries: &'static [Entry],
}

/// What idles in the output stage.
pub const BIAS: Group = Group {
    name: "bias",
    entries: &[
        Entry::of::<idle_current::IdleCurrent>(),
        Entry::of::<dissipation::Dissipation>(),
        Entry::of::<stop_figures::StopFigures>(),
    ],
};

/// What a valve will do, by its published model.
pub const VALVE: Group = Group {
    name: "valve",
    entries: &[Entry::of::<idle_point::IdlePoint>(), Entry::of::<mains_drift::MainsDrift>()],
};

/// What the grids of the output valves see.
pub const GRID: Group = Group {
    name: "grid",
    entries: &[
        Entry::of::<bias_splitter::BiasSplitter>(),
        Entry::of::<grid_stopper::GridStopper>(),
        Entry::of::<coupling::Coupling>(),
        Entry::of::<lead_loss::LeadLoss>(),
    ],
};

/// What amplifies before the output valves.
pub const STAGE: Group = Group {
    name: "stage",
    entries: &[Entry::of::<gain_stage::GainStage>(), Entry::of::<phase_inverter::PhaseInverter>()],
};

/// What is sent to the grids, and how it is turned down.
pub const DRIVE: Group =
    Group { name: "drive", entries: &[Entry::of::<taper::Taper>(), Entry::of::<lead_order::LeadOrder>()] };

/// The master volume after the inverter: with the solver of networks a module of its own.
pub const MASTER: Group = Group { name: "master", entries: &[Entry::of::<master_volume::MasterVolume>()] };

/// What an amplifier does when it is tried.
pub const PROOF: Group = Group { name: "proof", entries: &[Entry::of::<output_power::OutputPower>()] };

/// What the mains does, and what stands between it and the amplifier.
pub const POWER: Group = Group {
    name: "power",
    entries: &[Entry::of::<lamp_limiter::LampLimiter>(), Entry::of::<discharge::Discharge>()],
};

/// What the limits of a procedure's readings are worked out by: the runner carries these, their answers alone.
pub const LIMITS: Group = Group {
    name: "limits",
    entries: &[
        Entry::answers_of::<lamp_limiter::LampLimiter>(),
        Entry::answers_of::<mains_drift::MainsDrift>(),
        Entry::answers_of::<stop_figures::StopFigures>(),
    ],
};

/// The register.
pub const GROUPS: [&Group; 8] = [&BIAS, &VALVE, &GRID, &STAGE, &DRIVE, &MASTER, &PROOF, &POWER];

/// The group of a calculator.
#[must_use]
pub fn group_of(id: &str) -> Option<&'static Group> {
    GROUPS.into_iter().find(|group| group.entries.iter().any(|entry| entry.sheet.id == id))
}
