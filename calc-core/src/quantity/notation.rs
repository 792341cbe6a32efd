//! Reads what people type at the bench: `5k6`, `5,6 k`, `220K`, `4n7`, `0R47`, `−46 V`, `38mA`, `436 VDC`, `1/2 W`.
//!
//! Rules: `.` is always a decimal mark. A comma is one too, but `4,700` without a prefix may mean either, and is
//! refused with both readings. `K` is `k`; `m` and `M` count only where the unit makes them sensible. A number with
//! no unit takes the unit that the field shows. A trailing tolerance letter of IEC 60062 (`5k6J`) sets the tolerance.
//!
//! ```
//! use calc_core::quantity::{notation::read, unit::OHM};
//! assert_eq!(read("5k6", &OHM, 0).unwrap().value, 5600.0);
//! assert!(read("4,700", &OHM, 0).is_err());
//! ```

use super::unit::{PREFIXES, UNITS, Unit, prefix_exponent};

/// A number as read, in SI units.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Read {
    /// The value in SI units.
    pub value: f64,
    /// What one step of the last digit typed is worth: a meter's digit.
    pub resolution: f64,
    /// Per cent, where a tolerance letter stood behind a marking.
    pub tolerance: Option<&'static str>,
    /// Whether the text named a unit or a prefix; a bare number did not.
    pub explicit: bool,
    /// The power of ten of the prefix written before the unit (−3 in `38 mA`); 0 in a marking.
    pub prefix: i32,
}

/// Why a text is no value; each reason knows what to say (`calculator::problem`).
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Refusal {
    /// Nothing was typed.
    Empty,
    /// More than [`LONGEST`] letters: no number, whatever they are.
    Long,
    /// No digit where the number should be.
    NoNumber,
    /// More than one decimal mark, or groups that are no groups.
    Marks,
    /// `4,700`: either 4.7 or 4700.
    Comma {
        /// The reading with a decimal comma.
        decimal: String,
        /// The reading with a comma between thousands.
        thousands: String,
    },
    /// More digits, or a larger or smaller power of ten, than any meter shows.
    Digits,
    /// A fraction whose lower part is nothing or zero.
    Fraction,
    /// A prefix that this unit does not take; the other case of the letter may be meant.
    Prefix {
        /// The letter that was typed.
        letter: char,
        /// The same number with each prefix that would do, as text to type.
        offers: Vec<String>,
    },
    /// The unit is one of another quantity, such as volts where ohms are asked for.
    WrongUnit {
        /// The word for what was typed.
        typed: &'static str,
    },
    /// More than one unit.
    TwoUnits,
    /// A tolerance below nothing or above the whole.
    Tolerance,
    /// Letters that mean nothing here.
    Unknown {
        /// What was not understood.
        text: String,
    },
}

/// No number at the bench has more letters; what has is not read at all, so that a page of text pasted into a field costs
/// nothing.
pub const LONGEST: usize = 100;

/// Reads `text` as a value in `unit`. A number without a unit is in units of ten to the `shown` (the prefix that the
/// field shows: −3 in a field in mA).
///
/// # Errors
/// A [`Refusal`] that says what is wrong; nothing is guessed.
pub fn read(text: &str, unit: &Unit, shown: i32) -> Result<Read, Refusal> {
    if text.trim().chars().nth(LONGEST).is_some() {
        return Err(Refusal::Long);
    }
    let tidy = tidy(text);
    let (sign, body) = match tidy.strip_prefix('-') {
        Some(rest) => (-1.0, rest.trim_start()),
        None => (1.0, tidy.strip_prefix('+').map_or(tidy.as_str(), str::trim_start)),
    };
    if body.is_empty() {
        return Err(if tidy.is_empty() { Refusal::Empty } else { Refusal::NoNumber });
    }
    let (number, rest) = split_number(body);
    if number.is_empty() && !starts_with_marking(rest, unit) {
        return Err(Refusal::NoNumber);
    }
    let mut read = match marking(&number, rest, unit)? {
        Some(read) => read,
        None => plain(&number, rest, unit, shown)?,
    };
    read.value *= sign;
    Ok(read)
}

/// One spelling for each sign: minus, micro, ohm, spaces.
fn tidy(text: &str) -> String {
    let swap = |letter| match letter {
        '−' | '–' | '‐' | '‑' => '-',
        'µ' | 'μ' => 'u',
        '\u{2126}' => 'Ω',
        '\u{a0}' | '\u{2009}' | '\u{202f}' | '\t' => ' ',
        other => other,
    };
    text.trim().chars().map(swap).collect::<String>().trim().to_owned()
}

/// Splits the number (digits, marks, a fraction, spaces between digits, an exponent of ten) from what follows it.
fn split_number(body: &str) -> (String, &str) {
    let bytes = body.as_bytes();
    let digit = |at: usize| bytes.get(at).is_some_and(u8::is_ascii_digit);
    let mut end = 0;
    while let Some(byte) = bytes.get(end) {
        let inside = match byte {
            b'0'..=b'9' | b'.' | b',' => true,
            // A space or a stroke belongs to the number only between two of its digits.
            b' ' | b'/' => end > 0 && digit(end - 1) && digit(end + 1),
            _ => false,
        };
        if !inside {
            break;
        }
        end += 1;
    }
    if end > 0 && matches!(bytes.get(end), Some(b'e' | b'E')) {
        let signed = usize::from(matches!(bytes.get(end + 1), Some(b'+' | b'-')));
        if digit(end + 1 + signed) {
            end += 1 + signed;
            while digit(end) {
                end += 1;
            }
        }
    }
    (body[..end].to_owned(), body[end..].trim_start())
}

/// Whether `rest` begins with a letter that represents the decimal mark and a zero before it, as `R47` or `u47`.
fn starts_with_marking(rest: &str, unit: &Unit) -> bool {
    let mut letters = rest.chars();
    letters.next().is_some_and(|letter| mark_exponent(letter, unit).is_some())
        && letters.next().is_some_and(|next| next.is_ascii_digit())
}

/// The power of ten of a letter that is in place of the decimal mark: `R` in ohms, a prefix, the unit's symbol.
fn mark_exponent(letter: char, unit: &Unit) -> Option<i32> {
    if (letter == 'R' && unit.symbol == "Ω") || unit.symbol.chars().eq([letter]) {
        return Some(0);
    }
    let exponent = prefix_exponent(letter)?;
    allowed(letter, unit).then_some(exponent)
}

fn allowed(letter: char, unit: &Unit) -> bool {
    unit.prefixes.contains(if letter == 'K' { 'k' } else { letter })
}

/// A letter in place of the decimal mark (IEC 60062): `5k6`, `0R47`, `R47`, `6V3`, with a tolerance letter or the
/// unit behind it. `None` where the text is not of this form.
fn marking(whole: &str, rest: &str, unit: &Unit) -> Result<Option<Read>, Refusal> {
    let mut letters = rest.chars();
    let Some(letter) = letters.next() else { return Ok(None) };
    let after = letters.as_str();
    let digits = after.len() - after.trim_start_matches(|c: char| c.is_ascii_digit()).len();
    if digits == 0 {
        return Ok(None);
    }
    let Some(exponent) = mark_exponent(letter, unit) else {
        return match prefix_exponent(letter) {
            Some(_) => Err(prefix_refused(&format!("{whole}.{}", &after[..digits]), letter, unit)),
            None => Ok(None),
        };
    };
    if !whole.bytes().all(|byte| byte.is_ascii_digit()) {
        return Err(Refusal::Marks);
    }
    let (fraction, tail) = after.split_at(digits);
    let tolerance = tail_of_marking(tail.trim(), unit)?;
    let number = format!("{}.{fraction}", if whole.is_empty() { "0" } else { whole });
    let (value, resolution) = decimal(&number, exponent + unit.exponent)?;
    Ok(Some(Read { value, resolution, tolerance, explicit: true, prefix: 0 }))
}

/// What may stand behind a marking: nothing, the unit, or a tolerance letter.
fn tail_of_marking(tail: &str, unit: &Unit) -> Result<Option<&'static str>, Refusal> {
    if tail.is_empty() || is_unit(tail, unit) {
        return Ok(None);
    }
    tolerance_letter(tail, unit).map(Some).ok_or_else(|| not_understood(tail, unit))
}

/// Tolerance letters of IEC 60062, in per cent. In farads F is the unit.
fn tolerance_letter(text: &str, unit: &Unit) -> Option<&'static str> {
    if !unit.marked || (text == "F" && unit.symbol == "F") {
        return None;
    }
    let table = [
        ("B", "0.1"),
        ("C", "0.25"),
        ("D", "0.5"),
        ("F", "1"),
        ("G", "2"),
        ("H", "3"),
        ("J", "5"),
        ("K", "10"),
        ("M", "20"),
    ];
    table.iter().find(|(letter, _)| *letter == text).map(|(_, per_cent)| *per_cent)
}

/// A plain number with, perhaps, a prefix and a unit.
fn plain(number: &str, rest: &str, unit: &Unit, shown: i32) -> Result<Read, Refusal> {
    let compact: String = rest.split_whitespace().collect();
    if compact.is_empty() {
        let number = settle_comma(number, false)?;
        let (value, resolution) = decimal(&number, shown + unit.exponent)?;
        return Ok(Read { value, resolution, tolerance: None, explicit: false, prefix: shown });
    }
    let (exponent, tolerance) = suffix(number, &compact, unit)?;
    let number = settle_comma(number, exponent != 0)?;
    let (value, resolution) = decimal(&number, exponent + unit.exponent)?;
    Ok(Read { value, resolution, tolerance, explicit: true, prefix: exponent })
}

/// Reads `kΩ`, `k`, `Ω`, `kJ` behind a number: the prefix's power of ten, and a tolerance where a letter sets one.
fn suffix(number: &str, compact: &str, unit: &Unit) -> Result<(i32, Option<&'static str>), Refusal> {
    match unit_with_prefix(compact, unit) {
        Some(Ok(exponent)) => return Ok((exponent, None)),
        Some(Err(letter)) => return Err(prefix_refused(number, letter, unit)),
        None => {}
    }
    if let Some((last, _)) = compact.char_indices().next_back()
        && let Some(tolerance) = tolerance_letter(&compact[last..], unit)
        && let Some(Ok(exponent)) = unit_with_prefix(&compact[..last], unit)
    {
        return Ok((exponent, Some(tolerance)));
    }
    Err(not_understood(compact, unit))
}

/// The power of ten of `kΩ`, `k` or `Ω`; an error with the letter when the unit does not take that prefix; `None` when
/// the text is neither prefix nor unit.
fn unit_with_prefix(compact: &str, unit: &Unit) -> Option<Result<i32, char>> {
    if is_unit(compact, unit) {
        return Some(Ok(0));
    }
    let mut letters = compact.chars();
    let first = letters.next()?;
    let exponent = prefix_exponent(first)?;
    if !(letters.as_str().is_empty() || is_unit(letters.as_str(), unit)) {
        return None;
    }
    Some(if allowed(first, unit) { Ok(exponent) } else { Err(first) })
}

fn prefix_refused(number: &str, letter: char, unit: &Unit) -> Refusal {
    // Both readings of m and M; of any other letter the plain unit.
    let readings: &[char] = if matches!(letter, 'm' | 'M') { &['m', 'M'] } else { &[] };
    let mut offers: Vec<String> =
        readings.iter().map(|prefix| format!("{number} {prefix}{}", unit.symbol)).collect();
    if offers.is_empty() {
        offers.push(format!("{number} {}", unit.symbol));
    }
    Refusal::Prefix { letter, offers }
}

fn is_unit(text: &str, unit: &Unit) -> bool {
    let compact: String = text.split_whitespace().collect();
    compact == unit.symbol
        || (!unit.symbol.is_empty() && compact.eq_ignore_ascii_case(unit.symbol))
        || unit.spellings.iter().any(|spelling| compact.eq_ignore_ascii_case(&spelling.replace(' ', "")))
}

/// Names what is wrong with letters that are neither a sensible prefix nor this unit.
fn not_understood(text: &str, unit: &Unit) -> Refusal {
    let bare = |text: &str| {
        UNITS.iter().find(|other| is_unit(text, other)).or_else(|| {
            let behind = text
                .strip_prefix(|first| PREFIXES.iter().any(|(letter, _)| *letter == first) || first == 'K')?;
            UNITS.iter().find(|other| !other.symbol.is_empty() && is_unit(behind, other))
        })
    };
    match bare(text) {
        Some(other) if other.symbol != unit.symbol => return Refusal::WrongUnit { typed: other.name },
        Some(_) => return Refusal::Unknown { text: text.to_owned() },
        None => {}
    }
    let splits = (1..text.len()).filter(|at| text.is_char_boundary(*at));
    let two = splits.into_iter().any(|at| bare(&text[..at]).is_some() && bare(&text[at..]).is_some());
    if two { Refusal::TwoUnits } else { Refusal::Unknown { text: text.to_owned() } }
}

/// Decides what the comma is, or says that it cannot be decided.
fn settle_comma(number: &str, prefixed: bool) -> Result<String, Refusal> {
    let commas = number.matches(',').count();
    if commas == 0 {
        return Ok(number.to_owned());
    }
    if commas > 1 || number.contains('.') {
        return Err(Refusal::Marks);
    }
    let (whole, fraction) = number.split_once(',').unwrap_or((number, ""));
    let grouped = fraction.len() == 3 && fraction.bytes().all(|byte| byte.is_ascii_digit());
    let first_counts = whole.bytes().any(|byte| (b'1'..=b'9').contains(&byte));
    if grouped && first_counts && !prefixed {
        let decimal = format!("{whole}.{}", fraction.trim_end_matches('0'));
        return Err(Refusal::Comma {
            decimal: decimal.trim_end_matches('.').to_owned(),
            thousands: format!("{whole}{fraction}"),
        });
    }
    Ok(number.replace(',', "."))
}

/// The value of a decimal number or a fraction times ten to the `exponent`, and the worth of its last digit.
fn decimal(number: &str, exponent: i32) -> Result<(f64, f64), Refusal> {
    let number = without_groups(number)?;
    if let Some((upper, lower)) = number.split_once('/') {
        let (upper, lower) = (scaled(upper, exponent)?.0, scaled(lower, 0).map_err(|_| Refusal::Fraction)?.0);
        return if lower == 0.0 { Err(Refusal::Fraction) } else { Ok((upper / lower, 0.0)) };
    }
    let (mantissa, own) = match number.split_once(['e', 'E']) {
        Some((mantissa, own)) => (mantissa, own.parse::<i32>().map_err(|_| Refusal::Digits)?),
        None => (number.as_str(), 0),
    };
    scaled(mantissa, exponent.saturating_add(own))
}

/// A decimal number times ten to the `exponent`, and the worth of its last digit.
///
/// Fifteen digits make an integer that an `f64` holds exactly, and so are the powers of ten to 22: one multiplication
/// or division gives the very number that the full decimal parser would, without its table of ten kilobytes.
fn scaled(mantissa: &str, exponent: i32) -> Result<(f64, f64), Refusal> {
    let (whole, fraction) = mantissa.split_once('.').unwrap_or((mantissa, ""));
    if fraction.contains('.') {
        return Err(Refusal::Marks);
    }
    let mut integer = 0_u64;
    for digit in whole.chars().chain(fraction.chars()) {
        let digit = digit.to_digit(10).ok_or(Refusal::NoNumber)?;
        integer = integer * 10 + u64::from(digit);
        if integer >= 1_000_000_000_000_000 {
            return Err(Refusal::Digits);
        }
    }
    if whole.is_empty() && fraction.is_empty() {
        return Err(Refusal::NoNumber);
    }
    let places = i32::try_from(fraction.len()).map_err(|_| Refusal::Digits)?;
    let last = exponent.saturating_sub(places);
    if !(-22..=22).contains(&last) {
        return Err(Refusal::Digits);
    }
    // Exact: below ten to the 15 every integer is an `f64`.
    #[expect(clippy::cast_precision_loss)]
    let integer = integer as f64;
    let value = if last < 0 { integer / ten_to(-last) } else { integer * ten_to(last) };
    Ok((value, ten_to(last)))
}

/// Ten to a power from −22 to 22, exact for those from 0; zero beyond them.
#[must_use]
pub fn ten_to(power: i32) -> f64 {
    const POWERS: [f64; 23] = [
        1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16, 1e17,
        1e18, 1e19, 1e20, 1e21, 1e22,
    ];
    let exact = usize::try_from(power.unsigned_abs()).ok().and_then(|power| POWERS.get(power)).copied();
    exact.map_or(0.0, |exact| if power < 0 { 1.0 / exact } else { exact })
}

/// Takes the spaces out of `10 000`; any other spacing of digits is no number.
fn without_groups(number: &str) -> Result<String, Refusal> {
    if !number.contains(' ') {
        return Ok(number.to_owned());
    }
    let whole = number.split(['.', ',', '/', 'e', 'E']).next().unwrap_or_default();
    let mut groups = whole.split(' ');
    let first = groups.next().unwrap_or_default().len();
    let spaces_elsewhere = number.len() > whole.len() && number[whole.len()..].contains(' ');
    if (1..=3).contains(&first) && groups.all(|group| group.len() == 3) && !spaces_elsewhere {
        Ok(number.replace(' ', ""))
    } else {
        Err(Refusal::Marks)
    }
}

#[cfg(test)]
#[path = "notation/tests.rs"]
mod tests;
