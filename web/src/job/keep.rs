//! A calculator's value into a job.

use job::{From, values};

use super::now;
use super::store::Store;

/// Keeps a text as a value of a job, the one whose name the calculator shows, and says in words what came of it. `field` is the
/// calculator's field or, with `is-` before it, its answer: `is-anode-current`.
pub async fn keep(id: &str, calculator: &str, field: &str, text: &str, block: &str, page: &str) -> String {
    let known = match field.strip_prefix("is-") {
        Some(answer) => values::keeping(calculator, answer),
        None => values::of_calculator(calculator).find(|(_, fills)| *fills == field).map(|(known, _)| known),
    };
    let store = Store::open().await;
    let Some(known) = known else { return "There is no place for it in the job.".to_owned() };
    let own = |text: &str| text.to_owned();
    let from = if field.starts_with("is-") {
        From::Answer { calculator: own(calculator), block: own(block), page: own(page) }
    } else {
        From::Typed
    };
    let (label, known) = match store.change(id, |job| job.set(known.id, text, from.clone(), now())).await {
        Ok((Ok(()), job)) => (job.label, known.label),
        Ok((Err(why), _)) => return why.to_string(),
        Err(why) => return format!("Not kept. {why}"),
    };
    match store.trouble().filter(|_| !store.is_kept(id)) {
        Some(why) => format!("Not kept. {why}"),
        None => format!("Kept in the job “{label}” as {known}."),
    }
}
