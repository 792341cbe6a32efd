//! The bias of an output stage, where it is made, and what flows into its grids.

use super::reading::VOLTMETER;
use crate::calculator::{Ask, Question};
use crate::quantity::{ElectricCurrent, ElectricalResistance};

/// Whether the bias is fixed; else the cathode resistor makes it.
pub fn is_fixed(a: &mut Ask, name: &'static str, hint: &'static str) -> bool {
    a.choice(
        "bias",
        name,
        hint,
        &[("fixed", "fixed, a negative supply", true), ("cathode", "cathode (self), by a resistor", false)],
    )
}

/// The bias of output valves: a negative voltage.
pub fn voltage<'q, 'a>(a: &'q mut Ask<'a>, id: &'static str, name: &'static str) -> Question<'q, 'a> {
    a.quantity(id, "V_g1", name, "-46 V").within("-200 V", "-0.5 V")
}

/// The same as a meter shows it, at `bias-voltage`.
pub fn reading<'q, 'a>(a: &'q mut Ask<'a>, name: &'static str) -> Question<'q, 'a> {
    voltage(a, "bias-voltage", name).tolerance(VOLTMETER)
}

/// What a fixed bias comes through, direct.
pub fn source(a: &mut Ask) -> ElectricalResistance {
    a.quantity("bias-source", "R_b", "Bias source, its direct resistance", "12k")
        .hint("What an ohmmeter reads from that node to chassis once the capacitor has charged.")
        .within("0R", "1M")
        .tolerance("10 %")
        .get()
}

/// What flows into each grid, to compare circuits by.
pub fn grid_current(a: &mut Ask) -> ElectricCurrent {
    a.usual()
        .quantity("grid-current", "I_g", "Grid current to allow for, each valve", "1 µA")
        .hint("One microampere, for comparison; a gassy valve draws many.")
        .within("0 A", "1 mA")
        .get()
}
