//! A limit as it is written: a fixed text (`-41 V`), a value of the job (`1.1 × job.load`), a calculator's answer
//! (`0.9 × mains-drift.heater`).

use calc_core::quantity::notation;
use calc_core::quantity::unit::ONE;

use crate::unit::Measure;

/// A limit.
#[derive(Debug, Clone, PartialEq)]
pub struct Bound {
    /// What the rest is multiplied by.
    pub factor: f64,
    /// The rest.
    pub of: Of,
}

/// What a limit is of.
#[derive(Debug, Clone, PartialEq)]
pub enum Of {
    /// A fixed value, in SI units.
    Fixed(f64),
    /// A value of the job.
    Job(String),
    /// A calculator's answer.
    Answer {
        /// The calculator.
        calculator: String,
        /// The answer.
        answer: String,
    },
}

impl Bound {
    /// Reads a limit; a fixed one in the reading's own unit.
    ///
    /// # Errors
    /// What is wrong with it and what would be right.
    pub fn read(text: &str, measure: Measure) -> Result<Self, (String, String)> {
        let (factor, name) = match text.split_once(['×', '*']) {
            Some((factor, name)) => (Some(factor.trim()), name.trim()),
            None => (None, text.trim()),
        };
        let named = name.split_once('.').filter(|(first, second)| is_name(first) && is_name(second));
        let Some((first, second)) = named else {
            if factor.is_some() {
                let right = "write 1.1 × job.VALUE or 1.1 × CALCULATOR.ANSWER";
                return Err(("has nothing to multiply".to_owned(), right.to_owned()));
            }
            return match notation::read(name, measure.unit, measure.shown) {
                Ok(read) => Ok(Self { factor: 1.0, of: Of::Fixed(read.value) }),
                Err(_) => Err((
                    format!("is neither a figure in {} nor a name", measure.written()),
                    format!("write it as -41 {}, job.VALUE or CALCULATOR.ANSWER", measure.written()),
                )),
            };
        };
        let factor = match factor.map(|factor| notation::read(factor, &ONE, 0)) {
            None => 1.0,
            Some(Ok(read)) if read.value > 0.0 => read.value,
            Some(_) => {
                return Err(("its factor is no number above nothing".to_owned(), "write 1.1 × …".to_owned()));
            }
        };
        let of = if first == "job" {
            Of::Job(second.to_owned())
        } else {
            Of::Answer { calculator: first.to_owned(), answer: second.to_owned() }
        };
        Ok(Self { factor, of })
    }
}

/// Whether a text is a name: it begins with a letter, so that no figure is one.
fn is_name(text: &str) -> bool {
    text.starts_with(|first: char| first.is_ascii_lowercase())
        && text.bytes().all(|byte| byte.is_ascii_lowercase() || byte.is_ascii_digit() || byte == b'-')
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
}
