//! Makes what an element holds into what other HTML says, and keeps every node that both have: a finger that is down on a
//! button comes up on the same button, whatever else has changed meanwhile.

use wasm_bindgen::JsCast;
use web_sys::{Element, HtmlTemplateElement, Node};

use super::page;

/// What tells an element from others of its kind, in this order.
const KEYS: [&str; 6] = ["id", "data-run", "data-about", "data-name", "data-blank", "data-key"];
/// Marks an element whose content others set: it stays as it is.
pub(crate) const CONTENT_STAYS: &str = "data-content-stays";

/// Sets the content of the element with this id.
pub(crate) fn morph(id: &str, html: &str) {
    let document = web_sys::window().and_then(|window| window.document());
    let template = document.and_then(|document| document.create_element("template").ok());
    let template = template.and_then(|template| template.dyn_into::<HtmlTemplateElement>().ok());
    if let (Some(element), Some(template)) = (page::by_id(id), template) {
        template.set_inner_html(html);
        children(&element, &template.content());
    }
}

fn children(stands: &Node, wanted: &Node) {
    let mut at = stands.first_child();
    let mut next = wanted.first_child();
    while let Some(new) = next {
        next = new.next_sibling();
        if let Some(old) = like(at.as_ref(), &new) {
            while let Some(gone) = at.take_if(|at| !at.is_same_node(Some(&old))) {
                at = gone.next_sibling();
                remove(stands, &gone);
            }
            at = old.next_sibling();
            alter(&old, &new);
        } else {
            // It has no other place yet, so that nothing refuses it.
            let _ = stands.insert_before(&new, at.as_ref());
        }
    }
    while let Some(gone) = at {
        at = gone.next_sibling();
        remove(stands, &gone);
    }
}

fn remove(from: &Node, node: &Node) {
    // It is a child, so that nothing refuses it.
    let _ = from.remove_child(node);
}

/// The node that becomes the new one: what has a key is looked for further on, what has none is taken where it stands.
fn like(at: Option<&Node>, new: &Node) -> Option<Node> {
    let mut at = at.cloned();
    let key = key(new);
    while let Some(old) = at {
        if old.node_name() == new.node_name() && self::key(&old) == key {
            return Some(old);
        }
        at = if key.is_some() { old.next_sibling() } else { None };
    }
    None
}

fn key(node: &Node) -> Option<Vec<Option<String>>> {
    let element = node.dyn_ref::<Element>()?;
    let key: Vec<Option<String>> = KEYS.iter().map(|name| element.get_attribute(name)).collect();
    key.iter().any(Option::is_some).then_some(key)
}

fn alter(old: &Node, new: &Node) {
    let (Some(stands), Some(wanted)) = (old.dyn_ref::<Element>(), new.dyn_ref::<Element>()) else {
        if old.node_value() != new.node_value() {
            old.set_node_value(new.node_value().as_deref());
        }
        return;
    };
    for name in names(stands) {
        // What the reader has unfolded stays so.
        if !wanted.has_attribute(&name) && name != "open" {
            page::set_attribute(Some(stands), &name, None);
        }
    }
    for name in names(wanted) {
        page::set_attribute(Some(stands), &name, wanted.get_attribute(&name).as_deref());
    }
    if !wanted.has_attribute(CONTENT_STAYS) {
        children(old, new);
    }
}

fn names(element: &Element) -> Vec<String> {
    element.get_attribute_names().iter().filter_map(|name| name.as_string()).collect()
}
