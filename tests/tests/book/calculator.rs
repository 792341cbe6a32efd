//! What a reader does with a calculator.

use serde_json::{Value, json};
use tests::browser::Browser;
use tests::engine::Engine;
use tests::site::page_with;
use thirtyfour::error::WebDriverResult;
use thirtyfour::{By, Key};

/// The calculator of these journeys, and its parts.
const CALCULATOR: &str = "#dissipation";
pub const VOLTAGE: &str = "#dissipation input[name='anode-voltage']";
const CURRENT: &str = "#dissipation input[name='cathode-current']";
pub const POWER: &str = "#dissipation [data-answer='anode-power'] dd";

async fn open(engine: Engine) -> WebDriverResult<Browser> {
    let browser = Browser::open(engine).await?;
    browser.living_page(&page_with("dissipation")).await?;
    Ok(browser)
}

tests::in_every_engine! {
    the_answer_follows_what_is_typed,
    a_verdict_turns_and_says_so_in_words,
    what_cannot_be_read_is_said_beside_its_field_and_the_last_answer_stays,
    an_offer_is_taken_with_one_tap,
    a_knob_is_slid_as_well_as_typed,
    what_was_typed_survives_a_reload_and_reset_takes_it_back,
    what_was_typed_wrongly_survives_a_reload_too,
    the_answer_copies_as_text,
    the_answer_is_said_politely_once_typing_pauses,
    a_keyboard_is_enough,
}

/// Replaces what is in a field, key by key as a reader does.
pub async fn type_into(browser: &Browser, field: &str, text: &str) -> WebDriverResult<()> {
    let field = browser.element(field).await?;
    field.send_keys(Key::Control + "a").await?;
    field.send_keys(text).await
}

/// An answer as it reads, its no-break spaces included.
pub async fn answer(browser: &Browser, selector: &str) -> WebDriverResult<String> {
    Ok(browser
        .script(&format!("return document.querySelector({selector:?}).innerText"))
        .await?
        .as_str()
        .unwrap_or_default()
        .to_owned())
}

/// Waits until the power is, or no longer is, this text.
pub async fn until_power(browser: &Browser, is: bool, text: &str) -> WebDriverResult<()> {
    let operator = if is { "===" } else { "!==" };
    let script = format!("return document.querySelector({POWER:?}).innerText {operator} {}", json!(text));
    browser.until(&format!("the power {operator} `{text}`"), &script).await
}

async fn count(browser: &Browser, selector: &str) -> WebDriverResult<usize> {
    Ok(browser.find_all(By::Css(selector)).await?.len())
}

async fn the_answer_follows_what_is_typed(engine: Engine) -> WebDriverResult<()> {
    let browser = open(engine).await?;
    let example = answer(&browser, POWER).await?;
    type_into(&browser, VOLTAGE, "219").await?;
    until_power(&browser, false, &example).await?;
    let halved = answer(&browser, POWER).await?;
    // The same reading in other words, as people type it.
    for same in ["438", "438 V", "438VDC", "0.438k", "438.0"] {
        type_into(&browser, VOLTAGE, "219").await?;
        until_power(&browser, true, &halved).await?;
        type_into(&browser, VOLTAGE, same).await?;
        until_power(&browser, true, &example).await?;
    }
    Ok(())
}

async fn a_verdict_turns_and_says_so_in_words(engine: Engine) -> WebDriverResult<()> {
    let browser = open(engine).await?;
    let verdicts = format!("{CALCULATOR} .verdicts [data-standing]");
    let before = answer(&browser, &verdicts).await?;
    type_into(&browser, CURRENT, "95").await?;
    browser
        .until(
            "a verdict is beyond",
            &format!("return !!document.querySelector('{CALCULATOR} .verdicts [data-standing=beyond]')"),
        )
        .await?;
    let beyond = answer(&browser, &format!("{CALCULATOR} .verdicts [data-standing=beyond]")).await?;
    assert!(beyond.len() > 10 && beyond != before, "the verdict reads `{beyond}`");
    Ok(())
}

async fn what_cannot_be_read_is_said_beside_its_field_and_the_last_answer_stays(
    engine: Engine,
) -> WebDriverResult<()> {
    let browser = open(engine).await?;
    let good = answer(&browser, POWER).await?;
    type_into(&browser, VOLTAGE, "z438").await?;
    let about_field = format!(
        "const field = document.querySelector({VOLTAGE:?});
         const said = (field.getAttribute('aria-describedby') ?? '').split(' ').map(id => document.getElementById(id));
         const problem = said.find(element => element?.closest('.problem'));"
    );
    browser
        .until(
            "the problem stands beside its field",
            &format!("{about_field} return !!problem?.innerText && problem.checkVisibility() && field.ariaInvalid === 'true'"),
        )
        .await?;
    assert_eq!(answer(&browser, POWER).await?, good, "the last good answer stays");
    let stale = format!("return !!document.querySelector({POWER:?}).closest('.stale')");
    browser.until("the last good answer is marked as old", &stale).await?;
    // Marked in words, not by colour alone.
    let words = browser.element(&format!("{CALCULATOR} .stale")).await?.text().await?.to_lowercase();
    assert!(
        ["last", "old", "earlier", "previous"].iter().any(|word| words.contains(word)),
        "`{words}` does not say it is old"
    );

    type_into(&browser, VOLTAGE, "438").await?;
    browser
        .until(
            "all is well again",
            &format!(
                "{about_field} return !problem?.innerText && !document.querySelector('{CALCULATOR} .stale')"
            ),
        )
        .await?;
    assert_eq!(answer(&browser, POWER).await?, good);
    Ok(())
}

async fn an_offer_is_taken_with_one_tap(engine: Engine) -> WebDriverResult<()> {
    let browser = open(engine).await?;
    // A bare 0.038 in a field of milliamperes is asked back: 38 mA?
    type_into(&browser, CURRENT, "0.038").await?;
    let offer = format!("{CALCULATOR} .problem [data-offer]");
    browser.until("an offer is made", &format!("return !!document.querySelector({offer:?})")).await?;
    let offer = browser.awaited(&offer).await?;
    let offered = offer.attr("data-offer").await?.unwrap_or_default();
    offer.click().await?;
    let field = browser.element(CURRENT).await?;
    assert_eq!(field.value().await?, Some(offered.clone()));
    assert!(offered.starts_with("38"), "offered `{offered}`");
    browser
        .until(
            "the problem goes",
            &format!(
                "return !document.querySelector('{CALCULATOR} .problem [data-offer], {CALCULATOR} .stale')"
            ),
        )
        .await?;
    // The focus must not fall to the top of the page with the button that is gone.
    let focus = browser.script("return document.activeElement.closest('[data-calculator]') !== null").await?;
    assert_eq!(focus, Value::Bool(true), "the focus stays in the calculator");
    Ok(())
}

async fn a_knob_is_slid_as_well_as_typed(engine: Engine) -> WebDriverResult<()> {
    const KNOB: &str = "[data-calculator=taper] input[name='knob']";
    let browser = Browser::open(engine).await?;
    browser.living_page(&page_with("taper")).await?;
    let slide = browser.element("[data-calculator=taper] input[type='range']").await?;
    let stands = |text: &str| format!("return document.querySelector({KNOB:?}).value === {text:?}");
    let before = answer(&browser, "[data-calculator=taper] .summary").await?;
    slide.send_keys(Key::Right + "").await?;
    browser.until("the field follows the slide", &stands("5.1")).await?;
    assert_ne!(answer(&browser, "[data-calculator=taper] .summary").await?, before);
    // And the slide follows the field, as far as that can be read.
    for (text, at) in [("8", "8"), ("eight", "8"), ("2,5", "2.5")] {
        type_into(&browser, KNOB, text).await?;
        browser.until("the field is typed into", &stands(text)).await?;
        assert_eq!(slide.value().await?.as_deref(), Some(at), "after “{text}”");
    }
    Ok(())
}

async fn what_was_typed_survives_a_reload_and_reset_takes_it_back(engine: Engine) -> WebDriverResult<()> {
    let browser = open(engine).await?;
    let example = answer(&browser, POWER).await?;
    type_into(&browser, VOLTAGE, "301").await?;
    until_power(&browser, false, &example).await?;
    let mine = answer(&browser, POWER).await?;

    browser.refresh().await?;
    until_power(&browser, true, &mine).await?;
    assert_eq!(browser.element(VOLTAGE).await?.value().await?.as_deref(), Some("301"));

    browser.element(&format!("{CALCULATOR} [data-act=reset]")).await?.click().await?;
    until_power(&browser, true, &example).await?;
    browser.living_page(&page_with("dissipation")).await?;
    assert_eq!(answer(&browser, POWER).await?, example, "a reset is for good");
    assert!(browser.complaints().await?.is_empty());
    Ok(())
}

async fn what_was_typed_wrongly_survives_a_reload_too(engine: Engine) -> WebDriverResult<()> {
    let browser = open(engine).await?;
    type_into(&browser, VOLTAGE, "z438").await?;
    browser
        .until(
            "the problem shows",
            &format!("return !!document.querySelector('{CALCULATOR} .problem:not(:empty)')"),
        )
        .await?;
    browser.refresh().await?;
    browser
        .until("the problem is back", &format!("return document.querySelector({VOLTAGE:?}).value === 'z438' && !!document.querySelector('{CALCULATOR} .problem:not(:empty)')"))
        .await?;
    assert!(browser.complaints().await?.is_empty());
    Ok(())
}

async fn the_answer_copies_as_text(engine: Engine) -> WebDriverResult<()> {
    let browser = open(engine).await?;
    type_into(&browser, VOLTAGE, "301").await?;
    browser.element(&format!("{CALCULATOR} details.link > summary")).await?.click().await?;
    browser.element(&format!("{CALCULATOR} [data-act=copy]")).await?.click().await?;
    let says = format!("return document.querySelector('{CALCULATOR} .said').innerText === 'Copied.'");
    browser.until("it says so", &says).await?;
    // Put in elsewhere by key, as a reader does: no engine asks for leave then.
    let paper = "document.querySelector('main').append(Object.assign(document.createElement('textarea'), { id: 'paper' }))";
    browser.script(paper).await?;
    let paper = browser.element("#paper").await?;
    paper.send_keys(Key::Control + "v").await?;
    let copied = paper.value().await?.unwrap_or_default();
    let power = answer(&browser, POWER).await?;
    let number: String = power
        .chars()
        .skip_while(|c| !c.is_ascii_digit())
        .take_while(|c| c.is_ascii_digit() || *c == '.')
        .collect();
    assert!(copied.contains("301") && copied.contains(&number), "`{power}` was copied as `{copied}`");
    Ok(())
}

async fn the_answer_is_said_politely_once_typing_pauses(engine: Engine) -> WebDriverResult<()> {
    let browser = open(engine).await?;
    let regions = count(&browser, ".calculator [aria-live=polite]").await?;
    assert_eq!(regions, count(&browser, ".calculator").await?, "one polite voice each");
    browser
        .script(&format!(
            "window.said = [];
             const live = document.querySelector('{CALCULATOR} [aria-live=polite]');
             new MutationObserver(() => said.push(live.textContent)).observe(live, {{ childList: true, characterData: true, subtree: true }});"
        ))
        .await?;
    type_into(&browser, VOLTAGE, "3").await?;
    for key in ["0", "1"] {
        browser.element(VOLTAGE).await?.send_keys(key).await?;
    }
    browser.until("the answer is said", "return said.filter(text => /\\d/.test(text)).length > 0").await?;
    let said: Vec<String> =
        serde_json::from_value(browser.script("return said.filter(text => text.trim())").await?)?;
    assert_eq!(said.len(), 1, "said once, not at every key: {said:?}");
    Ok(())
}

async fn a_keyboard_is_enough(engine: Engine) -> WebDriverResult<()> {
    let browser = open(engine).await?;
    // The first thing a keyboard reaches leads past the contents.
    press(&browser, Key::Tab + "").await?;
    let skip = "return document.activeElement.matches('a[href^=\"#\"]') && document.activeElement.getBoundingClientRect().height > 0";
    browser.until("the first stop is a skip link, and it shows", skip).await?;
    press(&browser, Key::Enter + "").await?;
    browser.until("the skip link leads to the text", "return location.hash !== '' && !!document.querySelector('main ' + location.hash + ', main' + location.hash)").await?;

    // On to the field, never caught anywhere, always showing where one is.
    let example = answer(&browser, POWER).await?;
    let at_field = format!("return document.activeElement === document.querySelector({VOLTAGE:?})");
    let mut steps = 0;
    while browser.script(&at_field).await? != Value::Bool(true) {
        press(&browser, Key::Tab + "").await?;
        // WebKit shows no focus in a window that another journey's has taken the keyboard from.
        let seen = "const s = getComputedStyle(document.activeElement); return !document.hasFocus() || (s.outlineStyle !== 'none' && parseFloat(s.outlineWidth) >= 2)";
        let here = browser.script("return document.activeElement.outerHTML.slice(0, 100)").await?;
        // WebKit may take up the focus before it shows it.
        browser.until(&format!("the focus shows: {here}"), seen).await?;
        steps += 1;
        assert!(steps < 200, "the field is never reached");
    }
    // Tab selects what is in a field; typing replaces it.
    press(&browser, "301").await?;
    press(&browser, Key::Tab + "").await?;
    until_power(&browser, false, &example).await?;
    assert_ne!(browser.script(&at_field).await?, Value::Bool(true), "Tab leads on");

    // Folded parts open, and buttons act, by key.
    browser.element(&format!("{CALCULATOR} details.working > summary")).await?.focus().await?;
    press(&browser, Key::Enter + "").await?;
    browser.awaited(&format!("{CALCULATOR} details.working[open]")).await?;
    browser.element(&format!("{CALCULATOR} [data-act=reset]")).await?.focus().await?;
    press(&browser, Key::Space + "").await?;
    until_power(&browser, true, &example).await
}

/// Presses keys wherever the focus is.
async fn press(browser: &Browser, keys: impl Into<thirtyfour::TypingData>) -> WebDriverResult<()> {
    browser.action_chain().send_keys(keys).perform().await
}

/// Before a file is handed over: keeps its text, and hands nothing over.
const KEEP_FILES: &str = "
    window.saved = {};
    URL.createObjectURL = (blob) => { blob.text().then((text) => { saved[blob.type] = text; }); return '#saved'; };
    addEventListener('click', (event) => { if (event.target.closest('a[download]')) event.preventDefault(); }, true);";

#[tokio::test(flavor = "multi_thread")]
async fn drawings_netlists_and_points_are_saved_as_what_they_are() -> WebDriverResult<()> {
    let browser = Browser::open(Engine::Chromium).await?;
    browser.living_page(&page_with("master-volume")).await?;
    browser.script(KEEP_FILES).await?;
    browser.script("document.querySelectorAll('[data-calculator=master-volume] details').forEach(details => details.open = true)").await?;
    browser
        .until("every button is there", "return document.querySelectorAll('[data-act=save]').length >= 4")
        .await?;
    // A name that HTML has and XML has not made it a file that no program opened.
    let unlike = "return [...document.querySelectorAll('[data-calculator=master-volume] .export svg')].some((drawing) => drawing.outerHTML.includes('&nbsp;'))";
    assert_eq!(browser.script(unlike).await?, true, "the drawing's HTML is no XML");
    for (end, holds) in [("svg", "<svg"), ("cir", ".end"), ("csv", ",")] {
        let press = format!(
            "saved = {{}}; document.querySelector('[data-calculator=master-volume] [data-act=save][data-file$=\".{end}\"]').click()"
        );
        browser.script(&press).await?;
        browser
            .until(&format!("the .{end} file is handed over"), "return Object.keys(saved).length === 1")
            .await?;
        let text = browser.script("return Object.values(saved)[0]").await?;
        let text = text.as_str().unwrap_or_default();
        assert!(text.contains(holds) && text.len() > 100, ".{end} is `{}`", &text[..text.len().min(80)]);
        assert_eq!(text.contains("<svg"), end == "svg", ".{end}");
        if end == "svg" {
            let drawing = roxmltree::Document::parse(text).expect("XML");
            assert!(drawing.root_element().has_tag_name(("http://www.w3.org/2000/svg", "svg")));
        }
    }
    Ok(())
}
