//! One press is one press: what follows it too fast at the same place, or on the same button, is the same finger.

use web_sys::MouseEvent;

/// In this time, in milliseconds, nobody presses the same twice on purpose.
const SAME: f64 = 400.0;
/// So near, in CSS pixels, is the same place: most of a button's height.
const NEAR: i32 = 40;

/// The press that acted last.
#[derive(Default)]
pub(in crate::job) struct Presses {
    at: f64,
    what: String,
    place: Option<(i32, i32)>,
}

impl Presses {
    /// Whether this press of `what` is another than the last; then it is the last from now on.
    pub(in crate::job) fn is_new(&mut self, what: &str, event: &MouseEvent) -> bool {
        // A press by a key has no place.
        let place = (event.detail() > 0).then(|| (event.client_x(), event.client_y()));
        self.is_other(what, event.time_stamp(), place)
    }

    fn is_other(&mut self, what: &str, at: f64, place: Option<(i32, i32)>) -> bool {
        let near = self.place.zip(place).is_some_and(|((x, y), (to_x, to_y))| {
            x.abs_diff(to_x) < NEAR.unsigned_abs() && y.abs_diff(to_y) < NEAR.unsigned_abs()
        });
        if at - self.at < SAME && !self.what.is_empty() && (near || self.what == what) {
            return false;
        }
        *self = Self { at, what: what.to_owned(), place };
        true
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_doubled_press_is_one_and_two_buttons_one_after_the_other_are_two() {
        let mut presses = Presses::default();
        let mut press = |what: &str, at, place| presses.is_other(what, at, place);
        assert!(press("next step-1", 10.0, Some((100, 700))));
        // The second tap of a double tap meets what stands there now.
        assert!(!press("finish step-2", 200.0, Some((110, 690))));
        assert!(press("tick a", 300.0, Some((100, 300))));
        assert!(!press("tick a", 500.0, None), "by a key");
        assert!(press("tick b", 550.0, None));
        assert!(press("tick b", 1000.0, None));
    }
}
