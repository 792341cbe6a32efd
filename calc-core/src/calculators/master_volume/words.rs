//! What the master volume is put into: summary, verdicts, notes, working.

use super::circuit::{Circuit, Place, Topology};
use super::curves::decibel;
use super::{Found, METER, MasterVolume};
use crate::calculator::{Expr, Limit, Margins, Report, Standing, Verdict, named, named_in, number};
use crate::quantity::unit::{HERTZ, OHM, ONE, VOLT};
use crate::quantity::{ElectricPotential, ElectricalResistance, Quantity, Ratio, writing};

fn nearly(ohms: f64) -> String {
    writing::nearest(ohms, &OHM)
}

impl MasterVolume {
    fn limit(&self) -> Option<Limit> {
        self.valve.fixed.map(|figure| figure.limit())
    }

    pub(super) fn say(&self, found: &Found, margins: &Margins, report: &mut Report) {
        let knob = writing::repeated(self.knob.si() * 10.0, &ONE);
        let limit = self.valve.fixed.map_or_else(
            || "we know of no published limit".to_owned(),
            |limit| format!("the limit is {}", limit.said_of(&self.valve.name)),
        );
        report.summary = format!(
            "At {knob} the grids get {} of the inverter’s level, {} below full up, from {} to {} (−3\u{a0}dB). The grid circuit \
             is at most {} for each valve; {limit}.",
            decibel(found.here),
            decibel(found.full_up - found.here),
            writing::nearest(found.bass, &HERTZ),
            writing::nearest(found.treble, &HERTZ),
            nearly(found.grid_circuit_most),
        );
        self.judge(found, margins, report);
        self.notes(found, report);
        self.judge_element(found, margins, report);
    }

    fn judge(&self, found: &Found, margins: &Margins, report: &mut Report) {
        let most = margins.of("grid-circuit-most");
        report.verdicts.push(Verdict::at_most("Grid circuit, highest at any setting", &most, self.limit(), |standing| {
            let advice = match standing {
                Standing::Within => "Within the limit at every setting, with all tolerances counted.",
                Standing::Borderline => "With these tolerances it may exceed the limit. Measure the parts, or use the \
                                         next lower track.",
                Standing::NoPublishedLimit => "Look it up in the valve’s own data sheet, choose “another” and type \
                                               it.",
                Standing::Beyond if found.circuit.grid_circuit(found.circuit.law.full_up()) > 0.0 && self.leaks_were_over() => {
                    "So were the leaks before it: write both down, tell the owner, and read the idle current of each valve hot, \
                     at 0, 5 and 10. A lower track, or the divider to chassis with low leaks, would keep within the limit."
                }
                _ => {
                    "A lower track, or the divider to chassis with low leaks, would keep within the limit. Where it must stay, write it \
                     down, tell the owner, and read the idle current of each valve hot, at 0, 5 and 10."
                }
            };
            advice.to_owned()
        }));
        match self.topology {
            Topology::Divider | Topology::Instead => match self.safe {
                Some(_) => {
                    let lifted = margins.of("grid-circuit-lifted");
                    report.verdicts.push(Verdict::at_most("Grid circuit, wiper lifted", &lifted, self.limit(), |standing| {
                        match standing {
                            Standing::Within => "Even that is within the limit.",
                            Standing::NoPublishedLimit => "The lower it is, the longer the bias lasts.",
                            _ => "The resistor buys time to switch off, no more. The table of faults says what it covers, and what it does not.",
                        }
                        .to_owned()
                    }));
                }
                None => report.verdicts.push(Verdict::new(
                    "Grid, wiper lifted",
                    Standing::Beyond,
                    None,
                    "It floats: nothing holds the bias, and the valve is ruined within a minute. Fit the fail-safe resistor, on the \
                     grid tag."
                        .to_owned(),
                )),
            },
            Topology::Across | Topology::Bridge | Topology::Chassis => report.notes.push(
                "The leaks hold the bias whatever the control does; a fail-safe resistor would do nothing here, so none is offered."
                    .to_owned(),
            ),
        }
    }

    /// Whether the amplifier was over the limit before anything was changed.
    fn leaks_were_over(&self) -> bool {
        let valves = f64::from(self.valves);
        let before = self.stopper.si() + valves * self.leak.si() + 2.0 * valves * self.bias_source.si();
        self.valve.fixed.is_some_and(|limit| before > limit.value().si())
    }

    /// The fail-safe resistors of one side: `2 × 2.2 MΩ side by side` where each of its grid tags has one.
    fn of_a_side(&self, safe: ElectricalResistance) -> String {
        let one = nearly(safe.si());
        let at_tags = matches!(self.safe, Some((Place::Tag, _)));
        if at_tags && self.valves > 1 { format!("{} × {one} in parallel", self.valves) } else { one }
    }

    fn notes(&self, found: &Found, report: &mut Report) {
        if let (Some((_, safe)), Some(beside), Some(limit)) = (self.safe, found.beside, self.valve.fixed) {
            report.notes.push(format!(
                "Full up, {} ∥ {} is {}; with stopper and bias source that is a grid circuit of {}, {} times the limit of {}. \
                 {} alone is {} times it.",
                nearly(found.circuit.track),
                self.of_a_side(safe),
                nearly(beside),
                nearly(found.grid_circuit_most),
                writing::nearest(found.grid_circuit_most / limit.value().si(), &ONE),
                limit.said_of(&self.valve.name),
                nearly(safe.si()),
                writing::nearest(safe.si() / limit.value().si(), &ONE)
            ));
        }
        if let Some((_, safe)) = self.safe {
            report.notes.push(format!(
                "Through {} a grid current of 1\u{a0}µA lifts the grid by {}.",
                nearly(safe.si()),
                writing::nearest(safe.si() * 1e-6, &VOLT)
            ));
        }
        report.notes.push(format!(
            "Full up, the grids get {} of the inverter’s level; before, with the leaks alone, they got {}.",
            decibel(found.full_up),
            decibel(found.before)
        ));
        match self.topology {
            Topology::Bridge => report.notes.push(
                "With a bias trimmer for each side this control ties the two together. At 0 the difference between \
                 the inverter’s two sides remains, the same on both grids; the output transformer cancels it as far \
                 as the valves match."
                    .to_owned(),
            ),
            Topology::Instead => report.notes.push(
                "The wiper is taken to be tied to the hot lug, so that a lifted wiper leaves the whole track. Without that tie it \
                 floats the grid."
                    .to_owned(),
            ),
            Topology::Chassis => report.notes.push(
                "No wiper is in the bias path and the screen goes to chassis: the arrangement to choose where it must \
                 fail safe. The price is a second bass corner, more load on the inverter, and two capacitors."
                    .to_owned(),
            ),
            Topology::Divider | Topology::Across => {}
        }
    }

    pub(super) fn working(&self, found: &Found, report: &mut Report) {
        let circuit = &found.circuit;
        let top = circuit.law.full_up();
        let ohms = ElectricalResistance::of;
        let safe = circuit.safe.map(|(place, safe)| (place, named("R_f", ohms(safe))));
        let stopper = || named("R_s", self.stopper);
        if let (Some((place, r_f)), Some(beside)) = (&safe, found.beside) {
            let whole = named("R_P", ohms(circuit.track));
            let across = match place {
                Place::Tag => (r_f.clone() + stopper()) / number(circuit.valves),
                Place::Pot | Place::Socket => r_f.clone(),
            };
            let formula = whole.clone() * across.clone() / (whole + across);
            report.step(
                "Full up, the fail-safe resistor of each valve is across the whole track.",
                "R_10",
                formula,
                ohms(beside),
            );
        }
        let here = circuit.law.share(self.knob);
        for (share, [own, whole], says, value) in [
            (
                here,
                ["R_w", "R_gc"],
                "From wiper to bias, for direct current: the track and its end, and what is across them.",
                found.grid_circuit,
            ),
            (
                top,
                ["R_w,10", "R_gc,10"],
                "The same with the knob at 10, where it is highest.",
                found.grid_circuit_most,
            ),
        ] {
            let wiper =
                report.step(says, own, self.wiper_to_bias(found, share), ohms(circuit.leak_at(share)));
            let mut formula = stopper() + number(circuit.valves) * wiper;
            if let Some((Place::Tag, r_f)) = &safe {
                formula = beside(formula, r_f.clone());
            }
            let formula = formula + self.bias_of_all(circuit);
            let says = "For one valve: its stopper, plus that resistance times the valves on it, plus the bias source \
                        times all the valves.";
            report.step(says, whole, formula, ohms(value));
        }
        if let (Some((place, r_f)), Some(lifted)) = (&safe, found.grid_circuit_lifted) {
            let own = match place {
                Place::Tag => r_f.clone(),
                Place::Pot | Place::Socket => stopper() + number(circuit.valves) * r_f.clone(),
            };
            let says = "With the wiper lifted: nothing but the fail-safe resistor, and the bias source.";
            report.step(says, "R_gc,f", own + self.bias_of_all(circuit), ohms(lifted));
        }
        if let (Some((place, r_f)), Some(held), Some(reading)) =
            (safe, circuit.held_by_safe(), found.lifted_reading)
        {
            let formula = match place {
                Place::Tag if self.valves > 1 => {
                    let others = r_f.clone() + number(circuit.valves) * stopper();
                    beside(r_f, others / number(circuit.valves - 1.0))
                }
                Place::Tag => r_f,
                Place::Pot | Place::Socket => r_f + stopper(),
            };
            let says = "With the wiper lifted only fail-safe resistors hold the grid.";
            let held = report.step(says, "R_h", formula, ohms(held));
            let meter = named("R_m", ohms(METER));
            let formula =
                named("V_g1", self.bias) * meter.clone() / (meter + held + named("R_b", self.bias_source));
            report.step(
                "The meter loads what it measures: it reads less than is there.",
                "V_m",
                formula,
                ElectricPotential::of(reading),
            );
        }
    }

    /// The bias source, once for each valve in all.
    fn bias_of_all(&self, circuit: &Circuit) -> Expr {
        number(circuit.all_valves()) * named("R_b", self.bias_source)
    }

    /// From the wiper to the bias node, direct.
    fn wiper_to_bias(&self, found: &Found, share: Ratio) -> Expr {
        let (_, below) = found.circuit.parts(share);
        let (track, leak) = (named_in("R_x", below, &OHM), named("R_l", self.leak));
        let safe = self.safe.map(|(place, safe)| (place, named("R_f", safe)));
        match (self.topology, safe) {
            (Topology::Divider | Topology::Instead, Some((Place::Pot | Place::Socket, r_f))) => {
                beside(track, r_f)
            }
            (Topology::Divider | Topology::Instead, _) => track,
            (Topology::Across, _) => beside(track, leak),
            (Topology::Bridge | Topology::Chassis, _) => leak,
        }
    }
}

/// Two resistances side by side.
fn beside(a: Expr, b: Expr) -> Expr {
    a.clone() * b.clone() / (a + b)
}
