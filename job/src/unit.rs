//! The unit of a reading as a block writes it (`mV`, `V RMS`, `kΩ`), and a text understood in it.

use calc_core::calculator::Problem;
use calc_core::quantity::notation::{Read, ten_to};
use calc_core::quantity::unit::{ONE, PREFIXES, UNITS, Unit};
use calc_core::quantity::{notation, writing};

/// What a number is measured in: the unit and the prefix that a bare number takes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Measure {
    /// The unit without a prefix.
    pub unit: &'static Unit,
    /// The power of ten of the prefix: −3 in `mV`.
    pub shown: i32,
}

impl Default for Measure {
    fn default() -> Self {
        Self { unit: &ONE, shown: 0 }
    }
}

/// Reads `mV`, `V RMS`, `kΩ`, `Ω`; nothing is a plain number.
///
/// # Errors
/// Units that would be right.
pub fn measure(text: &str) -> Result<Measure, String> {
    let bare = [" RMS", " DC", " AC"].iter().find_map(|how| text.strip_suffix(how)).unwrap_or(text).trim();
    let of = |symbol: &str| UNITS.iter().find(|unit| unit.symbol == symbol).copied();
    if let Some(unit) = of(bare) {
        return Ok(Measure { unit, shown: 0 });
    }
    let mut letters = bare.chars();
    let prefix = letters.next().map(|letter| if matches!(letter, 'µ' | 'μ') { 'u' } else { letter });
    let power = PREFIXES.iter().find(|(letter, _)| Some(*letter) == prefix).map(|(_, power)| *power);
    match (power, of(letters.as_str()), prefix) {
        (Some(shown), Some(unit), Some(prefix)) if unit.prefixes.contains(prefix) => {
            Ok(Measure { unit, shown })
        }
        _ => {
            let known: Vec<&str> =
                UNITS.iter().map(|unit| unit.symbol).filter(|symbol| !symbol.is_empty()).collect();
            Err(format!("one of {}, with a prefix where the unit takes it, as mV", known.join(", ")))
        }
    }
}

/// How a reading is kept that lies beyond the meter's range, or is of an open circuit.
pub const OVER_RANGE: &str = "OL";

/// Whether a text is what meters show beyond their range: `OL`, `O.L`, `0L`, with the unit or a sign beside it.
#[must_use]
pub fn is_over_range(text: &str, measure: Measure) -> bool {
    // Longer is nothing that a meter shows.
    const LONGEST: usize = 16;
    let text = text.trim();
    if text.len() > LONGEST {
        return false;
    }
    let bare = text.trim_start_matches(['+', '-', '−', '–']).trim_start();
    let mut letters = bare.chars().filter(|letter| !letter.is_whitespace()).peekable();
    let zero = letters.next().is_some_and(|letter| matches!(letter, 'O' | 'o' | '0'));
    let _ = letters.next_if_eq(&'.');
    let l = letters.next().is_some_and(|letter| matches!(letter, 'L' | 'l'));
    let _ = letters.next_if_eq(&'.');
    let rest: String = letters.collect();
    let unit = measure.unit.symbol;
    let of_the_unit = rest.strip_suffix(unit).is_some_and(|prefix| matches!(prefix, "" | "k" | "M" | "m"));
    zero && l && (rest.is_empty() || (!unit.is_empty() && of_the_unit))
}

/// A text that was understood as a number.
#[derive(Debug, Clone, PartialEq)]
pub struct Parsed {
    /// The value in SI units.
    pub si: f64,
    /// The text with its unit, so that it means the same elsewhere.
    pub canonical: String,
    measure: Measure,
    signed: bool,
}

impl Measure {
    /// Reads a text. A bare number below one where the unit has a prefix is asked back: 0.038 in mA is more likely 38 mA.
    ///
    /// # Errors
    /// What is wrong, naming what is called `name`, with texts that would be right.
    pub fn parse(self, name: &str, text: &str) -> Result<Parsed, Problem> {
        let text = text.trim();
        let example = format!(
            "a number in {}",
            if self.written().is_empty() { "digits".to_owned() } else { self.written() }
        );
        let read = notation::read(text, self.unit, self.shown)
            .map_err(|refusal| Problem::refused(refusal, name, text, self.unit, &example))?;
        if let Some(problem) = self.likelier(name, text, &read) {
            return Err(problem);
        }
        let signed = text.starts_with(['+', '-', '−', '–', '‐', '‑']);
        let canonical = if read.explicit {
            text.to_owned()
        } else {
            format!("{text} {}", self.written()).trim().to_owned()
        };
        Ok(Parsed { si: read.value, canonical, measure: self, signed })
    }

    /// 0.038 typed where milliamperes are meant is 38 mA or 0.038 mA, and only the one who typed it knows.
    fn likelier(self, name: &str, text: &str, read: &Read) -> Option<Problem> {
        let magnitude = read.value.abs();
        if self.shown == 0 || read.explicit || magnitude == 0.0 || magnitude >= ten_to(self.shown) {
            return None;
        }
        let (meant, literal) = (
            writing::bench(read.value / ten_to(self.shown), self.unit),
            format!("{text} {}", self.written()),
        );
        let message = format!(
            "{name}: “{text}”: a bare number here is in {}. Is it {meant}, or {literal}?",
            self.written()
        );
        Some(Problem { message, offers: vec![meant, literal] })
    }

    /// Prefix and symbol, as `mA`.
    #[must_use]
    pub fn written(self) -> String {
        let prefix = PREFIXES.iter().find(|(_, power)| *power == self.shown).map(|(letter, _)| *letter);
        let prefix = prefix.map(|letter| if letter == 'u' { 'µ' } else { letter });
        format!("{}{}", prefix.map(String::from).unwrap_or_default(), self.unit.symbol)
    }

    /// A value in this unit, for readers: `−41 V`.
    #[must_use]
    pub fn repeated(self, si: f64) -> String {
        writing::repeated(si, self.unit)
    }
}

impl Parsed {
    /// Whether it is above nothing and no sign was typed: where it must be below, the sign was forgotten or it is wrong.
    #[must_use]
    pub fn unsigned(&self) -> bool {
        self.si > 0.0 && !self.signed
    }

    /// Asks for the sign: below nothing, as it should be, or above, as it was typed.
    #[must_use]
    pub fn asked_back(&self, name: &str) -> Problem {
        let below = writing::bench(-self.si, self.measure.unit);
        let above = format!("+{}", writing::bench(self.si, self.measure.unit));
        let message = format!("{name}: no sign was typed. Is it {}?", self.measure.repeated(-self.si));
        Problem { message, offers: vec![below, above] }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_units_of_the_book_are_read() {
        for (text, symbol, shown) in [
            ("V", "V", 0),
            ("V RMS", "V", 0),
            ("mV", "V", -3),
            ("kΩ", "Ω", 3),
            ("µF", "F", -6),
            ("MΩ", "Ω", 6),
            ("", "", 0),
        ] {
            let read = measure(text).unwrap();
            assert_eq!((read.unit.symbol, read.shown), (symbol, shown), "{text}");
        }
        for text in ["volt", "nV", "seen", "mΩ"] {
            assert!(measure(text).is_err(), "{text}");
        }
    }

    #[test]
    fn a_likely_slip_is_asked_back() {
        let problem = measure("mA").unwrap().parse("Idle current", "0.038").unwrap_err();
        assert_eq!(problem.offers, ["38mA", "0.038 mA"]);
    }
}
