//! The words: summary, verdicts, the working that both kinds share, the table of ends.

use super::PhaseInverter;
use super::found::{Found, Side};
use crate::calculator::{Carry, Expr, Limit, Margins, Report, Standing, Table, Verdict, named, number};
use crate::calculators::coupling::Coupling;
use crate::margin::Margin;
use crate::quantity::unit::{AMPERE, ONE, VOLT};
use crate::quantity::{ElectricPotential, ElectricalResistance, Quantity, Ratio, writing};
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
                Standing::Within => "It drives the output valves fully, with swing to spare.",
                Standing::Borderline => {
                    "An average valve does; a weak one distorts before the output valves do. Measure into the dummy \
                     load."
                }
                _ => {
                    "It distorts before the output valves are fully driven. It needs output valves with less bias, a \
                     higher supply, or a lighter load."
                }
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
                    Standing::Within => "Close enough: output valves of one batch differ more.",
                    Standing::Borderline => {
                        "Measure both resistors, then both gains: the valve affects the balance as much as they do."
                    }
                    _ => {
                        "The sides differ more than is usually accepted. In a guitar amplifier that may be intended."
                    }
                };
                advice.to_owned()
            },
        );
        report.verdicts.push(balance.depending_on_all());
        self.judge_ratings(found, margins, report);
    }

    fn judge_ratings(&self, found: &Found, margins: &Margins, report: &mut Report) {
        let limits = self.triode.valve.limits;
        let advised = |bad: &'static str| {
            move |standing| {
                let advice = match standing {
                    Standing::Within => "Within the rating, with all tolerances counted.",
                    Standing::NoPublishedLimit => "Look it up in the valve’s own data sheet.",
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
            advised(
                "A cathode this far above its heater leaks, hums and may break down: raise the heaters above \
                     chassis.",
            ),
        ));
        let volts: Option<Limit> = limits.anode_voltage.map(|figure| figure.limit());
        report.verdicts.push(Verdict::at_most(
            "Across a valve",
            &margins.of("across"),
            volts,
            advised("More than the limit between anode and cathode."),
        ));
        report.verdicts.push(Verdict::at_most(
            "Anodes while the valve is cold",
            &margins.of("cold"),
            volts,
            advised(
                "Until the cathode is warm the full supply voltage is at the anodes, above the working limit. A cold \
                 valve may be allowed more: look for that line in the valve’s own data sheet.",
            ),
        ));
        let heat: Option<Limit> = limits.anode_power.map(|figure| figure.limit());
        report.verdicts.push(Verdict::at_most(
            "Anode dissipation",
            &margins.of("anode-power"),
            heat,
            advised("More than an inverter needs: check the resistors."),
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
            let says = "For signals the load is in parallel with it.";
            report.step(says, symbol, own() * load() / (own() + load()), with)
        })
    }

    /// The end of the working: what is across the valve and the heater, the swing against what is needed.
    pub(super) fn finish(&self, found: &Found, report: &mut Report) {
        let [one, other] = found.sides;
        let cathode = || named("V_k", found.cathode);
        // The other anode counts where more is at it, or more flows there.
        let second = |more: bool| found.pair && more;
        let across = |side: Side, symbol| named(symbol, side.voltage) - cathode();
        let says = "Across the valve that has more.";
        let (side, symbol) = if second(other.voltage > one.voltage) { (other, "V_2") } else { (one, "V_1") };
        report.step(says, "V_ak", across(side, symbol), found.across);
        let heat = |side: Side| (side.voltage - found.cathode) * side.current;
        let (side, voltage, current) =
            if second(heat(other) > heat(one)) { (other, "V_2", "I_2") } else { (one, "V_1", "I_1") };
        let formula = across(side, voltage) * named(current, side.current);
        report.step("The anode’s dissipation, where it is higher.", "P_a", formula, found.power);
        report.state(
            "A cold valve draws nothing: the full supply voltage is at its anode.",
            "V_b",
            found.cold,
        );
        let heaters = || named("V_h", self.heater);
        let apart =
            |cathode: Expr, above: bool| if above { cathode - heaters() } else { heaters() - cathode };
        let above = found.cathode.si() >= self.heater.si();
        report.step("Heater to cathode, at rest.", "V_hk", apart(cathode(), above), found.heater);
        let says = "The drive at which the nearer limit is reached: a grid at its cathode, or a valve down to a tenth \
                    of its idle current; found along the load lines.";
        report.state(says, "V_d", found.ends.drive);
        let says = "The smallest swing of any side at this drive.";
        let swing = report.state(says, "V_s", found.ends.swing);
        let (moved, above) = self.cathode_farthest(found);
        let formula = apart(cathode() + named("ΔV_k", ElectricPotential::of(moved)), above);
        let says = "Heater to cathode where the cathode is farthest from it.";
        report.step(says, "V_hk,p", formula, found.heater_peak);
        let need = number(0.0) - named("V_g1", self.bias);
        let says = "The share of the swing that the output valves need.";
        report.step(says, "V / V_s", need / swing, found.share);
        report.notes.push(self.triode.fitted.margin_words());
    }

    /// How far the cathodes move to where they are farthest from the heaters, in V, and whether they are above them there.
    fn cathode_farthest(&self, found: &Found) -> (f64, bool) {
        let at_rest = found.cathode.si() - self.heater.si();
        let ways = found.ends.first.cathodes.into_iter();
        let most = ways.fold(
            0.0,
            |most: f64, way| {
                if (at_rest + way).abs() > (at_rest + most).abs() { way } else { most }
            },
        );
        (most, at_rest + most >= 0.0)
    }

    /// How far each side goes either way.
    pub(super) fn sides(&self, found: &Found) -> Table {
        let names = if found.pair { ["driven side", "other side"] } else { ["anode", "cathode"] };
        let [up, down] = found.ends.first.moved;
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
            title: "How far each side swings".to_owned(),
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
        let mut carry = Coupling::after(side.output, self.load, ElectricPotential::of(highest));
        carry.inputs.insert("bias-voltage".to_owned(), writing::bench(self.bias.si(), &VOLT));
        carry
    }
}

/// How far a value may be from nothing, whichever way.
fn either_way(margin: Margin) -> Margin {
    let Margin { value, low, high, .. } = margin;
    let least = if low <= 0.0 && high >= 0.0 { 0.0 } else { low.abs().min(high.abs()) };
    Margin { value: value.abs(), low: least, high: low.abs().max(high.abs()), ..margin }
}
