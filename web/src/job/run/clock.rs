//! The clock while a procedure runs: what is left of each timer is the run's to say.

use gloo_timers::callback::Interval;
use web_sys::Element;

use super::view::minutes;
use crate::platform::{page, tone, wake_lock};

/// Counts every second, for as long as the page is open; calls `done` when a time has run out.
pub(super) fn count(left: impl Fn(&str) -> Option<u64> + 'static, done: impl Fn() + 'static) {
    let tick = Interval::new(500, move || {
        if show(&left) {
            tone::sound();
            done();
        }
        wake_lock::ask_again();
    });
    // For as long as the page is open.
    tick.forget();
}

/// Sets what each timer in sight still has to go. Whether one has run out since.
pub(super) fn show(left: &dyn Fn(&str) -> Option<u64>) -> bool {
    let mut done = false;
    for timer in page::all("#run-panel [data-timer]") {
        done |= show_one(&timer, left);
    }
    done
}

fn show_one(timer: &Element, left: &dyn Fn(&str) -> Option<u64>) -> bool {
    let is = |name: &str| timer.get_attribute(name).unwrap_or_default();
    // One that was not started shows its whole time.
    let left = left(&is("data-timer")).or_else(|| is("data-seconds").parse().ok()).unwrap_or(0);
    let words = if left > 0 { minutes(left) } else { "done".to_owned() };
    let before = timer.text_content().unwrap_or_default();
    if before == words {
        return false;
    }
    timer.set_text_content(Some(&words));
    left == 0 && !before.is_empty()
}
