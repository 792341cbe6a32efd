//! Whose values an answer depends on: the reader's own, or an example's.

use super::Report;
use super::depends_on::DependsOn;
use crate::form::field::{Field, Whose};

/// Says for the report, for each answer and for each verdict on which examples it depends. What the reader did not ask for
/// is dropped, unless the whole is an example.
pub(crate) fn say_whose(report: &mut Report, fields: &[Field], uncertain: &[&str]) {
    let is_own = |field: &Field| field.whose == Whose::Own;
    report.is_example = !fields.iter().any(is_own);
    let mut not_asked: Vec<&str> = Vec::new();
    if !report.is_example {
        let asked = |id: &&str| fields.iter().any(|field| field.id == *id && is_own(field));
        report.verdicts.retain(|verdict| {
            let stays = verdict.asked_by.is_empty() || verdict.asked_by.iter().any(asked);
            if !stays {
                not_asked.extend(verdict.asked_by);
            }
            stays
        });
    }
    // Each example, and where it stands among those that may be off.
    let place = |field: &Field| uncertain.iter().position(|id| *id == field.id);
    let examples = fields.iter().filter(|field| field.whose == Whose::Example);
    let examples: Vec<(&Field, Option<usize>)> = examples.map(|field| (field, place(field))).collect();
    let of = |depends_on: DependsOn, but: &[&str]| -> Vec<&'static str> {
        let counted = examples.iter().filter(|(field, _)| !but.contains(&field.id));
        counted.filter(|(field, at)| depends_on.has(field, *at)).map(|(field, _)| field.name).collect()
    };
    report.examples = of(DependsOn::All, &not_asked);
    for answered in &mut report.answers {
        let movers = DependsOn::Movers(answered.margin.movers);
        answered.examples = of(answered.answer.depends_on.unwrap_or(movers), &[]);
    }
    for carry in &mut report.carries {
        let is_taken = |id: &str| carry.answers.is_empty() || carry.answers.contains(&id);
        let mut taken = report.answers.iter().filter(|answered| is_taken(answered.answer.id));
        carry.is_example = taken.any(|answered| !answered.examples.is_empty());
    }
    for verdict in &mut report.verdicts {
        verdict.examples = of(verdict.depends_on, &not_asked);
    }
}
