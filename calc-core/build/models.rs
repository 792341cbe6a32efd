//! Fits a model to each valve of the table that has rows enough, and writes what came of it as static tables.

use std::fmt::Write as _;

use serde::Deserialize;

use crate::fit::{Deviations, Row, fit};
use crate::model::{Model, Pentode, Triode, Volts};
use crate::{constant, notation, unit};

/// What is in `data/models.toml`.
#[derive(Deserialize)]
pub struct Sets {
    set: Vec<Set>,
}

/// A published set to begin from; a triode's has KVB and VCT.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Set {
    valve: String,
    from: String,
    mu: f64,
    ex: f64,
    kg1: f64,
    kp: f64,
    kvb: Option<f64>,
    #[serde(default)]
    vct: f64,
}

impl Set {
    /// A pentode begins with what is usual of screens; Koren's 2·arctan comes to π far above the knee.
    fn model(&self) -> Model {
        let Self { mu, ex, kg1, kp, vct, .. } = *self;
        match self.kvb {
            Some(kvb) => Model::Triode(Triode { mu, ex, kg1, kp, kvb, vct }),
            None => {
                let kg1 = kg1 / std::f64::consts::PI;
                let kg2 = 16.0 * kg1;
                Model::Pentode(Pentode { mu, ex, kg1, kg2, kp, slope: 5e-4, alpha_s: 4.0, beta: 0.06 })
            }
        }
    }
}

/// The points of `data/valves.toml`.
#[derive(Deserialize)]
pub struct Valves {
    valve: Vec<Valve>,
}

#[derive(Deserialize)]
struct Valve {
    r#type: String,
    #[serde(default)]
    point: Vec<Point>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
struct Point {
    class: String,
    anode: String,
    screen: Option<String>,
    grid: String,
    anode_current: String,
    screen_current: Option<String>,
    gm: Option<String>,
    ra: Option<String>,
    from: String,
    #[serde(default)]
    note: String,
}

impl Point {
    fn row(&self) -> Result<Row, String> {
        let value = |text: &str, unit| {
            let read = notation::read(text, unit, 0);
            read.map(|read| read.value).map_err(|refusal| format!("point “{text}”: {refusal:?}"))
        };
        let given = |text: &Option<String>, unit| text.as_deref().map(|text| value(text, unit)).transpose();
        Ok(Row {
            volts: Volts {
                anode: value(&self.anode, &unit::VOLT)?,
                screen: given(&self.screen, &unit::VOLT)?.unwrap_or(0.0),
                grid: value(&self.grid, &unit::VOLT)?,
            },
            anode: value(&self.anode_current, &unit::AMPERE)?,
            screen: given(&self.screen_current, &unit::AMPERE)?,
            gm: given(&self.gm, &unit::SIEMENS)?,
            ra: given(&self.ra, &unit::OHM)?,
            cut_off: self.class == "cut-off",
        })
    }
}

/// A model needs the current and both its slopes, or as many rows.
const FEWEST_FIGURES: usize = 3;

/// No model is called better than this, however well it passes through the rows it was fitted to.
const LEAST_MARGIN: f64 = 0.15;

/// How far the rows lie from the model, as the text of a `SheetSpan`: the row over the model less one, because it is the
/// model's figure that carries the margin. Cut-off is left out.
fn against_sheet(model: &Model, rows: &[Row]) -> String {
    let used: Vec<&Row> = rows.iter().filter(|row| !row.cut_off).collect();
    let at_voltages: Vec<Deviations> = used.iter().map(|row| row.deviations(model)).collect();
    let at_current: Vec<Deviations> = used.iter().map(|row| row.deviations_at_its_current(model)).collect();
    let anode = span(&at_voltages, |off| Some(off.anode)).unwrap_or_default();
    let given = |text: Option<String>| text.map_or("None".to_owned(), |span| format!("Some({span})"));
    format!(
        "SheetSpan {{ anode: {anode}, screen: {}, gm: {}, ra: {}, mu: {} }}",
        given(span(&at_current, |off| off.screen)),
        given(span(&at_current, |off| off.gm)),
        given(span(&at_current, |off| off.ra)),
        given(span(&at_current, Deviations::mu)),
    )
}

/// One kind of figure, as the text of a `Span`; none where no row gives it.
fn span(off: &[Deviations], figure: fn(&Deviations) -> Option<f64>) -> Option<String> {
    let off = off.iter().filter_map(figure).map(|off| 1.0 / (1.0 + off) - 1.0);
    let (low, high) = off.fold((f64::MAX, f64::MIN), |(low, high), off| (low.min(off), high.max(off)));
    (low <= high).then(|| {
        let margin = (low.abs().max(high.abs()).max(LEAST_MARGIN) * 100.0).ceil();
        let wide = margin / 100.0;
        format!("Span {{ low: {low:?}, high: {high:?}, wide: {wide:?}, margin: \"{margin} %\" }}")
    })
}

/// The text of the tables: every fitted model, and every row that has one.
pub fn tables(sets: &Sets, valves: &Valves) -> Result<String, String> {
    let mut models = String::new();
    let mut begins = String::new();
    let mut rows = String::new();
    for Valve { r#type, point } in &valves.valve {
        let Some(set) = sets.set.iter().find(|set| set.valve == *r#type) else { continue };
        let about = |fault| format!("valves.toml: {type}: {fault}");
        let read: Vec<Row> = point.iter().map(Point::row).collect::<Result<_, _>>().map_err(about)?;
        let begin = set.model();
        if read.iter().map(Row::anode_figures).sum::<usize>() < FEWEST_FIGURES {
            continue;
        }
        let model = fit(&begin, &read);
        let used = || read.iter().filter(|row| !row.cut_off);
        let sheet = against_sheet(&model, &read);
        let between = |of: fn(&Row) -> f64| {
            let (low, high) = used().map(of).fold((f64::MAX, f64::MIN), |(l, h), x| (l.min(x), h.max(x)));
            format!("({low:?}, {high:?})")
        };
        let (anode, screen, current) =
            (between(|row| row.volts.anode), between(|row| row.volts.screen), between(|row| row.anode));
        let _ = writeln!(
            models,
            "Fitted {{ valve: {type:?}, model: Model::{model:?}, sheet: {sheet}, \
             reach: Reach {{ anode: {anode}, screen: {screen}, current: {current} }} }},"
        );
        let _ = writeln!(begins, "({type:?}, Model::{begin:?}, &crate::source::{}),", constant(&set.from));
        for (point, row) in point.iter().zip(&read) {
            let _ = writeln!(
                rows,
                "SheetRow {{ valve: {type:?}, class: {:?}, row: {row:?}, source: &crate::source::{}, note: {:?} }},",
                point.class,
                constant(&point.from),
                point.note
            );
        }
    }
    Ok(format!(
        "pub(super) static FITTED: &[Fitted] = &[\n{models}];\n\
         static SETS: &[(&str, Model, &Source)] = &[\n{begins}];\n\
         static ROWS: &[SheetRow] = &[\n{rows}];\n"
    ))
}
