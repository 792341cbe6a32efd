//! What is asked about a master volume after the inverter.

use super::circuit::{Place, Topology};
use super::{Lead, MasterVolume, Seen, Wanted};
use crate::calculator::Ask;
use crate::calculators::questions::control::{Kind, Track, ask_angle, ask_knob, mismatch};
use crate::calculators::questions::{bias, parts, stage, valve};
use crate::quantity::ElectricalResistance;
use crate::quantity::unit::{CENTIMETRE, DECIBEL};
use crate::valve::{VALVES, ask_grid_circuit, fitted};

/// Where the fail-safe resistor goes, where one does anything.
fn ask_safe(a: &mut Ask, topology: Topology) -> Option<(Place, ElectricalResistance)> {
    if !topology.takes_safe() {
        return None;
    }
    let place = a.choice(
        "safe-at",
        "Fail-safe resistor, wiper to bias",
        "Its place decides what it protects against: see the table of faults.",
        &[
            ("tag", "on the socket’s grid tag, with its own wire to the bias node", Some(Place::Tag)),
            (
                "socket",
                "at the socket end of the wiper lead, with its own wire to the bias node",
                Some(Place::Socket),
            ),
            ("pot", "at the pot, wiper lug to low lug", Some(Place::Pot)),
            ("none", "none", None),
        ],
    )?;
    Some((place, parts::fail_safe(a, "safe", "Fail-safe resistor").within("10k", "100M").get()))
}

fn ask_lead(a: &mut Ask) -> Lead {
    Lead {
        length: a
            .quantity("lead", "l", "Lead between socket and pot", "30 cm")
            .within("0 cm", "500 cm")
            .get_in(&CENTIMETRE),
        to_screen: a
            .usual()
            .quantity("lead-capacitance", "C_l", "Lead, core to screen, per metre", "100 pF")
            .hint("Guitar lead is about 100 pF per metre. 0 for a plain wire.")
            .within("0 pF", "2 nF")
            .get(),
        to_core: a
            .usual()
            .quantity("core-capacitance", "C_cc", "Lead, core to core, per metre", "0 pF")
            .hint(
                "For a pair in one screen. It counts twice, because the cores swing in opposite directions.",
            )
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
        .quantity("end-resistance", "R_e", "Resistance left at the low end of the track", "10R")
        .hint("Wiper to low lug with the knob at 0. Data sheets allow up to 1 % of the track in small pots.")
        .within("0R1", "10k");
    let end = end.get();
    let mismatch = (topology != Topology::Bridge).then(|| mismatch(a).get_in(&DECIBEL));
    let safe = ask_safe(a, topology);
    let inverter = parts::inverter_from_its_page(a);
    let imbalance = a
        .usual()
        .quantity("imbalance", "", "Inverter’s two sides differ by", "5 %")
        .hint("As a share of the drive. An estimate; measure both anodes.")
        .within("0 %", "100 %")
        .get();
    let inverter_voltage = a
        .quantity("inverter-voltage", "V_i", "Inverter’s anodes, DC voltage", "176 V")
        .hint("The voltage before a leaky coupling capacitor. Measure it; the inverter’s page works it out.")
        .within("0 V", "600 V")
        .get();
    let swing = a
        .quantity("swing", "V_s", "Inverter’s highest swing, each side, peak", "150 V")
        .hint("Overdriven, on the oscilloscope: up to twice the clean swing that its page gives.")
        .within("0.1 V", "600 V")
        .tolerance("15 %")
        .get();
    let unloaded = stage::no_load(a, ["unloaded", "V_u", "Its supply with the valves cold or out"])
        .hint("The HT’s no-load voltage, if you know no better.")
        .get();
    let element = "From the control’s own data sheet, for that size and law.";
    let element_voltage = a
        .quantity("element-voltage", "V_x", "Rated voltage of a section of the track, DC or peak", "150 V")
        .hint(element)
        .within("1 V", "5 kV")
        .get();
    let element_power = a
        .quantity("element-power", "P_x", "Rated power of a section of the track", "60 mW")
        .hint(element)
        .within("1 mW", "10 W")
        .get();
    let coupling = parts::coupling(a, "coupling", "Coupling capacitor");
    let second = (topology == Topology::Chassis)
        .then(|| parts::coupling(a, "second-coupling", "Second coupling capacitor, behind the control"));
    let leak_name = if topology.keeps_leak() {
        "Grid leak, each side"
    } else {
        "Grid leak that was there before, each side"
    };
    let leak = parts::leak(a, ("leak", leak_name), "220k").get();
    let stopper = parts::stopper(a);
    let lead = ask_lead(a);
    let valve = ask_grid_circuit(a, &valve::GRID_CIRCUIT, "6L6GC");
    let known = VALVES.iter().find(|known| known.name == valve.name);
    let input = a
        .quantity("input-capacitance", "C_in", "Input capacitance of one valve, gain included", "22 pF")
        .hint("Grid to all else, plus anode to grid times one plus the gain: 10 pF and 0.6 pF × 12, and a few for the \
               socket.")
        .within("1 pF", "1 nF")
        .get();
    let valves = valve::on_each_side(a);
    let anode = valve::anode(a, "Anode, from the cathode", "438 V").get();
    let screen = valve::screen(a, "Screen, from the cathode", "434 V").get();
    let idle = valve::idle_current(a)
        .hint("As read, less the screen current. The valve model is shifted until it gives this.")
        .get();
    let bias = bias::voltage(a, "bias-voltage", "Bias, at its node").get();
    let bias_source = bias::source(a);
    let bias_capacitor =
        a.quantity("bias-capacitor", "C_b", "Capacitor at the bias node", "47u").within("0F", "1000u").get();
    let grid_current = bias::grid_current(a);
    let seen = a.usual().choice(
        "seen-from",
        "Wiring seen from",
        "Much wiring is done from the other side.",
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
        wanted: Wanted {
            bass: a.wants("bass"),
            treble: a.wants("treble"),
            load_least: a.wants("load-least"),
            residual: a.wants("residual"),
        },
    }
}
