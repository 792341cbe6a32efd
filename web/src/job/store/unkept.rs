//! What is in this page and not on disk: kept in memory, given to every reader, and tried again.

use gloo_timers::future::TimeoutFuture;
use job::{Job, file};
use wasm_bindgen_futures::spawn_local;

use super::{Drafts, Fault, Store, drafts_in, read};

/// How long it rests before it is tried again, in milliseconds.
const REST: u32 = 2_000;

/// A job that is newer here than on disk, or not there at all.
#[derive(Debug, Clone)]
pub(super) struct Unkept {
    /// The text of its file.
    pub(super) text: String,
    pub(super) drafts: Drafts,
    /// What was on disk when it was changed here.
    pub(super) base: Option<String>,
    /// Whether it was on disk and the browser has cleared it. It is put back when it is next changed, not before.
    pub(super) lost: bool,
}

impl Unkept {
    /// A job as it is on disk.
    pub(super) fn kept(text: String, drafts: Option<&str>) -> Self {
        Self { base: Some(text.clone()), text, drafts: drafts_in(drafts), lost: false }
    }

    /// With what is on disk by now.
    pub(super) fn over(&self, there: Option<String>, drafts: Option<&str>) -> Self {
        let mut all = drafts_in(drafts);
        all.extend(self.drafts.clone());
        let lost = self.lost && there.is_none();
        // Only where another tab has kept something since are the two made one, by their times.
        let text = match &there {
            Some(there) if Some(there) != self.base.as_ref() => together(there, &self.text),
            _ => self.text.clone(),
        };
        Self { text, drafts: all, base: there, lost }
    }

    /// With a change applied, and the job.
    pub(super) fn changed(mut self, act: &dyn Fn(&mut Job, &mut Drafts)) -> Result<(Self, Job), Fault> {
        let mut job = read(&self.text)?;
        act(&mut job, &mut self.drafts);
        self.text = file::write(&job);
        Ok((self, job))
    }
}

/// Two texts of one job as one.
fn together(there: &str, here: &str) -> String {
    match (file::read(there), file::read(here)) {
        (Ok(there), Ok(here)) => file::write(&there.merged(here)),
        _ => here.to_owned(),
    }
}

impl Store {
    /// A job as this page has it, when it could not be changed on disk.
    pub(super) async fn as_it_stands(&self, id: &str) -> Result<Unkept, Fault> {
        let here = self.0.unkept.borrow().get(id).cloned();
        if let Some(here) = here {
            return Ok(here);
        }
        let drafts = self.drafts(id).await;
        let seen = self.0.bench.borrow().seen(id);
        let text = match self.text(id).await {
            Ok(text) => text,
            Err(why) => seen.ok_or(why)?,
        };
        Ok(Unkept { base: Some(text.clone()), text, drafts, lost: false })
    }

    /// Notes that a job is on disk.
    pub(super) fn is_on_disk(&self, job: &Job, text: String) {
        let none_left = {
            let mut unkept = self.0.unkept.borrow_mut();
            unkept.remove(&job.id);
            unkept.is_empty()
        };
        if none_left {
            self.0.fault.take();
        }
        self.0.bench.borrow_mut().is_seen(job, text);
        self.tell(&job.id);
    }

    /// Notes that a job is in this page only, and why.
    pub(super) fn is_here_only(&self, id: &str, unkept: Unkept, why: Fault) {
        self.0.unkept.borrow_mut().insert(id.to_owned(), unkept);
        self.0.fault.replace(Some(why));
        self.try_again();
    }

    /// Tries again, as long as something is in this page only.
    fn try_again(&self) {
        if self.0.trying.replace(true) {
            return;
        }
        let weak = std::rc::Rc::downgrade(&self.0);
        spawn_local(async move {
            loop {
                TimeoutFuture::new(REST).await;
                let Some(store) = weak.upgrade().map(Self) else { return };
                for id in store.waiting() {
                    // What cannot be kept now either is tried again later.
                    if store.apply(&id, &|_, _| {}).await.is_ok() && store.is_kept(&id) {
                        store.notify(&id);
                    }
                }
                if store.waiting().is_empty() {
                    store.0.trying.set(false);
                    return;
                }
            }
        });
    }

    /// The jobs to try again.
    fn waiting(&self) -> Vec<String> {
        let unkept = self.0.unkept.borrow();
        unkept.iter().filter(|(_, unkept)| !unkept.lost).map(|(id, _)| id.clone()).collect()
    }
}
