//! What was typed into a calculator, kept by the browser on this device, and what the job has set there.

use calc_core::calculator::{Inputs, from_line, to_line};
use web_sys::Element;

use super::page::{shown_page, store, window};

/// What the reader typed into this block on an earlier visit. Kept on this device only.
pub(crate) fn kept(block: &str) -> Inputs {
    let line = store().and_then(|store| store.get_item(&key(block)).ok().flatten());
    from_line(&line.unwrap_or_default()).0
}

/// Keeps what was typed. A browser that refuses (private window, full disk) loses it at the next reload only.
pub(crate) fn keep(block: &str, typed: &Inputs) {
    if let Some(store) = store() {
        let key = key(block);
        let _ =
            if typed.is_empty() { store.remove_item(&key) } else { store.set_item(&key, &to_line(typed)) };
    }
}

/// What the job on the bench puts into a calculator: `current-job.js` has set it there.
pub(crate) fn from_job(calculator: &Element) -> Inputs {
    from_line(&calculator.get_attribute("data-from-job").unwrap_or_default()).0
}

fn key(block: &str) -> String {
    let path = window().and_then(|window| window.location().pathname().ok()).unwrap_or_default();
    let page = shown_page().map(|page| format!("#{page}")).unwrap_or_default();
    format!("standing-current {path}{page}#{block}")
}
