//! Which job this page works with, and which is on the bench. Another tab may have put another there since; this page goes
//! on with its own, and says so.

use job::{Job, file};

use super::database::{BENCH, HEADS, JOBS, ON_BENCH, RECORD, RUN, Write};
use super::unkept::Unkept;
use super::{Fault, Head, Store, current_job, head_in, put, read, texts};

/// The bench, as this page knows it.
#[derive(Default)]
pub(super) struct Bench {
    /// The job that this page works with.
    opened: Option<String>,
    /// The job on the bench, as the store had it last.
    chosen: Option<String>,
    /// Whether this page has put its job on the bench and the store did not take note.
    owing: bool,
    /// The job that this page works with, as it was last on disk, and the text of its file.
    seen: Option<(String, Job)>,
    /// Whether another tab has said that it did something to that job since.
    told: bool,
    /// Why that job is there no more, or cannot be read.
    fault: Option<Fault>,
}

impl Bench {
    /// Works with this job from now on. `kept` is whether the store has it so.
    pub(super) fn take_up(&mut self, job: &Job, kept: bool) {
        let chosen = if kept { Some(job.id.clone()) } else { self.chosen.take() };
        *self = Self { opened: Some(job.id.clone()), chosen, owing: !kept, ..Self::default() };
    }

    /// The job is not there any more.
    pub(super) fn put_off(&mut self, id: &str) {
        if self.chosen.as_deref() == Some(id) {
            self.chosen = None;
        }
        if self.opened.as_deref() == Some(id) {
            *self = Self { chosen: self.chosen.take(), ..Self::default() };
        }
    }

    /// The text of a job that was on disk when it was last looked for, and that nobody has deleted since.
    pub(super) fn seen(&self, id: &str) -> Option<String> {
        let is_it = self.opened.as_deref() == Some(id) && !self.told && self.fault != Some(Fault::Deleted);
        self.seen.as_ref().filter(|_| is_it).map(|(text, _)| text.clone())
    }

    pub(super) fn is_seen(&mut self, job: &Job, text: String) {
        if self.opened.as_deref() == Some(&job.id) {
            self.seen = Some((text, job.clone()));
            self.fault = None;
            if std::mem::take(&mut self.owing) {
                self.chosen.clone_from(&self.opened);
            }
        }
    }

    /// Notes how the job of this page is on disk; gives its text where it is no longer there and nobody has deleted it.
    fn is_as(&mut self, text: Option<String>, is_kept: bool) -> Option<String> {
        let told = std::mem::take(&mut self.told);
        let Some(text) = text else {
            if !is_kept {
                return None;
            }
            let Some((seen, _)) = &self.seen else {
                // It lay on the bench and is not there.
                self.opened = None;
                return None;
            };
            if told || self.fault == Some(Fault::Deleted) {
                self.fault = Some(Fault::Deleted);
                return None;
            }
            (self.fault, self.owing) = (Some(Fault::Cleared), true);
            return Some(seen.clone());
        };
        if self.seen.as_ref().is_none_or(|(seen, _)| *seen != text) {
            let read = read(&text);
            self.fault = read.as_ref().err().cloned();
            self.seen = read.ok().map(|job| (text, job));
        } else {
            self.fault = None;
        }
        None
    }
}

impl Store {
    /// The id of the job that this page works with: the one on the bench when the page was opened, or chosen in it since.
    #[must_use]
    pub fn current(&self) -> Option<String> {
        self.0.bench.borrow().opened.clone()
    }

    /// The id of the job on the bench, where that is another than the page works with, or `Some(None)` where none is.
    #[must_use]
    pub fn elsewhere(&self) -> Option<Option<String>> {
        let bench = self.0.bench.borrow();
        let is_elsewhere = bench.opened.is_some() && !bench.owing && bench.chosen != bench.opened;
        is_elsewhere.then(|| bench.chosen.clone())
    }

    /// The job that this page works with, if it is there and cannot be read: its id, and why.
    #[must_use]
    pub fn unread(&self) -> Option<(String, Fault)> {
        let bench = self.0.bench.borrow();
        let why = bench.fault.clone().filter(|why| matches!(why, Fault::Unreadable(_)))?;
        Some((bench.opened.clone()?, why))
    }

    /// Why the job that this page works with is there no more.
    pub(super) fn lost(&self) -> Option<Fault> {
        self.0.bench.borrow().fault.clone().filter(|why| !matches!(why, Fault::Unreadable(_)))
    }

    /// The job that this page works with, as it stands.
    pub async fn on_bench(&self) -> Option<Job> {
        self.look().await;
        let id = self.current()?;
        let here = self.0.unkept.borrow().get(&id).map(|unkept| unkept.text.clone());
        if let Some(here) = here {
            return read(&here).ok();
        }
        let bench = self.0.bench.borrow();
        bench.seen.as_ref().filter(|_| bench.fault.is_none()).map(|(_, job)| job.clone())
    }

    /// Looks which job is on the bench, and at the one that this page works with. The first time it is that of the
    /// bench.
    pub fn look(&self) -> super::Later<'_, ()> {
        Box::pin(async move {
            match self.looked().await {
                // All is well again, if nothing waits for it.
                Ok(()) if !self.has_unkept() && self.is_noted() => drop(self.0.fault.take()),
                Ok(()) => {}
                Err(why) => drop(self.0.fault.borrow_mut().get_or_insert(why)),
            }
        })
    }

    async fn looked(&self) -> Result<(), Fault> {
        let opened = match self.current() {
            Some(id) => id,
            None => match self.first().await? {
                Some(id) => id,
                None => return Ok(()),
            },
        };
        let places = [(BENCH, ON_BENCH), (JOBS, &opened), (BENCH, RECORD), (HEADS, &opened)];
        let [chosen, text, record, head] = texts(self.0.connection.read(&places).await?);
        let revision = head_in(head.as_deref()).map_or(0, |head| head.revision);
        let is_behind = chosen.as_deref() == Some(&opened)
            && !record.is_some_and(|record| current_job::is_of(&record, &opened, revision));
        if text.is_some() {
            // Another tab has put back what the browser had cleared.
            self.0.unkept.borrow_mut().retain(|id, unkept| !unkept.lost || *id != opened);
        }
        let is_kept = self.is_kept(&opened);
        let (lost, is_sound) = {
            let mut bench = self.0.bench.borrow_mut();
            (bench.chosen, bench.opened) = (chosen, Some(opened.clone()));
            let lost = bench.is_as(text, is_kept);
            (lost, bench.fault.is_none() && bench.seen.is_some())
        };
        if let Some(text) = lost {
            let unkept = Unkept { text, drafts: super::Drafts::new(), base: None, lost: true };
            self.0.unkept.borrow_mut().insert(opened.clone(), unkept);
        }
        if is_behind && is_sound {
            // Where it is refused, calculators show no value of the job: they see that the record is not of it.
            if self.put_on_bench(&opened).await.is_ok() {
                self.tell(&opened);
            }
        }
        Ok(())
    }

    /// The job on the bench when the page is opened. An edition before this one may have left it in the browser's small
    /// store, which it was not always able to do here.
    async fn first(&self) -> Result<Option<String>, Fault> {
        let [chosen] = texts(self.0.connection.read(&[(BENCH, ON_BENCH)]).await?);
        let before = if chosen.is_none() { current_job::of_an_earlier_edition() } else { None };
        if let Some(before) = before {
            let is_there = !matches!(self.put_on_bench(&before).await?, Err(Fault::NoSuchJob));
            return Ok(is_there.then_some(before));
        }
        Ok(chosen)
    }

    /// Makes a job the one that this page works with and puts it on the bench. One that cannot be read is there all the
    /// same, and is noted as such.
    ///
    /// # Errors
    /// Why it cannot be read. What the store did not take note of is [`Self::is_noted`].
    pub async fn choose(&self, id: &str) -> Result<Job, Fault> {
        let put = self.put_on_bench(id).await;
        let found = match &put {
            Ok(found) if self.is_kept(id) => found.clone(),
            _ => self.load(id).await,
        };
        if matches!(found, Err(Fault::NoSuchJob | Fault::Deleted)) {
            return found;
        }
        {
            let mut bench = self.0.bench.borrow_mut();
            let chosen = if put.is_ok() { Some(id.to_owned()) } else { bench.chosen.take() };
            let fault = found.as_ref().err().cloned();
            let seen = found.as_ref().ok().map(|job| (file::write(job), job.clone()));
            *bench =
                Bench { opened: Some(id.to_owned()), chosen, owing: put.is_err(), seen, told: false, fault };
        }
        match put {
            Ok(_) => self.tell(id),
            Err(why) => drop(self.0.fault.replace(Some(why))),
        }
        found
    }

    /// Whether the store has the job of this page on the bench, if this page has put it there.
    #[must_use]
    pub fn is_noted(&self) -> bool {
        !self.0.bench.borrow().owing
    }

    /// Notes in the store that a job is on the bench, and what pages need of it; gives the job, or why it cannot be read. One
    /// that is in this page only cannot lie there yet.
    async fn put_on_bench(&self, id: &str) -> Result<Result<Job, Fault>, Fault> {
        let came = std::cell::RefCell::new(Err(Fault::NoSuchJob));
        let step = |found| {
            let [there, head] = texts(found);
            let Some(there) = there else { return vec![] };
            let job = read(&there);
            let head = head_in(head.as_deref()).map(Head::counted);
            let record = match (&job, &head) {
                (Ok(job), Some(head)) => put(BENCH, RECORD, &current_job::record(job, head.revision)),
                _ => Write::Delete(BENCH, RECORD.to_owned()),
            };
            *came.borrow_mut() = job;
            let head = head.map(|head| put(HEADS, id, &head.written()));
            [Some(put(BENCH, ON_BENCH, id)), Some(record), head].into_iter().flatten().collect()
        };
        self.0.connection.change(&[(JOBS, id), (HEADS, id)], 0, &step).await?;
        let why = self.0.fault.borrow().clone();
        match came.into_inner() {
            Err(Fault::NoSuchJob) if !self.is_kept(id) => Err(why.unwrap_or(Fault::NoSuchJob)),
            found => Ok(found),
        }
    }

    /// Keeps in mind which page runs a procedure with a job; none where the run was left.
    pub async fn note_run(&self, run: Option<(&str, &str)>) {
        let step = |_| match run {
            Some((job, page)) => vec![put(BENCH, RUN, &format!("{job} {page}"))],
            None => vec![Write::Delete(BENCH, RUN.to_owned())],
        };
        // Where it is refused, the run begins where the job says, once it is asked to.
        drop(self.0.connection.change(&[], 0, &step).await);
    }

    /// Whether what pages need of a job is written with it: it is on the bench, or will be.
    pub(super) fn is_for_bench(&self, id: &str, on_bench: Option<&str>) -> bool {
        let bench = self.0.bench.borrow();
        on_bench == Some(id) || (bench.owing && bench.opened.as_deref() == Some(id))
    }

    /// Why there is no such job.
    pub(super) fn missing(&self, id: &str) -> Fault {
        let bench = self.0.bench.borrow();
        bench.fault.clone().filter(|_| bench.opened.as_deref() == Some(id)).unwrap_or(Fault::NoSuchJob)
    }

    /// Another tab has said that it did something to a job.
    pub(super) fn told_of(&self, id: Option<&str>) {
        let mut bench = self.0.bench.borrow_mut();
        if id.is_some() && bench.opened.as_deref() == id {
            bench.told = true;
        }
    }
}
