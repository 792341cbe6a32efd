//! The browser as its owner, its disk and other editions of the book treat it.

#![allow(dead_code, reason = "each file of tests uses some of it")]

use wasm_bindgen::JsValue;
use wasm_bindgen_futures::JsFuture;

pub fn eval(script: &str) -> JsValue {
    js_sys::eval(script).unwrap_or_else(|error| panic!("{script}: {error:?}"))
}

/// Shows this in the page, beside what the runner of the tests writes there.
pub fn show(html: &str) {
    eval(&format!(
        "(document.getElementById('shown_') ?? document.body.appendChild(Object.assign(document.createElement('div'), {{ id: 'shown_' }}))).innerHTML = {html:?}"
    ));
}

/// Waits for what a script promises.
pub async fn promised(script: &str) -> JsValue {
    let promise = js_sys::Promise::resolve(&eval(script));
    JsFuture::from(promise).await.unwrap_or_else(|error| panic!("{script}: {error:?}"))
}

/// Nothing is kept: no database, no small store. A page that is still opening the database hears of it a moment later.
pub async fn fresh() {
    eval("localStorage.clear()");
    let gone = promised(
        "new Promise((resolve) => { const request = indexedDB.deleteDatabase('standing-current'); request.onsuccess = () => resolve('gone'); request.onblocked = () => setTimeout(() => resolve('held'), 5000) })",
    );
    assert_eq!(gone.await, "gone", "a page holds the database");
}

/// The browser’s functions as they are, to be put back.
const OWN: &str = "window.own_ ??= { put: IDBObjectStore.prototype.put, delete: IDBObjectStore.prototype.delete, commit: IDBTransaction.prototype.commit };";

/// Writing to a store is refused from now on, as by a full disk; what else is refused stays so.
pub fn fails(store: &str) {
    eval(&format!(
        "{OWN} (window.full_ ??= new Set()).add({store:?});
        for (const name of ['put', 'delete']) IDBObjectStore.prototype[name] = function (...with_) {{
            if (window.full_.has(this.name)) throw new DOMException('full', 'QuotaExceededError');
            return window.own_[name].apply(this, with_);
        }}"
    ));
}

/// A transaction is never done.
pub const HANGS: &str = "window.own_ ??= { put: IDBObjectStore.prototype.put, delete: IDBObjectStore.prototype.delete, commit: IDBTransaction.prototype.commit };
    IDBTransaction.prototype.commit = function () { const store = this.objectStore('jobs'); const go = () => { if (!window.free_) store.get('x').onsuccess = go }; window.free_ = false; go(); }";

/// All is well again.
pub fn heals() {
    eval(&format!(
        "{OWN} window.full_ = new Set(); window.free_ = true; IDBTransaction.prototype.commit = window.own_.commit; IDBObjectStore.prototype.put = window.own_.put; IDBObjectStore.prototype.delete = window.own_.delete"
    ));
}

/// The text that is in a store of the database.
pub async fn in_store(store: &str, key: &str) -> String {
    let script = format!(
        "new Promise((resolve, reject) => {{ const request = indexedDB.open('standing-current'); request.onerror = () => reject(request.error); request.onsuccess = () => {{ const database = request.result; const found = database.transaction({store:?}).objectStore({store:?}).get({key:?}); found.onsuccess = () => {{ database.close(); resolve(found.result ?? '') }} }} }})"
    );
    promised(&script).await.as_string().unwrap_or_default()
}

/// All stores are empty, and nobody is told.
pub async fn emptied() {
    promised(
        "new Promise((resolve) => { const request = indexedDB.open('standing-current'); request.onsuccess = () => { const database = request.result; const all = [...database.objectStoreNames]; const transaction = database.transaction(all, 'readwrite'); all.forEach((name) => transaction.objectStore(name).clear()); transaction.oncomplete = () => { database.close(); resolve() } } })",
    )
    .await;
}

/// The database is made a later edition’s.
pub async fn raised_to(version: u32) {
    let raised = promised(&format!(
        "new Promise((resolve) => {{ const request = indexedDB.open('standing-current', {version}); request.onblocked = () => resolve('held'); request.onsuccess = () => {{ request.result.close(); resolve('raised') }} }})"
    ))
    .await;
    assert_eq!(raised, "raised", "a page holds the database");
}

/// A database as an edition without revisions and without the record left it.
pub async fn as_an_earlier_edition(id: &str, text: &str, head: &str, chosen: &str) {
    promised(&format!(
        "new Promise((resolve) => {{ const request = indexedDB.open('standing-current', 1);
            request.onupgradeneeded = () => ['jobs', 'heads', 'photos', 'drafts', 'chosen'].forEach((name) => request.result.createObjectStore(name));
            request.onsuccess = () => {{ const database = request.result; const transaction = database.transaction(['jobs', 'heads', 'chosen'], 'readwrite');
                transaction.objectStore('jobs').put({text:?}, {id:?}); transaction.objectStore('heads').put({head:?}, {id:?});
                if ({chosen:?}) transaction.objectStore('chosen').put({chosen:?}, 'job');
                transaction.oncomplete = () => {{ database.close(); resolve() }} }} }})"
    ))
    .await;
}

/// Milliseconds by a clock that nobody sets.
pub fn by_now() -> f64 {
    eval("performance.now()").as_f64().unwrap_or(f64::NAN)
}

pub async fn later(milliseconds: u32) {
    promised(&format!("new Promise((resolve) => setTimeout(resolve, {milliseconds}))")).await;
}

/// Waits until something is so.
pub async fn until(what: &str, is_so: impl Fn() -> bool) {
    let started = by_now();
    while !is_so() {
        assert!(by_now() - started < 10_000.0, "waited in vain: {what}");
        later(5).await;
    }
}

/// Two things that are done at once.
pub async fn both<A, B>(one: impl Future<Output = A>, other: impl Future<Output = B>) -> (A, B) {
    let (mut one, mut other) = (std::pin::pin!(one), std::pin::pin!(other));
    let (mut first, mut second) = (None, None);
    std::future::poll_fn(|context| {
        if first.is_none()
            && let std::task::Poll::Ready(done) = one.as_mut().poll(context)
        {
            first = Some(done);
        }
        if second.is_none()
            && let std::task::Poll::Ready(done) = other.as_mut().poll(context)
        {
            second = Some(done);
        }
        match (first.take(), second.take()) {
            (Some(one), Some(other)) => std::task::Poll::Ready((one, other)),
            (one, other) => {
                (first, second) = (one, other);
                std::task::Poll::Pending
            }
        }
    })
    .await
}
