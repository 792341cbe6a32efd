//! Whether the browser keeps what is on this device. One that promises nothing may clear it: then it is said, and export is what
//! keeps a job.

use js_sys::Promise;
use wasm_bindgen::JsValue;
use wasm_bindgen_futures::{JsFuture, spawn_local};
use web_sys::{StorageManager, window};

/// Asks the browser not to clear what is kept. Some ask the reader first: nothing waits for the answer.
pub(crate) fn ask() {
    spawn_local(async {
        answer(StorageManager::persist).await;
    });
}

/// Whether the browser has promised not to clear what is kept.
pub(crate) async fn is_promised() -> bool {
    answer(StorageManager::persisted).await
}

async fn answer(asked: impl Fn(&StorageManager) -> Result<Promise, JsValue>) -> bool {
    let Some(window) = window().filter(|window| window.is_secure_context()) else { return false };
    match asked(&window.navigator().storage()) {
        Ok(answer) => JsFuture::from(answer).await.is_ok_and(|answer| answer.is_truthy()),
        Err(_) => false,
    }
}
