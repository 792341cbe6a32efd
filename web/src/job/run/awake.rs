//! The clock and the screen while a procedure runs: timers count by the clock from when the job says that they were started;
//! the screen stays on where the browser can keep it on; what is under way is found again after a crash.

use std::cell::{Cell, RefCell};

use js_sys::{Function, Promise, Reflect};
use wasm_bindgen::prelude::Closure;
use wasm_bindgen::{JsCast, JsValue};
use web_sys::{AudioContext, AudioContextState, Element, Storage};

use crate::browser::page;

/// Where the page of the run under way stands, for `run.js`.
const UNDER_WAY: &str = "standing-current run";

thread_local! {
    static LOCK: RefCell<Option<JsValue>> = const { RefCell::new(None) };
    /// Whether a run is on, and when the screen was last asked for.
    static ON: Cell<bool> = const { Cell::new(false) };
    static ASKED: Cell<f64> = const { Cell::new(0.0) };
    /// What sounds. Some browsers let a page sound only by what was begun at a press.
    static SOUND: RefCell<Option<AudioContext>> = const { RefCell::new(None) };
}

/// A browser that refuses is asked again after so many milliseconds.
const PATIENCE: f64 = 10_000.0;

fn storage() -> Option<Storage> {
    web_sys::window()?.local_storage().ok().flatten()
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
    ON.set(page.is_some());
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

/// A browser lets the screen go when the page is hidden; back in sight, it is asked again.
fn ask_again() {
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

/// Counts every second, for as long as the page is open; calls `done` when a time has run out.
pub(super) fn count(done: impl Fn() + 'static) {
    let tick = Closure::<dyn FnMut()>::new(move || {
        if show() {
            sound();
            done();
        }
        ask_again();
    });
    if let Some(window) = web_sys::window() {
        let _ =
            window.set_interval_with_callback_and_timeout_and_arguments_0(tick.as_ref().unchecked_ref(), 500);
    }
    tick.forget();
}

/// Sets what each timer in sight still has to go. Whether one has run out since.
pub(super) fn show() -> bool {
    let mut done = false;
    for timer in page::all("#run-panel [data-seconds]") {
        done |= show_one(&timer);
    }
    done
}

fn show_one(timer: &Element) -> bool {
    let number = |name: &str| timer.get_attribute(name).and_then(|text| text.parse::<f64>().ok());
    let whole = number("data-seconds").unwrap_or(0.0);
    // A clock that was set back must not make the wait shorter. One that was not started shows its whole time.
    let passed = number("data-started").map_or(0.0, |started| js_sys::Date::now() / 1e3 - started);
    let left = (whole - passed.max(0.0)).max(0.0).ceil();
    let words =
        if left > 0.0 { format!("{}:{:02}", (left / 60.0).floor(), left % 60.0) } else { "done".to_owned() };
    let before = timer.text_content().unwrap_or_default();
    if before == words {
        return false;
    }
    timer.set_text_content(Some(&words));
    left == 0.0 && !before.is_empty()
}

/// Called at a press, so that a timer may sound later without one.
pub(super) fn may_sound() {
    SOUND.with_borrow_mut(|sound| {
        if sound.is_none() {
            *sound = AudioContext::new().ok();
        }
        if let Some(sound) = sound.as_ref().filter(|sound| sound.state() == AudioContextState::Suspended) {
            // Where it stays silent, the large figure says the same.
            let _ = sound.resume();
        }
    });
}

/// A short tone, where the browser lets a page sound.
fn sound() {
    may_sound();
    SOUND.with_borrow(|sound| {
        let context = sound.as_ref()?;
        let tone = context.create_oscillator().ok()?;
        tone.connect_with_audio_node(&context.destination()).ok()?;
        tone.start().ok()?;
        tone.stop_with_when(context.current_time() + 0.6).ok()
    });
}
