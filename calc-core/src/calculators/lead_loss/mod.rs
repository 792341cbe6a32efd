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

mod words;

use super::questions::parts::fail_safe;
use super::questions::threshold::will_do;
use crate::calculator::{Answer, Ask, Calculator, Impossible, Margins, Report, Section, Sheet};
use crate::numeric::low_pass::LowPass;
use crate::pot::parallel;
use crate::quantity::unit::{CENTIMETRE, DECIBEL, HERTZ, OHM};
use crate::quantity::{Capacitance, ElectricalResistance, Frequency, Quantity, writing};
use crate::source::{COAX_TABLE, GUITAR_LEAD, PRACTICE, RADIOTRON};

/// The lead, what drives it and what it ends at.
pub struct LeadLoss {
    from: From,
    lead: Lead,
    /// Length of the lead, in metres.
    length: f64,
    input: Capacitance,
    frequency: Frequency,
    /// The largest acceptable loss, in decibels.
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

/// Resistance, capacitances and loss, and how long the lead may be.
pub struct Found {
    /// At the wiper's worst place, before the fail-safe resistor is counted.
    worst: ElectricalResistance,
    source: ElectricalResistance,
    metre: Capacitance,
    lead: Capacitance,
    whole: LowPass,
    /// At the frequency to judge by, in decibels.
    loss: f64,
    /// The same low-pass without any lead.
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
        headline: &["loss"],
        form: &[
            Section {
                name: "What drives it",
                fields: &["from", "track", "drive", "fail-safe", "resistance"],
                more: &[],
            },
            Section {
                name: "Lead",
                fields: &["length", "lead", "core-screen", "core-core", "input", "screen"],
                more: &["frequency", "most-loss"],
            },
        ],
        leaves_out: &[
            "The stopper after the lead: it separates the valve’s capacitance from the lead’s, which makes the loss a \
             little smaller.",
            "For signals, the node that the screen is joined to is taken as decoupled by its capacitor.",
            "The other gang: when the two wipers are not at the same level, the core-to-core capacitance counts \
             differently.",
            "Capacitance of the control’s own tags and of the socket; add it to the valve’s.",
            "What the lead picks up. Screening is its purpose, but it is not calculated here.",
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
                .hint("The grid stopper calculator gives it, gain included.")
                .within("0.01 pF", "10 nF")
                .tolerance("20 %")
                .get(),
            frequency: a
                .usual()
                .quantity("frequency", "f", "Frequency to judge by", "10 kHz")
                .within("100 Hz", "1 MHz")
                .get(),
            most_loss: will_do(a, ["most-loss", "L", "Largest acceptable loss there"], "1 dB")
                .within("0.01 dB", "40 dB")
                .get_in(&DECIBEL),
            screen: a.choice(
                "screen",
                "The screen is joined to",
                "To chassis at one end only. The bias node and the low lug are at the same voltage: join it at both \
                 ends, or at one.",
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
            Answer::new(
                "source-resistance",
                "R",
                "Source resistance at the wiper, worst setting",
                found.source,
            ),
            Answer::new("lead-capacitance", "C_l", "Capacitance of the lead", found.lead),
            Answer::in_unit("corner", "f_c", "Corner", &HERTZ, whole.corner),
            loss("loss-5", "Loss at 5 kHz", 5e3),
            loss("loss-10", "Loss at 10 kHz", 10e3),
            loss("loss-15", "Loss at 15 kHz", 15e3),
            Answer::in_unit("loss", "", "Loss at the frequency you chose", &DECIBEL, found.loss)
                .not_below_zero(),
            Answer::in_unit(
                "longest",
                "l_max",
                "Longest lead for the acceptable loss",
                &CENTIMETRE,
                found.longest,
            ),
        ]
    }

    fn report(&self, found: &Found, margins: &Margins, report: &mut Report) {
        let at = writing::repeated(self.frequency.si(), &HERTZ);
        let alone = found.bare.loss(self.frequency.si());
        report.summary = format!(
            "{} of lead after {}: {} lost at {at}, of which the valve alone causes {}. For {} it may be {} long.",
            writing::repeated(self.length, &CENTIMETRE),
            writing::nearest(found.source.si(), &OHM),
            writing::loss(found.loss),
            writing::loss(alone),
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
        &[("control", "the wiper of a control", true), ("typed", "a known resistance", false)],
    );
    let ohms = |a: &mut Ask, id, symbol, name, default, tolerance| -> ElectricalResistance {
        a.quantity(id, symbol, name, default).within("1R", "1G").tolerance(tolerance).get()
    };
    if control {
        From::Control {
            track: ohms(a, "track", "R_p", "Track of the control, one gang", "250k", "20 %"),
            drive: ohms(a, "drive", "R_d", "Output resistance of what drives it", "18k", "30 %"),
            fail_safe: fail_safe(a, "fail-safe", "Fail-safe resistor at the wiper").within("1R", "1G").get(),
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
        .quantity("core-screen", "C_cs", "Core to screen, per metre", "200 pF")
        .hint("Measure it: a metre or two, far end open. PVC hook-up lead has 150 to 400 pF, not yet confirmed.")
        .within("10 pF", "10 nF")
        .tolerance("20 %")
        .get();
    let core_core = pair.then(|| {
        a.quantity("core-core", "C_cc", "Core to core, per metre", "60 pF")
            .hint("Counted twice: the other core swings as far the opposite way.")
            .within("0 pF", "10 nF")
            .tolerance("20 %")
            .get()
    });
    Lead { core_screen, core_core }
}

/// The highest resistance that a wiper is driven through, at any place of it.
fn worst(track: ElectricalResistance, drive: ElectricalResistance) -> ElectricalResistance {
    if drive < track { (drive + track) / 4.0 } else { parallel(drive, track) }
}

impl LeadLoss {
    /// How many times its corner the frequency may be.
    fn most_at_corner(&self) -> f64 {
        libm::sqrt(libm::expm1(self.most_loss * std::f64::consts::LN_10 / 10.0))
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
