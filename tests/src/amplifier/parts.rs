//! A circuit's parts, put into a network stage by stage.

use calc_core::circuit::{CHASSIS, Network, OperatingPoint, Pins, units::*};
use calc_core::quantity::Quantity;
use calc_core::valve::fitted;
use calc_core::valve::model::{Model, Pentode};

use super::circuit::{Bias, Circuit, Control, FixedBias, Shape, Socket, Standby, Way};
use super::solve::conducts;
use super::state::{Power, State};

/// A board between a tag and the chassis.
const BOARD: f64 = 1e9;
/// The sockets' and the transformer's insulation at an anode, warm and old.
const SOCKET: f64 = 20e6;

const SIDES: [&str; 2] = ["A", "B"];

/// A node of a side: `grid line A`.
#[must_use]
pub fn of_side(what: &str, side: usize) -> String {
    format!("{what} {}", SIDES[side])
}

/// The node that a side's leak ends on.
#[must_use]
pub fn bias_node(circuit: &Circuit, side: usize) -> String {
    match &circuit.bias {
        Bias::Cathode => CHASSIS.to_owned(),
        Bias::Fixed(fixed) => format!("bias {}", side.min(fixed.legs.len() - 1)),
    }
}

/// The nodes that meters and rules look at.
pub fn nodes(circuit: &Circuit) -> Vec<String> {
    let fixed = ["ht", "joint", "line", "screens", "inverter", "raw", "bias 0", "bias 1", "shared cathode"];
    let mut nodes: Vec<String> = fixed.map(str::to_owned).to_vec();
    for side in 0..circuit.sides.len() {
        nodes.extend(["anode", "driver", "grid line"].map(|what| of_side(what, side)));
    }
    for socket in &circuit.sockets {
        nodes.extend(["grid", "screen", "cathode"].map(|what| format!("{what} {}", socket.name)));
    }
    nodes
}

/// A resistor, left out where it is open or next to it.
fn resistor(network: &mut Network, name: &str, a: &str, b: &str, value: f64) {
    if value < 10e9 {
        network.resistor(name, a, b, ohms(value));
    }
}

/// Reservoir, standby switch, droppers.
pub fn supply(network: &mut Network, circuit: &Circuit, state: State) {
    let supply = &circuit.supply;
    let shut = supply.standby == Standby::Dc && !state.play;
    let switch = if shut { supply.standby_leak } else { 0.0 };
    resistor(network, "board at the reservoir", "ht", CHASSIS, BOARD);
    resistor(network, "board behind standby", "line", CHASSIS, BOARD);
    resistor(network, "standby", "ht", "line", switch);
    resistor(network, "bleeder", "ht", CHASSIS, supply.bleeder);
    match supply.balance {
        None => resistor(network, "reservoir leak", "ht", CHASSIS, supply.leak[0]),
        Some([upper, lower]) => {
            resistor(network, "board at the joint", "joint", CHASSIS, BOARD);
            resistor(network, "upper balance", "ht", "joint", upper);
            resistor(network, "lower balance", "joint", CHASSIS, lower);
            resistor(network, "upper leak", "ht", "joint", supply.leak[0]);
            resistor(network, "lower leak", "joint", CHASSIS, supply.leak[1]);
        }
    }
    if circuit.bench.forgotten && state.power != Power::Off {
        resistor(network, "forgotten", "ht", CHASSIS, circuit.bench.discharge);
    }
    resistor(network, "to screens", "line", "screens", supply.to_screens);
    resistor(network, "board at the screens", "screens", CHASSIS, BOARD);
    resistor(network, "to inverter", "screens", "inverter", supply.to_inverter);
    resistor(network, "preamplifier", "inverter", CHASSIS, supply.preamplifier);
    resistor(network, "board at the inverter", "inverter", CHASSIS, BOARD);
}

/// From the first bias capacitor to the nodes.
pub fn bias(network: &mut Network, circuit: &Circuit) {
    let Bias::Fixed(FixedBias { legs, first_leak, last_leak, .. }) = &circuit.bias else { return };
    resistor(network, "board at the bias", "raw", CHASSIS, BOARD);
    resistor(network, "first bias leak", "raw", CHASSIS, *first_leak);
    for (at, leg) in legs.iter().enumerate() {
        let node = format!("bias {at}");
        resistor(network, &format!("range {at}"), "raw", &node, leg.range);
        resistor(network, &format!("foot {at}"), &node, CHASSIS, leg.foot + leg.trimmer * leg.turned);
        resistor(network, &format!("last bias leak {at}"), &node, CHASSIS, *last_leak);
        resistor(network, &format!("board at bias {at}"), &node, CHASSIS, BOARD);
    }
}

/// The driver at rest: its grids are returned to the foot of the cathode resistor.
pub fn inverter(network: &mut Network, circuit: &Circuit, state: State) {
    let inverter = &circuit.inverter;
    let model = fitted(inverter.valve).expect("a triode of the table").model;
    let triode = |network: &mut Network, name: &str, anode: &str| {
        if state.power != Power::Off {
            network.valve(name, Pins::triode(anode, "driver grid", "driver cathode"), model);
        }
    };
    resistor(network, "driver grid leak", "driver grid", "driver foot", 1e6);
    resistor(network, "driver cathode resistor", "driver cathode", "driver foot", inverter.cathode);
    resistor(network, "driver heater to cathode", "driver cathode", CHASSIS, BOARD);
    let tail = if inverter.shape == Shape::Triode { 0.0 } else { inverter.tail };
    resistor(network, "driver tail", "driver foot", CHASSIS, tail);
    resistor(network, "driver load A", "inverter", "driver A", inverter.loads[0]);
    triode(network, "driver valve A", "driver A");
    match inverter.shape {
        Shape::LongTailed => {
            resistor(network, "driver load B", "inverter", "driver B", inverter.loads[1]);
            triode(network, "driver valve B", "driver B");
        }
        // The other phase is taken from the foot's upper end.
        Shape::Cathodyne => resistor(network, "driver B", "driver cathode", "driver B", 0.0),
        Shape::Triode => {}
    }
}

/// From the coupling capacitors to the grid tags: leaks, a control, stoppers; and a meter.
pub fn grids(network: &mut Network, circuit: &Circuit, state: State) {
    for (side, parts) in circuit.sides.iter().enumerate() {
        let line = of_side("grid line", side);
        let bias = bias_node(circuit, side);
        // Where a divider is between, the capacitor meets its hot lug.
        let hot = match &circuit.control {
            Some(control) if matches!(control.way, Way::Divider | Way::ToChassis) => of_side("hot", side),
            _ => line.clone(),
        };
        resistor(
            network,
            &of_side("coupling leak", side),
            &of_side("driver", side),
            &hot,
            parts.coupling_leak,
        );
        resistor(network, &of_side("board at hot", side), &hot, CHASSIS, BOARD);
        resistor(network, &of_side("leak", side), &line, &bias, parts.leak);
        if let Some(control) = &circuit.control {
            self::control(network, control, state, side, [&hot, &line, &bias]);
        }
    }
    for socket in &circuit.sockets {
        let tag = format!("grid {}", socket.name);
        let line = of_side("grid line", socket.side);
        resistor(network, &format!("stopper {}", socket.name), &line, &tag, socket.stopper);
        resistor(network, &format!("board {}", socket.name), &tag, CHASSIS, BOARD);
        if state.grid_meter > 0 && socket.name.ends_with(&state.grid_meter.to_string()) {
            let probe = if state.probe { 1e6 } else { 0.0 };
            resistor(network, &format!("meter {}", socket.name), &tag, CHASSIS, circuit.bench.meter + probe);
        }
    }
}

fn control(
    network: &mut Network,
    control: &Control,
    state: State,
    side: usize,
    [hot, line, bias]: [&str; 3],
) {
    let turned = f64::from(state.knob) / 10.0;
    let turned = if control.swapped[side] { 1.0 - turned } else { turned };
    let (above, below) = (control.track * (1.0 - turned), control.track * turned);
    let lifted = control.lifted[side] || state.lead_off;
    let mut put = |name: &str, a: &str, b: &str, value| resistor(network, &of_side(name, side), a, b, value);
    let low = if control.low_open[side] { f64::INFINITY } else { 0.0 };
    match control.way {
        Way::Divider => {
            let (wiper, foot) = (of_side("wiper", side), of_side("low lug", side));
            put("track above", hot, &wiper, above);
            put("track below", &wiper, &foot, below);
            put("low end", &foot, bias, low);
            put("board at the low lug", &foot, CHASSIS, BOARD);
            put("wiper", &wiper, line, if lifted { f64::INFINITY } else { 0.0 });
            put("wiper to chassis", &wiper, CHASSIS, control.to_chassis);
        }
        Way::Across => put("rheostat", line, bias, if lifted { f64::INFINITY } else { below + low }),
        Way::Instead if state.lead_off => {}
        // The wiper is tied to the end lug: lifted, the whole track is left.
        Way::Instead => put("rheostat", line, bias, low + if lifted { control.track } else { below }),
        Way::Between if side == 1 => {
            put("between", &of_side("grid line", 0), line, if lifted { f64::INFINITY } else { below });
        }
        Way::ToChassis => {
            let wiper = of_side("wiper", side);
            put("track above", hot, &wiper, above);
            put("track below", &wiper, CHASSIS, below + low);
            put("board at the wiper", &wiper, CHASSIS, BOARD);
            put("second coupling leak", &wiper, line, control.second_leak[side]);
        }
        Way::Between => {}
    }
    if let Some(safe) = control.safe {
        put("safe", line, bias, safe);
    }
}

/// Transformer, output valves, and what is connected to them.
pub fn output(network: &mut Network, circuit: &Circuit, state: State) {
    resistor(network, "primary to chassis", "line", CHASSIS, circuit.output.insulation);
    for (side, parts) in circuit.sides.iter().enumerate() {
        let anode = of_side("anode", side);
        resistor(network, &of_side("half", side), "line", &anode, parts.half);
        resistor(network, &of_side("board at anode", side), &anode, CHASSIS, SOCKET);
    }
    if let Some(shared) = circuit.shared_cathode {
        resistor(network, "shared cathode", "shared cathode", CHASSIS, shared);
    }
    for socket in &circuit.sockets {
        let [grid, screen, cathode] =
            ["grid", "screen", "cathode"].map(|what| format!("{what} {}", socket.name));
        let foot = if circuit.shared_cathode.is_some() { "shared cathode" } else { CHASSIS };
        let anode = of_side("anode", socket.side);
        resistor(
            network,
            &format!("screen stopper {}", socket.name),
            "screens",
            &screen,
            socket.screen_stopper,
        );
        resistor(network, &format!("board at screen {}", socket.name), &screen, CHASSIS, BOARD);
        resistor(network, &format!("cathode {}", socket.name), &cathode, foot, socket.cathode);
        resistor(network, &format!("heater to cathode {}", socket.name), &cathode, CHASSIS, 1e6);
        resistor(network, &format!("bridge {}", socket.name), &grid, &screen, socket.bridge);
        if !state.valves {
            continue;
        }
        if conducts(circuit, state) {
            let warm = 1.0 - 0.05 * libm::exp(-f64::from(state.minutes) / 4.0);
            let pins = Pins { anode: &anode, screen: &screen, grid: &grid, cathode: &cathode };
            network.valve(socket.name, pins, with_emission(circuit.valve, socket.emission * warm));
            network.grid_current(&format!("grid current {}", socket.name), &grid, &cathode);
        }
        let inside = |what: &str| format!("{what} inside {}", socket.name);
        resistor(network, &inside("grid to cathode"), &grid, &cathode, socket.grid_cathode);
        resistor(network, &inside("grid to screen"), &grid, &screen, socket.grid_screen);
        resistor(network, &inside("screen to cathode"), &screen, &cathode, socket.screen_cathode);
        if socket.gas > 0.0 && conducts(circuit, state) {
            // Gas is let loose as the electrodes warm: half of it after some minutes.
            let gas = socket.gas * (1.0 - 0.7 * libm::exp(-f64::from(state.minutes) / 4.0));
            network.current(&inside("gas"), &cathode, &grid, amperes(gas));
        }
    }
}

/// A valve's model with its currents multiplied.
fn with_emission(valve: &str, share: f64) -> Model {
    match fitted(valve).expect("an output valve of the table").model {
        Model::Pentode(pentode) => {
            Model::Pentode(Pentode { kg1: pentode.kg1 / share, kg2: pentode.kg2 / share, ..pentode })
        }
        triode => triode,
    }
}

/// What flows in the resistor of one cathode.
pub fn cathode_current(rest: &OperatingPoint<'_>, socket: &Socket) -> f64 {
    rest.current(&format!("cathode {}", socket.name)).map_or(0.0, |current| current.si())
}
