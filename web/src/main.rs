//! The browser's entry: one exported function that wakes one block. A binary, not a `cdylib`, so that the whole program
//! is optimised as one.

use wasm_bindgen::prelude::wasm_bindgen;

/// Brings the calculator in this element to life.
///
/// # Errors
/// A sentence for the console, where this edition has no such calculator.
#[wasm_bindgen]
pub fn wake(element: &web_sys::HtmlElement) -> Result<(), String> {
    web::browser::wake(element)
}

fn main() {}
