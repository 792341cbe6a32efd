//! The words: summary, verdicts, the working that both kinds share, the table of ends.

use super::PhaseInverter;
use super::found::{Found, Side};
use crate::calculator::{
    Calculator, Carry, Expr, Inputs, Limit, Margins, Report, Standing, Table, Verdict, named, number,
};
use crate::calculators::coupling::Coupling;
use crate::margin::Margin;
use crate::quantity::unit::{AMPERE, OHM, ONE, VOLT};
use crate::quantity::{ElectricalResistance, Quantity, Ratio, writing};
use crate::source::PRACTICE;
use crate::valve::model::Volts;

impl PhaseInverter {
    pub(super) fn summary(&self, found: &Found) -> String {
        let [one, other] = found.sides;
        let kind = if found.pair { "Long-tailed pair" } else { "Split load" };
        format!(
            "{kind}, {}, by a published valve model: gain {} and {}. It swings {} each side, peak; the output \
             valves need {}.",
            self.triode.valve.name,
            writing::nearest(one.gain, &ONE),
            writing::nearest(other.gain, &ONE),
            writing::nearest(found.ends.swing.si(), &VOLT),
            writing::repeated(-self.bias.si(), &VOLT),
        )
    }

    pub(super) fn judge(&self, found: &Found, margins: &Margins, report: &mut Report) {
        let whole = Limit::new(Ratio::of(1.0), "the output valves’ grids at their cathodes", &PRACTICE);
        report.verdicts.push(Verdict::at_most("Drive", &margins.of("share"), Some(whole), |standing| {
            let advice = match standing {
                Standing::Within => "It drives the output valves to their end, and goes on beyond it.",
                Standing::Borderline => {
                    "An average valve does; a weak one bends before the output valves do. Measure on the dummy load."
                }
                Standing::Beyond => {
                    "It bends before the output valves are driven out: less bias, a higher node, or a lighter load."
                }
                _ => "Part of the tolerance gives no answer.",
            };
            advice.to_owned()
        }));
        let tenth = Limit::new(Ratio::of(0.1), "rule of thumb, either way", &PRACTICE);
        let balance = Verdict::at_most(
            "Balance",
            &either_way(margins.of("imbalance")),
            Some(tenth),
            |standing| {
                let advice = match standing {
                    Standing::Within => "Alike enough: output valves of one batch differ more.",
                    Standing::Borderline => {
                        "Measure both resistors: what the valve does to the balance is little beside them."
                    }
                    _ => {
                        "The sides differ more than the trade lets pass. In a guitar amplifier it may be meant."
                    }
                };
                advice.to_owned()
            },
        );
        report.verdicts.push(balance.leaning_on_all());
        self.judge_ratings(found, margins, report);
    }

    fn judge_ratings(&self, found: &Found, margins: &Margins, report: &mut Report) {
        let limits = self.triode.valve.limits;
        let advised = |bad: &'static str| {
            move |standing| {
                let advice = match standing {
                    Standing::Within => "Inside the sheet’s rating with the whole margin.",
                    Standing::NoPublishedLimit => "Look it up on the valve’s own sheet.",
                    Standing::CannotTell => "Part of the tolerance gives no answer.",
                    _ => bad,
                };
                advice.to_owned()
            }
        };
        let heater: Option<Limit> = limits.heater_cathode.map(|figure| figure.limit());
        report.verdicts.push(Verdict::at_most(
            "Heater to cathode",
            &margins.of("heater-peak"),
            heater,
            advised("A cathode this far above its heater leaks, hums and may break down: stand the heaters on a voltage."),
        ));
        let volts: Option<Limit> = limits.anode_voltage.map(|figure| figure.limit());
        report.verdicts.push(Verdict::at_most(
            "Across a valve",
            &margins.of("across"),
            volts,
            advised("More than the sheet allows between anode and cathode."),
        ));
        report.verdicts.push(Verdict::at_most(
            "Anodes while the valve is cold",
            &margins.of("cold"),
            volts,
            advised(
                "Until the cathode is warm the whole node stands at the anodes, and the sheet’s working limit is less. Some \
                 sheets allow more for a cold valve: look for that line.",
            ),
        ));
        let heat: Option<Limit> = limits.anode_power.map(|figure| figure.limit());
        report.verdicts.push(Verdict::at_most(
            "Anode dissipation",
            &margins.of("anode-power"),
            heat,
            advised("More than an inverter needs: look at the resistors."),
        ));
        let [one, _] = found.sides;
        let volts =
            Volts { anode: found.across.si(), screen: 0.0, grid: found.grid.si() - found.cathode.si() };
        report.verdicts.push(self.triode.fitted.reach.judged(volts, one.current.si()));
    }

    /// Two resistors with the load beside each.
    pub(super) fn beside(
        &self,
        report: &mut Report,
        sides: [(&'static str, &'static str, ElectricalResistance, ElectricalResistance); 2],
    ) -> [Expr; 2] {
        sides.map(|(symbol, name, own, with)| {
            let (own, load) = (|| named(name, own), || named("R_l", self.load));
            let says = "To signals the load lies beside it.";
            report.step(says, symbol, own() * load() / (own() + load()), with)
        })
    }

    /// The end of the working: the swing against what is needed.
    pub(super) fn finish(&self, found: &Found, report: &mut Report) {
        let need = number(0.0) - named("V_g1", self.bias);
        let says = "What the output valves need, of the swing that was found along the load lines.";
        report.step(says, "V / V_s", need / named("V_s", found.ends.swing), found.share);
        let triode = &self.triode;
        report.notes.push(format!(
            "The model of the {} counts as ±{}: that much or less it lies off the rows of its sheet.",
            triode.valve.name, triode.fitted.margin
        ));
    }

    /// How far each side goes either way.
    pub(super) fn sides(&self, found: &Found) -> Table {
        let names = if found.pair { ["driven side", "other side"] } else { ["anode", "cathode"] };
        let [up, down] = found.ends.moved;
        let row = |name: &str, side: Side, ways: [f64; 2]| {
            let cell = |volts: f64| writing::nearest(volts, &VOLT);
            vec![
                name.to_owned(),
                writing::nearest(side.current.si(), &AMPERE),
                cell(side.voltage.si()),
                cell(ways[0]),
                cell(ways[1]),
            ]
        };
        let [one, other] = found.sides;
        let drive = writing::nearest(found.ends.drive.si(), &VOLT);
        Table {
            title: "How far each side goes".to_owned(),
            head: vec![
                "Side".to_owned(),
                "Current at rest".to_owned(),
                "Voltage at rest".to_owned(),
                format!("Moves by, {drive} up"),
                format!("{drive} down"),
            ],
            rows: vec![row(names[0], one, [up[0], down[0]]), row(names[1], other, [up[1], down[1]])],
        }
    }

    pub(super) fn carry(&self, found: &Found) -> Carry {
        // The side of higher resistance has the higher corner.
        let [one, other] = found.sides;
        let side = if one.output.si() > other.output.si() { one } else { other };
        let highest = one.voltage.si().max(other.voltage.si());
        let typed = [
            ("source", writing::bench(side.output.si().clamp(0.0, 1e6), &OHM)),
            ("leak", writing::bench(self.load.si().clamp(1e3, 22e6), &OHM)),
            ("anode-voltage", writing::bench(highest, &VOLT)),
            ("bias-voltage", writing::bench(self.bias.si(), &VOLT)),
        ];
        Carry {
            to: Coupling::SHEET,
            what: format!(
                "{} as the resistance before the capacitor, {} as its voltage",
                writing::nearest(side.output.si(), &OHM),
                writing::nearest(highest, &VOLT)
            ),
            inputs: Inputs::from(typed.map(|(id, text)| (id.to_owned(), text))),
            answers: vec![],
            is_example: false,
        }
    }
}

/// How far a value may be from nothing, whichever way.
fn either_way(margin: Margin) -> Margin {
    let Margin { value, low, high, .. } = margin;
    let least = if low <= 0.0 && high >= 0.0 { 0.0 } else { low.abs().min(high.abs()) };
    Margin { value: value.abs(), low: least, high: low.abs().max(high.abs()), ..margin }
}
