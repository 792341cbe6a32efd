//! Pages come alive wherever they stand, quietly, and one calculator's fault stays its own.

use serde_json::json;
use tests::browser::Browser;
use tests::engine::Engine;
use tests::site::{Page, given, page_with, pages_of_each_kind};
use thirtyfour::By;
use thirtyfour::error::WebDriverResult;

use crate::calculator::{POWER, VOLTAGE, answer, type_into, until_power};

tests::in_every_engine! {
    pages_come_alive_under_a_sub_path,
    what_is_not_there_gets_the_books_own_page,
    a_calculator_that_stops_says_so_once,
}

/// What a page refers to is looked at for every page elsewhere (`site.rs`).
async fn pages_come_alive_under_a_sub_path(engine: Engine) -> WebDriverResult<()> {
    let pages = pages_of_each_kind();
    assert!(pages.iter().any(Page::calculates), "no page calculates");
    let browser = Browser::open_at(engine, given("BOOK_SUB_URL")).await?;
    for page in pages {
        browser.living_page(&page.path).await?;
        let complaints = browser.complaints().await?;
        assert!(complaints.is_empty(), "{}:\n{}", page.path, complaints.join("\n"));
    }
    Ok(())
}

async fn what_is_not_there_gets_the_books_own_page(engine: Engine) -> WebDriverResult<()> {
    let browser = Browser::open(engine).await?;
    browser.page("nowhere.html").await?;
    let heading = browser.element("main h1").await?;
    assert!(!heading.text().await?.is_empty());
    Ok(())
}

// Scripts are turned off by Chromium's debugging protocol.
#[tokio::test(flavor = "multi_thread")]
async fn without_scripts_the_worked_example_can_be_read() -> WebDriverResult<()> {
    let browser = Browser::open(Engine::Chromium).await?;
    browser.debug("Emulation.setScriptExecutionDisabled", json!({ "value": true })).await?;
    browser.page(&page_with("dissipation")).await?;
    let calculator = browser.element("#dissipation").await?;
    assert_eq!(calculator.attr("data-alive").await?, None, "scripts are not off");
    assert!(answer(&browser, POWER).await?.contains(char::is_numeric));
    Ok(())
}

/// Before the page's own scripts run: puts a copy of the first calculator before it, with its inside taken out, which no
/// view can take over.
const BREAK_ONE: &str = "
    document.addEventListener('readystatechange', () => {
        if (document.readyState !== 'interactive') return;
        const whole = document.querySelector('[data-calculator]');
        const broken = whole.cloneNode(false);
        broken.id = 'broken';
        whole.before(broken);
    });";

// Breaks the page before its scripts run, by Chromium's debugging protocol.
#[tokio::test(flavor = "multi_thread")]
async fn a_calculator_that_does_not_start_leaves_the_others_alive() -> WebDriverResult<()> {
    let browser = Browser::open(Engine::Chromium).await?;
    browser.before_pages(BREAK_ONE).await?;
    browser.page(&page_with("dissipation")).await?;
    browser
        .until(
            "the broken calculator says that it did not start",
            "return !!document.querySelector('.stopped[role=status] + #broken')
                 && document.querySelector('.stopped').textContent.includes('did not start')",
        )
        .await?;
    browser
        .until(
            "the others come alive",
            "return !document.querySelector('[data-calculator]:not([data-alive], #broken)')",
        )
        .await?;
    let before = answer(&browser, POWER).await?;
    type_into(&browser, VOLTAGE, "300").await?;
    until_power(&browser, false, &before).await?;
    let complaints = browser.find_all(By::Css(".stopped:has(+ [data-calculator])")).await?;
    assert_eq!(complaints.len(), 1, "only the broken one complains");
    Ok(())
}

async fn a_calculator_that_stops_says_so_once(engine: Engine) -> WebDriverResult<()> {
    let browser = Browser::open(engine).await?;
    browser.living_page(&page_with("dissipation")).await?;
    browser.element(VOLTAGE).await?.focus().await?;
    browser
        .script(
            // Firefox runs a driver's scripts beside the page, with a WebAssembly of their own: the page's is the window's.
            "const say = (error) => dispatchEvent(new ErrorEvent('error', { error }));
             const trap = () => say(new window.WebAssembly.RuntimeError('unreachable'));
             say(new window.TypeError('not ours'));
             if (document.querySelector('.stopped')) throw 'only a trap stops a calculator';
             trap(); trap();
             console.error('amiss');",
        )
        .await?;
    let messages = browser.find_all(By::Css(".stopped[role=status]")).await?;
    assert_eq!(messages.len(), 1);
    assert!(messages[0].text().await?.contains("has stopped"));
    // And what the other journeys rely on: a complaint, of the console or of the page, is heard.
    let heard = browser.complaints().await?;
    assert!(heard.iter().any(|said| said.contains("amiss") || said.contains("has stopped")), "{heard:?}");
    Ok(())
}

// What is fetched is held back by Chromium's debugging protocol.
#[tokio::test(flavor = "multi_thread")]
async fn webassembly_that_does_not_arrive_is_said_at_every_calculator() -> WebDriverResult<()> {
    let browser = Browser::open(Engine::Chromium).await?;
    browser.debug("Network.enable", json!({})).await?;
    browser.debug("Network.setBlockedURLs", json!({ "urls": ["*.wasm"] })).await?;
    browser.page(&page_with("dissipation")).await?;
    browser
        .until(
            "every calculator says that it did not start",
            "const calculators = [...document.querySelectorAll('[data-calculator]')];
             return calculators.every(c => c.previousElementSibling?.matches('.stopped[role=status]'))",
        )
        .await?;
    assert!(answer(&browser, POWER).await?.contains(char::is_numeric), "the printed example still stands");
    assert!(browser.find_all(By::Css(".waking")).await?.is_empty(), "what will not wake is not waking");
    Ok(())
}

/// WebAssembly that arrives when the page is told so.
const HOLD: &str = "
    const compile = WebAssembly.instantiateStreaming;
    WebAssembly.instantiateStreaming = (...given) =>
        new Promise((go) => { window.goOn = go; }).then(() => compile(...given));";

// Holds the page's WebAssembly back before its scripts run, by Chromium's debugging protocol.
#[tokio::test(flavor = "multi_thread")]
async fn a_page_whose_webassembly_is_on_its_way_is_readable_and_says_so() -> WebDriverResult<()> {
    let browser = Browser::open(Engine::Chromium).await?;
    browser.before_pages(HOLD).await?;
    browser.page(&page_with("dissipation")).await?;
    browser
        .until(
            "every calculator says that it is waking",
            "return !!window.goOn && [...document.querySelectorAll('[data-calculator]')]
                 .every(c => c.querySelector('legend').innerText.includes('waking'))",
        )
        .await?;
    assert!(answer(&browser, POWER).await?.contains(char::is_numeric), "the printed example stands");
    browser.script("goOn()").await?;
    browser
        .until(
            "they are awake and do not say so any more",
            "return [...document.querySelectorAll('[data-calculator]')]
                 .every(c => c.matches('[data-alive]') && !c.querySelector('legend').innerText.includes('waking'))",
        )
        .await?;
    Ok(())
}
