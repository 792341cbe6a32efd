//! A stage of a triode, and what feeds it.

use super::Label;
use crate::calculator::{Ask, Question};
use crate::quantity::ElectricPotential;
use crate::quantity::unit::FARAD;

/// The supply of a stage, at its node, under load.
pub fn supply(a: &mut Ask, name: &'static str, default: &'static str) -> ElectricPotential {
    a.quantity("supply", "V_b", name, default).within("20 V", "800 V").tolerance("2 %").get()
}

/// The highest that a node of the HT can reach, with the valves cold or out.
pub fn no_load<'q, 'a>(a: &'q mut Ask<'a>, [id, symbol, name]: Label) -> Question<'q, 'a> {
    a.quantity(id, symbol, name, "490 V").within("0 V", "1500 V")
}

/// A capacitance at a grid, which is at what the valve's data sheet prints, in farads.
pub fn grid_capacitance<'q, 'a>(a: &'q mut Ask<'a>, label: Label, printed: f64) -> Question<'q, 'a> {
    let [id, symbol, name] = label;
    let printed = a.published(printed, &FARAD);
    a.usual().quantity(id, symbol, name, printed).within("0 pF", "1 nF").tolerance("10 %")
}
