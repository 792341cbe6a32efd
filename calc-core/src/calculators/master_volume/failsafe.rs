//! The value of the fail-safe resistor, swept: what each costs the signal, and what it leaves of the bias.

use super::MIDDLE;
use super::MasterVolume;
use super::circuit::{Circuit, Place};
use super::curves::decibel;
use super::network::Fault;
use crate::calculator::Table;
use crate::quantity::unit::{OHM, ONE};
use crate::quantity::{Quantity, writing};

/// From the lowest that an inverter may drive to the habit of the trade, in Ω.
const VALUES: [f64; 5] = [100e3, 220e3, 470e3, 1e6, 2.2e6];

impl MasterVolume {
    /// The table of values, the reader's own among them.
    pub(super) fn values(&self, circuit: &Circuit) -> Table {
        let (place, own) = circuit.safe.unwrap_or((Place::Tag, VALUES[0]));
        let mut values = VALUES.to_vec();
        if !values.contains(&own) {
            let place = values.iter().filter(|value| **value < own).count();
            values.insert(place, own);
        }
        let shift = self.shift(self.healthy(circuit));
        let row =
            |safe: f64| self.value(&Circuit { safe: Some((place, safe)), ..circuit.clone() }, safe, shift);
        Table {
            title: format!("Value of the fail-safe resistor, {}", place.words()),
            head: [
                "Resistor",
                "Grid circuit, highest",
                "Grid circuit, wiper lifted",
                "Valve, wiper lifted",
                "The inverter sees, least",
                "Full up, compared with before",
                "At 5, below full up",
            ]
            .map(str::to_owned)
            .to_vec(),
            rows: values.into_iter().map(row).collect(),
        }
    }

    fn value(&self, circuit: &Circuit, safe: f64, shift: f64) -> Vec<String> {
        let (place, _) = circuit.safe.unwrap_or((Place::Tag, safe));
        let top = circuit.law.full_up();
        let full_up = circuit.decibels(top, MIDDLE);
        let lifted = self.build(circuit, top, Some(Fault::Wiper), Some(place)).grid();
        vec![
            writing::nearest(safe, &OHM),
            self.against_limit(circuit.grid_circuit(top)),
            circuit.grid_circuit_lifted().map_or_else(String::new, |ohms| self.against_limit(ohms)),
            self.cell(lifted, shift),
            writing::nearest(circuit.load_least(MIDDLE), &OHM),
            decibel(full_up - circuit.before(MIDDLE)),
            decibel(circuit.decibels(circuit.share(5), MIDDLE) - full_up),
        ]
    }

    /// A grid circuit, and how many times the limit it is.
    fn against_limit(&self, ohms: f64) -> String {
        let written = writing::nearest(ohms, &OHM);
        self.valve.fixed.map_or_else(
            || written.clone(),
            |limit| {
                let times =
                    writing::engineering(ohms / limit.value().si(), &ONE, 2, writing::Rounding::Nearest);
                format!("{written}, {times} × the limit")
            },
        )
    }
}
