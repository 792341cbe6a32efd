//! The builder: parts are put in as the schematic is read.

use super::part::{Ends, Kind, Node, Part};
use super::signal::{Form, Signal};
use super::{CHASSIS, NetworkError};
use crate::quantity::{
    Capacitance, ElectricCurrent, ElectricPotential, ElectricalConductance, ElectricalResistance, Inductance,
    Quantity,
};
use crate::valve::model::Model;

/// A circuit. See the [module](super) for an example.
#[derive(Debug, Clone, Default)]
pub struct Network {
    pub(super) nodes: Vec<String>,
    pub(super) parts: Vec<Part>,
    /// What was wrong first.
    pub(super) problem: Option<NetworkError>,
}

/// Where a valve's pins go.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Pins<'n> {
    /// The node at its anode.
    pub anode: &'n str,
    /// Screen; a triode's model does not look at it.
    pub screen: &'n str,
    /// The node at its control grid.
    pub grid: &'n str,
    /// The node at its cathode.
    pub cathode: &'n str,
}

impl<'n> Pins<'n> {
    /// Of a triode, or of a pentode connected as one: its screen joined to its anode.
    #[must_use]
    pub const fn triode(anode: &'n str, grid: &'n str, cathode: &'n str) -> Self {
        Self { anode, screen: anode, grid, cathode }
    }
}

impl Network {
    /// A network without parts.
    #[must_use]
    pub fn new() -> Self {
        Self::default()
    }

    fn node(&mut self, name: &str) -> Node {
        if name == CHASSIS {
            return None;
        }
        let known = self.nodes.iter().position(|node| node == name);
        Some(known.unwrap_or_else(|| {
            self.nodes.push(name.to_owned());
            self.nodes.len() - 1
        }))
    }

    fn ends(&mut self, (first, second): (&str, &str)) -> Ends {
        (self.node(first), self.node(second))
    }

    /// Notes what is wrong, if nothing was before.
    fn note(&mut self, error: NetworkError) {
        self.problem.get_or_insert(error);
    }

    fn demand(&mut self, part: &str, (what, found, allowed): (&'static str, f64, &'static str), ok: bool) {
        if !ok {
            self.note(NetworkError::BadValue { part: part.to_owned(), what, found, allowed });
        }
    }

    fn put(&mut self, name: &str, kind: Kind) -> &mut Self {
        if self.parts.iter().any(|part| part.name == name) {
            self.note(NetworkError::Repeated { part: name.to_owned() });
        }
        self.parts.push(Part { name: name.to_owned(), kind });
        self
    }

    /// A resistor: `i = v / R`. 0 Ω is a wire, an infinite resistance an open path. Of wires side by side, the first
    /// carries the whole current.
    pub fn resistor(&mut self, name: &str, a: &str, b: &str, resistance: ElectricalResistance) -> &mut Self {
        let value = resistance.si();
        self.demand(name, ("resistance", value, "0 Ω or more; infinite is open"), value >= 0.0);
        let ends = self.ends((a, b));
        self.put(name, Kind::Resistor(ends, value))
    }

    /// A capacitor: `i = C dv/dt`. 0 F is an open path.
    pub fn capacitor(&mut self, name: &str, a: &str, b: &str, capacitance: Capacitance) -> &mut Self {
        let value = capacitance.si();
        self.demand(name, ("capacitance", value, "0 F or more"), value >= 0.0 && value.is_finite());
        let ends = self.ends((a, b));
        self.put(name, Kind::Capacitor(ends, value))
    }

    /// An inductor without resistance: `v = L di/dt`. See [`Network::winding`] for a real one.
    pub fn inductor(&mut self, name: &str, a: &str, b: &str, inductance: Inductance) -> &mut Self {
        self.winding(name, a, b, inductance, ElectricalResistance::of(0.0))
    }

    /// A winding: `v = L di/dt + R i`. [`Network::coupled`] couples two of them, so that a transformer is built from
    /// what was measured: each winding's inductance and resistance, and each pair's coupling.
    pub fn winding(
        &mut self,
        name: &str,
        a: &str,
        b: &str,
        inductance: Inductance,
        resistance: ElectricalResistance,
    ) -> &mut Self {
        let (l, r) = (inductance.si(), resistance.si());
        self.demand(name, ("inductance", l, "0 H or more"), l >= 0.0 && l.is_finite());
        self.demand(name, ("winding resistance", r, "0 Ω or more"), r >= 0.0 && r.is_finite());
        let ends = self.ends((a, b));
        self.put(name, Kind::Inductor(ends, l, r))
    }

    /// Couples two windings that were put in before: `M = k √(L₁ L₂)`. The end named first of each is the one with the dot. A coefficient of 1
    /// has no leakage; from a measured leakage inductance ℓ of the first (second shorted), `k = √(1 − ℓ/L₁)`.
    pub fn coupled(&mut self, name: &str, one: &str, other: &str, coefficient: f64) -> &mut Self {
        let ok = (-1.0..=1.0).contains(&coefficient);
        self.demand(name, ("coefficient of coupling", coefficient, "from −1 to 1"), ok);
        let is_winding = |kind: &Kind| matches!(kind, Kind::Inductor(..));
        let (one, other) = (self.place(one, "winding", is_winding), self.place(other, "winding", is_winding));
        match (one, other) {
            (Some(one), Some(other)) => {
                self.demand(name, ("coefficient of coupling", coefficient, "of two windings"), one != other);
                self.put(name, Kind::Coupling(one, other, coefficient))
            }
            _ => self,
        }
    }

    /// An ideal transformer: `v₁ = n v₂`, `i₂ = −n i₁`, with `n` turns of the primary for one of the secondary, at any
    /// frequency and at rest. It ties no voltage of one side to the other's: earth one end of each.
    pub fn ideal_transformer(
        &mut self,
        name: &str,
        primary: (&str, &str),
        secondary: (&str, &str),
        turns: f64,
    ) -> &mut Self {
        self.demand(
            name,
            ("ratio of turns", turns, "a number other than 0"),
            turns.is_finite() && turns != 0.0,
        );
        let (primary, secondary) = (self.ends(primary), self.ends(secondary));
        self.put(name, Kind::Transformer(primary, secondary, turns))
    }

    /// A voltage source. A supply that delivers has a negative current.
    pub fn voltage(
        &mut self,
        name: &str,
        plus: &str,
        minus: &str,
        signal: impl Into<Signal<ElectricPotential>>,
    ) -> &mut Self {
        let form = self.form(name, signal.into().form);
        let ends = self.ends((plus, minus));
        self.put(name, Kind::Voltage(ends, form))
    }

    /// A current source: its current leaves the network at `from` and comes back in at `to`.
    pub fn current(
        &mut self,
        name: &str,
        from: &str,
        to: &str,
        signal: impl Into<Signal<ElectricCurrent>>,
    ) -> &mut Self {
        let form = self.form(name, signal.into().form);
        let ends = self.ends((from, to));
        self.put(name, Kind::Current(ends, form))
    }

    fn form(&mut self, name: &str, form: Form) -> Form {
        if let Some(wrong) = form.wrong() {
            self.demand(name, wrong, false);
        }
        form
    }

    /// A voltage source that follows a voltage: `v(out) = gain · v(in)`.
    pub fn voltage_by_voltage(
        &mut self,
        name: &str,
        out: (&str, &str),
        input: (&str, &str),
        gain: f64,
    ) -> &mut Self {
        self.demand(name, ("gain", gain, "a number"), gain.is_finite());
        let (out, input) = (self.ends(out), self.ends(input));
        self.put(name, Kind::VoltageByVoltage(out, input, gain))
    }

    /// A current source that follows a voltage: `g · v(in)` flows from `out.0` through the source to `out.1`.
    pub fn current_by_voltage(
        &mut self,
        name: &str,
        out: (&str, &str),
        input: (&str, &str),
        conductance: ElectricalConductance,
    ) -> &mut Self {
        let g = conductance.si();
        self.demand(name, ("conductance", g, "a number"), g.is_finite());
        let (out, input) = (self.ends(out), self.ends(input));
        self.put(name, Kind::CurrentByVoltage(out, input, g))
    }

    /// A voltage source that follows the current through the voltage source `through`, put in before: `v(out) = r · i`.
    /// A source of 0 V measures a current without changing it.
    pub fn voltage_by_current(
        &mut self,
        name: &str,
        out: (&str, &str),
        through: &str,
        resistance: ElectricalResistance,
    ) -> &mut Self {
        let r = resistance.si();
        self.demand(name, ("resistance", r, "a number"), r.is_finite());
        let out = self.ends(out);
        match self.place(through, "voltage source", |kind| matches!(kind, Kind::Voltage(..))) {
            Some(source) => self.put(name, Kind::VoltageByCurrent(out, source, r)),
            None => self,
        }
    }

    /// A current source that follows the current through the voltage source `through`, put in before: `gain · i` flows from `out.0`
    /// through the source to `out.1`.
    pub fn current_by_current(
        &mut self,
        name: &str,
        out: (&str, &str),
        through: &str,
        gain: f64,
    ) -> &mut Self {
        self.demand(name, ("gain", gain, "a number"), gain.is_finite());
        let out = self.ends(out);
        match self.place(through, "voltage source", |kind| matches!(kind, Kind::Voltage(..))) {
            Some(source) => self.put(name, Kind::CurrentByCurrent(out, source, gain)),
            None => self,
        }
    }

    /// A diode (Shockley): `i = Is (exp(v / (n V_T)) − 1)`, with `V_T = kT/q` at 27 °C, and [`super::GMIN`] across it.
    /// No breakdown, no series resistance, no capacitance: put them in as parts.
    pub fn diode(
        &mut self,
        name: &str,
        anode: &str,
        cathode: &str,
        saturation: ElectricCurrent,
        ideality: f64,
    ) -> &mut Self {
        let is = saturation.si();
        self.demand(name, ("saturation current", is, "above 0 A, at most 1 A"), is > 0.0 && is <= 1.0);
        self.demand(name, ("ideality", ideality, "from 0.1 to 100"), (0.1..=100.0).contains(&ideality));
        let ends = self.ends((anode, cathode));
        self.put(name, Kind::Diode(ends, is, ideality))
    }

    /// A valve by its published model ([`crate::valve::model`]). No grid current flows unless [`Network::grid_current`]
    /// is put in, and no capacitance unless capacitors are.
    pub fn valve(&mut self, name: &str, pins: Pins<'_>, model: Model) -> &mut Self {
        let at_rest = model.currents(crate::valve::model::Volts { anode: 1.0, screen: 1.0, grid: 0.0 });
        let sum = at_rest.anode + at_rest.screen;
        self.demand(name, ("model current at 1 V", sum, "a number"), sum.is_finite());
        let pins = [pins.anode, pins.screen, pins.grid, pins.cathode].map(|pin| self.node(pin));
        self.put(name, Kind::Valve(pins, model))
    }

    /// The grid's conduction as published valve libraries have it: a diode of 1 nA (n = 1) behind 2 kΩ, so that current
    /// begins to matter some 0.3 V above the cathode (source `grid-diode`). An estimate: real grids begin about a volt
    /// earlier and differ by make. The parts are called `NAME resistor` and `NAME diode`.
    pub fn grid_current(&mut self, name: &str, grid: &str, cathode: &str) -> &mut Self {
        let inside = format!("{name} inside");
        self.resistor(&format!("{name} resistor"), grid, &inside, ElectricalResistance::of(2e3));
        self.diode(&format!("{name} diode"), &inside, cathode, ElectricCurrent::of(1e-9), 1.0)
    }

    /// The place of a part that another refers to; notes it where there is none.
    fn place(&mut self, name: &str, kind: &'static str, fits: impl Fn(&Kind) -> bool) -> Option<usize> {
        let found = self.parts.iter().position(|part| part.name == name && fits(&part.kind));
        if found.is_none() {
            let names = self.parts.iter().filter(|part| fits(&part.kind)).map(|part| part.name.as_str());
            let error = unknown(kind, name, names);
            self.note(error);
        }
        found
    }

    /// The node with this name.
    pub(super) fn node_called(&self, name: &str) -> Result<Node, NetworkError> {
        if name == CHASSIS {
            return Ok(None);
        }
        let found = self.nodes.iter().position(|node| node == name);
        found.map(Some).ok_or_else(|| unknown("node", name, self.nodes.iter().map(String::as_str)))
    }

    /// The part with this name.
    pub(super) fn part_called(&self, name: &str) -> Result<(usize, &Part), NetworkError> {
        let mut parts = self.parts.iter().enumerate();
        parts
            .find(|(_, part)| part.name == name)
            .ok_or_else(|| unknown("part", name, self.parts.iter().map(|part| part.name.as_str())))
    }
}

fn unknown<'n>(kind: &'static str, name: &str, names: impl IntoIterator<Item = &'n str>) -> NetworkError {
    let nearest = crate::nearest(name, names).map(str::to_owned);
    NetworkError::Unknown { kind, name: name.to_owned(), nearest }
}
