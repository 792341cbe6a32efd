//! The bias splitter in words: summary, verdicts, working, notes.

use std::f64::consts::PI;

use super::circuit::{Circuit, Worked};
use super::{Bias, BiasSplitter, Design, Found};
use crate::calculator::{Limit, Margins, Report, Standing, Verdict, named, named_in, number};
use crate::quantity::unit::{AMPERE, DECIBEL, ONE, VOLT};
use crate::quantity::{ElectricalResistance, Quantity, writing};
use crate::source::PRACTICE;

/// The leak that the trade fits for each valve of a fixed-bias pair. Common practice, no source.
const HABITS: &[(&str, f64)] =
    &[("6L6GC", 220e3), ("5881", 220e3), ("EL34", 220e3), ("6550", 150e3), ("6550A", 150e3), ("KT88", 150e3)];

pub(super) fn ohms(resistance: ElectricalResistance) -> String {
    writing::repeated(resistance.si(), ElectricalResistance::UNIT)
}

pub(super) fn nearly(resistance: ElectricalResistance) -> String {
    writing::nearest(resistance.si(), ElectricalResistance::UNIT)
}

/// The fields by which the reader asks about another design.
const OTHER: &[&str] = &["other-valve", "other-leak", "other-gm", "other-limit-fixed", "other-limit-cathode"];
const NONE: &[&str] = &[];

impl BiasSplitter {
    pub(super) fn bias_words(&self) -> &'static str {
        match self.bias {
            Bias::Fixed(_) => "fixed bias",
            Bias::Cathode => "cathode bias",
        }
    }

    /// The two designs, as the reader knows them apart.
    fn designs(&self) -> [(&'static str, &'static str, &Design); 2] {
        [("", "grid-circuit", &self.design), (", other design", "other-grid-circuit", &self.other)]
    }

    /// The leak that the trade would fit for this valve, if it has such a habit for this kind of bias.
    pub(super) fn habit(&self, design: &Design) -> Option<ElectricalResistance> {
        let (_, leak) = HABITS.iter().find(|(valve, _)| *valve == design.valve.name)?;
        matches!(self.bias, Bias::Fixed(_)).then(|| ElectricalResistance::of(*leak))
    }

    pub(super) fn summary(&self, found: &Found) -> String {
        let Found { design, largest_leak, .. } = found;
        let valve = &self.design.valve.name;
        let against = match (self.limit(&self.design), largest_leak) {
            (Some(limit), Some(largest)) if largest.si() > 0.0 => format!(
                "; the limit with {} is {}, which here means a leak of at most {}",
                self.bias_words(),
                limit.said_of(valve),
                nearly(*largest)
            ),
            (Some(limit), _) => format!(
                "; the limit with {} is {}, which no leak here can meet",
                self.bias_words(),
                limit.said_of(valve)
            ),
            _ => format!("; we know of no published limit for the {valve}"),
        };
        format!(
            "{} leaks make a grid circuit of {} for each valve{against}. {} of grid current moves the bias by {} and adds {}.",
            ohms(design.leak),
            nearly(design.grid_circuit),
            writing::repeated(self.circuit.grid_current.si(), &AMPERE),
            writing::nearest(design.bias_lost.si(), &VOLT),
            writing::nearest(design.current_rise.si(), &AMPERE)
        )
    }

    pub(super) fn judge(&self, margins: &Margins, report: &mut Report) {
        for (whose, answer, design) in self.designs() {
            // The habit and the limit of a second design are nobody's verdict until one is asked about.
            let asked_by = if whose.is_empty() { NONE } else { OTHER };
            let about = format!("Grid circuit, {}{whose}", self.bias_words());
            let limit = self.limit(design).map(|figure| figure.limit());
            let verdict = Verdict::at_most(about, &margins.of(answer), limit, |standing| {
                let advice = match standing {
                    Standing::Within => "Within the limit, with all tolerances counted.",
                    Standing::Borderline => {
                        "With these tolerances it may exceed the limit. Measure the parts, or use the next lower \
                         leak."
                    }
                    Standing::NoPublishedLimit => {
                        "Look it up in the valve’s own data sheet, choose “another” and type it."
                    }
                    _ => return self.over_the_limit(design),
                };
                advice.to_owned()
            });
            report.verdicts.push(verdict.asked_by(asked_by));
            if let Some(habit) = self.habit(design) {
                let fields: &[&str] = if whose.is_empty() {
                    &["valve", "bias", "leak", "valves-on-leak"]
                } else {
                    &["other-valve", "bias", "other-leak", "valves-on-leak"]
                };
                let verdict = self.against_habit(whose, design, habit).depending_on(fields);
                report.verdicts.push(verdict.asked_by(asked_by));
            }
        }
        let corner = Limit::new(self.highest_corner, "your choice", &PRACTICE);
        report.verdicts.push(Verdict::at_most("Bass corner", &margins.of("corner"), Some(corner), |standing| {
            let advice = match standing {
                Standing::Within => "A lower corner than you need also means slower recovery.",
                _ => "A larger coupling capacitor lowers it without affecting the grid circuit; recovery becomes \
                      slower.",
            };
            advice.to_owned()
        }));
        let loss = Limit { value: self.most_loss, unit: &DECIBEL, kind: "your choice", source: &PRACTICE };
        report.verdicts.push(Verdict::at_most("Loss of drive", &margins.of("loss"), Some(loss), |standing| {
            let advice = match standing {
                Standing::Within => "Whether the inverter can swing far enough into this load is another question.",
                _ => "The leak loads the inverter: a higher leak, or an inverter of lower output resistance.",
            };
            advice.to_owned()
        }));
    }

    fn over_the_limit(&self, design: &Design) -> String {
        let remedy = match self.largest_leak(design) {
            Some(largest) if largest.si() > 0.0 => format!("A leak of at most {} would do.", nearly(largest)),
            _ => "No leak is low enough: the stopper and the bias source alone use up the limit.".to_owned(),
        };
        format!(
            "{remedy} Where it must stay as it is, write it down, tell the owner, and read the idle current again when the \
             valves are hot."
        )
    }

    /// A habit speaks of nominal values and of one valve on a leak, so the leak counts once for each valve on it.
    fn against_habit(&self, whose: &str, design: &Design, habit: ElectricalResistance) -> Verdict {
        let usual = design.leak * f64::from(self.circuit.valves_on_leak) <= habit;
        let (standing, advice) = if usual {
            (
                Standing::Within,
                "No more than is usually fitted for this type. This says nothing about the limit.",
            )
        } else {
            (
                Standing::Beyond,
                "More than is usually fitted for this type, allowing for the valves on one leak.",
            )
        };
        let limit = Limit::new(habit, "the usual leak for each valve of a pair", &PRACTICE);
        Verdict::new(format!("Leak, by common practice{whose}"), standing, Some(limit), advice.to_owned())
    }

    pub(super) fn working(&self, found: &Found, report: &mut Report) {
        let Circuit { bias_source, valves_on_leak, valves, stopper, grid_current, coupling, inverter } =
            self.circuit;
        let Worked { leak, load, grid_circuit, bias_lost, current_rise, drive, recovery, corner, .. } =
            found.design;
        let (on_leak, in_all) = (number(f64::from(valves_on_leak)), number(f64::from(valves)));
        let (r_s, r_l) = (named("R_s", stopper), named("R_l", leak));
        let mut without_leak = r_s.clone();
        let mut sum = r_s + on_leak.clone() * r_l.clone();
        if let Bias::Fixed(_) = self.bias {
            let source = in_all.clone() * named("R_b", bias_source);
            without_leak = without_leak + source.clone();
            sum = sum + source;
        }
        let circuit = report.step(
            "For one valve: its own stopper, plus its leak times the valves on that leak, plus the bias source times \
             all the valves.",
            "R_gc",
            sum,
            grid_circuit,
        );
        let lost = named("I_g", grid_current) * circuit;
        let lost = report.step("The bias that grid current takes away.", "ΔV", lost, bias_lost);
        let rise = named("g_m", self.design.gm) * lost.clone();
        report.step("What that adds to the idle current.", "ΔI", rise, current_rise);
        if let (Bias::Fixed(bias), Some(left)) = (&self.bias, found.bias_left) {
            report.step("The bias that remains.", "V_left", named("V_g1", *bias) + lost, left);
        }
        if let (Some(limit), Some(largest)) = (self.limit(&self.design), found.largest_leak)
            && largest.si() > 0.0
        {
            let left = named("R_g1,max", limit.value()) - without_leak;
            report.step(
                "The leak that would just use up the limit.",
                "R_l,max",
                left / on_leak.clone(),
                largest,
            );
        }
        let load = match self.circuit.leaks_a_side() {
            Some(leaks) if leaks > 1 => {
                let formula = r_l / number(f64::from(leaks));
                report.step("The inverter sees the leaks of its side in parallel.", "R_l'", formula, load)
            }
            _ => report.step("The inverter sees one leak on each side.", "R_l'", r_l, load),
        };
        let around = load.clone() + named("R_i", inverter);
        let round_trip = named("C", coupling) * around.clone();
        let tau = report.step(
            "The capacitor, charged by grid current, discharges through the leak and the inverter.",
            "τ",
            round_trip,
            recovery,
        );
        let pi = named_in("π", PI, &ONE);
        report.step("The same two set the bass corner.", "f", number(1.0) / (number(2.0) * pi * tau), corner);
        let divided = report.step(
            "The leak and the inverter’s output resistance divide the drive.",
            "a",
            load / around,
            drive,
        );
        let formula = number(0.0) - divided.decibels();
        report.step_in("As a loss.", "L", formula, found.design.loss, &DECIBEL);
        let mut other = named("R_s", stopper) + on_leak * named("R_l2", self.other.leak);
        if let Bias::Fixed(_) = self.bias {
            other = other + in_all * named("R_b", bias_source);
        }
        let says = "The other design’s grid circuit, the same way.";
        let circuit = report.step(says, "R_gc2", other, found.other.grid_circuit);
        let rise = named("g_m2", self.other.gm) * (named("I_g", grid_current) * circuit);
        report.step("And its rise in idle current.", "ΔI_2", rise, found.other.current_rise);
    }

    pub(super) fn notes(&self, found: &Found, report: &mut Report) {
        if found.bias_left.is_some_and(|bias| bias.si() >= 0.0) {
            report.notes.push(
                "The grid current assumed would take away all of the bias: such a valve runs away. It does not belong \
                 in the amplifier, whatever the leak."
                    .to_owned(),
            );
        }
        // Two designs may well have the same valve.
        let differs = self.other.valve != self.design.valve;
        for design in std::iter::once(&self.design).chain(differs.then_some(&self.other)) {
            let Some(limit) = self.limit(design) else { continue };
            let valve = &design.valve.name;
            if let Some(habit) = self.habit(design) {
                let usual = self.circuit.grid_circuit(habit / f64::from(self.circuit.valves_on_leak));
                if usual > limit.value() {
                    report.notes.push(format!(
                        "{} is the usual leak for each {valve} of a pair (common practice, no source). Here that \
                         makes a grid circuit of {}, above the limit of {}. The limit takes precedence over the \
                         practice.",
                        ohms(habit),
                        nearly(usual),
                        limit.said_of(valve)
                    ));
                }
            }
            if !limit.note.is_empty() {
                report.notes.push(format!("On the limit of {}: {}.", limit.said_of(valve), limit.note));
            }
        }
    }
}
