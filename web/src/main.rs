//! The browser's entry: one exported function that wakes one block. A binary, not a `cdylib`, so that the whole program
//! is optimised as one.

#[cfg(target_arch = "wasm32")]
mod entry {
    use wasm_bindgen::prelude::wasm_bindgen;

    /// Takes over the markup of the calculator in this element.
    ///
    /// # Errors
    /// A sentence for the console, where this edition has no such calculator.
    #[wasm_bindgen]
    pub fn hydrate(element: web_sys::HtmlElement) -> Result<(), String> {
        web::browser::wake(&element)
    }
}

fn main() {}
