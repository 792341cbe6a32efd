//! Writes values as the trade does: `5.60 kΩ` in print, `5k6` in the notation that is typed.
//!
//! Digits are worked out from the decimal expansion of the number, never by multiplying with powers of ten, so that a
//! rounding can neither jump a decade unseen nor differ between machines.

use super::unit::{PREFIXES, Unit};

/// How many significant figures an answer is given.
pub const FIGURES: usize = 3;
/// How many significant figures a value that was typed is repeated with.
pub const TYPED_FIGURES: usize = 4;

/// Which way the last figure is rounded.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Rounding {
    /// To the nearest.
    Nearest,
    /// To the smaller number: the lower end of a margin.
    Down,
    /// To the greater number: the upper end of a margin.
    Up,
}

/// The value with an engineering prefix and its unit: `engineering(0.0142, &AMPERE, 3, Nearest)` is `14.2 mA`.
#[must_use]
pub fn engineering(si: f64, unit: &Unit, figures: usize, rounding: Rounding) -> String {
    let (number, prefix) = number_and_prefix(si, unit, figures, rounding, None);
    with_unit(&number, prefix, unit)
}

/// The nearest value at [`FIGURES`] significant figures.
#[must_use]
pub fn nearest(si: f64, unit: &Unit) -> String {
    engineering(si, unit, FIGURES, Rounding::Nearest)
}

/// A value that was typed, repeated without zeros that were not: `438 V`, `0.705 V`, `5.6 kΩ`.
#[must_use]
pub fn repeated(si: f64, unit: &Unit) -> String {
    let (number, prefix) = number_and_prefix(si, unit, TYPED_FIGURES, Rounding::Nearest, None);
    with_unit(trim_zeros(&number), prefix, unit)
}

/// `low to high`, rounded outward, in the prefix that fits the larger, and the unit written once: `13.9 to 14.6 W`.
#[must_use]
pub fn span(low: f64, high: f64, unit: &Unit) -> String {
    let widest = if low.abs() > high.abs() { low } else { high };
    let (_, prefix) = number_and_prefix(widest, unit, FIGURES, Rounding::Nearest, None);
    let (low, _) = number_and_prefix(low, unit, FIGURES, Rounding::Down, Some(prefix));
    let (high, _) = number_and_prefix(high, unit, FIGURES, Rounding::Up, Some(prefix));
    format!("{low} to {}", with_unit(&high, prefix, unit))
}

/// The notation that is typed and sent in links: `5k6`, `4n7`, `0R47` for marked parts, `38mA`, `-46V` for the rest.
/// [`super::notation::read`] gives the value back, to [`TYPED_FIGURES`] significant figures.
#[must_use]
pub fn bench(si: f64, unit: &Unit) -> String {
    let (number, prefix) = number_and_prefix(si, unit, TYPED_FIGURES, Rounding::Nearest, None);
    let number = trim_zeros(&number).replace('−', "-");
    if !unit.marked {
        return format!("{number}{}{}", prefix.map(String::from).unwrap_or_default(), unit.symbol);
    }
    let letter =
        prefix.map_or_else(|| if unit.symbol == "Ω" { "R" } else { unit.symbol }.to_owned(), String::from);
    match number.split_once('.') {
        Some((whole, fraction)) => format!("{whole}{letter}{fraction}"),
        None => format!("{number}{letter}"),
    }
}

fn with_unit(number: &str, prefix: Option<char>, unit: &Unit) -> String {
    let prefix = match prefix {
        Some('u') => "µ".to_owned(),
        Some(letter) => letter.to_string(),
        None => String::new(),
    };
    // A no-break space: a value and its unit stay on one line. Degrees of angle take none (SI brochure, 5.4.3).
    let space = if matches!(unit.symbol, "" | "°") { "" } else { "\u{a0}" };
    format!("{number}{space}{prefix}{}", unit.symbol)
}

fn trim_zeros(number: &str) -> &str {
    if number.contains('.') { number.trim_end_matches('0').trim_end_matches('.') } else { number }
}

/// The number with a true minus sign, and the prefix letter chosen for it (or the one asked for).
fn number_and_prefix(
    si: f64,
    unit: &Unit,
    figures: usize,
    rounding: Rounding,
    fixed: Option<Option<char>>,
) -> (String, Option<char>) {
    let minus = if si < 0.0 { "−" } else { "" };
    let away = match rounding {
        Rounding::Nearest => None,
        Rounding::Up => Some(si > 0.0),
        Rounding::Down => Some(si < 0.0),
    };
    let Some((digits, exponent)) = significant(si.abs(), figures, away) else {
        return ("0".to_owned(), fixed.flatten());
    };
    let exponent = exponent - unit.exponent;
    let prefix = fixed.unwrap_or_else(|| prefix_for(exponent, unit));
    let shift = prefix.and_then(super::unit::prefix_exponent).unwrap_or(0);
    (format!("{minus}{}", place_point(&digits, exponent - shift)), prefix)
}

/// The largest prefix the unit takes that leaves at least one figure before the point; none where none is needed.
fn prefix_for(exponent: i32, unit: &Unit) -> Option<char> {
    let takes = |letter: char| unit.prefixes.contains(letter);
    let fitting = PREFIXES.iter().rfind(|(letter, power)| takes(*letter) && *power <= exponent);
    let smallest = PREFIXES.iter().find(|(letter, _)| takes(*letter));
    match fitting {
        Some((_, power)) if *power < 0 && exponent >= 0 => None,
        Some((letter, _)) => Some(*letter),
        // Half an ohm is 0.5 Ω; a tenth of a picofarad is 0.1 pF.
        None if exponent >= 0 => None,
        None => smallest.filter(|(_, power)| *power < 0).map(|(letter, _)| *letter),
    }
}

/// The significant digits of a positive number and the power of ten of the first; `None` for zero.
fn significant(value: f64, figures: usize, away: Option<bool>) -> Option<(String, i32)> {
    if !(value.is_finite() && value > 0.0) {
        return None;
    }
    // Twelve figures first: what binary fractions leave behind them is not a reason to round up.
    let places = if away.is_some() { 11 } else { figures - 1 };
    let text = format!("{value:.places$e}");
    let (mantissa, exponent) = text.split_once('e')?;
    let exponent: i32 = exponent.parse().ok()?;
    let digits: String = mantissa.chars().filter(char::is_ascii_digit).collect();
    let (kept, rest) = digits.split_at(figures.min(digits.len()));
    if away == Some(true) && rest.bytes().any(|byte| byte != b'0') {
        let next = kept.parse::<u64>().ok()? + 1;
        let next = next.to_string();
        let carried = next.len() > kept.len();
        return Some((next[..kept.len()].to_owned(), if carried { exponent + 1 } else { exponent }));
    }
    Some((kept.to_owned(), exponent))
}

/// Places the decimal point: the first digit is worth ten to the `exponent`.
fn place_point(digits: &str, exponent: i32) -> String {
    let Ok(before) = usize::try_from(exponent) else {
        let zeros = usize::try_from(-exponent - 1).unwrap_or(0);
        return format!("0.{}{digits}", "0".repeat(zeros));
    };
    let before = before + 1;
    if digits.len() <= before {
        return format!("{digits}{}", "0".repeat(before - digits.len()));
    }
    format!("{}.{}", &digits[..before], &digits[before..])
}

#[cfg(test)]
mod tests {
    use super::super::unit::{AMPERE, FARAD, OHM, PER_CENT, VOLT, WATT};
    use super::*;

    #[test]
    fn answers_have_three_figures_and_a_prefix() {
        for (si, unit, written) in [
            (14.235, &WATT, "14.2 W"),
            (0.0325, &AMPERE, "32.5 mA"),
            (999.6, &OHM, "1.00 kΩ"),
            (999.4, &OHM, "999 Ω"),
            (-46.0, &VOLT, "−46.0 V"),
            (0.0, &VOLT, "0 V"),
            (4.7e-9, &FARAD, "4.70 nF"),
            (0.47, &OHM, "0.470 Ω"),
            (0.4747, &PER_CENT, "47.5 %"),
            (1.5e6, &WATT, "1500 kW"),
        ] {
            assert_eq!(nearest(si, unit).replace('\u{a0}', " "), written);
        }
    }

    #[test]
    fn a_margin_is_rounded_outward() {
        assert_eq!(span(13.947, 14.5201, &WATT).replace('\u{a0}', " "), "13.9 to 14.6 W");
        assert_eq!(span(-0.0421, 0.0399, &AMPERE).replace('\u{a0}', " "), "−42.1 to 39.9 mA");
        assert_eq!(
            span(14.2, 14.2, &WATT).replace('\u{a0}', " "),
            "14.2 to 14.2 W",
            "nothing is added to nothing"
        );
    }

    #[test]
    fn typed_notation_is_that_of_the_parts() {
        for (si, unit, written) in [
            (5600.0, &OHM, "5k6"),
            (0.47, &OHM, "0R47"),
            (470.0, &OHM, "470R"),
            (2.2e6, &OHM, "2M2"),
            (4.7e-9, &FARAD, "4n7"),
            (0.038, &AMPERE, "38mA"),
            (-46.0, &VOLT, "-46V"),
        ] {
            assert_eq!(bench(si, unit), written);
        }
    }
}
