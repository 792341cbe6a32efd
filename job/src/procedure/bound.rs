//! Limits: a fixed figure (`-41 V`), a value of the job (`1.1 × job.load`), a calculator's answer
//! (`0.9 × mains-drift.heater`); what may lie between plausible figures; how far blanks may lie apart.

use calc_core::quantity::notation;
use calc_core::quantity::unit::{ONE, PER_CENT};
use serde::{Deserialize, Serialize};

use crate::unit::Measure;

/// A limit as a page writes it: a factor times a figure, a value of the job or an answer.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Bound {
    /// What the rest is multiplied by.
    #[serde(default = "one", skip_serializing_if = "is_one")]
    pub factor: f64,
    /// The value of the job or the answer that the factor multiplies.
    pub of: Of,
}

const fn one() -> f64 {
    1.0
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "as serde asks")]
fn is_one(factor: &f64) -> bool {
    *factor == 1.0
}

/// What a limit is of.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Of {
    /// A fixed value, in SI units.
    Fixed(f64),
    /// A value of the job.
    Job(String),
    /// An answer of a calculator, worked out from what the job knows.
    Answer {
        /// The id of the calculator.
        calculator: String,
        /// The id of its answer.
        answer: String,
    },
}

impl Bound {
    /// Reads a limit; a fixed one in the reading's own unit.
    ///
    /// # Errors
    /// What is wrong with it and what would be right.
    pub fn read(text: &str, measure: Measure) -> Result<Self, (String, String)> {
        if let Some(bound) = Self::named(text)? {
            return Ok(bound);
        }
        match notation::read(text.trim(), measure.unit, measure.shown) {
            Ok(read) => Ok(Self { factor: 1.0, of: Of::Fixed(read.value) }),
            Err(_) => Err((
                format!("is neither a figure in {} nor a name", measure.written()),
                format!("write it as -41 {}, job.VALUE or CALCULATOR.ANSWER", measure.written()),
            )),
        }
    }

    /// Reads a limit that names a value or an answer; `None` of a text that names none.
    ///
    /// # Errors
    /// What is wrong with its factor and what would be right.
    pub fn named(text: &str) -> Result<Option<Self>, (String, String)> {
        let (factor, name) = match text.split_once(['×', '*']) {
            Some((factor, name)) => (Some(factor.trim()), name.trim()),
            None => (None, text.trim()),
        };
        let named = name.split_once('.').filter(|(first, second)| is_name(first) && is_name(second));
        let Some((first, second)) = named else {
            return if factor.is_some() {
                let right = "write 1.1 × job.VALUE or 1.1 × CALCULATOR.ANSWER";
                Err(("has nothing to multiply".to_owned(), right.to_owned()))
            } else {
                Ok(None)
            };
        };
        let factor = match factor.map(|factor| notation::read(factor, &ONE, 0)) {
            None => 1.0,
            Some(Ok(read)) if read.value > 0.0 => read.value,
            Some(_) => {
                return Err(("its factor is not a number above 0".to_owned(), "write 1.1 × …".to_owned()));
            }
        };
        let of = if first == "job" {
            Of::Job(second.to_owned())
        } else {
            Of::Answer { calculator: first.to_owned(), answer: second.to_owned() }
        };
        Ok(Some(Self { factor, of }))
    }

    /// As it would be written; a fixed one in `measure`.
    #[must_use]
    pub fn written(&self, measure: Measure) -> String {
        let factor = if self.factor == 1.0 { String::new() } else { format!("{} × ", self.factor) };
        match &self.of {
            Of::Fixed(si) => measure.repeated(*si),
            Of::Job(id) => format!("{factor}job.{id}"),
            Of::Answer { calculator, answer } => format!("{factor}{calculator}.{answer}"),
        }
    }
}

/// Whether a text is a name: it begins with a letter, so that no figure is one.
fn is_name(text: &str) -> bool {
    text.starts_with(|first: char| first.is_ascii_lowercase()) && super::names::is_id(text)
}

/// What a meter may honestly show, in SI units: what lies outside is a slip of the finger until it is confirmed.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Plausible {
    /// The least that a meter may honestly show.
    pub low: f64,
    /// The most that a meter may honestly show.
    pub high: f64,
}

impl Plausible {
    /// Whether a value lies within; what is no number does not.
    #[must_use]
    pub fn holds(self, si: f64) -> bool {
        (self.low..=self.high).contains(&si)
    }
}

/// How far the blanks of a reading may lie apart.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Alike {
    /// This share of the largest.
    Share(f64),
    /// This much, in SI units.
    Span(f64),
}

impl Alike {
    /// Reads `10 %` or `1 V`.
    pub(super) fn read(text: &str, measure: Measure) -> Option<Self> {
        let not_negative = |value: f64| (value >= 0.0).then_some(value);
        if text.contains('%') {
            let share = notation::read(text, &PER_CENT, 0).ok()?;
            return not_negative(share.value).map(Self::Share);
        }
        let span = notation::read(text, measure.unit, measure.shown).ok()?;
        not_negative(span.value).map(Self::Span)
    }
}

/// A limit as a block writes it, for tests.
#[cfg(test)]
pub(crate) fn bound(text: &str) -> Option<Bound> {
    ["V", "mA", "Ω", "W"].iter().find_map(|unit| Bound::read(text, crate::unit::measure(unit).ok()?).ok())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::unit::measure;

    #[test]
    fn each_of_the_three_ways_is_read() {
        let volts = measure("V").unwrap();
        let read = |text| Bound::read(text, volts);
        assert_eq!(read("−41 V").unwrap(), Bound { factor: 1.0, of: Of::Fixed(-41.0) });
        assert_eq!(read("1.1 × job.load").unwrap(), Bound { factor: 1.1, of: Of::Job("load".into()) });
        let answer = Of::Answer { calculator: "mains-drift".into(), answer: "heater".into() };
        assert_eq!(read("0,9 * mains-drift.heater").unwrap(), Bound { factor: 0.9, of: answer });
        for wrong in ["38 mA", "2 × 41 V", "0 × job.load", "-1 × job.load", "job.", "x × job.load", ""] {
            assert!(read(wrong).is_err(), "{wrong}");
        }
    }

    #[test]
    fn how_far_apart_is_a_share_or_a_span() {
        let read = |text| Alike::read(text, measure("mV").unwrap());
        assert_eq!(
            (read("10 %"), read("1 V"), read("2")),
            (Some(Alike::Share(0.1)), Some(Alike::Span(1.0)), Some(Alike::Span(0.002)))
        );
        assert_eq!((read("ten"), read("-1 V"), read("5 mA")), (None, None, None));
    }
}
