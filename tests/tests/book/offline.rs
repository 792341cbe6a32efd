//! The book on a device: kept whole after one visit, and used with the server gone.

use std::collections::BTreeMap;

use serde_json::Value;
use server::Server;
use tests::browser::Browser;
use tests::edition::Edition;
use tests::engine::Engine;
use tests::site::{Page, page_with, pages, pages_of_each_kind, unlike_pages};
use thirtyfour::error::WebDriverResult;

use crate::access::Findings;
use crate::calculator::{POWER, VOLTAGE, answer, type_into, until_power};
use crate::look;

/// Bytes of the whole book as they are sent, compressed where that is worth while.
const OFFLINE_BUDGET: u64 = 3_000_000;

tests::in_every_engine! {
    after_one_visit_everything_works_with_the_server_gone,
    what_is_kept_is_not_asked_for_and_what_is_not_the_books_is_left_alone,
    what_the_browser_threw_away_is_kept_again,
}

pub const FOOT: &str = "[data-kept]";

/// Everything the browser's stores hold: for each store its addresses, with the SHA-256 that the browser works out.
const STORES: &str = "
    const done = arguments[arguments.length - 1];
    const hash = async (response) => {
        const digest = await crypto.subtle.digest('SHA-256', await response.arrayBuffer());
        return [...new Uint8Array(digest)].map((byte) => byte.toString(16).padStart(2, '0')).join('');
    };
    (async () => {
        const all = {};
        for (const name of await caches.keys()) {
            const store = await caches.open(name);
            all[name] = {};
            for (const { url } of await store.keys()) {
                const file = await store.match(url);
                all[name][url] = url.endsWith('edition-in-force') ? await file.text() : await hash(file);
            }
        }
        done(all);
    })();";

pub async fn until_kept(browser: &Browser, edition: &Edition) -> WebDriverResult<()> {
    let name = edition.name();
    let script = format!(
        "return document.querySelector('{FOOT}').textContent.trim() === 'Kept on this device, edition {name}.'"
    );
    browser.until(&format!("the foot says that edition {name} is kept"), &script).await
}

/// The stores hold these editions, file by file and byte by byte, each with the list of its files, and nothing else.
#[track_caller]
pub fn assert_kept(stores: &Value, server: &Server, in_force: &Edition, editions: &[&Edition]) {
    let under = server.address.splitn(4, '/').nth(3).unwrap_or_default();
    let book = format!("standing-current /{under}");
    let note = format!("{}edition-in-force", server.address);
    let mut expected: BTreeMap<String, BTreeMap<String, String>> = editions
        .iter()
        .map(|edition| {
            let at = |(file, hash)| (format!("{}{file}", server.address), hash);
            (format!("{book} {}", edition.name()), edition.files().into_iter().map(at).collect())
        })
        .collect();
    let mut held: BTreeMap<String, BTreeMap<String, String>> =
        serde_json::from_value(stores.clone()).expect("stores of files");
    let notes = held.remove(&book).unwrap_or_default();
    assert_eq!(notes, BTreeMap::from([(note, in_force.name())]), "the note of the edition in force");
    assert_eq!(held.keys().collect::<Vec<_>>(), expected.keys().collect::<Vec<_>>());
    for (store, mut files) in held {
        assert!(files.remove(&format!("{}edition-files", server.address)).is_some(), "{store} has no list");
        assert_eq!(files, expected.remove(&store).unwrap_or_default(), "{store}");
    }
}

pub async fn stores(browser: &Browser) -> WebDriverResult<Value> {
    browser.execute_async(STORES, Vec::new()).await?.convert()
}

/// Opens these pages of the edition with the server gone, looks closely at each where that is asked, and uses a calculator.
async fn works_offline(
    engine: Engine,
    under: &'static str,
    pages: Vec<Page>,
    closely: bool,
) -> WebDriverResult<()> {
    let edition = Edition::built();
    let server = Server::plain(edition.folder(), under).expect("a free port");
    let browser = Browser::open_at(engine, server.address.clone()).await?;
    browser.page("index.html").await?;
    until_kept(&browser, &edition).await?;
    assert_kept(&stores(&browser).await?, &server, &edition, &[&edition]);
    drop(server);

    let (mut findings, mut faults) = (Findings::default(), Vec::new());
    // The page for no page is opened below, where there is none.
    for page in pages.into_iter().filter(|page| page.path != "404.html") {
        browser.living_page(&page.path).await?;
        until_kept(&browser, &edition).await?;
        let title = page.first("title").map(|title| title.text().collect::<String>());
        assert_eq!(Some(browser.title().await?), title, "{}", page.path);
        let complaints = browser.complaints().await?;
        assert!(complaints.is_empty(), "{}:\n{}", page.path, complaints.join("\n"));
        if closely {
            let mut found = look::faults(&browser, engine).await?;
            // Its findings are those of markup and styles, which no engine changes; colour schemes are Chromium's.
            if engine == Engine::Chromium {
                let found_here = findings.on_page(&browser).await;
                found.extend(found_here.inspect_err(|_| println!("looking at {}", page.path))?);
            }
            faults.extend(found.into_iter().map(|fault| format!("{}, {fault}", page.path)));
        }
    }
    assert!(faults.is_empty(), "\n{}", faults.join("\n"));
    browser.living_page(&page_with("dissipation")).await?;
    let example = answer(&browser, POWER).await?;
    type_into(&browser, VOLTAGE, "219").await?;
    until_power(&browser, false, &example).await?;

    // A folder is its first page, with and without the stroke, and what comes after a question mark is nobody's.
    for folder in ["output-stage/", "output-stage", "output-stage/index.html?from=bench"] {
        browser.page(folder).await?;
        assert_eq!(browser.element("h1").await?.text().await?, "The output stage", "{folder}");
        assert!(browser.current_url().await?.path().starts_with(&format!("{under}output-stage/")));
    }
    browser.page("output-stage/nowhere.html").await?;
    assert_eq!(browser.element("h1").await?.text().await?, "No such page");
    until_kept(&browser, &edition).await?;
    if closely {
        assert_eq!(look::faults(&browser, engine).await?, [""; 0], "the page for no page");
    }
    browser.element("main a").await?.click().await?;
    browser.until("its links lead into the book", "return document.body.dataset.kind === 'cover'").await
}

async fn after_one_visit_everything_works_with_the_server_gone(engine: Engine) -> WebDriverResult<()> {
    works_offline(engine, "/", unlike_pages(), true).await
}

// Once is enough: how addresses are put together is the worker's own affair and no engine's.
#[tokio::test(flavor = "multi_thread")]
async fn after_one_visit_the_book_works_under_a_sub_path() -> WebDriverResult<()> {
    works_offline(Engine::Chromium, "/a/sub/path/", pages_of_each_kind(), false).await
}

async fn what_is_kept_is_not_asked_for_and_what_is_not_the_books_is_left_alone(
    engine: Engine,
) -> WebDriverResult<()> {
    let edition = Edition::built();
    let server = Server::plain(edition.folder(), "/book/").expect("a free port");
    let browser = Browser::open_at(engine, server.address.clone()).await?;
    browser.page("output-stage/dissipation.html").await?;
    until_kept(&browser, &edition).await?;
    server.asked();
    for page in ["index.html", "output-stage/dissipation.html", "survey/"] {
        browser.living_page(page).await?;
        until_kept(&browser, &edition).await?;
    }
    let mut asked = server.asked();
    asked.retain(|file| file != "service-worker.js");
    assert_eq!(asked, [""; 0]);

    let ask = |file: &str, with: &str| {
        format!(
            "const done = arguments[arguments.length - 1];
             fetch('{}{file}', {with}).then(response => response.text()).then(() => done(true));",
            server.address
        )
    };
    for (file, with, noted) in [
        ("book.css", "{ headers: { Range: 'bytes=0-9' } }", "book.css"),
        ("no-such.json", "{}", "no-such.json"),
        ("../outside.txt", "{}", "/outside.txt"),
    ] {
        browser.execute_async(ask(file, with), Vec::new()).await?;
        let asked = server.asked();
        assert!(asked.iter().any(|file| file == noted), "{noted} was not among {asked:?}");
    }
    Ok(())
}

async fn what_the_browser_threw_away_is_kept_again(engine: Engine) -> WebDriverResult<()> {
    let edition = Edition::built();
    let server = Server::plain(edition.folder(), "/").expect("a free port");
    let browser = Browser::open_at(engine, server.address.clone()).await?;
    browser.page("index.html").await?;
    until_kept(&browser, &edition).await?;
    let throw_away = format!(
        "const done = arguments[arguments.length - 1];
         caches.delete('standing-current / {}').then(done);",
        edition.name()
    );
    assert!(browser.execute_async(throw_away, Vec::new()).await?.convert::<bool>()?);
    browser.page("survey/index.html").await?;
    until_kept(&browser, &edition).await?;
    assert_kept(&stores(&browser).await?, &server, &edition, &[&edition]);
    Ok(())
}

// The worker is taken away before the page's scripts run, by Chromium's debugging protocol.
#[tokio::test(flavor = "multi_thread")]
async fn a_window_that_keeps_nothing_says_so_and_is_quiet() -> WebDriverResult<()> {
    let server = Server::plain(Edition::built().folder(), "/").expect("a free port");
    let browser = Browser::open_at(Engine::Chromium, server.address.clone()).await?;
    browser.before_pages("delete Navigator.prototype.serviceWorker;").await?;
    browser.living_page(&page_with("dissipation")).await?;
    let says = format!(
        "return document.querySelector('{FOOT}').textContent.startsWith(' Not kept on this device: ')"
    );
    browser.until("the foot says that nothing is kept", &says).await?;
    assert_eq!(browser.complaints().await?, [""; 0]);
    Ok(())
}

#[test]
fn without_scripts_no_page_says_that_it_is_kept() {
    for page in pages() {
        let kept = page.first(FOOT).expect("a place for what the script finds");
        assert_eq!(kept.text().collect::<String>(), "", "{}", page.path);
        assert_eq!(page.all("script[defer][src$='kept.js']").len(), 1, "{}", page.path);
        assert_eq!(
            page.all("link[rel=manifest], link[rel=apple-touch-icon], meta[name=theme-color]").len(),
            4,
            "{}",
            page.path
        );
    }
}

#[test]
fn the_whole_book_stays_within_its_budget() {
    let (_, bytes) = Edition::built().transferred();
    assert!(bytes <= OFFLINE_BUDGET, "{bytes} bytes as sent; the budget is {OFFLINE_BUDGET}");
}
