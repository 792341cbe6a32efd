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
use super::circuit::{Circuit, Place};
use super::network::{Build, Fault};
use super::ways::{At, ROWS, Row};
use crate::calculator::Table;
use crate::quantity::unit::{AMPERE, SECOND, VOLT, WATT};
use crate::quantity::{Quantity, Ratio, writing};
use crate::root::root;
use crate::valve::model::Volts;

/// As negative as a model is looked at, in V.
const LOWEST_GRID: f64 = -300.0;

/// How far the other side's bias must move to be said, in V.
const REACHES: f64 = 0.5;

/// How fast an anode warms, in s. From memory, to be confirmed.
const WARMS: f64 = 20.0;

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
        let healthy = self.healthy(circuit);
        let shift = self.shift(healthy);
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
            let share = match row.at {
                At::Here => circuit.law.share(self.knob),
                At::Mark(mark) => circuit.share(mark),
            };
            let cell = |place: &Option<Place>| {
                let build = self.build(circuit, share, row.fault, *place);
                let [grid, other] = build.grids();
                let said = self.cell(grid, shift);
                let stays = |other: f64| healthy.is_some_and(|healthy| (other - healthy).abs() < REACHES);
                if !build.reaches_over() || other.is_some_and(stays) {
                    return said;
                }
                let other = self.cell(other, shift);
                if other == said { said + "; all valves" } else { format!("{said}; the other side {other}") }
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
    pub(super) fn shift(&self, healthy: Option<f64>) -> f64 {
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

    pub(super) fn cell(&self, grid: Option<f64>, shift: f64) -> String {
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
