//! What only a browser has: the store, the clipboard, and the waking of a block.

use calc_core::calculator::{Inputs, from_line, to_line};
use leptos::prelude::*;
use wasm_bindgen::JsCast;
use wasm_bindgen_futures::JsFuture;
use web_sys::{HtmlElement, Storage};

use crate::{Block, view};

/// Takes over the printed markup of one calculator; then the reader's own inputs, kept from the last visit, go in.
///
/// # Errors
/// A sentence for the console, where this edition has no such calculator.
pub fn wake(element: &HtmlElement) -> Result<(), String> {
    let attribute = |name: &str| element.get_attribute(name).unwrap_or_default();
    let block = Block {
        id: element.id(),
        calculator: attribute("data-calculator"),
        inputs: from_line(&attribute("data-inputs")).0,
    };
    let entry = calc_core::find(&block.calculator).map_err(|unknown| unknown.to_string())?;
    leptos::mount::hydrate_from(element.clone(), move || view::calculator(entry, block)).forget();
    // A missing attribute would leave the fields looking asleep; there is nothing more to be done about a refusal.
    let _ = element.set_attribute("data-alive", "");
    Ok(())
}

/// What the reader typed into this block on an earlier visit. Kept on this device only.
#[must_use]
pub fn kept(block: &str) -> Inputs {
    let line = store().and_then(|store| store.get_item(&key(block)).ok().flatten());
    from_line(&line.unwrap_or_default()).0
}

/// Keeps what was typed. A browser that refuses (private window, full disk) loses it at the next reload only.
pub fn keep(block: &str, typed: &Inputs) {
    if let Some(store) = store() {
        let _ = if typed.is_empty() {
            store.remove_item(&key(block))
        } else {
            store.set_item(&key(block), &to_line(typed))
        };
    }
}

/// Puts the focus on the element with this id, if it is there.
pub fn focus(id: &str) {
    if let Some(element) =
        document().get_element_by_id(id).and_then(|element| element.dyn_into::<HtmlElement>().ok())
    {
        // An element that cannot take the focus leaves it where it is.
        let _ = element.focus();
    }
}

/// Puts text on the clipboard; false where the browser forbids it.
pub async fn copy(text: &str) -> bool {
    let clipboard = window().navigator().clipboard();
    // Without a secure origin the browser has no clipboard, whatever its type says.
    if clipboard.is_undefined() {
        return false;
    }
    JsFuture::from(clipboard.write_text(text)).await.is_ok()
}

fn store() -> Option<Storage> {
    window().local_storage().ok().flatten()
}

fn key(block: &str) -> String {
    let page = window().location().pathname().unwrap_or_default();
    format!("standing-current {page}#{block}")
}
