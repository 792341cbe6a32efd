//! Brings the blocks of a page to life, and sets them anew when the job has changed.

use std::cell::RefCell;

use wasm_bindgen::{JsCast, JsValue};
use wasm_bindgen_futures::{JsFuture, spawn_local};
use web_sys::{Element, HtmlInputElement};

use super::store::{Later, Store};
use super::view;
use super::{exchange, photo, sheet, shelf, survey};
use crate::browser::page;

thread_local! {
    /// The blocks of this page that are alive.
    static ALIVE: RefCell<Vec<Element>> = const { RefCell::new(Vec::new()) };
}

/// Brings a block to life: `jobs`, `survey`, `sheet` or `export`, by its `data-job`.
pub async fn wake(element: Element) {
    let store = Store::open().await;
    let first = ALIVE.with_borrow_mut(|alive| {
        let first = alive.is_empty();
        alive.retain(|known| known.is_connected());
        alive.push(element.clone());
        first
    });
    if first {
        let changed = store.clone();
        store.on_change(move |_| {
            let store = changed.clone();
            spawn_local(async move { refresh(&store).await });
        });
    }
    let (on_input, on_click, on_change) = (store.clone(), store.clone(), store.clone());
    page::listen(&element, "input", move |target| {
        let store = on_input.clone();
        spawn_local(async move { survey::typed(&store, &target).await });
    });
    page::listen(&element, "change", move |target| {
        let store = on_change.clone();
        spawn_local(async move { chosen(&store, &target).await });
    });
    page::listen(&element, "click", move |target| {
        let Some(button) = page::closest(&target, "button") else { return };
        let store = on_click.clone();
        spawn_local(async move { pressed(&store, &button).await });
    });
    if element.get_attribute("data-job").as_deref() == Some("sheet") {
        let store = store.clone();
        page::on_new_fragment(move || {
            let store = store.clone();
            spawn_local(async move { sheet::set(&store).await });
        });
    }
    set(&store, &element).await;
    page::set_attribute(Some(&element), "data-alive", Some(""));
    lead_to_field();
}

/// Leads who came for one field of the survey to it: what stands above it grows as the blocks come alive.
fn lead_to_field() {
    let field = page::fragment().filter(|id| id.starts_with("survey-")).and_then(|id| page::by_id(&id));
    if let Some(field) = field.filter(|field| page::focused_id().is_none_or(|id| id == field.id())) {
        page::show(&page::closest(&field, ".field").unwrap_or_else(|| field.clone()));
        page::focus(Some(&field));
    }
}

/// Sets every block anew, as the store stands.
pub(super) fn refresh(store: &Store) -> Later<'_, ()> {
    Box::pin(async move {
        for element in ALIVE.with_borrow(Clone::clone) {
            set(store, &element).await;
        }
    })
}

fn set<'a>(store: &'a Store, element: &'a Element) -> Later<'a, ()> {
    Box::pin(set_block(store, element))
}

async fn set_block(store: &Store, element: &Element) {
    match element.get_attribute("data-job").as_deref() {
        Some("jobs") => shelf::set(store).await,
        Some("export") => shelf::set_export(store).await,
        Some("survey") => survey::set(store, element).await,
        Some("sheet") => sheet::set(store).await,
        _ => {}
    }
    page::say(page::find(element, ".stopped-job").as_ref(), &store.trouble().unwrap_or_default());
}

/// The current job.
pub(super) fn current(store: &Store) -> Later<'_, Option<job::Job>> {
    Box::pin(store.on_bench())
}

/// The photographs of a job with addresses that show them: the page's policy allows `data:` and no `blob:`.
pub(super) fn addresses<'j>(store: &'j Store, job: &'j job::Job) -> Later<'j, Vec<view::Shown<'j>>> {
    Box::pin(async move {
        let mut shown = Vec::new();
        for taken in job.standing(&job.photos) {
            let picture = store.photo(&job.id, &taken.id).await;
            let picture = picture.and_then(|picture| photo::in_base64(&picture));
            let address =
                picture.map(|text| format!("data:{};base64,{text}", taken.media)).unwrap_or_default();
            shown.push((taken, address));
        }
        shown
    })
}

async fn chosen(store: &Store, target: &Element) {
    let Some(input) = target.dyn_ref::<HtmlInputElement>() else { return };
    let Some(file) = input.files().and_then(|files| files.get(0)) else { return };
    if input.id() == "jobs-import" {
        let block = page::closest(target, ".job");
        let said = match exchange::import(store, &file).await {
            Ok(came) => match store.choose(&came.job.id).await {
                Ok(_) => came.said(),
                Err(why) => why,
            },
            Err(why) => why,
        };
        refresh(store).await;
        shelf::say(block.as_ref(), &said);
    } else {
        survey::photographed(store, &file).await;
    }
    // The same file chosen again is a change again.
    input.set_value("");
}

async fn pressed(store: &Store, button: &Element) {
    match button.get_attribute("data-act").as_deref() {
        Some("print") => {
            let print =
                web_sys::window().and_then(|window| js_sys::Reflect::get(&window, &"print".into()).ok());
            if let Some(print) = print.and_then(|print| print.dyn_into::<js_sys::Function>().ok()) {
                // A browser without a printer does nothing.
                let _ = print.call0(&JsValue::UNDEFINED);
            }
        }
        Some("sheet-link" | "own-sheet" | "copy-link") => sheet::pressed(store, button).await,
        Some("share") if page::closest(button, "#sheet-link").is_some() => {
            sheet::pressed(store, button).await
        }
        Some(act @ ("choose" | "new" | "export" | "share" | "csv" | "raw" | "delete")) => {
            shelf::pressed(store, act, button).await;
        }
        Some("remove") => survey::removed(store, button).await,
        Some(act @ ("change" | "advise" | "note")) => survey::written_down(store, act).await,
        _ => survey::offered(store, button).await,
    }
}

/// What the browser promises about keeping; it is asked once, when a job is first begun.
pub(super) async fn promise(ask: bool) -> bool {
    let Some(window) = web_sys::window().filter(|window| window.is_secure_context()) else { return false };
    let storage = window.navigator().storage();
    let answer = if ask { storage.persist() } else { storage.persisted() };
    match answer {
        Ok(answer) => JsFuture::from(answer).await.is_ok_and(|answer| answer.is_truthy()),
        Err(_) => false,
    }
}
