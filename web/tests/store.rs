//! Where jobs are kept, in a browser: what the page calls kept is kept, whatever the browser does, and in the job that it
//! belongs to. A second [`Store`] is what another tab has.

#![cfg(target_arch = "wasm32")]

mod browser;

use browser::{HANGS, by_now, eval, fails, fresh, heals, in_store, later, until};
use job::{From, Job, Time};
use wasm_bindgen_test::{wasm_bindgen_test, wasm_bindgen_test_configure};
use web::job::store::{Fault, Store};

wasm_bindgen_test_configure!(run_in_browser);

const AT: Time = Time::from_seconds(1_800_000_000);

fn job(id: &str) -> Job {
    Job::new(id, &format!("Head {id}"), AT)
}

async fn set(store: &Store, id: &str, value: &str, text: &str) {
    let came = store.change(id, |job| job.set(value, text, From::Typed, AT)).await;
    assert!(matches!(came, Ok((Ok(()), _))), "{came:?}");
}

async fn value(store: &Store, id: &str, value: &str) -> Option<String> {
    store.load(id).await.ok()?.values.get(value).map(|value| value.text.clone())
}

/// What the record of the job on the bench says of the anode voltage.
async fn recorded() -> String {
    let record: serde_json::Value =
        serde_json::from_str(&in_store("chosen", "record").await).unwrap_or_default();
    format!(
        "{} {}",
        record["id"].as_str().unwrap_or_default(),
        record["fields"]["dissipation.anode-voltage"][0].as_str().unwrap_or_default()
    )
}

#[wasm_bindgen_test]
async fn what_calculators_know_is_written_with_the_job_and_nothing_of_it_elsewhere() {
    fresh().await;
    let store = Store::new();
    store.add(job("a")).await.expect("it is begun");
    set(&store, "a", "anode-voltage", "438").await;
    assert_eq!(recorded().await, "a 438 V");
    assert_eq!(in_store("chosen", "job").await, "a");
    // Refused, neither is there.
    fails("chosen");
    set(&store, "a", "anode-voltage", "450").await;
    assert!(!store.is_kept("a"));
    assert_eq!(recorded().await, "a 438 V");
    assert!(!in_store("jobs", "a").await.contains("450 V"));
    heals();
    assert_eq!(eval("Object.keys(localStorage).join()").as_string().as_deref(), Some(""));
    until("it is kept", || store.is_kept("a")).await;
    assert_eq!(recorded().await, "a 450 V");
}

#[wasm_bindgen_test]
async fn a_page_goes_on_with_its_job_and_knows_that_another_lies_on_the_bench() {
    fresh().await;
    let (here, there) = (Store::new(), Store::new());
    here.add(job("a")).await.expect("it is begun");
    there.add(job("b")).await.expect("it is begun");
    until("it is told", || here.elsewhere() == Some(Some("b".to_owned()))).await;
    assert_eq!(here.current().as_deref(), Some("a"));
    set(&here, "a", "idle-stop", "40").await;
    assert_eq!(value(&there, "b", "idle-stop").await, None);
    assert_eq!(recorded().await, "b ", "what is not on the bench tells calculators nothing");
    // A page that is opened now has the other.
    let third = Store::new();
    third.look().await;
    assert_eq!((third.current().as_deref(), third.elsewhere()), (Some("b"), None));
    // Reading away there, this page is told why.
    there.delete("a").await.expect("it is deleted");
    until("it is told", || here.trouble().is_some_and(|why| why.contains("deleted in another tab"))).await;
    assert_eq!(here.change("a", |job| job.note("lost", AT)).await.err(), Some(Fault::Deleted));
}

#[wasm_bindgen_test]
async fn what_an_earlier_edition_has_left_on_the_device_is_carried_over() {
    for chosen in ["", "a"] {
        fresh().await;
        let mut old = job("a");
        old.set("anode-voltage", "438", From::Typed, AT).expect("a value");
        let head =
            format!("{{\"id\":\"a\",\"label\":\"Head a\",\"changed\":\"{AT}\",\"exported\":\"{AT}\"}}");
        browser::as_an_earlier_edition("a", &job::file::write(&old), &head, chosen).await;
        eval(
            "localStorage.setItem('standing-current run', 'p.html'); localStorage.setItem('standing-current job', '{\"id\":\"a\",\"label\":\"Head a\",\"fields\":{},\"stops\":[]}\\ndissipation anode-voltage=1+V')",
        );
        let store = Store::new();
        store.look().await;
        assert_eq!(store.current().as_deref(), Some("a"), "on the bench: {chosen:?}");
        assert_eq!(value(&store, "a", "anode-voltage").await.as_deref(), Some("438 V"));
        assert_eq!(recorded().await, "a 438 V");
        let is_owing = async || store.heads().await.iter().any(web::job::store::Head::is_owing);
        assert!(!is_owing().await, "it was exported as it stands");
        // An earlier edition that is open still changes the job, and knows nothing of the record: it is seen to be behind.
        browser::as_an_earlier_edition("a", &job::file::write(&job("a")), &head, chosen).await;
        store.look().await;
        assert_eq!(recorded().await, "a ");
        set(&store, "a", "anode-voltage", "440").await;
        assert!(is_owing().await);
    }
    Store::open().await;
    assert_eq!(eval("Object.keys(localStorage).join()").as_string().as_deref(), Some(""));
}

#[wasm_bindgen_test]
async fn a_full_disk_is_said_and_all_that_is_not_kept_is_tried_again() {
    fresh().await;
    let store = Store::new();
    store.add(job("a")).await.expect("it is begun");
    fails("jobs");
    set(&store, "a", "ht", "462").await;
    store.add(job("b")).await.expect("it is in this page");
    assert!(!store.is_kept("a") && !store.is_kept("b"));
    assert!(store.trouble().is_some_and(|why| why.contains("no room to write")), "{:?}", store.trouble());
    assert_eq!(value(&store, "a", "ht").await.as_deref(), Some("462 V"), "as it is in this page");
    assert_eq!(store.current().as_deref(), Some("b"));
    heals();
    // Nobody does anything.
    until("all is kept", || store.is_kept("a") && store.is_kept("b")).await;
    assert_eq!(store.trouble(), None);
    assert!(in_store("jobs", "a").await.contains("462 V") && !in_store("jobs", "b").await.is_empty());
    assert_eq!(in_store("chosen", "job").await, "b", "it was to lie on the bench");
}

#[wasm_bindgen_test]
async fn what_is_refused_to_be_deleted_stays_as_it_was() {
    fresh().await;
    let store = Store::new();
    store.add(job("a")).await.expect("it is begun");
    fails("jobs");
    set(&store, "a", "idle-stop", "40").await;
    fails("photos");
    assert!(store.delete("a").await.is_err());
    assert_eq!(value(&store, "a", "idle-stop").await.as_deref(), Some("40 mA"));
    assert_eq!((store.current().as_deref(), in_store("chosen", "job").await.as_str()), (Some("a"), "a"));
    heals();
    until("all is kept", || store.is_kept("a")).await;
    store.delete("a").await.expect("it is deleted");
    assert_eq!((store.current(), in_store("chosen", "record").await.as_str()), (None, ""));
}

#[wasm_bindgen_test]
async fn exported_is_a_count_of_changes() {
    fresh().await;
    let (store, other) = (Store::new(), Store::new());
    store.add(job("a")).await.expect("it is begun");
    let is_owing = async || store.heads().await.first().is_some_and(web::job::store::Head::is_owing);
    let (_, revision) = store.with_revision("a").await.expect("it is there");
    let revision = revision.expect("it is on disk");
    // Another tab writes between reading and noting, in the same second.
    set(&other, "a", "ht", "462").await;
    store.exported("a", revision).await;
    assert!(is_owing().await, "the file lacks the later change");
    let (_, revision) = store.with_revision("a").await.expect("it is there");
    store.exported("a", revision.expect("it is on disk")).await;
    assert!(!is_owing().await);
    set(&store, "a", "ht", "463").await;
    assert!(is_owing().await);
}

#[wasm_bindgen_test]
async fn a_job_added_in_two_tabs_at_once_is_one_with_what_both_have() {
    fresh().await;
    let (here, there) = (Store::new(), Store::new());
    let with = |note: &str| {
        let mut job = job("a");
        job.note(note, AT);
        job
    };
    let (one, other) = browser::both(here.add(with("one")), there.add(with("other"))).await;
    assert!(one.is_ok() && other.is_ok());
    let notes: Vec<String> =
        here.load("a").await.expect("it is there").notes.into_iter().map(|note| note.text).collect();
    assert_eq!(notes.len(), 2, "{notes:?}");
}

#[wasm_bindgen_test]
async fn a_store_that_never_answers_is_said_in_time() {
    fresh().await;
    let store = Store::new();
    store.add(job("a")).await.expect("it is begun");
    eval(HANGS);
    let started = by_now();
    set(&store, "a", "ht", "462").await;
    assert!(by_now() - started < 2_000.0, "{} ms", by_now() - started);
    assert!(store.trouble().is_some_and(|why| why.contains("does not answer")));
    assert_eq!(value(&store, "a", "ht").await.as_deref(), Some("462 V"));
    heals();
    until("it is kept", || store.is_kept("a")).await;
    assert!(in_store("jobs", "a").await.contains("462 V"));
    // One that does not even open.
    eval(
        "window.open_ = IDBFactory.prototype.open; IDBFactory.prototype.open = () => ({ addEventListener() {}, removeEventListener() {} })",
    );
    let deaf = Store::new();
    let started = by_now();
    deaf.add(job("b")).await.expect("it is in this page");
    assert!(by_now() - started < 4_000.0, "{} ms", by_now() - started);
    assert!(!deaf.is_kept("b") && deaf.trouble().is_some());
    eval("IDBFactory.prototype.open = window.open_");
}

#[wasm_bindgen_test]
async fn a_database_deleted_under_the_page_is_said_and_the_next_change_puts_the_job_back() {
    fresh().await;
    let store = Store::new();
    store.add(job("a")).await.expect("it is begun");
    set(&store, "a", "ht", "462").await;
    let started = by_now();
    fresh().await;
    until("it is said", || store.trouble().is_some_and(|why| why.contains("cleared"))).await;
    assert!(by_now() - started < 2_000.0, "nobody waits for this page, and it says so");
    assert!(!store.is_kept("a"));
    assert_eq!(value(&store, "a", "ht").await.as_deref(), Some("462 V"), "it can be exported");
    set(&store, "a", "screen-voltage", "434").await;
    assert!(store.is_kept("a") && store.trouble().is_none(), "{:?}", store.trouble());
    let text = in_store("jobs", "a").await;
    assert!(text.contains("462 V") && text.contains("434 V"));
    assert_eq!(in_store("chosen", "job").await, "a");
    // Emptied without a word.
    browser::emptied().await;
    set(&store, "a", "bias-expected", "-46").await;
    assert!(store.is_kept("a") && in_store("jobs", "a").await.contains("462 V"));
}

#[wasm_bindgen_test]
async fn a_later_edition_is_not_held_up_and_the_page_says_that_it_is_there() {
    fresh().await;
    let store = Store::new();
    store.add(job("a")).await.expect("it is begun");
    browser::raised_to(2).await;
    until("it is said", || store.trouble().is_some_and(|why| why.contains("newer edition"))).await;
    set(&store, "a", "ht", "462").await;
    assert!(!store.is_kept("a"));
    assert!(in_store("jobs", "a").await.contains("Head a"), "what is kept stays as it is");
    later(10).await;
}
