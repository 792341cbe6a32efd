//! Keys that are doubled, held or struck without a thought: nothing comes of them.

use serde_json::Value;
use tests::browser::Browser;
use tests::engine::Engine;
use thirtyfour::Key;
use thirtyfour::error::WebDriverResult;

use super::{begin, item, kept, press, reading, screen};
use crate::job::in_the_store;

tests::in_every_engine! {
    nothing_is_accepted_by_a_doubled_or_held_key,
}

/// Sends what a reader may send without meaning anything: Space, Enter twice, and keys that are held.
async fn fumble(browser: &Browser) -> WebDriverResult<()> {
    browser
        .action_chain()
        .send_keys(" ")
        .send_keys(Key::Enter + "")
        .send_keys(Key::Enter + "")
        .perform()
        .await?;
    let held = "
        for (const key of ['Enter', ' ', 'Enter', ' ']) {
            const event = new KeyboardEvent('keydown', { key, repeat: true, bubbles: true, cancelable: true });
            (document.activeElement ?? document.body).dispatchEvent(event);
        }";
    browser.script(held).await.map(drop)
}

/// What is accepted, done and open, as far as the page and the store say.
async fn stands(browser: &Browser) -> WebDriverResult<String> {
    const STANDS: &str = "
        const panel = document.querySelector('#run-panel');
        const all = (selector, what) => [...panel.querySelectorAll(selector)].map(what).join();
        return [
            document.documentElement.dataset.runScreen, document.querySelector('[data-now]')?.id,
            all('[data-stands]', (standing) => standing.textContent), all('[aria-checked]', (tick) => tick.ariaChecked),
            all('.taken', (taken) => taken.textContent), panel.querySelector('[data-run=next]')?.disabled,
        ].join('; ')";
    let page = browser.script(STANDS).await?;
    Ok(format!("{} {}", page.as_str().unwrap_or_default(), in_the_store(browser, "").await?))
}

async fn nothing_comes_of_fumbling(browser: &Browser, at: &str) -> WebDriverResult<()> {
    assert_eq!(screen(browser).await?, at);
    let before = stands(browser).await?;
    let focus = browser.script("return document.activeElement.matches('button, a, summary')").await?;
    assert_eq!(focus, Value::Bool(false), "{at}: something that acts has the focus");
    fumble(browser).await?;
    assert_eq!(stands(browser).await?, before, "{at}");
    Ok(())
}

async fn nothing_is_accepted_by_a_doubled_or_held_key(engine: Engine) -> WebDriverResult<()> {
    let browser = Browser::open(engine).await?;
    let items = vec![
        reading("bias", "V", "high = \"-41 V\"\nplausible = [\"-100 V\", \"100 V\"]\ngate = \"hard\""),
        reading("seen", "seen", "gate = \"hard\"\npurpose = \"live\""),
        reading("unknown", "Ω", "high = \"1.1 × job.load\"\nplausible = [\"0\", \"100 M\"]\ngate = \"soft\""),
        item("tick", "tick", "text = \"Two know where the switch is\"\ngate = \"soft\""),
        item("timer", "wait", "text = \"Ten minutes\"\nminutes = 10\nstart = \"Mains is on\""),
    ];
    begin(&browser, vec![items, vec![]]).await?;
    nothing_comes_of_fumbling(&browser, "step").await?;
    press(&browser, "[data-run=read][data-about=bias]").await?;
    nothing_comes_of_fumbling(&browser, "typing").await?;
    // Asked back: the sign is missing, and once it is not plausible. Enter again asks again.
    for text in ["44", "-444"] {
        browser
            .script(
                "const input = document.querySelector('#run-panel input'); input.focus(); input.value = ''",
            )
            .await?;
        browser.action_chain().send_keys(text).send_keys(Key::Enter + "").perform().await?;
        let offered = "return document.querySelectorAll('#run-offers button').length > 0";
        assert_eq!(browser.script(offered).await?, Value::Bool(true), "{text} is asked back");
        nothing_comes_of_fumbling(&browser, "typing").await?;
        browser.script("document.querySelector('#run-panel input').value = ''").await?;
    }
    // Out of range.
    browser.action_chain().send_keys("-4 V").send_keys(Key::Enter + "").perform().await?;
    nothing_comes_of_fumbling(&browser, "stop").await?;
    press(&browser, "[data-run=cancel]").await?;
    nothing_comes_of_fumbling(&browser, "step").await?;
    // What is read live, and judged by eye.
    press(&browser, "[data-run=read][data-about=seen]").await?;
    nothing_comes_of_fumbling(&browser, "off").await?;
    press(&browser, "[data-run=is-off]").await?;
    nothing_comes_of_fumbling(&browser, "typing").await?;
    press(&browser, "[data-run=cancel]").await?;
    // No limit, and a reason.
    press(&browser, "[data-run=read][data-about=unknown]").await?;
    browser.action_chain().send_keys("8").send_keys(Key::Enter + "").perform().await?;
    nothing_comes_of_fumbling(&browser, "cannot-tell").await?;
    press(&browser, "[data-run=cancel]").await?;
    press(&browser, "[data-run=excuse]").await?;
    nothing_comes_of_fumbling(&browser, "reason").await?;
    // What is fumbled into a reason is no reason.
    press(&browser, "[data-run=excused]").await?;
    assert_eq!(screen(&browser).await?, "reason");
    press(&browser, "[data-run=cancel]").await?;
    // A doubled press is one: a tick does not come and go, a gate that opened is not run through.
    let twice = "for (const _ of '12') document.querySelector('#run-panel [data-run=tick]').click();
        return document.querySelector('#run-panel [data-run=tick]').ariaChecked";
    assert_eq!(browser.script(twice).await?, "true");
    press(&browser, "[data-run=read][data-about=bias]").await?;
    browser
        .action_chain()
        .send_keys("-44.5")
        .send_keys(Key::Enter + "")
        .send_keys(Key::Enter + "")
        .perform()
        .await?;
    nothing_comes_of_fumbling(&browser, "step").await?;
    assert_eq!(kept(&browser).await?.last().map(String::as_str), Some("-44.5 V"));
    assert_eq!(browser.complaints().await?, [""; 0]);
    Ok(())
}
