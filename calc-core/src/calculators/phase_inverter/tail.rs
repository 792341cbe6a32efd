//! Two valves that share one tail: what they carry together, at rest and under drive.
//!
//! ```text
//! I_1(S) + I_2(S) = S      each on its line, S (R_k + R_t) below both: the more the tail carries, the less each valve draws
//! ```
//!
//! All in V, A and Ω.

use super::SHUT;
use super::found::{End, Ends, Wanted};
use crate::numeric::root::falling;
use crate::valve::{Drawn, Line, Triode};

/// A drive in V, and what both valves carry at it in A.
type AtDrive = (f64, [f64; 2]);

/// More than a way that leads there takes.
const STEPS: u32 = 12;
/// The most of what an anode has left that one step takes from it.
const LOST: f64 = 0.8;
/// A step as small as this, as a share of the tail's current, ends as near as a number goes: the digits that are right double
/// with each.
const CLOSE: f64 = 1e-7;

/// What a valve hangs between: its voltages from the chassis, and how they follow the tail.
#[derive(Clone, Copy)]
pub(super) struct Hung {
    /// What the line that its anode sees starts from, with no current.
    pub(super) feed: f64,
    pub(super) load: f64,
    /// From the cathodes, with no current in the tail.
    pub(super) grid: f64,
    /// By how much its grid falls from there with the tail's current.
    pub(super) grid_falls: f64,
}

/// Two identical valves, and from their cathodes to the chassis.
#[derive(Clone, Copy)]
pub(super) struct Tail {
    pub(super) triode: Triode,
    pub(super) below: f64,
}

impl Tail {
    /// What a valve draws while the tail carries `sum`, and how that follows the tail; looked for from `near`.
    fn drawn(&self, hung: Hung, sum: f64, near: f64) -> (f64, f64) {
        let Hung { feed, load, grid, grid_falls } = hung;
        let line = Line {
            anode: feed - sum * self.below,
            anode_falls: load,
            grid: grid - sum * grid_falls,
            grid_falls: 0.0,
        };
        let Drawn { current, by_grid, by_anode } = self.triode.on_line(line, near);
        (current, -(self.below * by_anode + grid_falls * by_grid) / (1.0 + load * by_anode))
    }

    /// Where the tail carries `own`, and what these valves draw as well; looked for from currents `near`.
    fn settled<const N: usize>(&self, hung: [Hung; N], own: f64, near: [f64; N]) -> [f64; N] {
        self.at_once(hung, own, near).unwrap_or_else(|| self.one_by_one(hung, own, near))
    }

    /// By Newton for all currents at once, which a short way leads to; `None` where it does not.
    fn at_once<const N: usize>(&self, hung: [Hung; N], own: f64, near: [f64; N]) -> Option<[f64; N]> {
        let mut currents = near;
        for _ in 0..STEPS {
            let sum = own + currents.iter().sum::<f64>();
            // Of each valve: what it draws more than it carries, how that falls with its own current and with the tail's.
            let mut off = [(0.0, 0.0, 0.0); N];
            for ((off, hung), current) in off.iter_mut().zip(hung).zip(currents) {
                let anode = hung.feed - sum * self.below - current * hung.load;
                let drawn = self.triode.at(anode, hung.grid - sum * hung.grid_falls);
                let falls = self.below * drawn.by_anode + hung.grid_falls * drawn.by_grid;
                *off = (drawn.current - current, 1.0 + hung.load * drawn.by_anode, falls);
            }
            let (more, falls) = off
                .iter()
                .fold((0.0, 1.0), |(more, falls), (over, own, tail)| (more + over / own, falls + tail / own));
            let mut next = currents;
            for (next, (over, own, tail)) in next.iter_mut().zip(off) {
                // A valve that shuts draws nothing at least.
                *next = (*next + (over - tail * more / falls) / own).max(0.0);
            }
            // With nothing left for its anode a valve draws nothing, and its slope says nothing: no step goes that far.
            let next_sum = own + next.iter().sum::<f64>();
            let mut part = 1.0_f64;
            for ((hung, current), next) in hung.iter().zip(currents).zip(next) {
                let across = hung.feed - sum * self.below - current * hung.load;
                let lost = across - (hung.feed - next_sum * self.below - next * hung.load);
                if lost > LOST * across {
                    part = part.min(LOST * across / lost);
                }
            }
            let mut step = [0.0; N];
            for ((step, current), next) in step.iter_mut().zip(&mut currents).zip(next) {
                *step = part * (next - *current);
                *current += *step;
            }
            let sum = own + currents.iter().sum::<f64>();
            // A step that was cut short is small without having arrived.
            if part >= 1.0 && step.iter().all(|step| step.abs() <= CLOSE * sum) {
                return Some(currents);
            }
        }
        None
    }

    /// The same by Newton for the tail's current, round searches for each valve's: always comes there.
    fn one_by_one<const N: usize>(&self, hung: [Hung; N], own: f64, near: [f64; N]) -> [f64; N] {
        let most = hung.iter().map(|hung| hung.feed / self.below).fold(own, f64::max);
        let begun = own + near.iter().sum::<f64>();
        // Each begins where the last step has it now.
        let mut last = near.map(|current| (current, 0.0));
        let mut last_sum = begun;
        let mut at = |sum: f64| {
            for (last, hung) in last.iter_mut().zip(hung) {
                *last = self.drawn(hung, sum, last.0 + last.1 * (sum - last_sum));
            }
            last_sum = sum;
            last
        };
        let sum = falling(own, most, begun, |sum| {
            let (drawn, slope) = at(sum).iter().fold((own, 0.0), |all, one| (all.0 + one.0, all.1 + one.1));
            (drawn - sum, slope - 1.0)
        });
        at(sum).map(|(current, _)| current)
    }

    /// Both valves where they and the tail agree; looked for from currents `near`. `None` where nothing is below them.
    pub(super) fn both(&self, hung: [Hung; 2], near: [f64; 2]) -> Option<[f64; 2]> {
        (self.below > 0.0).then(|| self.settled(hung, 0.0, near))
    }
}

/// The pair round its point of rest, for signals of any size.
#[derive(Clone, Copy)]
pub(super) struct Driven {
    pub(super) tail: Tail,
    /// Where both grids rest.
    pub(super) grid: f64,
    pub(super) rest: [f64; 2],
    pub(super) loads: [f64; 2],
    /// What the line that signals see starts from, with no current.
    pub(super) feeds: [f64; 2],
}

impl Driven {
    fn cathode(&self, currents: [f64; 2]) -> f64 {
        (currents[0] + currents[1]) * self.tail.below
    }

    /// A valve with its grid at a voltage from the chassis.
    fn hung(&self, side: usize, grid: f64) -> Hung {
        Hung { feed: self.feeds[side], load: self.loads[side], grid, grid_falls: self.tail.below }
    }

    /// A valve whose grid is at its cathode.
    fn open(&self, side: usize) -> Hung {
        Hung { grid_falls: 0.0, ..self.hung(side, 0.0) }
    }

    /// What both carry at this drive; looked for from currents `near`.
    fn at(&self, drive: f64, near: [f64; 2]) -> [f64; 2] {
        let hung = [self.hung(0, self.grid + drive), self.hung(1, self.grid)];
        self.tail.settled(hung, 0.0, near)
    }

    /// The drive that brings them to these currents; `None` where none does.
    fn drive(&self, currents: [f64; 2]) -> Option<f64> {
        let cathode = self.cathode(currents);
        let across = self.feeds[0] - currents[0] * self.loads[0] - cathode;
        Some(self.tail.triode.grid_for(across, currents[0])? + cathode - self.grid)
    }

    /// Upwards, the driven grid at its cathode.
    fn opened(&self) -> Option<AtDrive> {
        let hung = [self.open(0), self.hung(1, self.grid)];
        self.at_drive(self.tail.settled(hung, 0.0, self.rest))
    }

    /// Upwards, the other valve as good as shut: its current is known, and with it what its anode comes to while the tail
    /// carries `sum`.
    fn other_shut(&self) -> Option<AtDrive> {
        let Self { tail, grid, rest, .. } = *self;
        let (idle, last) = (rest[0] + rest[1], SHUT * rest[1]);
        let most = self.feeds[1].max(self.feeds[0]) / tail.below;
        let anode = self.feeds[1] - last * self.loads[1];
        let sum = falling(idle, most, idle, |sum| {
            let Drawn { current, by_grid, by_anode } =
                tail.triode.at(anode - sum * tail.below, grid - sum * tail.below);
            (current - last, -tail.below * (by_anode + by_grid))
        });
        self.at_drive([sum - last, last])
    }

    /// Downwards, the other grid, which does not move, where the cathodes have come to.
    fn other_opened(&self) -> Option<AtDrive> {
        let sum = self.grid / self.tail.below;
        let (drawn, _) = self.tail.drawn(self.open(1), sum, self.rest[1]);
        self.at_drive([sum - drawn, drawn])
    }

    /// Downwards, the driven valve as good as shut.
    fn shut(&self) -> Option<AtDrive> {
        let last = SHUT * self.rest[0];
        let [second] = self.tail.settled([self.hung(1, self.grid)], last, [self.rest[1]]);
        self.at_drive([last, second])
    }

    /// What both carry, with the drive that leads there; `None` where none does.
    fn at_drive(&self, currents: [f64; 2]) -> Option<AtDrive> {
        Some((self.drive(currents)?, currents))
    }

    /// How far it goes, as far as that is wanted; `None` where there is no end downwards.
    pub(super) fn ends(&self, wanted: Wanted) -> Option<Ends> {
        let mut all = [End::UNKNOWN; 4];
        for (place, end) in all.iter_mut().enumerate().filter(|(place, _)| wanted[*place]) {
            // What no drive leads to lies beyond the end of the same way that there always is.
            let (drive, currents) = match place {
                0 => self.opened(),
                1 => self.other_shut().or_else(|| self.opened()),
                2 => self.other_opened().or_else(|| self.shut()),
                _ => self.shut(),
            }?;
            let way = if place < 2 { 1.0 } else { -1.0 };
            let both = [currents, self.at(-drive, self.rest)];
            let [up, down] = if way > 0.0 { both } else { [both[1], both[0]] };
            *end = End {
                drive: way * drive,
                moved: [self.outputs(up), self.outputs(down)],
                cathodes: [up, down].map(|currents| self.cathode(currents) - self.cathode(self.rest)),
            };
        }
        Some(Ends::of(all))
    }

    /// The way from beyond one end to beyond the other.
    pub(super) fn course(&self, drive: f64) -> Vec<[f64; 3]> {
        let mut last = self.rest;
        let point = |step: i32| {
            let drive = drive * f64::from(step) / 32.0;
            last = self.at(drive, last);
            let [one, other] = self.outputs(last);
            [drive, one, other]
        };
        (-48..=48).map(point).collect()
    }

    /// How far each anode has moved.
    fn outputs(&self, currents: [f64; 2]) -> [f64; 2] {
        [0, 1].map(|side| (self.rest[side] - currents[side]) * self.loads[side])
    }
}
