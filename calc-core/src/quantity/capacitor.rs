//! What a bare number is on a capacitor, which is marked in other units than a field shows.

/// The capacitance, in F, of a part marked with `text`, which as a number is `number`: below one in microfarads (`.1`), three
/// figures as two digits and the power of ten of picofarads (`473`, IEC 60062), from a thousand in picofarads. `None` where a
/// part so marked is not known; figures that end in 0 are those of a value far more often than a code.
#[must_use]
pub fn marked(text: &str, number: f64) -> Option<f64> {
    match text.trim().as_bytes() {
        [first @ b'1'..=b'9', second @ b'0'..=b'9', power @ b'1'..=b'9'] => {
            let digits = f64::from(first - b'0') * 10.0 + f64::from(second - b'0');
            // 8 and 9 represent hundredths and tenths.
            let power = match power - b'0' {
                small @ 8..=9 => i32::from(small) - 10,
                power => i32::from(power),
            };
            Some(digits * libm::pow(10.0, f64::from(power)) * 1e-12)
        }
        _ if number < 1.0 => Some(number * 1e-6),
        digits if number >= 1000.0 && digits.iter().all(u8::is_ascii_digit) => Some(number * 1e-12),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_code_is_two_digits_and_a_power_of_ten() {
        for (text, number, farads) in [
            ("473", 473.0, 47e-9),
            ("104", 104.0, 100e-9),
            ("221", 221.0, 220e-12),
            ("479", 479.0, 4.7e-12),
            (".1", 0.1, 100e-9),
            ("0,022", 0.022, 22e-9),
            ("4700", 4700.0, 4.7e-9),
        ] {
            let found = marked(text, number).unwrap();
            assert!((found - farads).abs() <= 1e-9 * farads, "{text}: {found}");
        }
        for (text, number) in [("100", 100.0), ("47", 47.0), ("2.2", 2.2), ("1", 1.0)] {
            assert_eq!(marked(text, number), None, "{text}");
        }
    }
}
