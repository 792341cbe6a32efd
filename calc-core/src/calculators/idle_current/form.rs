//! How its fields are laid out.

use crate::calculator::Section;

pub(super) const FORM: &[Section] = &[
    Section {
        name: "Cathode resistor",
        fields: &["resistor-way", "cathode-drop", "cathode-resistor", "screen-how", "screen-current"],
        more: &[],
    },
    Section {
        name: "Half the primary",
        fields: &[
            "half-way",
            "half-drop",
            "ammeter-way",
            "ammeter-reading",
            "ammeter-resistance",
            "winding-how",
            "winding-cold",
            "winding-warm",
        ],
        more: &["cold-temperature", "warm-temperature", "meter-input"],
    },
];
