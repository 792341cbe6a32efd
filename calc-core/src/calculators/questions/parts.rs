//! Parts between two stages, with the tolerances that such parts are marked with.

use super::Label;
use crate::calculator::{Ask, Question};
use crate::quantity::{Capacitance, ElectricalResistance};

/// A resistor that is fitted: within 5 %.
pub fn resistor<'q, 'a>(a: &'q mut Ask<'a>, label: Label, default: &'static str) -> Question<'q, 'a> {
    let [id, symbol, name] = label;
    a.quantity(id, symbol, name, default).tolerance("5 %")
}

/// A grid leak: what holds a grid at its bias.
pub fn leak<'q, 'a>(
    a: &'q mut Ask<'a>,
    (id, name): (&'static str, &'static str),
    default: &'static str,
) -> Question<'q, 'a> {
    resistor(a, [id, "R_l", name], default).within("1k", "10M")
}

/// The grid stopper of an output valve; none is nothing.
pub fn stopper(a: &mut Ask) -> ElectricalResistance {
    resistor(a, ["stopper", "R_s", "Grid stopper, each valve"], "1k5").within("0R", "1M").get()
}

/// The resistor that keeps a grid at its bias where a wiper has lost its track.
pub fn fail_safe<'q, 'a>(a: &'q mut Ask<'a>, id: &'static str, name: &'static str) -> Question<'q, 'a> {
    resistor(a, [id, "R_f", name], "2M2")
}

/// A coupling capacitor: a film one, within 10 %.
pub fn coupling(a: &mut Ask, id: &'static str, name: &'static str) -> Capacitance {
    a.quantity(id, "C", name, "100n").within("10p", "100u").tolerance("10 %").get()
}

/// What a stage is to what it drives.
pub fn output_resistance<'q, 'a>(
    a: &'q mut Ask<'a>,
    id: &'static str,
    name: &'static str,
) -> Question<'q, 'a> {
    a.quantity(id, "R_i", name, "18k").within("0R", "1M").tolerance("30 %")
}

/// The same of the inverter, at `inverter`.
pub fn inverter<'q, 'a>(a: &'q mut Ask<'a>) -> Question<'q, 'a> {
    output_resistance(a, "inverter", "Inverter’s output resistance, each side")
}

/// The inverter's, where it cannot be nothing: its page works it out.
pub fn inverter_from_its_page(a: &mut Ask) -> ElectricalResistance {
    inverter(a)
        .hint("Its anode resistor in parallel with the valve. The inverter’s page works it out.")
        .within("1R", "1M")
        .get()
}
