//! How its fields are laid out.

use crate::calculator::Section;

pub(super) const FORM: &[Section] = &[
    Section {
        name: "Control",
        fields: &["topology", "knob", "resistance", "law", "centre", "points", "ohm-points"],
        more: &[
            "mismatch",
            "element-voltage",
            "element-power",
            "dead-low",
            "dead-high",
            "angle",
            "end-resistance",
        ],
    },
    Section { name: "Fail-safe", fields: &["safe-at", "safe"], more: &[] },
    Section {
        name: "Inverter",
        fields: &["swing", "inverter", "inverter-voltage", "unloaded", "coupling", "second-coupling"],
        more: &["imbalance"],
    },
    Section {
        name: "Lead and grid",
        fields: &["lead", "leak", "stopper", "input-capacitance", "seen-from"],
        more: &["lead-capacitance", "core-capacitance"],
    },
    Section {
        name: "Valve and bias",
        fields: &[
            "valve",
            "sheet",
            "limit-fixed",
            "limit-cathode",
            "valves",
            "anode-voltage",
            "screen-voltage",
            "idle-current",
            "bias-voltage",
            "bias-source",
        ],
        more: &["bias-capacitor", "grid-current"],
    },
];
