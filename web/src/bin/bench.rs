//! The runner of procedures as a WebAssembly module. A page brings it when a procedure is begun, or is under way.

use wasm_bindgen::prelude::wasm_bindgen;

fn main() {}

/// Brings the procedure of this page to life: see [`web::job::run::run`].
#[wasm_bindgen]
pub async fn run(at_once: bool) {
    web::job::run::run(at_once).await;
}
