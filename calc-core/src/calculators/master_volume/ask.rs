//! What is asked about a master volume after the inverter.

use super::circuit::{Place, Topology};
use super::{Lead, MasterVolume, Seen};
use crate::calculator::Ask;
use crate::calculators::track::{Kind, Track, ask_angle, ask_knob};
use crate::quantity::unit::{CENTIMETRE, DECIBEL};
use crate::quantity::{Capacitance, ElectricalResistance};
use crate::valve::{GridCircuitFields, VALVES, ask_grid_circuit, fitted};

const VALVE: GridCircuitFields = GridCircuitFields {
    valve: ("valve", "Output valve"),
    sheet: ("sheet", "Which sheet"),
    fixed: ("limit-fixed", "Highest grid-circuit resistance, fixed bias"),
    cathode: ("limit-cathode", "Highest grid-circuit resistance, cathode bias"),
};

fn ohms(
    a: &mut Ask,
    (id, symbol): (&'static str, &'static str),
    name: &'static str,
    default: &'static str,
    (low, high): (&'static str, &'static str),
    tolerance: &'static str,
) -> ElectricalResistance {
    a.quantity(id, symbol, name, default).within(low, high).tolerance(tolerance).get()
}

/// Where the fail-safe resistor goes, where one does anything.
fn ask_safe(a: &mut Ask, topology: Topology) -> Option<(Place, ElectricalResistance)> {
    if !topology.takes_safe() {
        return None;
    }
    let place = a.choice(
        "safe-at",
        "Fail-safe resistor, wiper to bias",
        "Its place decides what it covers: see the table of faults.",
        &[
            ("tag", "on the socket’s grid tag, own wire to the bias node", Some(Place::Tag)),
            (
                "socket",
                "at the socket’s side of the wiper lead, own wire to the bias node",
                Some(Place::Socket),
            ),
            ("pot", "at the pot, wiper lug to low lug", Some(Place::Pot)),
            ("none", "none", None),
        ],
    )?;
    Some((place, ohms(a, ("safe", "R_f"), "Fail-safe resistor", "2M2", ("10k", "100M"), "5 %")))
}

fn ask_lead(a: &mut Ask) -> Lead {
    Lead {
        length: a
            .quantity("lead", "l", "Lead between socket and pot", "30 cm")
            .within("0 cm", "500 cm")
            .get_in(&CENTIMETRE),
        to_screen: a
            .usual()
            .quantity("lead-capacitance", "C_l", "A metre of it, core to screen", "100 pF")
            .hint("Guitar lead is about 100 pF a metre. 0 for a plain wire.")
            .within("0 pF", "2 nF")
            .get(),
        to_core: a
            .usual()
            .quantity("core-capacitance", "C_cc", "A metre of it, core to core", "0 pF")
            .hint("Of a pair in one screen: it counts twice, for the cores swing against each other.")
            .within("0 pF", "2 nF")
            .get(),
    }
}

pub(super) fn ask(a: &mut Ask) -> MasterVolume {
    let topology = a.choice(
        "topology",
        "Where the control sits",
        "By its function; the schematic below shows it.",
        &[
            ("divider", "divider, its low end on the bias feed, leaks removed", Topology::Divider),
            ("across", "rheostats across the leaks", Topology::Across),
            ("instead", "rheostats instead of the leaks", Topology::Instead),
            ("bridge", "one control across the two grids", Topology::Bridge),
            ("chassis", "divider to chassis, before a second pair of capacitors", Topology::Chassis),
        ],
    );
    let knob = ask_knob(a);
    let kind = Kind::ask(a);
    let track = Track::ask(a, kind);
    let angle = ask_angle(a);
    let end = a
        .usual()
        .quantity("end-resistance", "R_e", "Left of the track at its low end", "10R")
        .hint("Wiper to low lug with the knob at 0. Sheets allow up to 1 % of the track in small pots.")
        .within("0R1", "10k");
    let end = end.get();
    let mismatch = (topology != Topology::Bridge).then(|| {
        a.quantity("mismatch", "e", "Gangs differ by", "3 dB")
            .hint("Measured at this setting, or what the sheet allows.")
            .within("0 dB", "20 dB")
            .get_in(&DECIBEL)
    });
    let safe = ask_safe(a, topology);
    let inverter = a
        .quantity("inverter", "R_i", "Inverter’s output resistance, each side", "18k")
        .hint("Its anode resistor in parallel with the valve. The inverter’s page works it out.")
        .within("1R", "1M")
        .tolerance("30 %")
        .get();
    let imbalance = a
        .usual()
        .quantity("imbalance", "", "Inverter’s two sides differ by", "5 %")
        .hint("Of the drive. An estimate; measure both anodes.")
        .within("0 %", "100 %")
        .get();
    let inverter_voltage = a
        .quantity("inverter-voltage", "V_i", "Inverter’s anodes, direct", "176 V")
        .hint("What a leaky coupling capacitor lets through. Measure it; the inverter’s page works it out.")
        .within("0 V", "600 V")
        .get();
    let swing = a
        .quantity("swing", "V_s", "Inverter’s highest swing, each side, peak", "150 V")
        .hint("Overdriven, on the oscilloscope: up to twice what its page finds before it bends.")
        .within("0.1 V", "600 V")
        .tolerance("15 %")
        .get();
    let unloaded = a
        .quantity("unloaded", "V_u", "Its supply with the valves cold or out", "490 V")
        .hint("The HT’s no-load voltage, where you know no better.")
        .within("0 V", "1500 V")
        .get();
    let element = "By the control’s own sheet, for that size and law.";
    let element_voltage = a
        .quantity("element-voltage", "V_x", "A section of the track bears, direct or peak", "150 V")
        .hint(element)
        .within("1 V", "5 kV")
        .get();
    let element_power =
        a.quantity("element-power", "P_x", "and as heat", "60 mW").hint(element).within("1 mW", "10 W").get();
    let capacitor = |a: &mut Ask, id, name| -> Capacitance {
        a.quantity(id, "C", name, "100n").within("10p", "100u").tolerance("10 %").get()
    };
    let coupling = capacitor(a, "coupling", "Coupling capacitor");
    let second = (topology == Topology::Chassis)
        .then(|| capacitor(a, "second-coupling", "Second coupling capacitor, behind the control"));
    let leak_name = if topology.keeps_leak() {
        "Grid leak, each side"
    } else {
        "Grid leak that was there before, each side"
    };
    let leak = ohms(a, ("leak", "R_l"), leak_name, "220k", ("1k", "10M"), "5 %");
    let stopper = ohms(a, ("stopper", "R_s"), "Grid stopper, each valve", "1k5", ("0R", "1M"), "5 %");
    let lead = ask_lead(a);
    let valve = ask_grid_circuit(a, &VALVE, "6L6GC");
    let known = VALVES.iter().find(|known| known.name == valve.name);
    let input = a
        .quantity("input-capacitance", "C_in", "Grid of one valve, the stage’s gain counted", "22 pF")
        .hint("Grid to all, and the anode’s share times gain: 10 pF and 0.6 pF × 12, and the socket’s few.")
        .within("1 pF", "1 nF")
        .get();
    let valves = a.count("valves", "Valves on each side", "1", 4);
    let anode =
        a.quantity("anode-voltage", "V_a", "Anode, from the cathode", "438 V").within("1 V", "1500 V").get();
    let screen = a
        .quantity("screen-voltage", "V_g2", "Screen, from the cathode", "434 V")
        .within("1 V", "1500 V")
        .get();
    let idle = a
        .quantity("idle-current", "I_a", "Anode current at idle, one valve", "32.5 mA")
        .hint("As read, without the screen’s. The model of the valve is shifted until it gives this.")
        .within("1 mA", "500 mA")
        .get();
    let bias =
        a.quantity("bias-voltage", "V_g1", "Bias, at its node", "-46 V").within("-200 V", "-0.5 V").get();
    let bias_source = a
        .quantity("bias-source", "R_b", "Bias source, its direct resistance", "12k")
        .hint("What an ohmmeter would see from that node to chassis, its capacitor charged.")
        .within("0R", "1M")
        .tolerance("10 %")
        .get();
    let bias_capacitor =
        a.quantity("bias-capacitor", "C_b", "Capacitor at the bias node", "47u").within("0F", "1000u").get();
    let grid_current = a
        .usual()
        .quantity("grid-current", "I_g", "Grid current to reckon with, each valve", "1 µA")
        .hint("One microampere to compare by; a gassy valve draws many.")
        .within("0 A", "1 mA")
        .get();
    let seen = a.usual().choice(
        "seen-from",
        "Wiring seen from",
        "Half of all wiring is done from the other side.",
        &[
            ("lugs", "the lug side, shaft pointing away", Seen::Lugs),
            ("shaft", "the shaft side", Seen::Shaft),
        ],
    );
    MasterVolume {
        topology,
        knob,
        track,
        angle,
        end,
        mismatch,
        safe,
        inverter,
        imbalance,
        inverter_voltage,
        swing,
        unloaded,
        element_voltage,
        element_power,
        coupling,
        second,
        leak,
        stopper,
        lead,
        model: fitted(&valve.name),
        anode_power: known.and_then(|known| known.limits.anode_power),
        valve,
        input,
        valves,
        anode,
        screen,
        idle,
        bias,
        bias_source,
        bias_capacitor,
        grid_current,
        seen,
    }
}
