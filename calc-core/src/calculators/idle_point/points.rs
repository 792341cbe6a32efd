//! The reader's own points, typed in one line: `438/434/-46: 32.5/1.5; 430/426/-42: 44/2.1`.
//!
//! Before the colon the voltages from the cathode: anode, screen (not for a triode), grid. After it the anode current and,
//! where it was read, the screen current; bare numbers are volts and milliamperes.

use crate::quantity::notation::read;
use crate::quantity::unit::{AMPERE, Unit, VOLT};
use std::cell::RefCell;

use crate::valve::fit::{Row, fit};
use crate::valve::model::{Model, Volts};

const MOST: usize = 100;

/// A model, the points it was begun from and fitted to, and what came of it.
type Fitted = (Model, Vec<Row>, Model);

thread_local! {
    static LAST: RefCell<Option<Fitted>> = const { RefCell::new(None) };
}

/// The model fitted to these points. The last one is kept: every margin asks for it again, and no key changes it but one
/// in the points themselves.
pub fn fit_once(begin: Model, rows: &[Row]) -> Model {
    LAST.with_borrow_mut(|last| match last {
        Some((from, points, found)) if *from == begin && points == rows => *found,
        _ => {
            let found = fit(&begin, rows);
            *last = Some((begin, rows.to_vec(), found));
            found
        }
    })
}

/// Reads the points, or says which is wrong, with what was found and what would be right.
pub fn points(text: &str, triode: bool) -> Result<Vec<Row>, String> {
    let parts: Vec<&str> = text.split(';').map(str::trim).filter(|part| !part.is_empty()).collect();
    if parts.is_empty() {
        return Err(format!("Your points are empty. Type each as {}, with ; between them.", example(triode)));
    }
    if parts.len() > MOST {
        return Err(format!("Your points are {}; {MOST} are enough.", parts.len()));
    }
    parts.iter().map(|part| point(part, triode).ok_or_else(|| wrong(part, triode))).collect()
}

/// A point as it would be typed.
pub const fn example(triode: bool) -> &'static str {
    if triode { "250/-2: 1.2" } else { "438/434/-46: 32.5/1.5" }
}

fn wrong(part: &str, triode: bool) -> String {
    let voltages = if triode { "anode/grid" } else { "anode/screen/grid" };
    let currents = if triode { "anode current" } else { "anode current/screen current" };
    format!(
        "Your points: “{part}” is no {voltages}: {currents}. Type it as {}: volts from the cathode, the grid negative, and \
         milliamperes above nothing.",
        example(triode)
    )
}

fn point(part: &str, triode: bool) -> Option<Row> {
    let (volts, currents) = part.split_once(':')?;
    let volts = numbers(volts, &VOLT, 0)?;
    let currents = numbers(currents, &AMPERE, -3)?;
    let volts = match *volts.as_slice() {
        [anode, grid] if triode => Volts { anode, screen: 0.0, grid },
        [anode, screen, grid] if !triode => Volts { anode, screen, grid },
        _ => return None,
    };
    let (anode, screen) = match *currents.as_slice() {
        [anode] => (anode, None),
        [anode, screen] if !triode => (anode, Some(screen)),
        _ => return None,
    };
    let sensible = (1.0..=1500.0).contains(&volts.anode)
        && (triode || (1.0..=1500.0).contains(&volts.screen))
        && (-300.0..=0.0).contains(&volts.grid)
        && [Some(anode), screen].into_iter().flatten().all(|current| (1e-6..=4.0).contains(&current));
    sensible.then_some(Row { volts, anode, screen, gm: None, ra: None, cut_off: false })
}

fn numbers(text: &str, unit: &Unit, shown: i32) -> Option<Vec<f64>> {
    text.split('/').map(|number| read(number, unit, shown).ok().map(|read| read.value)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn points_are_read_as_they_are_typed_at_the_bench() {
        let read = points("438/434/-46: 32.5/1.5 ; 430 V/426 V/−42 V: 44mA;", false).unwrap();
        assert_eq!(read.len(), 2);
        assert_eq!(read[0].volts, Volts { anode: 438.0, screen: 434.0, grid: -46.0 });
        assert_eq!((read[0].anode, read[0].screen), (0.0325, Some(0.0015)));
        assert_eq!((read[1].anode, read[1].screen), (0.044, None));
        assert_eq!(points("250/-2: 1.2", true).unwrap()[0].anode, 0.0012);
    }

    #[test]
    fn a_wrong_point_is_named_with_what_would_be_right() {
        for wrong in ["438/434: 32", "438/434/46: 32", "438/434/-46 32", "438/434/-46: 0", "a/b/c: d"] {
            let said = points(&format!("430/426/-42: 44; {wrong}"), false).unwrap_err();
            assert!(said.contains(wrong) && said.contains(example(false)), "{said}");
        }
        assert!(points(" ; ", true).unwrap_err().contains(example(true)));
    }
}
