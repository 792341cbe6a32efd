//! The head of a run: what is known of the chassis, and what led to a step.

use tests::browser::Browser;
use tests::engine::Engine;
use thirtyfour::Key;
use thirtyfour::error::WebDriverResult;

use super::{begin, item, kept, press, reading, screen};

tests::in_every_engine! {
    dead_is_not_said_after_coming_back_from_where_the_mains_may_be_on,
    a_doubled_tap_judges_one_reading_by_eye,
}

/// What the head says of the chassis.
const STATE: &str = "return document.querySelector('.run-state').dataset.state";

async fn dead_is_not_said_after_coming_back_from_where_the_mains_may_be_on(
    engine: Engine,
) -> WebDriverResult<()> {
    let browser = Browser::open(engine).await?;
    let volts = "plausible = [\"-1000\", \"1000\"]\nhigh = \"9.9\"\ngate = \"hard\"";
    let left = reading("left", "V", &format!("{volts}\npurpose = \"dead\""));
    let live = reading("bias", "V", &format!("{volts}\npurpose = \"live\""));
    let hands_out = item("tick", "out", "text = \"Hands out\"\ngate = \"soft\"");
    begin(&browser, vec![vec![left, hands_out], vec![live], vec![]]).await?;
    assert_eq!(browser.script(STATE).await?, "not-proved");
    press(&browser, "[data-run=read]").await?;
    browser.action_chain().send_keys("0.4").send_keys(Key::Enter + "").perform().await?;
    assert_eq!(screen(&browser).await?, "step");
    assert_eq!(browser.script(STATE).await?, "dead");
    // It leads to where the mains is switched on, and nothing is read there yet.
    press(&browser, "[data-run=tick]").await?;
    browser.until("the live step", &format!("{STATE} === 'on'")).await?;
    press(&browser, "[data-run=back]").await?;
    browser.until("the step before", "return !!document.querySelector('.taken')").await?;
    assert_eq!(browser.script(STATE).await?, "not-proved");
    Ok(())
}

async fn a_doubled_tap_judges_one_reading_by_eye(engine: Engine) -> WebDriverResult<()> {
    let browser = Browser::open(engine).await?;
    let seen = |id| reading(id, "seen", "gate = \"hard\"\npurpose = \"live\"");
    begin(&browser, vec![vec![seen("lamp"), seen("anodes")], vec![]]).await?;
    press(&browser, "[data-run=is-off]").await?;
    let well = browser.element("#run-panel [data-run=take][data-about='as expected']").await?;
    // The second tap meets the same button of the next reading.
    // A browser that is busy may scroll under the finger: then nothing was pressed.
    while kept(&browser).await?.is_empty() {
        browser.action_chain().move_to_element_center(&well).click().click().perform().await?;
        tokio::time::sleep(std::time::Duration::from_millis(300)).await;
    }
    let next = "return document.querySelector('#run-panel [data-run=take]')?.dataset.name === 'anodes.'";
    browser.until("the next is asked", next).await?;
    assert_eq!(kept(&browser).await?.len(), 1);
    Ok(())
}
