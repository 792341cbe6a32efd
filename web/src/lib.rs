//! Shows a calculator: one generic view, printed into the page by `press` and taken over by the browser.
//!
//! - [`Block`] is a calculator as it stands in a page; `printed` is its HTML with the answer already worked out.
//! - `view` is the view: the fields, the answer, the formulas, the picture.
//! - `browser` is the rest of what only a browser has: its store, its clipboard, the entry that wakes a block.
//!
//! No arithmetic of the trade stands here: everything shown comes out of `calc_core`.

// This file is compiled without `unsafe`; the macro of the browser entry in `main.rs` is the only place that needs it.
#![warn(missing_docs)]

#[cfg(all(feature = "ssr", feature = "hydrate"))]
compile_error!("build `web` with `ssr` or with `hydrate`, never with both");

#[cfg(target_arch = "wasm32")]
pub mod browser;
mod view;

use calc_core::calculator::Inputs;

/// A calculator as it stands in a page.
#[derive(Debug, Clone, PartialEq)]
pub struct Block {
    /// The anchor of the block, unique in its page.
    pub id: String,
    /// Which calculator.
    pub calculator: String,
    /// The inputs that the page sets; what is absent stands at the calculator's default.
    pub inputs: Inputs,
}

/// The block as HTML, complete: fields, answer, working and picture for the inputs that the page sets.
///
/// Nothing may be changed in it afterwards, not even a comment: the browser takes over this very markup.
///
/// # Errors
/// [`calc_core::UnknownCalculator`]
#[cfg(feature = "ssr")]
pub fn printed(block: &Block) -> Result<String, calc_core::UnknownCalculator> {
    use leptos::prelude::*;
    let entry = calc_core::find(&block.calculator)?;
    let owner = Owner::new_root(None);
    // Leptos marks places with `<!>`, which parsers forgive; written out it is the same empty comment to the browser.
    let content = owner.with(|| view::calculator(entry, block.clone()).to_html()).replace("<!>", "<!---->");
    owner.unset_with_forced_cleanup();
    let label = view::label(entry.sheet, &block.id);
    let section = maud::html! {
        section.calculator id=(block.id) aria-label=(label) data-calculator=(block.calculator)
            data-inputs=(calc_core::calculator::to_line(&block.inputs)) { (maud::PreEscaped(content)) }
    };
    Ok(section.into_string())
}
