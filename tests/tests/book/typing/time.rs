//! What lasts: a time to wait, and a STOP until its reading is in range.

use job::procedure::{Procedure, Step};
use serde_json::Value;
use tests::browser::Browser;
use tests::engine::Engine;
use thirtyfour::Key;
use thirtyfour::error::WebDriverResult;

use super::{begin, item, kept, press, reading, screen};
use crate::job::JOB;
use crate::run::POWER_UP;

tests::in_every_engine! {
    a_stop_is_in_sight_on_every_page_until_it_is_read_in_range,
    a_reading_after_ten_minutes_is_closed_at_once,
}

async fn a_stop_is_in_sight_on_every_page_until_it_is_read_in_range(engine: Engine) -> WebDriverResult<()> {
    let browser = Browser::open(engine).await?;
    let earth = || {
        vec![
            vec![reading("earth", "Ω", "high = \"0.1\"\nplausible = [\"0\", \"100 M\"]\ngate = \"hard\"")],
            vec![],
        ]
    };
    begin(&browser, earth()).await?;
    press(&browser, "[data-run=read]").await?;
    browser.action_chain().send_keys("3").send_keys(Key::Enter + "").perform().await?;
    assert_eq!(screen(&browser).await?, "stop");
    // It is on disk before the page is left.
    while kept(&browser).await?.is_empty() {}
    press(&browser, "[data-run=cancel]").await?;
    press(&browser, "[data-run=leave]").await?;
    let said = "return document.querySelector('.stop-stands')?.textContent ?? ''";
    for page in ["index.html", "first-power-up/index.html", POWER_UP, JOB] {
        browser.living_page(page).await?;
        browser.until("what stands", "return !!document.querySelector('.stop-stands a')").await?;
        let said = browser.script(said).await?;
        let said = said.as_str().unwrap_or_default();
        assert!(said.starts_with("STOP The earth: 3"), "{page}: {said}");
        assert!(said.contains("“Head”") && said.contains("Go on at step 1"), "{page}: {said}");
    }
    // One press, and the run goes on at that step.
    browser.element(".stop-stands a").await?.click().await?;
    browser.until("it goes on", "return document.querySelector('[data-now]')?.id === 'step-1'").await?;
    // Read in range, it is over; the steps are the page's own now, so the run of this journey is taken up once more.
    let said_there = browser.script(said).await?;
    assert!(said_there.as_str().is_some_and(|said| said.starts_with("STOP")), "{said_there}");
    press(&browser, "[data-run=leave]").await?;
    // What the next page reads is written behind it.
    tokio::time::sleep(std::time::Duration::from_millis(300)).await;
    browser.page("index.html").await?;
    browser.living_page(POWER_UP).await?;
    let procedure = Procedure {
        page: POWER_UP.to_owned(),
        title: "Typing".to_owned(),
        steps: earth().into_iter().map(|items| Step { id: "step-1".to_owned(), items }).take(1).collect(),
    };
    browser.until("it can be run", "return !!document.querySelector('#page-run button')").await?;
    let script = format!(
        "document.querySelector('#page-run').dataset.procedure = {:?}; document.querySelector('#page-run button').click();",
        serde_json::to_string(&procedure)?
    );
    browser.script(&script).await?;
    browser.until("it is offered", "return !!document.querySelector('[data-run=go-on]')").await?;
    browser.script("document.querySelector('[data-run=go-on]').click()").await?;
    press(&browser, "[data-run=read]").await?;
    browser.action_chain().send_keys("0.06").send_keys(Key::Enter + "").perform().await?;
    browser.until("it is over", "return !document.querySelector('.stop-stands')").await?;
    Ok(())
}

async fn a_reading_after_ten_minutes_is_closed_at_once(engine: Engine) -> WebDriverResult<()> {
    let browser = Browser::open(engine).await?;
    let items = vec![
        item("timer", "ten", "text = \"Ten minutes at full mains\"\nminutes = 10\nstart = \"Mains is on\""),
        reading(
            "idle-ten",
            "mA",
            "plausible = [\"0\", \"1 A\"]\nhigh = \"61\"\ngate = \"soft\"\npurpose = \"live\"\nafter = \"ten\"",
        ),
    ];
    begin(&browser, vec![items, vec![]]).await?;
    // Nothing starts by itself.
    let closed = "return document.querySelector('#run-panel [data-run=read]').disabled";
    assert_eq!(browser.script(closed).await?, Value::Bool(true));
    let clock = "return document.querySelector('#run-panel .clock .left').textContent";
    assert_eq!(browser.script(clock).await?, "10:00");
    tokio::time::sleep(std::time::Duration::from_millis(1200)).await;
    assert_eq!(browser.script(clock).await?, "10:00");
    press(&browser, "[data-run=start]").await?;
    browser.until("it runs", &format!("{clock}.startsWith('9:5')")).await?;
    assert_eq!(browser.script(closed).await?, Value::Bool(true), "half a minute is no ten minutes");
    let said =
        browser.script("return document.querySelector('#run-panel [data-run=read]').textContent").await?;
    assert!(said.as_str().is_some_and(|said| said.contains("9:5")), "{said}");
    // A reason opens it.
    press(&browser, "[data-run=early][data-about=idle-ten]").await?;
    browser.element("#run-reason").await?.send_keys("The lamp glowed").await?;
    press(&browser, "[data-run=opened]").await?;
    assert_eq!(screen(&browser).await?, "off");
    press(&browser, "[data-run=is-off]").await?;
    browser.action_chain().send_keys("38").send_keys(Key::Enter + "").perform().await?;
    assert_eq!(screen(&browser).await?, "step");
    press(&browser, ".done [data-run=back]").await?;
    let taken = browser.script("return document.querySelector('#run-panel .taken').textContent").await?;
    assert!(taken.as_str().is_some_and(|taken| taken.contains("The lamp glowed")), "{taken}");
    Ok(())
}
