//! Writes a number as one bench or another would: `5k6`, `5,6 kΩ`, `5600`, `5.6e3 ohm`, `5 600 R`.
//!
//! Whatever it writes has one reading by the rules of `calc_core::quantity::notation`; what is asked back or refused there
//! (`4,700`, `0.038` in a field in mA, `473` on a capacitor) it does not write.

use calc_core::quantity::unit::{PREFIXES, Unit};

use super::random::Random;

/// A decimal number: so many times ten to the power, in a unit without prefix.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Decimal {
    /// Whether it is less than nothing.
    pub negative: bool,
    /// Its digits, as a whole number.
    pub digits: u32,
    /// The power of ten that they count.
    pub power: i32,
}

impl Decimal {
    /// The number nearest to `value` that has so many figures.
    #[must_use]
    pub fn nearest(value: f64, figures: usize) -> Self {
        let text = format!("{:.*e}", figures.max(1) - 1, value.abs());
        let (mantissa, power) = text.split_once('e').unwrap_or((&text, "0"));
        let digits: String = mantissa.chars().filter(char::is_ascii_digit).collect();
        let places = i32::try_from(digits.len()).unwrap_or(1) - 1;
        let power = power.parse::<i32>().unwrap_or(0) - places;
        Self { negative: value < 0.0, digits: digits.parse().unwrap_or(0), power }
    }

    /// What it represents times ten to `more`, as the standard library reads decimal numbers.
    ///
    /// # Panics
    /// Never: the text is a number.
    #[must_use]
    pub fn value(self, more: i32) -> f64 {
        let sign = if self.negative { "-" } else { "" };
        format!("{sign}{}e{}", self.digits, self.power + more).parse().expect("it is a number")
    }

    /// Whole part and fraction, without sign, in units of ten to the `prefix`.
    fn split(self, prefix: i32) -> (String, String) {
        let (digits, power) = (self.digits.to_string(), self.power - prefix);
        let Ok(places) = usize::try_from(-power) else {
            return (format!("{digits}{}", "0".repeat(usize::try_from(power).unwrap_or(0))), String::new());
        };
        let digits = format!("{}{digits}", "0".repeat((places + 1).saturating_sub(digits.len())));
        let (whole, fraction) = digits.split_at(digits.len() - places);
        (whole.to_owned(), fraction.to_owned())
    }
}

/// A number as typed into a field whose bare numbers are in units of ten to the `shown`.
#[must_use]
pub fn typed(number: Decimal, unit: &Unit, shown: i32, random: &mut Random) -> String {
    let sign = if number.negative { *random.one_of(&["-", "−", "–", "- "]) } else { "" };
    let ways = [marking, bare, bare, grouped, by_exponent, with_unit, with_unit];
    // Most ways do for some numbers only.
    let body = (0..9).find_map(|_| random.one_of(&ways)(number, unit, shown, random));
    format!("{sign}{}", body.unwrap_or_else(|| long(number, unit)))
}

/// The last resort: all digits and the unit.
fn long(number: Decimal, unit: &Unit) -> String {
    let (whole, fraction) = number.split(0);
    format!("{} {}", joined(&whole, &fraction, '.'), unit.symbol)
}

fn joined(whole: &str, fraction: &str, mark: char) -> String {
    if fraction.is_empty() { whole.to_owned() } else { format!("{whole}{mark}{fraction}") }
}

/// A letter in place of the decimal mark, with a tolerance letter at times: `5k6`, `R47`, `4n7J`, `6V3`.
fn marking(number: Decimal, unit: &Unit, _: i32, random: &mut Random) -> Option<String> {
    let (letter, prefix) = if unit.symbol == "Ω" && random.happens(0.4) {
        ('R', 0)
    } else if unit.symbol.len() == 1 && unit.symbol.starts_with(char::is_alphabetic) && random.happens(0.5) {
        (unit.symbol.chars().next()?, 0)
    } else {
        prefix(number, unit, random)?
    };
    let (mut whole, mut fraction) = number.split(prefix);
    if whole.len() > 4 || fraction.len() > 4 {
        return None;
    }
    if fraction.is_empty() {
        fraction.push('0');
    }
    if whole == "0" && random.happens(0.5) {
        whole.clear();
    }
    let tail = if random.happens(0.3) {
        unit.symbol
    } else if unit.marked && random.happens(0.3) {
        *random.one_of(&["J", "K", "M", "G", "D"])
    } else {
        ""
    };
    Some(format!("{whole}{}{fraction}{tail}", spelt(letter, random)))
}

/// No unit: the one that the field shows.
fn bare(number: Decimal, unit: &Unit, shown: i32, random: &mut Random) -> Option<String> {
    // Such numbers are asked back.
    if shown != 0 && (number.value(-shown).abs() < 1.0 || unit.symbol == "F") {
        return None;
    }
    let (whole, fraction) = number.split(shown);
    let short = whole.len() <= 7 && fraction.len() <= 5;
    short.then(|| joined(&whole, &fraction, mark(&whole, &fraction, false, random)))
}

/// Spaces between thousands.
fn grouped(number: Decimal, unit: &Unit, _: i32, random: &mut Random) -> Option<String> {
    let (whole, fraction) = number.split(0);
    if !(4..=7).contains(&whole.len()) || fraction.len() > 4 {
        return None;
    }
    let space = random.one_of(&[' ', '\u{a0}', '\u{202f}']);
    let mut spaced = String::new();
    for (at, digit) in whole.chars().enumerate() {
        if at > 0 && (whole.len() - at) % 3 == 0 {
            spaced.push(*space);
        }
        spaced.push(digit);
    }
    Some(format!("{} {}", joined(&spaced, &fraction, '.'), unit.symbol))
}

/// `1.5e3 V`.
fn by_exponent(number: Decimal, unit: &Unit, _: i32, random: &mut Random) -> Option<String> {
    let power = number.power + i32::try_from(number.digits.to_string().len()).ok()? - 1;
    let (whole, fraction) = number.split(power);
    let letter = random.one_of(&['e', 'E']);
    Some(format!("{}{letter}{power} {}", joined(&whole, &fraction, '.'), unit_spelt(unit, random)))
}

/// A prefix or none, and the unit; with a prefix it may be left out.
fn with_unit(number: Decimal, unit: &Unit, _: i32, random: &mut Random) -> Option<String> {
    let prefixed = prefix(number, unit, random).filter(|_| random.happens(0.7));
    let power = prefixed.map_or(0, |(_, power)| power);
    let (whole, fraction) = number.split(power);
    if whole.len() > 6 || fraction.len() > 5 {
        return None;
    }
    let number = joined(&whole, &fraction, mark(&whole, &fraction, power != 0, random));
    let space = random.one_of(&["", " ", "\u{a0}"]);
    let letter = prefixed.map(|(letter, _)| spelt(letter, random)).unwrap_or_default();
    let symbol =
        if prefixed.is_some() && random.happens(0.4) { String::new() } else { unit_spelt(unit, random) };
    Some(format!("{number}{space}{letter}{symbol}"))
}

/// A decimal point, or a comma where it cannot be taken for one between thousands.
fn mark(whole: &str, fraction: &str, prefixed: bool, random: &mut Random) -> char {
    let thousands = fraction.len() == 3 && whole != "0" && !prefixed;
    if !thousands && random.happens(0.4) { ',' } else { '.' }
}

/// A prefix that the unit takes and that leaves one to six digits before the mark, or few noughts behind it.
fn prefix(number: Decimal, unit: &Unit, random: &mut Random) -> Option<(char, i32)> {
    let first = number.power + i32::try_from(number.digits.to_string().len()).ok()? - 1;
    let fitting = |(letter, power): &&(char, i32)| {
        unit.prefixes.contains(*letter) && (-2..6).contains(&(first - power))
    };
    let takes: Vec<(char, i32)> = PREFIXES.iter().filter(fitting).copied().collect();
    (!takes.is_empty()).then(|| *random.one_of(&takes))
}

/// One of the ways to write a prefix.
fn spelt(letter: char, random: &mut Random) -> String {
    match letter {
        'k' => random.one_of(&["k", "K"]).to_string(),
        'u' => random.one_of(&["u", "µ", "μ"]).to_string(),
        'Ω' => random.one_of(&["Ω", "\u{2126}"]).to_string(),
        other => other.to_string(),
    }
}

/// One of the ways to write a unit.
fn unit_spelt(unit: &Unit, random: &mut Random) -> String {
    let place = random.place(unit.spellings.len() + 2);
    let spelling = unit.spellings.get(place).copied().unwrap_or(unit.symbol);
    if random.happens(0.2) { spelling.to_ascii_uppercase() } else { spelling.to_owned() }
}

#[cfg(test)]
mod tests {
    use calc_core::quantity::notation::read;
    use calc_core::quantity::unit::UNITS;

    use super::*;

    #[test]
    fn a_number_is_split_at_its_prefix() {
        let number = Decimal::nearest(-5600.0, 2);
        assert_eq!(number, Decimal { negative: true, digits: 56, power: 2 });
        assert_eq!(number.split(3), ("5".to_owned(), "6".to_owned()));
        assert_eq!(number.split(0), ("5600".to_owned(), String::new()));
        assert_eq!(number.split(6), ("0".to_owned(), "0056".to_owned()));
        assert_eq!(number.value(0), -5600.0);
    }

    #[test]
    fn what_is_written_is_read_as_it_was_meant() {
        let mut random = Random::seeded(1);
        let mut seen = std::collections::BTreeSet::new();
        for _ in 0..20_000 {
            let unit = *random.one_of(UNITS);
            let negative = if random.happens(0.2) { -1.0 } else { 1.0 };
            let figures = 1 + random.place(4);
            let number = Decimal::nearest(negative * random.over_decades(1e-6, 1e6), figures);
            let text = typed(number, unit, 0, &mut random);
            let meant = number.value(unit.exponent);
            let is = read(&text, unit, 0).map(|read| read.value);
            assert!(
                is.as_ref().is_ok_and(|is| (is - meant).abs() <= 1e-12 * meant.abs()),
                "“{text}” in {} is {meant}, read as {is:?}",
                unit.symbol
            );
            seen.insert(text);
        }
        assert!(seen.len() > 15_000);
    }
}
