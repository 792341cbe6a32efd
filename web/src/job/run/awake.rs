//! The clock and the screen while a procedure runs: what is left of each timer is the run's to say;
//! the screen stays on where the browser can keep it on.

use std::cell::{Cell, RefCell};

use gloo_timers::callback::Interval;
use js_sys::{Function, Promise, Reflect};
use wasm_bindgen::{JsCast, JsValue};
use web_sys::{AudioContext, AudioContextState, Element};

use super::view::minutes;
use crate::platform::page;

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

/// Keeps the screen on, or no longer. Whether that is new.
pub(super) fn keep_on(on: bool) -> bool {
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
pub(super) fn count(left: impl Fn(&str) -> Option<u64> + 'static, done: impl Fn() + 'static) {
    let tick = Interval::new(500, move || {
        if show(&left) {
            sound();
            done();
        }
        ask_again();
    });
    // For as long as the page is open.
    tick.forget();
}

/// Sets what each timer in sight still has to go. Whether one has run out since.
pub(super) fn show(left: &dyn Fn(&str) -> Option<u64>) -> bool {
    let mut done = false;
    for timer in page::all("#run-panel [data-timer]") {
        done |= show_one(&timer, left);
    }
    done
}

fn show_one(timer: &Element, left: &dyn Fn(&str) -> Option<u64>) -> bool {
    let is = |name: &str| timer.get_attribute(name).unwrap_or_default();
    // One that was not started shows its whole time.
    let left = left(&is("data-timer")).or_else(|| is("data-seconds").parse().ok()).unwrap_or(0);
    let words = if left > 0 { minutes(left) } else { "done".to_owned() };
    let before = timer.text_content().unwrap_or_default();
    if before == words {
        return false;
    }
    timer.set_text_content(Some(&words));
    left == 0 && !before.is_empty()
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
