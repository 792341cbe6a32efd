//! What each way of failing does: the grid's voltage from the network, the valve's current from its model, the heat, and
//! how long until it is over the rating.
//!
//! ```text
//! t = τ ln((P − P_0) / (P − P_max))       an anode that warms with one time constant τ, from idle; an estimate
//! I ≤ I_0 + (1 + k_g) (1 + k_w) (I_model − I_0)      at the most: the margins of slope of valve/margin.rs
//! ```
//!
//! Units: V, A, W, s. Errors: none; a grid that nothing holds has no voltage: it
//! is said to float, never given a number.

use super::MasterVolume;
use super::circuit::{Circuit, Place};
use super::failure_modes::{At, ROWS, Row};
use super::network::{Build, Fault};
use crate::calculator::Table;
use crate::numeric::root::root;
use crate::quantity::unit::{AMPERE, PER_CENT, SECOND, VOLT, WATT};
use crate::quantity::{Quantity, Ratio, writing};
use crate::valve::Fitted;
use crate::valve::model::Volts;

/// As negative as a model is looked at, in V.
const LOWEST_GRID: f64 = -300.0;

/// How far the other side's bias must move to be said, in V.
const REACHES: f64 = 0.5;

/// How fast an anode warms, in s. Not yet confirmed.
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
        head.push("What you notice".to_owned());
        let row = |row: &Row| {
            let share = match row.at {
                At::Here => circuit.law.share(self.knob),
                At::Mark(mark) => circuit.share(mark),
            };
            let cell = |place: &Option<Place>| {
                let build = self.build(circuit, share, row.fault, *place);
                let [grid, other] = build.grids();
                let said = self.cell(grid, shift);
                let sound = self.build(circuit, share, None, *place).grid();
                let stays = |other: f64| sound.is_some_and(|sound| (other - sound).abs() < REACHES);
                if other.is_some_and(stays) {
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
                "Faults: grid, anode current and heat of the valve on that side{with}{}; times are an estimate",
                self.change_off()
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
        let Some(grid) = grid else { return "floats: nothing holds it".to_owned() };
        // The grid conducts near its cathode; how far above it is pulled is not known.
        let (said, grid) = if grid > -0.05 {
            (if grid > 0.5 { "0\u{a0}V or more" } else { "0\u{a0}V" }.to_owned(), 0.0)
        } else {
            (writing::nearest(grid, &VOLT), grid)
        };
        let Some(current) = self.modelled(grid + shift) else {
            return format!("{said}; current not known");
        };
        let heat = current * self.anode.si();
        // A current that falls is at most what it was.
        let (_, more) = self.model.map_or((0.0, 0.0), Fitted::slope_off);
        let most = current + more * (current - self.idle.si()).max(0.0);
        format!(
            "{said}, {}, {}{}",
            writing::engineering(current, &AMPERE, 2, writing::Rounding::Nearest),
            writing::engineering(heat, &WATT, 2, writing::Rounding::Nearest),
            self.until(heat, most * self.anode.si())
        )
    }

    /// How far the change of the current may be off, as the table's title says it; nothing where no current is told.
    fn change_off(&self) -> String {
        let per_cent = |share: f64| writing::engineering(share, &PER_CENT, 2, writing::Rounding::Up);
        self.model.map_or_else(String::new, |fitted| {
            let (less, more) = fitted.slope_off();
            format!(
                "; the change from idle is the model’s, −{} to +{} (from its data-sheet figures, and the spread of \
                 valves)",
                per_cent(less),
                per_cent(more)
            )
        })
    }

    /// How long until the anode is over its rating; `most` is the heat with the whole margin of the model.
    fn until(&self, heat: f64, most: f64) -> String {
        let Some(limit) = self.anode_power.map(|limit| limit.value().si()) else { return String::new() };
        if heat <= limit {
            let may = || format!("; may be over {}", writing::repeated(limit, &WATT));
            return if most > limit { may() } else { String::new() };
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
