//! What the survey finds of an amplifier, for its job: what its rating plate, its parts and its maker's data sheet say. A maker's
//! data sheet gives what the sound amplifier reads at the marked mains, in the figures that makers print.

use super::circuit::{Adjust, Bias, Circuit, Standby};
use super::meters::{Measure, Meters, Place};
use super::state::State;

use calc_core::quantity::Quantity;
use calc_core::valve::{Kind, VALVES};

/// The values of the job, by the id of the table of values.
#[must_use]
pub fn survey(sound: &Circuit) -> Vec<(&'static str, String)> {
    let mut sheet = sound.clone();
    sheet.mains.outlet = sheet.mains.marked;
    let sheet = Meters::new(sheet, sound.clone());
    let idle = State::FULL.after(10);
    let first = Place::default();
    let at_idle = |measure| sheet.shows(measure, idle, first);
    let current = |at: usize| sheet.at(idle).valves[sound.sockets[at].name];
    let hottest = (0..sound.sockets.len()).map(|at| current(at).cathode).fold(0.0, f64::max);
    let supply = &sound.supply;
    let rating = supply.rating * if supply.balance.is_some() { 2.0 } else { 1.0 };
    let volts = |value: f64| format!("{value:.0} V");
    let ohms = |value: f64| format!("{value:.1} Ω");
    let mut known = vec![
        ("mains-marked", volts(sound.mains.marked)),
        ("idle-watts", format!("{:.0} W", (sheet.at(idle).watts / 5.0).round() * 5.0)),
        ("lamp-power", format!("{:.0} W", sound.bench.lamp)),
        ("lamp-voltage", volts(sound.mains.marked)),
        ("load", ohms(sound.output.load)),
        ("load-rating", format!("{:.0} W", sound.bench.load_watts)),
        ("rated-power", format!("{:.0} W", sound.output.rated)),
        ("rectifier", if supply.valve_rectifier { "valve" } else { "silicon" }.into()),
        (
            "standby",
            match supply.standby {
                Standby::Dc => "dc",
                Standby::Winding => "winding",
                Standby::None if supply.valve_rectifier => "valve",
                Standby::None => "none",
            }
            .into(),
        ),
        ("reservoir-rating", volts(rating.min(supply.later_rating))),
        ("ht-unloaded", volts(sheet.at(State::FULL.out()).volts("ht"))),
        ("output-valve", sound.valve.into()),
        ("sockets", sound.sockets.len().to_string()),
        ("idle-expected", format!("{:.1} mA", hottest * 1e3)),
        ("anode-voltage", volts(at_idle(Measure::Anode))),
        ("screen-voltage", volts(current(0).screen_volts)),
        ("screen-stopper", ohms(sound.sockets[0].screen_stopper)),
        ("winding-cold", ohms(sound.sides[0].half)),
        ("grid-stopper", ohms(sound.sockets[0].stopper)),
        ("meter-resistance", format!("{:.0} MΩ", sound.bench.meter / 1e6)),
        (
            "cathode-resistors",
            if sound.shared_cathode.is_some() {
                "shared"
            } else if sound.sockets[0].cathode > 0.0 {
                "each"
            } else {
                "none"
            }
            .into(),
        ),
    ];
    if sound.sockets[0].cathode > 0.0 && sound.shared_cathode.is_none() {
        known.push(("cathode-resistor", ohms(sound.sockets[0].cathode)));
    }
    if sound.sides[0].leak.is_finite() {
        known.push(("grid-leak", ohms(sound.sides[0].leak)));
    } else if let Some(control) = &sound.control {
        // The control stands where the leak was.
        known.push(("grid-leak", ohms(control.track)));
    }
    known.push(("idle-stop", format!("{:.1} mA", 1e3 * idle_stop(sound, &sheet))));
    match &sound.bias {
        Bias::Cathode => {
            known.extend([("bias-kind", "cathode".to_owned()), ("bias-feed", "cathode".to_owned())])
        }
        Bias::Fixed(fixed) => {
            let leg = &fixed.legs[0];
            let foot = leg.foot + leg.trimmer * leg.turned;
            known.extend([
                ("bias-kind", "fixed".to_owned()),
                ("bias-feed", if fixed.from_ht { "ht" } else { "tap" }.to_owned()),
                (
                    "bias-adjust",
                    match fixed.adjust {
                        Adjust::Trimmer => "trimmer",
                        Adjust::Each => "each",
                        Adjust::Balance => "balance",
                        Adjust::Fixed => "fixed",
                    }
                    .to_owned(),
                ),
                ("bias-source", ohms(leg.range * foot / (leg.range + foot))),
                ("bias-expected", volts(sheet.at(State::FULL.out()).volts("bias 0"))),
            ]);
        }
    }
    known
}

/// The cathode current at which to stop, by hand: with fixed bias the rated anode watts by the highest
/// anode voltage; with cathode bias by the working one, and the screen's share and a tenth on top.
fn idle_stop(sound: &Circuit, sheet: &Meters) -> f64 {
    let valve = VALVES.iter().find(|valve| valve.name == sound.valve).expect("a valve of the table");
    let rated = valve.limits.anode_power.expect("an output valve has one").value().si();
    match sound.bias {
        Bias::Fixed(_) => rated / sheet.at(State::FULL.out()).volts("ht").round(),
        Bias::Cathode => {
            let share = if valve.kind == Kind::Pentode { 1.10 } else { 1.05 };
            let working = sheet.shows(Measure::Anode, State::FULL.after(10), Place::default()).round();
            1.1 * share * rated / working
        }
    }
}
