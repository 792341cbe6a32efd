//! The database itself: its stores, how it opens, and what its refusals mean.

use indexed_db_futures::database::Database;
use indexed_db_futures::error::{DomException, Error, UnexpectedDataError};
use indexed_db_futures::prelude::*;
use indexed_db_futures::transaction::{
    Transaction, TransactionDurability, TransactionMode, TransactionOptions,
};

use super::Later;

pub(super) const NAME: &str = "standing-current";
/// Jobs as the text of their files, by id.
pub(super) const JOBS: &str = "jobs";
/// What the list shows, by id.
pub(super) const HEADS: &str = "heads";
/// Photographs as bytes, by `job/photo`.
pub(super) const PHOTOS: &str = "photos";
/// Texts in a form that are no value yet, by job.
pub(super) const DRAFTS: &str = "drafts";
/// The id of the job on the bench, by [`ON_BENCH`]. The mirror of it may be lost: a browser writes that when it likes.
pub(super) const CHOSEN: &str = "chosen";
pub(super) const ON_BENCH: &str = "job";
pub(super) const ALL: [&str; 5] = [JOBS, HEADS, PHOTOS, DRAFTS, CHOSEN];

/// Opens it; what it lacks is made.
pub(super) fn open() -> Later<'static, Result<Database, String>> {
    Box::pin(async {
        let request = Database::open(NAME).with_version(1u8).with_on_upgrade_needed(|_, database| {
            for store in ALL {
                database.create_object_store(store).build()?;
            }
            Ok(())
        });
        request.build().map_err(|error| error.to_string())?.await.map_err(|error| error.to_string())
    })
}

/// A transaction on everything that is on disk before it is done.
pub(super) fn writing(database: &Database) -> Result<Transaction<'_>, Error> {
    let options = TransactionOptions::new().with_durability(TransactionDurability::Strict);
    database.transaction(ALL).with_mode(TransactionMode::Readwrite).with_options(options).build()
}

/// Why a change could not be written.
pub(super) fn refused(error: &Error) -> String {
    if is_full(error) {
        "The browser has no room to write, most likely because the disk is full: the last change is in this page only. Export the job, then make room.".to_owned()
    } else {
        format!("The last change could not be written ({error}); it is in this page only. Export the job.")
    }
}

/// Whether the connection to the database is gone, which another attempt may mend.
pub(super) fn is_dropped(error: &Error) -> bool {
    match error {
        Error::DomException(DomException::InvalidStateError(_) | DomException::AbortError(_)) => true,
        Error::DomException(DomException::Other(exception)) => exception.name() == "UnknownError",
        _ => false,
    }
}

/// Whether there was no room. What fails only when the transaction is closed is aborted without a reason; it is room, as a
/// rule.
fn is_full(error: &Error) -> bool {
    match error {
        Error::DomException(DomException::Other(exception)) => exception.name() == "QuotaExceededError",
        Error::MissingData(missing) => *missing == UnexpectedDataError::TransactionAborted,
        _ => false,
    }
}
