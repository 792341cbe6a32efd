//! The words of the screened lead: verdict, working, notes, lengths and picture.

use super::{Found, From, LeadLoss, Screen};
use crate::calculator::{
    Axis, Limit, Margins, Mark, Picture, Report, Series, Standing, Table, Verdict, named, named_in, number,
    two_pi,
};
use crate::numeric::low_pass::LowPass;
use crate::numeric::order::by_number;
use crate::quantity::unit::{CENTIMETRE, DECIBEL, HERTZ, ONE};
use crate::quantity::{Quantity, writing};
use crate::source::PRACTICE;

impl LeadLoss {
    pub(super) fn judge(&self, found: &Found, margins: &Margins) -> Verdict {
        let kind = "your choice";
        let limit = Limit { value: self.most_loss, unit: &DECIBEL, kind, source: &PRACTICE };
        Verdict::at_most("Loss of treble", &margins.of("loss"), Some(limit), |standing| {
            let advice = match standing {
                Standing::Within => {
                    "The treble you asked for arrives with the control at its worst setting, and more at any other."
                }
                Standing::Borderline => {
                    "It depends on the parts: measure a metre of the lead, and the track."
                }
                Standing::Beyond if found.longest <= 0.0 => {
                    "The valve alone causes more than that: use a control of lower resistance, not a shorter lead."
                }
                _ => {
                    "Use a shorter lead, one with less capacitance, a control of lower resistance, or a place nearer \
                     the sockets."
                }
            };
            advice.to_owned()
        })
    }

    pub(super) fn working(&self, found: &Found, report: &mut Report) {
        let source = match self.from {
            From::Typed(resistance) => report.state("As typed.", "R", resistance),
            From::Control { track, drive, fail_safe } => {
                let (track_named, drive_named) = (named("R_p", track), named("R_d", drive));
                let (says, formula) = if drive < track {
                    let says = "Worst where the resistance above the wiper equals that below: a quarter of both together.";
                    (says, (drive_named + track_named) / number(4.0))
                } else {
                    let says = "What drives it is more than the track: worst at the upper end, with both in parallel.";
                    let (d, p) = (named("R_d", drive), named("R_p", track));
                    (says, drive_named * track_named / (d + p))
                };
                let wiper = report.step(says, "R_w", formula, found.worst);
                let safe = || named("R_f", fail_safe);
                let formula = wiper.clone() * safe() / (wiper + safe());
                report.step("The fail-safe resistor is in parallel with it.", "R", formula, found.source)
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
        let says = "Per metre, times the length.";
        let lead = report.step(says, "C_l", metre.clone() * length, found.lead);
        let input = || named("C_in", self.input);
        let corner = number(1.0) / (two_pi() * source.clone() * (lead + input()));
        let corner = report.step_in("Lead and valve together.", "f_c", corner, found.whole.corner, &HERTZ);
        let judged = self.frequency.si();
        for (symbol, frequency) in [("L_5", 5e3), ("L_10", 10e3), ("L_15", 15e3), ("L_f", judged)] {
            let ratio = named_in("f", frequency, &HERTZ) / corner.clone();
            let says = format!("The loss at {}.", writing::repeated(frequency, &HERTZ));
            report.step_in(says, symbol, ratio.one_pole(), found.whole.loss(frequency), &DECIBEL);
        }
        let says = format!(
            "For {} the frequency may be √(10^(L/10) − 1) times the corner, which allows this much capacitance.",
            writing::repeated(self.most_loss, &DECIBEL)
        );
        let times = named_in("x", self.most_at_corner(), &ONE);
        let formula = times / (two_pi() * named("f", self.frequency) * source);
        let allowed = report.step(says, "C_max", formula, found.allowed);
        if found.longest > 0.0 {
            let says = "What the valve leaves of it, divided by the capacitance per metre.";
            report.step_in(says, "l_max", (allowed - input()) / metre, found.longest, &CENTIMETRE);
        } else {
            let says = "The valve alone causes more than that: no lead is short enough.";
            report.state_in(says, "l_max", found.longest, &CENTIMETRE);
        }
    }

    pub(super) fn notes(&self, report: &mut Report) {
        let note = match self.screen {
            Screen::Bias => {
                "The screen carries the bias: it is not chassis. Insulate it at both ends and along its whole length. \
                 If it touches earthed metal, every valve loses its bias, fail-safe resistors or not."
            }
            Screen::Chassis => {
                "Joining the screen to chassis is right only where no bias passes through the control: between a \
                 first and a second pair of coupling capacitors."
            }
        };
        report.notes.push(note.to_owned());
    }

    pub(super) fn lengths(&self, found: &Found) -> Table {
        let mut lengths = vec![0.05, 0.1, 0.2, 0.3, 0.5, 0.75, 1.0];
        lengths.retain(|length: &f64| (length / self.length - 1.0).abs() > 1e-6);
        lengths.push(self.length);
        by_number(&mut lengths, |length| *length);
        let row = |length: f64| {
            let filter = LowPass::new(found.source, found.metre * length + self.input);
            let yours = if (length - self.length).abs() < 1e-9 { ", yours" } else { "" };
            vec![
                format!("{}{yours}", writing::repeated(length, &CENTIMETRE)),
                writing::nearest(filter.corner, &HERTZ),
                writing::loss(filter.loss(5e3)),
                writing::loss(filter.loss(10e3)),
                writing::loss(filter.loss(15e3)),
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
    pub(super) fn picture(&self, found: &Found) -> Picture {
        let x = Axis::decades("Frequency", &HERTZ, 1e3, 1e6);
        let y = Axis::even("Level at the grid", &DECIBEL, -20.0, 0.0);
        let curve = |name: &str, mark, length: f64| {
            let filter = LowPass::new(found.source, found.metre * length + self.input);
            let points = x.places().map(|frequency| (frequency, -filter.loss(frequency)));
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
            title: "What reaches the grid, with the control at its worst setting".to_owned(),
            description: format!(
                "3 dB is lost at {} with this lead, at {} with none.",
                writing::nearest(found.whole.corner, &HERTZ),
                writing::nearest(found.bare.corner, &HERTZ)
            ),
            series,
            x,
            y,
        }
    }
}
