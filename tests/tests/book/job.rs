//! The job in the browser: what is written down is kept, in one tab and in two, through a reload and a killed browser.

use std::io::Write;
use std::path::Path;
use std::process::Command;
use std::time::Duration;

use serde_json::{Value, json};
use tests::browser::Browser;
use tests::engine::Engine;
use tests::site::page_with;
use thirtyfour::By;
use thirtyfour::error::WebDriverResult;

use crate::calculator::type_into;

pub const JOB: &str = "survey/the-job.html";
pub const SHEET: &str = "hand-over/the-sheet.html";

tests::in_every_engine! {
    the_parts_of_the_survey_are_folded_up_and_say_what_is_missing,
    what_is_typed_is_there_after_a_reload,
    a_calculator_starts_from_the_job_and_keeps_its_answer_in_it,
    a_damaged_file_changes_nothing_and_says_why,
    a_job_that_cannot_be_read_is_said_and_kept_as_it_is,
    what_was_written_by_mistake_is_removed_and_put_back,
    a_page_left_in_the_middle_of_a_change_holds_up_no_other,
}

/// Opens a page, waits until its blocks are alive, and unfolds what is folded up in them.
pub async fn open(browser: &Browser, page: &str) -> WebDriverResult<()> {
    browser.page(page).await?;
    let alive = "return !document.querySelector('[data-job]:not([data-alive])')";
    browser.until("the blocks come alive", alive).await?;
    browser.script(UNFOLD).await.map(drop)
}

/// Unfolds every part of the survey.
const UNFOLD: &str =
    "document.querySelectorAll('[data-act=fold][aria-expanded=false]').forEach((button) => button.click())";

/// Begins a job.
pub async fn begin(browser: &Browser, label: &str) -> WebDriverResult<()> {
    open(browser, JOB).await?;
    browser.script("document.querySelector('details.new-job').open = true").await?;
    type_into(browser, "#jobs-new", label).await?;
    browser.element("[data-act=new]").await?.click().await?;
    let begun = format!("return document.querySelector('#survey-label').value === {label:?}");
    browser.until("the job is on the bench", &begun).await
}

/// Types into a field of the survey, or chooses in it, and waits until it is on disk.
pub async fn write(browser: &Browser, field: &str, text: &str) -> WebDriverResult<()> {
    browser.script("document.querySelector('.kept-at').textContent = ''").await?;
    browser.script(UNFOLD).await?;
    let choose = format!(
        "const field = document.querySelector('#survey-{field}');
        if (field.tagName !== 'SELECT') return false;
        field.value = {text:?};
        field.dispatchEvent(new Event('input', {{ bubbles: true }}));
        return true"
    );
    if browser.script(&choose).await? != Value::Bool(true) {
        type_into(browser, &format!("#survey-{field}"), text).await?;
    }
    until_kept(browser).await
}

async fn until_kept(browser: &Browser) -> WebDriverResult<()> {
    let kept = "return document.querySelector('.kept-at').textContent.startsWith('Kept on this device')";
    browser.until("the change is kept", kept).await
}

async fn stands(browser: &Browser, field: &str) -> WebDriverResult<String> {
    let script = format!("return document.querySelector('#survey-{field}').value");
    Ok(browser.script(&script).await?.as_str().unwrap_or_default().to_owned())
}

pub async fn press(browser: &Browser, act: &str) -> WebDriverResult<()> {
    browser.script("document.querySelector('.kept-at').textContent = ''").await?;
    browser.element(&format!("[data-act={act}]")).await?.click().await?;
    until_kept(browser).await
}

async fn the_parts_of_the_survey_are_folded_up_and_say_what_is_missing(
    engine: Engine,
) -> WebDriverResult<()> {
    let browser = Browser::open(engine).await?;
    begin(&browser, "Two-valve head").await?;
    browser.page(JOB).await?;
    let alive = "return !document.querySelector('[data-job]:not([data-alive])')";
    browser.until("the blocks come alive", alive).await?;
    let count = |part: &str| format!("return document.querySelector('[data-count={part}]').textContent");
    let height = "return document.querySelector('#survey').getBoundingClientRect().height";
    let height = browser.script(height).await?.as_f64().unwrap_or(f64::INFINITY);
    assert!(height <= f64::from(tests::browser::TABLET.1), "all folded up the form is {height} px high");
    let seen = "return [...document.querySelectorAll('#survey .field')].filter((field) => field.checkVisibility()).length";
    assert_eq!(browser.script(seen).await?, 0, "every part is folded up");
    let missing = browser.script(&count("power-up")).await?;
    assert_eq!(browser.script(&count("load")).await?, "0 of 6");
    // What is missing leads to its field.
    browser.element("[data-act=fold][data-id=power-up]").await?.click().await?;
    browser.element("[data-act=to-field][data-for=rated-power]").await?.click().await?;
    browser.until("the field", "return document.activeElement.id === 'survey-rated-power'").await?;
    write(&browser, "rated-power", "40").await?;
    assert_eq!(browser.script(&count("load")).await?, "1 of 6");
    assert_ne!(browser.script(&count("power-up")).await?, missing);
    Ok(())
}

async fn what_is_typed_is_there_after_a_reload(engine: Engine) -> WebDriverResult<()> {
    let browser = Browser::open(engine).await?;
    begin(&browser, "Two-valve head").await?;
    write(&browser, "anode-voltage", "438").await?;
    // No value yet: it is kept as it stands all the same, and says what it could be.
    write(&browser, "bias-voltage", "46").await?;
    let offers = browser.find_all(By::Css("#survey-bias-voltage-problem button")).await?;
    assert_eq!(offers.len(), 1, "a bias without its sign is asked back, and is below zero");
    write(&browser, "note", "Tail resistor browned").await?;
    write(&browser, "standby", "dc").await?;
    open(&browser, JOB).await?;
    assert_eq!(stands(&browser, "anode-voltage").await?, "438 V");
    assert_eq!(stands(&browser, "bias-voltage").await?, "46");
    let offers = browser.find_all(By::Css("#survey-bias-voltage-problem button")).await?;
    assert_eq!(offers.len(), 1, "it is asked back after a reload too");
    assert_eq!(stands(&browser, "note").await?, "Tail resistor browned");
    assert_eq!(stands(&browser, "standby").await?, "dc");
    press(&browser, "note").await?;
    assert_eq!(stands(&browser, "note").await?, "");
    open(&browser, JOB).await?;
    assert!(browser.element("#survey-notes").await?.text().await?.contains("Tail resistor browned"));
    assert_eq!(browser.complaints().await?, [""; 0]);
    Ok(())
}

async fn a_calculator_starts_from_the_job_and_keeps_its_answer_in_it(engine: Engine) -> WebDriverResult<()> {
    let browser = Browser::open(engine).await?;
    begin(&browser, "Two-valve head").await?;
    write(&browser, "anode-voltage", "321").await?;
    browser.living_page(&page_with("dissipation")).await?;
    let field = "#dissipation input[name='anode-voltage']";
    let value = browser.script(&format!("return document.querySelector(\"{field}\").value")).await?;
    assert_eq!(value, "321 V");
    let marked = |words: &str| {
        format!(
            "return [...document.querySelectorAll('#dissipation [data-field=anode-voltage] .from-job')].some((said) => said.textContent.startsWith({words:?}))"
        )
    };
    browser.until("the field is marked", &marked("job")).await?;
    // A typed value is the reader's own, until it is kept.
    type_into(&browser, field, "330").await?;
    browser.until("it is the reader's own", &marked("The job has 321")).await?;
    let keep = "#dissipation [data-keep=anode-voltage]";
    browser.element(keep).await?.click().await?;
    browser.until("it is kept", &marked("job")).await?;
    open(&browser, JOB).await?;
    assert_eq!(stands(&browser, "anode-voltage").await?, "330 V");
    // Whatever was measured before a change is older than the amplifier.
    write(&browser, "change-what", "bias trimmer").await?;
    press(&browser, "change").await?;
    browser.living_page(&page_with("dissipation")).await?;
    browser.until("it is marked stale", &marked("Measured before")).await?;
    assert_eq!(browser.complaints().await?, [""; 0]);
    Ok(())
}

/// A file as an edition to come would write it.
fn of_a_later_edition(file: &str) -> String {
    file.replace(&format!("\"version\":{}", job::file::VERSION), "\"version\":99")
}

async fn a_damaged_file_changes_nothing_and_says_why(engine: Engine) -> WebDriverResult<()> {
    let browser = Browser::open(engine).await?;
    begin(&browser, "Two-valve head").await?;
    write(&browser, "anode-voltage", "438").await?;
    let whole = job::file::write(&job::Job::new("other", "Another head", job::Time::from_seconds(1)));
    let room = tempfile::tempdir().expect("a folder");
    for (text, why) in [
        (whole.replace("Another", "Any other"), "checksum"),
        (whole.chars().take(120).collect(), "ends in the middle"),
        ("{\"format\":\"else\"}".to_owned(), "not a job of this handbook"),
        (of_a_later_edition(&whole), "version 99"),
    ] {
        let file = room.path().join("job.json");
        std::fs::File::create(&file).and_then(|mut file| file.write_all(text.as_bytes())).expect("a file");
        browser.element("#jobs-import").await?.send_keys(file.to_string_lossy()).await?;
        let said = format!("return document.querySelector('#jobs .said').textContent.includes({why:?})");
        browser.until(&format!("it says {why}"), &said).await?;
        assert_eq!(browser.find_all(By::Css(".shelf li")).await?.len(), 1, "{why}: no job was added");
    }
    let file = room.path().join("whole.json");
    std::fs::write(&file, whole).expect("a file");
    browser.element("#jobs-import").await?.send_keys(file.to_string_lossy()).await?;
    browser
        .until(
            "the whole one is on the bench",
            "return document.querySelector('#survey-label').value === 'Another head'",
        )
        .await?;
    Ok(())
}

/// Does something with what the store keeps of its only job: `text` is that, `put` writes another. Gives what stands there
/// afterwards.
pub async fn in_the_store(browser: &Browser, what: &str) -> WebDriverResult<String> {
    let script = format!(
        "window.stored = null;
        (async () => {{
            const done = (request) => new Promise((well, ill) => {{ request.onsuccess = () => well(request.result); request.onerror = ill; }});
            const database = await done(indexedDB.open('standing-current'));
            const jobs = () => database.transaction('jobs', 'readwrite').objectStore('jobs');
            const [key] = await done(jobs().getAllKeys());
            const text = await done(jobs().get(key));
            const put = (text) => done(jobs().put(text, key));
            {what};
            window.stored = await done(jobs().get(key));
            database.close();
        }})().catch((why) => {{ window.stored = `refused: ${{why.target?.error ?? why}}`; }})"
    );
    browser.script(&script).await?;
    browser.until("the store answers", "return window.stored !== null").await?;
    Ok(browser.script("return stored").await?.as_str().unwrap_or_default().to_owned())
}

// A browser may put the page aside, to show it again when the reader goes back, with what it had begun at the store.
async fn a_page_left_in_the_middle_of_a_change_holds_up_no_other(engine: Engine) -> WebDriverResult<()> {
    let browser = Browser::open(engine).await?;
    begin(&browser, "Head").await?;
    for (wait, page) in [0, 1, 2, 4, 8].into_iter().zip([SHEET, "index.html", JOB, SHEET, "index.html"]) {
        let leave = format!(
            "const field = document.querySelector('#survey-anode-voltage');
            field.value = '43{wait}';
            field.dispatchEvent(new Event('input', {{ bubbles: true }}));
            setTimeout(() => location.assign(new URL('../{page}', location.href)), {wait})"
        );
        browser.script(&leave).await?;
        let left =
            format!("return location.pathname.endsWith('{page}') && document.readyState === 'complete'");
        browser.until("another page", &left).await?;
        open(&browser, JOB).await?;
        write(&browser, "lead", &format!("Left after {wait} ms")).await?;
        assert_eq!(trouble(&browser).await?, "", "left after {wait} ms");
    }
    Ok(())
}

async fn a_job_that_cannot_be_read_is_said_and_kept_as_it_is(engine: Engine) -> WebDriverResult<()> {
    let browser = Browser::open(engine).await?;
    begin(&browser, "Two-valve head").await?;
    write(&browser, "anode-voltage", "438").await?;
    let whole = in_the_store(&browser, "").await?;
    let newer = of_a_later_edition(&whole);
    for (spoilt, why) in [(&whole[..whole.len() / 2], "ends in the middle"), (&newer, "of version 99")] {
        in_the_store(&browser, &format!("await put({spoilt:?})")).await?;
        open(&browser, JOB).await?;
        let said = browser.element("#jobs .of-current").await?.text().await?;
        assert!(said.contains("Two-valve head") && said.contains(why), "{said}");
        assert!(trouble(&browser).await?.contains(why), "the survey says it too");
        // Whatever is done, it stays as it is.
        browser.element("[data-act=raw]").await?.click().await?;
        let handed = "return document.querySelector('#jobs .said').textContent.includes('as-kept.json')";
        browser.until("its text is handed over", handed).await?;
        let room = tempfile::tempdir().expect("a folder");
        let file = room.path().join("job.json");
        std::fs::write(&file, &whole).expect("a file");
        browser.element("#jobs-import").await?.send_keys(file.to_string_lossy()).await?;
        let refused =
            "return document.querySelector('#jobs .said').textContent.includes('Nothing was imported')";
        browser.until("no file goes over it", refused).await?;
        browser.page(crate::run::POWER_UP).await?;
        browser.until("the run is offered", "return !!document.querySelector('#page-run button')").await?;
        browser.element("#page-run button").await?.click().await?;
        let said = format!(
            "return document.querySelector('#page-run .stopped-job')?.textContent.includes({why:?}) === true"
        );
        browser.until("the run says it", &said).await?;
        assert_eq!(in_the_store(&browser, "").await?, spoilt, "{why}");
    }
    // Once it can be read it is there again.
    in_the_store(&browser, &format!("await put({whole:?})")).await?;
    open(&browser, JOB).await?;
    assert_eq!(stands(&browser, "anode-voltage").await?, "438 V");
    Ok(())
}

/// A picture of one dark pixel (PNG).
const PICTURE: &[u8] = &[
    0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a, 0x00, 0x00, 0x00, 0x0d, 0x49, 0x48, 0x44, 0x52, 0x00,
    0x00, 0x00, 0x01, 0x00, 0x00, 0x00, 0x01, 0x08, 0x00, 0x00, 0x00, 0x00, 0x3a, 0x7e, 0x9b, 0x55, 0x00,
    0x00, 0x00, 0x0a, 0x49, 0x44, 0x41, 0x54, 0x78, 0xda, 0x63, 0x60, 0x00, 0x00, 0x00, 0x02, 0x00, 0x01,
    0xe5, 0x27, 0xde, 0xfc, 0x00, 0x00, 0x00, 0x00, 0x49, 0x45, 0x4e, 0x44, 0xae, 0x42, 0x60, 0x82,
];

/// Presses a button with the keyboard, and waits until what it did is on disk.
async fn press_by_key(browser: &Browser, selector: &str) -> WebDriverResult<()> {
    browser.script("document.querySelector('.kept-at').textContent = ''").await?;
    let button = browser.element(selector).await?;
    button.focus().await?;
    button.send_keys(thirtyfour::Key::Enter + "").await?;
    until_kept(browser).await
}

async fn what_was_written_by_mistake_is_removed_and_put_back(engine: Engine) -> WebDriverResult<()> {
    let browser = Browser::open(engine).await?;
    begin(&browser, "Two-valve head").await?;
    write(&browser, "anode-voltage", "438").await?;
    write(&browser, "note", "A slip").await?;
    press(&browser, "note").await?;
    write(&browser, "change-what", "bias trimmer").await?;
    press(&browser, "change").await?;
    let stale = "return document.querySelector('#survey-anode-voltage-problem').textContent";
    assert!(browser.script(stale).await?.as_str().unwrap_or_default().contains("before the amplifier"));
    for list in ["notes", "changes"] {
        let button = format!("#survey-{list} [data-entry]");
        let high = format!("return document.querySelector('{button}').getBoundingClientRect().height");
        assert!(
            browser.script(&high).await?.as_f64().unwrap_or_default() >= 44.0,
            "{list}: a target for a thumb"
        );
        press_by_key(&browser, &button).await?;
        assert_eq!(browser.element(&button).await?.text().await?, "Put back", "{list}");
    }
    assert_eq!(browser.script(stale).await?, "", "a change that was never made makes nothing stale");
    open(&browser, SHEET).await?;
    let sheet = browser.element("#sheet").await?.text().await?;
    assert!(!sheet.contains("bias trimmer") && sheet.contains("Nothing was changed"), "{sheet}");
    open(&browser, JOB).await?;
    for list in ["notes", "changes"] {
        press_by_key(&browser, &format!("#survey-{list} [data-entry]")).await?;
    }
    assert!(browser.script(stale).await?.as_str().unwrap_or_default().contains("before the amplifier"));
    let note = browser.element("#survey-notes").await?.text().await?;
    assert!(note.contains("A slip") && !note.contains("Removed"), "{note}");
    // A photograph is asked for once more, and is gone.
    let room = tempfile::tempdir().expect("a folder");
    let file = room.path().join("picture.png");
    std::fs::write(&file, PICTURE).expect("a file");
    browser.script("document.querySelector('.kept-at').textContent = ''").await?;
    browser.element("#survey-photo").await?.send_keys(file.to_string_lossy()).await?;
    until_kept(&browser).await?;
    let shown = "return document.querySelector('#survey-photos img')?.naturalWidth";
    assert_eq!(browser.script(shown).await?, 1, "the picture is shown");
    browser.element("#survey-photos summary").await?.click().await?;
    press_by_key(&browser, "#survey-photos [data-entry]").await?;
    for _ in 0..2 {
        assert!(browser.find_all(By::Css("#survey-photos figure")).await?.is_empty());
        open(&browser, JOB).await?;
    }
    assert_eq!(browser.complaints().await?, [""; 0]);
    Ok(())
}

// Two tabs of one browser are two windows of the driver; one engine shows how the store takes turns.
#[tokio::test(flavor = "multi_thread")]
async fn two_tabs_lose_nothing_of_each_other() -> WebDriverResult<()> {
    let browser = Browser::open(Engine::Chromium).await?;
    begin(&browser, "Two-valve head").await?;
    let first = browser.window().await?;
    let second = browser.new_tab().await?;
    browser.switch_to_window(second.clone()).await?;
    open(&browser, JOB).await?;
    for (at, (window, field, text)) in [
        (&first, "ht", "462"),
        (&second, "screen-voltage", "434"),
        (&first, "heater-voltage", "6.2"),
        (&second, "ht-unloaded", "490"),
    ]
    .into_iter()
    .enumerate()
    {
        browser.switch_to_window(window.clone()).await?;
        write(&browser, field, text).await?;
        assert_eq!(browser.complaints().await?, [""; 0], "{at}");
    }
    for window in [&first, &second] {
        browser.switch_to_window(window.clone()).await?;
        for (field, text) in [
            ("ht", "462 V"),
            ("screen-voltage", "434 V"),
            ("heater-voltage", "6.2 V"),
            ("ht-unloaded", "490 V"),
        ] {
            // The field in use keeps what was typed there.
            let bare = text.trim_end_matches(" V");
            let there = format!(
                "return ['{text}', '{bare}'].includes(document.querySelector('#survey-{field}').value)"
            );
            browser.until(&format!("{field} is in both"), &there).await?;
        }
    }
    open(&browser, JOB).await?;
    assert_eq!(stands(&browser, "ht").await?, "462 V");
    assert_eq!(stands(&browser, "screen-voltage").await?, "434 V");
    Ok(())
}

async fn trouble(browser: &Browser) -> WebDriverResult<String> {
    let said = browser.script("return document.querySelector('#survey .stopped-job').textContent").await?;
    Ok(said.as_str().unwrap_or_default().to_owned())
}

// Only by Chromium's debugging protocol can a disk be full, a store missing, a connection lost.
#[tokio::test(flavor = "multi_thread")]
async fn a_full_disk_is_said_and_what_is_written_is_kept_once_there_is_room() -> WebDriverResult<()> {
    let browser = Browser::open_new(Engine::Chromium).await?;
    // Before anything is written: the browser remembers for a while how much room there was.
    open(&browser, JOB).await?;
    let origin = browser.script("return location.origin").await?;
    let quota = |bytes: u64| json!({ "origin": origin, "quotaSize": bytes });
    browser.debug("Storage.overrideQuotaForOrigin", quota(1)).await?;
    begin(&browser, "Two-valve head").await?;
    type_into(&browser, "#survey-ht", "462").await?;
    let said = "return document.querySelector('#survey .stopped-job').textContent.includes('disk is full')";
    browser.until("it says that the disk is full", said).await?;
    // The page goes on with what is written, and other pages' calculators have it.
    browser.debug("Storage.overrideQuotaForOrigin", quota(1_000_000_000)).await?;
    write(&browser, "screen-voltage", "434").await?;
    assert_eq!(trouble(&browser).await?, "");
    open(&browser, JOB).await?;
    assert_eq!(stands(&browser, "ht").await?, "462 V");
    assert_eq!(stands(&browser, "screen-voltage").await?, "434 V");
    Ok(())
}

#[tokio::test(flavor = "multi_thread")]
async fn without_a_store_the_page_says_that_nothing_is_kept() -> WebDriverResult<()> {
    let browser = Browser::open(Engine::Chromium).await?;
    browser
        .before_pages("IDBFactory.prototype.open = () => { throw new DOMException('no', 'SecurityError'); };")
        .await?;
    begin(&browser, "Two-valve head").await?;
    assert!(trouble(&browser).await?.contains("keeps nothing here"));
    type_into(&browser, "#survey-ht", "462").await?;
    browser
        .until(
            "it says so beside the form",
            "return document.querySelector('.kept-at').textContent.startsWith('Not kept')",
        )
        .await?;
    // In this page the job is whole: it can be exported.
    browser.element("[data-act=export]").await?.click().await?;
    browser
        .until(
            "it is handed over",
            "return document.querySelector('#jobs .said').textContent.includes('as a file')",
        )
        .await?;
    assert_eq!(stands(&browser, "ht").await?, "462 V");
    Ok(())
}

#[tokio::test(flavor = "multi_thread")]
async fn a_lost_connection_is_opened_once_more() -> WebDriverResult<()> {
    let browser = Browser::open(Engine::Chromium).await?;
    let watch = "
        const open = IDBFactory.prototype.open;
        window.opened = [];
        IDBFactory.prototype.open = function (...with_) {
            const request = open.apply(this, with_);
            request.addEventListener('success', () => opened.push(request.result));
            return request;
        };";
    browser.before_pages(watch).await?;
    begin(&browser, "Two-valve head").await?;
    write(&browser, "ht", "462").await?;
    browser.script("window.before = opened.length; opened.forEach((database) => database.close())").await?;
    write(&browser, "screen-voltage", "434").await?;
    assert_eq!(trouble(&browser).await?, "");
    assert_eq!(browser.script("return opened.length > before").await?, true, "it was opened once more");
    open(&browser, JOB).await?;
    assert_eq!(stands(&browser, "screen-voltage").await?, "434 V");
    Ok(())
}

/// How often the browser is killed: 5 times, or as many as `KILLS` says (`KILLS=100 cargo xtask test`).
fn kills() -> usize {
    std::env::var("KILLS").ok().and_then(|kills| kills.parse().ok()).unwrap_or(5)
}

// The folder of what a browser keeps is given to it, and its process is known: by Chromium's own options.
#[tokio::test(flavor = "multi_thread")]
async fn a_killed_browser_loses_one_character_at_most() -> WebDriverResult<()> {
    let profile = tempfile::tempdir().expect("a folder for the browser");
    let mut text = String::new();
    for round in 0..kills() {
        let browser = Browser::open_in(profile.path()).await?;
        if round == 0 {
            begin(&browser, "Two-valve head").await?;
        } else {
            open(&browser, JOB).await?;
        }
        let there = stands(&browser, "note").await?;
        let lost = text.chars().count().saturating_sub(there.chars().count());
        assert!(text.starts_with(&there), "round {round}: `{there}` is not how `{text}` begins");
        assert!(lost <= 1, "round {round}: of `{text}` only `{there}` is there");
        text = there;
        // Typed at the pace of a quick hand, and killed at once after the last key, at another moment in each round.
        for at in 0..3 + round % 5 {
            let letter = char::from(b'a' + u8::try_from((round + at) % 26).unwrap_or_default());
            let script = format!(
                "const field = document.querySelector('#survey-note');
                 field.value += {letter:?}; field.dispatchEvent(new InputEvent('input', {{ bubbles: true }}))"
            );
            browser.script(&script).await?;
            text.push(letter);
            tokio::time::sleep(Duration::from_millis(100)).await;
        }
        let letter = "z";
        browser.script(&format!("const field = document.querySelector('#survey-note'); field.value += '{letter}'; field.dispatchEvent(new InputEvent('input', {{ bubbles: true }}))")).await?;
        text.push_str(letter);
        tokio::time::sleep(Duration::from_millis(round as u64 * 7 % 40)).await;
        kill(profile.path());
    }
    Ok(())
}

#[tokio::test(flavor = "multi_thread")]
async fn after_a_killed_browser_calculators_show_what_the_job_shows_and_the_run_goes_on()
-> WebDriverResult<()> {
    let profile = tempfile::tempdir().expect("a folder for the browser");
    let browser = Browser::open_in(profile.path()).await?;
    begin(&browser, "Two-valve head").await?;
    write(&browser, "anode-voltage", "408").await?;
    // What a browser writes when it likes, it has written by now or not.
    tokio::time::sleep(Duration::from_secs(2)).await;
    write(&browser, "anode-voltage", "413").await?;
    kill(profile.path());
    let browser = Browser::open_in(profile.path()).await?;
    browser.living_page(&page_with("dissipation")).await?;
    let field = "#dissipation input[name='anode-voltage']";
    let value = browser.script(&format!("return document.querySelector(\"{field}\").value")).await?;
    assert_eq!(value, "413 V");
    let fetched =
        "return performance.getEntriesByType('resource').some(({ name }) => /job-.*wasm/.test(name))";
    assert_eq!(browser.script(fetched).await?, false, "without the module of the job");
    browser.page(crate::run::POWER_UP).await?;
    browser.until("it can be run", "return !!document.querySelector('#page-run button')").await?;
    browser.script("document.querySelector('#page-run button').click()").await?;
    browser.until("it is offered", "return !!document.querySelector('[data-run=begin]')").await?;
    browser.script("document.querySelector('[data-run=begin]').click()").await?;
    browser.until("it runs", "return document.documentElement.dataset.runScreen === 'step'").await?;
    // As long as a strict transaction takes.
    tokio::time::sleep(Duration::from_secs(1)).await;
    kill(profile.path());
    let browser = Browser::open_in(profile.path()).await?;
    browser.page(crate::run::POWER_UP).await?;
    browser.until("it goes on", "return document.documentElement.dataset.runScreen === 'step'").await?;
    assert_eq!(browser.script("return Object.keys(localStorage).join()").await?, "");
    Ok(())
}

/// Kills the browser as a power failure would, without a word: the process that was started on this profile.
fn kill(profile: &Path) {
    let ours = format!("--user-data-dir={}", profile.display());
    let is_it = |folder: &Path| {
        let words = std::fs::read(folder.join("cmdline")).unwrap_or_default();
        let words: Vec<&[u8]> = words.split(|byte| *byte == 0).collect();
        words.contains(&ours.as_bytes()) && !words.iter().any(|word| word.starts_with(b"--type="))
    };
    let processes = std::fs::read_dir("/proc").expect("the list of processes").flatten();
    let browser =
        processes.map(|process| process.path()).find(|folder| is_it(folder)).expect("the browser runs");
    let id = browser.file_name().unwrap_or_default();
    assert!(Command::new("kill").arg("-KILL").arg(id).status().expect("kill runs").success());
    // The next one waits until it is gone; until its driver notices, a shadow without words remains.
    while is_it(&browser) {
        std::thread::sleep(Duration::from_millis(5));
    }
}
