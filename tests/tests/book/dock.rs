//! The answer stays in sight while a field is edited.

use serde_json::Value;
use tests::browser::{Browser, PHONE, TABLET};
use tests::engine::Engine;
use thirtyfour::error::WebDriverResult;

tests::in_every_engine! { the_answer_is_reached_by_keyboard }

/// A phone with its keyboard up.
const PHONE_TYPING: (u32, u32) = (390, 500);

/// Each field is focused as a tap does; then it and the dock must lie wholly in sight, one above the other. Fields that are
/// folded up are not there to tap.
const MEASURED: &str = "
    const out = [];
    let seen = 0;
    for (const folded of document.querySelectorAll('details:is(.more, .wanted)')) folded.open = true;
    for (const calculator of document.querySelectorAll('.calculator')) {
        const dock = calculator.querySelector('.dock');
        for (const field of calculator.querySelectorAll('.field :is(input:not(.slide), select)')) {
            document.activeElement.blur();
            scrollTo(0, 0);
            field.focus();
            field.scrollIntoView({ block: 'nearest' });
            const at = field.getBoundingClientRect();
            if (!at.width) continue;
            seen += 1;
            const { top, bottom } = dock.getBoundingClientRect();
            const all = `${field.id} at ${Math.round(at.top)} to ${Math.round(at.bottom)}, the dock at ${Math.round(top)} to ${Math.round(bottom)}`;
            if (at.top < 0 || at.bottom > top + 1 || bottom > innerHeight + 1) out.push(all);
            const found = dock.querySelector('.found').getBoundingClientRect().height;
            if (innerHeight < 540 && found > 84) out.push(`${field.id}: the answer in the dock is ${Math.round(found)} high`);
            for (const words of dock.querySelectorAll('.headline, .headline > *')) {
                if (words.getBoundingClientRect().right > innerWidth || getComputedStyle(words).overflow === 'hidden') out.push(`${calculator.id}: “${words.textContent}” is cut`);
            }
            for (const words of dock.querySelectorAll('strong, .name')) {
                const { left, right } = words.getBoundingClientRect();
                if (left < 0 || right > innerWidth) out.push(`${calculator.id}: “${words.textContent}” ends at ${Math.round(right)}`);
            }
        }
    }
    return [seen, [...new Set(out)]];";

// The sizes of screens are Chromium's.
#[tokio::test(flavor = "multi_thread")]
async fn headline_and_worst_verdict_are_in_sight_with_every_field() -> WebDriverResult<()> {
    let browser = Browser::open(Engine::Chromium).await?;
    let mut seen = 0;
    let mut faults = vec![];
    for page in tests::site::pages().iter().filter(|page| !page.all(".calculator").is_empty()) {
        browser.living_page(&page.path).await?;
        for size in [TABLET, PHONE, PHONE_TYPING] {
            browser.screen(size).await?;
            let measured = browser.script(MEASURED).await?;
            seen += measured[0].as_u64().unwrap_or(0);
            let here = measured[1].as_array().into_iter().flatten();
            faults.extend(
                here.map(|fault| {
                    format!("{} at {size:?}: {}", page.path, fault.as_str().unwrap_or_default())
                }),
            );
        }
    }
    assert!(faults.is_empty(), "\n{}", faults.join("\n"));
    assert!(seen > 500, "{seen} fields were looked at");
    Ok(())
}

#[tokio::test(flavor = "multi_thread")]
async fn the_dock_follows_what_is_typed_and_leads_to_the_answer() -> WebDriverResult<()> {
    let browser = Browser::open(Engine::Chromium).await?;
    browser.living_page("output-stage/dissipation.html").await?;
    let dock = "return document.querySelector('#dissipation .dock').innerText";
    let before = browser.script(dock).await?;
    crate::calculator::type_into(&browser, "#dissipation-cathode-current", "95").await?;
    let beyond = "return !!document.querySelector('#dissipation .dock [data-worst=beyond]')";
    browser.until("the dock says beyond", beyond).await?;
    assert_ne!(browser.script(dock).await?, before);
    browser.element("#dissipation .dock a").await?.click().await?;
    let there = "const { top } = document.querySelector('#dissipation-the-answer').getBoundingClientRect(); return top >= 0 && top < innerHeight";
    browser.until("the answer is in sight", there).await?;
    assert_eq!(
        browser.script("return document.querySelector('#dissipation-cathode-current').value").await?,
        Value::from("95")
    );
    Ok(())
}

/// What is turned is next to what it turns: from the slider to the figure, in pixels.
#[tokio::test(flavor = "multi_thread")]
async fn the_slider_stands_beside_its_figure() -> WebDriverResult<()> {
    let browser = Browser::open(Engine::Chromium).await?;
    let apart = "
        const dock = document.querySelector('.calculator:has(.slide) .dock');
        const middle = (element) => { const at = element.getBoundingClientRect(); return (at.top + at.bottom) / 2; };
        return Math.abs(middle(dock.querySelector('.slide')) - middle(dock.querySelector('.headline strong')));";
    for calculator in ["taper", "lead-order", "master-volume"] {
        browser.living_page(&tests::site::page_with(calculator)).await?;
        for size in [TABLET, PHONE] {
            browser.screen(size).await?;
            let apart = browser.script(apart).await?.as_f64().unwrap_or(f64::NAN);
            assert!((1.0..=250.0).contains(&apart), "{calculator} at {size:?}: {apart} pixels apart");
        }
    }
    Ok(())
}

/// With its tables closed the longest calculator is no longer than it was measured to be; the design asks for 4,000 pixels.
#[tokio::test(flavor = "multi_thread")]
async fn the_longest_calculator_is_no_longer_than_it_was() -> WebDriverResult<()> {
    let browser = Browser::open(Engine::Chromium).await?;
    browser.screen(TABLET).await?;
    browser.living_page(&tests::site::page_with("master-volume")).await?;
    let height =
        "return document.querySelector('[data-calculator=master-volume]').getBoundingClientRect().height";
    let height = browser.script(height).await?.as_f64().unwrap_or(f64::NAN);
    assert!((1000.0..=5050.0).contains(&height), "{height} pixels");
    Ok(())
}

/// Three tabs behind the link to the answer stands something of the answer.
async fn the_answer_is_reached_by_keyboard(engine: Engine) -> WebDriverResult<()> {
    let browser = Browser::open(engine).await?;
    browser.living_page("output-stage/dissipation.html").await?;
    let key = async |key: thirtyfour::Key| browser.action_chain().send_keys(key + "").perform().await;
    browser.script("document.querySelector('#dissipation .skip').focus()").await?;
    key(thirtyfour::Key::Enter).await?;
    browser.until("the answer is led to", "return location.hash === '#dissipation-the-answer'").await?;
    let mut tabs = 0;
    while browser.script("return !!document.activeElement.closest('#dissipation .answer')").await?
        != Value::Bool(true)
    {
        key(thirtyfour::Key::Tab).await?;
        tabs += 1;
        assert!(tabs <= 3, "the answer is further than three tabs");
    }
    Ok(())
}

/// "Two EL34 at 440 V: what may they idle at?", from the cover, by what a finger taps.
#[tokio::test(flavor = "multi_thread")]
async fn what_two_valves_may_idle_at_is_five_taps_from_the_cover() -> WebDriverResult<()> {
    let browser = Browser::open(Engine::Chromium).await?;
    browser.screen(TABLET).await?;
    browser.page("index.html").await?;
    browser.element("main a[href$='find/calculators.html']").await?.click().await?;
    browser.awaited("main a[href*='dissipation']").await?.click().await?;
    let alive = "return !!document.querySelector('#what-may-it-be[data-alive]')";
    browser.until("the calculator is alive", alive).await?;
    // The list of valves opens with one tap and takes one with another; a driver cannot tap in the browser's own list.
    browser
        .script(
            "const list = document.querySelector('#what-may-it-be [name=valve]');
             list.value = 'EL34';
             list.dispatchEvent(new Event('input', { bubbles: true }));",
        )
        .await?;
    crate::calculator::type_into(&browser, "#what-may-it-be [name='anode-voltage']", "440").await?;
    // 70 % of 25 W at 440 V in the anode, and a twentieth of the whole in the screen: the outside check's 41.87 mA.
    let answered = "return document.querySelector('#what-may-it-be .dock .headline strong').innerText.startsWith('41.9')";
    browser.until("the dock answers", answered).await
}
