//! The amplifier of a row of the table of faults, wired as the pages describe it: lug by lug, every valve its own, with every
//! wire a part that can be left out or end at another lug. A fault does that to it, and nothing else.

use std::fmt::Write;

/// A wire, in Ω: little beside an end resistance of 1 Ω.
const WIRE: f64 = 1e-3;

/// What is typed, in SI units.
#[derive(Clone, Debug)]
pub struct Values {
    pub topology: &'static str,
    pub knob: f64,
    pub law: &'static str,
    pub centre: f64,
    pub dead: f64,
    pub track: f64,
    pub end: f64,
    pub place: &'static str,
    pub safe: f64,
    pub inverter: f64,
    pub inverter_voltage: f64,
    pub leak: f64,
    pub stopper: f64,
    pub valve: &'static str,
    pub valves: u32,
    pub anode: f64,
    pub screen: f64,
    pub idle: f64,
    pub bias: f64,
    pub bias_source: f64,
    pub grid_current: f64,
}

/// Where a shaft that turns through this many degrees is dead for `dead` of them at each end.
const ANGLE: f64 = 300.0;

impl Values {
    /// The share of the track below the wiper, by the page on the law of a control: straight pieces that meet half way.
    fn share(&self, knob: f64) -> f64 {
        let (turned, live) = (knob / 10.0, self.dead / ANGLE);
        let half = match self.law {
            "linear" => 0.5,
            "reverse" => 1.0 - self.centre,
            _ => self.centre,
        };
        if turned <= 0.5 {
            (turned - live).max(0.0) / (0.5 - live) * half
        } else {
            half + ((turned - 0.5) / (0.5 - live)).min(1.0) * (1.0 - half)
        }
    }

    pub fn is_divider(&self) -> bool {
        matches!(self.topology, "divider" | "chassis")
    }

    /// Whether a fail-safe resistor has a place here.
    pub fn takes_safe(&self) -> bool {
        matches!(self.topology, "divider" | "instead")
    }
}

/// What a row does to side A.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Fault {
    None,
    Contact,
    ContactUntied,
    LowEnd,
    Jumper,
    Feed,
    Gang,
    Lead,
    Stopper,
    Screen,
    Body,
    OuterLugs,
    WiperAndHot,
    WiperAndLow,
    Capacitor(f64),
    Second(f64),
    Gas(f64),
    Board(f64),
}

/// What the name of a row says happened, and where the knob stands.
pub fn of_row(name: &str, knob: f64) -> (Fault, f64) {
    let (what, knob) = match name.rsplit_once(", knob at ") {
        Some((what, mark)) => (what, mark.parse().expect("a mark of the knob")),
        None => (name, knob),
    };
    let fault = match what {
        // The leads to the grids swapped: no direct voltage changes.
        "Nothing wrong" | "Leads to the two grids swapped" => Fault::None,
        "Wiper lifted" => Fault::Contact,
        "Wiper lifted that is not tied to its end lug" => Fault::ContactUntied,
        "Low end of the track open" => Fault::LowEnd,
        "Jumper between the low lugs open, or the wire at one of them" => Fault::Jumper,
        "Feed to the low lugs open" => Fault::Feed,
        "One gang open from end to end" => Fault::Gang,
        "Wiper lead open" => Fault::Lead,
        "Stopper open" => Fault::Stopper,
        "Screen of the lead on chassis" => Fault::Screen,
        "Wiper, or the track beside it, on an earthed body" => Fault::Body,
        "Outer lugs of one gang swapped" => Fault::OuterLugs,
        "Wiper and hot lug of one gang swapped" => Fault::WiperAndHot,
        "Wiper and low lug of one gang swapped" => Fault::WiperAndLow,
        "Coupling capacitor leaks 10 MΩ" => Fault::Capacitor(10e6),
        "Coupling capacitor shorted" => Fault::Capacitor(0.1),
        "Second coupling capacitor leaks 10 MΩ" => Fault::Second(10e6),
        "Second coupling capacitor shorted" => Fault::Second(0.1),
        "Scratch as the knob turns: a leak of 1 GΩ" => Fault::Capacitor(1e9),
        "A gassy valve, 10 µA out of its grid" => Fault::Gas(10e-6),
        "Wet or fluxed board, 50 MΩ from the HT to the grid" => Fault::Board(50e6),
        _ => panic!("a row that this test does not know: {name}"),
    };
    (fault, knob)
}

/// A netlist that holds many circuits beside each other.
pub struct Netlist {
    pub text: String,
    parts: usize,
    circuits: usize,
}

/// One circuit of a netlist, by the beginning of its nodes' names.
pub struct Wired(String);

impl Wired {
    /// The node of the first grid of a side, as ngspice calls it.
    pub fn grid(&self, side: char) -> String {
        format!("{}grid{side}1", self.0).to_lowercase()
    }
}

/// What one circuit is wired from.
struct Bench<'n, 'v> {
    net: &'n mut Netlist,
    v: &'v Values,
    name: String,
    fault: Fault,
    knob: f64,
    place: &'v str,
}

impl Netlist {
    pub fn new() -> Self {
        // What nothing holds drifts to where a grid's current takes it through this: far beyond any supply.
        let text = "Faults of a master volume\n.options rshunt=1e12 reltol=1e-6 gmin=1e-15\n".to_owned();
        Self { text, parts: 0, circuits: 0 }
    }

    /// Adds a circuit; `conducts` lets each grid of side A conduct where it is pulled above its cathode.
    pub fn add(&mut self, v: &Values, row: (Fault, f64), place: &str, conducts: bool) -> Wired {
        self.circuits += 1;
        let name = format!("c{}_", self.circuits);
        let (fault, knob) = row;
        let mut bench = Bench { net: self, v, name: name.clone(), fault, knob, place };
        bench.wire_all(conducts);
        Wired(name)
    }

    /// The netlist with an operating point, written to `point.raw`.
    pub fn with_operating_point(&self) -> String {
        format!("{}.control\nset filetype=ascii\nop\nwrite point.raw\n.endc\n.end\n", self.text)
    }
}

impl Bench<'_, '_> {
    fn part(&mut self, kind: char, a: &str, b: &str, value: f64) {
        self.net.parts += 1;
        let node = |node: &str| if node == "0" { node.to_owned() } else { format!("{}{node}", self.name) };
        let (number, a, b) = (self.net.parts, node(a), node(b));
        writeln!(self.net.text, "{kind}{number} {a} {b} {value:e}").expect("text can be written to");
    }

    fn resistor(&mut self, a: &str, b: &str, ohms: f64) {
        self.part('R', a, b, ohms.max(WIRE));
    }

    fn wire(&mut self, a: &str, b: &str, whole: bool) {
        if whole {
            self.part('R', a, b, WIRE);
        }
    }

    fn wire_all(&mut self, conducts: bool) {
        let (v, fault) = (self.v, self.fault);
        self.part('V', "supply", "0", v.bias);
        self.resistor("supply", "bias", v.bias_source);
        // Only a divider on the bias feed and rheostats onto it have their screens at the bias.
        let screened = matches!(v.topology, "divider" | "across" | "instead");
        self.wire("bias", "0", fault == Fault::Screen && screened);
        let low_end = if v.topology == "chassis" { "0" } else { "bias" };
        self.wire("lowlugs", low_end, fault != Fault::Feed && v.topology != "bridge");
        self.side('A', fault);
        self.side('B', Fault::None);
        if v.topology == "bridge" {
            self.control(("A", "socketA", "socketB"), fault);
        }
        for valve in (1..=v.valves).filter(|_| conducts) {
            let (name, number) = (&self.name, self.net.parts);
            let text = format!(
                "Bconducts{number}_{valve} {name}gridA{valve} 0 I={{100*max(v({name}gridA{valve}),0)}}"
            );
            writeln!(self.net.text, "{text}").expect("text can be written to");
        }
    }

    /// The track with its three lugs, hot, wiper and low, and what touches them. Of a rheostat, from `start` to `end`, the
    /// wiper is tied to the lug where it starts.
    fn track(&mut self, side: &str, fault: Fault) {
        let share = self.v.share(self.knob);
        let [hot, wiper, low, point] = ["hot", "wiper", "low", "point"].map(|lug| format!("{lug}{side}"));
        if fault != Fault::Gang {
            self.resistor(&hot, &point, (1.0 - share) * self.v.track);
        }
        if !matches!(fault, Fault::Gang | Fault::LowEnd) {
            self.resistor(&point, &low, share * self.v.track + self.v.end);
        }
        self.wire(&point, &wiper, !matches!(fault, Fault::Contact | Fault::ContactUntied));
        self.wire(&wiper, "0", fault == Fault::Body);
    }

    /// A rheostat between two nodes.
    fn control(&mut self, (side, start, end): (&str, &str, &str), fault: Fault) {
        self.track(side, fault);
        let [hot, wiper, low] = ["hot", "wiper", "low"].map(|lug| format!("{lug}{side}"));
        let (first, last) = if fault == Fault::OuterLugs { (low, hot) } else { (hot, low) };
        if fault == Fault::ContactUntied {
            self.wire(start, &wiper, true);
        } else {
            self.wire(start, &first, fault != Fault::Lead);
            self.wire(&first, &wiper, true);
        }
        self.wire(&last, end, fault != Fault::Jumper);
        if self.place == "pot" && self.v.takes_safe() {
            self.resistor(&wiper, &last, self.v.safe);
        }
    }

    /// A divider's lugs, and the wires that go there: from the capacitor, to the grid, to the low lugs.
    fn divider(&mut self, side: &str, fault: Fault) -> String {
        self.track(side, fault);
        let [hot, wiper, low, lead] = ["hot", "wiper", "low", "lead"].map(|lug| format!("{lug}{side}"));
        let (signal, grid, end) = match fault {
            Fault::OuterLugs => (&low, &wiper, &hot),
            Fault::WiperAndHot => (&wiper, &hot, &low),
            Fault::WiperAndLow => (&hot, &low, &wiper),
            _ => (&hot, &wiper, &low),
        };
        self.wire(&format!("capacitor{side}"), signal, true);
        self.wire(grid, &lead, fault != Fault::Lead);
        self.wire(end, "lowlugs", fault != Fault::Jumper);
        if self.place == "pot" && self.v.takes_safe() {
            // From the wiper's lug to the low one, whichever of them the wires went to.
            self.resistor(&wiper, if end == &wiper { &low } else { end }, self.v.safe);
        }
        lead
    }

    fn side(&mut self, side: char, fault: Fault) {
        let v = self.v;
        let side_name = side.to_string();
        let [drive, anode, capacitor, socket] =
            ["drive", "anode", "capacitor", "socket"].map(|node| format!("{node}{side}"));
        self.part('V', &drive, "0", v.inverter_voltage);
        self.resistor(&drive, &anode, v.inverter);
        self.part('C', &anode, &capacitor, 1e-7);
        if let Fault::Capacitor(leak) = fault {
            self.resistor(&anode, &capacitor, leak);
        }
        if v.is_divider() {
            let lead = self.divider(&side_name, fault);
            if v.topology == "chassis" {
                self.part('C', &lead, &socket, 1e-7);
                if let Fault::Second(leak) = fault {
                    self.resistor(&lead, &socket, leak);
                }
            } else {
                self.wire(&lead, &socket, true);
            }
        } else {
            self.wire(&capacitor, &socket, true);
            if v.topology != "bridge" {
                self.control((&side_name, &socket, "lowlugs"), fault);
            }
        }
        if matches!(v.topology, "across" | "bridge" | "chassis") {
            self.resistor(&socket, "bias", v.leak);
        }
        if self.place == "socket" && v.takes_safe() {
            self.resistor(&socket, "bias", v.safe);
        }
        for valve in 1..=v.valves {
            let (grid, first) = (format!("grid{side}{valve}"), valve == 1);
            if !(first && fault == Fault::Stopper) {
                self.resistor(&socket, &grid, v.stopper);
            }
            if self.place == "tag" && v.takes_safe() {
                self.resistor(&grid, "bias", v.safe);
            }
            let drawn = match fault {
                Fault::Gas(current) if first => current,
                _ => v.grid_current,
            };
            self.part('I', "0", &grid, drawn);
            if let Fault::Board(leak) = fault
                && first
            {
                self.part('V', "ht", "0", v.anode);
                self.resistor("ht", &grid, leak);
            }
        }
    }
}
