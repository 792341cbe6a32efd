//! Faults put into the amplifiers of the family, their readings computed from the faulty circuits: each is stopped at or before
//! the first gate at which it could do harm. The table of the appendix is made of this.

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::fs;
use std::path::Path;

use tests::amplifier::faults::{BIAS, Fault, GRIDS, REST, SUPPLY, VALVES};

use crate::healthy::PROCEDURES;
use crate::technician::Technician;
use crate::walk::{Closed, Walk};

/// What came of a fault.
struct Outcome {
    fault: &'static Fault,
    /// The first gate that closed.
    first: Option<Closed>,
    /// The first hard one.
    hard: Option<Closed>,
    harm: Option<(usize, String, String)>,
}

fn walk(fault: &'static Fault) -> Outcome {
    let meters = fault.meters();
    let sound = meters.sound.clone();
    let mut walk = Walk::with(Technician { meters });
    for (page, applies) in PROCEDURES {
        if applies(&sound) && !walk.through(page) {
            break;
        }
    }
    let hard = walk.closed.iter().find(|closed| closed.hard).cloned();
    Outcome { fault, first: walk.closed.first().cloned(), hard, harm: walk.harm }
}
