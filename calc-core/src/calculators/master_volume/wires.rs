//! The wires, one by one: from where to where, what each must withstand, and what happens if it opens. The drawing of the
//! wiring numbers them in this order, and the table is the list that one ticks while soldering.

use super::MasterVolume;
use super::circuit::{Circuit, Place, Topology};
use super::failure_modes::ROWS;
use super::network::Fault;
use crate::calculator::Table;
use crate::quantity::unit::{CENTIMETRE, VOLT};
use crate::quantity::{Quantity, writing};

/// The two sides of the stage.
pub(super) const SIDES: [&str; 2] = ["A", "B"];

/// What usual hook-up wire is rated for, in V: nothing here is asked to be less.
const USUAL: f64 = 600.0;

/// Which wire it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Kind {
    /// From the coupling capacitor to the hot lug.
    Hot,
    /// From the hot lug to the wiper's, of a rheostat.
    Tie,
    /// The screened lead to the grid's side: from the wiper's lug, or from the low one to side B of a control across the grids.
    Lead,
    /// Between the low lugs.
    Jumper,
    /// From the low lugs to the bias node or to chassis.
    Feed,
    /// From a fail-safe resistor to the bias node.
    Safe,
}

/// A wire that is soldered in: what it joins, and on which side.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Wire {
    pub(super) kind: Kind,
    /// Which side, as an index into [`SIDES`]; of what belongs to both, the first.
    pub(super) side: usize,
}

impl MasterVolume {
    /// All wires, in the order of their numbers, the first of which is 1.
    pub(super) fn wires(&self) -> Vec<Wire> {
        let both = |kind: Kind| (0..SIDES.len()).map(move |side| Wire { kind, side });
        let one = |kind: Kind| Wire { kind, side: 0 };
        let bridge = self.topology == Topology::Bridge;
        let mut wires = Vec::new();
        if self.topology.is_divider() {
            wires.extend(both(Kind::Hot));
        } else if bridge {
            wires.push(one(Kind::Tie));
        } else {
            wires.extend(both(Kind::Tie));
        }
        wires.extend(both(Kind::Lead));
        if !bridge {
            wires.extend([one(Kind::Jumper), one(Kind::Feed)]);
        }
        if matches!(self.safe, Some((Place::Socket | Place::Tag, _))) {
            wires.extend(both(Kind::Safe));
        }
        wires
    }

    /// The number of a wire; none where the circuit has no such wire.
    pub(super) fn number_of(&self, wire: Wire) -> Option<usize> {
        Some(self.wires().iter().position(|known| *known == wire)? + 1)
    }

    /// The list of wires, to tick.
    pub(super) fn wire_list(&self, circuit: &Circuit) -> Table {
        let shift = self.shift(self.healthy(circuit));
        let rows = (1..).zip(self.wires()).map(|(number, wire)| {
            vec![
                format!("☐\u{a0}{number}"),
                self.ends(wire),
                self.withstands(wire),
                self.opened(wire, circuit, shift),
            ]
        });
        Table {
            title: "The wires, to tick; with the grid of the side at fault if one opens".to_owned(),
            head: ["Wire", "From – to", "Insulation", "If it opens"].map(str::to_owned).to_vec(),
            rows: rows.collect(),
        }
    }

    fn ends(&self, Wire { kind, side }: Wire) -> String {
        let side = SIDES[side];
        let length = writing::nearest(self.lead.length, &CENTIMETRE);
        let lug = |lug: &str| match self.topology {
            Topology::Bridge => format!("{lug} lug"),
            _ => format!("{lug} lug {side}"),
        };
        match (kind, self.topology) {
            (Kind::Hot, _) => format!("coupling capacitor {side} – {}", lug("hot")),
            (Kind::Tie, _) => format!("{} – {}", lug("hot"), lug("wiper")),
            (Kind::Lead, Topology::Divider) => {
                format!("{} – stopper {side}: screened, {length}", lug("wiper"))
            }
            (Kind::Lead, Topology::Chassis) => {
                format!("{} – second coupling capacitor {side}: screened, {length}", lug("wiper"))
            }
            (Kind::Lead, Topology::Bridge) => {
                let lug = if side == SIDES[0] { "wiper lug" } else { "low lug" };
                format!("{lug} – coupling capacitor, leak and stopper {side}: screened, {length}")
            }
            (Kind::Lead, Topology::Across) => {
                format!("{} – coupling capacitor, leak and stopper {side}: screened, {length}", lug("wiper"))
            }
            (Kind::Lead, Topology::Instead) => {
                format!("{} – coupling capacitor and stopper {side}: screened, {length}", lug("wiper"))
            }
            (Kind::Jumper, _) => "low lug A – low lug B".to_owned(),
            (Kind::Feed, Topology::Chassis) => "low lug B – chassis, beside the inverter’s".to_owned(),
            (Kind::Feed, _) => "low lug B – bias node".to_owned(),
            (Kind::Safe, _) if self.valves > 1 && matches!(self.safe, Some((Place::Tag, _))) => {
                format!("fail-safe resistor of each valve, {side} – bias node")
            }
            (Kind::Safe, _) => format!("fail-safe resistor {side} – bias node"),
        }
    }

    fn withstands(&self, Wire { kind, .. }: Wire) -> String {
        let highest = (self.unloaded.si() - self.bias.si()).max(USUAL);
        match kind {
            Kind::Tie => "bare, sleeved with its lugs".to_owned(),
            Kind::Jumper => "tinned copper, sleeved".to_owned(),
            Kind::Lead => format!(
                "core to screen {}; jacket {}, 80\u{a0}°C",
                writing::nearest(highest, &VOLT),
                writing::nearest(USUAL / 2.0, &VOLT)
            ),
            Kind::Hot | Kind::Feed | Kind::Safe => writing::nearest(highest, &VOLT),
        }
    }

    /// What the grid of that side comes to, and what one notices.
    fn opened(&self, Wire { kind, .. }: Wire, circuit: &Circuit, shift: f64) -> String {
        let share = circuit.law.share(self.knob);
        let place = circuit.safe.map(|(place, _)| place);
        let fault = match kind {
            Kind::Hot => return self.quiet(circuit, shift, "that side silent"),
            Kind::Tie => {
                let said = "nothing, until the wiper lifts: then nothing is left of that rheostat";
                return self.quiet(circuit, shift, said);
            }
            Kind::Safe => {
                let said = "nothing at once; the next fault then finds no resistor there";
                return self.quiet(circuit, shift, said);
            }
            Kind::Lead => Fault::Lead,
            Kind::Jumper => Fault::Jumper,
            Kind::Feed => Fault::Feed,
        };
        let grid = self.build(circuit, share, Some(fault), place).grid();
        let row = ROWS.iter().find(|row| row.fault == Some(fault) && (row.in_)(self.topology));
        let notice = row.map_or("", |row| (row.notice)(self.topology));
        format!("{}. {notice}", self.cell(grid, shift))
    }

    /// Where the grid stays as it was.
    fn quiet(&self, circuit: &Circuit, shift: f64, said: &str) -> String {
        format!("{}: {said}.", self.cell(self.healthy(circuit), shift))
    }
}
