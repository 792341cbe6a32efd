//! Whose values an answer depends on: the reader's own, or an example's.

use super::field::{Field, Whose};
use super::report::Report;

/// The fields on which an answer or a verdict depends.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum LeansOn {
    /// All that are asked.
    All,
    /// Of those that may be off, the ones that moved its margin ([`crate::margin::Margin::movers`]); and all others.
    Movers(u64),
    /// These.
    Fields(&'static [&'static str]),
}

impl LeansOn {
    /// Whether this field is one of them; `uncertain` are the ids of the fields that were moved for the margins.
    fn has(self, field: &Field, uncertain: &[&str]) -> bool {
        match self {
            Self::All => true,
            Self::Fields(ids) => ids.contains(&field.id),
            Self::Movers(movers) => {
                let bit = |at| 1_u64.checked_shl(u32::try_from(at).unwrap_or(64)).unwrap_or(u64::MAX);
                let at = uncertain.iter().position(|id| *id == field.id);
                at.is_none_or(|at| movers & bit(at) != 0)
            }
        }
    }
}

/// Says for the report, for each answer and for each verdict on which examples it depends. What the reader did not ask for
/// is dropped, unless the whole is an example.
pub(super) fn say_whose(report: &mut Report, fields: &[Field], uncertain: &[&str]) {
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
    let of = |leans_on: LeansOn, but: &[&str]| -> Vec<&'static str> {
        let examples =
            fields.iter().filter(|field| field.whose == Whose::Example && !but.contains(&field.id));
        examples.filter(|field| leans_on.has(field, uncertain)).map(|field| field.name).collect()
    };
    report.examples = of(LeansOn::All, &not_asked);
    for answered in &mut report.answers {
        let movers = LeansOn::Movers(answered.margin.movers);
        answered.examples = of(answered.answer.leans_on.unwrap_or(movers), &[]);
    }
    for carry in &mut report.carries {
        let is_taken = |id: &str| carry.answers.is_empty() || carry.answers.contains(&id);
        let mut taken = report.answers.iter().filter(|answered| is_taken(answered.answer.id));
        carry.is_example = taken.any(|answered| !answered.examples.is_empty());
    }
    for verdict in &mut report.verdicts {
        verdict.examples = of(verdict.leans_on, &not_asked);
    }
}
