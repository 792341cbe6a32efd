//! Finds where a function passes through zero, between two ends where its sign differs.

/// Halvings: they narrow the bracket by 2⁶⁰, which is as far as a number goes.
const STEPS: u32 = 60;

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
    /// The function is no number at one of the ends.
    #[error("the function has no value at an end of the bracket")]
    NoValue,
}

/// The root of a continuous function between `low` and `high`, by halving the bracket.
///
/// # Errors
/// [`NoRoot`], unless the function has a value at both ends and another sign at each.
pub fn root(low: f64, high: f64, function: impl Fn(f64) -> f64) -> Result<f64, NoRoot> {
    let (at_low, at_high) = (function(low), function(high));
    if at_low.is_nan() || at_high.is_nan() {
        return Err(NoRoot::NoValue);
    }
    if (at_low > 0.0) == (at_high > 0.0) && at_low != 0.0 && at_high != 0.0 {
        return Err(NoRoot::OneSign { low: at_low, high: at_high });
    }
    let rising = at_low < at_high;
    let (mut low, mut high) = (low, high);
    for _ in 0..STEPS {
        let middle = f64::midpoint(low, high);
        let below = (function(middle) < 0.0) == rising;
        if below { low = middle } else { high = middle }
    }
    Ok(f64::midpoint(low, high))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_root_is_found_whichever_way_the_function_runs() {
        // Roots known by arithmetic: 2 cubed is 8, and the golden ratio is (1 + √5)/2.
        assert!((root(-10.0, 10.0, |x| x * x * x - 8.0).unwrap() - 2.0).abs() < 1e-12);
        assert!((root(0.0, 5.0, |x| 1.0 + x - x * x).unwrap() - 1.618_033_988_75).abs() < 1e-11);
        assert!(root(0.0, 5.0, |x| x).unwrap().abs() < 1e-12);
    }

    #[test]
    fn without_a_change_of_sign_there_is_no_root() {
        assert_eq!(root(1.0, 2.0, |x| x), Err(NoRoot::OneSign { low: 1.0, high: 2.0 }));
        assert_eq!(root(1.0, 2.0, |_| f64::NAN), Err(NoRoot::NoValue));
    }
}
