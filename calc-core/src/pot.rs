//! Potentiometers: the law of the track, and what becomes of it between a driver and a load.
//!
//! A track as made is straight segments between corners: dead at both ends, one or two slopes between. No logarithm.
//!
//! ```text
//! x(n)                       share of the track between low end and wiper at rotation n, straight between corners
//! R_1 = R_d + (1 − x) R_P    above the wiper, driver included
//! R_2 = x R_P ∥ R_w          below it; R_w is all that hangs from the wiper to the low end
//! V / E = R_2 / (R_1 + R_2)  E is the driver's voltage with nothing on it
//! R_s = R_1 ∥ R_2            what the wiper looks like to a grid and its capacitance
//! ```
//!
//! Units: Ω; rotation and shares as ratios from 0 to 1. Range: any law that never falls. Errors: [`Flaw`], of measured
//! points only. Source: Ohm's law; the corners from the makers' sheets.

use crate::quantity::{ElectricalResistance, Quantity, Ratio};

/// A corner of a law.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Corner {
    /// Of the whole way from stop to stop.
    pub rotation: Ratio,
    /// Of the track, between its low end and the wiper.
    pub share: Ratio,
}

impl Corner {
    /// A corner from plain numbers.
    #[must_use]
    pub fn new(rotation: f64, share: f64) -> Self {
        Self { rotation: Ratio::of(rotation), share: Ratio::of(share) }
    }
}

/// The law of a track: corners from stop to stop, at least two, their shares never falling.
#[derive(Debug, Clone, PartialEq)]
pub struct Law(Vec<Corner>);

/// What is wrong with measured points.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum Flaw {
    /// They do not reach from stop to stop.
    #[error("The points must begin at one stop and end at the other.")]
    Ends,
    /// Somewhere less of the track is below the wiper than before.
    #[error("The readings fall as the knob rises: measured from the other end, or a worn track.")]
    Falls,
    /// Even at the upper stop there is nothing.
    #[error("The last point reads zero: the wiper, or the meter, is on the wrong lug.")]
    Nothing,
}

impl Law {
    /// A track as made in two straight segments: `centre` of it is below the wiper at half rotation, and it is dead for
    /// the first and the last part of the rotation, each less than half of it. A reverse law is the rest of an audio law.
    #[must_use]
    pub fn made(centre: Ratio, dead_low: Ratio, dead_high: Ratio) -> Self {
        let (from, to) = (dead_low.si(), 1.0 - dead_high.si());
        let middle = Corner::new(0.5, centre.si().clamp(0.0, 1.0));
        let (low, high) = (Corner::new(from, 0.0), Corner::new(to, 1.0));
        Self(vec![Corner::new(0.0, 0.0), low, middle, high, Corner::new(1.0, 1.0)])
    }

    /// A linear track: straight along its live part.
    #[must_use]
    pub fn straight(dead_low: Ratio, dead_high: Ratio) -> Self {
        let (low, high) = (Corner::new(dead_low.si(), 0.0), Corner::new(1.0 - dead_high.si(), 1.0));
        Self(vec![Corner::new(0.0, 0.0), low, high, Corner::new(1.0, 1.0)])
    }

    /// A law as someone measured it, from stop to stop.
    ///
    /// # Errors
    /// A [`Flaw`], where the points are no law.
    pub fn measured(corners: Vec<Corner>) -> Result<Self, Flaw> {
        let ends = corners.first().zip(corners.last());
        let Some((_, last)) =
            ends.filter(|(first, last)| first.rotation == Ratio::of(0.0) && last.rotation == Ratio::of(1.0))
        else {
            return Err(Flaw::Ends);
        };
        if last.share.si() <= 0.0 {
            return Err(Flaw::Nothing);
        }
        if corners.is_sorted_by(|a, b| a.rotation <= b.rotation && a.share <= b.share) {
            Ok(Self(corners))
        } else {
            Err(Flaw::Falls)
        }
    }

    /// All corners, from stop to stop.
    #[must_use]
    pub fn corners(&self) -> &[Corner] {
        &self.0
    }

    /// The corners on both sides of a rotation; at a corner the one before it and itself.
    #[must_use]
    pub fn segment(&self, rotation: Ratio) -> (Corner, Corner) {
        let pairs = self.0.iter().zip(self.0.iter().skip(1));
        let mut wide = pairs.filter(|(from, to)| from.rotation < to.rotation);
        let around = wide.find(|(_, to)| rotation <= to.rotation);
        let stop = self.0.last().copied().unwrap_or(Corner::new(1.0, 1.0));
        around.map_or((stop, stop), |(from, to)| (*from, *to))
    }

    /// The share of the track between its low end and the wiper.
    #[must_use]
    pub fn share(&self, rotation: Ratio) -> Ratio {
        let (from, to) = self.segment(rotation);
        if from.share == to.share {
            return from.share;
        }
        let along = (rotation - from.rotation) / (to.rotation - from.rotation);
        // Exact at both corners, so that full up is full up.
        from.share * (Ratio::of(1.0) - along) + to.share * along
    }

    /// The share at the upper stop.
    #[must_use]
    pub fn full_up(&self) -> Ratio {
        self.share(Ratio::of(1.0))
    }

    /// The lowest rotation at which the share satisfies `reached`, which once satisfied stays so: the lower stop where
    /// it always is, the upper where it never is.
    #[must_use]
    pub fn rotation_where(&self, reached: impl Fn(Ratio) -> bool) -> Ratio {
        let (mut below, mut at) = (0.0, 1.0);
        if reached(self.share(Ratio::of(below))) {
            return Ratio::of(below);
        }
        // Each step halves the bracket: 50 leave nothing of it.
        for _ in 0..50 {
            let middle = f64::midpoint(below, at);
            if reached(self.share(Ratio::of(middle))) {
                at = middle;
            } else {
                below = middle;
            }
        }
        Ratio::of(at)
    }
}

/// A track between a driver and what hangs from its wiper to its low end.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Divider {
    /// Resistance of the track from end to end.
    pub track: ElectricalResistance,
    /// The resistance it is driven from.
    pub driver: ElectricalResistance,
    /// All resistance from the wiper to the low end; `None` for a grid alone.
    pub load: Option<ElectricalResistance>,
}

impl Divider {
    /// Above the wiper, driver included.
    #[must_use]
    pub fn above(&self, share: Ratio) -> ElectricalResistance {
        self.driver + self.track * (Ratio::of(1.0) - share)
    }

    /// Below the wiper, load included.
    #[must_use]
    pub fn below(&self, share: Ratio) -> ElectricalResistance {
        let track = self.track * share;
        self.load.map_or(track, |load| parallel(track, load))
    }

    /// The voltage at the wiper, of the driver's with nothing on it.
    #[must_use]
    pub fn output(&self, share: Ratio) -> Ratio {
        let below = self.below(share);
        below / (self.above(share) + below)
    }

    /// The resistance that a grid sees looking back into the wiper.
    #[must_use]
    pub fn source(&self, share: Ratio) -> ElectricalResistance {
        parallel(self.above(share), self.below(share))
    }

    /// The share, up to `most`, at which the source resistance is highest: where as much is above the wiper as below.
    #[must_use]
    pub fn worst_share(&self, most: Ratio) -> Ratio {
        // The load hangs across the wiper at any setting, so it does not move the worst one.
        ((self.driver + self.track) / (self.track * 2.0)).min(most)
    }
}

/// Two resistances side by side.
#[must_use]
pub fn parallel(a: ElectricalResistance, b: ElectricalResistance) -> ElectricalResistance {
    a * (b / (a + b))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn ohms(value: f64) -> ElectricalResistance {
        ElectricalResistance::of(value)
    }

    fn made(centre: f64, dead: f64) -> Law {
        Law::made(Ratio::of(centre), Ratio::of(dead), Ratio::of(dead))
    }

    #[test]
    fn a_law_as_made_is_two_straight_segments_not_a_logarithm() {
        // A data sheet's 15 % at half rotation; an exponential through it would have 4.4 % at a quarter.
        let law = made(0.15, 0.0);
        for (rotation, share) in [(0.1, 0.03), (0.25, 0.075), (0.5, 0.15), (0.75, 0.575), (0.9, 0.83)] {
            assert!((law.share(Ratio::of(rotation)).si() - share).abs() < 1e-12, "{rotation}");
        }
        assert_eq!(law.full_up(), Ratio::of(1.0));
    }

    #[test]
    fn the_ends_are_dead() {
        let law = made(0.5, 0.1);
        for (rotation, share) in [(0.0, 0.0), (0.1, 0.0), (0.3, 0.25), (0.5, 0.5), (0.9, 1.0), (0.95, 1.0)] {
            assert!((law.share(Ratio::of(rotation)).si() - share).abs() < 1e-12, "{rotation}");
        }
    }

    #[test]
    fn points_that_are_no_law_are_refused() {
        let corners = |points: &[(f64, f64)]| points.iter().map(|(n, x)| Corner::new(*n, *x)).collect();
        for (points, flaw) in [
            (&[(0.1, 0.0), (1.0, 1.0)][..], Flaw::Ends),
            (&[(0.0, 0.0), (0.9, 1.0)], Flaw::Ends),
            (&[], Flaw::Ends),
            (&[(0.0, 0.0), (0.5, 0.4), (0.6, 0.3), (1.0, 1.0)], Flaw::Falls),
            (&[(0.0, 1.0), (1.0, 0.0)], Flaw::Nothing),
        ] {
            assert_eq!(Law::measured(corners(points)), Err(flaw));
        }
    }

    #[test]
    fn the_worst_source_resistance_is_a_quarter_of_the_track() {
        let divider = Divider { track: ohms(220e3), driver: ohms(0.0), load: None };
        let worst = divider.worst_share(Ratio::of(1.0));
        assert!((divider.source(worst).si() - 55e3).abs() < 1e-6);
        // From a driver of more than the track it is worst full up.
        let driven = Divider { driver: ohms(300e3), ..divider };
        assert_eq!(driven.worst_share(Ratio::of(1.0)), Ratio::of(1.0));
    }

    proptest! {
        #[test]
        fn turning_up_never_turns_down(
            centre in 0.0..1.0f64, dead in 0.0..0.2f64, driver in 0.0..1e6f64, load in proptest::option::of(1e3..1e7f64),
            from in 0.0..1.0f64, more in 0.0..0.2f64,
        ) {
            let law = made(centre, dead);
            let divider = Divider { track: ohms(250e3), driver: ohms(driver), load: load.map(ohms) };
            let at = |rotation: f64| divider.output(law.share(Ratio::of(rotation.min(1.0)))).si();
            prop_assert!(at(from) <= at(from + more) + 1e-12);
            prop_assert!((0.0..=1.0).contains(&at(from)));
        }

        #[test]
        fn no_setting_is_worse_than_the_worst(
            share in 0.0..1.0f64, driver in 0.0..1e6f64, load in proptest::option::of(1e3..1e7f64),
        ) {
            let divider = Divider { track: ohms(250e3), driver: ohms(driver), load: load.map(ohms) };
            let worst = divider.source(divider.worst_share(Ratio::of(1.0)));
            prop_assert!(divider.source(Ratio::of(share)).si() <= worst.si() * (1.0 + 1e-12));
        }

        #[test]
        fn a_share_is_found_again(centre in 0.01..0.99f64, dead in 0.0..0.2f64, share in 0.001..0.999f64) {
            let law = made(centre, dead);
            let rotation = law.rotation_where(|at| at.si() >= share);
            prop_assert!((law.share(rotation).si() - share).abs() < 1e-9);
        }
    }
}
