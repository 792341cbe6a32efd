//! The disk is slow, or refuses: every key arrives where it was meant, and what is not kept is said.

use tests::browser::Browser;
use tests::engine::Engine;
use thirtyfour::Key;
use thirtyfour::error::WebDriverResult;

use super::{begin, begin_here, kept, press, reading, screen};
use crate::job::in_the_store;
use crate::run::POWER_UP;

tests::in_every_engine! {
    every_key_arrives_where_it_was_meant_while_the_disk_is_slow,
    what_is_not_kept_is_said_where_one_types,
}

/// Makes the disk slow for scripts that open it from now on: whatever waits for a transaction waits longer.
const SLOW: &str = "
    const kind = window.IDBTransaction.prototype;
    const { get, set } = Object.getOwnPropertyDescriptor(kind, 'oncomplete');
    const late = (act) => act && function (event) { window.setTimeout(() => act.call(this, event), 300); };
    Object.defineProperty(kind, 'oncomplete', { get, set(act) { set.call(this, late(act)); } });
    const listen = window.EventTarget.prototype.addEventListener;
    kind.addEventListener = function (type, act, ...rest) {
        return listen.call(this, type, type === 'complete' ? late(act) : act, ...rest);
    };";

async fn every_key_arrives_where_it_was_meant_while_the_disk_is_slow(engine: Engine) -> WebDriverResult<()> {
    let browser = Browser::open(engine).await?;
    browser.living_page(POWER_UP).await?;
    browser.script(SLOW).await?;
    let more = "plausible = [\"0\", \"500\"]\ngate = \"hard\"\nhigh = \"10\"\npurpose = \"dead\"";
    let four = |id| reading(id, "V", &format!("blanks = [\"a\", \"b\", \"c\", \"d\"]\n{more}"));
    begin_here(&browser, vec![vec![four("first"), four("second")], vec![]]).await?;
    press(&browser, "[data-run=read]").await?;
    let started = std::time::Instant::now();
    let mut keys = browser.action_chain();
    for text in ["2.5", "3.5", "1.4", "4.5", "0.5", "6.5", "7.5"] {
        keys = keys.send_keys(text).send_keys(Key::Enter + "");
    }
    keys.perform().await?;
    let typed = started.elapsed();
    let standing = "return [...document.querySelectorAll('[data-stands]')].map((standing) => standing.textContent).join()";
    let all = "2.5 V: in range,3.5 V: in range,1.4 V: in range,4.5 V: in range,0.5 V: in range,6.5 V: in range,7.5 V: in range,";
    assert_eq!(browser.script(standing).await?, all);
    assert_eq!(screen(&browser).await?, "typing");
    assert!(typed.as_millis() < 2100, "the typing itself waits for the disk: {typed:?}");
    // Out of range: it is said at once, and what is typed after it is no reading.
    browser
        .action_chain()
        .send_keys("14")
        .send_keys(Key::Enter + "")
        .send_keys("4")
        .send_keys(Key::Enter + "")
        .perform()
        .await?;
    assert_eq!(screen(&browser).await?, "stop");
    let read = "return document.querySelector('#run-panel .found dd').textContent";
    assert_eq!(browser.script(read).await?, "14\u{a0}V");
    // What is typed and not entered is there again afterwards.
    press(&browser, "[data-run=read]").await?;
    browser.action_chain().send_keys("9").send_keys(Key::Enter + "").perform().await?;
    browser.until("all is read", "return document.documentElement.dataset.runScreen === 'step'").await?;
    assert_eq!(
        browser.script("return document.querySelector('.run-at strong').textContent").await?,
        "2 of 2"
    );
    // The disk is slow, and loses nothing.
    let on_disk = ["2.5 V", "3.5 V", "1.4 V", "4.5 V", "0.5 V", "6.5 V", "7.5 V", "14 V", "9 V"];
    let started = std::time::Instant::now();
    while kept(&browser).await? != on_disk {
        assert!(started.elapsed().as_secs() < 10, "{:?}", kept(&browser).await?);
    }
    Ok(())
}

async fn what_is_not_kept_is_said_where_one_types(engine: Engine) -> WebDriverResult<()> {
    let browser = Browser::open(engine).await?;
    let two = reading("volts", "V", "blanks = [\"a\", \"b\"]\nplausible = [\"0\", \"500\"]");
    begin(&browser, vec![vec![two], vec![]]).await?;
    // Pressed twice, begun once.
    let one_job = "if ((await done(jobs().getAllKeys())).length !== 1) throw new Error('two jobs')";
    in_the_store(&browser, one_job).await?;
    press(&browser, "[data-run=read]").await?;
    let full = "window.IDBObjectStore.prototype.put = () => { throw new window.DOMException('full', 'QuotaExceededError') }";
    browser.script(full).await?;
    browser.action_chain().send_keys("7").send_keys(Key::Enter + "").send_keys("8").perform().await?;
    let said =
        "return document.querySelector('#run-panel .stopped-job').textContent.includes('no room to write')";
    browser.until("it is said", said).await?;
    assert_eq!(screen(&browser).await?, "typing");
    assert_eq!(browser.script("return document.activeElement.value").await?, "8", "the next blank");
    Ok(())
}
