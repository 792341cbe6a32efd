//! Why nothing can be told of an answer: at which end of which tolerance it has none. Looked for only where a margin is not
//! known, so that every *cannot tell* gives the reason that applies.

use super::verdict::Standing;
use super::{Answered, Report};
use crate::form::problem::Impossible;
use crate::margin::End;

/// What came of one end of one tolerance: the answers, or why there are none.
pub(crate) type Tried = Result<Vec<f64>, Impossible>;

/// For each answer whose margin is not known, which end of which tolerance has no number for it, in a sentence without its
/// full stop. `tried` works everything out again with one of the named inputs at one end.
pub(crate) fn reasons(
    answered: &[Answered],
    names: &[&'static str],
    tried: impl Fn(usize, End) -> Option<Tried>,
) -> Vec<Option<String>> {
    let mut reasons: Vec<Option<String>> = vec![None; answered.len()];
    if answered.iter().all(|answered| answered.margin.known) {
        return reasons;
    }
    for (input, name) in names.iter().enumerate() {
        for (end, words) in [(End::Low, "low"), (End::High, "high")] {
            let Some(tried) = tried(input, end) else { continue };
            let at = format!("there is no answer at the {words} end of the tolerance of “{name}”");
            let why =
                tried.as_ref().err().map_or_else(String::new, |why| format!(". {}", full(&why.message)));
            let reason = format!("{at}{why}");
            for (place, answered) in answered.iter().enumerate() {
                let has =
                    tried.as_ref().is_ok_and(|values| values.get(place).is_some_and(|at| at.is_finite()));
                if !answered.margin.known && !has {
                    reasons[place].get_or_insert_with(|| reason.clone());
                }
            }
        }
    }
    for (reason, answered) in reasons.iter_mut().zip(answered) {
        if !answered.margin.known && reason.is_none() {
            *reason = Some("the tolerances taken together leave no answer".to_owned());
        }
    }
    reasons
}

/// Without the full stop.
fn full(sentence: &str) -> &str {
    sentence.trim_end_matches('.')
}

/// Gives the verdicts that cannot be told for want of a margin the reason of the first answer that has none.
pub(crate) fn say_why(report: &mut Report) {
    let Some(reason) = report.answers.iter().find_map(|answered| answered.unknown.clone()) else { return };
    let unsaid =
        |verdict: &&mut super::Verdict| verdict.standing == Standing::CannotTell && verdict.advice.is_empty();
    for verdict in report.verdicts.iter_mut().filter(unsaid) {
        verdict.advice = format!("Not judged: {reason}. Read it again, or type a smaller tolerance.");
    }
}
