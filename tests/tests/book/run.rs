//! A procedure is run: readings stop it, gates hold, it goes on where one stopped, with the server gone.

use serde_json::Value;
use tests::browser::Browser;
use tests::edition::Edition;
use tests::engine::Engine;
use tests::server::Server;
use thirtyfour::Key;
use thirtyfour::error::WebDriverResult;

use crate::job::{begin, write};
use crate::offline::until_kept;

const POWER_UP: &str = "first-power-up/staged-power-up.html";

tests::in_every_engine! {
    a_reading_out_of_range_stops_and_only_one_in_range_opens_the_next_step,
}

/// What the survey found of a head of 50 W with two EL34. Common practice, no source.
const KNOWN: [(&str, &str); 9] = [
    ("mains-marked", "230 V"),
    ("bias-expected", "-37 V"),
    ("idle-stop", "52 mA"),
    ("idle-expected", "38 mA"),
    ("load", "16"),
    ("rated-power", "50"),
    ("idle-watts", "90"),
    ("lamp-power", "100"),
    ("lamp-voltage", "230"),
];

/// What its meters show on the way up, by the beginning of a reading's id; the longest that fits counts. Common practice,
/// no source.
const SHOWS: [(&str, &str); 28] = [
    ("earth", "0.06"),
    ("insulation", "60"),
    ("meter-", "9.2"),
    ("load-rating", "150"),
    ("load-legs", "0.2"),
    ("lamp-earth", "0.05"),
    ("lamp-live", "35"),
    ("lamp-neutral", "0.2"),
    ("output-open", "1.05"),
    ("output-connected", "0.52"),
    ("anodes", "440"),
    ("a-mains-in", "203"),
    ("a-mains", "222"),
    ("mains", "229"),
    ("a-heaters", "6.2"),
    ("heaters", "6.3"),
    ("a-bias-out", "-35.5"),
    ("a-bias-in", "-32.4"),
    ("full-a-bias", "-37"),
    ("load", "14.1"),
    ("ht-lamp-cathodes", "21"),
    ("off-on", "22"),
    ("idle-watts", "92"),
    ("idle", "38"),
    ("knob", "38"),
    ("warm", "38"),
    ("soak", "38"),
    ("drive", "28"),
];

/// What the run waits for: `[what, the element to press, the reading's id]`.
const WANTED: &str = "
    const panel = document.querySelector('#run-panel');
    const one = (selector) => panel.querySelector(selector);
    if (!document.documentElement.hasAttribute('data-working')) return ['over', '', ''];
    if (one('.stop[role=alert]')) return ['stopped', '', panel.innerText];
    if (one('[data-run=is-off]')) return ['press', '[data-run=is-off]', ''];
    if (one('#run-typed')) return ['type', '', one('#run-typed').dataset.item];
    if (one('[data-about=\"as expected\"]')) return ['press', '[data-about=\"as expected\"]', ''];
    const named = (button) => `[data-run=${button.dataset.run}][data-about=\"${button.dataset.about}\"]`;
    const unread = [...panel.querySelectorAll('[data-run=read]')].find((button) => !button.previousElementSibling?.matches('.taken'));
    if (unread) return ['press', named(unread), ''];
    const undone = one('[role=checkbox][aria-checked=false]');
    if (undone) return ['press', named(undone), ''];
    if (one('[role=radio]') && !one('[role=radio][aria-checked=true]')) return ['press', named(one('[role=radio]')), ''];
    if (one('[data-run=next]:not([disabled])')) return ['press', '[data-run=next]', ''];
    if (one('[data-run=finish]')) return ['press', '[data-run=finish]', ''];
    return ['stuck', '', panel.innerText];";

/// How a button is pressed.
#[derive(Clone, Copy, PartialEq)]
enum By {
    Keys,
    Touch,
}

async fn press(browser: &Browser, selector: &str, by: By) -> WebDriverResult<()> {
    let selector = format!("#run-panel {selector}, #page-run {selector}");
    browser.until(&selector, &format!("return !!document.querySelector({selector:?})")).await?;
    let button = browser.element(&selector).await?;
    match by {
        By::Keys => {
            button.focus().await?;
            button.send_keys(Key::Enter + "").await
        }
        By::Touch => {
            // A driver clicks what lies under the fixed bar without scrolling it free, as a thumb would.
            let free = format!("document.querySelector({selector:?}).scrollIntoView({{ block: 'center' }})");
            browser.script(&free).await?;
            button.click().await
        }
    }
}

/// What a reading shows. What is left after discharging is half a volt.
fn shown(id: &str) -> &'static str {
    if id.split('-').any(|word| word == "left") {
        return "0.5";
    }
    let fits = SHOWS.iter().filter(|(start, _)| id.starts_with(start));
    fits.max_by_key(|(start, _)| start.len()).map_or("0.5", |(_, text)| text)
}

async fn type_reading(browser: &Browser, text: &str, by: By) -> WebDriverResult<()> {
    browser.until("the pad", "return !!document.querySelector('#run-typed')").await?;
    match by {
        By::Keys => browser.action_chain().send_keys(text).send_keys(Key::Enter + "").perform().await,
        By::Touch => {
            for key in text.chars() {
                let key = if key == '-' { '−' } else { key };
                press(browser, &format!("[data-run=key][data-about=\"{key}\"]"), by).await?;
            }
            press(browser, "[data-run=enter]", by).await
        }
    }
}

/// From the first step to the last, with the server gone from the first step on; gives the number of steps.
async fn whole_power_up(by: By) -> WebDriverResult<usize> {
    let edition = Edition::built();
    let server = Server::start(edition.folder(), "/");
    let browser = Browser::open_at(Engine::Chromium, server.book.clone()).await?;
    begin(&browser, "Fifty watts").await?;
    for (field, text) in KNOWN {
        write(&browser, field, text).await?;
    }
    until_kept(&browser, &edition).await?;
    drop(server);
    start(&browser, by).await?;
    let mut steps = 0;
    for _ in 0..600 {
        let wanted: Vec<String> = serde_json::from_value(browser.script(WANTED).await?)?;
        match wanted[0].as_str() {
            "over" => return Ok(steps),
            "type" => type_reading(&browser, shown(&wanted[2]), by).await?,
            "press" => {
                steps += usize::from(wanted[1].contains("next") || wanted[1].contains("finish"));
                press(&browser, &wanted[1], by).await?;
            }
            _ => panic!("after {steps} steps {}: {}", wanted[0], wanted[2]),
        }
        settled(&browser).await?;
    }
    panic!("the run has no end");
}

/// A deed is done when it is on disk and the screen is set: both follow within a few turns of the page's own clock.
async fn settled(browser: &Browser) -> WebDriverResult<()> {
    tokio::time::sleep(std::time::Duration::from_millis(60)).await;
    browser.script("return true").await.map(drop)
}

async fn start(browser: &Browser, by: By) -> WebDriverResult<()> {
    browser.page(POWER_UP).await?;
    press(browser, "button", by).await?;
    browser.until("the run is offered", "return !!document.querySelector('[data-run=begin]')").await?;
    press(browser, "[data-run=begin]", by).await?;
    browser.until("it has begun", "return document.documentElement.hasAttribute('data-working')").await
}

// The whole of it takes as long as everything else here together: in one engine, the parts in all three.
#[tokio::test(flavor = "multi_thread")]
async fn a_whole_power_up_by_keys_with_the_server_gone() -> WebDriverResult<()> {
    assert!(whole_power_up(By::Keys).await? > 30);
    Ok(())
}

#[tokio::test(flavor = "multi_thread")]
async fn a_whole_power_up_by_touch_with_the_server_gone() -> WebDriverResult<()> {
    assert!(whole_power_up(By::Touch).await? > 30);
    Ok(())
}

async fn a_reading_out_of_range_stops_and_only_one_in_range_opens_the_next_step(
    engine: Engine,
) -> WebDriverResult<()> {
    let browser = Browser::open(engine).await?;
    begin(&browser, "Head").await?;
    start(&browser, By::Touch).await?;
    let on = "return !document.querySelector('[data-run=next]')?.disabled";
    assert_eq!(browser.script(on).await?, Value::Bool(false), "nothing is read yet");
    press(&browser, "[data-run=read]", By::Touch).await?;
    type_reading(&browser, "0.3", By::Keys).await?;
    browser.until("STOP", "return !!document.querySelector('#run-panel .stop[role=alert]')").await?;
    press(&browser, "[data-run=cancel]", By::Touch).await?;
    browser.until("the step again", "return !!document.querySelector('[data-run=next]')").await?;
    assert_eq!(browser.script(on).await?, Value::Bool(false), "out of range");
    press(&browser, "[data-run=read]", By::Touch).await?;
    type_reading(&browser, "0.06", By::Keys).await?;
    browser.until("the way is open", &format!("{on} === true")).await?;
    press(&browser, "[data-run=next]", By::Touch).await?;
    let second = "return document.querySelector('[data-now]')?.id === 'step-2'";
    browser.until("the second step", second).await?;
    browser.refresh().await?;
    browser.until("it goes on where one stopped", second).await?;
    let complaints = browser.complaints().await?;
    assert!(complaints.is_empty(), "{complaints:?}");
    Ok(())
}
