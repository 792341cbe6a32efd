//! What the law of a control is put into: sentences, working, picture, table.

use super::super::questions::control::Kind;
use super::{Found, Taper, decibels, level_of, ratio_of};
use crate::calculator::{
    Axis, Expr, Limit, Margins, Mark, Picture, Report, Series, Standing, Table, Verdict, named, named_in,
    number,
};
use crate::quantity::unit::{DECIBEL, DECIBEL_PER_DEGREE, DEGREE, OHM, ONE, PER_CENT};
use crate::quantity::{ElectricalResistance, Quantity, Ratio, writing};
use crate::source::{OMEG_POTS, POT_LISTING, Source};

/// How far down the picture goes, in decibels.
const FLOOR: f64 = -60.0;

/// How closely two gangs track by the data sheets: decibels, down to what attenuation, and who says so.
const LINEAR_TRACKING: (f64, f64, &Source) = (4.0, -20.0, &OMEG_POTS);
const REVERSE_TRACKING: (f64, f64, &Source) = (3.0, -20.0, &OMEG_POTS);
const OTHER_TRACKING: (f64, f64, &Source) = (3.0, -40.0, &POT_LISTING);

impl Taper {
    pub(super) fn say(&self, found: &Found, margins: &Margins, report: &mut Report) {
        let knob = writing::repeated(self.rotation.si() * 10.0, &ONE);
        report.summary = match &found.levels {
            Some(levels) => format!(
                "At {knob} the level is {} below full up; the track alone would give {}.",
                decibel(-levels.here),
                decibel(-levels.made)
            ),
            None => format!("At {knob} nothing comes out: the wiper is on the low end."),
        };
        if let Some(sides) = &found.sides {
            report.summary.push_str(&match (sides.ratio.si() - 1.0) * 100.0 {
                more if more >= 0.05 => {
                    format!(" One side may get {more:.0}\u{a0}% more drive than the other.")
                }
                _ => " Both sides get the same.".to_owned(),
            });
            report.verdicts.push(self.tracking(found, margins));
        }
        if let Some(levels) = &found.levels
            && (levels.here - levels.made).abs() >= 0.5
        {
            report.notes.push(format!(
                "A loaded law is not the track’s own law: here it is {} {}.",
                decibel((levels.here - levels.made).abs()),
                if levels.here < levels.made { "lower" } else { "higher" }
            ));
        }
        if let Some(lowest) = decibels(found.divider.output(found.law.share(Ratio::of(0.0))) / found.full_up)
            && lowest > -40.0
        {
            report.notes.push(format!(
                "At the lower stop it is still at {}: it never falls to −40\u{a0}dB, which is shown as 0.",
                decibel(lowest)
            ));
        }
        if self.shunt.is_some() {
            report.notes.push(format!(
                "The price of the shunt: full up, the driver sees {} in place of {}.",
                writing::nearest(found.divider.below(found.law.full_up()).si(), &OHM),
                writing::nearest(self.without_shunt(found).si(), &OHM)
            ));
        }
        if found.law.full_up().si() < 0.9 {
            report.notes.push(format!(
                "At the upper stop your points leave the wiper at {} of the track: is the last one right?",
                writing::nearest(found.law.full_up().si(), &PER_CENT)
            ));
        }
    }

    /// The mismatch of the gangs against what data sheets allow at this attenuation.
    fn tracking(&self, found: &Found, margins: &Margins) -> Verdict {
        let (limit, down_to, source) = match self.kind {
            Kind::Linear => LINEAR_TRACKING,
            Kind::Reverse => REVERSE_TRACKING,
            Kind::Audio | Kind::Shares | Kind::Ohms => OTHER_TRACKING,
        };
        let promised = found.levels.as_ref().is_some_and(|levels| levels.made >= down_to);
        let kind = "tracking of two gangs";
        let limit = promised.then_some(Limit { value: limit, unit: &DECIBEL, kind, source });
        Verdict::at_most("Gang matching", &margins.of("tracking"), limit, |standing| match standing {
            Standing::Within => {
                "As good as makers promise, which is not very good: check the difference between the sides."
                    .to_owned()
            }
            Standing::NoPublishedLimit => format!(
                "Makers promise nothing more than {} down. Measure both gangs at this setting.",
                decibel(-down_to)
            ),
            _ => "Use another pot, or pick one by measuring both gangs at the settings that will be used."
                .to_owned(),
        })
    }

    fn without_shunt(&self, found: &Found) -> ElectricalResistance {
        crate::pot::Divider { load: self.load, ..found.divider }.below(found.law.full_up())
    }

    pub(super) fn working(&self, found: &Found, report: &mut Report) {
        let (from, to) = found.law.segment(self.rotation);
        let knob = |symbol, rotation: Ratio| named_in(symbol, rotation.si() * 10.0, &ONE);
        let mut share = named("x", found.share);
        if from.share < to.share {
            let along = (knob("n", self.rotation) - knob("n_1", from.rotation))
                / (knob("n_2", to.rotation) - knob("n_1", from.rotation));
            let formula =
                named("x_1", from.share) + (named("x_2", to.share) - named("x_1", from.share)) * along;
            share = report.step(
                "The track is straight between two corners of its law.",
                "x",
                formula,
                found.share,
            );
        }
        if from.share >= to.share {
            report.state("The track does not change here.", "x", found.share);
        }
        let divider = &found.divider;
        let track = || named("R_P", divider.track);
        let load = match (self.load, self.shunt, divider.load) {
            (Some(load), Some(shunt), Some(both)) => {
                let (load, shunt) = (named("R_L", load), named("R_b", shunt));
                let formula = load.clone() * shunt.clone() / (load + shunt);
                Some(report.step("Load and shunt are in parallel at the wiper.", "R_w", formula, both))
            }
            (None, Some(shunt), _) => Some(named("R_b", shunt)),
            (load, ..) => load.map(|load| named("R_L", load)),
        };
        let below = |report: &mut Report, says: &str, symbol, share: Expr, result| {
            let part = share * track();
            let formula = match load.clone() {
                Some(load) => part.clone() * load.clone() / (part + load),
                None => part,
            };
            report.step(says, symbol, formula, result)
        };
        let low = below(report, "Below the wiper.", "R_2", share.clone(), divider.below(found.share));
        let formula = named("R_d", divider.driver) + (number(1.0) - share.clone()) * track();
        let high =
            report.step("Above the wiper, the driver included.", "R_1", formula, divider.above(found.share));
        let formula = low.clone() / (high.clone() + low.clone());
        let output = report.step("As a share of the driver’s voltage.", "V / E", formula, found.output);
        let top = found.law.full_up();
        let full = below(report, "Full up, the same.", "R_in", named("x_10", top), divider.below(top));
        let rest = named("R_d", divider.driver) + (number(1.0) - named("x_10", top)) * track();
        let full_up = report.step(
            "As a share of the driver’s voltage, full up.",
            "V_10 / E",
            full.clone() / (rest + full),
            found.full_up,
        );
        let loss = level_of(found.full_up);
        report.step_in("Full up, as a level.", "L_10", full_up.clone().decibels(), loss, &DECIBEL);
        let fraction = output.clone() / full_up;
        let fraction = report.step("As a share of what full up gives.", "V / V_10", fraction, found.fraction);
        if let Some(levels) = &found.levels {
            let made = (share / named("x_10", top)).decibels();
            report.step_in("The track alone, as a level.", "L_x", made, levels.made, &DECIBEL);
            let here = report.step_in("In the circuit.", "L", fraction.decibels(), levels.here, &DECIBEL);
            let level = |symbol, level| named_in(symbol, level, &DECIBEL);
            if let Some(up) = levels.up {
                let formula = level("L_up", levels.here + up) - here.clone();
                report.step_in("One degree further up.", "s_up", formula, up, &DECIBEL_PER_DEGREE);
            }
            if let Some(down) = levels.down {
                let formula = here - level("L_down", levels.here - down);
                report.step_in("One degree further down.", "s_down", formula, down, &DECIBEL_PER_DEGREE);
            }
        }
        let formula = low.clone() * high.clone() / (low + high);
        report.step("What a grid sees.", "R_s", formula, divider.source(found.share));
        self.working_of_all_settings(found, report);
        if let Some(sides) = &found.sides {
            report.state_in("How far the gangs are apart on the track.", "e", sides.tracking, &DECIBEL);
            let other = named("V_2 / E", found.output / sides.ratio);
            let says = "The stronger side divided by the weaker, whose wiper has that much less of the track; at a \
                        stop both have the same.";
            // At the low end both get nothing.
            let formula = if found.output.si() > 0.0 { output / other } else { number(1.0) };
            let ratio = report.step_in(says, "r", formula, sides.ratio.si(), &ONE);
            report.step_in("As a level.", "L_r", ratio.decibels(), level_of(sides.ratio), &DECIBEL);
        }
    }

    /// What was looked for among all settings of the knob.
    fn working_of_all_settings(&self, found: &Found, report: &mut Report) {
        let place = |report: &mut Report, says, symbol, rotation: Ratio| {
            report.state_in(says, symbol, rotation.si() * 10.0, &ONE)
        };
        let says =
            "The lowest setting at which the level is at most 40\u{a0}dB below full up, found by bisection.";
        let forty = place(report, says, "n_40", found.at_forty);
        let says = "The same for −6\u{a0}dB.";
        let six = place(report, says, "n_6", found.at_six);
        let range = (found.at_six - found.at_forty).si() * found.angle;
        let formula = (six - forty) / number(10.0) * named_in("φ", found.angle, &DEGREE);
        report.step_in("Between the two, of the whole rotation.", "φ_r", formula, range, &DEGREE);
        let divider = &found.divider;
        let worst = divider.worst_share(found.law.full_up());
        let (above, below) = (|| named("R_1", divider.above(worst)), || named("R_2", divider.below(worst)));
        let says = "A grid sees most where the resistance above the wiper equals that below, or as near to that as \
                    the track comes.";
        let formula = above() * below() / (above() + below());
        report.step(says, "R_s,max", formula, found.worst);
        place(report, "That setting, found by bisection.", "n_max", found.worst_at);
    }

    pub(super) fn draw(&self, found: &Found, report: &mut Report) {
        let alone = |share: Ratio| share / found.law.full_up();
        let placed = |share: Ratio| found.divider.output(share) / found.full_up;
        let point = |rotation: Ratio, of: &dyn Fn(Ratio) -> Ratio| {
            let level = decibels(of(found.law.share(rotation)))?;
            (level >= FLOOR).then_some((rotation.si() * 10.0, level))
        };
        let line = |name: &str, mark, of: &dyn Fn(Ratio) -> Ratio| {
            // From where the curve comes up through the floor of the picture.
            let start = found.law.rotation_where(|share| of(share) >= ratio_of(FLOOR));
            let quarters = (0..=40u8).map(|quarter| Ratio::of(f64::from(quarter) / 40.0));
            let shown = std::iter::once(start).chain(quarters.filter(|rotation| *rotation > start));
            let points = shown.filter_map(|rotation| point(rotation, of)).collect();
            Series { name: name.to_owned(), mark, points }
        };
        let mut series =
            vec![line("track alone", Mark::Target, &alone), line("in this circuit", Mark::Curve, &placed)];
        if matches!(self.kind, Kind::Shares | Kind::Ohms) {
            let corners = found.law.corners().iter();
            let points = corners.filter_map(|corner| point(corner.rotation, &alone)).collect();
            series.push(Series { name: "your points".to_owned(), mark: Mark::Point, points });
        }
        if let Some(stands) = point(self.rotation, &placed) {
            series.push(Series {
                name: "the knob’s position".to_owned(),
                mark: Mark::Point,
                points: vec![stands],
            });
        }
        let spread = 10.0 * (found.at_six - found.at_forty).si();
        report.picture = Some(Picture {
            title: "Level against rotation".to_owned(),
            description: format!(
                "From −40 to −6\u{a0}dB below full up the knob turns from {} to {}, {} of its 10 steps.",
                writing::nearest(found.at_forty.si() * 10.0, &ONE),
                writing::nearest(found.at_six.si() * 10.0, &ONE),
                writing::nearest(spread, &ONE)
            ),
            x: Axis::even("Knob", &ONE, 0.0, 10.0),
            y: Axis::even("Below full up", &DECIBEL, FLOOR, 0.0),
            series,
        });
        let row = |mark: u8| {
            let rotation = Ratio::of(f64::from(mark) / 10.0);
            let share = found.law.share(rotation);
            vec![
                mark.to_string(),
                writing::nearest(share.si(), &PER_CENT),
                writing::nearest(placed(share).si(), &PER_CENT),
                decibels(placed(share)).map_or_else(|| "nothing".to_owned(), decibel),
                writing::nearest(found.divider.source(share).si(), &OHM),
            ]
        };
        report.tables.push(
            Table {
                title: "From 0 to 10".to_owned(),
                head: [
                    "Knob",
                    "Track below the wiper",
                    "Voltage, share of full up",
                    "Level",
                    "Source resistance",
                ]
                .map(str::to_owned)
                .to_vec(),
                rows: (0..=10).map(row).collect(),
            }
            .into(),
        );
    }
}

/// A level to a tenth of a decibel, as far as an ear or a track goes.
fn decibel(level: f64) -> String {
    let tenths = libm::round(level * 10.0) / 10.0;
    let minus = if tenths < 0.0 { "−" } else { "" };
    format!("{minus}{:.1}\u{a0}dB", tenths.abs())
}
