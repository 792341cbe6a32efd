//! What must hold for every calculator in the register, the next one too.

use proptest::prelude::*;

use super::{Field, Inputs, Kind, Outcome, tolerance_id};
use crate::calculators;

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

#[test]
fn what_no_field_asks_for_is_named() {
    let inputs = Inputs::from([("anode-volts".to_owned(), "1".to_owned())]);
    assert_eq!(calculators()[0].run(&inputs).unknown, ["anode-volts"]);
}

#[test]
fn a_bad_text_keeps_its_place_and_stops_the_answer() {
    for entry in calculators() {
        for field in entry.run(&Inputs::new()).fields {
            if matches!(field.kind, Kind::Words) {
                continue;
            }
            let outcome = entry.run(&Inputs::from([(field.id.to_owned(), "nonsense".to_owned())]));
            let bad = outcome.fields.iter().find(|bad| bad.id == field.id).unwrap();
            assert_eq!(bad.text, "nonsense");
            let problem = bad.problem.as_ref().unwrap();
            assert!(problem.message.starts_with(field.name) && problem.message.contains("nonsense"));
            assert!(outcome.report.is_none());
        }
    }
}

/// What people and machines may put into a field.
fn any_text() -> impl Strategy<Value = String> {
    let number =
        (-1e12..1e12f64, "[pnumkKMGRVAWF%Ω]{0,2}").prop_map(|(number, unit)| format!("{number}{unit}"));
    prop_oneof!["\\PC{0,12}", "[0-9kKmMRuµnp.,/ −-]{0,8}[VAΩWF%]?", number]
}

proptest! {
    #[test]
    fn whatever_is_typed_leads_to_an_answer_or_to_a_problem_at_its_field(
        calculator in 0..calculators().len(),
        texts in proptest::collection::vec((any::<prop::sample::Index>(), any::<bool>(), any_text()), 1..5),
    ) {
        let entry = &calculators()[calculator];
        let fields: Vec<Field> = entry.run(&Inputs::new()).fields;
        let inputs: Inputs = texts.into_iter().map(|(at, tolerance, text)| {
            let id = at.get(&fields).id;
            (if tolerance { tolerance_id(id) } else { id.to_owned() }, text)
        }).collect();
        let outcome = entry.run(&inputs);
        match outcome.report {
            Some(report) => for answered in report.answers {
                prop_assert!(answered.margin.value.is_finite(), "{}", answered.answer.id);
                prop_assert!(!answered.value().contains("NaN") && !answered.span().contains("NaN"));
            },
            None => prop_assert!(outcome.fields.iter().any(|field| field.problem.is_some()
                || field.tolerance.as_ref().is_some_and(|tolerance| tolerance.problem.is_some()))),
        }
    }
}
