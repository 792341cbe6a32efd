//! What meters show that no network at rest knows: formulas, each with what it is from.

use std::f64::consts::{FRAC_1_SQRT_2, TAU};

use super::circuit::{Bias, OPEN};
use super::meters::{Measure, Meters, Place};
use super::state::State;

impl Meters {
    /// 6.3 V at the marked mains, and 3 % more without the output valves (common practice, no source).
    pub(super) fn heaters(&self, state: State) -> f64 {
        let mains = &self.circuit.mains;
        let regulation = if state.valves { 1.0 } else { 1.03 };
        6.3 * regulation * self.at(state).mains / mains.marked / mains.tap
    }

    /// A sawtooth's RMS is its swing by √12; the range resistor and the node's capacitor let by what their corner lets.
    pub(super) fn ripple(&self, state: State) -> f64 {
        let Bias::Fixed(fixed) = &self.circuit.bias else { return 0.0 };
        let leg = &fixed.legs[0];
        let foot = leg.foot + leg.trimmer * leg.turned;
        let share = if foot.is_finite() { foot / (leg.range + foot) } else { 1.0 };
        let corner = TAU * self.circuit.mains.hertz * fixed.last * share * leg.range;
        self.at(state).bias_swing / libm::sqrt(12.0) * share / libm::sqrt(1.0 + corner * corner)
    }

    /// What is left ten seconds after the resistor was put on: what the reservoir had, through the resistor and whatever else
    /// discharges it; an electrolytic gives back some thousandths (dielectric absorption).
    pub(super) fn left(&self) -> f64 {
        let supply = &self.circuit.supply;
        let balance = supply.balance.map_or(OPEN, |[upper, lower]| upper + lower);
        let path = beside(beside(self.circuit.bench.discharge, supply.bleeder), balance);
        let charged = self.at(State::FULL.out()).volts("ht");
        charged * (libm::exp(-10.0 / (path * supply.reservoir)) + 0.002)
    }

    /// Volts of the forming supply at so many quarters of the rating.
    pub(super) fn forming(&self, quarters: u8) -> f64 {
        f64::from(quarters) / 4.0 * self.shows(Measure::CapacitorRating, State::DEAD, Place::default())
    }

    /// Volts of the upper half, and the leakage without what the balance resistors take.
    pub(super) fn formed(&self, quarters: u8) -> (f64, f64) {
        let (supply, volts) = (&self.circuit.supply, self.forming(quarters));
        let Some([upper, lower]) = supply.balance else { return (volts, volts / supply.leak[0]) };
        let (above, below) = (beside(upper, supply.leak[0]), beside(lower, supply.leak[1]));
        let over = volts * above / (above + below);
        (over, (volts / (above + below) - volts / (upper + lower)).abs())
    }

    /// A cold lamp has a fifteenth of its hot ohms.
    pub(super) fn lamp_box(&self, live: bool) -> f64 {
        let bench = &self.circuit.bench;
        let outlet = self.circuit.mains.outlet;
        let cold = outlet * outlet / bench.lamp / 15.0;
        if live == bench.lamp_in_neutral || bench.lamp_bridged { 0.15 } else { cold + 0.15 }
    }

    /// Open loop, and by one plus the loop gain with the loop closed; at a loop gain of −1 and below it howls as loud as it can.
    pub(super) fn small_signal(&self, state: State) -> f64 {
        let output = &self.circuit.output;
        let gain = if state.open_loop { 0.0 } else { output.loop_gain.unwrap_or(0.0) };
        if gain > -1.0 { output.small_signal / (1.0 + gain) } else { self.drive(state) }
    }

    /// Each anode swings over some 78 % of its voltage; the transformer's ratio is that of the load to its primary.
    pub(super) fn drive(&self, state: State) -> f64 {
        let output = &self.circuit.output;
        let sides = self.circuit.sides.len() as f64;
        let anode = self.shows(Measure::Anode, State { driven: false, ..state }, Place::default());
        0.78 * anode * sides * FRAC_1_SQRT_2 * libm::sqrt(output.load / output.primary)
    }
}

/// Two resistances side by side.
pub(super) fn beside(one: f64, other: f64) -> f64 {
    1.0 / (1.0 / one + 1.0 / other)
}
