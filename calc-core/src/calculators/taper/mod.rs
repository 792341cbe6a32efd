//! The law of a control: what a potentiometer makes of the way from 0 to 10, in the circuit it sits in.
//!
//! ```text
//! V / V_10 = (V / E) / (V_10 / E)     each from `pot`; levels count down from full up
//! L        = 20 lg (V / V_10)
//! x'       = x · 10^(−e / 20)          the other gang, e dB lower on its track
//! ```
//!
//! Units: Ω, dB, degrees; the knob from 0 to 10. Range: any law that never falls. Errors: measured points that are no
//! law. Source: Ohm's law; shares at half rotation and tracking from makers' sheets; the two straight segments and
//! their spread are common practice.

mod words;

#[cfg(test)]
mod tests;

use crate::calculator::{Answer, Ask, Calculator, Impossible, Margins, Report, Sheet, Side};
use crate::pot::{Corner, Divider, Law, parallel};
use crate::quantity::unit::{DECIBEL, DECIBEL_PER_DEGREE, DEGREE, OHM, ONE, PER_CENT};
use crate::quantity::{ElectricalResistance, Quantity, Ratio};
use crate::source::{
    ALPS_RK271, BOURNS_81_82, BOURNS_PDB24, GUM, OMEG_POTS, POT_LISTING, PRACTICE, TAPER_CODES,
};

/// The knob's own scale.
const KNOB: Side = Side { name: "place", unit: &ONE, low: 0.0, high: 10.0 };
const SHARE: Side = Side { name: "reading", unit: &PER_CENT, low: 0.0, high: 1.0 };
const OHMS: Side = Side { name: "reading", unit: &OHM, low: 0.0, high: 100e6 };

/// A control, where it sits, and where it stands.
pub struct Taper {
    kind: Kind,
    track: Track,
    /// From stop to stop, in degrees.
    angle: f64,
    driver: ElectricalResistance,
    load: Option<ElectricalResistance>,
    shunt: Option<ElectricalResistance>,
    /// By how many decibels the two gangs differ; `None` for one gang.
    mismatch: Option<f64>,
    /// Where the knob stands, of the whole way.
    rotation: Ratio,
}

/// What law the track has.
#[derive(Clone, Copy, PartialEq)]
enum Kind {
    Audio,
    Linear,
    Reverse,
    /// The reader's points, as shares of the track.
    Shares,
    /// The reader's points, in ohms from the low end.
    Ohms,
}

/// The track.
enum Track {
    Made { centre: Ratio, dead_low: f64, dead_high: f64, resistance: ElectricalResistance },
    Shares { points: Vec<(f64, f64)>, resistance: ElectricalResistance },
    Ohms { points: Vec<(f64, f64)> },
}

/// What was found.
pub struct Found {
    law: Law,
    divider: Divider,
    angle: f64,
    share: Ratio,
    /// Of the driver's voltage, here and full up.
    output: Ratio,
    full_up: Ratio,
    /// Of the voltage at full up.
    fraction: Ratio,
    /// `None` where nothing comes out.
    levels: Option<Levels>,
    at_forty: Ratio,
    at_six: Ratio,
    worst_at: Ratio,
    worst: ElectricalResistance,
    sides: Option<Sides>,
}

/// Levels below full up, in decibels.
struct Levels {
    here: f64,
    /// By the law of the track alone.
    made: f64,
    /// What one degree more adds, and one degree less takes away; `None` past a stop or where nothing is left.
    up: Option<f64>,
    down: Option<f64>,
}

/// The two gangs against each other.
struct Sides {
    /// On the track, in decibels.
    tracking: f64,
    /// Of the two voltages in the circuit.
    ratio: Ratio,
}

impl Calculator for Taper {
    const SHEET: &'static Sheet = &Sheet {
        id: "taper",
        title: "The law of a control",
        question: "What will this pot feel like in this circuit, and how alike are its two sides?",
        edition: 1,
        leaves_out: &[
            "Resistances only: what the grid and a lead take away at high frequencies grows with the source resistance.",
            "Levels are counted from full up; at the lower stop a real track leaves up to 1 % of itself, not nothing.",
            "Laws as made are two straight segments that meet half way; some tracks have three.",
            "The two gangs are taken to have the same total resistance.",
            "At its ends the wiper rests on metal: there the gangs are taken to be alike.",
        ],
        sources: &[
            &TAPER_CODES,
            &OMEG_POTS,
            &BOURNS_PDB24,
            &BOURNS_81_82,
            &ALPS_RK271,
            &POT_LISTING,
            &PRACTICE,
            &GUM,
        ],
    };
    type Found = Found;

    fn ask(a: &mut Ask) -> Self {
        let kind = a.choice(
            "law",
            "Law of the track",
            "Measure it: the letter on the case means different things from different makers.",
            &[
                ("audio", "audio, slow at first", Kind::Audio),
                ("linear", "linear", Kind::Linear),
                ("reverse", "reverse audio, slow at last", Kind::Reverse),
                ("points", "my own points, in per cent", Kind::Shares),
                ("ohm-points", "my own points, in ohms", Kind::Ohms),
            ],
        );
        let track = ask_track(a, kind);
        let angle = a
            .quantity("angle", "", "Rotation from stop to stop", "300°")
            .hint("By the sheet; nearly all panel pots turn through 300°.")
            .within("200°", "355°")
            .get_in(&DEGREE);
        let driver = a
            .quantity("driver", "R_d", "Driven from", "47k")
            .hint("Output resistance of the stage before it. 0 for a stiff source.")
            .within("0R", "10M")
            .tolerance("20 %")
            .get();
        let resistor = |a: &mut Ask, given: bool, id, symbol, name, default| {
            given.then(|| a.quantity(id, symbol, name, default).within("100R", "100M").tolerance("5 %").get())
        };
        let loaded = a.choice(
            "loaded",
            "Load on the wiper",
            "A grid leak or a fail-safe resistor is one.",
            &[("yes", "a resistor", true), ("no", "a grid alone", false)],
        );
        let load = resistor(a, loaded, "load", "R_L", "Load, wiper to low end", "2M2");
        let shunted = a.choice(
            "shunted",
            "Shunt that bends the law",
            "",
            &[("no", "none", false), ("yes", "from wiper to low end", true)],
        );
        let shunt = resistor(a, shunted, "shunt", "R_b", "Shunt, wiper to low end", "47k");
        let two =
            a.choice("gangs", "Gangs", "", &[("two", "two, one for each side", true), ("one", "one", false)]);
        let mismatch = two.then(|| {
            a.quantity("mismatch", "e", "Gangs differ by", "3 dB")
                .hint("Measured at this setting, or what the sheet allows.")
                .within("0 dB", "20 dB")
                .tolerance("0 dB")
                .get_in(&DECIBEL)
        });
        let knob = a.quantity("knob", "n", "Knob stands at", "5").hint("On a scale from 0 to 10.");
        let rotation = Ratio::of(knob.within("0", "10").get_in(&ONE) / 10.0);
        Self { kind, track, angle, driver, load, shunt, mismatch, rotation }
    }

    fn work(&self) -> Result<Found, Impossible> {
        let (law, track) = self.law()?;
        let load = match (self.load, self.shunt) {
            (Some(load), Some(shunt)) => Some(parallel(load, shunt)),
            (load, shunt) => load.or(shunt),
        };
        let divider = Divider { track, driver: self.driver, load };
        let share = law.share(self.rotation);
        let (output, full_up) = (divider.output(share), divider.output(law.full_up()));
        let fraction = |share: Ratio| divider.output(share) / full_up;
        let reaches = |level: f64| law.rotation_where(|share| fraction(share) >= ratio_of(level));
        let worst_share = divider.worst_share(law.full_up());
        let sides = self.mismatch.map(|tracking| {
            // At either end both wipers rest on metal.
            let between = share.si() > 0.0 && share.si() < 1.0;
            let other = share * ratio_of(-tracking);
            let ratio = if between { output / divider.output(other) } else { Ratio::of(1.0) };
            Sides { tracking, ratio }
        });
        let step = Ratio::of(1.0 / self.angle);
        let level_at = |rotation: Ratio| decibels(fraction(law.share(rotation)));
        let levels = decibels(fraction(share)).zip(decibels(share / law.full_up())).map(|(here, made)| {
            let higher = self.rotation + step;
            let up = if higher.si() <= 1.0 { level_at(higher) } else { None };
            // Below the lower stop there is no track to be on.
            let lower = self.rotation - step;
            let down = if lower.si() >= 0.0 { level_at(lower) } else { None };
            Levels { here, made, up: up.map(|up| up - here), down: down.map(|down| here - down) }
        });
        Ok(Found {
            angle: self.angle,
            share,
            output,
            full_up,
            fraction: output / full_up,
            levels,
            at_forty: reaches(-40.0),
            at_six: reaches(-6.0),
            worst_at: law.rotation_where(|share| share >= worst_share),
            worst: divider.source(worst_share),
            sides,
            law,
            divider,
        })
    }

    fn answers(found: &Found) -> Vec<Answer> {
        let knob = |id, name, rotation: Ratio| Answer::in_unit(id, "n", name, &ONE, rotation.si() * 10.0);
        let decibel = |id, symbol, name, value| Answer::in_unit(id, symbol, name, &DECIBEL, value);
        let mut answers = Vec::new();
        if let Some(levels) = &found.levels {
            answers.push(decibel("level", "L", "Level, below full up", levels.here));
            answers.push(decibel("level-made", "L_x", "Level by the law of the track alone", levels.made));
            for (id, name, feel) in [
                ("feel-up", "Turning up, for each degree", levels.up),
                ("feel-down", "Turning down, for each degree", levels.down),
            ] {
                answers.extend(feel.map(|feel| Answer::in_unit(id, "", name, &DECIBEL_PER_DEGREE, feel)));
            }
        }
        let range = (found.at_six - found.at_forty).si() * found.angle;
        answers.extend([
            Answer::new("fraction", "V / V_10", "Voltage, of that at full up", found.fraction),
            Answer::new("share", "x", "Track below the wiper", found.share),
            knob("knob-at-40", "Knob at −40 dB", found.at_forty),
            knob("knob-at-6", "Knob at −6 dB", found.at_six),
            Answer::in_unit("range", "", "Rotation from −40 to −6 dB", &DEGREE, range),
            Answer::new(
                "source",
                "R_s",
                "Source resistance at the wiper, here",
                found.divider.source(found.share),
            ),
            Answer::new("worst-source", "R_s", "Source resistance at the wiper, at worst", found.worst),
            knob("worst-source-at", "Knob where it is worst", found.worst_at),
            Answer::new(
                "driver-load",
                "R_in",
                "Load on the driver, full up",
                found.divider.below(found.law.full_up()),
            ),
            // A stiff driver loses nothing: no minus sign before a zero.
            decibel("loss", "", "Full up, against the driver with nothing on it", level_of(found.full_up)),
        ]);
        if let Some(sides) = &found.sides {
            answers.extend([
                decibel("tracking", "e", "Gangs apart, on the track", sides.tracking),
                decibel("balance", "", "Left and right apart, in the circuit", level_of(sides.ratio)),
                Answer::in_unit("balance-ratio", "", "Stronger side over weaker", &ONE, sides.ratio.si()),
            ]);
        }
        answers
    }

    fn report(&self, found: &Found, margins: &Margins, report: &mut Report) {
        self.say(found, margins, report);
        self.working(found, report);
        self.draw(found, report);
    }
}

/// The questions about the track.
fn ask_track(a: &mut Ask, kind: Kind) -> Track {
    let resistance = |a: &mut Ask| {
        a.quantity("resistance", "R_P", "Total resistance", "250k")
            .hint("Between the outer lugs. Marked ones are within 20 %.")
            .within("100R", "100M")
            .tolerance("20 %")
            .get()
    };
    let list = "Knob, colon, reading, from 0 to 10, with spaces between.";
    match kind {
        Kind::Shares => Track::Shares {
            points: a.points(
                "points",
                "Measured points",
                list,
                "0:0 2:3% 5:15% 8:60% 10:100%",
                [&KNOB, &SHARE],
            ),
            resistance: resistance(a),
        },
        Kind::Ohms => Track::Ohms {
            points: a.points(
                "ohm-points",
                "Measured points, from the low end",
                list,
                "0:0 2:7k5 5:37k5 8:150k 10:250k",
                [&KNOB, &OHMS],
            ),
        },
        Kind::Audio | Kind::Linear | Kind::Reverse => {
            let centre = match kind {
                Kind::Linear => Ratio::of(0.5),
                _ => a
                    .quantity("centre", "c", "Track at half rotation, from the slow end", "15 %")
                    .hint("The number beside the letter: 10, 15, 20 or 30. Its spread is common practice, no source.")
                    .within("1 %", "50 %")
                    .tolerance("30 %")
                    .get(),
            };
            let centre = if kind == Kind::Reverse { Ratio::of(1.0) - centre } else { centre };
            let dead = |a: &mut Ask, id, name| {
                a.quantity(id, "", name, "20°")
                    .hint("Turning before the reading moves.")
                    .within("0°", "80°")
                    .get_in(&DEGREE)
            };
            Track::Made {
                centre,
                dead_low: dead(a, "dead-low", "Dead at the lower stop"),
                dead_high: dead(a, "dead-high", "Dead at the upper stop"),
                resistance: resistance(a),
            }
        }
    }
}

impl Taper {
    /// The law of the track and its resistance.
    fn law(&self) -> Result<(Law, ElectricalResistance), Impossible> {
        let measured = |field, points: &[(f64, f64)], whole: f64| {
            let corners = points.iter().map(|(knob, reading)| Corner::new(knob / 10.0, reading / whole));
            Law::measured(corners.collect()).map_err(|flaw| Impossible { field, message: flaw.to_string() })
        };
        Ok(match &self.track {
            Track::Made { centre, dead_low, dead_high, resistance } => {
                let part = |degrees: f64| Ratio::of(degrees / self.angle);
                (Law::made(*centre, part(*dead_low), part(*dead_high)), *resistance)
            }
            Track::Shares { points, resistance } => (measured("points", points, 1.0)?, *resistance),
            Track::Ohms { points } => {
                let whole = points.last().map_or(0.0, |(_, ohms)| *ohms);
                // Of a track of nothing the law says so itself.
                let law = measured("ohm-points", points, if whole > 0.0 { whole } else { 1.0 })?;
                (law, ElectricalResistance::of(whole))
            }
        })
    }
}

/// A ratio of voltages from decibels.
fn ratio_of(decibels: f64) -> Ratio {
    Ratio::of(libm::pow(10.0, decibels / 20.0))
}

/// Decibels of a ratio of voltages above nothing.
fn level_of(ratio: Ratio) -> f64 {
    20.0 * libm::log10(ratio.si())
}

/// Decibels of a ratio of voltages; none of nothing.
fn decibels(ratio: Ratio) -> Option<f64> {
    (ratio.si() > 0.0).then(|| level_of(ratio))
}
