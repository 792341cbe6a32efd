//! Hands a link or a file to whichever program the reader chooses. Where a browser cannot, nothing offers it: a link is copied, a
//! file is saved.

use js_sys::{Array, Reflect};
use wasm_bindgen::JsValue;
use wasm_bindgen_futures::JsFuture;
use web_sys::{Element, File, FilePropertyBag, ShareData, window};

use super::page;

/// Whether the browser can hand a link to other programs.
pub(crate) fn takes_links() -> bool {
    window()
        .is_some_and(|window| Reflect::has(&window.navigator(), &JsValue::from_str("share")).unwrap_or(false))
}

/// Hands text and address to whichever program the reader chooses.
pub(crate) fn link(text: &str, address: &str) {
    let Some(window) = window().filter(|_| takes_links()) else { return };
    let data = ShareData::new();
    data.set_text(text);
    data.set_url(address);
    // Whether it was sent is between the reader and that program.
    let _ = window.navigator().share_with_data(&data);
}

/// Sends or copies an address, as the button that was pressed says.
pub(crate) fn give(button: &Element, what: &str, address: &str) {
    if button.get_attribute("data-act").as_deref() == Some("share") {
        return link(what, address);
    }
    let button = button.clone();
    page::copy(address, move |done| {
        button.set_text_content(Some(if done { "Copied" } else { "The browser forbids copying here" }));
    });
}

/// Whether the browser hands files of this kind to other programs.
pub(crate) fn takes_files(media: &str) -> bool {
    let probe = as_file("probe.json", media, "{}");
    let Some((window, data)) = window().zip(probe.as_ref().map(sharing)) else { return false };
    let navigator = window.navigator();
    Reflect::has(&navigator, &JsValue::from_str("canShare")).unwrap_or(false)
        && navigator.can_share_with_data(&data)
}

/// Hands a file to another program. Whether it was taken.
pub(crate) async fn file(name: &str, media: &str, text: &str) -> bool {
    let Some((window, file)) = window().zip(as_file(name, media, text)) else { return false };
    JsFuture::from(window.navigator().share_with_data(&sharing(&file))).await.is_ok()
}

fn as_file(name: &str, media: &str, text: &str) -> Option<File> {
    let kind = FilePropertyBag::new();
    kind.set_type(media);
    File::new_with_str_sequence_and_options(&Array::of1(&JsValue::from_str(text)), name, &kind).ok()
}

fn sharing(file: &File) -> ShareData {
    let data = ShareData::new();
    data.set_files(&Array::of1(file));
    data
}
