//! The jobs on this device: choose, begin, export, import, delete.

use job::Job;
use job::file::{self, LINE, is_longer};
use web_sys::Element;

use super::mount::refresh;
use super::store::Store;
use super::{exchange, view};
use crate::platform::{page, persistence, share};

pub(super) async fn set(store: &Store) {
    let (heads, unread) = (store.heads().await, store.unread());
    let why = unread.map(|(_, why)| why.to_string());
    let promise = if persistence::is_promised().await {
        "The browser has promised to keep the jobs. They are on this device only: export them all the same."
    } else if heads.is_empty() {
        "With the first job the browser is asked to keep the jobs: some clear what a site keeps after seven days without a visit. It may ask you."
    } else {
        "The browser has not promised to keep the jobs: some clear what a site keeps after seven days without a visit. Put the handbook on the home screen, and export after each session."
    };
    let current = store.current();
    let on_bench = store.elsewhere().unwrap_or_else(|| current.clone());
    let shelf = view::Shelf {
        heads: &heads,
        current: current.as_deref(),
        on_bench: on_bench.as_deref(),
        unread: why.as_deref(),
        promise,
        can_share: share::takes_files(exchange::MEDIA),
    };
    page::set_html("jobs-content", &shelf.html().into_string());
}

/// Offers to export a job.
pub(super) async fn set_export(store: &Store, id: &str) {
    let heads = store.heads().await;
    if let Some(head) = view::head_of(&heads, Some(id)) {
        page::set_html(
            "export-content",
            &view::export(head, share::takes_files(exchange::MEDIA)).into_string(),
        );
    }
}

/// Says what came of it in a block.
pub(super) fn say(block: Option<&Element>, words: &str) {
    page::say(block.and_then(|block| page::find(block, ".said")).as_ref(), words);
}

pub(super) async fn pressed(store: &Store, act: &str, button: &Element) {
    // The button is new afterwards, its block is not.
    let block = page::closest(button, ".job");
    let id = button.get_attribute("data-id").unwrap_or_default();
    let said = match act {
        "choose" => choose(store, &id).await,
        "new" => begin(store).await,
        "delete" => delete(store, &id).await,
        "raw" => save_raw(store, &id).await,
        _ => send(store, act, &id, block.as_ref()).await,
    };
    refresh(store).await;
    say(block.as_ref(), &said);
}

async fn choose(store: &Store, id: &str) -> String {
    match store.choose(id).await {
        Ok(job) if store.is_noted() => format!("“{}” is on the bench now.", job.label),
        Ok(job) => format!(
            "This page works with “{}” now; it could not be put on the bench for other pages: see above.",
            job.label
        ),
        Err(why) => why.to_string(),
    }
}

async fn begin(store: &Store) -> String {
    let label = page::by_id("jobs-new").map(|field| page::value(&field)).unwrap_or_default();
    if label.trim().is_empty() {
        return "Give it a name first: what the amplifier is, in a few words.".to_owned();
    }
    if is_longer(label.trim(), LINE) {
        return format!("Its name is longer than {LINE} characters. Shorten it.");
    }
    let job = Job::new(&super::new_id(), label.trim(), super::now());
    match store.add(job).await {
        Ok(job) if store.is_kept(&job.id) => format!("“{}” has been started.", job.label),
        Ok(job) => format!("“{}” is in this page only: see above.", job.label),
        Err(why) => why.to_string(),
    }
}

/// Deletes a job, whether or not it can be read.
async fn delete(store: &Store, id: &str) -> String {
    let heads = store.heads().await;
    let Some(head) = view::head_of(&heads, Some(id)) else { return String::new() };
    let typed = page::by_id("jobs-delete").map(|field| page::value(&field)).unwrap_or_default();
    if typed.trim() != head.label.trim() {
        return format!("Not deleted: “{typed}” is not its name, “{}”.", head.label);
    }
    match store.delete(&head.id).await {
        Ok(()) => format!("“{}” is deleted from this device.", head.label),
        Err(_) => {
            format!("“{}” could not be deleted: the browser refused. All of it is as it was.", head.label)
        }
    }
}

/// Saves the text of a job that cannot be read, as it is.
async fn save_raw(store: &Store, id: &str) -> String {
    match store.text(id).await {
        Ok(text) => {
            let name = format!("job-{id}-as-kept.json");
            page::save(&name, "application/json", &text);
            format!("{name} has been given to the browser as a file.")
        }
        Err(why) => why.to_string(),
    }
}

async fn send(store: &Store, act: &str, id: &str, block: Option<&Element>) -> String {
    let (job, revision) = match store.with_revision(id).await {
        Ok(found) => found,
        Err(why) => return why.to_string(),
    };
    if act == "csv" {
        page::save(&exchange::name(&job, "csv"), "text/csv", &file::readings_csv(&job));
        return "The readings have been given to the browser as a file.".to_owned();
    }
    let (name, text) =
        (exchange::name(&job, "json"), exchange::text(store, &job, &|words| say(block, words)).await);
    if act == "share" && !share::file(&name, exchange::MEDIA, &text).await {
        return "It was not shared. Export it as a file instead.".to_owned();
    }
    if act == "export" {
        page::save(&name, "application/json", &text);
    }
    if let Some(revision) = revision {
        store.exported(id, revision).await;
    }
    if act == "share" {
        format!("{name} has been shared.")
    } else {
        format!("{name} has been given to the browser as a file.")
    }
}
