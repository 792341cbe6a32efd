//! Photographs as a file of a job has them.

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use js_sys::Uint8Array;
use wasm_bindgen::{JsCast, JsValue};

/// A kept picture in base64, as a file has it.
pub(super) fn in_base64(picture: &JsValue) -> Option<String> {
    Some(STANDARD.encode(picture.dyn_ref::<Uint8Array>()?.to_vec()))
}

/// The picture that a file holds.
pub(super) fn from_base64(text: &str) -> Option<JsValue> {
    Some(Uint8Array::from(STANDARD.decode(text).ok()?.as_slice()).into())
}
