//! The models that the book answers with: fitted to the data sheets when it is built (`build/models.rs`).

use super::fit::{Deviations, Row};
use super::margin::{SheetSpan, Span};
use super::model::{Model, Pentode, Triode, Volts};
use crate::calculator::{Standing, Verdict};
use crate::source::Source;

/// A valve's model, and how far it may be trusted.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fitted {
    /// The valve's type number.
    pub valve: &'static str,
    /// What was fitted to the rows of its sheet.
    pub model: Model,
    /// How far its own data sheet lies from it.
    pub sheet: SheetSpan,
    /// What the data sheet's rows cover.
    pub reach: Reach,
}

/// The lowest and the highest that a data sheet's rows have, in V and A.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reach {
    /// Anode voltage, in V from the cathode.
    pub anode: (f64, f64),
    /// Screen voltage, in V from the cathode; 0 in a triode.
    pub screen: (f64, f64),
    /// Anode current, in A.
    pub current: (f64, f64),
}

impl Reach {
    /// What these rows cover.
    #[must_use]
    pub fn of(rows: &[Row]) -> Self {
        let ends = |of: fn(&Row) -> f64| {
            rows.iter().map(of).fold((f64::MAX, f64::MIN), |(low, high), x| (low.min(x), high.max(x)))
        };
        Self {
            anode: ends(|row| row.volts.anode),
            screen: ends(|row| row.volts.screen),
            current: ends(|row| row.anode),
        }
    }

    /// Whether a point lies among the rows, near them, or far from all that the model knows.
    #[must_use]
    pub fn judged(&self, volts: Volts, current: f64) -> Verdict {
        let within = |stretch: f64| {
            [(volts.anode, self.anode), (volts.screen, self.screen), (current, self.current)]
                .into_iter()
                .all(|(value, (low, high))| value >= low / stretch && value <= high * stretch)
        };
        let (standing, advice) = if within(1.02) {
            (
                Standing::Within,
                "These voltages and this current are within the data-sheet figures that the model was \
                                fitted to.",
            )
        } else if within(1.6) {
            (
                Standing::Borderline,
                "Near the data-sheet figures, not among them: here the model extrapolates. Trust it less.",
            )
        } else {
            (
                Standing::CannotTell,
                "Far from every data-sheet figure that the model was fitted to: the results are a \
                                    guess.",
            )
        };
        Verdict::new("What the model was fitted to", standing, None, advice.to_owned())
    }
}

/// A row of a sheet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SheetRow {
    /// The valve's type number.
    pub valve: &'static str,
    /// “A”, “AB”, “curve” or “cut-off”.
    pub class: &'static str,
    /// Voltages and currents of the operating point.
    pub row: Row,
    /// The data sheet that the operating point is from.
    pub source: &'static Source,
    /// How it was come by; may be empty.
    pub note: &'static str,
}

include!(concat!(env!("OUT_DIR"), "/models.rs"));

/// The model of the valve with this type number; none where its data sheet is not known well enough.
#[must_use]
pub fn fitted(valve: &str) -> Option<&'static Fitted> {
    FITTED.iter().find(|fitted| fitted.valve == valve)
}

/// Where the fit of a valve's model began: a published set, and what is usual of screens; with the set's source. Apart
/// from [`fitted`], because no calculator needs it and the browser then need not hold it.
#[must_use]
pub fn began(valve: &str) -> Option<(Model, &'static Source)> {
    SETS.iter().find(|(name, ..)| *name == valve).map(|(_, model, source)| (*model, *source))
}

/// A data sheet row beside what the model gives there.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Residual {
    /// What the data sheet says, and who published it.
    pub sheet: &'static SheetRow,
    /// The model fitted to the published rows of this valve.
    pub fitted: &'static Fitted,
    /// How far it lies from the row.
    pub off: Deviations,
}

/// How far each model lies from its own data sheet, row by row, in the order of the valve table.
pub fn residuals() -> impl Iterator<Item = Residual> {
    ROWS.iter().filter_map(|sheet| {
        let fitted = fitted(sheet.valve)?;
        Some(Residual { sheet, fitted, off: sheet.row.deviations(&fitted.model) })
    })
}
