//! One side of the stage, from the inverter to its grids: what a signal loses on the way, and what a grid sees at rest.
//!
//! The two sides carry opposite signals. What joins them then stays at rest, and each can be worked out alone:
//! the bias node is as good as earthed, and a control across the two grids is two halves that meet at rest. What both
//! carry in common (the inverter's imbalance) passes the bias node's own impedance, for each side twice.
//!
//! ```text
//! Z_b  = R_b ∥ 1/jωC_b                       the bias node to an alternating current
//! R_gc = R_s + n R_w + N R_b                 direct, one valve: R_w from wiper to bias, n valves on it, N in all
//! ```
//!
//! Units: Ω, F, Hz, V. Errors: none within the fields' ranges. Source: Ohm's law.

use std::f64::consts::TAU;

use super::ladder::{Ladder, ONE, capacitor, real};
use crate::circuit::Phasor;
use crate::numeric::root::root;
use crate::pot::Law;
use crate::quantity::{Quantity, Ratio};

/// Where the control sits, by its function.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Topology {
    /// A divider whose low end goes to the bias feed; no leaks.
    Divider,
    /// Rheostats across the leaks.
    Across,
    /// Rheostats instead of the leaks.
    Instead,
    /// One control across the two grids.
    Bridge,
    /// A divider to chassis before a second pair of coupling capacitors.
    Chassis,
}

/// Where the fail-safe resistor is soldered.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Place {
    /// At the pot, from its wiper lug to its low lug.
    Pot,
    /// At the socket's side of the wiper lead, on its own wire to the bias node.
    Socket,
    /// On the socket's grid tag, behind the stopper.
    Tag,
}

impl Place {
    /// All of them, the least first.
    pub(super) const ALL: [Self; 3] = [Self::Pot, Self::Socket, Self::Tag];

    pub(super) const fn words(self) -> &'static str {
        match self {
            Self::Pot => "at the pot",
            Self::Socket => "socket side of the lead",
            Self::Tag => "on the grid tag",
        }
    }
}

/// Everything from the inverter to the grids of one side, in SI units.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Circuit {
    pub(super) topology: Topology,
    pub(super) law: Law,
    pub(super) track: f64,
    /// What is left of the track at its low end.
    pub(super) end: f64,
    pub(super) safe: Option<(Place, f64)>,
    /// Output resistance of the inverter.
    pub(super) inverter: f64,
    pub(super) coupling: f64,
    /// The second pair, where there is one.
    pub(super) second: f64,
    /// The leak as it was before, and as it stays in some topologies.
    pub(super) leak: f64,
    pub(super) stopper: f64,
    /// Each valve's, the stage's gain counted.
    pub(super) input: f64,
    /// Of the whole lead.
    pub(super) lead: f64,
    pub(super) bias_source: f64,
    pub(super) bias_capacitor: f64,
    /// Valves on one side.
    pub(super) valves: f64,
}

/// What the two sides carry.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Drive {
    /// Opposite signals.
    Apart,
    /// The same signal on both sides.
    Alike,
}

impl Topology {
    /// Whether a fail-safe resistor does anything.
    pub(super) const fn takes_safe(self) -> bool {
        matches!(self, Self::Divider | Self::Instead)
    }

    /// Whether the leaks stay.
    pub(super) const fn keeps_leak(self) -> bool {
        matches!(self, Self::Across | Self::Bridge | Self::Chassis)
    }

    /// Whether the lead's screen carries the bias.
    pub(super) const fn screen_at_bias(self) -> bool {
        matches!(self, Self::Divider | Self::Across | Self::Instead)
    }

    pub(super) const fn is_divider(self) -> bool {
        matches!(self, Self::Divider | Self::Chassis)
    }
}

impl Circuit {
    /// The track above and below the wiper, its end counted.
    pub(super) fn parts(&self, share: Ratio) -> (f64, f64) {
        ((1.0 - share.si()) * self.track, share.si() * self.track + self.end)
    }

    /// The fail-safe resistor, if it is here.
    fn safe_at(&self, at: &[Place]) -> f64 {
        self.safe.filter(|(place, _)| at.contains(place)).map_or(0.0, |(_, safe)| 1.0 / safe)
    }

    /// From the grids back to the coupling capacitor, and what the inverter sees there.
    fn behind_inverter(&self, share: Ratio, drive: Drive, frequency: f64) -> Ladder {
        let omega = TAU * frequency;
        let (above, below) = self.parts(share);
        let lead = capacitor(self.lead, omega);
        let safe = real(self.safe_at(&[Place::Pot, Place::Socket]));
        let (leak, track) = (real(1.0 / self.leak), real(1.0 / below));
        let grids = |to_bias| self.grids(to_bias, drive, omega);
        let side = match self.topology {
            Topology::Divider => grids(track + safe + lead).series(real(above)),
            Topology::Across => grids(leak + track + lead),
            Topology::Instead => grids(track + safe + lead),
            Topology::Bridge => {
                // Between equal grids no current flows.
                let half = if drive == Drive::Alike { real(0.0) } else { track.times(2.0) };
                grids(leak).across(half + lead)
            }
            Topology::Chassis => grids(leak)
                .series(capacitor(self.second, omega).inverse())
                .across(track + lead)
                .series(real(above)),
        };
        side.series(capacitor(self.coupling, omega).inverse())
    }

    /// The grids and all that goes from the point before their stoppers to the bias node, seen from that point at 1 V. Where
    /// both sides carry the same, their currents meet at the bias node and lift it; else it stays at rest.
    ///
    /// ```text
    /// D = 1 + Z_s (y_t + y_g)                                        y_t the tags to the bias node, y_g the grids
    /// b = 2 Z_b (y + y_t / D) / (1 + 2 Z_b (y + y_t − Z_s y_t² / D))   the bias node
    /// g = (1 + Z_s y_t b) / D                                        the grids
    /// ```
    fn grids(&self, to_bias: Phasor, drive: Drive, omega: f64) -> Ladder {
        let own = capacitor(self.input * self.valves, omega);
        let tag = real(self.safe_at(&[Place::Tag]) * self.valves);
        let stopper = self.stopper / self.valves;
        let node = match drive {
            Drive::Apart => real(0.0),
            Drive::Alike => self.bias_node(omega).times(2.0),
        };
        let behind = (ONE + (tag + own).times(stopper)).inverse();
        let through = to_bias + tag - (tag * tag * behind).times(stopper);
        let bias = node * (to_bias + tag * behind) * (ONE + node * through).inverse();
        let grid = (ONE + (tag * bias).times(stopper)) * behind;
        Ladder { gain: grid, admittance: grid * (tag + own) - bias * tag + to_bias * (ONE - bias) }
    }

    /// The bias node's impedance; none where its source has none.
    fn bias_node(&self, omega: f64) -> Phasor {
        if self.bias_source > 0.0 {
            (real(1.0 / self.bias_source) + capacitor(self.bias_capacitor, omega)).inverse()
        } else {
            real(0.0)
        }
    }

    /// The voltage at the grids, of the inverter's with nothing on it.
    pub(super) fn gain(&self, share: Ratio, drive: Drive, frequency: f64) -> Phasor {
        self.behind_inverter(share, drive, frequency).series(real(self.inverter)).gain
    }

    /// The same in decibels, the sides apart.
    pub(super) fn decibels(&self, share: Ratio, frequency: f64) -> f64 {
        level(self.gain(share, Drive::Apart, frequency).amplitude())
    }

    /// What each side of the inverter sees, in Ω.
    pub(super) fn load(&self, share: Ratio, frequency: f64) -> f64 {
        1.0 / self.behind_inverter(share, Drive::Apart, frequency).admittance.amplitude()
    }

    /// What is below the wiper at a mark of the knob.
    pub(super) fn share(&self, mark: u8) -> Ratio {
        self.law.share(Ratio::of(f64::from(mark) / 10.0))
    }

    /// The least that each side of the inverter sees, at the marks from 0 to 10, in Ω.
    pub(super) fn load_least(&self, frequency: f64) -> f64 {
        let most = |mark| self.behind_inverter(self.share(mark), Drive::Apart, frequency).admittance.square();
        1.0 / libm::sqrt((0..=10).map(most).fold(0.0, f64::max))
    }

    /// Where half the power is left of that at `middle`, towards `far`, in Hz: the trade's −3 dB.
    pub(super) fn corner(&self, share: Ratio, middle: f64, far: f64) -> f64 {
        let square = |frequency| self.gain(share, Drive::Apart, frequency).square();
        let least = square(middle) / 2.0;
        let step = if far > middle { 10.0 } else { 0.1 };
        let (mut inside, mut outside) = (middle, middle * step);
        while square(outside) >= least && (outside < far) == (middle < far) {
            (inside, outside) = (outside, outside * step);
        }
        // Of one resistance and one capacitance the loss of power is straight in f², or in 1/f²: so it nearly is here.
        let treble = far > middle;
        let along = |f: f64| if treble { f * f } else { 1.0 / (f * f) };
        let back = |along: f64| if treble { libm::sqrt(along) } else { 1.0 / libm::sqrt(along) };
        let loss = |along: f64| 1.0 / square(back(along)) - 1.0 / least;
        root(along(inside), along(outside), loss).map_or(outside, back)
    }

    /// The level at 1 kHz before there was a master: the leaks alone.
    pub(super) fn before(&self, frequency: f64) -> f64 {
        let omega = TAU * frequency;
        let whole = Ladder::END
            .across(capacitor(self.input * self.valves, omega))
            .series(real(self.stopper / self.valves))
            .across(real(1.0 / self.leak))
            .series(capacitor(self.coupling, omega).inverse())
            .series(real(self.inverter));
        level(whole.gain.amplitude())
    }

    /// From the point before the stopper to the bias node, direct, once for each of the side's valves; the fail-safe
    /// resistor on a grid tag is not in it.
    pub(super) fn leak_at(&self, share: Ratio) -> f64 {
        let (_, below) = self.parts(share);
        match self.topology {
            Topology::Divider | Topology::Instead => {
                1.0 / (1.0 / below + self.safe_at(&[Place::Pot, Place::Socket]))
            }
            Topology::Across => 1.0 / (1.0 / below + 1.0 / self.leak),
            Topology::Bridge | Topology::Chassis => self.leak,
        }
    }

    /// The grid circuit of one valve, direct; every valve is taken to draw the same.
    pub(super) fn grid_circuit(&self, share: Ratio) -> f64 {
        let own = self.stopper + self.valves * self.leak_at(share);
        1.0 / (1.0 / own + self.safe_at(&[Place::Tag])) + self.all_valves() * self.bias_source
    }

    /// The same with nothing but the fail-safe resistor left to hold the grid.
    pub(super) fn grid_circuit_lifted(&self) -> Option<f64> {
        let (place, safe) = self.safe?;
        let own = if place == Place::Tag { safe } else { self.stopper + self.valves * safe };
        Some(own + self.all_valves() * self.bias_source)
    }

    /// From a grid tag to the bias node, direct, where nothing but the fail-safe resistors hold it: its own, and through both
    /// stoppers those of the side's other valves.
    pub(super) fn held_by_safe(&self) -> Option<f64> {
        let (place, safe) = self.safe?;
        Some(match place {
            Place::Tag => {
                let others = (self.valves - 1.0) / (safe + self.valves * self.stopper);
                1.0 / (1.0 / safe + others)
            }
            Place::Pot | Place::Socket => safe + self.stopper,
        })
    }

    /// What the fail-safe resistors of a side are from the wiper to the bias node: one for each valve, behind its stopper,
    /// where they are at the tags.
    pub(super) fn safe_from_wiper(&self) -> Option<f64> {
        let (place, safe) = self.safe?;
        Some(if place == Place::Tag { (safe + self.stopper) / self.valves } else { safe })
    }

    /// How many valves there are on both sides together.
    pub(super) fn all_valves(&self) -> f64 {
        2.0 * self.valves
    }

    /// What is left at a grid with the knob at 0, of full up, in decibels at `frequency`: what the end of the track lets
    /// through, and what the imbalance of the inverter leaves at the bias node.
    pub(super) fn residual(&self, imbalance: f64, frequency: f64) -> f64 {
        let at_zero = self.law.share(Ratio::of(0.0));
        let apart = self.gain(at_zero, Drive::Apart, frequency).times(1.0 - imbalance / 2.0);
        let alike = self.gain(at_zero, Drive::Alike, frequency).times(imbalance / 2.0);
        let full = self.gain(self.law.full_up(), Drive::Apart, frequency).amplitude();
        level((apart + alike).amplitude() / full)
    }
}

/// Decibels of a ratio of voltages.
pub(super) fn level(ratio: f64) -> f64 {
    20.0 * libm::log10(ratio)
}
