//! How its fields are laid out.

use crate::calculator::Section;

pub(super) const FORM: &[Section] = &[
    Section {
        name: "Valve and voltage",
        fields: &[
            "asked",
            "valve",
            "sheet",
            "anode-rating",
            "screen-rating",
            "anode-voltage",
            "cathode-voltage",
        ],
        more: &["bias", "anode-from", "screen-estimate", "lowest-target", "target"],
    },
    Section {
        name: "Current and screen",
        fields: &[
            "cathode-current",
            "sharing",
            "spread",
            "spread-percent",
            "screen-how",
            "screen-drop",
            "screen-stopper",
            "screen-current",
            "screen-share",
            "screen-voltage",
        ],
        more: &[],
    },
];
