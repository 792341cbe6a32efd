//! What the tests ask of a calculator, as a reader would: by what is typed.

use crate::calculator::{Answered, Inputs, Outcome, Report, Verdict};

/// What comes of these inputs, each a field's id and its text; all are fields.
#[track_caller]
pub(crate) fn outcome(calculator: &str, typed: &[(&str, &str)]) -> Outcome {
    let inputs: Inputs = typed.iter().map(|(id, text)| ((*id).to_owned(), (*text).to_owned())).collect();
    let outcome = crate::calculate(calculator, &inputs).unwrap();
    assert!(outcome.unknown.is_empty(), "{calculator} asks for no {:?}", outcome.unknown);
    outcome
}

/// The report for these inputs, none of which is refused.
#[track_caller]
pub(super) fn report(calculator: &str, typed: &[(&str, &str)]) -> Report {
    let outcome = outcome(calculator, typed);
    let problems: Vec<_> = outcome.problems().cloned().collect();
    outcome.report.unwrap_or_else(|| panic!("{calculator}: {problems:?}"))
}

/// What is wrong with a field; none where nothing is.
#[track_caller]
pub(super) fn problem(calculator: &str, typed: &[(&str, &str)], field: &str) -> Option<String> {
    let outcome = outcome(calculator, typed);
    let field = outcome.fields.iter().find(|asked| asked.id == field).unwrap();
    field.problem.as_ref().map(|problem| format!("{} {:?}", problem.message, problem.offers))
}

#[track_caller]
pub(super) fn answered<'r>(report: &'r Report, id: &str) -> &'r Answered {
    report.answers.iter().find(|answered| answered.answer.id == id).unwrap()
}

/// The value of an answer, in SI units.
#[track_caller]
pub(super) fn value(report: &Report, id: &str) -> f64 {
    answered(report, id).margin.value
}

#[track_caller]
pub(super) fn verdict<'r>(report: &'r Report, about: &str) -> &'r Verdict {
    report.verdicts.iter().find(|verdict| verdict.about == about).unwrap()
}

/// The word of a verdict, without its doubts.
#[track_caller]
pub(super) fn standing(report: &Report, about: &str) -> &'static str {
    verdict(report, about).standing.word()
}

/// Whether a value lies within a share of what is expected.
pub(super) fn near(value: f64, expected: f64, share: f64) -> bool {
    (value - expected).abs() <= share * expected.abs()
}
