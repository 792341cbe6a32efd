//! The mains: what is marked on the amplifier, and what comes out of the wall.

use super::Label;
use super::reading::VOLTMETER;
use crate::calculator::{Ask, Question};
use crate::quantity::ElectricPotential;

/// What the amplifier is made for.
pub fn marked(a: &mut Ask, id: &'static str, symbol: &'static str) -> ElectricPotential {
    a.quantity(id, symbol, "Mains, as marked", "120 V").within("10 V", "500 V").get()
}

/// What a meter shows there now.
pub fn measured<'q, 'a>(a: &'q mut Ask<'a>, label: Label, default: &'static str) -> Question<'q, 'a> {
    let [id, symbol, name] = label;
    a.quantity(id, symbol, name, default).within("10 V", "500 V").tolerance(VOLTMETER)
}
