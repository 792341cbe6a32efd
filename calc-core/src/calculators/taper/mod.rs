//! The law of a control: what a potentiometer makes of the way from 0 to 10, in the circuit it sits in.
//!
//! ```text
//! V / V_10 = (V / E) / (V_10 / E)     each from `pot`; levels count down from full up
//! L        = 20 lg (V / V_10)
//! x'       = x · 10^(−e / 20)          the other gang, e dB lower on its track
//! ```
//!
//! Units: Ω, dB, degrees; the knob from 0 to 10. Range: any law that never falls. Errors: measured points that are no
//! law. Source: Ohm's law; shares at half rotation and tracking from makers' data sheets; the two straight segments and
//! their spread are common practice.

mod words;

#[cfg(test)]
mod tests;

use super::questions::control::{Kind, Track, ask_angle, ask_knob, mismatch};
use super::questions::parts;
use crate::calculator::{
    Answer, Ask, Calculator, Impossible, Inverse, Margins, Report, Section, Sheet, if_wanted,
};
use crate::pot::{Divider, Law, parallel};
use crate::quantity::unit::{DECIBEL, DECIBEL_PER_DEGREE, DEGREE, ONE};
use crate::quantity::{ElectricalResistance, Quantity, Ratio};
use crate::source::{
    ALPS_RK271, BOURNS_81_82, BOURNS_PDB24, GUM, OMEG_POTS, POT_LISTING, PRACTICE, TAPER_CODES,
};

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
    wanted: Wanted,
}

/// Whether anything reads what is long to work out.
#[derive(Clone, Copy)]
struct Wanted {
    at_forty: bool,
    at_six: bool,
    worst_at: bool,
}

/// Level and balance at this setting.
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
        question: "What will this pot feel like in this circuit, and how well do its two sides match?",
        edition: 1,
        headline: &["level"],
        form: &[
            Section {
                name: "Control",
                fields: &["knob", "law", "resistance", "centre", "points", "ohm-points", "gangs", "mismatch"],
                more: &["dead-low", "dead-high", "angle"],
            },
            Section {
                name: "Circuit round it",
                fields: &["driver", "loaded", "load", "shunted", "shunt"],
                more: &[],
            },
        ],
        leaves_out: &[
            "Resistances only: what the grid and a lead take away at high frequencies grows with the source resistance.",
            "Levels are relative to full up; at the lower stop a real track leaves up to 1 % of itself, not nothing.",
            "Laws are taken as made, two straight segments that meet half way; some tracks have three.",
            "The two gangs are taken to have the same total resistance.",
            "At its ends the wiper rests on metal: there the gangs are taken as equal.",
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
    const INVERSE: &'static [Inverse] = &[Inverse {
        id: "wanted.knob",
        question: "Where on the knob is this level?",
        field: "knob",
        answer: "level",
        example: "-20 dB",
        made_in: None,
    }];
    type Found = Found;

    fn ask(a: &mut Ask) -> Self {
        let kind = Kind::ask(a);
        let track = Track::ask(a, kind);
        let angle = ask_angle(a);
        let driver = a
            .quantity("driver", "R_d", "Driven from", "47k")
            .hint("Output resistance of the stage before it. 0 for a stiff source.")
            .within("0R", "10M")
            .tolerance("20 %")
            .get();
        let resistor = |a: &mut Ask, given: bool, label, default| {
            given.then(|| parts::resistor(a, label, default).within("100R", "100M").get())
        };
        let loaded = a.usual().choice(
            "loaded",
            "Load on the wiper",
            "A grid leak or a fail-safe resistor is one.",
            &[("yes", "a resistor", true), ("no", "a grid alone", false)],
        );
        let load = resistor(a, loaded, ["load", "R_L", "Load, wiper to low end"], "2M2");
        let shunted = a.usual().choice(
            "shunted",
            "Shunt that bends the law",
            "",
            &[("no", "none", false), ("yes", "from wiper to low end", true)],
        );
        let shunt = resistor(a, shunted, ["shunt", "R_b", "Shunt, wiper to low end"], "47k");
        let two =
            a.choice("gangs", "Gangs", "", &[("two", "two, one for each side", true), ("one", "one", false)]);
        let mismatch = two.then(|| mismatch(a).tolerance("0 dB").get_in(&DECIBEL));
        let rotation = ask_knob(a);
        let wanted = Wanted {
            at_forty: a.wants("knob-at-40") || a.wants("range"),
            at_six: a.wants("knob-at-6") || a.wants("range"),
            worst_at: a.wants("worst-source-at"),
        };
        Self { kind, track, angle, driver, load, shunt, mismatch, rotation, wanted }
    }

    fn work(&self) -> Result<Found, Impossible> {
        let (law, track) = self.track.law(self.angle)?;
        let load = match (self.load, self.shunt) {
            (Some(load), Some(shunt)) => Some(parallel(load, shunt)),
            (load, shunt) => load.or(shunt),
        };
        let divider = Divider { track, driver: self.driver, load };
        let share = law.share(self.rotation);
        let (output, full_up) = (divider.output(share), divider.output(law.full_up()));
        let fraction = |share: Ratio| divider.output(share) / full_up;
        let reaches = |wanted: bool, level: f64| {
            let level = ratio_of(level);
            let rotation = || law.rotation_where(|share| fraction(share) >= level).si();
            Ratio::of(if_wanted(wanted, rotation))
        };
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
            at_forty: reaches(self.wanted.at_forty, -40.0),
            at_six: reaches(self.wanted.at_six, -6.0),
            worst_at: Ratio::of(if_wanted(self.wanted.worst_at, || {
                law.rotation_where(|share| share >= worst_share).si()
            })),
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
            answers.push(decibel("level-made", "L_x", "Level from the law of the track alone", levels.made));
            for (id, name, feel) in [
                ("feel-up", "Turning up, per degree", levels.up),
                ("feel-down", "Turning down, per degree", levels.down),
            ] {
                answers.extend(
                    feel.map(|feel| {
                        Answer::in_unit(id, "", name, &DECIBEL_PER_DEGREE, feel).depending_on_all()
                    }),
                );
            }
        }
        let range = (found.at_six - found.at_forty).si() * found.angle;
        answers.extend([
            Answer::new("fraction", "V / V_10", "Voltage, share of that at full up", found.fraction),
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
            decibel("loss", "", "Full up, relative to the unloaded driver", level_of(found.full_up)),
        ]);
        if let Some(sides) = &found.sides {
            answers.extend([
                decibel("tracking", "e", "Difference between the gangs, on the track", sides.tracking),
                decibel("balance", "", "Difference between the sides, in the circuit", level_of(sides.ratio)),
                Answer::in_unit(
                    "balance-ratio",
                    "",
                    "Stronger side divided by weaker",
                    &ONE,
                    sides.ratio.si(),
                ),
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
