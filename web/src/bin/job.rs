//! The amplifier on the bench as a WebAssembly module: the pages that show jobs, a calculator's value into one, and the run
//! of a procedure. A page brings it when it is wanted.

use wasm_bindgen::prelude::wasm_bindgen;
use web_sys::Element;

fn main() {}

/// Brings a block that shows jobs to life: see [`web::job::mount`].
#[wasm_bindgen]
pub async fn mount_job(element: Element) {
    web::job::mount(element).await;
}

/// Keeps a calculator's value in a job: see [`web::job::keep::keep`].
#[wasm_bindgen]
pub async fn keep(
    job: String,
    calculator: String,
    field: String,
    text: String,
    block: String,
    page: String,
) -> String {
    web::job::keep::keep(&job, &calculator, &field, &text, &block, &page).await
}

/// Writes again what pages need of the job on the bench, where an earlier edition of the book has left it behind.
#[wasm_bindgen]
pub async fn catch_up() {
    web::job::store::Store::open().await;
}

/// Brings the procedure of this page to life: see [`web::job::run::run`].
#[wasm_bindgen]
pub async fn run(at_once: bool) {
    web::job::run::run(at_once).await;
}
