//! What each way of failing does: the grid's voltage from the network, the valve's current from its model, the heat, and
//! how long until it is over the rating.
//!
//! ```text
//! t = τ ln((P − P_0) / (P − P_max))       an anode that warms with one time constant τ, from idle; an estimate
//! ```
//!
//! Units: V, A, W, s. Errors: none; a grid that nothing holds has no voltage: it
//! is said to float, never given a number.

use super::MasterVolume;
use super::circuit::{Circuit, Place, Topology};
use super::network::{Build, Fault};
use crate::calculator::Table;
use crate::quantity::unit::{AMPERE, SECOND, VOLT, WATT};
use crate::quantity::{Quantity, Ratio, writing};
use crate::root::root;
use crate::valve::model::Volts;

/// As negative as a model is looked at, in V.
const LOWEST_GRID: f64 = -300.0;

/// How fast an anode warms, in s. From memory, to be confirmed.
const WARMS: f64 = 20.0;

/// Where the knob stands for a row.
#[derive(Clone, Copy, PartialEq)]
enum At {
    /// Where the reader set it.
    Here,
    /// At this mark of the knob.
    Mark(u8),
}

/// A row of the table.
struct Row {
    name: &'static str,
    fault: Option<Fault>,
    at: At,
    /// Whether every valve has it, not just those of one side.
    all: fn(Topology) -> bool,
    /// Where it can happen.
    in_: fn(Topology) -> bool,
    notice: fn(Topology) -> &'static str,
}

const NEVER: fn(Topology) -> bool = |_| false;
const ALWAYS: fn(Topology) -> bool = |_| true;

const ROWS: &[Row] = &[
    Row {
        name: "Nothing wrong",
        fault: None,
        at: At::Here,
        all: NEVER,
        in_: ALWAYS,
        notice: |_| "The readings to compare with.",
    },
    Row {
        name: "Wiper lifted",
        fault: Some(Fault::Wiper),
        at: At::Here,
        all: NEVER,
        in_: ALWAYS,
        notice: |topology| match topology {
            Topology::Divider => "That side silent but for hum; without a resistor, an anode that reddens.",
            Topology::Chassis => "That side silent; bias stays.",
            Topology::Bridge => "As if turned full up: loud at once.",
            _ => "As if that side were turned full up: loud at once.",
        },
    },
    Row {
        name: "Low end of the track open",
        fault: Some(Fault::LowEnd),
        at: At::Here,
        all: NEVER,
        in_: ALWAYS,
        notice: |topology| {
            if topology.is_divider() {
                "That side never goes quiet."
            } else {
                "Full loudness at every setting."
            }
        },
    },
    Row {
        name: "Jumper between the low lugs open, or the wire at one of them",
        fault: Some(Fault::Jumper),
        at: At::Here,
        all: NEVER,
        in_: |topology| topology != Topology::Bridge,
        notice: |topology| {
            if topology.is_divider() {
                "The gang beyond it never goes quiet."
            } else {
                "The gang beyond it stays loud."
            }
        },
    },
    Row {
        name: "Feed to the low lugs open",
        fault: Some(Fault::Feed),
        at: At::Here,
        all: ALWAYS,
        in_: |topology| topology != Topology::Bridge,
        notice: |topology| match topology {
            Topology::Divider | Topology::Instead => {
                "Without a resistor that goes to the bias node itself, every output valve at once."
            }
            _ => "The control works between the sides, if at all; bias stays.",
        },
    },
    Row {
        name: "One gang open from end to end",
        fault: Some(Fault::Gang),
        at: At::Here,
        all: NEVER,
        in_: ALWAYS,
        notice: |topology| {
            if topology.is_divider() { "That side silent." } else { "Full loudness at every setting." }
        },
    },
    Row {
        name: "Wiper lead open",
        fault: Some(Fault::Lead),
        at: At::Here,
        all: NEVER,
        in_: ALWAYS,
        notice: |topology| {
            if topology.is_divider() {
                "That side silent but for hum."
            } else {
                "Full loudness at every setting."
            }
        },
    },
    Row {
        name: "Stopper open",
        fault: Some(Fault::Stopper),
        at: At::Here,
        all: NEVER,
        in_: ALWAYS,
        notice: |_| "That side silent but for hum: as it would be without any master.",
    },
    Row {
        name: "Screen of the lead on chassis",
        fault: Some(Fault::Screen),
        at: At::Here,
        all: Topology::screen_at_bias,
        in_: ALWAYS,
        notice: |topology| {
            if topology.screen_at_bias() {
                "Bias gone at every output valve, resistor or not. Hum, red anodes, the fuse: off at once."
            } else {
                "Nothing: that is where it belongs."
            }
        },
    },
    Row {
        name: "Wiper, or the track beside it, on a grounded body",
        fault: Some(Fault::Body),
        at: At::Here,
        all: NEVER,
        in_: ALWAYS,
        notice: |topology| match topology {
            Topology::Chassis => "That side silent; bias stays.",
            Topology::Bridge => "That side silent and its valve without bias; the other loses some.",
            _ => "That side silent and its valve without bias: off at once.",
        },
    },
    Row {
        name: "Leads to the two grids swapped",
        fault: None,
        at: At::Here,
        all: ALWAYS,
        in_: Topology::is_divider,
        notice: |_| "No meter shows it. With feedback round the output stage it howls from some setting on; quiet below.",
    },
    Row {
        name: "Outer lugs of one gang swapped",
        fault: Some(Fault::OuterLugs),
        at: At::Here,
        all: NEVER,
        in_: |topology| topology != Topology::Bridge,
        notice: |_| "One side falls as the other rises: never quiet, never whole. The commonest mistake.",
    },
    Row {
        name: "Wiper and hot lug of one gang swapped",
        fault: Some(Fault::WiperLug),
        at: At::Here,
        all: NEVER,
        in_: Topology::is_divider,
        notice: |_| "That side stays loud down to the last degrees, then shorts the inverter.",
    },
    Row {
        name: "Coupling capacitor leaks 10 MΩ, knob at 0",
        fault: Some(Fault::Leaky(10e6)),
        at: At::Mark(0),
        all: NEVER,
        in_: ALWAYS,
        notice: |_| "To compare with the next row.",
    },
    Row {
        name: "Coupling capacitor leaks 10 MΩ, knob at 10",
        fault: Some(Fault::Leaky(10e6)),
        at: At::Mark(10),
        all: NEVER,
        in_: ALWAYS,
        notice: |topology| match topology {
            Topology::Chassis => {
                "Nothing at the grid: the second capacitor keeps it away. Scratch as the knob turns."
            }
            Topology::Bridge => {
                "That valve idles higher, and pulls the other with it as the control is turned down."
            }
            _ => "Idle current that moves with the knob, and scratch: DC on the track.",
        },
    },
    Row {
        name: "Coupling capacitor shorted, knob at 0",
        fault: Some(Fault::Leaky(0.1)),
        at: At::Mark(0),
        all: NEVER,
        in_: ALWAYS,
        notice: |_| "To compare with the next row.",
    },
    Row {
        name: "Coupling capacitor shorted, knob at 10",
        fault: Some(Fault::Leaky(0.1)),
        at: At::Mark(10),
        all: NEVER,
        in_: ALWAYS,
        notice: |topology| match topology {
            Topology::Chassis => {
                "The track carries the inverter’s voltage and burns; the grid keeps its bias."
            }
            _ => "A red anode within seconds, and distortion: off at once.",
        },
    },
    Row {
        name: "Scratch as the knob turns: a leak of 1 GΩ, knob at 10",
        fault: Some(Fault::Leaky(1e9)),
        at: At::Mark(10),
        all: NEVER,
        in_: ALWAYS,
        notice: |_| "The first sign of DC on the track, long before the idle current tells.",
    },
    Row {
        name: "A gassy valve, 10 µA out of its grid, knob at 10",
        fault: Some(Fault::Gas(10e-6)),
        at: At::Mark(10),
        all: NEVER,
        in_: ALWAYS,
        notice: |_| "Idle current that creeps up as the valve warms, most at the highest grid circuit.",
    },
    Row {
        name: "Wet or fluxed board, 50 MΩ from the HT to the grid",
        fault: Some(Fault::Board(50e6)),
        at: At::Here,
        all: NEVER,
        in_: ALWAYS,
        notice: |_| "Idle current that moves with the weather and with the knob.",
    },
];

impl MasterVolume {
    /// Everything as it is built, with one fault and the fail-safe resistor in one place.
    pub(super) fn build<'c>(
        &self,
        circuit: &'c Circuit,
        share: Ratio,
        fault: Option<Fault>,
        place: Option<Place>,
    ) -> Build<'c> {
        Build {
            circuit,
            safe: place.zip(circuit.safe.map(|(_, safe)| safe).or(Some(2.2e6))),
            share,
            fault,
            whole: false,
            bias: self.bias.si(),
            grid_current: self.grid_current.si(),
            inverter_voltage: self.inverter_voltage.si(),
            anode: self.anode.si(),
        }
    }

    /// The grid with nothing wrong; none where nothing holds it.
    pub(super) fn healthy(&self, circuit: &Circuit) -> Option<f64> {
        let place = circuit.safe.map(|(place, _)| place);
        self.build(circuit, circuit.law.share(self.knob), None, place).grid()
    }

    /// The table of faults.
    pub(super) fn faults(&self, circuit: &Circuit) -> Table {
        let shift = self.shift(self.healthy(circuit));
        let topology = self.topology;
        let places: Vec<Option<Place>> = if topology.takes_safe() {
            std::iter::once(None).chain(Place::ALL.map(Some)).collect()
        } else {
            vec![None]
        };
        let mut head = vec!["Fault".to_owned()];
        head.extend(places.iter().map(|place| match place {
            None if topology.takes_safe() => "No fail-safe resistor".to_owned(),
            None => "The valve".to_owned(),
            Some(place) => format!("Fail-safe {}", place.words()),
        }));
        head.push("What one notices".to_owned());
        let row = |row: &Row| {
            let rotation = match row.at {
                At::Here => self.knob,
                At::Mark(mark) => Ratio::of(f64::from(mark) / 10.0),
            };
            let share = circuit.law.share(rotation);
            let all = if (row.all)(topology) { "; all valves" } else { "" };
            let cell = |place: &Option<Place>| {
                let grid = self.build(circuit, share, row.fault, *place).grid();
                self.cell(grid, shift) + all
            };
            let mut cells = vec![row.name.to_owned()];
            cells.extend(places.iter().map(cell));
            cells.push((row.notice)(topology).to_owned());
            cells
        };
        let safe = self.safe.map_or(2.2e6, |(_, safe)| safe.si());
        let with = if topology.takes_safe() {
            format!(", the resistor {}", writing::nearest(safe, &crate::quantity::unit::OHM))
        } else {
            String::new()
        };
        Table {
            title: format!(
                "Faults: grid, anode current and heat of the valve on that side{with}; times are an estimate"
            ),
            head,
            rows: ROWS.iter().filter(|row| (row.in_)(topology)).map(row).collect(),
        }
    }

    /// How far the model must be shifted along the grid's voltage to give the idle current that was read, in V; nothing
    /// where no shift does.
    fn shift(&self, healthy: Option<f64>) -> f64 {
        let over = |grid: f64| self.modelled(grid).map_or(f64::NAN, |current| current - self.idle.si());
        match (healthy, root(LOWEST_GRID, 0.0, over)) {
            (Some(grid), Ok(modelled)) => modelled - grid,
            _ => 0.0,
        }
    }

    /// The anode current that the model gives at a grid voltage; none where there is no model.
    fn modelled(&self, grid: f64) -> Option<f64> {
        let model = self.model?.model;
        let volts = Volts { anode: self.anode.si(), screen: self.screen.si(), grid };
        let current = model.currents(volts).anode;
        current.is_finite().then_some(current)
    }

    fn cell(&self, grid: Option<f64>, shift: f64) -> String {
        let Some(grid) = grid else { return "floats: cannot be held".to_owned() };
        // The grid conducts near its cathode; how far above it is pulled is not known.
        let (said, grid) = if grid > -0.05 {
            (if grid > 0.5 { "0\u{a0}V or more" } else { "0\u{a0}V" }.to_owned(), 0.0)
        } else {
            (writing::nearest(grid, &VOLT), grid)
        };
        let Some(current) = self.modelled(grid + shift) else {
            return format!("{said}; current cannot be told");
        };
        let heat = current * self.anode.si();
        format!(
            "{said}, {}, {}{}",
            writing::engineering(current, &AMPERE, 2, writing::Rounding::Nearest),
            writing::engineering(heat, &WATT, 2, writing::Rounding::Nearest),
            self.until(heat)
        )
    }

    /// How long until the anode is over its rating.
    fn until(&self, heat: f64) -> String {
        let Some(limit) = self.anode_power.map(|limit| limit.value().si()) else { return String::new() };
        if heat <= limit {
            return String::new();
        }
        let idle = self.idle.si() * self.anode.si();
        if idle >= limit {
            return format!("; over {} as before", writing::repeated(limit, &WATT));
        }
        let time = WARMS * libm::log((heat - idle) / (heat - limit));
        format!(
            "; over {} in about {}",
            writing::repeated(limit, &WATT),
            writing::engineering(time, &SECOND, 1, writing::Rounding::Nearest)
        )
    }
}
