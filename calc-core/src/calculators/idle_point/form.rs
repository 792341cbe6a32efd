//! How its fields are laid out.

use crate::calculator::Section;

pub(super) const FORM: &[Section] = &[Section {
    name: "Valve and voltages",
    fields: &["valve", "find", "target", "bias", "anode-voltage", "screen-voltage", "basis", "points"],
    more: &["model-share", "screen-share", "gm-share", "ra-share", "valve-share", "valve-slopes"],
}];
