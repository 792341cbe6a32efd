//! The find field: a hundred written searches, readings that calculators take, how soon it answers; by keyboard and by touch.

use serde::Deserialize;
use serde_json::Value;
use tests::browser::{Browser, PHONE, TABLET};
use tests::engine::Engine;
use tests::site::{compressed, folder, page_with};
use thirtyfour::Key;
use thirtyfour::error::WebDriverResult;

use crate::access;

tests::in_every_engine! {
    what_is_sought_is_found_by_keyboard,
    readings_are_taken_and_worked_out,
    contents_open_at_any_place,
    a_term_opens_its_sentence_in_place,
}

/// How many of the written searches may miss their place.
const MISSED: usize = 5;
/// Brotli-compressed bytes of the index.
const INDEX_BUDGET: u64 = 120_000;

#[derive(Deserialize)]
struct Searches {
    search: Vec<Search>,
}

#[derive(Deserialize)]
struct Search {
    text: String,
    finds: String,
}

fn searches() -> Vec<Search> {
    let read: Searches =
        toml::from_str(include_str!("../../data/searches.toml")).expect("the table of searches");
    read.search
}

#[test]
fn the_index_stays_within_its_budget() {
    let files = std::fs::read_dir(folder()).expect("the book").flatten().map(|entry| entry.path());
    let is_index = |path: &std::path::PathBuf| {
        let name = path.file_name().unwrap_or_default().to_string_lossy();
        name.starts_with("find-") && name.ends_with(".json")
    };
    let all: Vec<_> = files.filter(is_index).collect();
    let [index] = all.as_slice() else { panic!("one index was expected: {all:?}") };
    let bytes = compressed(index);
    assert!(
        (10_000..=INDEX_BUDGET).contains(&bytes),
        "{bytes} bytes with brotli; the budget is {INDEX_BUDGET}"
    );
}

/// Opens the field of the open page and waits until it answers.
async fn open(browser: &Browser) -> WebDriverResult<()> {
    browser.element(".to-find").await?.click().await?;
    ready(browser).await
}

async fn ready(browser: &Browser) -> WebDriverResult<()> {
    browser
        .until("the field takes words", "return !!document.querySelector('dialog.find .results > *')")
        .await
}

/// Puts a text into the field at once, as when it is pasted, and gives the addresses of what is shown.
const SOUGHT: &str = "
    const field = document.querySelector('#find-field');
    const sought = (text) => {
        field.value = text;
        field.dispatchEvent(new Event('input', { bubbles: true }));
        return [...document.querySelectorAll('dialog.find .results ol a')];
    };
    const root = new URL(document.querySelector('.bar .name').href.replace('index.html', ''));
    const address = (link) => link.href.slice(root.href.length);";

/// Whether what is found is what was to be found: the place itself, any place of the page, or the page's calculator with inputs.
fn is_it(found: &str, right: &str) -> bool {
    found == right
        || !right.contains('#') && found.split('#').next() == Some(right)
        || right.ends_with(';') && found.starts_with(right)
}

#[tokio::test(flavor = "multi_thread")]
async fn a_hundred_written_searches_find_their_place_among_the_first_three() -> WebDriverResult<()> {
    let browser = Browser::open(Engine::Chromium).await?;
    browser.page(&page_with("dissipation")).await?;
    open(&browser).await?;
    let (searches, mut missed) = (searches(), Vec::new());
    assert_eq!(searches.len(), 100);
    for Search { text, finds } in &searches {
        let script = format!("{SOUGHT} return sought({text:?}).slice(0, 3).map(address)");
        let found: Vec<String> = serde_json::from_value(browser.script(&script).await?)?;
        if !found.iter().any(|found| is_it(found, finds)) {
            missed.push(format!("{text}: {found:?} and not {finds}"));
        }
    }
    assert!(missed.len() <= MISSED, "\n{}", missed.join("\n"));
    Ok(())
}

async fn what_is_sought_is_found_by_keyboard(engine: Engine) -> WebDriverResult<()> {
    let browser = Browser::open(engine).await?;
    browser.page("read-this-first/index.html").await?;
    browser.until("the bar listens", "return document.readyState === 'complete'").await?;
    browser.element("body").await?.send_keys("/").await?;
    ready(&browser).await?;
    browser.element("#find-field").await?.send_keys("plat disipation").await?;
    let first = "return document.activeElement.closest('.results ol') !== null";
    browser.element("#find-field").await?.send_keys(Key::Down).await?;
    browser.until("the first of what was found has the focus", first).await?;
    browser
        .until(
            "it is said",
            "return /found\\. First: ./.test(document.querySelector('.find [role=status]').textContent)",
        )
        .await?;
    browser.active_element().await?.send_keys(Key::Up).await?;
    let back = "return document.activeElement.id === 'find-field'";
    browser.until("the field has the focus again", back).await?;
    browser.element("#find-field").await?.send_keys(Key::Escape).await?;
    browser.until("the field is closed", "return !document.querySelector('dialog.find')").await?;
    // What was sought stands there again, and Enter opens the first of it.
    browser.element("body").await?.send_keys("/").await?;
    ready(&browser).await?;
    browser
        .until("it stands there", "return document.querySelector('#find-field').value === 'plat disipation'")
        .await?;
    let first = browser.script("return document.querySelector('.find .results ol a').pathname").await?;
    assert_ne!(browser.script("return location.pathname").await?, first);
    browser.element("#find-field").await?.send_keys(Key::Enter).await?;
    browser.until("the page shows", &format!("return location.pathname === {first}")).await?;
    assert_eq!(browser.complaints().await?, [""; 0]);
    Ok(())
}

async fn readings_are_taken_and_worked_out(engine: Engine) -> WebDriverResult<()> {
    let browser = Browser::open(engine).await?;
    browser.page("index.html").await?;
    open(&browser).await?;
    browser.element("#find-field").await?.send_keys("EL34 440 V 34 mA").await?;
    let answer = "(document.querySelector('[data-taker=dissipation] .answer')?.textContent ?? '').replace(/\\s/g, ' ')";
    browser.until("the answer comes", &format!("return /\\d W/.test({answer})")).await?;
    let said = browser.script(&format!("return {answer}")).await?;
    // 440 V × 34 mA is 14.96 W for anode and screen together, so the anode alone has less, and more than 13.
    let watts = said
        .as_str()
        .and_then(|said| said.split(" W").next()?.split_whitespace().last()?.parse::<f64>().ok());
    assert!(watts.is_some_and(|watts| (13.0..14.97).contains(&watts)), "{said}");
    let examples = browser
        .script("return document.querySelector('[data-taker=dissipation] .examples')?.textContent ?? ''")
        .await?;
    assert!(examples.as_str().is_some_and(|said| said.starts_with("With example values: ")), "{examples}");
    browser.element("[data-taker=dissipation]").await?.click().await?;
    browser
        .until("the calculator stands filled in", "return document.querySelector('#dissipation[data-alive] [name=anode-voltage]')?.value === '440V'")
        .await?;
    let valve = browser.script("return document.querySelector('#dissipation [name=valve]').value").await?;
    assert_eq!(valve, Value::from("EL34"));
    assert_eq!(browser.complaints().await?, [""; 0]);
    Ok(())
}

async fn contents_open_at_any_place(engine: Engine) -> WebDriverResult<()> {
    let browser = Browser::open(engine).await?;
    let page = "master-volume/what-each-fault-does.html";
    browser.page(page).await?;
    browser.script("document.getElementById('something-leaks').scrollIntoView()").await?;
    let here = "return document.querySelector('.bar .here')?.textContent === 'Something leaks'";
    browser.until("the bar says at which heading one is", here).await?;
    let height =
        browser.script("return document.querySelector('.bar').getBoundingClientRect().height").await?;
    assert!(height.as_f64().is_some_and(|height| height <= 60.0), "the bar is {height} px high");
    browser.element(".to-contents").await?.click().await?;
    let current = "return [...document.querySelectorAll('dialog.list [aria-current]')].map((link) => link.textContent).join()";
    assert_eq!(browser.script(current).await?, Value::from("Something leaks,What each fault does"));
    browser.element("dialog.list .contents a[href$='lead-order.html']").await?.click().await?;
    browser.until("its page shows", "return location.pathname.endsWith('/lead-order.html')").await?;
    assert_eq!(browser.complaints().await?, [""; 0]);
    Ok(())
}

async fn a_term_opens_its_sentence_in_place(engine: Engine) -> WebDriverResult<()> {
    let browser = Browser::open(engine).await?;
    browser.page("output-stage/how-bias-works.html").await?;
    let first = browser.awaited("a.term").await?;
    let word = first.text().await?;
    first.click().await?;
    browser.until("the sentence shows", "return !!document.querySelector('.meaning:popover-open')").await?;
    let said = browser.element(".meaning").await?.text().await?;
    assert!(said.len() > word.len() + 30, "{word}: {said}");
    browser.element(".meaning").await?.send_keys(Key::Escape).await?;
    browser.until("it is gone", "return !document.querySelector('.meaning')").await?;
    let path = browser.script("return location.pathname").await?;
    assert!(path.as_str().is_some_and(|path| path.ends_with("/how-bias-works.html")), "{path}");
    assert_eq!(browser.complaints().await?, [""; 0]);
    Ok(())
}

#[tokio::test(flavor = "multi_thread")]
async fn what_opens_can_be_touched_and_read() -> WebDriverResult<()> {
    let browser = Browser::open(Engine::Chromium).await?;
    for scheme in ["light", "dark"] {
        browser.scheme(scheme).await?;
        for screen in [TABLET, PHONE] {
            browser.screen(screen).await?;
            browser.page("output-stage/how-bias-works.html").await?;
            open(&browser).await?;
            browser.element("#find-field").await?.clear().await?;
            browser.element("#find-field").await?.send_keys("EL34 440 V 34 mA").await?;
            let answered = "return document.querySelectorAll('.find .answer').length > 1";
            browser.until("the answers stand", answered).await?;
            sound(&browser, &format!("find, {scheme}, {screen:?}")).await?;
            browser.element("dialog.find .close").await?.click().await?;
            browser.element(".to-contents").await?.click().await?;
            sound(&browser, &format!("contents, {scheme}, {screen:?}")).await?;
            browser.element("dialog.list .close").await?.click().await?;
            browser.awaited("a.term").await?.click().await?;
            browser
                .until("the sentence shows", "return !!document.querySelector('.meaning:popover-open')")
                .await?;
            sound(&browser, &format!("term, {scheme}, {screen:?}")).await?;
        }
    }
    Ok(())
}

async fn sound(browser: &Browser, what: &str) -> WebDriverResult<()> {
    let found = access::findings(browser).await?;
    assert!(found.is_empty(), "{what}:\n{}", found.join("\n"));
    let small = browser.script(crate::look::TOO_SMALL).await?;
    assert_eq!(small, Value::Array(vec![]), "{what}");
    Ok(())
}
