//! What will do: limits that nobody publishes.

use super::Label;
use crate::calculator::{Ask, Question};

/// A limit that the reader chooses; the default is common practice, no source.
pub fn will_do<'q, 'a>(a: &'q mut Ask<'a>, label: Label, default: &'static str) -> Question<'q, 'a> {
    let [id, symbol, name] = label;
    a.usual().quantity(id, symbol, name, default).hint("Your choice. Common practice, no source.")
}

/// The highest corner of the bass that will do.
pub fn highest_corner<'q, 'a>(a: &'q mut Ask<'a>, name: &'static str) -> Question<'q, 'a> {
    will_do(a, ["highest-corner", "f_max", name], "20 Hz")
}
