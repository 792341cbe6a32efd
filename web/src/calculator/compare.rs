//! The state that was kept aside, beside the one that is there now.

use calc_core::calculator::compared;
use maud::{Markup, html};

use super::{Shown, answer};

/// Both states with their differences, where one was kept.
pub(super) fn compare(shown: &Shown, _: &str) -> Markup {
    html! {
        @if let Some(kept) = &shown.kept {
            (answer::table(&compared(kept, &shown.outcome)))
            div.buttons {
                button type="button" data-act="aside-back" { "Go back to what is kept" }
                button type="button" data-act="aside-off" { "Stop comparing" }
            }
        }
    }
}
