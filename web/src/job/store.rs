//! Where jobs are kept: IndexedDB on this device, by transactions that are on disk when they are done.
//!
//! A change is a function of the job, applied to the copy on disk inside one transaction: two tabs take turns, and neither
//! loses what the other wrote. In the same transaction goes what pages without this module need of the job on the bench
//! ([`super::current_job`]). What could not be written stays in memory, is what every later reading of this page gives, and is
//! tried again every other second; [`Store::trouble`] says so in words.
//!
//! A page works with the job that was on the bench when it was opened, or that was chosen in it, whatever another tab chooses.

mod bench;
mod connection;
mod database;
mod fault;
mod head;
mod photos;
mod unkept;

use std::cell::{Cell, OnceCell, RefCell};
use std::collections::BTreeMap;
use std::rc::Rc;

use gloo_events::EventListener;
use job::{Job, file};
use wasm_bindgen::{JsCast, JsValue};
use wasm_bindgen_futures::spawn_local;
use web_sys::{BroadcastChannel, MessageEvent};

use super::current_job;
use crate::platform::persistence;
use bench::Bench;
use connection::Connection;
use database::{BENCH, DRAFTS, HEADS, JOBS, NAME, ON_BENCH, RECORD, RUN, Write};
pub use fault::Fault;
pub use head::Head;
use unkept::Unkept;

/// Texts in a form that are no value yet, by the name of the field.
pub type Drafts = BTreeMap<String, String>;

/// Something that comes later, compiled once however often it is waited for.
pub(super) type Later<'a, T> = std::pin::Pin<Box<dyn Future<Output = T> + 'a>>;

/// Called with the id of a job that was changed.
type Listener = Rc<dyn Fn(String)>;

/// The jobs of this device. Every copy is the same store.
#[derive(Clone)]
pub struct Store(Rc<Inner>);

struct Inner {
    connection: Connection,
    /// Jobs that are newer here than on disk, or not there at all.
    unkept: RefCell<BTreeMap<String, Unkept>>,
    /// Whether they are being tried again.
    trying: Cell<bool>,
    /// Why something is not kept.
    fault: RefCell<Option<Fault>>,
    bench: RefCell<Bench>,
    channel: Option<BroadcastChannel>,
    /// What is called when a job was changed, here behind the page or in another tab.
    told: RefCell<Vec<Listener>>,
    listening: OnceCell<EventListener>,
}

thread_local! {
    static OPEN: OnceCell<Store> = const { OnceCell::new() };
}

impl Store {
    /// Opens the store of this page. Where the browser has none, it is memory, and says so.
    pub async fn open() -> Self {
        let (store, is_new) = OPEN.with(|open| {
            let is_new = open.get().is_none();
            (open.get_or_init(Self::new).clone(), is_new)
        });
        if is_new {
            let unkept = store.clone();
            crate::platform::page::hold(move || unkept.has_unkept());
        }
        store.look().await;
        if store.0.fault.borrow().is_none() {
            crate::platform::page::forget_earlier_editions();
        }
        store
    }

    /// A store of its own, as another tab has one. It knows of no bench until it has looked ([`Self::look`]).
    #[must_use]
    pub fn new() -> Self {
        let store = Self(Rc::new(Inner {
            connection: Connection::default(),
            unkept: RefCell::default(),
            trying: Cell::default(),
            fault: RefCell::default(),
            bench: RefCell::default(),
            channel: BroadcastChannel::new(NAME).ok(),
            told: RefCell::default(),
            listening: OnceCell::new(),
        }));
        store.listen();
        store
    }

    fn listen(&self) {
        let weak = Rc::downgrade(&self.0);
        let look = move |told: Option<String>| {
            let Some(inner) = weak.upgrade() else { return };
            let store = Self(inner);
            spawn_local(async move {
                store.told_of(told.as_deref());
                store.look().await;
                store.notify(&told.unwrap_or_default());
            });
        };
        if let Some(channel) = &self.0.channel {
            let look = look.clone();
            let listener = EventListener::new(channel, "message", move |event| {
                look(event.dyn_ref::<MessageEvent>().and_then(|event| event.data().as_string()));
            });
            let _ = self.0.listening.set(listener);
        }
        self.0.connection.on_turn(move || look(None));
    }

    /// What is not kept, or cannot be read, and why, in words.
    #[must_use]
    pub fn trouble(&self) -> Option<String> {
        let unread = |(_, why): (String, Fault)| {
            format!("{why} Nothing was changed; its text can be saved as it is from the list of jobs.")
        };
        let lost = || self.lost();
        self.0
            .fault
            .borrow()
            .clone()
            .or_else(lost)
            .map(|why| why.to_string())
            .or_else(|| self.unread().map(unread))
    }

    /// Whether all of a job is on disk, as far as this page knows.
    #[must_use]
    pub fn is_kept(&self, id: &str) -> bool {
        !self.0.unkept.borrow().contains_key(id)
    }

    /// Whether something is in this page only.
    #[must_use]
    pub fn has_unkept(&self) -> bool {
        !self.0.unkept.borrow().is_empty()
    }

    /// A job as it stands.
    ///
    /// # Errors
    /// Why it cannot be given.
    pub fn load<'a>(&'a self, id: &'a str) -> Later<'a, Result<Job, Fault>> {
        Box::pin(async move { Ok(self.with_revision(id).await?.0) })
    }

    /// A job as it stands, and its revision on disk; none of one that is in this page only.
    ///
    /// # Errors
    /// Why it cannot be given.
    pub async fn with_revision(&self, id: &str) -> Result<(Job, Option<u64>), Fault> {
        let unkept = self.0.unkept.borrow().get(id).map(|unkept| unkept.text.clone());
        if let Some(text) = unkept {
            return Ok((read(&text)?, None));
        }
        let found = self.0.connection.read(&[(JOBS, id), (HEADS, id)]).await?;
        let [text, head] = texts(found);
        let job = read(&text.ok_or_else(|| self.missing(id))?)?;
        Ok((job, Some(head_in(head.as_deref()).map_or(0, |head| head.revision))))
    }

    /// The text of a job as it is kept, whether or not it is a job.
    ///
    /// # Errors
    /// Why the browser does not give it.
    pub async fn text(&self, id: &str) -> Result<String, Fault> {
        let [text] = texts(self.0.connection.read(&[(JOBS, id)]).await?);
        text.ok_or_else(|| self.missing(id))
    }

    /// Changes a job: `act` is applied to it as it is on disk, perhaps twice, and is done when it is on disk. Gives what
    /// `act` gave, and the job as it stands now; it stands so in memory at least: [`Self::is_kept`].
    ///
    /// # Errors
    /// Why there is no such job to change. What could not be written is [`Self::trouble`].
    pub async fn change<R>(&self, id: &str, act: impl Fn(&mut Job) -> R) -> Result<(R, Job), Fault> {
        let result = RefCell::new(None);
        let job = self
            .apply(id, &|job, _| {
                result.replace(Some(act(job)));
            })
            .await?;
        Ok((result.into_inner().ok_or(Fault::NoSuchJob)?, job))
    }

    /// As [`Self::change`]; `act` also sets the content of fields that is not a value yet. One function for all that changes,
    /// so that it is compiled once.
    pub(super) fn apply<'a>(
        &'a self,
        id: &'a str,
        act: &'a dyn Fn(&mut Job, &mut Drafts),
    ) -> Later<'a, Result<Job, Fault>> {
        Box::pin(async move {
            let here = self.0.unkept.borrow().get(id).cloned();
            let came = RefCell::new(Err(Fault::NoSuchJob));
            let step = |found| {
                let [there, drafts, head, on_bench] = texts(found);
                let before = match (&here, there) {
                    // What could not be kept is newer here, and another tab may have kept something of its own since.
                    (Some(here), there) => here.over(there, drafts.as_deref()),
                    (None, Some(there)) => Unkept::kept(there, drafts.as_deref()),
                    (None, None) => match self.0.bench.borrow().seen(id) {
                        // The browser has cleared it under this page, which has it still.
                        Some(seen) => Unkept { text: seen, drafts: Drafts::new(), base: None, lost: true },
                        None => {
                            *came.borrow_mut() = Err(self.missing(id));
                            return vec![];
                        }
                    },
                };
                let is_put_back = before.lost;
                match before.changed(act) {
                    Ok((after, job)) => {
                        let head = Head::next(&job, head_in(head.as_deref()).as_ref());
                        let on_bench = is_put_back || self.is_for_bench(id, on_bench.as_deref());
                        let mut writes = written(&job, &after.text, &head, on_bench);
                        writes.push(put(DRAFTS, id, &drafts_written(&after.drafts)));
                        *came.borrow_mut() = Ok((job, after.text));
                        writes
                    }
                    Err(why) => {
                        *came.borrow_mut() = Err(why);
                        vec![]
                    }
                }
            };
            let places = [(JOBS, id), (DRAFTS, id), (HEADS, id), (BENCH, ON_BENCH)];
            match self.0.connection.change(&places, 0, &step).await {
                Ok(_) => {
                    let (job, text) = came.into_inner()?;
                    self.is_on_disk(&job, text);
                    Ok(job)
                }
                Err(why) => {
                    let before = self.as_it_stands(id).await?;
                    let (after, job) = before.changed(act)?;
                    self.is_here_only(&job.id, after, why);
                    Ok(job)
                }
            }
        })
    }

    /// Puts a job in and on the bench; where one of its id is there, both become one. It is in this page at least.
    ///
    /// # Errors
    /// Why the one that is there cannot be read.
    pub async fn add(&self, job: Job) -> Result<Job, Fault> {
        if self.current().is_none() {
            persistence::ask();
        }
        let id = job.id.clone();
        let here = self.0.unkept.borrow().get(&id).cloned();
        let came = RefCell::new(Err(Fault::NoSuchJob));
        let join = |there: Option<&str>| -> Result<Job, Fault> {
            let mut whole = job.clone();
            for text in here.as_ref().map(|here| here.text.as_str()).into_iter().chain(there) {
                whole = read(text)?.merged(whole);
            }
            Ok(whole)
        };
        let step = |found| {
            let [there, head] = texts(found);
            match join(there.as_deref()) {
                Ok(whole) => {
                    let head = Head::next(&whole, head_in(head.as_deref()).as_ref());
                    let text = file::write(&whole);
                    let writes = written(&whole, &text, &head, true);
                    *came.borrow_mut() = Ok((whole, text));
                    writes
                }
                Err(why) => {
                    *came.borrow_mut() = Err(why);
                    vec![]
                }
            }
        };
        let size = u32::try_from(job.readings.len()).unwrap_or(u32::MAX).saturating_mul(1_000);
        let kept = self.0.connection.change(&[(JOBS, &id), (HEADS, &id)], size, &step).await;
        let (whole, text) = match &kept {
            Ok(_) => came.into_inner()?,
            Err(_) => {
                let there = self.text(&id).await.ok();
                let whole = join(there.as_deref())?;
                let text = file::write(&whole);
                (whole, text)
            }
        };
        self.0.bench.borrow_mut().take_up(&whole, kept.is_ok());
        match kept {
            Ok(_) => self.is_on_disk(&whole, text),
            Err(why) => {
                let drafts = here.map(|here| here.drafts).unwrap_or_default();
                self.is_here_only(&id, Unkept { text, drafts, base: None, lost: false }, why);
            }
        }
        Ok(whole)
    }

    /// Takes a job off this device, photographs and all. Where that fails, everything is as it was.
    ///
    /// # Errors
    /// Why the browser does not do it.
    pub async fn delete(&self, id: &str) -> Result<(), Fault> {
        let step = |found| {
            let [on_bench] = texts(found);
            let mut writes: Vec<Write> =
                [JOBS, HEADS, DRAFTS].map(|store| Write::Delete(store, id.to_owned())).into();
            writes.push(Write::DeletePhotos(id.to_owned()));
            if on_bench.as_deref() == Some(id) {
                writes.extend([ON_BENCH, RECORD, RUN].map(|key| Write::Delete(BENCH, key.to_owned())));
            }
            writes
        };
        match self.0.connection.change(&[(BENCH, ON_BENCH)], 0, &step).await {
            // Where there is no store the job is in this page only.
            Ok(_) | Err(Fault::NoStore(_)) => {}
            Err(why) => return Err(why),
        }
        self.0.unkept.borrow_mut().remove(id);
        self.0.bench.borrow_mut().put_off(id);
        self.tell(id);
        Ok(())
    }

    /// The content of a job's fields that is not a value yet.
    pub async fn drafts(&self, id: &str) -> Drafts {
        let unkept = self.0.unkept.borrow().get(id).map(|unkept| unkept.drafts.clone());
        if let Some(drafts) = unkept {
            return drafts;
        }
        let [line] = texts(self.0.connection.read(&[(DRAFTS, id)]).await.unwrap_or_default());
        drafts_in(line.as_deref())
    }

    /// Calls `act` with the id of a job that another tab has changed, or that this page has at last kept.
    pub fn on_change(&self, act: impl Fn(String) + 'static) {
        self.0.told.borrow_mut().push(Rc::new(act));
    }

    fn notify(&self, id: &str) {
        let told = self.0.told.borrow().clone();
        told.iter().for_each(|act| act(id.to_owned()));
    }

    /// Tells the calculators of this page and the other tabs.
    fn tell(&self, id: &str) {
        if let Some(channel) = &self.0.channel {
            // Without a channel they learn of it when they next read.
            let _ = channel.post_message(&JsValue::from_str(id));
        }
    }
}

impl Default for Store {
    fn default() -> Self {
        Self::new()
    }
}

fn read(text: &str) -> Result<Job, Fault> {
    file::read(text).map_err(Fault::Unreadable)
}

/// What of a job goes into the stores; with `on_bench` it lies there from now on.
fn written(job: &Job, text: &str, head: &Head, on_bench: bool) -> Vec<Write> {
    let id = &job.id;
    let mut writes = vec![put(JOBS, id, text), put(HEADS, id, &head.written())];
    if on_bench {
        writes.push(put(BENCH, ON_BENCH, id));
        writes.push(put(BENCH, RECORD, &current_job::record(job, head.revision)));
    }
    writes
}

fn put(store: &'static str, key: &str, text: &str) -> Write {
    Write::Put(store, key.to_owned(), JsValue::from_str(text))
}

/// What was found, as texts.
fn texts<const N: usize>(found: Vec<JsValue>) -> [Option<String>; N] {
    let mut found = found.into_iter();
    [(); N].map(|()| found.next()?.as_string())
}

fn head_in(text: Option<&str>) -> Option<Head> {
    Head::read(text?)
}

fn drafts_in(line: Option<&str>) -> Drafts {
    line.and_then(|line| serde_json::from_str(line).ok()).unwrap_or_default()
}

fn drafts_written(drafts: &Drafts) -> String {
    serde_json::to_string(drafts).unwrap_or_default()
}
