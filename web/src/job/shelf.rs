//! The jobs on this device: choose, begin, export, import, delete.

use job::file::{self, LINE, is_longer};
use web_sys::Element;

use super::store::Store;
use super::wake::{current, promise, refresh};
use super::{exchange, view};
use crate::browser::page;

pub(super) async fn set(store: &Store) {
    let (heads, unread) = (store.heads().await, store.unread());
    let (unread, why) = unread.unzip();
    let current = unread.or_else(|| store.current());
    let promise = if promise(false).await {
        "The browser has promised to keep the jobs. They are on this device only: export them all the same."
    } else {
        "The browser has not promised to keep the jobs: some clear what a site keeps after seven days without a visit. Put the handbook on the home screen, and export after each session."
    };
    let list = view::jobs(&heads, current.as_deref(), why.as_deref(), promise, exchange::can_share());
    page::set_html("jobs-content", &list.into_string());
}

/// Offers to export the job on the bench.
pub(super) async fn set_export(store: &Store) {
    let (heads, current) = (store.heads().await, store.current());
    if let Some(head) = view::current_of(&heads, current.as_deref()) {
        page::set_html("export-content", &view::export(head, exchange::can_share()).into_string());
    }
}

/// Says what came of it in a block.
pub(super) fn say(block: Option<&Element>, words: &str) {
    page::say(block.and_then(|block| page::find(block, ".said")).as_ref(), words);
}

pub(super) async fn pressed(store: &Store, act: &str, button: &Element) {
    // The button stands anew afterwards, its block does not.
    let block = page::closest(button, ".job");
    let said = match act {
        "choose" => match store.choose(&button.get_attribute("data-id").unwrap_or_default()).await {
            Ok(job) => format!("“{}” is on the bench now.", job.label),
            Err(why) => why,
        },
        "new" => begin(store).await,
        "delete" => delete(store).await,
        "raw" => save_raw(store).await,
        _ => send(store, act).await,
    };
    refresh(store).await;
    say(block.as_ref(), &said);
}

async fn begin(store: &Store) -> String {
    let label = page::by_id("jobs-new").map(|field| page::value(&field)).unwrap_or_default();
    if label.trim().is_empty() {
        return "Give it a name first: what the amplifier is, in a few words.".to_owned();
    }
    if is_longer(label.trim(), LINE) {
        return format!("Its name is longer than {LINE} characters. Shorten it.");
    }
    match store.begin(label.trim()).await {
        Ok(job) => format!("“{}” is begun.", job.label),
        Err(why) => why,
    }
}

/// Deletes the job on the bench, whether or not it can be read.
async fn delete(store: &Store) -> String {
    let id = store.unread().map(|(id, _)| id).or_else(|| store.current());
    let heads = store.heads().await;
    let Some(head) = view::current_of(&heads, id.as_deref()) else { return String::new() };
    let typed = page::by_id("jobs-delete").map(|field| page::value(&field)).unwrap_or_default();
    if typed.trim() != head.label.trim() {
        return format!("Not deleted: “{typed}” is not its name, “{}”.", head.label);
    }
    if store.delete(&head.id).await {
        format!("“{}” is deleted from this device.", head.label)
    } else {
        format!("“{}” could not be deleted: the browser refused.", head.label)
    }
}

/// Saves the text of a job that cannot be read, as it is.
async fn save_raw(store: &Store) -> String {
    let Some((id, _)) = store.unread() else { return String::new() };
    match store.text(&id).await {
        Ok(text) => {
            let name = format!("job-{id}-as-kept.json");
            page::save(&name, "application/json", &text.unwrap_or_default());
            format!("{name} is handed to the browser as a file.")
        }
        Err(why) => why,
    }
}

async fn send(store: &Store, act: &str) -> String {
    let Some(job) = current(store).await else { return String::new() };
    if act == "csv" {
        page::save(&exchange::name(&job, "csv"), "text/csv", &file::readings_csv(&job));
        return "The readings are handed to the browser as a file.".to_owned();
    }
    let (name, text) = (exchange::name(&job, "json"), exchange::text(store, &job).await);
    if act == "share" && !exchange::share(&name, &text).await {
        return "It was not shared. Export it as a file instead.".to_owned();
    }
    if act == "export" {
        page::save(&name, "application/json", &text);
    }
    store.exported(&job).await;
    format!("{name} is handed over.")
}
