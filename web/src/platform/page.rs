//! The page as the browser knows it: elements, events, the clipboard. What is not there is passed
//! over, so that a page printed by another edition still reads.

use std::rc::Rc;

use calc_core::calculator::Link;
use gloo_events::{EventListener, EventListenerOptions};
use wasm_bindgen::prelude::Closure;
use wasm_bindgen::{JsCast, JsValue};
use web_sys::{
    Blob, BlobPropertyBag, Document, Element, Event, EventTarget, FocusOptions, HtmlAnchorElement,
    HtmlElement, HtmlInputElement, HtmlSelectElement, Storage, Url, Window, XmlSerializer,
};

use super::patch::{Change, changes};

/// Elements and texts, as a walker over nodes calls them (DOM standard, `NodeFilter`).
const SHOWN: u32 = 0x1 | 0x4;

pub(super) fn window() -> Option<Window> {
    web_sys::window()
}

fn document() -> Option<Document> {
    window()?.document()
}

pub(crate) fn by_id(id: &str) -> Option<Element> {
    document()?.get_element_by_id(id)
}

/// The first element of the page that the selector means.
pub(crate) fn first(selector: &str) -> Option<Element> {
    document()?.query_selector(selector).ok().flatten()
}

/// All elements of the page that the selector means.
pub(crate) fn all(selector: &str) -> Vec<Element> {
    let Some(found) = document().and_then(|document| document.query_selector_all(selector).ok()) else {
        return Vec::new();
    };
    (0..found.length()).filter_map(|at| found.item(at)?.dyn_into().ok()).collect()
}

pub(crate) fn find(within: &Element, selector: &str) -> Option<Element> {
    within.query_selector(selector).ok().flatten()
}

/// The element itself, or the nearest round it, that the selector means.
pub(crate) fn closest(element: &Element, selector: &str) -> Option<Element> {
    element.closest(selector).ok().flatten()
}

/// Whether the element is there and not folded up.
pub(crate) fn in_sight(id: &str) -> bool {
    by_id(id).is_some_and(|element| closest(&element, "details:not([open])").is_none())
}

pub(crate) fn set_html(id: &str, html: &str) {
    if let Some(element) = by_id(id) {
        element.set_inner_html(html);
    }
}

/// Makes of an element that holds the one HTML what the other says: by the texts and attributes that differ, where that
/// is enough and the page is as thought.
pub(crate) fn set_changes(id: &str, stands: &str, html: &str) {
    let Some(element) = by_id(id) else { return };
    // Others may have put something of theirs beside it.
    let alone = |elements| element.get_elements_by_tag_name("*").length() == elements;
    let set =
        changes(stands, html).is_some_and(|(elements, changes)| alone(elements) && apply(&element, changes));
    if !set {
        element.set_inner_html(html);
    }
}

/// Whether all was as thought and could be set: a browser may have put in elements that the HTML leaves to be understood.
fn apply(element: &Element, changes: Vec<Change>) -> bool {
    let walker =
        document().and_then(|document| document.create_tree_walker_with_what_to_show(element, SHOWN).ok());
    let Some(walker) = walker else { return false };
    let mut walked = 0;
    let mut set = |Change { node, attribute, was, value }: Change| {
        while walked <= node {
            walker.next_node().ok()??;
            walked += 1;
        }
        let stands = walker.current_node();
        if let Some(name) = attribute {
            let element = stands.dyn_ref::<Element>()?;
            (element.get_attribute(&name)? == was).then(|| set_attribute(Some(element), &name, Some(&value)))
        } else {
            (stands.node_value()? == was).then(|| stands.set_node_value(Some(&value)))
        }
    };
    changes.into_iter().all(|change| set(change).is_some())
}

/// Sets words that a screen reader then says.
pub(crate) fn say(element: Option<&Element>, words: &str) {
    if let Some(element) = element {
        element.set_text_content(Some(words));
    }
}

/// Sets an attribute, or takes it away; where it is so already the browser is left in peace, for it would work out its
/// styles again. The names are our own, so it has no reason to refuse them.
pub(crate) fn set_attribute(element: Option<&Element>, name: &str, value: Option<&str>) {
    if let Some(element) = element.filter(|element| element.get_attribute(name).as_deref() != value) {
        let _ = match value {
            Some(value) => element.set_attribute(name, value),
            None => element.remove_attribute(name),
        };
    }
}

/// What is in a text box or is chosen.
pub(crate) fn value(element: &Element) -> String {
    let typed = element.dyn_ref::<HtmlInputElement>().map(HtmlInputElement::value);
    typed.or_else(|| element.dyn_ref::<HtmlSelectElement>().map(HtmlSelectElement::value)).unwrap_or_default()
}

/// Sets it, unless it stands there: the caret of anyone who types must not move.
pub(crate) fn set_value(element: Option<&Element>, text: &str) {
    let Some(element) = element.filter(|element| value(element) != text) else { return };
    if let Some(input) = element.dyn_ref::<HtmlInputElement>() {
        input.set_value(text);
    } else if let Some(select) = element.dyn_ref::<HtmlSelectElement>() {
        select.set_value(text);
    }
}

pub(crate) fn focus(element: Option<&Element>) {
    if let Some(element) = element.and_then(|element| element.dyn_ref::<HtmlElement>()) {
        // An element that cannot take the focus leaves it where it is.
        let _ = element.focus();
    }
}

/// Gives an element the focus and leaves the page where it is: one browser scrolls to what has the focus a moment later, under
/// a finger that is on its way.
pub(crate) fn focus_where_it_is(element: Option<&Element>) {
    if let Some(element) = element.and_then(|element| element.dyn_ref::<HtmlElement>()) {
        let options = FocusOptions::new();
        options.set_prevent_scroll(true);
        // As above.
        let _ = element.focus_with_options(&options);
    }
}

/// The element that has the focus.
pub(crate) fn focused() -> Option<Element> {
    document()?.active_element()
}

pub(crate) fn focused_id() -> Option<String> {
    focused().map(|element| element.id()).filter(|id| !id.is_empty())
}

/// Calls `act` with the target of every such event inside the element, as long as the page lives.
pub(crate) fn listen(element: &Element, kind: &str, mut act: impl FnMut(Element) + 'static) {
    on(element, kind, move |_: &Event, target| act(target));
}

/// Calls `act` with every such event inside the element and its target, as long as the page lives. `toggle` does not rise,
/// so all are caught on their way down.
pub(crate) fn on<E: JsCast>(element: &EventTarget, kind: &str, mut act: impl FnMut(&E, Element) + 'static) {
    let closure = Closure::<dyn FnMut(Event)>::new(move |event: Event| {
        let target = event.target().and_then(|target| target.dyn_into().ok());
        if let (Some(event), Some(target)) = (event.dyn_ref::<E>(), target) {
            act(event, target);
        }
    });
    let listener = closure.as_ref().unchecked_ref();
    // It is refused for no kind of event that there is.
    let _ = element.add_event_listener_with_callback_and_bool(kind, listener, true);
    closure.forget();
}

/// The same, as long as what it gives is held.
pub(crate) fn listener(
    element: &Element,
    kind: &'static str,
    mut act: impl FnMut(&Event, Element) + 'static,
) -> EventListener {
    let options = EventListenerOptions::run_in_capture_phase();
    EventListener::new_with_options(element, kind, options, move |event| {
        if let Some(target) = event.target().and_then(|target| target.dyn_into().ok()) {
            act(event, target);
        }
    })
}

/// The same for all of the page.
pub(crate) fn on_page<E: JsCast>(kind: &str, act: impl FnMut(&E, Element) + 'static) {
    if let Some(document) = document() {
        on(&document, kind, act);
    }
}

/// Lets nobody leave the page unasked as long as `must` says so.
pub(crate) fn hold(must: impl Fn() -> bool + 'static) {
    let closure = Closure::<dyn FnMut(Event)>::new(move |event: Event| {
        if must() {
            event.prevent_default();
        }
    });
    if let Some(window) = window() {
        // It is refused for no kind of event that there is.
        let _ = window.add_event_listener_with_callback("beforeunload", closure.as_ref().unchecked_ref());
    }
    closure.forget();
}

/// The page from its top.
pub(crate) fn scroll_to_top() {
    if let Some(window) = window() {
        window.scroll_to_with_x_and_y(0.0, 0.0);
    }
}

/// The page so many pixels further down; not up.
pub(crate) fn scroll_down(by: f64) {
    if let Some(window) = window().filter(|_| by > 0.0) {
        window.scroll_by_with_x_and_y(0.0, by);
    }
}

/// The way from this page to the root of the book, `../`: where its stylesheet lies.
pub(crate) fn root() -> String {
    let styles = first("link[rel=stylesheet]").and_then(|link| link.get_attribute("href"));
    styles.and_then(|href| Some(href.strip_suffix("book.css")?.to_owned())).unwrap_or_default()
}

/// The fragment of the page's address, without its `#`.
pub(crate) fn fragment() -> Option<String> {
    Some(window()?.location().hash().ok()?.strip_prefix('#')?.to_owned())
}

/// In the edition that is one file, the page that is shown; elsewhere the address names it.
pub(super) fn shown_page() -> Option<String> {
    document()?.document_element()?.get_attribute("data-page")
}

/// The link that the page's address holds, if it holds one.
pub(crate) fn link() -> Option<Link> {
    let hash = window()?.location().hash().ok()?;
    let fragment = hash.strip_prefix('#')?;
    Link::read(match shown_page() {
        Some(page) => fragment.strip_prefix(&page)?.strip_prefix('!')?,
        None => fragment,
    })
}

fn with_page(fragment: &str) -> String {
    shown_page().map_or_else(|| format!("#{fragment}"), |page| format!("#{page}!{fragment}"))
}

/// The page's address with another fragment.
pub(crate) fn address(fragment: &str) -> String {
    let whole = window().and_then(|window| window.location().href().ok()).unwrap_or_default();
    let page = whole.split('#').next().unwrap_or_default();
    format!("{page}{}", with_page(fragment))
}

/// Sets the fragment of the page's address, without a step in the browser's history.
pub(crate) fn set_fragment(fragment: &str) {
    if let Some(history) = window().and_then(|window| window.history().ok()) {
        // A browser that counts such calls refuses one now and then; the next one comes with the next key.
        let _ = history.replace_state_with_url(&JsValue::NULL, "", Some(&with_page(fragment)));
    }
}

/// Calls `act` when the address gets another fragment.
pub(crate) fn on_new_fragment(act: impl FnMut() + 'static) {
    let closure = Closure::<dyn FnMut()>::new(act);
    if let Some(window) = window() {
        // It is refused for no kind of event that there is.
        let _ = window.add_event_listener_with_callback("hashchange", closure.as_ref().unchecked_ref());
    }
    closure.forget();
}

/// Brings an element to the top of the screen, at once.
pub(crate) fn show(element: &Element) {
    element.scroll_into_view();
}

/// An element as XML that any program opens; its HTML has names, as `&nbsp;`, that XML does not know.
pub(crate) fn as_xml(element: &Element) -> Option<String> {
    XmlSerializer::new().ok()?.serialize_to_string(element).ok()
}

/// Hands the reader a file, as the browser saves it.
pub(crate) fn save(file: &str, media: &str, text: &str) {
    let kind = BlobPropertyBag::new();
    kind.set_type(media);
    let parts = js_sys::Array::of1(&JsValue::from_str(text));
    let Ok(blob) = Blob::new_with_str_sequence_and_options(&parts, &kind) else { return };
    let Ok(address) = Url::create_object_url_with_blob(&blob) else { return };
    let link = document().and_then(|document| document.create_element("a").ok());
    if let Some(link) = link.and_then(|link| link.dyn_into::<HtmlAnchorElement>().ok()) {
        link.set_href(&address);
        link.set_download(file);
        link.click();
    }
    // It was refused or has begun: either way the address has done its work.
    let _ = Url::revoke_object_url(&address);
}

/// What editions before this one kept here of a job. It is in the database now.
const EARLIER: [&str; 2] = ["standing-current job", "standing-current run"];

/// The record of the job on the bench, as an earlier edition of the book has left it.
pub(crate) fn kept_by_earlier_editions() -> Option<String> {
    store()?.get_item(EARLIER[0]).ok().flatten()
}

/// Takes away what earlier editions kept here of a job.
pub(crate) fn forget_earlier_editions() {
    if let Some(store) = store() {
        for key in EARLIER {
            // A browser that refuses this gives nothing of it either.
            let _ = store.remove_item(key);
        }
    }
}

/// The browser's local storage; `None` where it forbids it.
pub(super) fn store() -> Option<Storage> {
    window()?.local_storage().ok().flatten()
}

/// Puts text on the clipboard and tells whether the browser allowed it.
pub(crate) fn copy(text: &str, told: impl Fn(bool) + 'static) {
    // Without a secure origin the browser has no clipboard, whatever its type says.
    let clipboard =
        window().map(|window| window.navigator().clipboard()).filter(|found| !found.is_undefined());
    let Some(clipboard) = clipboard else { return told(false) };
    let told = Rc::new(told);
    let answer = |done| {
        let told = Rc::clone(&told);
        Closure::new(move |_| told(done))
    };
    let (done, refused) = (answer(true), answer(false));
    // The promise that follows is of no further use.
    let _ = clipboard.write_text(text).then2(&done, &refused);
    done.forget();
    refused.forget();
}
