//! What can go wrong where jobs are kept, in the words that the page says.

use indexed_db_futures::error::{DomException, Error, OpenDbError, UnexpectedDataError};
use job::file;

/// Why a change is in this page only, or why a job is not given.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Fault {
    /// The browser has no store for this page.
    #[error(
        "This browser keeps nothing here ({0}); it may be a private window. What you write is in this page only and lost when it is closed: export the job."
    )]
    NoStore(String),
    /// There is no room.
    #[error(
        "The browser has no room to write, most likely because the disk is full: the last change is in this page only. Export the job, then make room."
    )]
    Full,
    /// It was asked and does not answer.
    #[error(
        "The browser’s store does not answer: the last change is in this page only. Export the job. Then close the other tabs of this book; one of them may hold the store."
    )]
    NoAnswer,
    /// A later edition of the book has made the store its own.
    #[error(
        "A newer edition of the handbook keeps the jobs now: what you write is in this page only. Export the job, then reload the page."
    )]
    Newer,
    /// What was kept is gone, and nobody has said that he deleted it.
    #[error(
        "The browser has cleared what it kept of this job: it is in this page only. Export it. Changes from now on \
         are kept again."
    )]
    Cleared,
    /// Anything else, as the browser says it.
    #[error("The last change could not be written ({0}); it is in this page only. Export the job.")]
    Refused(String),
    /// No job of this id.
    #[error("There is no such job on this device.")]
    NoSuchJob,
    /// It was there when the page was opened.
    #[error("This job was deleted in another tab. What this page still shows of it is not kept anywhere.")]
    Deleted,
    /// It is there, and is no job that this edition reads.
    #[error("What is kept of this job cannot be read: {0}.")]
    Unreadable(file::Refused),
}

impl From<Error> for Fault {
    fn from(error: Error) -> Self {
        match &error {
            Error::DomException(DomException::Other(exception))
                if exception.name() == "QuotaExceededError" =>
            {
                Self::Full
            }
            // What fails only when the transaction is closed is aborted without a reason; it is room, as a rule.
            Error::MissingData(UnexpectedDataError::TransactionAborted) => Self::Full,
            _ => Self::Refused(error.to_string()),
        }
    }
}

impl From<OpenDbError> for Fault {
    fn from(error: OpenDbError) -> Self {
        match &error {
            OpenDbError::Base(Error::DomException(DomException::Other(exception)))
                if exception.name() == "VersionError" =>
            {
                Self::Newer
            }
            _ => Self::NoStore(error.to_string()),
        }
    }
}

/// Whether the connection to the database is gone, which another attempt may restore.
pub(super) fn is_dropped(error: &Error) -> bool {
    match error {
        Error::DomException(DomException::InvalidStateError(_) | DomException::AbortError(_)) => true,
        Error::DomException(DomException::Other(exception)) => exception.name() == "UnknownError",
        _ => false,
    }
}
