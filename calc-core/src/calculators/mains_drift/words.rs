//! The words: summary, verdicts, working; the table and the picture of what other mains would do.

use super::{Found, IdleNow, MainsDrift, Settled};
use crate::calculator::{
    Axis, Limit, Margins, Mark, Picture, Report, Series, Standing, Table, Verdict, named, number,
};
use crate::quantity::unit::{AMPERE, PER_CENT, VOLT, WATT};
use crate::quantity::{ElectricPotential, Quantity, Ratio, writing};
use crate::source::PRACTICE;

/// The mains of the table, as shares of the marked.
const SHARES: [f64; 7] = [0.85, 0.9, 0.95, 1.0, 1.05, 1.1, 1.15];

impl MainsDrift {
    pub(super) fn summary(&self, found: &Found) -> String {
        let volts = |value: ElectricPotential| writing::nearest(value.si(), &VOLT);
        let mut words = format!(
            "{} on {}: bias {}, heaters {}",
            writing::repeated(self.measured.si(), &VOLT),
            writing::repeated(self.marked.si(), &VOLT),
            volts(found.bias),
            volts(found.heater),
        );
        if let Some((_, now)) = found.idle {
            words += &format!(
                ", about {} in each cathode and {} on its anode",
                writing::nearest(now.cathode.si(), &AMPERE),
                writing::nearest(now.power.si(), &WATT)
            );
        }
        words + "."
    }

    pub(super) fn judge(&self, found: &Found, margins: &Margins, report: &mut Report) {
        let tenth = Limit::new(Ratio::of(0.1), "off the marking", &PRACTICE);
        report.verdicts.push(Verdict::at_most("Mains", &margins.of("off"), Some(tenth), |standing| {
            let advice = match standing {
                Standing::Within => "Within what amplifiers were made for. Scale every expected reading by it.",
                _ => "Check the mains selector first. Behind a lamp this is expected, and nothing is approved there.",
            };
            advice.to_owned()
        }));
        let Some(idle) = &self.idle else { return };
        let Some((settled, now)) = found.idle else {
            let advice = format!(
                "No operating point of the {} is known well enough to fit a model to. Read the current at this mains.",
                idle.valve.name
            );
            report.verdicts.push(Verdict::new("Idle current", Standing::CannotTell, None, advice));
            return;
        };
        let rating = idle.valve.limits.anode_power.map(|figure| figure.limit());
        let margin = margins.of("anode-power");
        report.verdicts.push(Verdict::at_most("Anode dissipation at this mains", &margin, rating, |standing| {
            let advice = match standing {
                Standing::Within => "Expected within the rating. Read the current all the same.",
                Standing::Borderline => {
                    "It may exceed the rating: read the current at this mains voltage, and set it lower if it does."
                }
                Standing::Beyond => {
                    "Expected to exceed the rating: set less current, or set the mains selector to this voltage."
                }
                _ => "Look the rating up in the valve’s own data sheet.",
            };
            advice.to_owned()
        }));
        report.verdicts.push(settled.fitted.reach.judged(now.volts, now.anode.si()));
    }

    pub(super) fn working(&self, found: &Found, report: &mut Report) {
        let share = report.step(
            "The mains, as a share of the marked.",
            "k",
            named("V_n", self.measured) / named("V_m", self.marked),
            found.share,
        );
        let off =
            if found.share.si() < 1.0 { number(1.0) - share.clone() } else { share.clone() - number(1.0) };
        report.step("Its deviation from the marking.", "d", off, found.off);
        if found.idle.is_none_or(|(settled, _)| !settled.idle.cathode_biased) {
            report.step("Bias.", "V_g1", share.clone() * named("V_g1,m", self.bias), found.bias);
        } else {
            let says = "The bias that the cathode current makes in its resistor at this mains voltage, found by bisection.";
            report.state(says, "V_g1", found.bias);
        }
        report.step("Heaters.", "V_h", share.clone() * named("V_h,m", self.heater), found.heater);
        report.step("HT.", "V_HT", share * named("V_HT,m", self.ht), found.ht);
        let Some((Settled { idle, .. }, now)) = found.idle else { return };
        let slope = named("k_g", idle.gm_share) * named("k_w", idle.valve_share);
        let change = (now.cathode - idle.current) / (idle.gm_share.si() * idle.valve_share.si());
        report.step(
            "The model, shifted along the grid voltage to the current that was read, gains or loses ΔI at this mains \
             voltage.",
            "I_k",
            named("I_k,m", idle.current) + slope * named("ΔI", change),
            now.cathode,
        );
        let anode = ElectricPotential::of(now.volts.anode);
        report.step(
            "The anode’s share of it, times the anode’s voltage from the cathode.",
            "P_a",
            named("V_a", anode) * named("I_a", now.anode),
            now.power,
        );
    }

    pub(super) fn table(&self, settled: Settled) -> Table {
        let row = |share: f64| {
            let mut row = vec![
                writing::nearest(share, &PER_CENT),
                writing::nearest(self.marked.si() * share, &VOLT),
                writing::nearest(self.heater.si() * share, &VOLT),
            ];
            row.extend(match settled.at(share) {
                Some(IdleNow { volts, cathode, power, .. }) => [
                    writing::nearest(volts.grid, &VOLT),
                    writing::nearest(cathode.si(), &AMPERE),
                    writing::nearest(power.si(), &WATT),
                ],
                None => [(); 3].map(|()| "cannot tell: the model has no point there".to_owned()),
            });
            row
        };
        Table {
            title: "At other mains voltages".to_owned(),
            head: ["Share of the marked", "Mains", "Heaters", "Bias", "Cathode current", "Anode dissipation"]
                .map(str::to_owned)
                .to_vec(),
            rows: SHARES.into_iter().map(row).collect(),
        }
    }

    pub(super) fn picture(&self, settled: Settled, now: IdleNow) -> Picture {
        let marked = self.marked.si();
        let at = |step: u32| 0.8 + 0.4 * f64::from(step) / 24.0;
        let power = |share: f64| settled.at(share).map(|at| at.power.si());
        let heat: Vec<(f64, f64)> =
            (0..=24).map(at).filter_map(|share| Some((marked * share, power(share)?))).collect();
        let now = now.power.si();
        let rating = settled.idle.valve.limits.anode_power.map(|figure| figure.value().si());
        let most = heat.iter().map(|(_, power)| *power).chain([now]).chain(rating).fold(1.0, f64::max) * 1.1;
        let mains = self.measured.si();
        let (from, to) = (mains.min(0.8 * marked), mains.max(1.2 * marked));
        let mut series = vec![Series { name: "expected".to_owned(), mark: Mark::Curve, points: heat }];
        series.extend(rating.map(|rating| Series {
            name: format!("rated {}", writing::repeated(rating, &WATT)),
            mark: Mark::Limit,
            points: vec![(from, rating), (to, rating)],
        }));
        series.push(Series { name: "now".to_owned(), mark: Mark::Point, points: vec![(mains, now)] });
        Picture {
            title: "Anode dissipation follows the mains".to_owned(),
            description: format!(
                "It grows faster than the mains voltage: {} at the marking, {} now.",
                power(1.0).map_or_else(|| "not known".to_owned(), |marked| writing::nearest(marked, &WATT)),
                writing::nearest(now, &WATT)
            ),
            x: Axis::even("Mains", &VOLT, from, to),
            y: Axis::even("Anode dissipation, one valve", &WATT, 0.0, most),
            series,
        }
    }
}
