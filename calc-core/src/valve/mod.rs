//! Valves as their data sheets give them. The table is `data/valves.toml`; every figure carries its source.

pub mod curves;
pub mod fit;
mod fitted;
pub mod margin;
pub mod model;
mod particulars;
mod triode;

use std::marker::PhantomData;

pub use fitted::{Fitted, Reach, Residual, SheetRow, began, fitted, residuals};
pub use particulars::{Base, Electrode, LOOKALIKES, Lookalike, Particulars, Pin, particulars, pins};
pub use triode::{Drawn, Line, Slopes, Triode, ask_triode};

use crate::calculator::{Ask, Limit};
use crate::quantity::{
    Capacitance, ElectricCurrent, ElectricPotential, ElectricalResistance, Power, Quantity, writing,
};
use crate::source::{Source, TYPED, Trust};

/// In which sense a limit is meant: the two systems differ by a tenth or so, and must not be mixed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum System {
    /// For an average valve at nominal mains: leaves room for the spread of both.
    DesignCentre,
    /// For an average valve under the worst probable mains and circuit: leaves room for the valve only.
    DesignMaximum,
    /// Never to be passed, whatever the valve, mains and circuit.
    AbsoluteMaximum,
    /// The data sheet does not say.
    NotStated,
}

impl System {
    /// What the reader is told beside the limit.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::DesignCentre => "design centre",
            Self::DesignMaximum => "design maximum",
            Self::AbsoluteMaximum => "absolute maximum",
            Self::NotStated => "rating system not stated",
        }
    }

    /// What a limit of this system promises.
    #[must_use]
    pub const fn promise(self) -> &'static str {
        match self {
            Self::DesignCentre => {
                "for an average valve at nominal mains: it leaves room for the spread of valves and mains"
            }
            Self::DesignMaximum => {
                "for an average valve under the worst likely mains and circuit: it leaves room for the spread of valves only"
            }
            Self::AbsoluteMaximum => "never to be passed, whatever the valve, the mains and the circuit",
            Self::NotStated => {
                "the rating system is not stated; treat it as a design maximum, at the highest mains voltage too"
            }
        }
    }
}

/// A figure as it was published, with its unit and its source.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Figure<Q> {
    si: f64,
    /// The rating system it is meant in.
    pub system: System,
    /// Where it was published; its kind decides how surely a verdict may lean on it.
    pub source: &'static Source,
    /// Where collections disagree, and how it was settled; may be empty.
    pub note: &'static str,
    quantity: PhantomData<Q>,
}

impl<Q: Quantity> Figure<Q> {
    const fn new(si: f64, system: System, source: &'static Source, note: &'static str) -> Self {
        Self { si, system, source, note, quantity: PhantomData }
    }

    /// A figure that the reader typed from a sheet.
    fn typed(value: Q) -> Self {
        Self::new(value.si(), System::NotStated, &TYPED, "")
    }

    /// The figure without its source, in its own quantity.
    #[must_use]
    pub fn value(&self) -> Q {
        Q::of(self.si)
    }

    /// The figure as a limit to judge by.
    #[must_use]
    pub fn limit(&self) -> Limit {
        Limit::new(self.value(), self.system.words(), self.source)
    }

    /// The figure as a limit in a sentence, with its origin: `100 kΩ for the 6L6GC (not yet confirmed)`. `name` is
    /// the valve's, or that of the data sheet which the reader typed it from.
    #[must_use]
    pub fn said_of(&self, name: &str) -> String {
        let value = writing::repeated(self.si, Q::UNIT);
        let origin = self.source.origin();
        if self.source.trust == Trust::Reader {
            return format!("{value} ({origin} from “{name}”)");
        }
        format!("{value} for the {name} ({origin})")
    }
}

/// What a valve is inside.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// Three grids, the third at the cathode's voltage.
    Pentode,
    /// Two grids and beam plates.
    BeamTetrode,
    /// One grid, and so no screen.
    Triode,
}

impl Kind {
    /// What the trade calls it.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Pentode => "pentode",
            Self::BeamTetrode => "beam tetrode",
            Self::Triode => "triode",
        }
    }
}

/// A valve's published limits; what nobody published is absent.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limits {
    /// Anode to cathode, direct.
    pub anode_voltage: Option<Figure<ElectricPotential>>,
    /// Screen to cathode, direct.
    pub screen_voltage: Option<Figure<ElectricPotential>>,
    /// Heat of the anode.
    pub anode_power: Option<Figure<Power>>,
    /// Heat of the screen.
    pub screen_power: Option<Figure<Power>>,
    /// The highest direct cathode current.
    pub cathode_current: Option<Figure<ElectricCurrent>>,
    /// Direct resistance from one grid to the cathode, with fixed bias.
    pub grid_circuit_fixed: Option<Figure<ElectricalResistance>>,
    /// The same with cathode bias.
    pub grid_circuit_self: Option<Figure<ElectricalResistance>>,
    /// The highest voltage between heater and cathode, either way.
    pub heater_cathode: Option<Figure<ElectricPotential>>,
}

/// A valve's published capacitances, cold.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Capacitances {
    /// Control grid to everything but the anode: of a pentode the data sheet's “input”, of a triode grid to cathode.
    pub grid: Option<Figure<Capacitance>>,
    /// Control grid to anode, which the stage's gain multiplies.
    pub anode_grid: Option<Figure<Capacitance>>,
}

/// A valve of the table.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Valve {
    /// Its type number, as `6L6GC`; by it links and inputs name the valve.
    pub name: &'static str,
    /// Other type numbers of the same valve.
    pub also: &'static [&'static str],
    /// What it is inside.
    pub kind: Kind,
    /// Its published limits; `None` is what nobody published.
    pub limits: Limits,
    /// Its published capacitances between electrodes, without the socket’s.
    pub capacitances: Capacitances,
}

impl Valve {
    /// Whether it is an output valve: one with a screen and a published anode rating to match.
    #[must_use]
    pub fn is_output(&self) -> bool {
        self.kind != Kind::Triode && self.limits.anode_power.is_some_and(|heat| heat.si > 5.0)
    }

    /// Its type number and the others it goes by: `EL34, 6CA7`.
    #[must_use]
    pub fn label(&self) -> String {
        [&[self.name], self.also].concat().join(", ")
    }
}

include!(concat!(env!("OUT_DIR"), "/valves.rs"));

/// The limits an output stage is judged by, from the table or typed from a sheet.
#[derive(Debug, Clone, PartialEq)]
pub struct Ratings {
    /// Type number, or the name of the sheet.
    pub name: String,
    /// What it is inside; `None` where the reader typed it from a sheet.
    pub kind: Option<Kind>,
    /// Heat of the anode.
    pub anode_power: Option<Figure<Power>>,
    /// Heat of the screen.
    pub screen_power: Option<Figure<Power>>,
    /// Anode to cathode, direct.
    pub anode_voltage: Option<Figure<ElectricPotential>>,
    /// Screen to cathode, direct.
    pub screen_voltage: Option<Figure<ElectricPotential>>,
}

/// Output valves of the table: those whose anode rating is published and that have a screen.
fn output_valves() -> impl Iterator<Item = &'static Valve> {
    VALVES.iter().filter(|valve| valve.is_output())
}

/// Asks which output valve it is; `None` is another, to be typed from its sheet.
fn ask_type(
    ask: &mut Ask,
    id: &'static str,
    name: &'static str,
    default: &'static str,
) -> Option<&'static Valve> {
    let listed = || {
        let typed = ("typed".to_owned(), "another, from its data sheet".to_owned());
        output_valves().map(|valve| (valve.name.to_owned(), valve.label())).chain([typed]).collect()
    };
    let at = ask.one_of(id, name, "", default, &listed);
    output_valves().nth(at)
}

/// Asks which output valve it is; one that is not in the table is typed from its sheet.
pub fn ask_output_valve(ask: &mut Ask, default: &'static str) -> Ratings {
    if let Some(Valve { name, kind, limits, .. }) = ask_type(ask, "valve", "Output valve", default) {
        return Ratings {
            name: (*name).to_owned(),
            kind: Some(*kind),
            anode_power: limits.anode_power,
            screen_power: limits.screen_power,
            anode_voltage: limits.anode_voltage,
            screen_voltage: limits.screen_voltage,
        };
    }
    let name = ask.words("sheet", "Which data sheet", "Type number, maker, date.", "another valve");
    let anode = ask
        .quantity("anode-rating", "P_a,max", "Rated anode dissipation", "30 W")
        .within("0.1 W", "500 W")
        .get();
    let screen = ask
        .quantity("screen-rating", "P_g2,max", "Rated screen dissipation", "5 W")
        .within("0.05 W", "100 W")
        .get();
    Ratings {
        name,
        kind: None,
        anode_power: Some(Figure::typed(anode)),
        screen_power: Some(Figure::typed(screen)),
        anode_voltage: None,
        screen_voltage: None,
    }
}

/// What a data sheet allows as direct resistance from one valve's grid to its cathode, from the table or typed.
#[derive(Debug, Clone, PartialEq)]
pub struct GridCircuit {
    /// Type number, or the name of the sheet.
    pub name: String,
    /// The highest resistance of the grid circuit with fixed bias.
    pub fixed: Option<Figure<ElectricalResistance>>,
    /// With cathode bias, where the cathode resistor corrects a part of what the grid current does: mostly higher.
    pub cathode: Option<Figure<ElectricalResistance>>,
}

/// The fields that ask for one [`GridCircuit`]: each an id and a name, so that a page may ask for two.
pub struct GridCircuitFields {
    /// Id and label of the field that asks for the valve.
    pub valve: (&'static str, &'static str),
    /// Which data sheet the limits are typed from.
    pub sheet: (&'static str, &'static str),
    /// The limit with fixed bias.
    pub fixed: (&'static str, &'static str),
    /// The limit with cathode bias.
    pub cathode: (&'static str, &'static str),
}

/// Asks which output valve it is, for its grid-circuit limits; those of one that is not in the table are typed.
pub fn ask_grid_circuit(ask: &mut Ask, fields: &GridCircuitFields, default: &'static str) -> GridCircuit {
    let (id, name) = fields.valve;
    if let Some(Valve { name, limits, .. }) = ask_type(ask, id, name, default) {
        return GridCircuit {
            name: (*name).to_owned(),
            fixed: limits.grid_circuit_fixed,
            cathode: limits.grid_circuit_self,
        };
    }
    let (id, name) = fields.sheet;
    let name = ask.words(id, name, "Type number, maker, date.", "another valve");
    let mut typed = |(id, name), default| {
        let limit = ask.quantity(id, "R_g1,max", name, default).within("1k", "100M").get();
        Some(Figure::typed(limit))
    };
    GridCircuit { name, fixed: typed(fields.fixed, "100k"), cathode: typed(fields.cathode, "500k") }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_table_has_the_valves_that_guitar_amplifiers_have() {
        for name in ["EL34", "EL84", "6L6GC", "5881", "6V6GT", "6550", "KT66", "KT77", "KT88"] {
            assert!(output_valves().any(|valve| valve.name.starts_with(name)), "{name} is missing");
        }
    }
}
