//! Screened lead: what treble it takes between a control and a grid, and how long it may be.
//!
//! ```text
//! R_w  = (R_d + R_p) / 4              at the worst place of a control whose track R_p is driven through R_d < R_p;
//!                                     R_d R_p / (R_d + R_p) at its upper end where R_d is the larger
//! R    = R_w in parallel with the fail-safe resistor
//! C_m  = C_cs                         each metre, one core
//!        C_cs + 2 C_cc                each metre, two cores in one screen that carry opposite phases
//! f_c  = 1 / (2π R (C_m l + C_in))    loss = 10 lg (1 + (f / f_c)²)
//! l_max = (√(10^(L/10) − 1) / (2π f R) − C_in) / C_m
//! ```
//!
//! Units: Ω, F, m, Hz, dB. Errors: none beyond the fields' own ranges. Source: textbook forms; the worst place from the
//! derivative of x (1 − x), by hand; what loss will do is the reader's choice.

use crate::calculator::{
    Answer, Ask, Axis, Calculator, Expr, Impossible, Limit, Margins, Mark, Picture, Report, Series, Sheet,
    Standing, Table, Verdict, named, named_in, number,
};
use crate::low_pass::LowPass;
use crate::quantity::unit::{CENTIMETRE, DECIBEL, HERTZ, OHM, ONE};
use crate::quantity::{Capacitance, ElectricalResistance, Frequency, Quantity, writing};
use crate::source::{COAX_TABLE, GUITAR_LEAD, PRACTICE, RADIOTRON};

/// The lead, what drives it and what it ends at.
pub struct LeadLoss {
    from: From,
    lead: Lead,
    /// In metres.
    length: f64,
    input: Capacitance,
    frequency: Frequency,
    /// In decibels.
    most_loss: f64,
    screen: Screen,
}

enum From {
    Control { track: ElectricalResistance, drive: ElectricalResistance, fail_safe: ElectricalResistance },
    Typed(ElectricalResistance),
}

/// Capacitances of a metre.
struct Lead {
    core_screen: Capacitance,
    /// Of a pair that carries opposite phases.
    core_core: Option<Capacitance>,
}

#[derive(Clone, Copy, PartialEq)]
enum Screen {
    Bias,
    Chassis,
}

/// What was found.
pub struct Found {
    /// At the wiper's worst place, before the fail-safe resistor is counted.
    worst: ElectricalResistance,
    source: ElectricalResistance,
    metre: Capacitance,
    lead: Capacitance,
    whole: LowPass,
    /// At the frequency to judge by, in decibels.
    loss: f64,
    /// Without any lead.
    bare: LowPass,
    /// What may lie at the end of that resistance in all.
    allowed: Capacitance,
    /// In metres; nothing where the grid alone takes more than is wanted.
    longest: f64,
}

impl Calculator for LeadLoss {
    const SHEET: &'static Sheet = &Sheet {
        id: "lead-loss",
        title: "Screened lead",
        question: "How long may the screened lead from the control be?",
        edition: 1,
        leaves_out: &[
            "The stopper behind the lead: it parts the valve’s capacitance from the lead’s, and the loss is a little smaller.",
            "The node that the screen hangs on is taken as held by its capacitor for signals.",
            "The other gang: when the two wipers do not stand alike, the lead’s capacitance from core to core counts otherwise.",
            "Capacitance of the control’s own tags and of the socket; add it to the valve’s.",
            "What the lead picks up. Screening is why it is there, and no part of this.",
        ],
        sources: &[&RADIOTRON, &COAX_TABLE, &GUITAR_LEAD, &PRACTICE],
    };
    type Found = Found;

    fn ask(a: &mut Ask) -> Self {
        let from = ask_from(a);
        let lead = ask_lead(a);
        Self {
            from,
            lead,
            length: a
                .quantity("length", "l", "Length of the lead", "30 cm")
                .hint("Of one core, from the control’s tag to the grid’s.")
                .within("1 cm", "2000 cm")
                .tolerance("5 %")
                .get_in(&CENTIMETRE),
            input: a
                .quantity("input", "C_in", "Input capacitance of the valve", "22 pF")
                .hint("The calculator of the grid stopper gives it, with the gain counted.")
                .within("0.01 pF", "10 nF")
                .tolerance("20 %")
                .get(),
            frequency: a
                .usual()
                .quantity("frequency", "f", "Frequency to judge by", "10 kHz")
                .within("100 Hz", "1 MHz")
                .get(),
            most_loss: a
                .usual()
                .quantity("most-loss", "L", "Most loss there that will do", "1 dB")
                .hint("Your choice. Common practice, no source.")
                .within("0.01 dB", "40 dB")
                .get_in(&DECIBEL),
            screen: a.choice(
                "screen",
                "The screen is joined to",
                "Chassis at one end only. The bias node and the low lug carry the same: both ends, or one.",
                &[
                    ("bias", "the bias node, with the low end of the control", Screen::Bias),
                    ("chassis", "chassis", Screen::Chassis),
                ],
            ),
        }
    }

    fn work(&self) -> Result<Found, Impossible> {
        let (worst, source) = match self.from {
            From::Typed(resistance) => (resistance, resistance),
            From::Control { track, drive, fail_safe } => {
                let worst = worst(track, drive);
                (worst, parallel(worst, fail_safe))
            }
        };
        let Lead { core_screen, core_core } = self.lead;
        let metre = core_core.map_or(core_screen, |between| core_screen + between * 2.0);
        let lead = metre * self.length;
        let whole = LowPass::new(source, lead + self.input);
        let allowed = Capacitance::of(
            self.most_at_corner() / (std::f64::consts::TAU * self.frequency.si() * source.si()),
        );
        Ok(Found {
            worst,
            source,
            metre,
            lead,
            whole,
            loss: whole.loss(self.frequency.si()),
            bare: LowPass::new(source, self.input),
            allowed,
            longest: ((allowed - self.input) / metre).si().max(0.0),
        })
    }

    fn answers(found: &Found) -> Vec<Answer> {
        let Found { whole, .. } = found;
        let loss = |id, name, frequency| {
            Answer::in_unit(id, "", name, &DECIBEL, whole.loss(frequency)).not_below_zero()
        };
        vec![
            Answer::new("source-resistance", "R", "Resistance behind the wiper, worst place", found.source),
            Answer::new("lead-capacitance", "C_l", "Capacitance of the lead", found.lead),
            Answer::in_unit("corner", "f_c", "Corner", &HERTZ, whole.corner),
            loss("loss-5", "Loss at 5 kHz", 5e3),
            loss("loss-10", "Loss at 10 kHz", 10e3),
            loss("loss-15", "Loss at 15 kHz", 15e3),
            Answer::in_unit("loss", "", "Loss at the frequency you named", &DECIBEL, found.loss)
                .not_below_zero(),
            Answer::in_unit(
                "longest",
                "l_max",
                "Longest lead for the loss you named",
                &CENTIMETRE,
                found.longest,
            ),
        ]
    }

    fn report(&self, found: &Found, margins: &Margins, report: &mut Report) {
        let at = writing::repeated(self.frequency.si(), &HERTZ);
        let alone = found.bare.loss(self.frequency.si());
        report.summary = format!(
            "{} of lead behind {}: {} lost at {at}, of which the valve alone takes {}. For {} it may be {} long.",
            writing::repeated(self.length, &CENTIMETRE),
            writing::nearest(found.source.si(), &OHM),
            decibels(found.loss),
            decibels(alone),
            writing::repeated(self.most_loss, &DECIBEL),
            writing::nearest(found.longest, &CENTIMETRE),
        );
        report.verdicts.push(self.judge(found, margins));
        self.working(found, report);
        self.notes(report);
        report.tables.push(self.lengths(found).into());
        report.picture = Some(self.picture(found));
    }
}

fn ask_from(a: &mut Ask) -> From {
    let control = a.usual().choice(
        "from",
        "Driven by",
        "",
        &[("control", "the wiper of a control", true), ("typed", "a resistance I know", false)],
    );
    let ohms = |a: &mut Ask, id, symbol, name, default, tolerance| -> ElectricalResistance {
        a.quantity(id, symbol, name, default).within("1R", "1G").tolerance(tolerance).get()
    };
    if control {
        From::Control {
            track: ohms(a, "track", "R_p", "Track of the control, one gang", "250k", "20 %"),
            drive: ohms(a, "drive", "R_d", "Output resistance of what drives it", "18k", "30 %"),
            fail_safe: ohms(a, "fail-safe", "R_f", "Fail-safe resistor at the wiper", "2M2", "5 %"),
        }
    } else {
        From::Typed(ohms(a, "resistance", "R", "Resistance that drives the lead", "68k", "5 %"))
    }
}

fn ask_lead(a: &mut Ask) -> Lead {
    let pair = a.choice(
        "lead",
        "Lead",
        "",
        &[
            ("single", "one core in its own screen", false),
            ("pair", "two cores in one screen, opposite phases", true),
        ],
    );
    let core_screen = a
        .quantity("core-screen", "C_cs", "Core to screen, each metre", "200 pF")
        .hint("Measure it: a metre or two, far end open. PVC hook-up lead has 150 to 400 pF, from memory, to be confirmed.")
        .within("10 pF", "10 nF")
        .tolerance("20 %")
        .get();
    let core_core = pair.then(|| {
        a.quantity("core-core", "C_cc", "Core to core, each metre", "60 pF")
            .hint("Counts twice: the other core moves as far the other way.")
            .within("0 pF", "10 nF")
            .tolerance("20 %")
            .get()
    });
    Lead { core_screen, core_core }
}

fn parallel(a: ElectricalResistance, b: ElectricalResistance) -> ElectricalResistance {
    a * (b / (a + b))
}

/// The highest resistance that a wiper is driven through, at any place of it.
fn worst(track: ElectricalResistance, drive: ElectricalResistance) -> ElectricalResistance {
    if drive < track { (drive + track) / 4.0 } else { parallel(drive, track) }
}

/// A loss as the bench reads it: what lies below a hundredth of a decibel is nothing.
fn decibels(loss: f64) -> String {
    if loss < 0.01 { "under 0.01\u{a0}dB".to_owned() } else { writing::nearest(loss, &DECIBEL) }
}

impl LeadLoss {
    /// How many times its corner the frequency may be.
    fn most_at_corner(&self) -> f64 {
        libm::sqrt(libm::expm1(self.most_loss * std::f64::consts::LN_10 / 10.0))
    }

    fn judge(&self, found: &Found, margins: &Margins) -> Verdict {
        let kind = "your choice";
        let limit = Limit { value: self.most_loss, unit: &DECIBEL, kind, source: &PRACTICE };
        Verdict::at_most("Loss of treble", &margins.of("loss"), Some(limit), |standing| {
            let advice = match standing {
                Standing::Within => {
                    "The treble you asked for arrives with the control at its worst place, and more elsewhere."
                }
                Standing::Borderline => "It hangs on the parts: measure a metre of the lead, and the track.",
                Standing::Beyond if found.longest <= 0.0 => {
                    "The valve alone takes more than that: a control of lower resistance, not a shorter lead."
                }
                Standing::Beyond => {
                    "Shorter, a lead of less capacitance, a control of lower resistance, or a place nearer the sockets."
                }
                _ => "Part of the tolerance gives no answer.",
            };
            advice.to_owned()
        })
    }

    fn working(&self, found: &Found, report: &mut Report) {
        let source = match self.from {
            From::Typed(resistance) => named("R", resistance),
            From::Control { track, drive, fail_safe } => {
                let (track_named, drive_named) = (named("R_p", track), named("R_d", drive));
                let (says, formula) = if drive < track {
                    let says =
                        "Worst where the wiper sees as much above it as below: a quarter of both together.";
                    (says, (drive_named + track_named) / number(4.0))
                } else {
                    let says =
                        "What drives it is more than the track: worst at the upper end, both side by side.";
                    let (d, p) = (named("R_d", drive), named("R_p", track));
                    (says, drive_named * track_named / (d + p))
                };
                let wiper = report.step(says, "R_w", formula, found.worst);
                let safe = || named("R_f", fail_safe);
                let formula = wiper.clone() * safe() / (wiper + safe());
                report.step("The fail-safe resistor lies beside it.", "R", formula, found.source)
            }
        };
        let core_screen = named("C_cs", self.lead.core_screen);
        let metre = match self.lead.core_core {
            None => core_screen,
            Some(between) => {
                let says = "To the other core there is twice the signal, so that capacitance counts twice.";
                let formula = core_screen + number(2.0) * named("C_cc", between);
                report.step(says, "C_m", formula, found.metre)
            }
        };
        let length = named_in("l", self.length, &CENTIMETRE);
        let says = "Of a metre, for as many metres as there are.";
        let lead = report.step(says, "C_l", metre.clone() * length, found.lead);
        let turn = || Expr::Named { symbol: "2π", shown: "6.283".to_owned(), value: std::f64::consts::TAU };
        let input = || named("C_in", self.input);
        let corner = number(1.0) / (turn() * source.clone() * (lead + input()));
        report.step_in("Lead and valve together.", "f_c", corner, found.whole.corner, &HERTZ);
        let says = format!(
            "For {} the frequency may be √(10^(L/10) − 1) times the corner, so that much capacitance may be there.",
            writing::repeated(self.most_loss, &DECIBEL)
        );
        let times = named_in("x", self.most_at_corner(), &ONE);
        let formula = times / (turn() * named("f", self.frequency) * source);
        let allowed = report.step(says, "C_max", formula, found.allowed);
        if found.longest > 0.0 {
            let says = "What the valve leaves of it, over that of a metre.";
            report.step_in(says, "l_max", (allowed - input()) / metre, found.longest, &CENTIMETRE);
        }
    }

    fn notes(&self, report: &mut Report) {
        let note = match self.screen {
            Screen::Bias => {
                "The screen carries the bias and is not chassis. Insulate it at both ends and over its whole length: where it \
                 touches a grounded body, the bias of all valves is gone, fail-safe resistors or not."
            }
            Screen::Chassis => {
                "A screen on chassis is right only where no bias passes the control: between a first and a second pair of \
                 coupling capacitors."
            }
        };
        report.notes.push(note.to_owned());
    }

    fn lengths(&self, found: &Found) -> Table {
        let mut lengths = vec![0.05, 0.1, 0.2, 0.3, 0.5, 0.75, 1.0];
        lengths.retain(|length: &f64| (length / self.length - 1.0).abs() > 1e-6);
        lengths.push(self.length);
        lengths.sort_by(f64::total_cmp);
        let row = |length: f64| {
            let filter = LowPass::new(found.source, found.metre * length + self.input);
            let yours = if (length - self.length).abs() < 1e-9 { ", yours" } else { "" };
            vec![
                format!("{}{yours}", writing::repeated(length, &CENTIMETRE)),
                writing::nearest(filter.corner, &HERTZ),
                decibels(filter.loss(5e3)),
                decibels(filter.loss(10e3)),
                decibels(filter.loss(15e3)),
            ]
        };
        let head = ["Lead", "Corner", "Loss at 5\u{a0}kHz", "Loss at 10\u{a0}kHz", "Loss at 15\u{a0}kHz"];
        Table {
            title: "Lengths of this lead".to_owned(),
            head: head.map(str::to_owned).to_vec(),
            rows: lengths.into_iter().map(row).collect(),
        }
    }

    /// Level at the grid over frequency: with the lead, with none, and with the longest.
    fn picture(&self, found: &Found) -> Picture {
        let x = Axis::decades("Frequency", &HERTZ, 1e3, 1e6);
        let y = Axis::even("Level at the grid", &DECIBEL, -20.0, 0.0);
        let curve = |name: &str, mark, length: f64| {
            let filter = LowPass::new(found.source, found.metre * length + self.input);
            let at = |step: i32| x.from * libm::pow(x.to / x.from, f64::from(step) / 32.0);
            let points = (0..=32).map(at).map(|frequency| (frequency, -filter.loss(frequency)));
            Series {
                name: name.to_owned(),
                mark,
                points: points.filter(|(_, level)| *level >= y.from).collect(),
            }
        };
        let here = format!("with {} of lead", writing::repeated(self.length, &CENTIMETRE));
        let mut series = vec![curve("no lead", Mark::Curve, 0.0), curve(&here, Mark::Target, self.length)];
        if found.longest > 0.0 {
            let longest = format!("with the longest, {}", writing::nearest(found.longest, &CENTIMETRE));
            series.push(curve(&longest, Mark::Limit, found.longest));
        }
        Picture {
            title: "What reaches the grid, the control at its worst place".to_owned(),
            description: format!(
                "3 dB are lost at {} with this lead, at {} with none.",
                writing::nearest(found.whole.corner, &HERTZ),
                writing::nearest(found.bare.corner, &HERTZ)
            ),
            series,
            x,
            y,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The place itself is tried out, in steps of a hundredth of the track.
    #[test]
    fn the_worst_place_is_the_worst() {
        for (track, drive) in [(250e3, 18e3), (220e3, 1.0), (100e3, 99e3), (100e3, 400e3)] {
            let at = |place: i32| {
                let below = track * f64::from(place) / 100.0;
                let above = drive + track - below;
                below * above / (below + above)
            };
            let tried = (0..=100).map(at).fold(0.0, f64::max);
            let found = worst(ElectricalResistance::of(track), ElectricalResistance::of(drive)).si();
            assert!(
                found >= tried - 1e-6 && found <= tried * 1.0002,
                "{track} behind {drive}: {found}, {tried}"
            );
        }
    }
}
