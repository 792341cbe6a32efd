//! Fields of any kind: reading and setting their content.

use wasm_bindgen::{JsCast, JsValue};
use web_sys::Element;

use crate::platform::page;

/// The content of a text box or text area, or what is chosen.
pub(super) fn text(field: &Element) -> String {
    let value = js_sys::Reflect::get(field, &JsValue::from_str("value"));
    value.ok().and_then(|value| value.as_string()).unwrap_or_default()
}

/// Sets it, unless it is there already: the caret must not move while someone types.
pub(super) fn set_text(field: Option<&Element>, new: &str) {
    if let Some(field) = field.filter(|field| text(field) != new) {
        // A field always has a value to set.
        let _ = js_sys::Reflect::set(field, &JsValue::from_str("value"), &JsValue::from_str(new));
    }
}

/// Makes every field inside an element usable, or not.
pub(super) fn disable(element: &Element, yes: bool) {
    let Ok(sets) = element.query_selector_all("fieldset") else { return };
    for at in 0..sets.length() {
        let set = sets.item(at).and_then(|set| set.dyn_into::<Element>().ok());
        page::set_attribute(set.as_ref(), "disabled", yes.then_some(""));
    }
}
