//! What must hold for every calculator in the register, the next one too.

mod margins;
mod typed;
mod words;

use std::collections::{BTreeMap, BTreeSet};

use proptest::prelude::*;

use super::{Field, Inputs, Kind, Outcome, Report, Whose, filled, tolerance_id};
use crate::margin::Margin;
use crate::quantity::notation::read;
use crate::quantity::unit::UNITS;
use crate::quantity::writing::bench;
use crate::{calculators, find};

/// Each calculator with each combination of choices that one change away from the defaults reaches.
fn each_choice(mut check: impl FnMut(&str, &Inputs, Outcome)) {
    for entry in calculators() {
        let default = entry.run(&Inputs::new());
        for field in &default.fields {
            let Kind::Choice(choices) = &field.kind else { continue };
            for choice in choices {
                let inputs = Inputs::from([(field.id.to_owned(), choice.id.clone())]);
                check(entry.sheet.id, &inputs, entry.run(&inputs));
            }
        }
        check(entry.sheet.id, &Inputs::new(), default);
    }
}

#[test]
fn every_choice_of_the_defaults_is_worked_out() {
    each_choice(|id, inputs, outcome| {
        let problems: Vec<_> = outcome.fields.iter().filter_map(|field| field.problem.as_ref()).collect();
        assert!(outcome.report.is_some(), "{id} with {inputs:?}: {problems:?}");
        assert!(outcome.unknown.is_empty());
    });
}

/// The unit of a bare number, by field; words, lists and choices take none.
fn units(outcome: &Outcome) -> impl Iterator<Item = (&'static str, &str)> {
    outcome.fields.iter().filter_map(|field| match &field.kind {
        Kind::Number { unit, .. } => Some((field.id, unit.as_str())),
        _ => None,
    })
}

#[test]
fn a_bare_number_keeps_its_unit_whatever_is_chosen() {
    each_choice(|id, inputs, outcome| {
        let default = find(id).unwrap().run(&Inputs::new());
        let usual: BTreeMap<_, _> = units(&default).collect();
        for (field, unit) in units(&outcome) {
            let known = usual.get(field).copied().unwrap_or(unit);
            assert_eq!(unit, known, "{id} with {inputs:?}: {field}");
        }
    });
}

#[test]
fn the_working_comes_to_the_answer() {
    each_choice(|id, inputs, outcome| {
        for step in outcome.report.unwrap().steps {
            let off = (step.formula.value() - step.value).abs();
            assert!(
                off <= 1e-9 * step.value.abs(),
                "{id} with {inputs:?}: {} is not {}",
                step.says,
                step.value
            );
        }
    });
}

#[test]
fn ids_are_never_given_twice() {
    each_choice(|id, _, outcome| {
        let mut fields: Vec<&str> = outcome.fields.iter().map(|field| field.id).collect();
        let answers = outcome.report.unwrap().answers;
        let mut found: Vec<&str> = answers.iter().map(|answered| answered.answer.id).collect();
        for ids in [&mut fields, &mut found] {
            let many = ids.len();
            ids.sort_unstable();
            ids.dedup();
            assert_eq!(ids.len(), many, "{id}");
        }
    });
}

#[test]
fn every_answer_is_judged_by_margins_that_exist() {
    each_choice(|id, inputs, outcome| {
        for answered in outcome.report.unwrap().answers {
            assert!(answered.margin.known, "{id} with {inputs:?}: {}", answered.answer.id);
            assert!(
                answered.margin.low <= answered.margin.value && answered.margin.value <= answered.margin.high
            );
        }
    });
}

/// With half of every value in doubt: what cannot be below zero is not, at either end. The few that can say so.
#[test]
fn what_cannot_be_below_zero_is_not_at_either_end() {
    let mut below = BTreeSet::new();
    each_choice(|id, inputs, outcome| {
        let mut inputs = inputs.clone();
        for field in outcome.fields.iter().filter(|field| field.tolerance.is_some()) {
            inputs.insert(tolerance_id(field.id), "50 %".to_owned());
        }
        let Some(report) = find(id).unwrap().run(&inputs).report else { return };
        for answered in report.answers.iter().filter(|answered| answered.margin.value > 0.0) {
            if answered.margin.low < 0.0 {
                below.insert(format!("{id}: {}", answered.answer.id));
            }
        }
    });
    let signed = [
        "lead-order: left",
        "master-volume: change",
        "phase-inverter: imbalance",
        "phase-inverter: output-resistance-1",
        "phase-inverter: output-resistance-2",
    ];
    assert_eq!(below.iter().map(String::as_str).collect::<Vec<_>>(), signed);
}

/// Texts that move a field far: each other choice, and a number down and up.
fn others(field: &Field) -> Vec<String> {
    match &field.kind {
        Kind::Choice(choices) => choices.iter().map(|choice| choice.id.clone()).collect(),
        Kind::Number { .. } => UNITS
            .iter()
            .find_map(|unit| {
                Some((
                    unit,
                    read(&field.text, unit, 0).ok().filter(|read| read.explicit || unit.symbol.is_empty())?,
                ))
            })
            .map(|(unit, read)| [0.3, 0.7, 1.5, 3.0].map(|times| bench(read.value * times, unit)).to_vec())
            .unwrap_or_default(),
        Kind::Words | Kind::Points => vec![],
    }
}

/// What of a report does not depend on a field, in words: of each answer its margin, of each verdict what it says.
fn free_of(report: &Report, field: &Field) -> BTreeMap<String, String> {
    let free = |examples: &[&str]| !examples.contains(&field.name);
    let answers = report.answers.iter().filter(|known| free(&known.examples)).map(|known| {
        let Margin { value, low, high, .. } = known.margin;
        (known.answer.id.to_owned(), format!("{value} {low} {high}"))
    });
    let verdicts = report.verdicts.iter().filter(|known| free(&known.examples) && known.asked_by.is_empty());
    let verdicts = verdicts.map(|known| {
        (format!("“{}”", known.about), format!("{:?} {:?} {}", known.standing, known.limit, known.advice))
    });
    answers.chain(verdicts).collect()
}

/// What does not say that it depends on an example does not: another value there leaves it as it was.
#[test]
fn answers_and_verdicts_depend_on_no_other_fields_than_they_say() {
    let (mut moved, mut wrong) = (0, BTreeSet::new());
    each_choice(|id, inputs, outcome| {
        let entry = find(id).unwrap();
        let at_rest = outcome.report.unwrap();
        for field in outcome.fields.iter().filter(|field| field.whose == Whose::Example) {
            let free = free_of(&at_rest, field);
            for text in others(field).into_iter().filter(|_| !free.is_empty()) {
                let mut inputs = inputs.clone();
                inputs.insert(field.id.to_owned(), text);
                let Some(report) = entry.run(&inputs).report else { continue };
                // Now it is the reader's own, and nothing says any more that it depends on it.
                let again = free_of(&report, field);
                moved += 1;
                let others = free.iter().filter(|(about, said)| again.get(*about) != Some(said));
                wrong.extend(others.map(|(about, _)| format!("{id}: {about} depends on {}", field.id)));
            }
        }
    });
    assert!(wrong.is_empty(), "not said: {wrong:#?}");
    assert!(moved > 100, "{moved}");
}

/// A page's example and the defaults are nobody's; what the reader types is theirs, and then the rest is marked.
#[test]
fn an_example_value_is_counted_and_no_verdict_that_depends_on_it_is_plain() {
    let entry = find("dissipation").unwrap();
    let own = |typed: &[(&str, &str)]| -> Inputs {
        typed.iter().map(|(id, text)| ((*id).to_owned(), (*text).to_owned())).collect()
    };
    let page = own(&[("screen-drop", "0.705 V"), ("valve", "6L6GC")]);
    let report = |typed: &[(&str, &str)]| entry.run_beside(&own(typed), &page).report.unwrap();
    let word = |report: &Report, about: &str| {
        report.verdicts.iter().find(|verdict| verdict.about == about).unwrap().word()
    };
    let nothing = report(&[]);
    assert!(nothing.is_example && nothing.whose_values().unwrap().starts_with("This is an example"));
    // A valve that was not filled in, and readings that were.
    let some =
        report(&[("anode-voltage", "460 V"), ("screen-voltage", "455 V"), ("cathode-current", "41 mA")]);
    assert!(!some.is_example);
    assert_eq!(word(&some, "Anode dissipation"), "within, with example values");
    let text = some.as_text("");
    assert!(text.contains("example values decide the answer: Output valve"), "{text}");
    assert!(text.contains("within, with example values"), "{text}");
    // All of it the reader's own.
    let all: Vec<(&str, String)> = entry
        .run(&Inputs::new())
        .fields
        .iter()
        .filter(|field| field.whose == Whose::Example)
        .map(|field| (field.id, field.text.clone()))
        .collect();
    let all: Vec<(&str, &str)> = all.iter().map(|(id, text)| (*id, text.as_str())).collect();
    let all = report(&all);
    assert_eq!((word(&all, "Anode dissipation").as_str(), all.whose_values()), ("within", None));
}

/// Another design that the reader did not ask for is not judged among the reader's own.
#[test]
fn what_the_reader_did_not_ask_for_is_not_judged_among_the_readers_own() {
    let judged = |typed: &[(&str, &str)]| {
        let own: Inputs = typed.iter().map(|(id, text)| ((*id).to_owned(), (*text).to_owned())).collect();
        let verdicts = find("bias-splitter").unwrap().run(&own).report.unwrap().verdicts;
        verdicts.iter().any(|verdict| verdict.about.contains("other design"))
    };
    assert!(
        judged(&[]) && !judged(&[("leak", "150k")]) && judged(&[("leak", "150k"), ("other-leak", "220k")])
    );
}

/// What is taken on to another calculator is understood there.
#[test]
fn every_carry_arrives() {
    let mut carries = 0;
    for entry in calculators() {
        each_choice(|id, _, outcome| {
            if id != entry.sheet.id {
                return;
            }
            for carry in outcome.report.unwrap().carries {
                carries += 1;
                assert!(
                    entry.leads_to.iter().any(|sheet| sheet.id == carry.to.id),
                    "{id} leads to {}",
                    carry.to.id
                );
                let arrived = find(carry.to.id).unwrap().run(&carry.inputs);
                assert_eq!(arrived.unknown, Vec::<String>::new(), "{id}");
                assert!(arrived.report.is_some(), "{id}: {:?}", arrived.problems().collect::<Vec<_>>());
            }
        });
    }
    assert!(carries > 0);
}

/// Whatever is chosen, every field is in one section, and no section is longer than one takes in.
#[test]
fn every_field_stands_in_one_section_of_its_form() {
    each_choice(|id, inputs, outcome| {
        let sheet = find(id).unwrap().sheet;
        for field in &outcome.fields {
            let stands = |ids: &[&str]| ids.iter().filter(|id| **id == field.id).count();
            let places = sheet.form.iter().map(|section| stands(section.fields) + stands(section.more));
            assert_eq!(places.sum::<usize>(), 1, "{id} with {inputs:?}: {}", field.id);
        }
        for section in filled(sheet.form, &outcome.fields) {
            let many = section.fields.len();
            assert!((1..=10).contains(&many), "{id} with {inputs:?}: {many} fields in “{}”", section.name);
        }
        let report = outcome.report.unwrap();
        // A valve without a model has no answers at all.
        if let Some(first) = report.answers.first() {
            let headline = report.headline().map_or("nothing", |headline| headline.answer.id);
            let is_one = sheet.headline.contains(&headline);
            assert!(
                is_one,
                "{id} with {inputs:?}: {headline} is no headline; the first is {}",
                first.answer.id
            );
        }
    });
}

/// A tolerance or a dead angle that the reader has changed is counted, though it is out of sight.
#[test]
fn what_was_changed_out_of_sight_is_counted() {
    let changed = |typed: &[(&str, &str)]| -> usize {
        let own: Inputs = typed.iter().map(|(id, text)| ((*id).to_owned(), (*text).to_owned())).collect();
        let entry = find("taper").unwrap();
        filled(entry.sheet.form, &entry.run(&own).fields).iter().map(super::Filled::changed).sum()
    };
    assert_eq!(changed(&[]), 0);
    assert_eq!(changed(&[("resistance", "470k"), ("angle", "270°")]), 1);
    assert_eq!(changed(&[("resistance.tolerance", "10 %"), ("angle", "270°")]), 2);
    assert_eq!(changed(&[("load", "2M2J")]), 0, "a letter that says what is usual");
    assert_eq!(changed(&[("load", "2M2K")]), 1);
}
