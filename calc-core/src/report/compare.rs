//! Two states of a calculator side by side.

use super::{Answered, Table};
use crate::calculator::Outcome;
use crate::form::{Field, tolerance_id};
use crate::quantity::writing;

/// What is in a cell that one of the states does not have.
const NONE: &str = "not asked";

/// The state that was kept aside beside the one that is there now: the fields that differ, every answer, every verdict.
#[must_use]
pub fn compared(kept: &Outcome, now: &Outcome) -> Table {
    let mut rows = rows(&texts(&kept.fields), &texts(&now.fields));
    rows.retain(|row| row.kept != row.now);
    if let (Some(kept), Some(now)) = (&kept.report, &now.report) {
        let written = |answered: &Answered| format!("{} ({})", answered.value(), answered.span());
        let answers = |all: &[Answered]| -> Vec<_> {
            all.iter()
                .map(|one| (one.answer.id.to_owned(), one.answer.name.to_owned(), written(one)))
                .collect()
        };
        let value = |all: &[Answered], id: &str| {
            all.iter().find(|one| one.answer.id == id).map(|one| (one.margin.value, one.answer.unit))
        };
        let mut answers = self::rows(&answers(&kept.answers), &answers(&now.answers));
        for row in &mut answers {
            if let (Some((was, _)), Some((is, unit))) =
                (value(&kept.answers, &row.id), value(&now.answers, &row.id))
            {
                let plus = if is > was { "+" } else { "" };
                row.difference = match writing::nearest(is, unit) == writing::nearest(was, unit) {
                    true => "the same".to_owned(),
                    false => format!("{plus}{}", writing::nearest(is - was, unit)),
                };
            }
        }
        rows.extend(answers);
        let verdicts = |report: &super::Report| -> Vec<_> {
            let verdicts = report.verdicts.iter();
            verdicts.map(|verdict| (verdict.about.clone(), verdict.about.clone(), verdict.word())).collect()
        };
        let mut verdicts = self::rows(&verdicts(kept), &verdicts(now));
        for row in &mut verdicts {
            row.difference = if row.kept == row.now { "the same" } else { "changed" }.to_owned();
        }
        rows.extend(verdicts);
    }
    Table {
        title: "Kept aside, and now".to_owned(),
        head: ["", "Kept", "Now", "Difference"].map(str::to_owned).to_vec(),
        rows: rows.into_iter().map(|row| vec![row.name, row.kept, row.now, row.difference]).collect(),
    }
}

/// A row, before it is one of a table.
struct Row {
    id: String,
    name: String,
    kept: String,
    now: String,
    difference: String,
}

/// What both have, and what only one has, each by its id, name and words.
fn rows(kept: &[(String, String, String)], now: &[(String, String, String)]) -> Vec<Row> {
    let words = |of: &[(String, String, String)], id: &str| {
        of.iter()
            .find(|(known, ..)| known == id)
            .map_or_else(|| NONE.to_owned(), |(_, _, words)| words.clone())
    };
    let only_kept = kept.iter().filter(|(id, ..)| now.iter().all(|(known, ..)| known != id));
    let all = now.iter().chain(only_kept);
    all.map(|(id, name, _)| Row {
        id: id.clone(),
        name: name.clone(),
        kept: words(kept, id),
        now: words(now, id),
        difference: String::new(),
    })
    .collect()
}

/// What is in each field, and how far it may be off.
fn texts(fields: &[Field]) -> Vec<(String, String, String)> {
    fields
        .iter()
        .flat_map(|field| {
            let text = if field.reading.is_empty() { &field.text } else { &field.reading };
            let off = field.tolerance.as_ref();
            let off = off.map(|off| (tolerance_id(field.id), format!("± {}", field.name), off.text.clone()));
            [(field.id.to_owned(), field.name.to_owned(), text.clone())].into_iter().chain(off)
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::calculators::asked::outcome;

    #[test]
    fn what_differs_is_beside_what_it_changed() {
        let kept = outcome("output-power", &[("voltage", "18 V")]);
        let now = outcome("output-power", &[("voltage", "20 V"), ("voltage.tolerance", "3 %")]);
        let table = compared(&kept, &now);
        let row = |name: &str| table.rows.iter().find(|row| row[0] == name).map(|row| row[1..].join("; "));
        let field = now.fields.iter().find(|field| field.id == "voltage").unwrap().name;
        assert_eq!(row(field).map(|row| row.replace('\u{a0}', " ")), Some("18 V; 20 V; ".to_owned()));
        // 18²/8 = 40.5 W, 20²/8 = 50 W.
        let power = row("Output power").unwrap().replace('\u{a0}', " ");
        assert!(power.starts_with("40.5 W") && power.ends_with("+9.50 W"), "{power}");
        assert_eq!(
            table.rows.iter().filter(|row| row[3].is_empty()).count(),
            2,
            "value and tolerance: {table:?}"
        );
        assert!(compared(&now, &now).rows.iter().all(|row| row[3] == "the same"));
    }

    #[test]
    fn what_only_one_state_asks_is_said() {
        let kept = outcome("dissipation", &[("screen-how", "unknown")]);
        let now = outcome("dissipation", &[]);
        let table = compared(&kept, &now);
        assert!(table.rows.iter().any(|row| row[1] == NONE && row[2] != NONE), "{table:?}");
    }
}
