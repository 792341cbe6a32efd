//! The jobs on this device: choose, begin, export, import, delete.

use job::{Job, file};
use wasm_bindgen_futures::spawn_local;
use web_sys::Element;

use super::store::Store;
use super::wake::{current, promise, refresh};
use super::{exchange, new_id, now, view};
use crate::browser::page;

pub(super) async fn set(store: &Store) {
    let (heads, current) = (store.heads().await, store.current());
    let promise = if promise(false).await {
        "The browser has promised to keep the jobs. They are on this device only: export them all the same."
    } else {
        "The browser has not promised to keep the jobs: some clear what a site keeps after seven days without a visit. Put the handbook on the home screen, and export after each session."
    };
    let list = view::jobs(&heads, current.as_deref(), promise, exchange::can_share());
    page::set_html("jobs-content", &list.into_string());
}

pub(super) fn say(words: &str) {
    page::say(page::first("#jobs .said").as_ref(), words);
}

pub(super) async fn pressed(store: &Store, act: &str, button: &Element) {
    let said = match act {
        "choose" => match store.choose(&button.get_attribute("data-id").unwrap_or_default()).await {
            Ok(job) => format!("“{}” is on the bench now.", job.label),
            Err(why) => why,
        },
        "new" => begin(store).await,
        "delete" => delete(store).await,
        _ => send(store, act).await,
    };
    refresh(store).await;
    say(&said);
}

async fn begin(store: &Store) -> String {
    let label = page::by_id("jobs-new").map(|field| page::value(&field)).unwrap_or_default();
    if label.trim().is_empty() {
        return "Give it a name first: what the amplifier is, in a few words.".to_owned();
    }
    let job = Job::new(&new_id(), label.trim(), now());
    // Some browsers ask the reader first; the job does not wait for the answer.
    spawn_local(async {
        promise(true).await;
    });
    match store.add(job).await {
        Ok(job) => match store.choose(&job.id).await {
            Ok(_) => format!("“{}” is begun.", job.label),
            Err(why) => why,
        },
        Err(why) => why,
    }
}

async fn delete(store: &Store) -> String {
    let Some(job) = current(store).await else { return String::new() };
    let typed = page::by_id("jobs-delete").map(|field| page::value(&field)).unwrap_or_default();
    if typed.trim() != job.label.trim() {
        return format!("Not deleted: “{typed}” is not its name, “{}”.", job.label);
    }
    store.delete(&job).await;
    format!("“{}” is deleted from this device.", job.label)
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
