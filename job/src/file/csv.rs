//! The readings as a table for a spreadsheet (RFC 4180), in the order they were taken. A byte-order mark before it says
//! that it is UTF-8: without it a spreadsheet makes other letters of `−`, `µ` and `Ω`.

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
        "purpose",
    ];
    let made = Made::of(job);
    let rows = job.readings.iter().map(|taken| {
        let measured = measure(&taken.unit).ok();
        let value = measured.and_then(|measure| measure.parse("", &taken.text).ok());
        let typed = if value.is_some() { Cell::Number } else { Cell::Words };
        [
            Cell::Words(&taken.at.to_string()).written(),
            Cell::Words(&taken.procedure).written(),
            Cell::Number(&taken.run.to_string()).written(),
            Cell::Words(&taken.step).written(),
            Cell::Words(&taken.reading).written(),
            Cell::Words(&taken.blank).written(),
            Cell::Words(&taken.quantity).written(),
            typed(&taken.text).written(),
            Cell::Number(&value.map(|value| value.si.to_string()).unwrap_or_default()).written(),
            Cell::Words(measured.map_or(taken.unit.as_str(), |measure| measure.unit.symbol)).written(),
            Cell::Words(&taken.range).written(),
            Cell::Words(&taken.verdict()).written(),
            Cell::Words(made.state(taken).word()).written(),
            Cell::Words(taken.purpose.name()).written(),
        ]
        .join(",")
    });
    rows.fold(format!("\u{feff}{}", head.join(",")), |table, row| table + "\r\n" + &row) + "\r\n"
}

/// What is between two commas.
#[derive(Clone, Copy)]
enum Cell<'c> {
    /// Any words, from anybody.
    Words(&'c str),
    /// A text that was understood as a number.
    Number(&'c str),
}

impl Cell<'_> {
    /// The cell in quotes where it needs them. Words that a spreadsheet would take for a formula are set off by an apostrophe:
    /// at their beginning, and after a mark at which it may part them into cells.
    fn written(self) -> String {
        let mut written = String::new();
        let (text, mut begins) = match self {
            Self::Words(text) => (text, true),
            Self::Number(text) => (text, false),
        };
        for letter in text.chars() {
            let parts = matches!(letter, ';' | '\t' | '\r' | '\n');
            if begins && matches!(letter, '=' | '@' | '+' | '-' | '＝' | '＠' | '＋' | '－') {
                written.push('\'');
            }
            begins = parts || (begins && letter.is_whitespace());
            written.push(letter);
        }
        let plain = written == text && !text.contains(['"', ',', ';', '\t', '\r', '\n']);
        if plain { written } else { format!("\"{}\"", written.replace('"', "\"\"")) }
    }
}
