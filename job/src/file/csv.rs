//! The readings as a table for a spreadsheet (RFC 4180), in the order they were taken.

use crate::Job;
use crate::sheet::shown::Made;
use crate::unit::measure;

/// The readings of a job. `value` is the number in the SI unit without prefix, with `.` for the decimal mark, and empty
/// where the reading is no number; `state` is *before*, *between* or *after* the changes.
#[must_use]
pub fn readings_csv(job: &Job) -> String {
    let head = [
        "time",
        "procedure",
        "run",
        "step",
        "reading",
        "blank",
        "quantity",
        "as typed",
        "value",
        "unit",
        "range",
        "judged",
        "state",
    ];
    let made = Made::of(job);
    let rows = job.readings.iter().map(|taken| {
        let measured = measure(&taken.unit).ok();
        let value = measured.and_then(|measure| measure.understood("", &taken.text).ok());
        [
            taken.at.to_string(),
            taken.procedure.clone(),
            taken.run.to_string(),
            taken.step.clone(),
            taken.reading.clone(),
            taken.blank.clone(),
            taken.quantity.clone(),
            taken.text.clone(),
            value.map(|value| value.si.to_string()).unwrap_or_default(),
            measured.map_or(taken.unit.as_str(), |measure| measure.unit.symbol).to_owned(),
            taken.range.clone(),
            taken.judged.words().to_owned(),
            made.state(taken).word().to_owned(),
        ]
    });
    let line =
        |cells: &[String]| cells.iter().map(|cell| quoted(cell)).collect::<Vec<_>>().join(",") + "\r\n";
    rows.fold(line(&head.map(str::to_owned)), |table, row| table + &line(&row))
}

/// A cell. What a spreadsheet would take for a formula, and is no number, is set off by an apostrophe.
fn quoted(cell: &str) -> String {
    let formula = cell.starts_with(['=', '@', '+', '-', '\t', '\r']) && cell.parse::<f64>().is_err();
    let guard = if formula { "'" } else { "" };
    if formula || cell.contains(['"', ',', '\r', '\n']) {
        format!("\"{guard}{}\"", cell.replace('"', "\"\""))
    } else {
        cell.to_owned()
    }
}
