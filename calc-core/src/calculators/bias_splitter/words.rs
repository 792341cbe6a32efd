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
                "; the sheet of the {valve} allows {} with {}, which here is a leak of at most {}",
                ohms(limit.value()),
                self.bias_words(),
                nearly(*largest)
            ),
            (Some(limit), _) => format!(
                "; the sheet of the {valve} allows {} with {}, which no leak here can meet",
                ohms(limit.value()),
                self.bias_words()
            ),
            _ => format!("; no limit is published for the {valve} that we know of"),
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
            // The habit and the sheet of a second design are nobody's verdict until one is asked about.
            let asked_by = if whose.is_empty() { NONE } else { OTHER };
            let about = format!("Grid circuit, {}{whose}", self.bias_words());
            let limit = self.limit(design).map(|figure| figure.limit());
            let verdict = Verdict::at_most(about, &margins.of(answer), limit, |standing| {
                let advice = match standing {
                    Standing::Within => "The sheet allows it with the whole margin of the parts.",
                    Standing::Borderline => {
                        "The parts may put it over. Measure them, or take the next lower leak."
                    }
                    Standing::NoPublishedLimit => {
                        "Look it up on the valve’s own sheet, choose “another” and type it."
                    }
                    Standing::CannotTell => "Part of the tolerance gives no answer: type a smaller one.",
                    Standing::Beyond => return self.over_the_sheet(design),
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
                let verdict = self.against_habit(whose, design, habit).leaning_on(fields);
                report.verdicts.push(verdict.asked_by(asked_by));
            }
        }
        let corner = Limit::new(self.highest_corner, "your choice", &PRACTICE);
        report.verdicts.push(Verdict::at_most("Bass corner", &margins.of("corner"), Some(corner), |standing| {
            let advice = match standing {
                Standing::Within => "Lower than it need be also means slower recovery.",
                _ => "A larger coupling capacitor lowers it and leaves the grid circuit alone; recovery becomes slower.",
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

    fn over_the_sheet(&self, design: &Design) -> String {
        let remedy = match self.largest_leak(design) {
            Some(largest) if largest.si() > 0.0 => format!("A leak of at most {} would do.", nearly(largest)),
            _ => "No leak is low enough: stopper and bias source alone take up the limit.".to_owned(),
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
            (Standing::Within, "No more than the trade fits for this type. It says nothing of the sheet.")
        } else {
            (Standing::Beyond, "More than the trade fits for this type, valves on one leak counted.")
        };
        let limit = Limit::new(habit, "the usual leak for each valve of a pair", &PRACTICE);
        Verdict::new(format!("Leak, by habit{whose}"), standing, Some(limit), advice.to_owned())
    }

    pub(super) fn working(&self, found: &Found, report: &mut Report) {
        let Circuit { bias_source, valves_on_leak, valves, stopper, grid_current, coupling, inverter } =
            self.circuit;
        let Worked { leak, grid_circuit, bias_lost, current_rise, drive, recovery, corner, .. } =
            found.design;
        let (on_leak, in_all) = (number(f64::from(valves_on_leak)), number(f64::from(valves)));
        let (r_s, r_l) = (named("R_s", stopper), named("R_l", leak));
        let mut without_leak = r_s.clone();
        let mut sum = r_s + on_leak.clone() * r_l.clone();
        if let Bias::Fixed(_) = self.bias {
            let source = in_all * named("R_b", bias_source);
            without_leak = without_leak + source.clone();
            sum = sum + source;
        }
        let circuit = report.step(
            "Of one valve: its own stopper, its leak once for each valve on it, the bias source once for each valve in all.",
            "R_gc",
            sum,
            grid_circuit,
        );
        let lost = named("I_g", grid_current) * circuit;
        let lost = report.step("What grid current takes of the bias.", "ΔV", lost, bias_lost);
        let rise = named("g_m", self.design.gm) * lost;
        report.step("What that adds to the idle current.", "ΔI", rise, current_rise);
        if let (Some(limit), Some(largest)) = (self.limit(&self.design), found.largest_leak)
            && largest.si() > 0.0
        {
            let left = named("R_g1,max", limit.value()) - without_leak;
            report.step("The leak that would just use up the limit.", "R_l,max", left / on_leak, largest);
        }
        let around = r_l.clone() + named("R_i", inverter);
        let round_trip = named("C", coupling) * around.clone();
        let tau = report.step(
            "The capacitor, charged by grid current, discharges through leak and inverter.",
            "τ",
            round_trip,
            recovery,
        );
        let pi = named_in("π", PI, &ONE);
        report.step(
            "The same two make the bass corner.",
            "f",
            number(1.0) / (number(2.0) * pi * tau),
            corner,
        );
        report.step("Leak and inverter divide the drive.", "a", r_l / around, drive);
    }

    pub(super) fn notes(&self, found: &Found, report: &mut Report) {
        if found.bias_left.is_some_and(|bias| bias.si() >= 0.0) {
            report.notes.push(
                "The grid current reckoned with would take the whole bias: such a valve runs away. It does not belong in \
                 the amplifier, whatever the leak."
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
                        "{} is the usual leak for each {valve} of a pair (common practice, no source). Here it makes a grid \
                         circuit of {}, over the sheet’s {}. Both are so; the sheet outranks the habit.",
                        ohms(habit),
                        nearly(usual),
                        ohms(limit.value())
                    ));
                }
            }
            if !limit.note.is_empty() {
                report.notes.push(format!(
                    "The {} of the {valve}’s sheet: {}.",
                    ohms(limit.value()),
                    limit.note
                ));
            }
        }
    }
}
