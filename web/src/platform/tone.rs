//! A tone. Where the browser lets no page sound it is silent: whatever sounds is on the screen too.

use std::cell::RefCell;

use web_sys::{AudioContext, AudioContextState};

thread_local! {
    /// What sounds. Some browsers let a page sound only by what was begun at a press.
    static SOUND: RefCell<Option<AudioContext>> = const { RefCell::new(None) };
}

/// Called at a press, so that a timer may sound later without one.
pub(crate) fn may_sound() {
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
pub(crate) fn sound() {
    may_sound();
    SOUND.with_borrow(|sound| {
        let context = sound.as_ref()?;
        let tone = context.create_oscillator().ok()?;
        tone.connect_with_audio_node(&context.destination()).ok()?;
        tone.start().ok()?;
        tone.stop_with_when(context.current_time() + 0.6).ok()
    });
}
