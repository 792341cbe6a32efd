//! The whole book as one file, opened as from a stick: without any server.

use tests::browser::Browser;
use tests::engine::Engine;
use tests::site::{ONE_FILE, folder, page_with};
use thirtyfour::error::WebDriverResult;

use crate::calculator::{POWER, VOLTAGE, answer, type_into, until_power};

tests::in_every_engine! {
    the_book_on_a_stick_opens_turns_its_pages_and_calculates,
    a_link_into_the_book_on_a_stick_opens,
    an_address_that_names_no_page_opens_the_cover,
    the_book_on_a_stick_is_searched,
}

/// A browser that knows of no address but the file.
async fn open(engine: Engine) -> WebDriverResult<Browser> {
    Browser::open_at(engine, format!("file://{}", folder().join(ONE_FILE).display())).await
}

async fn until_page(browser: &Browser, page: &str) -> WebDriverResult<()> {
    let alive = format!(
        "return document.documentElement.dataset.page === '{page}'
             && !document.querySelector('[data-calculator]:not([data-alive])')"
    );
    browser.until(&format!("{page} shows, alive"), &alive).await
}

async fn the_book_on_a_stick_opens_turns_its_pages_and_calculates(engine: Engine) -> WebDriverResult<()> {
    let browser = open(engine).await?;
    browser.page("").await?;
    until_page(&browser, "index.html").await?;
    let cover = answer(&browser, "main").await?;
    assert!(cover.len() > 500, "the cover reads `{cover}`");

    let page = page_with("dissipation");
    for page in ["output-stage/index.html", &*page] {
        browser.element(&format!("main a[href='#{page}']")).await?.click().await?;
        until_page(&browser, page).await?;
    }
    let example = answer(&browser, POWER).await?;
    type_into(&browser, VOLTAGE, "219").await?;
    until_power(&browser, false, &example).await?;
    type_into(&browser, VOLTAGE, "438").await?;
    until_power(&browser, true, &example).await?;

    browser.back().await?;
    browser.back().await?;
    until_page(&browser, "index.html").await?;
    assert_eq!(answer(&browser, "main").await?, cover);
    assert_eq!(browser.complaints().await?, [""; 0]);
    Ok(())
}

async fn a_link_into_the_book_on_a_stick_opens(engine: Engine) -> WebDriverResult<()> {
    let browser = open(engine).await?;
    let page = page_with("dissipation");
    browser.page(&format!("#{page}!dissipation.1;anode-voltage=219V")).await?;
    until_page(&browser, &page).await?;
    let of_link = answer(&browser, POWER).await?;
    assert!(answer(&browser, "#dissipation .came").await?.contains("came with a link"));
    assert_eq!(browser.element(VOLTAGE).await?.value().await?.as_deref(), Some("219V"));
    type_into(&browser, VOLTAGE, "438").await?;
    until_power(&browser, false, &of_link).await?;
    assert_eq!(browser.complaints().await?, [""; 0]);
    Ok(())
}

/// Names that every object of JavaScript has are no pages.
async fn an_address_that_names_no_page_opens_the_cover(engine: Engine) -> WebDriverResult<()> {
    let browser = open(engine).await?;
    for name in ["nowhere.html", "constructor", "toString", "__proto__", "valueOf!x"] {
        browser.page("").await?;
        browser.page(&format!("#{name}")).await?;
        until_page(&browser, "index.html").await?;
        assert_ne!(browser.title().await?, "undefined", "{name}");
    }
    assert_eq!(browser.complaints().await?, [""; 0]);
    Ok(())
}

async fn the_book_on_a_stick_is_searched(engine: Engine) -> WebDriverResult<()> {
    let browser = open(engine).await?;
    browser.page("").await?;
    until_page(&browser, "index.html").await?;
    browser.element(".to-find").await?.click().await?;
    browser
        .until("the field takes words", "return !!document.querySelector('dialog.find .results > *')")
        .await?;
    let field = browser.element("#find-field").await?;
    field.send_keys("EL34 440 V 34 mA").await?;
    let worked =
        "return /\\d\\sW/.test(document.querySelector('[data-taker=dissipation] .answer')?.textContent)";
    browser.until("the readings are worked out", worked).await?;
    browser.script("document.querySelector('#find-field').select()").await?;
    field.send_keys("plate disipation").await?;
    browser.awaited("dialog.find .results a[href*='/dissipation.html']").await?.click().await?;
    until_page(&browser, &page_with("dissipation")).await?;
    browser.awaited("a.term").await?.click().await?;
    browser.until("its sentence shows", "return !!document.querySelector('.meaning:popover-open')").await?;
    assert_eq!(browser.complaints().await?, [""; 0]);
    Ok(())
}
