//! Where jobs are kept: IndexedDB on this device, by transactions that are on disk when they are done.
//!
//! A change is a function of the job, applied to the copy on disk inside one transaction: two tabs take turns, and neither
//! loses what the other wrote. What could not be written stays in memory, is what every later reading gives, and is tried
//! again with the next change; [`Store::trouble`] says so in words.

use std::cell::{OnceCell, RefCell};
use std::collections::BTreeMap;
use std::rc::Rc;

use indexed_db_futures::database::Database;
use indexed_db_futures::error::Error;
use indexed_db_futures::prelude::*;
use job::{Job, Photo, Time, file};
use serde::{Deserialize, Serialize};
use wasm_bindgen::prelude::Closure;
use wasm_bindgen::{JsCast, JsValue};
use web_sys::{BroadcastChannel, MessageEvent};

mod database;

use super::mirror;
use database::{CHOSEN, DRAFTS, HEADS, JOBS, NAME, ON_BENCH, PHOTOS, is_dropped, open, refused, writing};

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

/// Something that comes later, compiled once however often it is waited for.
pub(super) type Later<'a, T> = std::pin::Pin<Box<dyn Future<Output = T> + 'a>>;

/// The jobs of this device. Every copy is the same store.
#[derive(Clone)]
pub struct Store(Rc<Inner>);

struct Inner {
    database: RefCell<Option<Database>>,
    /// Jobs that are newer than on disk, or not there at all.
    unkept: RefCell<BTreeMap<String, String>>,
    trouble: RefCell<Option<String>>,
    /// The job on the bench, if it is there and cannot be read: its id, and why.
    unread: RefCell<Option<(String, String)>>,
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
            unread: RefCell::default(),
            channel: BroadcastChannel::new(NAME).ok(),
        }));
        let store = OPEN.with(|open| open.get_or_init(|| store).clone());
        let chosen = store.get(CHOSEN, ON_BENCH).await.and_then(|id| id.as_string()).or_else(mirror::current);
        if let Some(id) = chosen
            && let Some(job) = store.put_on_bench(&id).await
        {
            mirror::set(&job);
        }
        store
    }

    /// What is not kept, or cannot be read, and why.
    #[must_use]
    pub fn trouble(&self) -> Option<String> {
        let unread = |(_, why)| {
            format!("{why} Nothing of it was changed; in the list of jobs its text can be saved as it is.")
        };
        self.0.trouble.borrow().clone().or_else(|| self.unread().map(unread))
    }

    /// The job on the bench, if it is there and cannot be read: its id, and why.
    #[must_use]
    pub fn unread(&self) -> Option<(String, String)> {
        self.0.unread.borrow().clone()
    }

    /// The id of the job that was chosen on this device.
    #[must_use]
    pub fn current(&self) -> Option<String> {
        mirror::current()
    }

    /// Makes a job the one that calculators and procedures work with. One that cannot be read lies on the bench all the same,
    /// and is noted as such.
    ///
    /// # Errors
    /// Why it cannot be read, in words.
    pub async fn choose(&self, id: &str) -> Result<Job, String> {
        let found = self.put_on_bench(id).await;
        if found.is_some() || self.unread().is_some() {
            self.put(vec![(CHOSEN, ON_BENCH.to_owned(), Some(JsValue::from_str(id)))]).await;
        }
        let job = found.ok_or_else(|| self.unread().map_or_else(none_such, |(_, why)| why))?;
        mirror::set(&job);
        Ok(job)
    }

    /// The job on the bench as it stands. Where it cannot be read, that is noted.
    pub async fn on_bench(&self) -> Option<Job> {
        self.put_on_bench(&self.current()?).await
    }

    /// Reads a job for the bench, and notes whether it can be read. Of one that cannot calculators know nothing.
    fn put_on_bench<'a>(&'a self, id: &'a str) -> Later<'a, Option<Job>> {
        Box::pin(async move {
            let found = self.find(id).await;
            let why = found.as_ref().err().cloned();
            self.0.unread.replace(why.map(|why| (id.to_owned(), why)));
            let job = found.ok().flatten();
            if job.is_none() {
                mirror::forget();
            }
            job
        })
    }

    /// A job as it stands.
    ///
    /// # Errors
    /// Why it cannot be read, in words.
    pub async fn load(&self, id: &str) -> Result<Job, String> {
        self.find(id).await?.ok_or_else(none_such)
    }

    /// A job as it stands, if there is one; an error says why it cannot be read.
    fn find<'a>(&'a self, id: &'a str) -> Later<'a, Result<Option<Job>, String>> {
        Box::pin(async move { self.text(id).await?.map(|text| read(&text)).transpose() })
    }

    /// The text of a job as it is kept, whether or not it is a job.
    ///
    /// # Errors
    /// Why the browser does not give it.
    pub fn text<'a>(&'a self, id: &'a str) -> Later<'a, Result<Option<String>, String>> {
        Box::pin(async move {
            let unkept = self.0.unkept.borrow().get(id).cloned();
            if unkept.is_some() {
                return Ok(unkept);
            }
            match self.fetch(JOBS, id).await {
                // A store that refuses says nothing of whether the job is there.
                None if self.0.database.borrow().is_some() => {
                    Err("The browser does not give what is kept of this job.".to_owned())
                }
                found => Ok(found.flatten().and_then(|text| text.as_string())),
            }
        })
    }

    /// What stands under a key.
    async fn get(&self, store: &'static str, key: &str) -> Option<JsValue> {
        self.fetch(store, key).await.flatten()
    }

    /// What stands under a key; `None` where the store gave no answer.
    fn fetch<'a>(&'a self, store: &'static str, key: &'a str) -> Later<'a, Option<Option<JsValue>>> {
        Box::pin(self.within(async move |database: &Database| {
            let transaction = database.transaction(store).build()?;
            transaction.object_store(store)?.get::<JsValue, _, _>(key).primitive()?.await
        }))
    }

    /// Writes under keys, or takes away what stands there, all or nothing. Whether it is on disk.
    fn put<'a>(&'a self, all: Vec<(&'static str, String, Option<JsValue>)>) -> Later<'a, bool> {
        Box::pin(async move {
            let written = self.within(async |database: &Database| {
                let transaction = writing(database)?;
                for (store, key, value) in &all {
                    let store = transaction.object_store(store)?;
                    match value {
                        Some(value) => drop(store.put(value).with_key(key.clone()).primitive()?.await?),
                        None => store.delete(key.as_str()).primitive()?.await?,
                    }
                }
                transaction.commit().await
            });
            written.await.is_some()
        })
    }

    /// Changes a job: `act` is applied to it as it stands on disk, perhaps twice, and is done when it is on disk. Gives what
    /// `act` gave, and the job as it stands now; it stands so in memory at least.
    ///
    /// # Errors
    /// Why the job cannot be read, in words. What could not be written is [`Self::trouble`].
    pub async fn change<R>(&self, id: &str, act: impl Fn(&mut Job) -> R) -> Result<(R, Job), String> {
        let result = RefCell::new(None);
        let job = self
            .apply(id, &|job, _| {
                result.replace(Some(act(job)));
            })
            .await?;
        Ok((result.into_inner().ok_or("Nothing was changed.")?, job))
    }

    /// As [`Self::change`]; `act` sets what stands in fields and is no value yet as well. One function for all that changes,
    /// so that it is compiled once.
    pub(super) fn apply<'a>(
        &'a self,
        id: &'a str,
        act: &'a dyn Fn(&mut Job, &mut Drafts),
    ) -> Later<'a, Result<Job, String>> {
        Box::pin(async move {
            let unkept = self.0.unkept.borrow().get(id).cloned();
            let step = async |database: &Database| {
                let transaction = writing(database)?;
                let (jobs, heads) = (transaction.object_store(JOBS)?, transaction.object_store(HEADS)?);
                let there: Option<String> = jobs.get(id).primitive()?.await?;
                // What could not be kept is newer here, and another tab may have kept something of its own since.
                let text = match (&unkept, there) {
                    (Some(here), Some(there)) => together(&there, here),
                    (Some(here), None) => here.clone(),
                    (None, there) => there.unwrap_or_default(),
                };
                let drafts = transaction.object_store(DRAFTS)?;
                let old: Drafts = drafts_in(drafts.get(id).primitive()?.await?);
                let mut new = old.clone();
                let (text, job) = match changed(&text, act, &mut new) {
                    Ok(changed) => changed,
                    Err(why) => return Ok(Err(why)),
                };
                let head = head_text(&job, heads.get(id).primitive()?.await?);
                jobs.put(text).with_key(id).primitive()?.await?;
                heads.put(head).with_key(id).primitive()?.await?;
                if new != old {
                    drafts
                        .put(serde_json::to_string(&new).unwrap_or_default())
                        .with_key(id)
                        .primitive()?
                        .await?;
                }
                transaction.commit().await?;
                Ok(Ok(job))
            };
            if let Some(written) = self.within(step).await {
                let job = written?;
                self.stands(&job, None);
                return Ok(job);
            }
            // It cannot be written: it stands in memory.
            let text = self.text(id).await?.ok_or_else(none_such)?;
            let (text, job) = changed(&text, act, &mut Drafts::new())?;
            self.stands(&job, Some(text));
            Ok(job)
        })
    }

    /// Puts a job in; where one of its id is there, both become one.
    ///
    /// # Errors
    /// Why the one that is there cannot be read, in words.
    pub async fn add(&self, job: Job) -> Result<Job, String> {
        let job = match self.find(&job.id).await? {
            Some(there) => there.merged(job),
            None => job,
        };
        self.put_in(&job).await;
        ask_to_keep();
        Ok(job)
    }

    /// Begins a job and puts it on the bench.
    ///
    /// # Errors
    /// Why it is not there, in words.
    pub async fn begin(&self, label: &str) -> Result<Job, String> {
        let job = Job::new(&super::new_id(), label, super::now());
        self.put_in(&job).await;
        ask_to_keep();
        self.choose(&job.id).await
    }

    /// Puts a job in the place of whatever has its id.
    async fn put_in(&self, job: &Job) {
        let text = file::write(job);
        let head = JsValue::from_str(&head_text(job, None));
        let both =
            vec![(JOBS, job.id.clone(), Some(JsValue::from_str(&text))), (HEADS, job.id.clone(), Some(head))];
        let kept = self.put(both).await;
        self.stands(job, (!kept).then_some(text));
    }

    /// Notes that a job is on disk, or its text, which is not; tells the calculators and the other tabs.
    fn stands(&self, job: &Job, unkept: Option<String>) {
        let mut all = self.0.unkept.borrow_mut();
        match unkept {
            Some(text) => drop(all.insert(job.id.clone(), text)),
            None => drop(all.remove(&job.id)),
        }
        if all.is_empty() {
            self.0.trouble.borrow_mut().take();
        }
        drop(all);
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
        let kept = self.within(async |database: &Database| {
            let transaction = database.transaction(HEADS).build()?;
            let all = transaction.object_store(HEADS)?.get_all::<String>().primitive()?.await?;
            Ok(all.filter_map(Result::ok).collect::<Vec<String>>())
        });
        let kept = kept.await.unwrap_or_default();
        let mut heads: Vec<Head> = kept.iter().filter_map(|text| serde_json::from_str(text).ok()).collect();
        for job in self.0.unkept.borrow().values().filter_map(|text| file::read(text).ok()) {
            heads.retain(|head| head.id != job.id);
            heads.push(Head { id: job.id, label: job.label, changed: job.changed, exported: None });
        }
        // By insertion: a sort is five kilobytes of WebAssembly, and the jobs of a bench are some hundreds.
        let mut sorted: Vec<Head> = Vec::with_capacity(heads.len());
        for head in heads {
            let place = sorted.partition_point(|other| other.changed > head.changed);
            sorted.insert(place, head);
        }
        sorted
    }

    /// Notes that a job was exported as it stands.
    pub async fn exported(&self, job: &Job) {
        let head = Head {
            id: job.id.clone(),
            label: job.label.clone(),
            changed: job.changed,
            exported: Some(job.changed),
        };
        let head = JsValue::from_str(&serde_json::to_string(&head).unwrap_or_default());
        self.put(vec![(HEADS, job.id.clone(), Some(head))]).await;
        self.tell(&job.id);
    }

    /// Takes a job off this device, photographs and all.
    pub async fn delete(&self, id: &str) -> bool {
        self.0.unkept.borrow_mut().remove(id);
        let was_on_bench =
            self.current().as_deref() == Some(id) || self.unread().is_some_and(|(unread, _)| unread == id);
        let deleted = self.within(async |database: &Database| {
            let transaction = writing(database)?;
            for store in [JOBS, HEADS, DRAFTS] {
                transaction.object_store(store)?.delete(id).primitive()?.await?;
            }
            let photos = photo_key(id, "")..photo_key(id, char::MAX.encode_utf8(&mut [0; 4]));
            transaction.object_store(PHOTOS)?.delete(photos).primitive()?.await?;
            if was_on_bench {
                transaction.object_store(CHOSEN)?.delete(ON_BENCH).primitive()?.await?;
            }
            transaction.commit().await
        });
        let deleted = deleted.await.is_some();
        if was_on_bench {
            self.0.unread.take();
            mirror::forget();
        }
        self.tell(id);
        deleted
    }

    /// What stands in the fields of a job and is no value yet.
    pub async fn drafts(&self, id: &str) -> Drafts {
        drafts_in(self.get(DRAFTS, id).await.and_then(|line| line.as_string()))
    }

    /// Keeps the picture of a photograph. Whether it is on disk.
    pub async fn keep_photo(&self, job: &str, photo: &Photo, picture: JsValue) -> bool {
        self.put(vec![(PHOTOS, photo_key(job, &photo.id), Some(picture))]).await
    }

    /// Takes the picture of a photograph off this device.
    pub async fn forget_photo(&self, job: &str, photo: &str) {
        self.put(vec![(PHOTOS, photo_key(job, photo), None)]).await;
    }

    /// The picture of a photograph.
    pub async fn photo(&self, job: &str, photo: &str) -> Option<JsValue> {
        self.get(PHOTOS, &photo_key(job, photo)).await
    }

    /// Works with the database; where the connection has dropped it is opened once more. None where there is no database or
    /// it refused, which is noted as trouble.
    async fn within<T>(&self, work: impl AsyncFn(&Database) -> Result<T, Error>) -> Option<T> {
        let database = self.0.database.borrow().clone()?;
        match work(&database).await {
            Ok(done) => Some(done),
            Err(error) => {
                let database = self.after(error).await?;
                let again = work(&database).await;
                again.map_err(|error| self.0.trouble.replace(Some(refused(&error)))).ok()
            }
        }
    }

    /// What is left after an error: the database opened anew, or nothing.
    fn after(&self, error: Error) -> Later<'_, Option<Database>> {
        Box::pin(async move {
            if !is_dropped(&error) {
                self.0.trouble.replace(Some(refused(&error)));
                return None;
            }
            match open().await {
                Ok(database) => {
                    self.0.database.replace(Some(database.clone()));
                    Some(database)
                }
                Err(why) => {
                    self.0.database.replace(None);
                    self.0.trouble.replace(Some(format!("The browser’s store was lost and does not open again ({why}). What you write is in this page only: export the job, then reload.")));
                    None
                }
            }
        })
    }
}

fn read(text: &str) -> Result<Job, String> {
    file::read(text).map_err(|refused| format!("What is kept of this job cannot be read: {refused}."))
}

fn none_such() -> String {
    "There is no such job on this device.".to_owned()
}

/// A job's text with a change applied, and the job.
fn changed(
    text: &str,
    act: &dyn Fn(&mut Job, &mut Drafts),
    drafts: &mut Drafts,
) -> Result<(String, Job), String> {
    let mut job = read(text)?;
    act(&mut job, drafts);
    Ok((file::write(&job), job))
}

/// Asks the browser not to clear what is kept. Some ask the reader first: nothing waits for the answer.
fn ask_to_keep() {
    wasm_bindgen_futures::spawn_local(async {
        super::wake::promise(true).await;
    });
}

/// Two texts of one job as one.
fn together(there: &str, here: &str) -> String {
    match (file::read(there), file::read(here)) {
        (Ok(there), Ok(here)) => file::write(&there.merged(here)),
        _ => here.to_owned(),
    }
}

/// The head of a job; what was exported before stays so.
fn head_text(job: &Job, before: Option<String>) -> String {
    let before: Option<Head> = before.and_then(|text| serde_json::from_str(&text).ok());
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
