//! The ways of failing: what each is called, where it can happen, and what you notice.

use super::circuit::Topology;
use super::network::Fault;

/// Where the knob is for a row.
#[derive(Clone, Copy, PartialEq)]
pub(super) enum At {
    /// Where the reader set it.
    Here,
    /// At this mark of the knob.
    Mark(u8),
}

/// A row of the table of faults.
pub(super) struct Row {
    /// What it is called.
    pub(super) name: &'static str,
    /// None where no direct voltage changes.
    pub(super) fault: Option<Fault>,
    /// Where the knob stands.
    pub(super) at: At,
    /// Where it can happen.
    pub(super) in_: fn(Topology) -> bool,
    /// What one notices at the bench, in a sentence.
    pub(super) notice: fn(Topology) -> &'static str,
}

/// Anywhere, wherever the knob stands.
const USUAL: Row = Row { name: "", fault: None, at: At::Here, in_: |_| true, notice: |_| "" };
/// Everything off, before anything else.
const OFF: &str = "A red anode within seconds, and distortion: off at once.";

/// What one notices where a rheostat, or the way to it, is open.
fn loud(topology: Topology) -> &'static str {
    match topology {
        Topology::Instead => {
            "That side at full loudness; without a resistor nothing holds its grid: off at once."
        }
        _ => "Full loudness at every setting.",
    }
}

const BODY: Row = Row {
    fault: Some(Fault::Body),
    notice: |topology| match topology {
        Topology::Chassis => "That side silent; bias stays.",
        Topology::Bridge => {
            "Silent. One valve has no bias, and the lower the knob, the less the other has. Off at once."
        }
        _ => {
            "That side silent, its valve without bias. Towards 0 the bias node is pulled down too, for every valve. \
             Off at once."
        }
    },
    ..USUAL
};

pub(super) const ROWS: &[Row] = &[
    Row { name: "Nothing wrong", fault: None, notice: |_| "The readings to compare with.", ..USUAL },
    Row {
        name: "Wiper lifted",
        fault: Some(Fault::Wiper),
        notice: |topology| match topology {
            Topology::Divider => "That side silent except for hum; without a resistor, its anode glows red.",
            Topology::Chassis => "That side silent; bias stays.",
            Topology::Bridge => "As if turned full up: loud at once.",
            _ => "As if that side were turned full up: loud at once.",
        },
        ..USUAL
    },
    // Untied, the wiper is the only way to the bias.
    Row {
        name: "Wiper lifted that is not tied to its end lug",
        fault: Some(Fault::LowEnd),
        in_: |topology| topology == Topology::Instead,
        notice: loud,
        ..USUAL
    },
    Row {
        name: "Low end of the track open",
        fault: Some(Fault::LowEnd),
        notice: |topology| match topology {
            Topology::Divider | Topology::Chassis => "That side never goes quiet.",
            _ => loud(topology),
        },
        ..USUAL
    },
    Row {
        name: "Jumper between the low lugs open, or the wire at one of them",
        fault: Some(Fault::Jumper),
        in_: |topology| topology != Topology::Bridge,
        notice: |topology| match topology {
            Topology::Divider | Topology::Chassis => "The gang beyond it never goes quiet.",
            _ => loud(topology),
        },
        ..USUAL
    },
    Row {
        name: "Feed to the low lugs open",
        fault: Some(Fault::Feed),
        in_: |topology| topology != Topology::Bridge,
        notice: |topology| match topology {
            Topology::Divider | Topology::Instead => {
                "Without a resistor to the bias node itself, every output valve at once. With one you notice nothing, \
                 though every grid depends on it: an ohmmeter finds it."
            }
            _ => "The control works between the sides, if at all; bias stays.",
        },
        ..USUAL
    },
    Row {
        name: "One gang open from end to end",
        fault: Some(Fault::Gang),
        notice: |topology| {
            if topology.is_divider() { "That side silent." } else { loud(topology) }
        },
        ..USUAL
    },
    Row {
        name: "Wiper lead open",
        fault: Some(Fault::Lead),
        notice: |topology| {
            if topology.is_divider() { "That side silent except for hum." } else { loud(topology) }
        },
        ..USUAL
    },
    Row {
        name: "Stopper open",
        fault: Some(Fault::Stopper),
        notice: |_| "That valve silent except for hum, as it would be without any master.",
        ..USUAL
    },
    Row {
        name: "Screen of the lead on chassis",
        fault: Some(Fault::Screen),
        notice: |topology| {
            if topology.screen_at_bias() {
                "Bias gone at every output valve, resistor or not. Hum, red anodes, a blown fuse: off at once."
            } else {
                "Nothing: that is where it belongs."
            }
        },
        ..USUAL
    },
    Row { name: "Wiper, or the track beside it, on an earthed body, knob at 0", at: At::Mark(0), ..BODY },
    Row { name: "Wiper, or the track beside it, on an earthed body", ..BODY },
    Row {
        name: "Leads to the two grids swapped",
        fault: None,
        in_: Topology::is_divider,
        notice: |_| {
            "No DC meter shows it. With feedback around the output stage it howls above some setting, and is \
                     quiet below."
        },
        ..USUAL
    },
    Row {
        name: "Outer lugs of one gang swapped",
        fault: Some(Fault::OuterLugs),
        in_: |topology| topology != Topology::Bridge,
        notice: |_| "One side falls as the other rises: never silent, never at full level. The commonest mistake.",
        ..USUAL
    },
    Row {
        name: "Wiper and hot lug of one gang swapped",
        fault: Some(Fault::WiperLug),
        in_: Topology::is_divider,
        notice: |_| "That side stays loud down to the last degrees, then shorts the inverter.",
        ..USUAL
    },
    Row {
        name: "Wiper and low lug of one gang swapped",
        fault: Some(Fault::LowLug),
        in_: Topology::is_divider,
        notice: |_| "That side silent at every setting, bias kept. Turned up, the inverter works into a short.",
        ..USUAL
    },
    Row {
        name: "Coupling capacitor leaks 10 MΩ, knob at 0",
        fault: Some(Fault::Leaky(10e6)),
        at: At::Mark(0),
        notice: |_| "To compare with the next row.",
        ..USUAL
    },
    Row {
        name: "Coupling capacitor leaks 10 MΩ, knob at 10",
        fault: Some(Fault::Leaky(10e6)),
        at: At::Mark(10),
        notice: |topology| match topology {
            Topology::Chassis => {
                "Nothing at the grid: the second capacitor blocks it. Scratching as the knob turns."
            }
            Topology::Bridge => {
                "That valve idles higher, and pulls the other with it as the control is turned down."
            }
            _ => "Idle current that moves with the knob, and scratching: DC on the track.",
        },
        ..USUAL
    },
    Row {
        name: "Coupling capacitor shorted, knob at 0",
        fault: Some(Fault::Leaky(0.1)),
        at: At::Mark(0),
        notice: |topology| match topology {
            Topology::Divider => "The bias node itself is pulled up, for every valve: off at once.",
            Topology::Chassis => "To compare with the next row.",
            _ => OFF,
        },
        ..USUAL
    },
    Row {
        name: "Coupling capacitor shorted, knob at 10",
        fault: Some(Fault::Leaky(0.1)),
        at: At::Mark(10),
        notice: |topology| match topology {
            Topology::Chassis => {
                "The track carries the inverter’s voltage and burns; the grid keeps its bias."
            }
            _ => OFF,
        },
        ..USUAL
    },
    Row {
        name: "Second coupling capacitor leaks 10 MΩ, knob at 0",
        fault: Some(Fault::SecondLeaky(10e6)),
        at: At::Mark(0),
        in_: |topology| topology == Topology::Chassis,
        notice: |_| "To compare with the next row.",
    },
    Row {
        name: "Second coupling capacitor leaks 10 MΩ, knob at 10",
        fault: Some(Fault::SecondLeaky(10e6)),
        at: At::Mark(10),
        in_: |topology| topology == Topology::Chassis,
        notice: |_| "Idle current a little up at any setting: a leak towards chassis, not towards the HT.",
    },
    Row {
        name: "Second coupling capacitor shorted, knob at 0",
        fault: Some(Fault::SecondLeaky(0.1)),
        at: At::Mark(0),
        in_: |topology| topology == Topology::Chassis,
        notice: |_| OFF,
    },
    Row {
        name: "Second coupling capacitor shorted, knob at 10",
        fault: Some(Fault::SecondLeaky(0.1)),
        at: At::Mark(10),
        in_: |topology| topology == Topology::Chassis,
        notice: |_| "Still far too little bias: worse turned down than up.",
    },
    Row {
        name: "Scratch as the knob turns: a leak of 1 GΩ, knob at 10",
        fault: Some(Fault::Leaky(1e9)),
        at: At::Mark(10),
        notice: |_| "The first sign of DC on the track, long before the idle current shows it.",
        ..USUAL
    },
    Row {
        name: "A gassy valve, 10 µA out of its grid, knob at 10",
        fault: Some(Fault::Gas(10e-6)),
        at: At::Mark(10),
        notice: |_| "Idle current that creeps up as the valve warms, most at the highest grid circuit.",
        ..USUAL
    },
    Row {
        name: "Wet or fluxed board, 50 MΩ from the HT to the grid",
        fault: Some(Fault::Board(50e6)),
        notice: |topology| match topology {
            Topology::Chassis => "Idle current that moves with the weather.",
            _ => "Idle current that moves with the weather and with the knob.",
        },
        ..USUAL
    },
];
