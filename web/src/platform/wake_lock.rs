//! Keeps the screen on. A browser that has no such thing, or forbids it, goes without: the screen goes off as it always does, and
//! what runs goes on.

use std::cell::{Cell, RefCell};

use js_sys::{Function, Promise, Reflect};
use wasm_bindgen::{JsCast, JsValue};

thread_local! {
    static LOCK: RefCell<Option<JsValue>> = const { RefCell::new(None) };
    /// Whether it is to stay on, and when the screen was last asked for.
    static ON: Cell<bool> = const { Cell::new(false) };
    static ASKED: Cell<f64> = const { Cell::new(0.0) };
}

/// A browser that refuses is asked again after so many milliseconds.
const PATIENCE: f64 = 10_000.0;

/// Keeps the screen on, or no longer. Whether that is new.
pub(crate) fn keep_on(on: bool) -> bool {
    let is_new = ON.replace(on) != on;
    if !on {
        if let Some(lock) = LOCK.take() {
            call(&lock, "release", &[]);
        }
    } else if LOCK.with_borrow(Option::is_none) {
        ask_for_screen();
    }
    is_new
}

/// Asks that the screen stays on; a browser that has no such thing, or forbids it, goes without.
fn ask_for_screen() {
    ASKED.set(js_sys::Date::now());
    let Some(window) = web_sys::window() else { return };
    let Ok(wake) = Reflect::get(&window.navigator(), &"wakeLock".into()) else { return };
    let Some(asked) =
        call(&wake, "request", &["screen".into()]).and_then(|asked| asked.dyn_into::<Promise>().ok())
    else {
        return;
    };
    wasm_bindgen_futures::spawn_local(async move {
        if let Ok(lock) = wasm_bindgen_futures::JsFuture::from(asked).await {
            LOCK.set(Some(lock));
        }
    });
}

/// A browser lets the screen go when the page is hidden; back in sight, it is asked again. To be called every now and then.
pub(crate) fn ask_again() {
    let is_let_go =
        |lock: &JsValue| Reflect::get(lock, &"released".into()).is_ok_and(|released| released.is_truthy());
    let hidden = web_sys::window().and_then(|window| window.document()).is_some_and(|page| page.hidden());
    if !ON.get() || hidden || js_sys::Date::now() - ASKED.get() < PATIENCE {
        return;
    }
    if LOCK.with_borrow(|lock| lock.as_ref().is_none_or(is_let_go)) {
        LOCK.take();
        ask_for_screen();
    }
}

fn call(object: &JsValue, name: &str, with: &[JsValue]) -> Option<JsValue> {
    let function = Reflect::get(object, &name.into()).ok()?.dyn_into::<Function>().ok()?;
    function.apply(object, &with.iter().collect()).ok()
}
