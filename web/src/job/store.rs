//! Where jobs are kept: IndexedDB on this device, by transactions that are on disk when they are done.
//!
//! A change is a function of the job, applied to the copy on disk inside one transaction: two tabs take turns, and neither
//! loses what the other wrote. What could not be written stays in memory, is what every later reading gives, and is tried
//! again with the next change; [`Store::trouble`] says so in words.

use std::cell::{OnceCell, RefCell};
use std::collections::BTreeMap;
use std::rc::Rc;

use indexed_db_futures::database::Database;
use indexed_db_futures::error::{DomException, Error};
use indexed_db_futures::prelude::*;
use indexed_db_futures::transaction::{TransactionDurability, TransactionMode, TransactionOptions};
use job::{Job, Photo, Time, file};
use serde::{Deserialize, Serialize};
use wasm_bindgen::prelude::Closure;
use wasm_bindgen::{JsCast, JsValue};
use web_sys::{BroadcastChannel, MessageEvent};

use super::mirror;

const NAME: &str = "standing-current";
/// Jobs as the text of their files, by id.
const JOBS: &str = "jobs";
/// What the list shows, by id.
const HEADS: &str = "heads";
/// Photographs as `Blob`, by `job/photo`.
const PHOTOS: &str = "photos";
/// Texts in a form that are no value yet, by job.
const DRAFTS: &str = "drafts";
const ALL: [&str; 4] = [JOBS, HEADS, PHOTOS, DRAFTS];

/// What the list shows of a job.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Head {
    /// Its id.
    pub id: String,
    /// What it is called.
    pub label: String,
    /// When it last changed.
    pub changed: Time,
    /// The state that was last exported, by the time of its last change.
    pub exported: Option<Time>,
}

impl Head {
    /// Whether it has changed since it was exported.
    #[must_use]
    pub fn is_owing(&self) -> bool {
        self.exported != Some(self.changed)
    }
}

/// Texts in a form that are no value yet, by the name of the field.
pub type Drafts = BTreeMap<String, String>;

/// A field, and what stands in it without being a value, from what came of the change.
pub type Draft<'d, R> = (&'d str, &'d dyn Fn(&R) -> Option<String>);

/// The jobs of this device. Every copy is the same store.
#[derive(Clone)]
pub struct Store(Rc<Inner>);

struct Inner {
    database: RefCell<Option<Database>>,
    /// Jobs that are newer than on disk, or not there at all.
    unkept: RefCell<BTreeMap<String, String>>,
    trouble: RefCell<Option<String>>,
    channel: Option<BroadcastChannel>,
}

thread_local! {
    static OPEN: OnceCell<Store> = const { OnceCell::new() };
}

impl Store {
    /// Opens the store. Where the browser has none, it is memory, and says so.
    pub async fn open() -> Self {
        if let Some(store) = OPEN.with(|open| open.get().cloned()) {
            return store;
        }
        let opened = open().await;
        let store = Self(Rc::new(Inner {
            trouble: RefCell::new(opened.as_ref().err().map(|why| {
                format!("This browser keeps nothing here ({why}); it may be a private window. What you write is lost when this page is closed: export the job.")
            })),
            database: RefCell::new(opened.ok()),
            unkept: RefCell::default(),
            channel: BroadcastChannel::new(NAME).ok(),
        }));
        OPEN.with(|open| open.get_or_init(|| store).clone())
    }

    /// What is not kept, and why.
    #[must_use]
    pub fn trouble(&self) -> Option<String> {
        self.0.trouble.borrow().clone()
    }

    /// The id of the job that was chosen on this device.
    #[must_use]
    pub fn current(&self) -> Option<String> {
        mirror::current()
    }

    /// Makes a job the one that calculators and procedures work with.
    ///
    /// # Errors
    /// Why it cannot be read, in words.
    pub async fn choose(&self, id: &str) -> Result<Job, String> {
        let job = self.load(id).await?;
        mirror::set(&job);
        Ok(job)
    }

    /// A job as it stands.
    ///
    /// # Errors
    /// Why it cannot be read, in words.
    pub async fn load(&self, id: &str) -> Result<Job, String> {
        let unkept = self.0.unkept.borrow().get(id).cloned();
        let text = match unkept {
            Some(text) => text,
            None => self.text(id).await?.ok_or("There is no such job on this device.")?,
        };
        file::read(&text).map_err(|refused| format!("What is kept of this job cannot be read: {refused}."))
    }

    async fn text(&self, id: &str) -> Result<Option<String>, String> {
        self.within(async |database| {
            let transaction = database.transaction(JOBS).build()?;
            transaction.object_store(JOBS)?.get(id).primitive()?.await
        })
        .await
        .unwrap_or(Ok(None))
    }

    /// Changes a job: `act` is applied to it as it stands on disk, perhaps twice, and is done when it is on disk. Gives what
    /// `act` gave, and the job as it stands now; it stands so in memory at least.
    ///
    /// # Errors
    /// Why the job cannot be read, in words. What could not be written is [`Self::trouble`].
    pub async fn change<R>(&self, id: &str, act: impl Fn(&mut Job) -> R) -> Result<(R, Job), String> {
        self.change_with(id, act, None).await
    }

    /// Changes a job, and sets what stands in a field but is no value yet (`None`: nothing does).
    ///
    /// # Errors
    /// As [`Self::change`].
    pub async fn change_with<R>(
        &self,
        id: &str,
        act: impl Fn(&mut Job) -> R,
        draft: Option<Draft<'_, R>>,
    ) -> Result<(R, Job), String> {
        let changed = |text: &str| {
            let mut job = file::read(text).map_err(|refused| refused.to_string())?;
            let result = act(&mut job);
            Ok::<_, String>((result, file::write(&job), job))
        };
        let unkept = self.0.unkept.borrow().get(id).cloned();
        // The newest state, in case it cannot be written.
        let newest: RefCell<Option<(R, String, Job)>> = RefCell::new(None);
        let wrong: RefCell<Option<String>> = RefCell::new(None);
        let written = self
            .within(async |database| {
                let transaction = writing(database)?;
                let (jobs, heads) = (transaction.object_store(JOBS)?, transaction.object_store(HEADS)?);
                let text = match &unkept {
                    Some(text) => Some(text.clone()),
                    None => jobs.get(id).primitive()?.await?,
                };
                let Some(text) = text else { return Ok(false) };
                let (result, text, job) = match changed(&text) {
                    Ok(changed) => changed,
                    Err(why) => {
                        *wrong.borrow_mut() = Some(why);
                        return Ok(false);
                    }
                };
                let head: Option<String> = heads.get(id).primitive()?.await?;
                if let Some((field, of)) = &draft {
                    let drafts = transaction.object_store(DRAFTS)?;
                    let line: Option<String> = drafts.get(id).primitive()?.await?;
                    let mut all = drafts_in(line);
                    match of(&result) {
                        Some(text) => all.insert((*field).to_owned(), text),
                        None => all.remove(*field),
                    };
                    drafts
                        .put(serde_json::to_string(&all).unwrap_or_default())
                        .with_key(id)
                        .primitive()?
                        .await?;
                }
                let head = head_text(&job, head.as_deref());
                *newest.borrow_mut() = Some((result, text.clone(), job));
                jobs.put(text).with_key(id).primitive()?.await?;
                heads.put(head).with_key(id).primitive()?.await?;
                transaction.commit().await?;
                Ok(true)
            })
            .await;
        if let Some(why) = wrong.into_inner() {
            return Err(format!("What is kept of this job cannot be read: {why}."));
        }
        let kept = matches!(written, Some(Ok(true)));
        let (result, text, job) = match (newest.into_inner(), unkept) {
            (Some(newest), _) => newest,
            (None, Some(text)) => changed(&text)?,
            (None, None) => return Err("There is no such job on this device.".to_owned()),
        };
        self.stands(&job, text, kept);
        Ok((result, job))
    }

    /// Puts a job in, new or imported; where one of its id is there, both become one.
    ///
    /// # Errors
    /// Why the one that is there cannot be read, in words.
    pub async fn add(&self, job: Job) -> Result<Job, String> {
        let job = match self.load(&job.id).await {
            Ok(there) => there.merged(job),
            Err(_) => job,
        };
        let (id, text, head) = (job.id.clone(), file::write(&job), head_text(&job, None));
        let written = self
            .within(async |database| {
                let transaction = writing(database)?;
                transaction.object_store(JOBS)?.put(text.as_str()).with_key(id.as_str()).primitive()?.await?;
                transaction
                    .object_store(HEADS)?
                    .put(head.as_str())
                    .with_key(id.as_str())
                    .primitive()?
                    .await?;
                transaction.commit().await
            })
            .await;
        self.stands(&job, text, matches!(written, Some(Ok(()))));
        Ok(job)
    }

    /// Notes whether a job is on disk, tells the calculators and the other tabs.
    fn stands(&self, job: &Job, text: String, kept: bool) {
        if kept {
            self.0.unkept.borrow_mut().remove(&job.id);
            if self.0.unkept.borrow().is_empty() {
                self.0.trouble.borrow_mut().take();
            }
        } else {
            self.0.unkept.borrow_mut().insert(job.id.clone(), text);
        }
        if self.current().as_deref() == Some(&job.id) {
            mirror::set(job);
        }
        self.tell(&job.id);
    }

    fn tell(&self, id: &str) {
        if let Some(channel) = &self.0.channel {
            // Without a channel the other tabs learn of it when they next write.
            let _ = channel.post_message(&JsValue::from_str(id));
        }
    }

    /// Calls `act` with the id of a job that another tab has changed.
    pub fn on_change(&self, act: impl Fn(String) + 'static) {
        let Some(channel) = &self.0.channel else { return };
        let closure = Closure::<dyn Fn(MessageEvent)>::new(move |event: MessageEvent| {
            if let Some(id) = event.data().as_string() {
                act(id);
            }
        });
        // It is refused for no kind of event that there is.
        let _ = channel.add_event_listener_with_callback("message", closure.as_ref().unchecked_ref());
        closure.forget();
    }

    /// The jobs, the one that changed last first.
    pub async fn heads(&self) -> Vec<Head> {
        let kept = self
            .within(async |database| {
                let transaction = database.transaction(HEADS).build()?;
                let all = transaction.object_store(HEADS)?.get_all::<String>().primitive()?.await?;
                Ok(all.filter_map(Result::ok).collect::<Vec<String>>())
            })
            .await;
        let kept = kept.and_then(Result::ok).unwrap_or_default();
        let mut heads: Vec<Head> = kept.iter().filter_map(|text| serde_json::from_str(text).ok()).collect();
        for job in self.0.unkept.borrow().values().filter_map(|text| file::read(text).ok()) {
            heads.retain(|head| head.id != job.id);
            heads.push(Head { id: job.id, label: job.label, changed: job.changed, exported: None });
        }
        heads.sort_by(|one, other| other.changed.cmp(&one.changed).then(one.label.cmp(&other.label)));
        heads
    }

    /// Notes that a job was exported as it stands.
    pub async fn exported(&self, job: &Job) {
        let head = Head {
            id: job.id.clone(),
            label: job.label.clone(),
            changed: job.changed,
            exported: Some(job.changed),
        };
        let head = serde_json::to_string(&head).unwrap_or_default();
        let _ = self
            .within(async |database| {
                let transaction = writing(database)?;
                transaction
                    .object_store(HEADS)?
                    .put(head.as_str())
                    .with_key(job.id.as_str())
                    .primitive()?
                    .await?;
                transaction.commit().await
            })
            .await;
        self.tell(&job.id);
    }

    /// Takes a job off this device, photographs and all.
    pub async fn delete(&self, job: &Job) {
        self.0.unkept.borrow_mut().remove(&job.id);
        let _ = self
            .within(async |database| {
                let transaction = writing(database)?;
                for name in [JOBS, HEADS, DRAFTS] {
                    transaction.object_store(name)?.delete(job.id.as_str()).primitive()?.await?;
                }
                for photo in &job.photos {
                    transaction
                        .object_store(PHOTOS)?
                        .delete(photo_key(&job.id, &photo.id))
                        .primitive()?
                        .await?;
                }
                transaction.commit().await
            })
            .await;
        if self.current().as_deref() == Some(&job.id) {
            mirror::forget();
        }
        self.tell(&job.id);
    }

    /// What stands in the fields of a job and is no value yet.
    pub async fn drafts(&self, id: &str) -> Drafts {
        let line = self
            .within(async |database| {
                let transaction = database.transaction(DRAFTS).build()?;
                transaction.object_store(DRAFTS)?.get(id).primitive()?.await
            })
            .await;
        drafts_in(line.and_then(Result::ok).flatten())
    }

    /// Keeps the picture of a photograph. Whether it is on disk.
    pub async fn keep_photo(&self, job: &str, photo: &Photo, picture: &JsValue) -> bool {
        let written = self
            .within(async |database| {
                let transaction = writing(database)?;
                let key = photo_key(job, &photo.id);
                transaction.object_store(PHOTOS)?.put(picture.clone()).with_key(key).primitive()?.await?;
                transaction.commit().await
            })
            .await;
        matches!(written, Some(Ok(())))
    }

    /// The picture of a photograph, a `Blob`.
    pub async fn photo(&self, job: &str, photo: &str) -> Option<JsValue> {
        let found = self
            .within(async |database| {
                let transaction = database.transaction(PHOTOS).build()?;
                transaction.object_store(PHOTOS)?.get(photo_key(job, photo)).primitive()?.await
            })
            .await;
        found.and_then(Result::ok).flatten()
    }

    /// Works with the database; where the connection has dropped it is opened once more. None where there is no database;
    /// an error is noted as trouble.
    async fn within<T>(
        &self,
        work: impl AsyncFn(&Database) -> Result<T, Error>,
    ) -> Option<Result<T, String>> {
        let database = self.0.database.borrow().clone()?;
        let mut done = work(&database).await;
        if done.as_ref().is_err_and(is_dropped) {
            match open().await {
                Ok(database) => {
                    self.0.database.replace(Some(database.clone()));
                    done = work(&database).await;
                }
                Err(why) => {
                    self.0.database.replace(None);
                    let words = format!(
                        "The browser’s store was lost and does not open again ({why}). What you write is in this page only: export the job, then reload."
                    );
                    self.0.trouble.replace(Some(words.clone()));
                    return Some(Err(words));
                }
            }
        }
        Some(done.map_err(|error| {
            let words = if is_full(&error) {
                "The disk is full: the last change is in this page only. Export the job, then make room."
                    .to_owned()
            } else {
                format!(
                    "The last change could not be written ({error}); it is in this page only. Export the job."
                )
            };
            self.0.trouble.replace(Some(words.clone()));
            words
        }))
    }
}

async fn open() -> Result<Database, String> {
    let request = Database::open(NAME).with_version(1u8).with_on_upgrade_needed(|_, database| {
        for store in ALL {
            database.create_object_store(store).build()?;
        }
        Ok(())
    });
    request.build().map_err(|error| error.to_string())?.await.map_err(|error| error.to_string())
}

/// A transaction on everything that is on disk before it is done.
fn writing(database: &Database) -> Result<indexed_db_futures::transaction::Transaction<'_>, Error> {
    let options = TransactionOptions::new().with_durability(TransactionDurability::Strict);
    database.transaction(ALL).with_mode(TransactionMode::Readwrite).with_options(options).build()
}

/// The head of a job; what was exported before stays so.
fn head_text(job: &Job, before: Option<&str>) -> String {
    let before: Option<Head> = before.and_then(|text| serde_json::from_str(text).ok());
    let exported = before.and_then(|head| head.exported);
    let head = Head { id: job.id.clone(), label: job.label.clone(), changed: job.changed, exported };
    serde_json::to_string(&head).unwrap_or_default()
}

fn drafts_in(line: Option<String>) -> Drafts {
    line.and_then(|line| serde_json::from_str(&line).ok()).unwrap_or_default()
}

fn photo_key(job: &str, photo: &str) -> String {
    format!("{job}/{photo}")
}

/// Whether the connection to the database is gone, which another attempt may mend.
fn is_dropped(error: &Error) -> bool {
    match error {
        Error::DomException(DomException::InvalidStateError(_) | DomException::AbortError(_)) => true,
        Error::DomException(DomException::Other(exception)) => exception.name() == "UnknownError",
        _ => false,
    }
}

fn is_full(error: &Error) -> bool {
    matches!(error, Error::DomException(DomException::Other(exception)) if exception.name() == "QuotaExceededError")
}
