//! Preferred values of IEC 60063: what resistors and capacitors are made in.

/// Two-figure series of IEC 60063, one decade.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Series {
    /// Steps of about 20 %, for parts of ±10 %.
    E12,
    /// Steps of about 10 %, for parts of ±5 %.
    E24,
}

impl Series {
    /// The values of one decade, from 10 to 91.
    ///
    /// Not all follow the rule 10^(i/n): 27, 30, 33, 36, 39, 43, 47 and 82 are as the standard lists them.
    #[must_use]
    pub const fn decade(self) -> &'static [f64] {
        match self {
            Self::E12 => &[10.0, 12.0, 15.0, 18.0, 22.0, 27.0, 33.0, 39.0, 47.0, 56.0, 68.0, 82.0],
            Self::E24 => &[
                10.0, 11.0, 12.0, 13.0, 15.0, 16.0, 18.0, 20.0, 22.0, 24.0, 27.0, 30.0, 33.0, 36.0, 39.0,
                43.0, 47.0, 51.0, 56.0, 62.0, 68.0, 75.0, 82.0, 91.0,
            ],
        }
    }

    /// The values from `low` to `high`, both included, in rising order; none unless 0 < low ≤ high < 10¹².
    pub fn between(self, low: f64, high: f64) -> impl Iterator<Item = f64> {
        let decades = -12..12;
        let sensible = low > 0.0 && high < 1e12;
        let values = decades.flat_map(move |power| {
            self.decade().iter().map(move |value| value * libm::pow(10.0, f64::from(power)))
        });
        values.filter(move |value| sensible && *value >= low * (1.0 - 1e-9) && *value <= high * (1.0 + 1e-9))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_series_have_the_sums_of_the_published_tables() {
        // Sums of one decade, from the tables of the Python library eseries 1.2.1.
        assert_eq!(Series::E12.decade().iter().sum::<f64>(), 429.0);
        assert_eq!(Series::E24.decade().iter().sum::<f64>(), 901.0);
    }

    #[test]
    fn between_two_values_lie_those_that_one_can_buy() {
        let values: Vec<f64> = Series::E12.between(1e3, 4.7e3).map(libm::round).collect();
        assert_eq!(values, [1000.0, 1200.0, 1500.0, 1800.0, 2200.0, 2700.0, 3300.0, 3900.0, 4700.0]);
        assert_eq!(Series::E12.between(-1.0, 5.0).count(), 0);
    }
}
