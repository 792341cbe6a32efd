//! The words of the order of the leads: working, table and picture.

use super::{Found, LeadOrder, Shares, Slopes, decibels};
use crate::calculator::{Axis, Mark, Picture, Report, Series, Table, named, number};
use crate::quantity::unit::{DECIBEL, ONE};
use crate::quantity::{Quantity, Ratio, writing};

impl LeadOrder {
    pub(super) fn working(&self, found: &Found, report: &mut Report) {
        let valves = number(f64::from(self.valves));
        match &self.valve {
            Slopes::Modelled { shares: Shares { gm, valve, .. }, .. } => {
                let says = "The model’s slope at this current, times its own share and that of this valve.";
                let modelled = named("g_model", found.gm / (*gm * *valve));
                report.step(says, "g_m", named("k_g", *gm) * named("k_w", *valve) * modelled, found.gm);
            }
            Slopes::Typed { gm, .. } => {
                report.state("As typed.", "g_m", *gm);
            }
        }
        let lower = named("R_g", self.lower);
        let beta = lower.clone() / (lower + named("R_fb", self.feedback));
        let beta = report.step("The share of the output fed back.", "β", beta, found.beta);
        let primary = named("R_aa", self.primary);
        let turns = (primary.clone() / named("R_L", self.load)).root();
        let turns = report.step_in("Turns ratio, primary to secondary.", "n", turns, found.turns.si(), &ONE);
        let own = number(2.0) * named("r_a", found.ra) / valves.clone();
        let anodes = primary.clone() * own.clone() / (primary + own);
        let anodes = report.step(
            "The load between the anodes, with the valves’ own resistance across it.",
            "R",
            anodes,
            found.anodes,
        );
        let gain = valves * named("g_m", found.gm) * anodes / turns;
        let gain = report.step_in("From a grid to the speaker.", "A_o", gain, found.output_gain.si(), &ONE);
        let share = found.law.share(self.knob);
        let master = named("H", found.divider.output(share));
        let inverter = crate::calculator::named_in("A_i", self.inverter_gain.si(), &ONE);
        let lossless = beta * inverter * gain;
        let whole = lossless.clone() * master;
        let whole = report.step_in(
            "Around the loop, with what the master passes at this setting.",
            "T",
            whole,
            found.here,
            &ONE,
        );
        let says = "With the leads right, the output without feedback divided by that with it.";
        let open = report.step_in(says, "V_open / V", number(1.0) + whole.clone(), 1.0 + found.here, &ONE);
        report.step_in("The same in decibels.", "ΔL", open.decibels(), decibels(1.0 + found.here), &DECIBEL);
        let says = "With the leads swapped it howls where this reaches zero.";
        report.step_in(says, "1 − T", number(1.0) - whole, 1.0 - found.here, &ONE);
        let full_up = named("H_10", found.divider.output(found.law.full_up()));
        report.step_in("Full up.", "T_10", lossless * full_up, found.full, &ONE);
        let says = if found.full >= 1.0 {
            "The lowest setting at which T is 1, found by bisection."
        } else {
            "T does not reach 1 at any setting: shown as 10."
        };
        report.state_in(says, "n_1", found.howls_from.si() * 10.0, &ONE);
    }
}

impl Found {
    fn at(&self, rotation: Ratio) -> f64 {
        self.lossless * self.divider.output(self.law.share(rotation)).si()
    }
}

pub(super) fn table(found: &Found, report: &mut Report) {
    let row = |mark: u8| {
        let gain = found.at(Ratio::of(f64::from(mark) / 10.0));
        let swapped = if gain >= 1.0 {
            "howls".to_owned()
        } else {
            format!(
                "quiet; opening the lead changes the output by {}",
                writing::nearest(decibels(1.0 - gain), &DECIBEL)
            )
        };
        vec![
            mark.to_string(),
            writing::nearest(gain, &ONE),
            writing::nearest(decibels(1.0 + gain), &DECIBEL),
            swapped,
        ]
    };
    report.tables.push(
        Table {
            title: "From 0 to 10".to_owned(),
            head: [
                "Knob",
                "Loop gain",
                "Leads right: opening the lead raises the output by",
                "Leads swapped",
            ]
            .map(str::to_owned)
            .to_vec(),
            rows: (0..=10).map(row).collect(),
        }
        .into(),
    );
}

pub(super) fn draw(found: &Found, report: &mut Report) {
    let (floor, top) = (-40.0, 20.0);
    let points = (0..=40u8).map(|quarter| f64::from(quarter) / 40.0).filter_map(|rotation| {
        let gain = found.at(Ratio::of(rotation));
        (gain > 0.0)
            .then(|| (rotation * 10.0, decibels(gain)))
            .filter(|(_, level)| (floor..=top).contains(level))
    });
    report.picture = Some(Picture {
        title: "Loop gain against rotation".to_owned(),
        description: format!(
            "It reaches {} at 10. Above the full line, at 0\u{a0}dB, swapped leads howl; below it they are as quiet \
             as correct ones.",
            writing::nearest(decibels(found.full), &DECIBEL)
        ),
        x: Axis::even("Knob", &ONE, 0.0, 10.0),
        y: Axis::even("Loop gain", &DECIBEL, floor, top),
        series: vec![
            Series {
                name: "howls above it, leads swapped".to_owned(),
                mark: Mark::Limit,
                points: vec![(0.0, 0.0), (10.0, 0.0)],
            },
            Series { name: "loop gain".to_owned(), mark: Mark::Curve, points: points.collect() },
        ],
    });
}
