//! Writes values as the trade does: `5.60 kΩ` in print, `5k6` in the notation that is typed.
//!
//! Digits are those of the decimal expansion of the number, so that a rounding can neither jump a decade unseen nor differ
//! between machines. Multiplying with a power of ten finds them sooner, and is trusted where it is far from deciding.

use super::notation::ten_to;
use super::unit::{DECIBEL, PREFIXES, Unit};

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

/// A loss in decibels as the bench reads it: what is below a hundredth of a decibel is nothing.
#[must_use]
pub fn loss(decibels: f64) -> String {
    if decibels < 0.01 { "under 0.01\u{a0}dB".to_owned() } else { nearest(decibels, &DECIBEL) }
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
    let mut text = String::with_capacity(number.len() + unit.symbol.len() + 4);
    text.push_str(number);
    // A no-break space: a value and its unit stay on one line. Degrees of angle take none (SI brochure, 5.4.3).
    if !matches!(unit.symbol, "" | "°") {
        text.push('\u{a0}');
    }
    text.extend(prefix.map(|letter| if letter == 'u' { 'µ' } else { letter }));
    text.push_str(unit.symbol);
    text
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
    (place_point(if si < 0.0 { "−" } else { "" }, &digits.to_string(), exponent - shift), prefix)
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
fn significant(value: f64, figures: usize, away: Option<bool>) -> Option<(u64, i32)> {
    if !(value.is_finite() && value > 0.0) {
        return None;
    }
    // Twelve figures first: what binary fractions leave behind them is not a reason to round up.
    let figures = u32::try_from(figures).ok()?;
    let wanted = if away.is_some() { MOST_FIGURES } else { figures };
    let (digits, exponent) = sooner(value, wanted).or_else(|| expanded(value, wanted))?;
    let beyond = 10_u64.pow(wanted - figures);
    let kept = digits / beyond + u64::from(away == Some(true) && digits % beyond > 0);
    let carried = kept == 10_u64.pow(figures);
    Some(if carried { (kept / 10, exponent + 1) } else { (kept, exponent) })
}

/// How many figures a value is held to before it is rounded outward.
const MOST_FIGURES: u32 = 12;
/// How far from deciding it the product must be, in its last figure: rounding has moved it by less than a tenth of this.
const CLEAR: f64 = 0.01;

/// So many digits of a positive number, and the power of ten of the first, if a multiplication is enough to tell.
fn sooner(value: f64, figures: u32) -> Option<(u64, i32)> {
    let exponent = libm::floor(libm::log10(value)) as i32;
    let places = i32::try_from(figures).ok()? - 1;
    let power = places - exponent;
    let product = if power < 0 { value / ten_to(-power) } else { value * ten_to(power) };
    let digits = libm::round(product);
    let clear = 0.5 - libm::fabs(product - digits) > CLEAR;
    (clear && (ten_to(places)..ten_to(places + 1)).contains(&digits)).then_some((digits as u64, exponent))
}

/// The same by the decimal expansion.
fn expanded(value: f64, figures: u32) -> Option<(u64, i32)> {
    let text = format!("{value:.*e}", figures as usize - 1);
    let (mantissa, exponent) = text.split_once('e')?;
    let digits: String = mantissa.chars().filter(char::is_ascii_digit).collect();
    Some((digits.parse().ok()?, exponent.parse().ok()?))
}

/// Places the decimal point: the first digit is worth ten to the `exponent`.
fn place_point(sign: &str, digits: &str, exponent: i32) -> String {
    let mut number = String::with_capacity(16);
    number.push_str(sign);
    let zeros = |count: usize| std::iter::repeat_n('0', count);
    match usize::try_from(exponent) {
        Ok(exponent) if digits.len() > exponent + 1 => {
            let (before, after) = digits.split_at(exponent + 1);
            number.push_str(before);
            number.push('.');
            number.push_str(after);
        }
        Ok(exponent) => {
            number.push_str(digits);
            number.extend(zeros(exponent + 1 - digits.len()));
        }
        Err(_) => {
            number.push_str("0.");
            number.extend(zeros(usize::try_from(-exponent - 1).unwrap_or(0)));
            number.push_str(digits);
        }
    }
    number
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

    proptest::proptest! {
        #[test]
        fn a_multiplication_says_what_the_expansion_says(power in -30.0..30.0_f64, figures in 1..=MOST_FIGURES) {
            for value in [libm::pow(10.0, power), libm::round(libm::pow(10.0, power)).max(1.0), libm::pow(10.0, libm::round(power))] {
                if let Some(found) = sooner(value, figures) {
                    proptest::prop_assert_eq!(Some(found), expanded(value, figures), "{}", value);
                }
            }
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
