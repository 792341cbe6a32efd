//! The reader's own points: volts from the cathode, and what flows there.

use crate::calculator::{Ask, Form, Point, Side};
use crate::numeric::memo::MemoLast;
use crate::quantity::unit::{AMPERE, VOLT};
use crate::valve::fit::{Row, fit};
use crate::valve::model::{Model, Volts};

const ANODE: Side = Side { name: "anode voltage", unit: &VOLT, exponent: 0, low: 1.0, high: 1500.0 };
const SCREEN: Side = Side { name: "screen voltage", ..ANODE };
const GRID: Side = Side { name: "grid voltage, negative", low: -300.0, high: 0.0, ..ANODE };
const CURRENT: Side = Side { name: "anode current", unit: &AMPERE, exponent: -3, low: 1e-6, high: 4.0 };

const TRIODE: Form = Form { places: &[ANODE, GRID], readings: &[CURRENT], optional: 0, least: 1 };
const PENTODE: Form = Form {
    places: &[ANODE, SCREEN, GRID],
    readings: &[CURRENT, Side { name: "screen current", ..CURRENT }],
    optional: 1,
    least: 1,
};

/// Asks for them; nothing is left of one that is not whole.
pub fn ask(a: &mut Ask, triode: bool) -> Vec<Row> {
    let (hint, default, form) = if triode {
        ("Volts from the cathode, anode/grid: anode current in mA; next point.", "250/-2: 1.2", &TRIODE)
    } else {
        (
            "Volts from the cathode, anode/screen/grid: anode/screen current in mA; next point.",
            "438/434/-46: 32.5/1.5",
            &PENTODE,
        )
    };
    a.points("points", "Your points", hint, default, form).iter().filter_map(row).collect()
}

fn row(point: &Point) -> Option<Row> {
    let volts = match *point.at.as_slice() {
        [anode, grid] => Volts { anode, screen: 0.0, grid },
        [anode, screen, grid] => Volts { anode, screen, grid },
        _ => return None,
    };
    let (anode, screen) = (*point.read.first()?, point.read.get(1).copied());
    Some(Row { volts, anode, screen, gm: None, ra: None, cut_off: false })
}

thread_local! {
    /// By where the fit began and the points.
    static LAST: MemoLast<(Model, Vec<Row>), Model> = const { MemoLast::new() };
}

/// The model fitted to these points. The last one is kept: every margin asks for it again, and no key changes it but one
/// in the points themselves.
pub fn fit_once(begin: Model, rows: &[Row]) -> Model {
    LAST.with(|last| last.of((begin, rows.to_vec()), |(begin, rows)| fit(begin, rows)))
}
