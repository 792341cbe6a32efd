//! Brings the blocks of a page to life, and sets them again when the job has changed.

use std::cell::RefCell;

use gloo_events::EventListener;
use wasm_bindgen::{JsCast, JsValue};
use web_sys::{Element, HtmlInputElement, MouseEvent};

use super::press::Presses;
use super::store::{Later, Store};
use super::view;
use super::{exchange, job_list, photo, sheet, survey, turns};
use crate::platform::page;

/// A block that is alive.
struct Alive {
    element: Element,
    _listeners: Vec<EventListener>,
}

thread_local! {
    /// The blocks of this page that are alive. What listens in one that is gone goes with it.
    static ALIVE: RefCell<Vec<Alive>> = const { RefCell::new(Vec::new()) };
    static PRESSES: RefCell<Presses> = RefCell::default();
}

/// Brings a block to life: `jobs`, `survey`, `sheet` or `export`, by its `data-job`.
pub async fn mount(element: Element) {
    let store = Store::open().await;
    if is_first() {
        let changed = store.clone();
        store.on_change(move |_| {
            let store = changed.clone();
            turns::then(async move { refresh(&store).await });
        });
    }
    let listeners = listen(&store, &element);
    ALIVE.with_borrow_mut(|alive| {
        alive.retain(|known| known.element.is_connected());
        alive.push(Alive { element: element.clone(), _listeners: listeners });
    });
    set(&store, &element).await;
    page::set_attribute(Some(&element), "data-alive", Some(""));
    lead_to_field();
}

/// Whether no block was brought to life before.
fn is_first() -> bool {
    thread_local! { static BEFORE: std::cell::Cell<bool> = const { std::cell::Cell::new(false) }; }
    !BEFORE.replace(true)
}

fn listen(store: &Store, element: &Element) -> Vec<EventListener> {
    let (on_input, on_click, on_change, on_leave) =
        (store.clone(), store.clone(), store.clone(), store.clone());
    let mut listeners = vec![
        page::listener(element, "input", move |_, target| survey::typed(&on_input, &target)),
        page::listener(element, "change", move |_, target| {
            let store = on_change.clone();
            turns::then(async move { chosen(&store, &target).await });
        }),
        page::listener(element, "click", move |event, target| {
            let Some(button) = page::closest(&target, "button") else { return };
            if is_new(event.dyn_ref(), &button) {
                pressed(&on_click, button);
            }
        }),
    ];
    if element.get_attribute("data-job").as_deref() == Some("sheet") {
        let window = web_sys::window().map(|window| {
            EventListener::new(&window, "hashchange", move |_| {
                let store = on_leave.clone();
                turns::then(async move { sheet::set(&store).await });
            })
        });
        listeners.extend(window);
    }
    listeners
}

/// Whether a press is another than the one before it: a doubled one is one.
fn is_new(event: Option<&MouseEvent>, button: &Element) -> bool {
    let of = |name: &str| button.get_attribute(name).unwrap_or_default();
    let what = ["data-act", "data-id", "data-entry", "data-for", "data-offer"].map(of).concat();
    event.is_none_or(|event| PRESSES.with_borrow_mut(|presses| presses.is_new(&what, event)))
}

/// Leads someone who came for one field of the survey to it: what is above it grows as the blocks come alive.
fn lead_to_field() {
    let field = page::fragment().filter(|id| id.starts_with("survey-")).and_then(|id| page::by_id(&id));
    if let Some(field) = field.filter(|field| page::focused_id().is_none_or(|id| id == field.id())) {
        survey::to_field(&field);
    }
}

/// Sets every block again from the store.
pub(super) fn refresh(store: &Store) -> Later<'_, ()> {
    Box::pin(async move {
        let alive: Vec<Element> =
            ALIVE.with_borrow(|alive| alive.iter().map(|alive| alive.element.clone()).collect());
        for element in alive {
            set(store, &element).await;
        }
    })
}

fn set<'a>(store: &'a Store, element: &'a Element) -> Later<'a, ()> {
    Box::pin(set_block(store, element))
}

async fn set_block(store: &Store, element: &Element) {
    match element.get_attribute("data-job").as_deref() {
        Some("jobs") => {
            store.look().await;
            job_list::set(store).await;
        }
        Some("export") => {
            let id = element.get_attribute("data-of").unwrap_or_default();
            job_list::set_export(store, &id).await;
        }
        Some("survey") => survey::set(store, element).await,
        Some("sheet") => sheet::set(store).await,
        _ => {}
    }
    set_notices(store, element).await;
}

/// Says above a block what is not kept, and that another job is on the bench.
pub(super) async fn set_notices(store: &Store, element: &Element) {
    page::say(page::find(element, ".stopped-job").as_ref(), &store.trouble().unwrap_or_default());
    let words = match store.elsewhere() {
        None => String::new(),
        Some(on_bench) => {
            let heads = store.heads().await;
            let own = view::head_of(&heads, store.current().as_deref()).map(|head| head.label.as_str());
            view::elsewhere(own.unwrap_or_default(), view::head_of(&heads, on_bench.as_deref())).into_string()
        }
    };
    if let Some(line) = page::find(element, ".elsewhere") {
        line.set_inner_html(&words);
    }
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
        let said = match exchange::import(store, &file, &|words| job_list::say(block.as_ref(), words)).await {
            Ok(came) => came.said(),
            Err(why) => why,
        };
        refresh(store).await;
        job_list::say(block.as_ref(), &said);
    } else {
        survey::photographed(store, target, &file).await;
    }
    // The same file chosen again is a change again.
    input.set_value("");
}

/// A press. What a browser allows for the press alone is done at once, all else in its turn.
fn pressed(store: &Store, button: Element) {
    let act = button.get_attribute("data-act").unwrap_or_default();
    let is_of_sheet = page::closest(&button, "#sheet-link").is_some();
    match act.as_str() {
        "print" => {
            let print =
                web_sys::window().and_then(|window| js_sys::Reflect::get(&window, &"print".into()).ok());
            if let Some(print) = print.and_then(|print| print.dyn_into::<js_sys::Function>().ok()) {
                // A browser without a printer does nothing.
                let _ = print.call0(&JsValue::UNDEFINED);
            }
        }
        "copy-link" => sheet::given(&button),
        "share" if is_of_sheet => sheet::given(&button),
        "fold" => survey::fold(&button),
        "to-field" => {
            let field =
                button.get_attribute("data-for").and_then(|name| page::by_id(&format!("survey-{name}")));
            if let Some(field) = field {
                survey::to_field(&field);
            }
        }
        "" => survey::offered(store, &button),
        _ => {
            let store = store.clone();
            turns::then(async move { done(&store, &act, &button).await });
        }
    }
}

async fn done(store: &Store, act: &str, button: &Element) {
    match act {
        "sheet-link" | "own-sheet" => sheet::pressed(store, button).await,
        "choose" | "new" | "export" | "share" | "csv" | "raw" | "delete" => {
            job_list::pressed(store, act, button).await;
        }
        "remove" => survey::removed(store, button).await,
        "change" | "advise" | "note" => survey::written_down(store, act, button).await,
        _ => {}
    }
}
