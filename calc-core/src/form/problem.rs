//! What is said when something typed cannot be used: the field, what was typed, what is wrong, what would be right.

use super::line::shortened;
use crate::quantity::notation::{LONGEST, Refusal};
use crate::quantity::unit::Unit;

/// A refusal as the reader sees it, with texts that would be right, each to be taken with one tap.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Problem {
    /// One or two sentences that name the field.
    pub message: String,
    /// Texts that could be meant; they all read well in this field.
    pub offers: Vec<String>,
}

/// Why a calculator has no answer although every field could be read: the values contradict each other.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Impossible {
    /// The field at which the contradiction is shown.
    pub field: &'static str,
    /// What contradicts what, and what to look for.
    pub message: String,
}

impl Problem {
    /// Words a refusal of `typed` in the field called `name`; `example` is a text that would be right.
    #[must_use]
    pub fn refused(refusal: Refusal, name: &str, typed: &str, unit: &Unit, example: &str) -> Self {
        let typed = typed.trim();
        let such = format!("Type it as {example}.");
        let (wrong, offers) = match refusal {
            Refusal::Empty => return Self { message: format!("{name} is empty. {such}"), offers: vec![] },
            Refusal::Long => {
                let message = format!(
                    "{name}: the text is too long to be a number; the most is {LONGEST} characters. {such}"
                );
                return Self { message, offers: vec![] };
            }
            Refusal::NoNumber => (format!("there is no number in it. {such}"), vec![]),
            Refusal::Marks => (format!("its decimal marks or spaces do not make one number. {such}"), vec![]),
            Refusal::Digits => (format!("it has more digits than any meter shows. {such}"), vec![]),
            Refusal::Fraction => (format!("the number below the fraction bar is zero. {such}"), vec![]),
            Refusal::Comma { decimal, thousands } => (
                format!(
                    "the comma can be a decimal mark ({decimal}) or separate thousands ({thousands}). Which is it?"
                ),
                vec![decimal, thousands],
            ),
            Refusal::Prefix { letter, offers } => {
                (format!("the prefix {letter} cannot be used here. It could mean {}.", or(&offers)), offers)
            }
            Refusal::WrongUnit { typed } => {
                (format!("this field takes {}, but that is in {typed}. {such}", unit_name(unit)), vec![])
            }
            Refusal::TwoUnits => (format!("it has more than one unit. {such}"), vec![]),
            Refusal::Tolerance => (format!("a tolerance must be between 0 and 100 %. {such}"), vec![]),
            Refusal::Unknown { text } => (
                format!(
                    "“{text}” is not a prefix or unit for this field, which takes {}. {such}",
                    unit_name(unit)
                ),
                vec![],
            ),
        };
        Self { message: format!("{name}: “{typed}” cannot be used; {wrong}"), offers }
    }

    pub(crate) fn about(name: &str, typed: &str, wrong: &str, offers: Vec<String>) -> Self {
        let typed = shortened(typed.trim());
        Self { message: format!("{name}: “{typed}” cannot be used; {wrong}"), offers }
    }
}

/// `a, b or c`.
pub(crate) fn or(words: &[String]) -> String {
    match words {
        [] => String::new(),
        [one] => one.clone(),
        [first @ .., last] => format!("{} or {last}", first.join(", ")),
    }
}

fn unit_name(unit: &Unit) -> &str {
    if unit.symbol.is_empty() { "a plain number" } else { unit.name }
}
