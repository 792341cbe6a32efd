//! What one sees where one types, and above it.

use serde_json::Value;
use tests::browser::{Browser, PHONE, TABLET};
use tests::engine::Engine;
use thirtyfour::error::WebDriverResult;

use super::{item, press};
use crate::run::POWER_UP;

tests::in_every_engine! {
    the_printed_step_speaks_of_this_amplifier,
    a_finger_that_is_down_comes_up_on_the_same_button_whatever_is_set_meanwhile,
}

async fn the_printed_step_speaks_of_this_amplifier(engine: Engine) -> WebDriverResult<()> {
    let browser = Browser::open(engine).await?;
    crate::job::begin(&browser, "Head").await?;
    crate::job::write(&browser, "output-valve", "EL34").await?;
    browser.living_page(POWER_UP).await?;
    let words = "document.querySelector('#step-1').insertAdjacentHTML('beforeend', '<p id=own><i data-of=valve>6L6GC</i>, pin <i data-of=\"pin grid\">5</i>, <i data-of=\"0.95 × job.bias-expected\">−43.7 V</i></p>')";
    browser.script(words).await?;
    browser.until("it can be run", "return !!document.querySelector('#page-run button')").await?;
    browser.script("document.querySelector('#page-run button').click()").await?;
    browser.until("it is offered", "return !!document.querySelector('[data-run=begin]')").await?;
    browser.script("document.querySelector('[data-run=begin]').click()").await?;
    let own = "return document.querySelector('#own').textContent";
    browser.until("it runs", "return document.documentElement.dataset.runScreen === 'step'").await?;
    assert_eq!(browser.script(own).await?, "EL34, pin 5, unknown");
    press(&browser, "[data-run=leave]").await?;
    assert_eq!(browser.script(own).await?, "6L6GC, pin 5, −43.7 V");
    Ok(())
}

async fn a_finger_that_is_down_comes_up_on_the_same_button_whatever_is_set_meanwhile(
    engine: Engine,
) -> WebDriverResult<()> {
    let browser = Browser::open(engine).await?;
    let tick = |id: &str| item("tick", id, &format!("text = \"{id}\"\ngate = \"hard\""));
    super::begin(&browser, vec![vec![tick("one"), tick("two"), tick("three")], vec![]]).await?;
    let two = browser.element("#run-panel [data-run=tick][data-about=two]").await?;
    browser.action_chain().move_to_element_center(&two).click_and_hold().perform().await?;
    // The step is set again: a box is ticked, which changes what the step waits for.
    press(&browser, "[data-run=tick][data-about=one]").await?;
    let ticked = "return [...document.querySelectorAll('#run-panel [data-run=tick]')].map((tick) => tick.ariaChecked).join()";
    browser.until("the first is ticked", &format!("{ticked} === 'true,false,false'")).await?;
    // Two presses of one finger are half a second apart.
    tokio::time::sleep(std::time::Duration::from_millis(600)).await;
    browser.action_chain().release().perform().await?;
    browser.until("the second is ticked too", &format!("{ticked} === 'true,true,false'")).await
}

// The sizes of screens are Chromium's.
#[tokio::test(flavor = "multi_thread")]
async fn enter_is_in_sight_for_every_reading_of_the_book() -> WebDriverResult<()> {
    // What is pressed is done in turn, after the script that presses it.
    const MEASURED: &str = "
        const until = async (found) => {
            for (let round = 0; round < 1000 && !found(); round += 1) await new Promise((done) => setTimeout(done, 5));
            return found();
        };
        return (async () => {
        const panel = document.querySelector('#run-panel');
        const bar = document.querySelector('.run-bar').getBoundingClientRect();
        const out = [];
        const inSight = (what, element) => {
            const { top, bottom, width } = element.getBoundingClientRect();
            if (!width || top < 0 || bottom > bar.top + 1) out.push(`${what}: ${Math.round(top)} to ${Math.round(bottom)}, the bar at ${Math.round(bar.top)}`);
        };
        inSight('the way on', panel.querySelector('[data-run=next], [data-run=finish]'));
        const ids = [...panel.querySelectorAll('[data-run=read]')].map((button) => button.dataset.about);
        for (const id of ids) {
            const read = await until(() => panel.querySelector(`[data-run=read][data-about='${id}']`));
            if (!read) return [0, [...out, `${id} is not offered: ${panel.innerText}`]];
            read.click();
            await until(() => panel.querySelector('[data-run=cancel]'));
            panel.querySelector('[data-run=is-off]')?.click();
            await until(() => !panel.querySelector('[data-run=is-off]'));
            const enter = panel.querySelector('[data-run=enter]');
            if (enter) {
                inSight(`${id}: Enter`, enter);
                inSight(`${id}: the input`, document.activeElement);
                const over = panel.querySelector('.keys').getBoundingClientRect().top;
                if (document.activeElement.getBoundingClientRect().bottom > over + 1) out.push(`${id}: the input lies under the pad`);
            } else for (const button of panel.querySelectorAll('[data-run=take]')) inSight(`${id}: by eye`, button);
            panel.querySelector('[data-run=cancel]').click();
        }
        return [ids.length, out];
        })();";
    let browser = Browser::open(Engine::Chromium).await?;
    crate::job::begin(&browser, "Fifty watts").await?;
    crate::job::write(&browser, "sockets", "4").await?;
    let mut seen = 0;
    for page in tests::site::pages().iter().filter(|page| !page.all("#page-run").is_empty()) {
        for size in [PHONE, TABLET] {
            browser.screen(size).await?;
            browser.page(&page.path).await?;
            browser.until("it can be run", "return !!document.querySelector('#page-run button')").await?;
            // All of its readings in one step, without a gate and without a time to wait for.
            let one_step = "
                const place = document.querySelector('#page-run');
                const procedure = JSON.parse(place.dataset.procedure);
                const items = procedure.steps.flatMap((step) => step.items).filter((item) => item.reading);
                for (const { reading } of items) { delete reading.gate; delete reading.after; delete reading.when; delete reading.purpose; }
                place.dataset.procedure = JSON.stringify({ ...procedure, steps: [{ id: 'step-1', items }] });
                place.querySelector('button').click();";
            browser.script(one_step).await?;
            browser.until("it is offered", "return !!document.querySelector('[data-run=begin]')").await?;
            browser.script("document.querySelector('[data-run=begin]').click()").await?;
            browser.until("it runs", "return document.documentElement.dataset.runScreen === 'step'").await?;
            let measured = browser.script(MEASURED).await?;
            assert_eq!(measured[1], Value::Array(vec![]), "{} at {size:?}", page.path);
            seen += measured[0].as_u64().unwrap_or(0);
            press(&browser, "[data-run=leave]").await?;
            let left = "return document.documentElement.dataset.runScreen === undefined";
            browser.until("it is left", left).await?;
            // What the next page reads is written behind it.
            tokio::time::sleep(std::time::Duration::from_millis(100)).await;
        }
    }
    assert!(seen > 200, "{seen} readings were looked at");
    Ok(())
}
