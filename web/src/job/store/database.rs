//! The database itself: its stores, how it opens, and the one way to work with it.

use gloo_events::EventListener;
use indexed_db_futures::KeyRange;
use indexed_db_futures::database::Database;
use indexed_db_futures::error::Error;
use indexed_db_futures::internals::SystemRepr;
use indexed_db_futures::prelude::*;
use indexed_db_futures::transaction::{
    Transaction, TransactionDurability, TransactionMode, TransactionOptions,
};
use wasm_bindgen::JsValue;

use super::Fault;

/// The name of the database, and of the channel by which tabs tell each other what they have changed.
pub(super) const NAME: &str = "standing-current";
/// Jobs as the text of their files, by id.
pub(super) const JOBS: &str = "jobs";
/// What the list shows, by id.
pub(super) const HEADS: &str = "heads";
/// Photographs as bytes, by `job/photo`.
pub(super) const PHOTOS: &str = "photos";
/// Texts in a form that are no value yet, by job.
pub(super) const DRAFTS: &str = "drafts";
/// What is said of the bench, under the three names below. `web/js/current-job.js` reads them too.
pub(super) const BENCH: &str = "chosen";
/// In [`BENCH`]: the id of the job on the bench.
pub(super) const ON_BENCH: &str = "job";
/// In [`BENCH`]: what pages without the module of the job need of it, written with every change of it.
pub(super) const RECORD: &str = "record";
/// In [`BENCH`]: the run under way, as the id of its job, a space and its page.
pub(super) const RUN: &str = "run";
const ALL: [&str; 5] = [JOBS, HEADS, PHOTOS, DRAFTS, BENCH];

/// Where something stands: a store, and a key in it.
pub(super) type Place<'p> = (&'static str, &'p str);

/// A change of the database, to be made in one transaction with others.
pub(super) enum Write {
    /// This stands here from now on.
    Put(&'static str, String, JsValue),
    /// Nothing stands here any more.
    Delete(&'static str, String),
    /// The photographs of this job are gone.
    DeletePhotos(String),
}

/// What to write for what is at the places that were asked for. It may be asked twice.
pub(super) type Decide<'d> = &'d dyn Fn(Vec<JsValue>) -> Vec<Write>;

/// Opens it; what it lacks is made.
pub(super) async fn open() -> Result<Database, Fault> {
    let request = Database::open(NAME).with_version(1u8).with_on_upgrade_needed(|_, database| {
        for store in ALL {
            database.create_object_store(store).build()?;
        }
        Ok(())
    });
    Ok(request.build()?.await?)
}

/// What is done with the database, in one transaction.
pub(super) enum Work<'w> {
    /// Gives what is at some places, `undefined` where nothing is.
    Read(&'w [Place<'w>]),
    /// Gives all that is in a store.
    All(&'static str),
    /// Reads, decides and writes: all of it is on disk when it is done, or none of it.
    Change(&'w [Place<'w>], Decide<'w>),
}

/// Does it. One function for all, so that the waiting for the browser is compiled once.
pub(super) async fn work(database: &Database, work: &Work<'_>) -> Result<Vec<JsValue>, Error> {
    let (mode, places, decide) = match work {
        Work::Read(places) => (TransactionMode::Readonly, *places, None),
        Work::All(_) => (TransactionMode::Readonly, &[][..], None),
        Work::Change(places, decide) => (TransactionMode::Readwrite, *places, Some(decide)),
    };
    let options = TransactionOptions::new().with_durability(TransactionDurability::Strict);
    let transaction = database.transaction(ALL).with_mode(mode).with_options(options).build()?;
    let _end = ended_when_the_page_is_left(&transaction);
    let mut found = Vec::with_capacity(places.len());
    if let Work::All(store) = work {
        let all = transaction.object_store(store)?.get_all::<JsValue>().primitive()?.await?;
        found.extend(all.filter_map(Result::ok));
    }
    for (store, key) in places {
        let there = transaction.object_store(store)?.get::<JsValue, _, _>(*key).primitive()?.await?;
        found.push(there.unwrap_or_default());
    }
    let Some(decide) = decide else { return Ok(found) };
    for write in decide(found) {
        match write {
            Write::Put(store, key, value) => {
                transaction.object_store(store)?.put(value).with_key(key).primitive()?.await?;
            }
            Write::Delete(store, key) => {
                transaction.object_store(store)?.delete(key.as_str()).primitive()?.await?;
            }
            Write::DeletePhotos(job) => {
                // All that begins with the name of the job and a stroke; `0` comes after it.
                let photos = KeyRange::Bound(format!("{job}/"), false, format!("{job}0"), true);
                transaction.object_store(PHOTOS)?.delete::<String, _>(photos).primitive()?.await?;
            }
        }
    }
    transaction.commit().await?;
    Ok(vec![])
}

/// Ends the transaction when the page is left before it is done, as long as what this gives is held. A browser that puts the
/// page aside to show it again would leave it open, and no other page could write. Shown again, the page tries once more.
fn ended_when_the_page_is_left(transaction: &Transaction<'_>) -> Option<EventListener> {
    let transaction = transaction.as_sys().clone();
    // One that is done already is refused, and needs no end.
    Some(EventListener::once(&web_sys::window()?.into(), "pagehide", move |_| drop(transaction.abort())))
}
