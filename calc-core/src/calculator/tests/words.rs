//! What every calculator says: where its limits come from, why something cannot be told, how each answer was worked out.

use std::collections::BTreeSet;

use super::each_choice;
use crate::calculator::{Inputs, Report, Standing, tolerance_id};
use crate::source::{self, Trust};
use crate::valve::VALVES;
use crate::{calculators, find};

/// Sentences that name a data sheet and claim nothing of a limit: where to look a limit up, and what a model was fitted to.
const NO_CLAIM: [&str; 3] = ["own data sheet", "data-sheet figure", "its data sheet"];

/// Every text of a report.
fn texts(report: &Report) -> Vec<String> {
    let mut texts = vec![report.summary.clone(), report.as_text("")];
    texts.extend(report.notes.clone());
    texts.extend(report.steps.iter().map(|step| step.says.clone()));
    texts.extend(report.carries.iter().map(|carry| carry.what.clone()));
    texts.extend(report.verdicts.iter().map(|verdict| format!("{} {}", verdict.about, verdict.advice)));
    for table in &report.tables {
        let table = table.get();
        texts.push(table.title.clone());
        texts.extend(table.head.iter().chain(table.rows.iter().flatten()).cloned());
    }
    if let Some(picture) = &report.picture {
        texts.extend([picture.title.clone(), picture.description.clone()]);
        texts.extend(picture.series.iter().map(|series| series.name.clone()));
    }
    texts
}

/// What may be in a text and name a data sheet: the titles of sources, and the notes of the valve table on where data sheets differ.
fn cited() -> BTreeSet<&'static str> {
    let mut cited: BTreeSet<&str> = source::all().iter().map(|source| source.title).collect();
    for valve in VALVES {
        let limits = &valve.limits;
        cited.extend(
            [limits.anode_voltage, limits.screen_voltage, limits.heater_cathode]
                .iter()
                .flatten()
                .map(|f| f.note),
        );
        cited.extend([limits.anode_power, limits.screen_power].iter().flatten().map(|figure| figure.note));
        cited.extend(
            [limits.grid_circuit_fixed, limits.grid_circuit_self].iter().flatten().map(|figure| figure.note),
        );
        cited.extend(limits.cathode_current.map(|figure| figure.note));
        cited.extend(
            [valve.capacitances.grid, valve.capacitances.anode_grid].iter().flatten().map(|f| f.note),
        );
    }
    cited.retain(|text| !text.is_empty());
    cited
}

#[test]
fn nothing_that_nobody_confirmed_is_called_a_data_sheet() {
    let cited = cited();
    let (mut unconfirmed, mut confirmed) = (0, 0);
    each_choice(|id, inputs, outcome| {
        let report = outcome.report.unwrap();
        for verdict in &report.verdicts {
            let Some(source) = verdict.source else { continue };
            if source.is_data_sheet() {
                confirmed += 1;
                continue;
            }
            let said = verdict.limit_and_origin().unwrap();
            assert!(!said.contains("sheet"), "{id} with {inputs:?}: {said}");
            assert!(said.ends_with(&source.origin()), "{id}: {said}");
            if source.trust == Trust::Memory {
                unconfirmed += 1;
                assert!(said.ends_with("not yet confirmed"), "{id}: {said}");
                assert!(report.as_text("").contains(&said), "{id}: {said}");
            }
        }
        // Limits of tables and summaries name the origin by the one function, in brackets.
        for text in texts(&report) {
            let mut rest = text.clone();
            for known in NO_CLAIM.iter().chain(&cited) {
                rest = rest.replace(known, "");
            }
            for origin in ["(data sheet)", "(data sheet, known from a quotation)", "; data sheet"] {
                rest = rest.replace(origin, "");
            }
            assert!(!rest.to_lowercase().contains("sheet"), "{id} with {inputs:?}: {text}");
        }
    });
    assert!(unconfirmed > 30 && confirmed > 30, "{unconfirmed}, {confirmed}");
}

/// The default valve's grid-circuit limit is not confirmed, the rating of its anode is a quoted data sheet's.
#[test]
fn a_summary_says_where_its_limit_comes_from() {
    let summary = |id: &str, typed: &[(&str, &str)]| {
        let inputs = typed.iter().map(|(id, text)| ((*id).to_owned(), (*text).to_owned())).collect();
        find(id).unwrap().run(&inputs).report.unwrap().summary.replace('\u{a0}', " ")
    };
    for id in ["bias-splitter", "master-volume"] {
        let said = summary(id, &[]);
        assert!(said.contains("100 kΩ for the 6L6GC (not yet confirmed)"), "{said}");
    }
    let said = summary("dissipation", &[]);
    assert!(said.contains("30 W for the 6L6GC (handbook, known from a quotation)"), "{said}");
    let said = summary("dissipation", &[("valve", "EL34")]);
    assert!(said.contains("25 W for the EL34 (data sheet, known from a quotation)"), "{said}");
    let said = summary("dissipation", &[("valve", "KT88")]);
    assert!(said.contains("35 W for the KT88 (not yet confirmed)"), "{said}");
    let said = summary("dissipation", &[("valve", "typed"), ("sheet", "6P3S, 1984")]);
    assert!(said.contains("30 W (typed by the reader from “6P3S, 1984”)"), "{said}");
}

/// Every tolerance in turn as wide as it can be: some ends have no answer then.
#[test]
fn what_cannot_be_told_gives_the_reason_that_applies() {
    let (mut unknown, mut judged) = (0, 0);
    for entry in calculators() {
        let fields = entry.run(&Inputs::new()).fields;
        for field in fields.iter().filter(|field| field.tolerance.is_some()) {
            let inputs = Inputs::from([(tolerance_id(field.id), "100 %".to_owned())]);
            let Some(report) = entry.run(&inputs).report else { continue };
            let id = entry.sheet.id;
            for answered in &report.answers {
                assert_eq!(
                    answered.unknown.is_some(),
                    !answered.margin.known,
                    "{id}: {}",
                    answered.answer.id
                );
                let Some(reason) = &answered.unknown else { continue };
                unknown += 1;
                // Each end alone may have an answer that a corner has not.
                let named =
                    reason.contains(&format!("“{}”", field.name)) || reason.contains("taken together");
                assert!(named, "{id}, {}: {reason}", field.id);
                assert!(answered.span().contains(reason.as_str()));
            }
            for verdict in report.verdicts.iter().filter(|verdict| verdict.standing == Standing::CannotTell) {
                judged += 1;
                assert!(!verdict.advice.is_empty(), "{id}, {}: {}", field.id, verdict.about);
            }
        }
    }
    assert!(unknown > 20 && judged > 5, "{unknown}, {judged}");
}

/// By hand: 1.5 mA less 1.5 % is less than the 1.5 mA of the screen. What does not depend on it keeps its margin.
#[test]
fn an_end_without_an_answer_takes_only_what_depends_on_it() {
    let inputs = Inputs::from(
        [("cathode-current", "1.55 mA"), ("cathode-current.tolerance", "10 %"), ("screen-how", "current")]
            .map(|(id, text)| (id.to_owned(), text.to_owned())),
    );
    let report = find("dissipation").unwrap().run(&inputs).report.unwrap();
    for answered in &report.answers {
        let reading = answered.answer.id.ends_with("-reading");
        assert_eq!(answered.margin.known, !reading, "{}", answered.answer.id);
        assert_eq!(answered.span().starts_with("cannot tell"), reading, "{}", answered.span());
    }
    let voltage = report.verdicts.iter().find(|verdict| verdict.about == "Anode voltage").unwrap();
    assert_eq!(voltage.standing, Standing::Within);
    assert!(report.verdicts.iter().all(|verdict| verdict.standing != Standing::CannotTell));
}

/// A step comes to an answer where it has its value, written the same: that is what the reader compares.
#[test]
fn every_answer_has_a_step_that_comes_to_it() {
    let mut without = BTreeSet::new();
    each_choice(|id, inputs, outcome| {
        let report = outcome.report.unwrap();
        for answered in &report.answers {
            let value = answered.answer.value;
            let comes = report.steps.iter().any(|step| {
                (step.value - value).abs() <= 1e-9 * value.abs() && step.result == answered.value()
            });
            if !comes {
                without.insert(format!("{id}: {} ({inputs:?})", answered.answer.id));
            }
        }
    });
    assert!(without.is_empty(), "{without:#?}");
}

#[test]
fn a_limit_that_was_worked_out_has_no_more_figures_than_an_answer() {
    each_choice(|id, inputs, outcome| {
        for verdict in outcome.report.unwrap().verdicts {
            let Some(limit) = &verdict.limit else { continue };
            let figures = limit.split_whitespace().next().unwrap();
            let digits =
                figures.trim_start_matches(['0', '.', '−']).chars().filter(char::is_ascii_digit).count();
            assert!(digits <= 3, "{id} with {inputs:?}: {limit}");
        }
    });
}
