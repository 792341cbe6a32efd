//! The job as a WebAssembly module: the pages that show it, and a calculator's value into it. No page brings it unless it is
//! wanted.

use wasm_bindgen::prelude::wasm_bindgen;
use web_sys::Element;

fn main() {}

/// Brings a block that shows jobs to life: see [`web::job::wake`].
#[wasm_bindgen]
pub async fn wake_job(element: Element) {
    web::job::wake(element).await;
}

/// Keeps a calculator's value in the current job: see [`web::job::keep::keep`].
#[wasm_bindgen]
pub async fn keep(calculator: String, field: String, text: String, block: String, page: String) -> String {
    web::job::keep::keep(&calculator, &field, &text, &block, &page).await
}
