//! Whether a state of the bench can do harm, by rules that look at nothing but the solved circuit.

use calc_core::quantity::Quantity;
use calc_core::valve::VALVES;

use super::circuit::Circuit;
use super::meters::{Measure, Meters, Place};
use super::state::{Power, State};

/// How far over its rating a valve's anode or screen may be for the seconds that a reading takes (common practice, no source).
const OVERRUN: f64 = 1.2;
/// Current through a person that is no longer harmless, A (touch current of IEC 60990: 0.5 mA).
const TOUCH: f64 = 0.5e-3;
/// Above this an earth does not blow the fuse for certain, Ω.
const EARTHED: f64 = 1.0;

/// What this state harms first, and nothing if it harms nothing.
#[must_use]
pub fn harm(meters: &Meters, state: State) -> Option<String> {
    if state.power == Power::Off {
        return None;
    }
    let circuit = &meters.circuit;
    person(circuit)
        .or_else(|| valves(meters, state))
        .or_else(|| supply(meters, state))
        .or_else(|| output(meters, state))
}

/// Hands on a chassis, the tablet aside.
fn person(circuit: &Circuit) -> Option<String> {
    let mains = &circuit.mains;
    let leak = mains.outlet / mains.insulation.min(mains.isolation);
    if mains.isolation < 1e6 {
        return Some("the chassis is joined to the mains".into());
    }
    if mains.earth + circuit.bench.box_earth > EARTHED {
        return Some(if leak > TOUCH { "the chassis is live" } else { "the chassis is not earthed" }.into());
    }
    None
}

fn valves(meters: &Meters, state: State) -> Option<String> {
    let type_number = meters.circuit.valve;
    let rated = VALVES.iter().find(|valve| valve.name == type_number).expect("a valve of the table").limits;
    let anode = rated.anode_power.expect("an output valve has one").value().si();
    let screen = rated.screen_power.map_or(f64::INFINITY, |watts| watts.value().si());
    meters.at(state).valves.iter().find_map(|(name, valve)| {
        if valve.anode_watts() > OVERRUN * anode {
            Some(format!("anode {name} takes {:.0} W of {anode} W", valve.anode_watts()))
        } else if valve.screen_watts() > OVERRUN * screen {
            Some(format!("screen {name} takes {:.1} W of {screen} W", valve.screen_watts()))
        } else {
            None
        }
    })
}

fn supply(meters: &Meters, state: State) -> Option<String> {
    let (circuit, found) = (&meters.circuit, meters.at(state));
    let (parts, ht) = (&circuit.supply, found.volts("ht"));
    let halves = if parts.balance.is_some() {
        vec![ht - found.volts("joint"), found.volts("joint")]
    } else {
        vec![ht]
    };
    let over = halves.into_iter().find(|volts| *volts > parts.rating);
    if let Some(volts) = over {
        return Some(format!("{volts:.0} V on a reservoir capacitor of {} V", parts.rating));
    }
    if found.volts("screens") > parts.later_rating {
        return Some(format!("{:.0} V on a capacitor of {} V", found.volts("screens"), parts.later_rating));
    }
    if circuit.bench.forgotten && ht * ht / circuit.bench.discharge > 10.0 {
        return Some(format!("the discharge resistor takes {:.0} W", ht * ht / circuit.bench.discharge));
    }
    let line = found.volts("line");
    let insulation = line * line / circuit.output.insulation;
    if insulation > 1.0 {
        return Some(format!("the output transformer's insulation takes {insulation:.0} W"));
    }
    let idle = meters.idle_watts();
    (found.watts > 1.6 * idle)
        .then(|| format!("the mains transformer gives {:.0} W instead of {idle:.0} W", found.watts))
}

fn output(meters: &Meters, state: State) -> Option<String> {
    let output = &meters.circuit.output;
    let plays = state.valves && state.play && !state.cold;
    let howls = !state.open_loop && output.loop_gain.is_some_and(|gain| gain <= -1.0);
    if plays && howls {
        return Some("it howls at full power".into());
    }
    let path = output.load_ohms + output.legs[0] + output.legs[1];
    if plays && state.driven && path > 2.0 * output.load {
        return Some("it is driven without its load".into());
    }
    let volts = meters.shows(Measure::Drive, state, Place::default());
    let watts = volts * volts / output.load;
    if plays && state.driven && watts > meters.circuit.bench.load_watts {
        return Some("the load takes more than its rating".into());
    }
    None
}
