//! A procedure that runs, in a browser: its readings go to the job that it was begun with, and where they are not kept it is said
//! on every screen and the job can be had as it is.

#![cfg(target_arch = "wasm32")]

mod browser;

use browser::{eval, fails, heals, later, promised, until};
use job::procedure::{Bound, Gate, Item, Of, Procedure, ReadingSpec, Step};
use job::{Job, Time};
use wasm_bindgen_test::{wasm_bindgen_test, wasm_bindgen_test_configure};
use web::job::store::Store;

wasm_bindgen_test_configure!(run_in_browser);

const AT: Time = Time::from_seconds(1_800_000_000);

/// Two readings that stop above 10 V.
fn procedure() -> String {
    let reading = |id: &str| {
        Item::Reading(ReadingSpec {
            id: id.into(),
            quantity: format!("The {id}"),
            stop: "Over 10 V: mains off".into(),
            unit: "V".into(),
            high: Some(Bound { factor: 1.0, of: Of::Fixed(10.0) }),
            gate: Some(Gate::Hard),
            ..ReadingSpec::default()
        })
    };
    let steps = vec![Step { id: "step-1".into(), items: vec![reading("first"), reading("second")] }];
    let procedure = Procedure { page: "p.html".into(), title: "Two".into(), steps };
    serde_json::to_string(&procedure).expect("JSON")
}

fn text(selector: &str) -> String {
    eval(&format!("document.querySelector({selector:?})?.textContent ?? ''")).as_string().unwrap_or_default()
}

fn press(selector: &str) {
    eval(&format!("document.querySelector({selector:?}).click()"));
}

fn screen() -> String {
    eval("document.documentElement.dataset.runScreen ?? ''").as_string().unwrap_or_default()
}

/// Types a reading and enters it.
async fn read(id: &str, volts: &str) {
    press(&format!("#run-panel [data-run=read][data-about={id}]"));
    until("it is typed", || screen() == "typing").await;
    eval(&format!(
        "(() => {{ const input = document.querySelector('#run-panel input[data-blank^={id}]'); input.focus(); input.value = {volts:?};
            input.dispatchEvent(new InputEvent('input', {{ bubbles: true }}));
            input.dispatchEvent(new KeyboardEvent('keydown', {{ key: 'Enter', bubbles: true, cancelable: true }})) }})()"
    ));
}

/// The job in the file that a press hands over.
async fn handed_over(selector: &str) -> Job {
    eval(
        "window.blob_ = undefined; window.make_ ??= URL.createObjectURL; URL.createObjectURL = (blob) => { window.blob_ = blob; return window.make_.call(URL, blob) }",
    );
    press(selector);
    until("it is handed over", || eval("!!window.blob_").is_truthy()).await;
    let text = promised("window.blob_.text()").await.as_string().unwrap_or_default();
    job::file::read(&text).expect("a job")
}

fn read_in(job: &Job) -> Vec<&str> {
    job.readings.iter().map(|taken| taken.text.as_str()).collect()
}

#[wasm_bindgen_test]
async fn a_run_belongs_to_its_job_and_what_is_not_kept_is_said_on_every_screen() {
    browser::show(
        "<article><div id=page-run></div><ol><li id=step-1></li></ol></article><section id=run-panel tabindex=-1></section>",
    );
    eval(&format!(
        "Object.assign(document.querySelector('#page-run').dataset, {{ procedure: {:?}, jobs: 'job.html' }})",
        procedure()
    ));
    web::job::run::run(false).await;
    eval(
        "document.querySelector('#run-label').value = 'Job A'; for (const _ of '12') document.querySelector('[data-run=new-job]').click()",
    );
    until("it runs", || screen() == "step").await;
    let other = Store::new();
    other.look().await;
    let a = other.current().expect("it is begun");
    assert_eq!(other.heads().await.len(), 1, "pressed twice, begun once");
    // Another tab puts another job on the bench.
    other.add(Job::new("b", "Job B", AT)).await.expect("it is begun");
    until("it is said", || text("#run-panel .elsewhere").contains("“Job A” is no longer on the bench")).await;
    read("first", "2.5").await;
    // What is read next is asked at once.
    until("it is taken", || {
        eval("!!document.querySelector('#run-panel input[data-blank^=second]')").is_truthy()
    })
    .await;
    later(450).await;
    press("#run-panel [data-run=cancel]");
    until("the step", || screen() == "step").await;
    later(100).await;
    assert_eq!(read_in(&other.load(&a).await.expect("A")), ["2.5 V"]);
    assert_eq!(other.load("b").await.expect("B").readings.len(), 0);
    // From now on nothing is kept.
    fails("jobs");
    read("second", "14").await;
    until("it stops", || screen() == "stop").await;
    until("it is said there", || text("#run-panel .stopped-job").contains("no room to write")).await;
    let whole = handed_over("#run-panel [data-run=export]").await;
    assert_eq!(
        (whole.id.as_str(), read_in(&whole)),
        (a.as_str(), vec!["2.5 V", "14 V"]),
        "as it is in this page"
    );
    later(450).await;
    press("#run-panel [data-run=read]");
    until("it is typed", || screen() == "typing").await;
    assert!(text("#run-panel .stopped-job").contains("no room to write"), "where one types");
    press("#run-panel [data-run=cancel]");
    until("the step", || screen() == "step").await;
    assert!(text("#run-panel .stopped-job").contains("no room to write"), "at the step");
    // Left, the job is offered that was run, with what is in this page only.
    later(450).await;
    press("#run-panel [data-run=leave]");
    until("it is offered", || eval("!!document.querySelector('#export [data-act=export]')").is_truthy())
        .await;
    let whole = handed_over("#export [data-act=export]").await;
    assert_eq!((whole.id.as_str(), read_in(&whole)), (a.as_str(), vec!["2.5 V", "14 V"]));
    heals();
    let store = Store::open().await;
    until("all is kept", || !store.has_unkept()).await;
    assert_eq!(read_in(&other.load(&a).await.expect("A")), ["2.5 V", "14 V"]);
    // Deleted in another tab, what is read is not lost without a word.
    later(450).await;
    press("[data-run=go-on]");
    until("it runs", || screen() == "step").await;
    other.delete(&a).await.expect("it is deleted");
    read("second", "3").await;
    until("it is said", || text("#run-panel .stopped-job").contains("deleted in another tab")).await;
    let whole = handed_over("#run-panel [data-run=export]").await;
    assert_eq!(read_in(&whole), ["2.5 V", "14 V", "3 V"]);
}
