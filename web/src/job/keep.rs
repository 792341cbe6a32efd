//! A calculator's value into the current job.

use job::{From, values};

use super::now;
use super::store::Store;

/// Keeps a text as a value of the current job, and says in words what came of it. `field` is the calculator's field or, with
/// `is` before it, its answer: `is-anode-current`.
pub async fn keep(calculator: &str, field: &str, text: &str, block: &str, page: &str) -> String {
    let known = match field.strip_prefix("is-") {
        Some(answer) => values::keeping(calculator, answer),
        None => values::of_calculator(calculator).find(|(_, fills)| *fills == field).map(|(known, _)| known),
    };
    let store = Store::open().await;
    let (Some(known), Some(id)) = (known, store.current()) else {
        return store.trouble().unwrap_or_else(|| "There is no place for it in the job.".to_owned());
    };
    let own = |text: &str| text.to_owned();
    let from = if field.starts_with("is-") {
        From::Answer { calculator: own(calculator), block: own(block), page: own(page) }
    } else {
        From::Typed
    };
    match store.change(&id, |job| job.set(known.id, text, from.clone(), now())).await {
        Ok((Ok(()), job)) => {
            store.trouble().unwrap_or_else(|| format!("Kept in the job “{}” as {}.", job.label, known.label))
        }
        Ok((Err(why), _)) => why.to_string(),
        Err(why) => why,
    }
}
