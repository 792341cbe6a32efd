//! All calculators as a WebAssembly module: for pages, for the book that is one file, and for programs. A binary, not a
//! `cdylib`, so that the whole program is optimised as one.

use wasm_bindgen::JsValue;
use wasm_bindgen::prelude::wasm_bindgen;
use web::api;
use web_sys::HtmlElement;

fn main() {}

/// Brings a calculator to life: see [`web::calculator::live::mount`].
///
/// # Errors
/// A sentence for the console.
#[wasm_bindgen]
pub fn mount(element: &HtmlElement) -> Result<(), String> {
    web::calculator::live::mount(element)
}

/// Works out a calculator: see [`api::calculate`].
///
/// # Errors
/// A sentence, where there is no such calculator or `inputs` is no object of texts.
#[wasm_bindgen]
pub fn calculate(id: &str, inputs: JsValue) -> Result<JsValue, JsValue> {
    api::calculate(id, inputs)
}

/// What there is to calculate: see [`api::catalogue`].
///
/// # Errors
/// None that is known: only what the browser may refuse.
#[wasm_bindgen]
pub fn catalogue() -> Result<JsValue, JsValue> {
    api::catalogue()
}
