//! The clock and the screen while a procedure runs: timers count by the clock, so that they survive the screen going off;
//! the screen stays on where the browser can keep it on; what is under way is found again after a crash.

use std::cell::RefCell;

use js_sys::{Function, Promise, Reflect};
use wasm_bindgen::prelude::Closure;
use wasm_bindgen::{JsCast, JsValue};
use web_sys::Storage;

use crate::browser::page;

/// Where the page of the run under way stands, for `run.js`.
const UNDER_WAY: &str = "standing-current run";

thread_local! {
    static LOCK: RefCell<Option<JsValue>> = const { RefCell::new(None) };
}

fn storage() -> Option<Storage> {
    web_sys::window()?.local_storage().ok().flatten()
}

fn key(page: &str, timer: &str) -> String {
    format!("standing-current timer {page} {timer}")
}

/// Starts a timer, unless it runs.
pub(super) fn start(page: &str, timer: &str) {
    let Some(storage) = storage() else { return };
    let key = key(page, timer);
    if storage.get_item(&key).ok().flatten().is_none() {
        // Where nothing can be kept, the timer shows its whole time.
        let _ = storage.set_item(&key, &js_sys::Date::now().to_string());
    }
}

/// Forgets every timer of a procedure: it is begun anew.
pub(super) fn forget(page: &str) {
    let Some(storage) = storage() else { return };
    let start = key(page, "");
    let keys: Vec<String> =
        (0..storage.length().unwrap_or(0)).filter_map(|at| storage.key(at).ok().flatten()).collect();
    for key in keys.iter().filter(|key| key.starts_with(&start)) {
        let _ = storage.remove_item(key);
    }
}

/// Keeps in mind which page runs, and keeps the screen on.
pub(super) fn keep_on(page: Option<&str>) {
    if let Some(storage) = storage() {
        // Without a store it begins where the job says, once it is asked to.
        let _ = match page {
            Some(page) => storage.set_item(UNDER_WAY, page),
            None => storage.remove_item(UNDER_WAY),
        };
    }
    if page.is_none() {
        if let Some(lock) = LOCK.take() {
            call(&lock, "release", &[]);
        }
    } else if LOCK.with_borrow(Option::is_none) {
        ask_for_screen();
    }
}

/// Asks that the screen stays on; a browser that has no such thing, or forbids it, goes without.
fn ask_for_screen() {
    let Some(window) = web_sys::window() else { return };
    let Ok(wake) = Reflect::get(&window.navigator(), &"wakeLock".into()) else { return };
    let Some(asked) = call(&wake, "request", &["screen".into()]).and_then(|asked| asked.dyn_into::<Promise>().ok()) else {
        return;
    };
    wasm_bindgen_futures::spawn_local(async move {
        if let Ok(lock) = wasm_bindgen_futures::JsFuture::from(asked).await {
            LOCK.set(Some(lock));
        }
    });
}

fn call(object: &JsValue, name: &str, with: &[JsValue]) -> Option<JsValue> {
    let function = Reflect::get(object, &name.into()).ok()?.dyn_into::<Function>().ok()?;
    function.apply(object, &with.iter().collect()).ok()
}

/// Counts every second, for as long as the page is open.
pub(super) fn count() {
    let tick = Closure::<dyn FnMut()>::new(show);
    if let Some(window) = web_sys::window() {
        let _ = window.set_interval_with_callback_and_timeout_and_arguments_0(tick.as_ref().unchecked_ref(), 500);
    }
    tick.forget();
}

/// Sets what each timer in sight still has to go.
pub(super) fn show() {
    let Some(clock) = page::first("[data-timer]") else { return };
    let Some(now) = page::first("[data-now]") else { return };
    let attribute = |name: &str| clock.get_attribute(name).unwrap_or_default();
    let whole: f64 = attribute("data-seconds").parse().unwrap_or(0.0);
    let of_page = page::by_id(super::PLACE).and_then(|place| place.get_attribute("data-page")).unwrap_or_default();
    let started = storage().and_then(|storage| storage.get_item(&key(&of_page, &attribute("data-timer"))).ok().flatten());
    let passed = started.and_then(|text| text.parse::<f64>().ok()).map_or(0.0, |begun| (js_sys::Date::now() - begun) / 1e3);
    let left = (whole - passed).max(0.0).ceil();
    let words = if left > 0.0 { format!("{}:{:02}", (left / 60.0).floor(), left % 60.0) } else { "done".to_owned() };
    if clock.text_content().as_deref() != Some(&words) {
        let over = left == 0.0 && clock.text_content().is_some_and(|before| before == "0:01");
        clock.set_text_content(Some(&words));
        if over {
            sound();
        }
    }
    drop(now);
}

/// A short tone, where the browser lets a page sound.
fn sound() {
    let Ok(context) = web_sys::AudioContext::new() else { return };
    let Ok(tone) = context.create_oscillator() else { return };
    let heard = tone.connect_with_audio_node(&context.destination()).is_ok() && tone.start().is_ok();
    if heard {
        let _ = tone.stop_with_when(context.current_time() + 0.6);
    }
}
