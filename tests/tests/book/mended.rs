//! What is kept and damaged, a worker that was stopped, a note that is lost: nothing is shown that is not the edition's own.
//! By Chromium's debugging protocol, which alone can stop a worker.

use std::fs;

use serde_json::json;
use server::Server;
use tests::browser::Browser;
use tests::edition::Edition;
use tests::engine::Engine;
use tests::site::page_with;
use thirtyfour::error::WebDriverResult;

use crate::new_edition::{EDITIONS, NEW_SENTENCE, until_offered};
use crate::offline::{assert_kept, stores, until_kept};

tests::in_every_engine! {
    a_script_that_does_not_start_is_said_on_the_page,
}

/// Stops the worker, as a browser does after half a minute: what it only had in mind is gone.
async fn stop_worker(browser: &Browser) -> WebDriverResult<()> {
    browser.debug("ServiceWorker.enable", json!({})).await?;
    browser.debug("ServiceWorker.stopAllWorkers", json!({})).await.map(drop)
}

/// Does something to the store of an edition, or to that of the notes, in the page.
async fn to_store(browser: &Browser, edition: &str, act: &str) -> WebDriverResult<()> {
    let name = format!("standing-current / {edition}");
    let script = format!(
        "const done = arguments[arguments.length - 1];
         caches.open('{}').then(async (store) => {{ {act} }}).then(() => done(true));",
        name.trim_end()
    );
    browser.execute_async(script, Vec::new()).await.map(drop)
}

async fn text(browser: &Browser) -> WebDriverResult<String> {
    Ok(browser.script("return document.body.textContent").await?.as_str().unwrap_or_default().to_owned())
}

const DAMAGED: &str = "missing or damaged on this device";

#[tokio::test(flavor = "multi_thread")]
async fn a_worker_that_was_stopped_knows_which_pages_came_from_the_server() -> WebDriverResult<()> {
    let (one, two) = &*EDITIONS;
    let server = Server::lasting(one.folder()).expect("a free port");
    let browser = Browser::open_at(Engine::Chromium, server.address.clone()).await?;
    browser.page("index.html").await?;
    until_kept(&browser, one).await?;
    server.publish(two.folder());
    server.asked();
    browser.page("second/index.html").await?;
    until_offered(&browser).await?;
    // The host lets the browser keep them for ten minutes, but they are of the other edition.
    let asked = server.asked();
    for file in ["book.css", "kept.js"] {
        assert!(asked.iter().any(|asked| asked == file), "{file} is of another edition than the page");
    }
    stop_worker(&browser).await?;
    let ask = "const done = arguments[arguments.length - 1]; fetch('../stop.js').then(() => done(true));";
    browser.execute_async(ask, Vec::new()).await?;
    let asked = server.asked();
    assert!(asked.iter().any(|asked| asked == "stop.js"), "it came from the edition in force: {asked:?}");
    Ok(())
}

#[tokio::test(flavor = "multi_thread")]
async fn what_is_damaged_is_fetched_again_and_never_another_editions() -> WebDriverResult<()> {
    let (one, two) = &*EDITIONS;
    let server = Server::plain(one.folder(), "/").expect("a free port");
    let browser = Browser::open_at(Engine::Chromium, server.address.clone()).await?;
    browser.page("index.html").await?;
    until_kept(&browser, one).await?;
    let page = page_with("dissipation");
    let lose = format!("await store.delete('/{page}')");
    let damage = format!(
        "await store.put('/{page}', new Response('<p>Nonsense', {{ headers: {{ 'Content-Type': 'text/html' }} }}))"
    );
    // The server has the edition: all is well at once, and kept whole again.
    for harm in [&lose, &damage] {
        to_store(&browser, &one.name(), harm).await?;
        to_store(&browser, &one.name(), "await store.delete('/book.css')").await?;
        stop_worker(&browser).await?;
        browser.living_page(&page).await?;
        until_kept(&browser, one).await?;
        assert_kept(&stores(&browser).await?, &server, one, &[one]);
    }
    // It has another, and that is on the device, too.
    server.publish(two.folder());
    browser.page("index.html").await?;
    until_offered(&browser).await?;
    for harm in [&lose, &damage] {
        browser.page("index.html").await?;
        to_store(&browser, &one.name(), harm).await?;
        stop_worker(&browser).await?;
        browser.page(&page).await?;
        let text = text(&browser).await?;
        assert!(
            text.contains(DAMAGED) && !text.contains(NEW_SENTENCE) && !text.contains("Nonsense"),
            "{text}"
        );
    }
    Ok(())
}

#[tokio::test(flavor = "multi_thread")]
async fn the_book_is_there_though_the_note_of_its_edition_is_lost() -> WebDriverResult<()> {
    let (one, two) = &*EDITIONS;
    let server = Server::plain(one.folder(), "/").expect("a free port");
    let browser = Browser::open_at(Engine::Chromium, server.address.clone()).await?;
    browser.page("index.html").await?;
    until_kept(&browser, one).await?;
    server.publish(two.folder());
    browser.page("index.html").await?;
    until_offered(&browser).await?;
    to_store(&browser, "", "await store.delete('/edition-in-force')").await?;
    stop_worker(&browser).await?;
    drop(server);
    browser.living_page(&page_with("dissipation")).await?;
    until_kept(&browser, one).await?;
    assert!(!text(&browser).await?.contains(NEW_SENTENCE), "nobody took the newer edition");
    until_offered(&browser).await
}

async fn a_script_that_does_not_start_is_said_on_the_page(engine: Engine) -> WebDriverResult<()> {
    let room = tempfile::tempdir().expect("a folder for the test");
    let edition = Edition::built().copied(room.path());
    let loader = edition.folder().join("loader.js");
    let server = Server::plain(edition.folder(), "/").expect("a free port");
    let browser = Browser::open_at(engine, server.address.clone()).await?;
    let said = "return document.querySelector('main .not-started')?.textContent.startsWith('Part of this page did not start') === true";
    for damage in [Some("import { bring } from"), Some(""), None] {
        match damage {
            Some(text) => fs::write(&loader, text).expect("a script to damage"),
            None => fs::remove_file(&loader).expect("a script to lose"),
        }
        browser.page(&page_with("dissipation")).await?;
        browser.until(&format!("it is said of {damage:?}"), said).await?;
    }
    Ok(())
}
