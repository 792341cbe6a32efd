//! What waits: words until typing rests, and what is set in the next frame.

use std::cell::{Cell, RefCell};
use std::rc::Rc;

use wasm_bindgen::JsCast;
use wasm_bindgen::prelude::Closure;
use web_sys::Element;

use super::page::{say, window};

/// How long typing must rest before the answer is said, in milliseconds.
const PAUSE: i32 = 900;

/// Says words in an element once nothing more has come for a while.
pub(crate) struct Pause {
    words: Rc<RefCell<String>>,
    say: Closure<dyn FnMut()>,
    running: Option<i32>,
}

impl Pause {
    pub(crate) fn new(element: Option<Element>) -> Self {
        let words = Rc::new(RefCell::new(String::new()));
        let latest = Rc::clone(&words);
        let say = Closure::new(move || say(element.as_ref(), &latest.borrow()));
        Self { words, say, running: None }
    }

    pub(crate) fn then_say(&mut self, words: String) {
        *self.words.borrow_mut() = words;
        let Some(window) = window() else { return };
        if let Some(running) = self.running.take() {
            window.clear_timeout_with_handle(running);
        }
        let say = self.say.as_ref().unchecked_ref();
        self.running = window.set_timeout_with_callback_and_timeout_and_arguments_0(say, PAUSE).ok();
    }
}

/// Something to do in the next frame, once however often it is asked for.
pub(crate) struct NextFrame {
    act: Closure<dyn FnMut()>,
    asked: Rc<Cell<bool>>,
}

impl NextFrame {
    pub(crate) fn new(mut act: impl FnMut() + 'static) -> Self {
        let asked = Rc::new(Cell::new(false));
        let open = Rc::clone(&asked);
        let act = Closure::new(move || {
            open.set(false);
            act();
        });
        Self { act, asked }
    }

    pub(crate) fn ask(&self) {
        if !self.asked.replace(true)
            && let Some(window) = window()
        {
            // Without frames there is nobody who sees the page.
            let _ = window.request_animation_frame(self.act.as_ref().unchecked_ref());
        }
    }
}
