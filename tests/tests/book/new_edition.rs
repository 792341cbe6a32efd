//! A new edition: offered when it is on the device whole, taken on the reader's word, never in the middle of a
//! procedure.

use std::fs;
use std::path::Path;
use std::sync::LazyLock;

use serde_json::json;
use server::Server;
use tests::browser::{Browser, PHONE, TABLET};
use tests::edition::Edition;
use tests::engine::Engine;
use tests::site::page_with;
use thirtyfour::By;
use thirtyfour::error::WebDriverResult;

use crate::access::findings;
use crate::calculator::{POWER, VOLTAGE, answer, type_into, until_power};
use crate::look::TOO_SMALL;
use crate::offline::{FOOT, assert_kept, stores, until_kept};

tests::in_every_engine! {
    a_new_edition_is_taken_whole_and_on_the_readers_word,
    a_page_of_a_newer_edition_comes_with_all_that_belongs_to_it,
    a_download_that_is_not_whole_changes_nothing,
    closing_the_book_takes_no_edition,
    nothing_is_offered_or_taken_in_the_middle_of_a_procedure,
    a_first_download_that_is_not_whole_is_said_at_the_foot,
}

pub const NOTICE: &str = ".new-edition:has(button)";
const TAKE: &str = ".new-edition button";
const LATER: &str = ".new-edition button + button";
/// Is on the page of `dissipation` in the second edition only.
pub const NEW_SENTENCE: &str = "This sentence came with the second edition.";

/// Two editions, printed once for all journeys: from the first to the second a page has gone, another has come, and one
/// sentence is new. Anyone who damages one takes a copy.
pub static EDITIONS: LazyLock<(Edition, Edition)> = LazyLock::new(|| {
    let room = Path::new(env!("CARGO_TARGET_TMPDIR")).join("editions");
    if room.exists() {
        fs::remove_dir_all(&room).expect("the last run's editions go");
    }
    let one = Edition::printed(&room.join("one"), |workspace| add_page(workspace, "first"));
    let two = Edition::printed(&room.join("two"), |workspace| {
        add_page(workspace, "second");
        let page = workspace.join("content/3-output-stage/2-dissipation.md");
        let text = fs::read_to_string(&page).expect("the page of the calculator");
        fs::write(&page, format!("{text}\n{NEW_SENTENCE}\n")).expect("a page to change");
    });
    (one, two)
});

fn add_page(workspace: &Path, name: &str) {
    let page = format!(
        "+++\ntitle = \"Only in the {name}\"\nkind = \"chapter\"\nsummary = \"A page.\"\n+++\n\nWords.\n"
    );
    let folder = workspace.join(format!("content/90-{name}"));
    fs::create_dir_all(&folder).expect("a chapter");
    fs::write(folder.join("index.md"), page).expect("a page");
}

pub async fn until_offered(browser: &Browser) -> WebDriverResult<()> {
    browser.until("a new edition is offered", &format!("return !!document.querySelector('{NOTICE}')")).await
}

async fn is_offered(browser: &Browser) -> WebDriverResult<bool> {
    Ok(!browser.find_all(By::Css(NOTICE)).await?.is_empty())
}

/// Waits until the browser has asked for a file of a new edition and is done with what came.
async fn until_tried(browser: &Browser, server: &Server, file: &str) -> WebDriverResult<()> {
    let pause = || tokio::time::sleep(std::time::Duration::from_millis(20));
    while !server.asked().iter().any(|asked| asked == file) {
        pause().await;
    }
    let installing = "const done = arguments[arguments.length - 1];
        navigator.serviceWorker.getRegistration().then(registration => done(!!registration.installing));";
    while browser.execute_async(installing, Vec::new()).await?.convert::<bool>()? {
        pause().await;
    }
    Ok(())
}

async fn a_new_edition_is_taken_whole_and_on_the_readers_word(engine: Engine) -> WebDriverResult<()> {
    let (one, two) = &*EDITIONS;
    let server = Server::plain(one.folder(), "/").expect("a free port");
    let browser = Browser::open_at(engine, server.address.clone()).await?;
    let page = page_with("dissipation");
    browser.living_page(&page).await?;
    until_kept(&browser, one).await?;
    let example = answer(&browser, POWER).await?;
    type_into(&browser, VOLTAGE, "219").await?;
    until_power(&browser, false, &example).await?;
    let typed = answer(&browser, POWER).await?;
    let elsewhere = browser.window().await?;
    let other = browser.new_window().await?;
    browser.switch_to_window(other.clone()).await?;

    server.publish(two.folder());
    server.asked();
    browser.living_page("first/index.html").await?;
    until_offered(&browser).await?;
    // Only what is new was fetched. The page that has gone was answered from the edition in force, as is all else still.
    let (old, new) = (one.files(), two.files());
    let asked = server.asked();
    let unchanged = |file: &&String| new.get(*file).is_some_and(|hash| old.get(*file) == Some(hash));
    assert_eq!(asked.iter().filter(unchanged).collect::<Vec<_>>(), [""; 0]);
    assert!(asked.contains(&page), "{page} is new and was not among {asked:?}");
    assert_kept(&stores(&browser).await?, &server, one, &[one, two]);
    browser.living_page(&page).await?;
    assert!(!browser.source().await?.contains(NEW_SENTENCE));
    until_kept(&browser, one).await?;

    // Both windows come to the new edition, and what was typed is there.
    until_offered(&browser).await?;
    browser.element(TAKE).await?.click().await?;
    for window in [other, elsewhere] {
        browser.switch_to_window(window).await?;
        let came = format!("return document.body.textContent.includes('{NEW_SENTENCE}')");
        browser.until("the page is that of the new edition", &came).await?;
        until_kept(&browser, two).await?;
        until_power(&browser, true, &typed).await?;
        assert!(!is_offered(&browser).await?);
    }
    assert_kept(&stores(&browser).await?, &server, two, &[two]);
    drop(server);
    browser.page("first/index.html").await?;
    assert_eq!(browser.element("h1").await?.text().await?, "No such page");
    browser.page("second/index.html").await?;
    assert_eq!(browser.element("h1").await?.text().await?, "Only in the second");
    Ok(())
}

async fn a_page_of_a_newer_edition_comes_with_all_that_belongs_to_it(engine: Engine) -> WebDriverResult<()> {
    let (one, two) = &*EDITIONS;
    let server = Server::plain(one.folder(), "/").expect("a free port");
    let browser = Browser::open_at(engine, server.address.clone()).await?;
    browser.page("index.html").await?;
    until_kept(&browser, one).await?;
    server.publish(two.folder());
    server.asked();
    // As when someone sends a link to a page that this device does not have yet.
    browser.page("second/index.html").await?;
    assert_eq!(browser.element("h1").await?.text().await?, "Only in the second");
    until_offered(&browser).await?;
    let asked = server.asked();
    for file in ["book.css", "kept.js"] {
        assert!(asked.iter().any(|asked| asked == file), "{file} is of another edition than the page");
    }
    Ok(())
}

async fn a_download_that_is_not_whole_changes_nothing(engine: Engine) -> WebDriverResult<()> {
    let room = tempfile::tempdir().expect("a folder for the test");
    let (one, two) = (&EDITIONS.0, &EDITIONS.1.copied(room.path()));
    let server = Server::plain(one.folder(), "/").expect("a free port");
    let browser = Browser::open_at(engine, server.address.clone()).await?;
    browser.page("index.html").await?;
    until_kept(&browser, one).await?;
    server.publish(two.folder());
    let broken = two.folder().join("second/index.html");
    let whole = fs::read(&broken).expect("a page of the second edition");

    let altered = String::from_utf8_lossy(&whole).replace("Words.", "Swords.");
    for damage in [Some(altered), None] {
        match damage {
            Some(text) => fs::write(&broken, text).expect("a page to damage"),
            None => fs::remove_file(&broken).expect("a page to lose"),
        }
        server.asked();
        browser.page("index.html").await?;
        until_tried(&browser, &server, "second/index.html").await?;
        until_kept(&browser, one).await?;
        assert!(!is_offered(&browser).await?);
        // A browser may try twice, and the worker that is given up clear away last what it had begun to keep.
        let mut held = stores(&browser).await?;
        for _ in 0..400 {
            if held.as_object().is_some_and(|held| held.len() <= 2) {
                break;
            }
            tokio::time::sleep(std::time::Duration::from_millis(50)).await;
            held = stores(&browser).await?;
        }
        assert_kept(&held, &server, one, &[one]);
    }
    fs::write(&broken, &whole).expect("a page to mend");
    // A visit may fall into an attempt that began while the page was lost: then the next visit brings it.
    for moment in 0..2000 {
        if moment % 200 == 0 {
            browser.page("index.html").await?;
        } else if is_offered(&browser).await? {
            break;
        }
        tokio::time::sleep(std::time::Duration::from_millis(20)).await;
    }
    until_offered(&browser).await?;
    assert_kept(&stores(&browser).await?, &server, one, &[one, two]);
    Ok(())
}

async fn closing_the_book_takes_no_edition(engine: Engine) -> WebDriverResult<()> {
    let (one, two) = &*EDITIONS;
    let server = Server::plain(one.folder(), "/").expect("a free port");
    let browser = Browser::open_at(engine, server.address.clone()).await?;
    browser.page("index.html").await?;
    until_kept(&browser, one).await?;
    server.publish(two.folder());
    browser.page("index.html").await?;
    until_offered(&browser).await?;
    // No page of the book is open any more, and the browser may put to work what waited.
    browser.goto("about:blank").await?;
    tokio::time::sleep(std::time::Duration::from_secs(1)).await;
    browser.page(&page_with("dissipation")).await?;
    until_kept(&browser, one).await?;
    assert!(!browser.source().await?.contains(NEW_SENTENCE));
    until_offered(&browser).await?;
    // Anyone who says later finds it at the foot, on the next page as well.
    browser.element(LATER).await?.click().await?;
    for page in ["", "survey/index.html"] {
        if !page.is_empty() {
            browser.page(page).await?;
        }
        browser
            .until(
                "the offer stands at the foot",
                &format!("return !!document.querySelector('.foot {NOTICE}')"),
            )
            .await?;
        assert!(browser.find_all(By::Css(LATER)).await?.is_empty());
    }
    browser.element(TAKE).await?.click().await?;
    until_kept(&browser, two).await
}

async fn nothing_is_offered_or_taken_in_the_middle_of_a_procedure(engine: Engine) -> WebDriverResult<()> {
    let (one, two) = &*EDITIONS;
    let server = Server::plain(one.folder(), "/").expect("a free port");
    let browser = Browser::open_at(engine, server.address.clone()).await?;
    browser.page("index.html").await?;
    until_kept(&browser, one).await?;
    browser.script("document.documentElement.setAttribute('data-working', '')").await?;
    let at_work = browser.window().await?;
    server.publish(two.folder());
    let other = browser.new_window().await?;
    browser.switch_to_window(other.clone()).await?;
    browser.page("survey/index.html").await?;
    until_offered(&browser).await?;
    browser.element(TAKE).await?.click().await?;
    let refused =
        "return document.querySelector('.new-edition p').textContent.includes('Finish there first')";
    browser.until("the other window says why not now", refused).await?;

    browser.switch_to_window(at_work).await?;
    until_kept(&browser, one).await?;
    assert!(!is_offered(&browser).await?);
    browser.script("document.documentElement.removeAttribute('data-working')").await?;
    until_offered(&browser).await?;
    browser.switch_to_window(other).await?;
    browser.element(TAKE).await?.click().await?;
    until_kept(&browser, two).await
}

// Colour schemes, the phone's screen and paper by Chromium's debugging protocol.
#[tokio::test(flavor = "multi_thread")]
async fn the_notice_can_be_read_pressed_and_heard() -> WebDriverResult<()> {
    let (one, two) = &*EDITIONS;
    let server = Server::plain(one.folder(), "/").expect("a free port");
    let browser = Browser::open_at(Engine::Chromium, server.address.clone()).await?;
    browser.page("index.html").await?;
    until_kept(&browser, one).await?;
    server.publish(two.folder());
    browser.page("index.html").await?;
    until_offered(&browser).await?;
    for scheme in ["light", "dark"] {
        browser.scheme(scheme).await?;
        for screen in [PHONE, TABLET] {
            browser.screen(screen).await?;
            assert_eq!(browser.script(TOO_SMALL).await?, json!([]));
            assert_eq!(findings(&browser).await?, [""; 0], "{scheme}");
        }
    }
    assert_eq!(
        browser.element(".new-edition [role=status]").await?.text().await?,
        "A new edition of this handbook is ready. What you have typed stays."
    );
    // It is in the text and covers none of it.
    let position = "return getComputedStyle(document.querySelector('.new-edition')).position";
    assert_eq!(browser.script(position).await?, "static");
    browser.debug("Emulation.setEmulatedMedia", json!({ "media": "print" })).await?;
    for screen_only in [NOTICE, FOOT] {
        assert!(!browser.element(screen_only).await?.is_displayed().await?, "{screen_only} is printed");
    }
    Ok(())
}

async fn a_first_download_that_is_not_whole_is_said_at_the_foot(engine: Engine) -> WebDriverResult<()> {
    let room = tempfile::tempdir().expect("a folder for the test");
    let one = EDITIONS.0.copied(room.path());
    let server = Server::plain(one.folder(), "/").expect("a free port");
    fs::remove_file(one.folder().join("first/index.html")).expect("a page to lose");
    let browser = Browser::open_at(engine, server.address.clone()).await?;
    browser.page("index.html").await?;
    let says = "Not kept on this device: the file first/index.html did not arrive whole.";
    let said = format!("return document.querySelector('{FOOT}').textContent.trim() === '{says}'");
    browser.until("the foot says what did not arrive", &said).await?;
    assert_eq!(stores(&browser).await?, json!({}));
    Ok(())
}
