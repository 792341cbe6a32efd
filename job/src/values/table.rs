//! The table of values.

use super::Group::{Control, Grids, Inverter, Load, Mains, Output, Supply};
use super::Kind::{Choice, ChoiceOf, Negative, Number, Words};
use super::{Group, Kind, Known};
use crate::procedure::SOCKETS;

/// What is marked on a part or a rating plate, or seen.
const fn marked(id: &'static str, group: Group, label: &'static str, kind: Kind) -> Known {
    Known {
        id,
        label,
        hint: "",
        group,
        kind,
        measured: false,
        most: None,
        only: &[],
        fills: &[],
        kept_from: &[],
    }
}

/// What is read off the live amplifier.
const fn read(id: &'static str, group: Group, label: &'static str, kind: Kind) -> Known {
    Known { measured: true, ..marked(id, group, label, kind) }
}

impl Known {
    const fn hint(self, hint: &'static str) -> Self {
        Self { hint, ..self }
    }

    const fn most(self, most: &'static str) -> Self {
        Self { most: Some(most), ..self }
    }

    const fn only(self, only: &'static [&'static str]) -> Self {
        Self { only, ..self }
    }

    const fn fills(self, fills: &'static [&'static str]) -> Self {
        Self { fills, ..self }
    }

    const fn kept_from(self, kept_from: &'static [&'static str]) -> Self {
        Self { kept_from, ..self }
    }
}

/// Everything that can be known of an amplifier, in the order of the survey.
pub static KNOWN: &[Known] = &[
    marked("mains-marked", Mains, "Mains, as marked or set", Number("V"))
        .fills(&["mains-drift.marked", "lamp-limiter.mains", "stop-figures.mains-marked"]),
    read("mains-measured", Mains, "Mains, as measured", Number("V"))
        .hint("At the amplifier, not at the wall.")
        .fills(&["mains-drift.measured", "stop-figures.mains-measured"]),
    marked("idle-watts", Mains, "Power drawn at idle", Number("W"))
        .hint("From the rating plate, or as measured. Used to work out the lamp.")
        .fills(&["lamp-limiter.watts"]),
    marked("lamp-power", Mains, "Lamp in series, rated power", Number("W"))
        .hint("Tungsten only.")
        .fills(&["lamp-limiter.lamp-power"]),
    marked("lamp-voltage", Mains, "Lamp in series, rated voltage", Number("V"))
        .fills(&["lamp-limiter.lamp-voltage"]),
    marked("fuse", Mains, "Mains fuse", Words).hint("Rating, speed, breaking capacity, as found."),
    marked("lead", Mains, "Mains lead and plug", Words)
        .hint("Two cores or three, polarity switch, capacitors to chassis."),
    read("earth", Mains, "Earth pin to bare chassis", Number("Ω")).hint("Beyond the mains lead itself."),
    read("insulation", Mains, "Insulation, live and neutral to chassis", Number("MΩ"))
        .hint("At 500 V DC; suppressors noted."),
    marked("rested", Mains, "Last powered", Words),
    marked("load", Load, "Load, nominal", Number("Ω")).fills(&["output-power.load", "lead-order.load"]),
    read("load-measured", Load, "Load, measured at the jack", Number("Ω")),
    marked("load-rating", Load, "Load’s rating", Number("W")).fills(&["output-power.load-rating"]),
    marked("rated-power", Load, "Amplifier’s rated power", Number("W")),
    read("output-voltage", Load, "Volts across the load, just before clipping", Number("V"))
        .fills(&["output-power.voltage"])
        .kept_from(&["output-power.rms"]),
    read("output-open", Load, "Output with the feedback lead open, small signal", Number("V")),
    marked("rectifier", Supply, "Rectifier", Choice(&[("silicon", "silicon"), ("valve", "a valve")])),
    marked(
        "standby",
        Supply,
        "How the HT is switched on",
        Choice(&[
            ("dc", "by a standby switch in the DC line"),
            ("winding", "by a standby switch in the HT winding or its centre tap"),
            ("none", "there is no standby switch"),
            ("valve", "a valve rectifier brings it up as it warms"),
        ]),
    )
    .hint("In the DC line it leaves the bias on; in the winding it may switch off a bias that comes from that winding."),
    marked("reservoir", Supply, "Reservoir capacitor", Number("µF"))
        .hint("For two in series, the value of the pair.")
        .fills(&["discharge.reservoir"]),
    marked("reservoir-rating", Supply, "Lowest rated voltage of the capacitors on the HT", Number("V"))
        .hint("With the valves out they all see the same voltage. For two in series with equal resistors, the sum of \
               their ratings."),
    marked("ht-unloaded", Supply, "HT, output valves out", Number("V"))
        .hint("As read, or calculated. Capacitors are judged by it.")
        .fills(&["discharge.voltage", "stop-figures.highest-voltage"]),
    read("ht", Supply, "HT at the reservoir, idle", Number("V")),
    read("heater-voltage", Supply, "Heaters", Number("V")).hint("At the socket of an output valve."),
    marked("output-valve", Output, "Output valves", ChoiceOf("dissipation.valve")).fills(&[
        "dissipation.valve",
        "idle-point.valve",
        "mains-drift.valve",
        "bias-splitter.valve",
        "grid-stopper.valve",
        "master-volume.valve",
        "lead-order.valve",
        "stop-figures.valve",
    ]),
    marked(SOCKETS, Output, "Output valves, how many", Number(""))
        .hint(
            "1, 2, 4, 6 or 8. Side A of a push-pull pair is the one nearer the mains transformer; A1 is its innermost \
             socket, and so on outwards.",
        )
        .only(&["1", "2", "4", "6", "8"])
        .fills(&["bias-splitter.valves"]),
    marked("bias-kind", Output, "Bias", ChoiceOf("dissipation.bias")).fills(&[
        "dissipation.bias",
        "bias-splitter.bias",
        "coupling.bias",
    ]),
    read("anode-voltage", Output, "Anode voltage", Number("V")).hint("From cathode.").fills(&[
        "dissipation.anode-voltage",
        "idle-point.anode-voltage",
        "master-volume.anode-voltage",
        "lead-order.anode-voltage",
        "stop-figures.anode-voltage",
    ]),
    read("screen-voltage", Output, "Screen voltage", Number("V")).hint("From cathode.").fills(&[
        "dissipation.screen-voltage",
        "idle-point.screen-voltage",
        "master-volume.screen-voltage",
        "lead-order.screen-voltage",
        "stop-figures.screen-voltage",
    ]),
    read("cathode-current", Output, "Cathode current, one valve", Number("mA"))
        .fills(&["dissipation.cathode-current"]),
    marked("idle-expected", Output, "Cathode current expected at idle, one valve", Number("mA"))
        .fills(&["mains-drift.idle"]),
    marked("idle-stop", Output, "Cathode current at which to stop, one valve", Number("mA"))
        .hint("From the stop figures calculator. With fixed bias, rated anode watts divided by the highest anode \
               voltage: 30 W ÷ 490 V = 61 mA.")
        .most("200 mA")
        .kept_from(&["stop-figures.cathode-current"]),
    read("anode-current", Output, "Anode current, one valve", Number("mA"))
        .fills(&["master-volume.idle-current", "lead-order.idle-current", "coupling.idle"])
        .kept_from(&["dissipation.anode-current"]),
    marked("screen-stopper", Output, "Screen stopper", Number("Ω"))
        .fills(&["dissipation.screen-stopper", "stop-figures.screen-stopper"]),
    read("screen-drop", Output, "Drop across the screen stopper", Number("V"))
        .fills(&["dissipation.screen-drop"]),
    marked(
        "cathode-resistors",
        Output,
        "Resistors in the cathodes",
        Choice(&[
            ("each", "one for each valve"),
            ("shared", "one for several valves"),
            ("none", "none: the cathodes go straight to chassis"),
        ]),
    )
    .hint("A shared one shows the sum, never which valve draws it."),
    marked("cathode-resistor", Output, "Cathode resistor, one valve", Number("Ω"))
        .hint("Meter-lead ohms subtracted. For a shared one, its own ohms.")
        .fills(&["idle-current.cathode-resistor"]),
    read("cathode-drop", Output, "Drop across the cathode resistor", Number("mV"))
        .fills(&["idle-current.cathode-drop"]),
    marked("winding-cold", Output, "Half primary, cold", Number("Ω")).fills(&["idle-current.winding-cold"]),
    marked("primary", Output, "Output transformer, anode to anode", Number("Ω"))
        .fills(&["lead-order.primary"]),
    marked(
        "bias-feed",
        Grids,
        "Where the bias comes from",
        Choice(&[
            ("tap", "a tap or winding of its own"),
            ("ht", "the HT winding"),
            ("cathode", "the cathode resistor"),
        ]),
    )
    .fills(&["stop-figures.bias-feed"]),
    marked("bias-expected", Grids, "Bias expected at the grids, at the marked mains", Negative("V"))
        .hint("The maker’s figure, or an earlier reading.")
        .fills(&["mains-drift.bias", "stop-figures.bias-expected"])
        .kept_from(&["idle-point.bias"]),
    marked(
        "bias-adjust",
        Grids,
        "How the bias is set",
        Choice(&[
            ("trimmer", "one trimmer for all valves"),
            ("each", "a trimmer for each valve or side"),
            ("balance", "a trimmer and a balance control"),
            ("fixed", "it cannot be adjusted"),
        ]),
    ),
    marked("meter-resistance", Grids, "Input resistance of the meter that reads the bias", Number("MΩ"))
        .hint("On its DC volts range, from its handbook: most digital meters have 10 MΩ. 20 kΩ/V on 50 V is 1 MΩ.")
        .fills(&["stop-figures.meter-resistance"]),
    read("bias-voltage", Grids, "Bias at the grids", Negative("V")).hint("At the grid’s own tag.").fills(&[
        "bias-splitter.bias-voltage",
        "coupling.bias-voltage",
        "master-volume.bias-voltage",
        "phase-inverter.bias-voltage",
    ]),
    marked("bias-source", Grids, "Resistance of the bias feed", Number("Ω")).fills(&[
        "bias-splitter.bias-source",
        "coupling.bias-source",
        "master-volume.bias-source",
    ]),
    marked("bias-capacitor", Grids, "Bias capacitor", Number("µF")).fills(&["master-volume.bias-capacitor"]),
    marked("grid-leak", Grids, "Grid leaks", Number("Ω")).fills(&[
        "bias-splitter.leak",
        "coupling.leak",
        "master-volume.leak",
        "stop-figures.grid-leak",
    ]),
    marked("grid-stopper", Grids, "Grid stoppers", Number("Ω")).fills(&[
        "bias-splitter.stopper",
        "grid-stopper.stopper",
        "master-volume.stopper",
    ]),
    marked("coupling", Grids, "Coupling capacitors", Number("nF")).fills(&[
        "bias-splitter.coupling",
        "coupling.capacitance",
        "master-volume.coupling",
    ]),
    marked("inverter-kind", Inverter, "Phase inverter", ChoiceOf("phase-inverter.kind"))
        .fills(&["phase-inverter.kind"]),
    marked("inverter-valve", Inverter, "Inverter valve", ChoiceOf("phase-inverter.valve"))
        .fills(&["phase-inverter.valve"]),
    marked("inverter-anode-1", Inverter, "Inverter’s first anode resistor", Number("Ω"))
        .fills(&["phase-inverter.anode-1"]),
    marked("inverter-anode-2", Inverter, "Inverter’s second anode resistor", Number("Ω"))
        .fills(&["phase-inverter.anode-2"]),
    marked("inverter-cathode", Inverter, "Inverter’s cathode resistor", Number("Ω"))
        .fills(&["phase-inverter.cathode"]),
    marked("inverter-tail", Inverter, "Inverter’s tail", Number("Ω")).fills(&["phase-inverter.tail"]),
    read("inverter-supply", Inverter, "Inverter’s supply node", Number("V")).fills(&["phase-inverter.supply"]),
    marked("feedback", Inverter, "Feedback resistor", Number("Ω")).fills(&["lead-order.feedback"]),
    marked("control-resistance", Control, "Track of the control", Number("Ω")).fills(&[
        "taper.resistance",
        "lead-loss.track",
        "master-volume.resistance",
        "lead-order.resistance",
    ]),
    marked("control-law", Control, "Law of the control", ChoiceOf("taper.law")).fills(&[
        "taper.law",
        "master-volume.law",
        "lead-order.law",
    ]),
    marked("fail-safe", Control, "Fail-safe resistor", Number("Ω")).fills(&[
        "lead-loss.fail-safe",
        "master-volume.safe",
        "lead-order.safe",
    ]),
    marked("lead-length", Control, "Screened lead, each", Number("cm")).fills(&["lead-loss.length"]),
];
