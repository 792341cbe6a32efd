//! The blocks that show a job, in a browser: what is typed and pressed goes to the job that the block shows, once, and what the
//! page says of it is so. They share the store of their page; a second [`Store`] is what another tab has.

#![cfg(target_arch = "wasm32")]

mod browser;

use browser::{eval, fails, heals, later, until};
use job::{From, Job, Time};
use wasm_bindgen_test::{wasm_bindgen_test, wasm_bindgen_test_configure};
use web::job::store::{Fault, Store};
use web::job::view::{Block, printed};

wasm_bindgen_test_configure!(run_in_browser);

const AT: Time = Time::from_seconds(1_800_000_000);

/// The page of the job, alive, with a job begun in it.
async fn page_with(label: &str) -> Store {
    heals();
    rest().await;
    let blocks = [Block::Jobs, Block::Survey].map(|block| printed(block, &|_| vec![])).concat();
    browser::show(&blocks);
    let body = web_sys::window().and_then(|window| window.document()).and_then(|page| page.body());
    let body = body.expect("a page");
    for block in ["jobs", "survey"] {
        web::job::mount(body.query_selector(&format!("#{block}")).expect("a selector").expect("a block"))
            .await;
    }
    set("jobs-new", label);
    press("[data-act=new]");
    said(&format!("“{label}” has been started.")).await;
    Store::open().await
}

fn text(selector: &str) -> String {
    eval(&format!("document.querySelector({selector:?})?.textContent ?? ''")).as_string().unwrap_or_default()
}

fn value(field: &str) -> String {
    eval(&format!("document.getElementById({field:?}).value")).as_string().unwrap_or_default()
}

fn set(field: &str, text: &str) {
    eval(&format!("document.getElementById({field:?}).value = {text:?}"));
}

fn press(selector: &str) {
    eval(&format!("document.querySelector({selector:?}).click()"));
}

/// A key in a field that is in use.
fn type_into(field: &str, text: &str) {
    eval(&format!(
        "(() => {{ const field = document.getElementById({field:?}); field.focus(); field.value = {text:?}; field.dispatchEvent(new InputEvent('input', {{ bubbles: true }})) }})()"
    ));
}

async fn said(words: &str) {
    until(words, || text("#jobs .said") == words).await;
}

async fn kept() {
    until("it is kept", || text("#survey .kept-at").starts_with("Kept on this device")).await;
}

/// Presses of one finger at one place are told from others by their time.
async fn rest() {
    later(450).await;
}

async fn jobs(store: &Store) -> Vec<String> {
    store.heads().await.into_iter().map(|head| head.label).collect()
}

#[wasm_bindgen_test]
async fn what_is_typed_goes_to_the_job_that_the_form_shows_whatever_another_tab_has_chosen() {
    let store = page_with("Job A").await;
    let a = store.current().expect("it is begun");
    type_into("survey-owner_ref", "Mr Smith");
    kept().await;
    let other = Store::new();
    other.add(Job::new("b", "Job B", AT)).await.expect("it is begun");
    until("it is said", || text("#survey .elsewhere").contains("“Job B”")).await;
    assert_eq!(text("#survey .which-job"), "Job: Job A");
    type_into("survey-owner_ref", "Mr Smith!");
    type_into("survey-idle-stop", "40");
    type_into("survey-note", "browned");
    rest().await;
    press("[data-act=note]");
    until("it is written down", || text("#survey-notes").contains("browned")).await;
    let (own, bench) = (store.load(&a).await.expect("A"), store.load("b").await.expect("B"));
    assert_eq!((own.owner_ref.as_str(), own.values["idle-stop"].text.as_str()), ("Mr Smith!", "40 mA"));
    assert_eq!((own.notes.len(), bench.notes.len(), bench.values.len()), (1, 0, 0));
    assert_eq!(bench.owner_ref, "");
    // What can be exported and deleted is this job too, and the list says which is on the bench.
    let of = eval(
        "[...document.querySelectorAll('#jobs .of-current [data-id]')].map((button) => button.dataset.id).join()",
    );
    assert!(of.as_string().is_some_and(|of| of.split(',').all(|id| id == a)), "{of:?}");
    assert!(text("#jobs [aria-pressed=true]").starts_with("Job B – on the bench now"));
    // One press turns the page to it, also the field that is in use.
    rest().await;
    press("#survey .elsewhere button");
    until("the form is B's", || text("#survey .which-job") == "Job: Job B").await;
    assert_eq!(value("survey-owner_ref"), "");
    assert_eq!(text("#survey .elsewhere"), "");
}

#[wasm_bindgen_test]
async fn a_doubled_press_is_one_job_one_note_one_change() {
    let store = page_with("Before").await;
    rest().await;
    set("jobs-new", "Twin");
    let twice =
        |selector: &str| eval(&format!("for (const _ of '12') document.querySelector({selector:?}).click()"));
    twice("[data-act=new]");
    until("it is begun", || text("#survey .which-job") == "Job: Twin").await;
    later(100).await;
    assert_eq!(jobs(&store).await.iter().filter(|label| *label == "Twin").count(), 1);
    for (field, act) in [("note", "note"), ("advise", "advise"), ("change-what", "change")] {
        type_into(&format!("survey-{field}"), "bias trimmer");
        rest().await;
        twice(&format!("[data-act={act}]"));
        until("it is written down", || value(&format!("survey-{field}")).is_empty()).await;
    }
    later(100).await;
    let job = store.on_bench().await.expect("the twin");
    assert_eq!((job.notes.len(), job.advice.len(), job.changes.len()), (1, 1, 1));
    // Slower than any doubled tap, and still with the first on its way: there is nothing left to begin.
    rest().await;
    press("[data-act=new]");
    said("Give it a name first: what the amplifier is, in a few words.").await;
}

#[wasm_bindgen_test]
async fn the_same_field_in_two_tabs_shows_what_is_kept() {
    let store = page_with("Two tabs").await;
    let id = store.current().expect("it is begun");
    type_into("survey-ht", "462");
    kept().await;
    let other = Store::new();
    other.change(&id, |job| job.note("elsewhere", AT)).await.expect("it is kept");
    until("it is told", || text("#survey-notes").contains("elsewhere")).await;
    assert_eq!(value("survey-ht"), "462", "what is being typed stays as it is typed");
    let came = other.change(&id, |job| job.set("ht", "405", From::Typed, AT)).await;
    assert!(matches!(came, Ok((Ok(()), _))));
    until("it shows what is kept", || value("survey-ht") == "405 V").await;
    assert!(text("#survey .kept-at").contains("Another tab"));
}

#[wasm_bindgen_test]
async fn nothing_is_called_kept_or_begun_that_is_not_and_no_key_is_dropped() {
    let store = page_with("Full").await;
    fails("jobs");
    type_into("survey-ht", "4x");
    until("it is said", || text("#survey .kept-at") == "Not kept: see above.").await;
    assert!(text("#survey .stopped-job").contains("no room to write"));
    let leaves = "(() => { const event = new Event('beforeunload', { cancelable: true }); window.dispatchEvent(event); return event.defaultPrevented })()";
    assert!(eval(leaves).is_truthy(), "whoever leaves is warned");
    rest().await;
    set("jobs-new", "Second");
    press("[data-act=new]");
    said("“Second” is in this page only: see above.").await;
    heals();
    until("all is kept", || !store.has_unkept()).await;
    until("it is said", || text("#survey .stopped-job").is_empty()).await;
    assert!(!eval(leaves).is_truthy());
    let full = store.heads().await.into_iter().find(|head| head.label == "Full").expect("it is there");
    assert_eq!(store.drafts(&full.id).await["ht"], "4x", "a text that is no value yet is kept too");
    // Deleted in another tab.
    let second = store.current().expect("it is begun");
    Store::new().delete(&second).await.expect("it is deleted");
    until("it is said", || text("#survey .stopped-job").contains("deleted in another tab")).await;
    type_into("survey-ht", "462");
    until("it is said", || text("#survey .kept-at").starts_with("Not kept")).await;
    assert_eq!(store.load(&second).await.err(), Some(Fault::Deleted));
}
