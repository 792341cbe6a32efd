//! The connection to the database: opened when it is wanted, opened again when it was lost, given up when it does not answer.

use std::cell::{Cell, RefCell};
use std::future::poll_fn;
use std::pin::pin;
use std::rc::Rc;
use std::task::Poll;

use gloo_events::EventListener;
use gloo_timers::future::TimeoutFuture;
use indexed_db_futures::database::Database;
use indexed_db_futures::internals::SystemRepr;
use js_sys::Promise;
use wasm_bindgen::{JsCast, JsValue};
use wasm_bindgen_futures::{JsFuture, future_to_promise};
use web_sys::EventTarget;

use super::database::{self, Decide, Place, Work};
use super::fault::is_dropped;
use super::{Fault, Later};
use crate::job::steady;

/// For how long the store is waited for, in milliseconds, before the page says that it does not answer.
const PATIENCE: u32 = 1_500;
/// For how long one that did not answer is not asked again: what is typed meanwhile must not wait for it key by key.
const REST: f64 = 3_000.0;

/// The connection of this page.
#[derive(Clone, Default)]
pub(super) struct Connection(Rc<Inner>);

#[derive(Default)]
struct Inner {
    open: RefCell<Option<Open>>,
    /// A database that is being opened, and since when.
    opening: RefCell<Option<(Promise, f64)>>,
    /// Until when it is left alone.
    rests_until: Cell<f64>,
    /// Why it did not open.
    refused: RefCell<Option<Fault>>,
    /// Whether it was given up, or lost, since it was last open.
    is_missed: Cell<bool>,
    /// Called when it has opened once more, or was taken away from outside.
    on_turn: RefCell<Option<Rc<dyn Fn()>>>,
}

struct Open {
    database: Database,
    /// Lets go of the database when another tab wants it for itself, and notices when the browser takes it away.
    _taken_away: [EventListener; 2],
}

impl Connection {
    /// Calls `act` when it opens after it was given up or lost, and when the database was taken away from outside: cleared, deleted, or made another
    /// edition's.
    pub(super) fn on_turn(&self, act: impl Fn() + 'static) {
        self.0.on_turn.replace(Some(Rc::new(act)));
    }

    /// Gives what is at some places.
    pub(super) fn read<'a>(&'a self, places: &'a [Place<'a>]) -> Later<'a, Result<Vec<JsValue>, Fault>> {
        self.within(0, Work::Read(places))
    }

    /// Gives all that is in a store.
    pub(super) fn all(&self, store: &'static str) -> Later<'_, Result<Vec<JsValue>, Fault>> {
        self.within(0, Work::All(store))
    }

    /// Reads, decides and writes, all or nothing; `size` is how many bytes it is about.
    pub(super) fn change<'a>(
        &'a self,
        places: &'a [Place<'a>],
        size: u32,
        decide: Decide<'a>,
    ) -> Later<'a, Result<Vec<JsValue>, Fault>> {
        self.within(size, Work::Change(places, decide))
    }

    /// Works with the database; where the connection has dropped, once more with a new one. A slow disk is given a second
    /// for each megabyte.
    fn within<'a>(&'a self, size: u32, work: Work<'a>) -> Later<'a, Result<Vec<JsValue>, Fault>> {
        Box::pin(async move {
            for _ in 0..2 {
                if steady() < self.0.rests_until.get() {
                    break;
                }
                let database = self.database().await?;
                match in_time(PATIENCE + size / 1_000, database::work(&database, &work)).await {
                    Some(Ok(found)) => return Ok(found),
                    Some(Err(error)) if is_dropped(&error) => self.let_go(),
                    Some(Err(error)) => return Err(error.into()),
                    None => {
                        self.let_go();
                        self.0.rests_until.set(steady() + REST);
                    }
                }
            }
            Err(Fault::NoAnswer)
        })
    }

    /// The open database. One that is being opened is waited for, but not for longer than for the first who waits.
    async fn database(&self) -> Result<Database, Fault> {
        if let Some(open) = &*self.0.open.borrow() {
            return Ok(open.database.clone());
        }
        let (opening, since) =
            self.0.opening.borrow_mut().get_or_insert_with(|| (self.opening(), steady())).clone();
        let waited = (steady() - since).clamp(0.0, f64::from(PATIENCE));
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let left = PATIENCE - waited as u32;
        let answered = in_time(left, JsFuture::from(opening)).await.is_some();
        if let Some(open) = &*self.0.open.borrow() {
            return Ok(open.database.clone());
        }
        self.0.is_missed.set(true);
        Err(self.0.refused.borrow().clone().filter(|_| answered).unwrap_or(Fault::NoAnswer))
    }

    /// Begins to open the database. A caller that waits for it may give up; it goes on.
    fn opening(&self) -> Promise {
        let this = self.clone();
        future_to_promise(async move {
            let opened = database::open().await;
            this.0.opening.take();
            match opened {
                Ok(database) => {
                    this.0.refused.take();
                    this.0.open.replace(Some(this.watched(database)));
                    if this.0.is_missed.take() {
                        this.turn();
                    }
                }
                Err(why) => drop(this.0.refused.replace(Some(why))),
            }
            Ok(JsValue::UNDEFINED)
        })
    }

    fn watched(&self, database: Database) -> Open {
        let target: &EventTarget = database.as_sys().unchecked_ref();
        let listen = |kind: &'static str| {
            let this = self.clone();
            EventListener::new(target, kind, move |_| {
                this.let_go();
                this.turn();
            })
        };
        Open { _taken_away: [listen("versionchange"), listen("close")], database }
    }

    /// Closes the database. The next caller opens it again.
    fn let_go(&self) {
        if let Some(open) = self.0.open.take() {
            self.0.is_missed.set(true);
            open.database.clone().close();
            // Its listeners may be what calls this: they go when they are done.
            wasm_bindgen_futures::spawn_local(async move { drop(open) });
        }
    }

    fn turn(&self) {
        let act = self.0.on_turn.borrow().clone();
        if let Some(act) = act {
            act();
        }
    }
}

/// What comes of it, if it comes within so many milliseconds.
pub(super) async fn in_time<T>(milliseconds: u32, work: impl Future<Output = T>) -> Option<T> {
    let mut work = pin!(work);
    let mut end = pin!(TimeoutFuture::new(milliseconds));
    poll_fn(|context| match work.as_mut().poll(context) {
        Poll::Ready(done) => Poll::Ready(Some(done)),
        Poll::Pending => end.as_mut().poll(context).map(|()| None),
    })
    .await
}
