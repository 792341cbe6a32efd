//! Lead order: the loop of feedback round the output stage with the two grid leads right and swapped.
//!
//! ```text
//! β   = R_g / (R_g + R_fb)                       what of the output comes back to the inverter
//! n   = √(R_aa / R_L)
//! g_m = k_g k_w g_m,model      r_a = k_r r_a,model / k_w      at the idle current; the k carry the margins: valve/margin.rs
//! A_o = N g_m (R_aa ∥ 2 r_a / N) / n             from grid to speaker, N valves a side, small signal
//! T   = β A_i H(x) A_o                           loop gain; H(x) the master's share, loaded
//! right    V / V_open = 1 / (1 + T)              swapped   V / V_open = 1 / (1 − T), and a howl where T ≥ 1
//! ```
//!
//! Units: Ω, S, V, A; the knob from 0 to 10. Range: mid-band, no signal, class AB with both sides conducting. Errors:
//! measured points that are no law; a current that the model never reaches. Source: textbook feedback; valve models; the
//! proof is on the page *Prove it*.

mod words;

use super::questions::control::{Kind, Track, ask_angle, ask_knob};
use super::questions::{parts, valve};
use crate::calculator::{
    Answer, Ask, Calculator, Impossible, Limit, Margins, Report, Section, Sheet, Standing, Verdict, if_wanted,
};
use crate::pot::{Divider, Law};
use crate::quantity::unit::{DECIBEL, ONE};
use crate::quantity::{
    ElectricCurrent, ElectricPotential, ElectricalConductance, ElectricalResistance, Quantity, Ratio, writing,
};
use crate::source::{KOREN, MEMORY, PRACTICE, RADIOTRON, REEFMAN};
use crate::valve::model::{Flow, Volts};
use crate::valve::{Fitted, Valve, fitted, margin};

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
    /// Whether anything reads where it begins to howl.
    howls: bool,
}

/// How one output valve answers at idle.
enum Slopes {
    Modelled {
        model: &'static Fitted,
        anode: ElectricPotential,
        screen: ElectricPotential,
        idle: ElectricCurrent,
        shares: Shares,
    },
    Typed {
        gm: ElectricalConductance,
        ra: ElectricalResistance,
    },
}

/// How far the model and the valve may be off: `valve/margin.rs`.
#[derive(Clone, Copy)]
struct Shares {
    /// k_g: the data sheet's gm against the model's.
    gm: Ratio,
    /// k_r: the data sheet's anode resistance against the model's.
    ra: Ratio,
    /// k_w: this valve's slopes against the average one's.
    valve: Ratio,
}

/// The loop at this setting, full up, and where it begins to howl.
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

/// Whether it is an output valve with a model.
fn is_modelled(valve: &Valve) -> bool {
    valve.is_output() && fitted(valve.name).is_some()
}

fn ask_slopes(a: &mut Ask) -> Slopes {
    let typed = Some("another: type its slope and resistance");
    match valve::which(a, "Output valve", is_modelled, typed).and_then(|valve| fitted(valve.name)) {
        Some(model) => Slopes::Modelled {
            model,
            anode: valve::anode(a, "Anode, from the cathode", "438 V").get(),
            screen: valve::screen(a, "Screen, from the cathode", "434 V").get(),
            idle: valve::idle_current(a).within("1 mA", "200 mA").tolerance("10 %").get(),
            shares: Shares {
                gm: margin::ask_gm(a, Some(model)),
                ra: margin::ask_ra(a, Some(model)),
                valve: margin::ask_valve_at_current(a, "slope-share", "Spread of real valves: slope"),
            },
        },
        None => Slopes::Typed {
            gm: valve::slope(a, ("gm", "Slope at idle"), "5 mS").get(),
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
        headline: &["loop"],
        form: &[
            Section {
                name: "Control",
                fields: &["knob", "law", "resistance", "centre", "points", "ohm-points", "safe"],
                more: &["dead-low", "dead-high", "angle"],
            },
            Section {
                name: "Feedback",
                fields: &["feedback", "lower", "load", "primary", "inverter-gain", "inverter"],
                more: &[],
            },
            Section {
                name: "Output valves",
                fields: &["valve", "gm", "ra", "valves", "anode-voltage", "screen-voltage", "idle-current"],
                more: &["gm-share", "ra-share", "slope-share"],
            },
        ],
        leaves_out: &[
            "Mid-band and no signal. With a signal the slope of a class AB stage rises, and a howl may begin at a lower setting.",
            "Phase at both ends of the band, where the transformer, the capacitors and the loudspeaker can turn \
             negative feedback positive: the stability test covers that.",
            "The presence control, and any capacitor across the feedback resistor.",
            "The gain of the inverter is typed: measure it, or type a wide estimate.",
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
            inverter: parts::inverter_from_its_page(a),
            safe: parts::fail_safe(a, "safe", "Fail-safe resistor, wiper to low end")
                .hint("Or the leak, if it stays.")
                .within("0R1", "100M")
                .get(),
            inverter_gain: Ratio::of(
                a.quantity(
                    "inverter-gain",
                    "A_i",
                    "Inverter’s gain, from the feedback point to each anode",
                    "21",
                )
                .hint("Unloaded. The inverter’s page works it out; a measurement is better.")
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
            valves: valve::on_each_side(a),
            howls: a.wants("howls-from"),
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
            let message = "At one end of a tolerance the loop gain is zero. Type a smaller tolerance.";
            return Err(Impossible { field: "feedback", message: message.to_owned() });
        }
        let loop_at = |share: Ratio| lossless * divider.output(share).si();
        Ok(Found {
            here: loop_at(law.share(self.knob)),
            full: loop_at(law.full_up()),
            howls_from: Ratio::of(if_wanted(self.howls, || {
                law.rotation_where(|share| loop_at(share) >= 1.0).si()
            })),
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
                "Leads swapped: it howls from, knob (10 also means never)",
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
            plain("left", "", "Leads swapped: margin before it howls, here", 1.0 - found.here)
                .between(f64::NEG_INFINITY, 1.0),
            Answer::new("gm", "g_m", "Slope of one output valve at idle", found.gm),
            plain("output-gain", "A_o", "From grid to speaker", found.output_gain.si()).not_below_zero(),
            Answer::new("beta", "β", "Share of the output fed back", found.beta),
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
                    "Quiet although wrong: here silence proves nothing. Use a small signal, a dummy load and an \
                     oscilloscope. Off and dead, open the feedback lead: powered again, the output must be higher. \
                     Off and dead, reconnect it: the output must be lower. Then, with no signal, turn slowly from 0 \
                     to 10, a hand on the mains switch."
                }
                Standing::Beyond => "It howls here at once: mains off, prove it dead, and swap the two leads at the \
                                     grids.",
                _ => "It may howl here: prove the order at a lower setting first.",
            }
            .to_owned()
        }));
        report.notes.extend([
            "Leave the two leads long until this is proved: then swapping them costs two joints and no new cable.".to_owned(),
            format!(
                "The control is inside the loop: turned down from 10 to {knob} the feedback falls from {} to {}, and \
                 with it the damping and the presence.",
                writing::nearest(decibels(1.0 + found.full), &DECIBEL),
                writing::nearest(decibels(1.0 + found.here), &DECIBEL)
            ),
            "Without overall feedback the order of the leads does not matter for stability.".to_owned(),
        ]);
        if let Slopes::Modelled { model, .. } = &self.valve {
            report.notes.push(model.margin_words());
        }
        self.working(found, report);
        words::table(found, report);
        words::draw(found, report);
    }
}

impl LeadOrder {
    /// Slope and anode resistance of one valve at idle.
    fn slopes(&self) -> Result<(ElectricalConductance, ElectricalResistance), Impossible> {
        let (model, anode, screen, idle, shares) = match &self.valve {
            Slopes::Typed { gm, ra } => return Ok((*gm, *ra)),
            Slopes::Modelled { model, anode, screen, idle, shares } => {
                (&model.model, anode.si(), screen.si(), idle.si(), shares)
            }
        };
        let at_idle = model.at_current(Volts { anode, screen, grid: 0.0 }, idle);
        let message = "At these voltages the valve’s model does not come to this idle current. Type another.";
        let at_idle = at_idle
            .filter(|volts| (LOWEST_GRID..=0.0).contains(&volts.grid))
            .ok_or_else(|| Impossible { field: "idle-current", message: message.to_owned() })?;
        let Flow { by_grid, by_anode, .. } = model.flow(at_idle);
        let valve = shares.valve.si();
        let gm = ElectricalConductance::of(shares.gm.si() * valve * by_grid);
        // A model whose current hardly rises has an anode resistance that does not count.
        let rise = (by_anode * valve / shares.ra.si()).max(1e-9);
        let ra = ElectricalResistance::of(1.0 / rise);
        Ok((gm, ra))
    }
}
