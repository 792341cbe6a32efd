//! Works out what the bench needs to know. Pure and total: no files, no clock, no HTML; every input leads to an answer
//! or to an error that names its field.
//!
//! - [`quantity`] reads and writes what people type at the bench, with units that cannot be mixed up.
//! - [`margin`] says how far an answer may be off.
//! - [`valve`] and [`source`] are tables: ratings, each with where it comes from (`data/*.toml`).
//! - [`preferred`] values: what one can buy.
//! - [`numeric`]: where a function passes through zero, filters of first order, what was worked out last.
//! - [`circuit`] solves circuits: operating point, sweep of frequencies, transient.
//! - [`pot`]: laws of potentiometers, alone and in a circuit.
//! - [`form`] is what a calculator asks, [`report`] what it answers; [`calculator`] joins the two with the margins.
//! - [`mod@calculators`] is the trade: one file a calculator.
//!
//! ```
//! use calc_core::calculator::Inputs;
//! let inputs = Inputs::from([("cathode-current".into(), "38mA".into())]);
//! let outcome = calc_core::calculate("dissipation", &inputs).unwrap();
//! assert!(outcome.report.unwrap().summary.contains("W"));
//! ```

#![forbid(unsafe_code)]
#![warn(missing_docs)]

pub mod calculator;
pub mod calculators;
pub mod circuit;
pub mod form;
pub mod margin;
pub mod numeric;
pub mod pot;
pub mod preferred;
pub mod quantity;
pub mod report;
mod sheet;
pub mod source;
pub mod valve;

use calculator::{Entry, Inputs, Outcome};

/// No calculator has this id.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("there is no calculator “{id}”{}", nearest.map(|name| format!("; is it “{name}”?")).unwrap_or_default())]
pub struct UnknownCalculator {
    /// What was asked for.
    pub id: String,
    /// The nearest id there is.
    pub nearest: Option<&'static str>,
}

/// All calculators, in the order of the book.
pub fn calculators() -> impl Iterator<Item = &'static Entry> {
    calculators::REGISTER.iter()
}

/// The calculator with this id.
///
/// # Errors
/// [`UnknownCalculator`], with the nearest id there is.
pub fn find(id: &str) -> Result<&'static Entry, UnknownCalculator> {
    calculators().find(|entry| entry.sheet.id == id).ok_or_else(|| UnknownCalculator {
        id: id.to_owned(),
        nearest: nearest(id, calculators().map(|entry| entry.sheet.id)),
    })
}

/// Works out the calculator with this id.
///
/// # Errors
/// [`UnknownCalculator`]; whatever else is wrong is at its field in the [`Outcome`].
pub fn calculate(id: &str, inputs: &Inputs) -> Result<Outcome, UnknownCalculator> {
    find(id).map(|entry| entry.run(inputs))
}

/// The name that is most like `word`, if one is like it at all. A word that is longer than any name is like none: it is not
/// compared, for that takes as long as both are.
pub fn nearest<'n>(word: &str, names: impl IntoIterator<Item = &'n str>) -> Option<&'n str> {
    /// The longest text, in bytes, for which a near name is looked for.
    const LONGEST: usize = 100;
    if word.len() > LONGEST {
        return None;
    }
    let distance = |name: &str| strsim::osa_distance(&word.to_ascii_lowercase(), &name.to_ascii_lowercase());
    names
        .into_iter()
        .min_by_key(|name| distance(name))
        .filter(|name| distance(name) <= name.len().div_ceil(2))
}
