//! How far a value may be off: a part's marking or a meter's accuracy, as `5 %`, `±0.2 V` or `0.5 % + 2 digits`.

use super::notation::{Read, Refusal, read};
use super::unit::{PER_CENT, Unit};

/// A tolerance as typed; its parts add up.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Tolerance {
    /// Share of the value, 0.05 for 5 %.
    pub share: f64,
    /// In SI units of the quantity.
    pub fixed: f64,
    /// Steps of the last digit that was typed.
    pub digits: f64,
}

impl Tolerance {
    /// Reads a tolerance of a quantity in `unit`; a bare number is per cent.
    ///
    /// # Errors
    /// A [`Refusal`], as for any value; less than nothing and more than 100 % are refused as `Tolerance`.
    pub fn read(text: &str, unit: &Unit, shown: i32) -> Result<Self, Refusal> {
        let text = text.trim().trim_start_matches(['±', '+']);
        let text = text.strip_prefix("/-").unwrap_or(text).trim();
        let mut tolerance = Self::default();
        if text.is_empty() {
            return Err(Refusal::Empty);
        }
        for part in text.split('+').map(str::trim) {
            let number = part.trim_end_matches(|letter: char| letter.is_ascii_alphabetic()).trim();
            if ["d", "dgt", "digit", "digits"].contains(&part[number.len()..].trim()) {
                tolerance.digits += read(number, &super::unit::ONE, 0)?.value;
            } else if let Ok(share) = read(part, &PER_CENT, 0) {
                tolerance.share += share.value;
            } else {
                tolerance.fixed += read(part, unit, shown)?.value;
            }
        }
        let sensible =
            (0.0..=1.0).contains(&tolerance.share) && tolerance.fixed >= 0.0 && tolerance.digits >= 0.0;
        if sensible { Ok(tolerance) } else { Err(Refusal::Tolerance) }
    }

    /// Half the width of the interval around a value that was read, in SI units.
    #[must_use]
    pub fn half_width(&self, read: &Read) -> f64 {
        self.share * read.value.abs() + self.fixed + self.digits * read.resolution
    }
}

#[cfg(test)]
mod tests {
    use super::super::unit::{AMPERE, VOLT};
    use super::*;

    #[test]
    fn a_meter_is_so_many_per_cent_and_digits() {
        // Published worked figure: ±(0.5 % + 1 digit of 0.01) of 38.50 mV is ±0.2025 mV.
        let tolerance = Tolerance::read("0.5 % + 1 digit", &VOLT, -3).unwrap();
        let reading = read("38.50", &VOLT, -3).unwrap();
        assert!((tolerance.half_width(&reading) - 0.2025e-3).abs() < 1e-12);
    }

    #[test]
    fn parts_may_be_of_any_kind() {
        let tolerance = Tolerance::read("± 2 % + 0.1 mA + 3 d", &AMPERE, -3).unwrap();
        assert_eq!(tolerance, Tolerance { share: 0.02, fixed: 1e-4, digits: 3.0 });
        assert_eq!(Tolerance::read("5", &AMPERE, -3).unwrap().share, 0.05);
        assert!(Tolerance::read("-5 %", &AMPERE, 0).is_err());
        assert!(Tolerance::read("150 %", &AMPERE, 0).is_err());
        assert!(Tolerance::read("", &AMPERE, 0).is_err());
    }
}
