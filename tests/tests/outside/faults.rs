//! Faults put into the amplifiers of the family, their readings computed from the faulty circuits: each is stopped at or before
//! the first gate at which it could do harm. The table of the appendix is made of this (`gates.rs`).

use std::collections::BTreeMap;
use std::thread;

use tests::amplifier::family::called;
use tests::amplifier::faults::{BIAS, Fault, GRIDS, REST, SUPPLY, VALVES};
use tests::amplifier::harm::harm;
use tests::amplifier::meters::Meters;

use tests::amplifier::technician::Technician;
use tests::walk::procedures::{POWER_UP, PROCEDURES};
use tests::walk::{Closed, Visit, Walk};

/// The groups of the table.
pub const GROUPS: [(&str, &[Fault]); 5] = [
    ("Driver, coupling and grids", GRIDS),
    ("Bias supply", BIAS),
    ("Valves and their sockets", VALVES),
    ("HT, mains and earth", SUPPLY),
    ("Load, feedback, control and tools", REST),
];

/// Faults that no gate stops and that do no harm by the rules: what, and why nothing shows.
pub const UNSEEN: [(&str, &str); 6] = [
    (
        "both bias capacitors dried out, a tenth left",
        "two stages still filter: less than 0.1 V of ripple is left, and the bias is low by less than a twentieth",
    ),
    (
        "trimmer's wiper open",
        "the trimmer is at the foot of the divider, so the bias becomes more negative: noted, not stopped",
    ),
    (
        "bypass capacitor leaks, 120 Ω",
        "the cathode still reads within its limits, and the anode stays within its rated watts",
    ),
    (
        "one anode of the rectifier valve without emission",
        "the HT is low by less than the limit allows; hum has no gate",
    ),
    (
        "standby switch bridged",
        "the HT is not held back, so the amplifier follows the branch for those without a switch",
    ),
    (
        "standby switch burnt, 100 kΩ across it",
        "the same: the anode reads over 30 V on standby, so it counts as one without a switch",
    ),
];

/// Faults that only what is read before the staged power-up stops in time.
pub const EARLIER: [&str; 0] = [];

/// What came of a fault.
pub struct Outcome {
    pub fault: &'static Fault,
    /// The gates that closed, in their order; the last one is the hard one, if any is.
    pub closed: Vec<Closed>,
    /// Where it could do harm first, and what.
    pub harm: Option<(Visit, String)>,
    /// Harm in the staged power-up, had nobody read anything before it, that its own gates do not stop in time.
    pub late_alone: Option<(Visit, String)>,
}

impl Outcome {
    pub fn first(&self) -> Option<&Closed> {
        self.closed.first()
    }

    pub fn hard(&self) -> Option<&Closed> {
        self.closed.iter().find(|closed| closed.hard)
    }

    /// What is wrong with it, if the gates do not do what they are for.
    fn wrong(&self) -> Option<String> {
        let unseen = UNSEEN.iter().any(|(words, _)| *words == self.fault.words);
        match (self.first(), &self.harm) {
            (Some(first), Some((visit, what))) if first.at > visit.at => {
                Some(format!("{what} at {visit:?}, but the first gate is {first:?}"))
            }
            (None, Some((visit, what))) => Some(format!("{what} at {visit:?}, and no gate")),
            _ if self.late_alone.is_some() != EARLIER.contains(&self.fault.words) => {
                Some(format!("the power-up alone: {:?}; the list says otherwise", self.late_alone))
            }
            (None, None) if !unseen => Some("no gate closes, and the list does not say so".into()),
            (Some(first), _) if unseen => Some(format!("the list says that no gate closes: {first:?}")),
            _ => None,
        }
    }
}

/// Walks all procedures that apply to an amplifier, until a hard gate stays shut.
fn walk(meters: Meters) -> Walk {
    let sound = meters.sound.clone();
    let mut walk = Walk::with(Technician { meters });
    for (page, applies) in PROCEDURES {
        if applies(&sound) && !walk.through(page) {
            break;
        }
    }
    walk
}

/// Walks a faulty amplifier. Had nobody stopped, it would have gone the way of the sound one: along that way, too, it is looked
/// where it first does harm.
fn outcome(fault: &'static Fault, way: &[Visit]) -> Outcome {
    let all = walk(fault.meters());
    let closed = all.closed;
    let harm = first_harm(&all.technician.meters, all.visits.iter().chain(way));
    let mut alone = Walk::with(all.technician);
    alone.through(POWER_UP);
    let page = PROCEDURES.iter().position(|(page, _)| *page == POWER_UP);
    let of_page = way.iter().filter(|visit| Some(visit.at.page) == page);
    let late_alone = first_harm(&alone.technician.meters, alone.visits.iter().chain(of_page))
        .filter(|(visit, _)| alone.closed.first().is_none_or(|first| first.at > visit.at));
    Outcome { fault, closed, harm, late_alone }
}

/// The first of these readings at which there is harm.
fn first_harm<'v>(meters: &Meters, visits: impl Iterator<Item = &'v Visit>) -> Option<(Visit, String)> {
    let mut visits: Vec<&Visit> = visits.collect();
    visits.sort_by_key(|visit| visit.at);
    visits.into_iter().find_map(|visit| Some((visit.clone(), harm(meters, visit.state)?)))
}

/// Every fault walked, in the order of the table; on two threads.
pub fn outcomes() -> Vec<Outcome> {
    let all: Vec<&'static Fault> = GROUPS.iter().flat_map(|(_, faults)| *faults).collect();
    let half = |faults: &[&'static Fault]| {
        let mut ways = BTreeMap::new();
        let walked = faults.iter().map(|fault| {
            let sound = || walk(Meters::new(called(fault.amplifier), called(fault.amplifier))).visits;
            outcome(fault, ways.entry(fault.amplifier).or_insert_with(sound))
        });
        walked.collect::<Vec<_>>()
    };
    let (one, other) = all.split_at(all.len() / 2);
    thread::scope(|scope| {
        let second = scope.spawn(|| half(other));
        let mut first = half(one);
        first.extend(second.join().expect("the other half"));
        first
    })
}

#[test]
fn every_fault_is_stopped_before_it_does_harm_and_the_appendix_says_where() {
    let outcomes = outcomes();
    assert!(outcomes.len() >= 60, "{} faults", outcomes.len());
    let wrong: Vec<String> = outcomes
        .iter()
        .filter_map(|outcome| {
            Some(format!("{}, {}: {}", outcome.fault.amplifier, outcome.fault.words, outcome.wrong()?))
        })
        .collect();
    crate::gates::compare(&outcomes);
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}
