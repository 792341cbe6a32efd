//! Finds where a function passes through zero, between two ends where its sign differs.
//!
//! The bracket is kept and narrowed, by inverse quadratic interpolation where the last three points lie well for it and
//! by halving where they do not (Chandrupatla 1997). A smooth function is asked some ten times, and none more than three
//! times as often as halving alone would ask it. Operating points of two valves nest one such search in another.

/// More than any function needs: halving alone takes 60, and each other step is followed by one that halves.
const STEPS: u32 = 200;
/// The bracket that is narrow enough, as a share of the first one: as far as a number goes.
const NARROW: f64 = 1.0 / (1_u64 << 60) as f64;

/// Why no root was found.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum NoRoot {
    /// The function has one sign at both ends.
    #[error("the function is {low} at the low end and {high} at the high end: it does not pass through zero")]
    OneSign {
        /// Its value at the low end.
        low: f64,
        /// Its value at the high end.
        high: f64,
    },
    /// An end of the bracket is not finite: there is nothing to halve.
    #[error("an end of the bracket is not finite")]
    NoEnd,
    /// The function is no number at one of the ends.
    #[error("the function has no value at an end of the bracket")]
    NoValue,
}

/// The root of a continuous function between `low` and `high`.
///
/// # Errors
/// [`NoRoot`], unless both ends are finite and the function has a value at each, and another sign.
pub fn root(low: f64, high: f64, function: impl Fn(f64) -> f64) -> Result<f64, NoRoot> {
    search(low, high, &function)
}

/// Compiled once, not again for each function: the browser pays for each.
fn search(low: f64, high: f64, function: &dyn Fn(f64) -> f64) -> Result<f64, NoRoot> {
    if !(low.is_finite() && high.is_finite()) {
        return Err(NoRoot::NoEnd);
    }
    let (at_low, at_high) = (function(low), function(high));
    if at_low.is_nan() || at_high.is_nan() {
        return Err(NoRoot::NoValue);
    }
    for (end, value) in [(low, at_low), (high, at_high)] {
        if value == 0.0 {
            return Ok(end);
        }
    }
    if (at_low > 0.0) == (at_high > 0.0) {
        return Err(NoRoot::OneSign { low: at_low, high: at_high });
    }
    let least = (high - low).abs() * NARROW;
    // The root is between the newest point `a` and `b`; `c` is the point before them.
    let ((mut a, mut at_a), (mut b, mut at_b)) = ((high, at_high), (low, at_low));
    let mut part = 0.5;
    for _ in 0..STEPS {
        let x = a + part * (b - a);
        let at_x = function(x);
        let (c, at_c);
        if (at_x > 0.0) == (at_a > 0.0) {
            (c, at_c) = (a, at_a);
        } else {
            (c, at_c) = (b, at_b);
            (b, at_b) = (a, at_a);
        }
        (a, at_a) = (x, at_x);
        let nearer = if at_a.abs() < at_b.abs() { a } else { b };
        let step = (2.0 * f64::EPSILON * nearer.abs() + least) / (b - a).abs();
        if at_x == 0.0 {
            return Ok(x);
        }
        if step > 0.5 {
            return Ok(nearer);
        }
        let (across, up) = ((a - b) / (c - b), (at_a - at_b) / (at_c - at_b));
        part = if up * up < across && (1.0 - up) * (1.0 - up) < 1.0 - across {
            let straight = at_a / (at_b - at_a) * (at_c / (at_b - at_c));
            straight + (c - a) / (b - a) * (at_a / (at_c - at_a)) * (at_b / (at_c - at_b))
        } else {
            0.5
        };
        // Not `clamp`, which panics where the function was no number and its bounds are none.
        part = part.max(step).min(1.0 - step);
    }
    Ok(a)
}

/// A step of Newton's as small as this, as a share of the root, ends as near as a number goes: the digits that are right
/// double with each.
const CLOSE: f64 = 1e-8;
/// The same of halving, which gains one binary digit a step.
const HALVED: f64 = 1e-12;

/// Where a function that falls passes through zero, by Newton from a place near it: above zero at `low`, below it at `high`.
/// `function` gives its value and its slope. What is known to hold the root is halved where a step leads out of it, or is no
/// smaller than half the one before the last.
pub fn falling(low: f64, high: f64, from: f64, mut function: impl FnMut(f64) -> (f64, f64)) -> f64 {
    follow(low, high, from, &mut function)
}

fn follow(low: f64, high: f64, from: f64, function: &mut dyn FnMut(f64) -> (f64, f64)) -> f64 {
    let (mut low, mut high) = (low, high);
    let mut at = from.max(low).min(high);
    // The step before the last, and the last: Newton's grow small, or it goes round in a circle.
    let mut steps = [f64::INFINITY; 2];
    for _ in 0..STEPS {
        let (value, slope) = function(at);
        if value > 0.0 {
            low = at
        } else {
            high = at
        }
        let next = at - value / slope;
        let settles = (low..=high).contains(&next) && 2.0 * (next - at).abs() <= steps[0];
        let (next, close) = if settles { (next, CLOSE) } else { (low + (high - low) / 2.0, HALVED) };
        steps = [steps[1], (next - at).abs()];
        if steps[1] <= close * next.abs() {
            return next;
        }
        at = next;
    }
    at
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_falling_function_is_followed_by_its_slope() {
        let asked = std::cell::Cell::new(0);
        let found = falling(0.0, 10.0, 0.0, |x| {
            asked.set(asked.get() + 1);
            (20.0 - libm::exp(x), -libm::exp(x))
        });
        // ln 20, from a table of logarithms.
        assert!((found - 2.995_732_273_55).abs() < 1e-11 && asked.get() < 12, "{asked:?}");
        // Flat beyond both ends, steep between: Newton alone goes round in a circle.
        let bend = falling(-9.0, 9.0, 4.0, |x| (-libm::atan(x), -1.0 / (1.0 + x * x)));
        assert!(bend.abs() < 1e-9);
        // Where it has no slope, by halving.
        let step = falling(-1.0, 5.0, 0.0, |x| (if x < 3.0 { 1.0 } else { -1.0 }, 0.0));
        assert!((step - 3.0).abs() < 1e-8);
    }

    #[test]
    fn a_root_is_found_whichever_way_the_function_runs() {
        // Roots known by arithmetic: 2 cubed is 8, and the golden ratio is (1 + √5)/2.
        assert!((root(-10.0, 10.0, |x| x * x * x - 8.0).unwrap() - 2.0).abs() < 1e-12);
        assert!((root(0.0, 5.0, |x| 1.0 + x - x * x).unwrap() - 1.618_033_988_75).abs() < 1e-11);
        assert!(root(0.0, 5.0, |x| x).unwrap().abs() < 1e-12);
    }

    #[test]
    fn a_smooth_function_is_asked_a_dozen_times_and_a_rough_one_still_leads_there() {
        let asked = std::cell::Cell::new(0);
        let found = root(0.0, 10.0, |x| {
            asked.set(asked.get() + 1);
            libm::exp(x) - 20.0
        });
        // ln 20, from a table of logarithms.
        assert!((found.unwrap() - 2.995_732_273_55).abs() < 1e-11 && asked.get() < 16, "{asked:?}");
        assert!((root(-1.0, 5.0, |x| if x < 3.0 { -1e-9 } else { 1e9 }).unwrap() - 3.0).abs() < 1e-12);
        assert!((root(-1.0, 5.0, |x| libm::pow(x - 1.0, 9.0)).unwrap() - 1.0).abs() < 1e-9);
        assert!(
            (root(0.0, 1.0, |x| if x > 0.5 { f64::INFINITY } else { -1.0 }).unwrap() - 0.5).abs() < 1e-12
        );
    }

    #[test]
    fn without_a_change_of_sign_there_is_no_root() {
        assert_eq!(root(1.0, 2.0, |x| x), Err(NoRoot::OneSign { low: 1.0, high: 2.0 }));
        assert_eq!(root(1.0, 2.0, |_| f64::NAN), Err(NoRoot::NoValue));
    }

    #[test]
    fn an_end_that_is_not_finite_is_refused() {
        for end in [f64::INFINITY, f64::NEG_INFINITY, f64::NAN] {
            assert_eq!(root(0.0, end, |x| x - 1.0), Err(NoRoot::NoEnd));
            assert_eq!(root(end, 2.0, |x| x - 1.0), Err(NoRoot::NoEnd));
        }
    }

    #[test]
    fn a_function_that_is_no_number_in_between_does_not_panic() {
        for gap in [0.25, 0.5, 0.75] {
            let holed = |x: f64| if (x - gap).abs() < 0.2 { f64::NAN } else { x - 0.5 };
            let _ = root(0.0, 1.0, holed);
        }
    }
}
