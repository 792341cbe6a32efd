//! Lead order: the loop of feedback round the output stage with the two grid leads right and swapped.
//!
//! ```text
//! β   = R_g / (R_g + R_fb)                       what of the output comes back to the inverter
//! n   = √(R_aa / R_L)
//! A_o = N g_m (R_aa ∥ 2 r_a / N) / n             from grid to speaker, N valves a side, small signal
//! T   = β A_i H(x) A_o                           loop gain; H(x) the master's share, loaded
//! right    V / V_open = 1 / (1 + T)              swapped   V / V_open = 1 / (1 − T), and a howl where T ≥ 1
//! ```
//!
//! Units: Ω, S, V, A; the knob from 0 to 10. Range: mid-band, no signal, class AB with both sides conducting. Errors:
//! measured points that are no law; a current that the model never reaches. Source: textbook feedback; valve models; the
//! proof is bench rule 25.

use super::track::{Kind, Track, ask_angle, ask_knob};
use crate::calculator::{
    Answer, Ask, Axis, Calculator, Impossible, Limit, Margins, Mark, Picture, Report, Series, Sheet,
    Standing, Table, Verdict, named, number,
};
use crate::pot::{Divider, Law};
use crate::quantity::unit::{DECIBEL, ONE};
use crate::quantity::{
    ElectricCurrent, ElectricPotential, ElectricalConductance, ElectricalResistance, Quantity, Ratio, writing,
};
use crate::root::root;
use crate::source::{KOREN, MEMORY, PRACTICE, RADIOTRON, REEFMAN};
use crate::valve::model::Volts;
use crate::valve::{Fitted, VALVES, Valve, fitted};

/// As negative as a model is looked at, in V.
const LOWEST_GRID: f64 = -300.0;

/// The loop and the control inside it.
pub struct LeadOrder {
    knob: Ratio,
    track: Track,
    angle: f64,
    inverter: ElectricalResistance,
    safe: ElectricalResistance,
    inverter_gain: Ratio,
    feedback: ElectricalResistance,
    lower: ElectricalResistance,
    primary: ElectricalResistance,
    load: ElectricalResistance,
    valve: Slopes,
    valves: u32,
}

/// How one output valve answers at idle.
enum Slopes {
    Modelled {
        model: &'static Fitted,
        anode: ElectricPotential,
        screen: ElectricPotential,
        idle: ElectricCurrent,
        /// Of the model's slope.
        share: Ratio,
    },
    Typed {
        gm: ElectricalConductance,
        ra: ElectricalResistance,
    },
}

/// What was found.
pub struct Found {
    law: Law,
    divider: Divider,
    gm: ElectricalConductance,
    ra: ElectricalResistance,
    turns: Ratio,
    /// The anodes' load with the valves' own resistance across it.
    anodes: ElectricalResistance,
    output_gain: Ratio,
    beta: Ratio,
    /// Loop gain for a master of no loss.
    lossless: f64,
    here: f64,
    full: f64,
    howls_from: Ratio,
}

fn decibels(ratio: f64) -> f64 {
    20.0 * libm::log10(ratio)
}

/// Output valves with a model.
fn modelled() -> impl Iterator<Item = &'static Valve> {
    VALVES.iter().filter(|valve| valve.is_output() && fitted(valve.name).is_some())
}

fn ask_slopes(a: &mut Ask) -> Slopes {
    let listed = || {
        let typed = ("typed".to_owned(), "another: its slope and resistance typed".to_owned());
        modelled().map(|valve| (valve.name.to_owned(), valve.label())).chain([typed]).collect()
    };
    let at = a.one_of("valve", "Output valve", "", "6L6GC", &listed);
    let volts = |a: &mut Ask, id, symbol, name, default| -> ElectricPotential {
        a.quantity(id, symbol, name, default).within("1 V", "1500 V").get()
    };
    match modelled().nth(at).and_then(|valve| fitted(valve.name)) {
        Some(model) => Slopes::Modelled {
            model,
            anode: volts(a, "anode-voltage", "V_a", "Anode, from the cathode", "438 V"),
            screen: volts(a, "screen-voltage", "V_g2", "Screen, from the cathode", "434 V"),
            idle: a
                .quantity("idle-current", "I_a", "Anode current at idle, one valve", "32.5 mA")
                .within("1 mA", "200 mA")
                .tolerance("10 %")
                .get(),
            share: a.usual()
                .quantity("slope-share", "k_g", "Slope of this valve, against the model", "100 %")
                .hint("A model of currents knows slopes poorly. Move the bias by 1 V and read the idle current: that is the slope.")
                .within("20 %", "500 %")
                .tolerance("50 %")
                .get(),
        },
        None => Slopes::Typed {
            gm: a
                .quantity("gm", "g_m", "Slope at idle", "5 mS")
                .within("0.1 mS", "50 mS")
                .tolerance("30 %")
                .get(),
            ra: a
                .quantity("ra", "r_a", "Anode resistance", "30k")
                .within("100R", "1M")
                .tolerance("30 %")
                .get(),
        },
    }
}

impl Calculator for LeadOrder {
    const SHEET: &'static Sheet = &Sheet {
        id: "lead-order",
        title: "Order of the two grid leads",
        question: "From which setting does it howl if the leads are swapped, and what proves that they are not?",
        edition: 2,
        leaves_out: &[
            "Mid-band and no signal. With a signal the slope of a class AB stage rises, and a howl may begin at a lower setting.",
            "Phase at both ends of the band, where transformer, capacitors and the loudspeaker turn a right loop into a wrong one: that is the test of stability.",
            "The presence control, and any capacitor across the feedback resistor.",
            "The gain of the inverter is typed: measure it, or take it as a wide estimate.",
        ],
        sources: &[&RADIOTRON, &KOREN, &REEFMAN, &PRACTICE, &MEMORY],
    };
    type Found = Found;

    fn ask(a: &mut Ask) -> Self {
        let ohms = |a: &mut Ask, id, symbol, name, default, hint| -> ElectricalResistance {
            a.quantity(id, symbol, name, default).hint(hint).within("0R1", "100M").tolerance("5 %").get()
        };
        let knob = ask_knob(a);
        let kind = Kind::ask(a);
        let track = Track::ask(a, kind);
        let angle = ask_angle(a);
        Self {
            knob,
            track,
            angle,
            inverter: a
                .quantity("inverter", "R_i", "Inverter’s output resistance, each side", "18k")
                .hint("Its anode resistor in parallel with the valve. The inverter’s page works it out.")
                .within("1R", "1M")
                .tolerance("30 %")
                .get(),
            safe: ohms(
                a,
                "safe",
                "R_f",
                "Fail-safe resistor, wiper to low end",
                "2M2",
                "Or the leak, where it stays.",
            ),
            inverter_gain: Ratio::of(
                a.quantity(
                    "inverter-gain",
                    "A_i",
                    "Inverter’s gain, from where feedback comes in to each anode",
                    "21",
                )
                .hint("With nothing on it. The inverter’s page works it out; measured it is better.")
                .within("0.5", "200")
                .tolerance("30 %")
                .get_in(&ONE),
            ),
            feedback: ohms(a, "feedback", "R_fb", "Feedback resistor, from the speaker", "47k", ""),
            lower: ohms(
                a,
                "lower",
                "R_g",
                "Resistor it divides with, at the inverter",
                "6k8",
                "Read it in the amplifier; the value here is common practice, no source.",
            ),
            primary: ohms(
                a,
                "primary",
                "R_aa",
                "Output transformer, anode to anode",
                "4k2",
                "With the load on its tap.",
            ),
            load: ohms(a, "load", "R_L", "Load on the tap that feedback comes from", "8R", ""),
            valve: ask_slopes(a),
            valves: a.count("valves", "Valves on each side", "1", 4),
        }
    }

    fn work(&self) -> Result<Found, Impossible> {
        let (law, track) = self.track.law(self.angle)?;
        let divider = Divider { track, driver: self.inverter, load: Some(self.safe) };
        let (gm, ra) = self.slopes()?;
        let valves = f64::from(self.valves);
        let turns = Ratio::of(libm::sqrt(self.primary.si() / self.load.si()));
        let own = ra * 2.0 / valves;
        let anodes = crate::pot::parallel(self.primary, own);
        let output_gain = gm * anodes * valves / turns;
        let beta = self.lower / (self.lower + self.feedback);
        let lossless = (beta * self.inverter_gain * output_gain).si();
        if !(lossless.is_finite() && lossless > 0.0 && track.si() > 0.0) {
            let message = "Nothing is left of the loop at one end of a tolerance.";
            return Err(Impossible { field: "feedback", message: message.to_owned() });
        }
        let loop_at = |share: Ratio| lossless * divider.output(share).si();
        Ok(Found {
            here: loop_at(law.share(self.knob)),
            full: loop_at(law.full_up()),
            howls_from: law.rotation_where(|share| loop_at(share) >= 1.0),
            gm,
            ra,
            turns,
            anodes,
            output_gain,
            beta,
            lossless,
            law,
            divider,
        })
    }

    fn answers(found: &Found) -> Vec<Answer> {
        let plain = |id, symbol, name, value| Answer::in_unit(id, symbol, name, &ONE, value);
        let decibel = |id, symbol, name, value| Answer::in_unit(id, symbol, name, &DECIBEL, value);
        vec![
            plain("loop", "T", "Loop gain, here", found.here).not_below_zero(),
            plain("loop-full", "T_10", "Loop gain, full up", found.full).not_below_zero(),
            plain(
                "howls-from",
                "n",
                "Leads swapped: it howls from, knob (10 also where it never does)",
                found.howls_from.si() * 10.0,
            )
            .between(0.0, 10.0),
            decibel(
                "rise",
                "",
                "Leads right: opening the feedback lead here raises the output by",
                decibels(1.0 + found.here),
            )
            .not_below_zero(),
            plain("left", "", "Leads swapped: left until it howls, here", 1.0 - found.here)
                .between(f64::NEG_INFINITY, 1.0),
            Answer::new("gm", "g_m", "Slope of one output valve at idle", found.gm),
            plain("output-gain", "A_o", "From grid to speaker", found.output_gain.si()).not_below_zero(),
            Answer::new("beta", "β", "What of the output comes back", found.beta),
        ]
    }

    fn report(&self, found: &Found, margins: &Margins, report: &mut Report) {
        let knob = writing::repeated(self.knob.si() * 10.0, &ONE);
        let from = writing::nearest(found.howls_from.si() * 10.0, &ONE);
        let swapped = if found.full >= 1.0 {
            format!("with the leads swapped it howls from about {from}")
        } else {
            "with the leads swapped it does not howl at any setting without a signal".to_owned()
        };
        report.summary = format!(
            "Loop gain {} at {knob} and {} full up: {swapped}. With the leads right, opening the feedback lead at {knob} raises the \
             output by {}.",
            writing::nearest(found.here, &ONE),
            writing::nearest(found.full, &ONE),
            writing::nearest(decibels(1.0 + found.here), &DECIBEL)
        );
        let one = Limit { value: 1.0, unit: &ONE, kind: "loop gain at which it howls", source: &RADIOTRON };
        report.verdicts.push(Verdict::at_most("Swapped leads, at this setting", &margins.of("loop"), Some(one), |standing| {
            match standing {
                Standing::Within => {
                    "Quiet, though wrong: here silence proves nothing. Small signal, dummy load, oscilloscope; mains off, open the \
                     feedback lead: the output must rise; reconnect: it must fall. Then no signal, 0 to 10 slowly, hand on the switch."
                }
                Standing::Beyond => "It howls here at once: off, and swap the two leads at the grids.",
                _ => "It may howl here: prove the order at a lower setting first.",
            }
            .to_owned()
        }));
        report.notes.extend([
            "Leave the two leads long until this is proven: then swapping them costs two joints and no new cable.".to_owned(),
            format!(
                "The control lies inside the loop: turned down from 10 to {knob} the feedback falls from {} to {}, and with it \
                 damping and presence.",
                writing::nearest(decibels(1.0 + found.full), &DECIBEL),
                writing::nearest(decibels(1.0 + found.here), &DECIBEL)
            ),
            "Without overall feedback the order of the leads does not matter for stability.".to_owned(),
        ]);
        self.working(found, report);
        table(found, report);
        draw(found, report);
    }
}

impl LeadOrder {
    /// Slope and anode resistance of one valve at idle.
    fn slopes(&self) -> Result<(ElectricalConductance, ElectricalResistance), Impossible> {
        let (model, anode, screen, idle, share) = match &self.valve {
            Slopes::Typed { gm, ra } => return Ok((*gm, *ra)),
            Slopes::Modelled { model, anode, screen, idle, share } => {
                (&model.model, anode.si(), screen.si(), idle.si(), share.si())
            }
        };
        let at = |grid: f64| Volts { anode, screen, grid };
        let grid = root(LOWEST_GRID, 0.0, |grid| model.currents(at(grid)).anode - idle);
        let message = "At these voltages the valve’s model does not come to this idle current. Type another.";
        let grid = grid.map_err(|_| Impossible { field: "idle-current", message: message.to_owned() })?;
        let gm = ElectricalConductance::of(share * model.mutual_conductance(at(grid)));
        // A model whose current hardly rises has an anode resistance that does not count.
        let ra = ElectricalResistance::of(1.0 / model.anode_conductance(at(grid)).max(1e-9));
        Ok((gm, ra))
    }

    fn working(&self, found: &Found, report: &mut Report) {
        let valves = number(f64::from(self.valves));
        let lower = named("R_g", self.lower);
        let beta = lower.clone() / (lower + named("R_fb", self.feedback));
        let beta = report.step("What of the output comes back.", "β", beta, found.beta);
        let primary = named("R_aa", self.primary);
        let turns = (primary.clone() / named("R_L", self.load)).root();
        let turns =
            report.step_in("Turns, primary for one of the secondary.", "n", turns, found.turns.si(), &ONE);
        let own = number(2.0) * named("r_a", found.ra) / valves.clone();
        let anodes = primary.clone() * own.clone() / (primary + own);
        let anodes = report.step(
            "The load between the anodes, the valves’ own resistance across it.",
            "R",
            anodes,
            found.anodes,
        );
        let gain = valves * named("g_m", found.gm) * anodes / turns;
        let gain = report.step_in("From a grid to the speaker.", "A_o", gain, found.output_gain.si(), &ONE);
        let share = found.law.share(self.knob);
        let master = named("H", found.divider.output(share));
        let inverter = crate::calculator::named_in("A_i", self.inverter_gain.si(), &ONE);
        let whole = beta * inverter * master * gain;
        let whole = report.step_in(
            "Round the loop, with what the master lets through here.",
            "T",
            whole,
            found.here,
            &ONE,
        );
        let says = "With the leads right, the output without feedback over that with it.";
        report.step_in(says, "V_open / V", number(1.0) + whole, 1.0 + found.here, &ONE);
    }
}

impl Found {
    fn at(&self, rotation: Ratio) -> f64 {
        self.lossless * self.divider.output(self.law.share(rotation)).si()
    }
}

fn table(found: &Found, report: &mut Report) {
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

fn draw(found: &Found, report: &mut Report) {
    let (floor, top) = (-40.0, 20.0);
    let points = (0..=40u8).map(|quarter| f64::from(quarter) / 40.0).filter_map(|rotation| {
        let gain = found.at(Ratio::of(rotation));
        (gain > 0.0)
            .then(|| (rotation * 10.0, decibels(gain)))
            .filter(|(_, level)| (floor..=top).contains(level))
    });
    report.picture = Some(Picture {
        title: "Loop gain over the rotation".to_owned(),
        description: format!(
            "It comes to {} full up. Above the full line, at 0\u{a0}dB, swapped leads howl; below it they are as quiet as right ones.",
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
