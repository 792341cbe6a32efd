//! An output valve: which one, what stands across it, what it draws.

use super::Label;
use super::parts::resistor;
use crate::calculator::{Ask, Question};
use crate::quantity::ElectricalResistance;
use crate::valve::{GridCircuitFields, VALVES, Valve};

/// The fields of an output valve's grid circuit, where a page asks for one valve.
pub const GRID_CIRCUIT: GridCircuitFields = GridCircuitFields {
    valve: ("valve", "Output valve"),
    sheet: ("sheet", "Which data sheet"),
    fixed: ("limit-fixed", "Highest grid-circuit resistance, fixed bias"),
    cathode: ("limit-cathode", "Highest grid-circuit resistance, cathode bias"),
};

/// Which valve of those in the table that `known` lets through; `None` is the one called `other`, whose figures are typed.
pub fn which(
    a: &mut Ask,
    name: &'static str,
    known: fn(&Valve) -> bool,
    other: Option<&'static str>,
) -> Option<&'static Valve> {
    let known = || VALVES.iter().filter(|valve| known(valve));
    let at = a.one_of("valve", name, "", "6L6GC", &|| {
        let other = other.map(|label| ("typed".to_owned(), label.to_owned()));
        known().map(|valve| (valve.name.to_owned(), valve.label())).chain(other).collect()
    });
    known().nth(at)
}

/// What is between an electrode and the cathode, at idle.
pub fn electrode<'q, 'a>(a: &'q mut Ask<'a>, label: Label, default: &'static str) -> Question<'q, 'a> {
    let [id, symbol, name] = label;
    a.quantity(id, symbol, name, default).within("1 V", "1500 V")
}

/// What is between anode and cathode.
pub fn anode<'q, 'a>(a: &'q mut Ask<'a>, name: &'static str, default: &'static str) -> Question<'q, 'a> {
    electrode(a, ["anode-voltage", "V_a", name], default)
}

/// What is between screen and cathode.
pub fn screen<'q, 'a>(a: &'q mut Ask<'a>, name: &'static str, default: &'static str) -> Question<'q, 'a> {
    electrode(a, ["screen-voltage", "V_g2", name], default)
}

/// What the anode draws at idle.
pub fn idle_current<'q, 'a>(a: &'q mut Ask<'a>) -> Question<'q, 'a> {
    a.quantity("idle-current", "I_a", "Anode current at idle, one valve", "32.5 mA").within("1 mA", "500 mA")
}

/// The mutual conductance at idle.
pub fn slope<'q, 'a>(
    a: &'q mut Ask<'a>,
    (id, name): (&'static str, &'static str),
    default: &'static str,
) -> Question<'q, 'a> {
    a.quantity(id, "g_m", name, default).within("0.1 mS", "50 mS").tolerance("30 %")
}

/// The hint of a slope whose default is from memory.
pub const SLOPE_HINT: &str =
    "3.3 mS is 3.3 mA/V. Not yet confirmed: data sheets give it at a higher current.";

/// How many output valves share a side.
pub fn on_each_side(a: &mut Ask) -> u32 {
    a.count("valves", "Valves on each side", "1", 4)
}

/// The stopper of a screen, over which its current is read.
pub fn screen_stopper(a: &mut Ask) -> ElectricalResistance {
    resistor(a, ["screen-stopper", "R_s", "Screen stopper"], "560R").within("0R1", "100k").get()
}

/// What a screen draws at idle.
pub fn screen_current<'q, 'a>(a: &'q mut Ask<'a>) -> Question<'q, 'a> {
    a.quantity("screen-current", "I_g2", "Screen current", "1.5 mA").within("0 A", "1 A")
}
