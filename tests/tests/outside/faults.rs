//! Faults put into the amplifiers of the family, their readings computed from the faulty circuits: each is stopped at or before
//! the first gate at which it could do harm. The table of the appendix is made of this.

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
    /// After how many steps it does harm, at which reading, and what.
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

/// Every fault walked, in the order of the table; two at a time.
fn outcomes() -> Vec<Outcome> {
    let all: Vec<&'static Fault> = [GRIDS, BIAS, VALVES, SUPPLY, REST].into_iter().flatten().collect();
    let (one, other) = all.split_at(all.len() / 2);
    std::thread::scope(|scope| {
        let second = scope.spawn(|| other.iter().map(|fault| walk(fault)).collect::<Vec<_>>());
        let mut first: Vec<Outcome> = one.iter().map(|fault| walk(fault)).collect();
        first.extend(second.join().expect("the other half"));
        first
    })
}

#[test]
fn sketch_faults() {
    let start = std::time::Instant::now();
    let gate = |closed: &Option<Closed>| match closed {
        Some(closed) => format!("{}:{} {} {:?} ({})", closed.at, closed.id, if closed.hard { "HARD" } else { "soft" }, closed.read, closed.why),
        None => "-".into(),
    };
    for Outcome { fault, first, hard, harm } in outcomes() {
        let late = match (&first, &harm) {
            (Some(first), Some(harm)) => first.at > harm.0,
            (None, Some(_)) => true,
            _ => false,
        };
        println!("{} {} | {}\n      {}\n      {}\n      {harm:?}", if late { "LATE" } else if first.is_none() { "NONE" } else { "ok" }, fault.amplifier, fault.words, gate(&first), gate(&hard));
    }
    println!("{:?}", start.elapsed());
}
