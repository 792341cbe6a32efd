//! The procedures of the book, as files in `content/`, in the order of a job.

use crate::amplifier::circuit::{Bias, Circuit};

/// The staged power-up.
pub const POWER_UP: &str = "6-first-power-up/1-staged-power-up.md";

/// Whether a procedure applies to an amplifier.
pub type Applies = fn(&Circuit) -> bool;

/// Procedures, in the order of a job, and whether one applies to an amplifier.
pub const PROCEDURES: &[(&str, Applies)] = &[
    ("1-survey/1-cold-survey.md", |_| true),
    ("2-make-it-safe/1-discharge-and-prove.md", |_| true),
    ("2-make-it-safe/3-boards-and-controls.md", |_| true),
    ("6-first-power-up/3-re-form.md", |_| true),
    ("4-master-volume/4-fit-it.md", has_control),
    ("4-master-volume/5-prove-it.md", has_control),
    (POWER_UP, |_| true),
    ("3-output-stage/1-set-idle-current.md", is_fixed),
    ("5-stability/1-fit-grid-stoppers.md", |_| true),
    ("4-master-volume/9-take-it-out.md", has_control),
    ("12-hand-over/2-prove-close-hand-over.md", |_| true),
];

fn has_control(circuit: &Circuit) -> bool {
    circuit.control.is_some()
}

/// Whether its bias comes from a supply of its own.
#[must_use]
pub fn is_fixed(circuit: &Circuit) -> bool {
    matches!(circuit.bias, Bias::Fixed(_))
}
