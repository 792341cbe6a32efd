//! The hand-over sheet: printed, and sent as a link without names.

use job::{Change, ChangeKind, Job, Judged, Reading, Time};
use tests::browser::Browser;
use tests::engine::Engine;
use thirtyfour::error::WebDriverResult;

use crate::job::{JOB, SHEET, begin, open, press, write};
use crate::paper::{PAPERS, room_right_of_words, words_of};

tests::in_every_engine! {
    a_sheet_goes_as_a_link_that_says_nothing_of_whose_it_is,
}

/// A job with changes and advice, its hand-over sheet open.
async fn worked_on(browser: &Browser) -> WebDriverResult<()> {
    begin(browser, "Two-valve head").await?;
    write(browser, "anode-voltage", "438").await?;
    for (what, place, before, value) in [
        ("grid leak", "side A", "220 kΩ", "100 kΩ"),
        ("grid leak", "side B", "220 kΩ", "100 kΩ"),
        ("screen stopper", "socket 1", "470 Ω 1 W", "470 Ω 5 W"),
    ] {
        browser.script("document.querySelector('#survey-change-kind').value = 'swapped'").await?;
        for (field, text) in
            [("what", what), ("place", place), ("before", before), ("value", value), ("kept", "bag 3")]
        {
            write(browser, &format!("change-{field}"), text).await?;
        }
        press(browser, "change").await?;
    }
    write(browser, "advise", "An HT fuse, rated for DC").await?;
    press(browser, "advise").await?;
    open(browser, SHEET).await
}

// The page printed by the debugging protocol.
#[tokio::test(flavor = "multi_thread")]
async fn the_sheet_prints_on_two_sheets_at_most() -> WebDriverResult<()> {
    let browser = Browser::open(Engine::Chromium).await?;
    worked_on(&browser).await?;
    let sheets = words_of(&browser).await?;
    let all = sheets.join(" ");
    for part in [
        "Two-valve head",
        "Anode voltage",
        "438 V",
        "before the last change",
        "grid leak, side A",
        "100 kΩ",
        "Put the old one back: screen stopper (socket 1), 470 Ω 1 W; kept: bag 3",
        "An HT fuse, rated for DC",
        "How to put it back",
        "Readings that prove it",
    ] {
        assert!(all.contains(part), "`{part}` is not on the sheet: {all}");
    }
    for part in ["Print this sheet", "Contents", "made of the job"] {
        assert!(!all.contains(part), "`{part}` is on the sheet");
    }
    assert!(sheets.len() <= 2, "{} sheets", sheets.len());
    Ok(())
}

/// An ordinary job: a part with much to say of where the old one is kept, a reading that is noted, a word without an end.
fn wordy() -> Job {
    let at = Time::from_seconds(1_795_641_062);
    let mut job = Job::new("wordy", &"Serial".repeat(40), at);
    job.begin("p.html", "step-1", at);
    let [what, place, before, value] =
        ["coupling capacitor", "C7, side A", "100 nF 400 V", "100 nF 630 V"].map(str::to_owned);
    let kept = "in the bag with the label, taped inside the back panel beside the mains inlet".to_owned();
    job.change(Change { at, kind: ChangeKind::Swapped, what, place, value, before, kept });
    job.readings.push(Reading {
        procedure: "p.html".into(),
        step: "step-1".into(),
        reading: "idle".into(),
        blank: String::new(),
        quantity: "Idle current of the first output valve".into(),
        text: "38 mA".into(),
        unit: "mA".into(),
        at,
        judged: Judged::Noted,
        range: "from 30 mA to 48 mA, 70 % of what the valve may dissipate".into(),
        why: "colder than expected, which harms nothing and is what the owner asked for".into(),
        purpose: job::procedure::Purpose::Live,
        from_file: false,
        early: String::new(),
        run: 1,
        changes_before: 1,
        inputs_used: None,
    });
    job
}

// The page printed by the debugging protocol.
#[tokio::test(flavor = "multi_thread")]
async fn no_word_of_the_sheet_is_cut_off_at_the_edge_of_the_paper() -> WebDriverResult<()> {
    let browser = Browser::open(Engine::Chromium).await?;
    open(&browser, JOB).await?;
    let room = tempfile::tempdir().expect("a folder");
    let file = room.path().join("job.json");
    std::fs::write(&file, job::file::write(&wordy())).expect("a file");
    browser.element("#jobs-import").await?.send_keys(file.to_string_lossy()).await?;
    let there = "return document.querySelector('#jobs .said').textContent.startsWith('Imported')";
    browser.until("the job is taken in", there).await?;
    open(&browser, SHEET).await?;
    let wider = "return document.documentElement.scrollWidth > document.documentElement.clientWidth";
    assert_eq!(browser.script(wider).await?, false, "the screen is as wide as before");
    for paper in PAPERS {
        let words = room_right_of_words(&browser, paper).await?;
        let all: Vec<&str> = words.iter().map(|(word, _)| word.as_str()).collect();
        for word in ["inlet", "owner", "dissipate", "21:11", "When", "kept"] {
            assert!(all.iter().any(|there| there.contains(word)), "{word} is not on {paper:?}: {all:?}");
        }
        // The margin of the page is 11 mm.
        let cut: Vec<_> = words.iter().filter(|(_, room)| *room < 0.42).collect();
        assert!(cut.is_empty(), "{paper:?}: {cut:?}");
    }
    Ok(())
}

async fn a_sheet_goes_as_a_link_that_says_nothing_of_whose_it_is(engine: Engine) -> WebDriverResult<()> {
    let browser = Browser::open(engine).await?;
    worked_on(&browser).await?;
    browser.element("#sheet-content details summary").await?.click().await?;
    browser.element("[data-act=sheet-link]").await?.click().await?;
    browser.until("the link", "return !!document.querySelector('#sheet-link .address a')").await?;
    let address = browser.element("#sheet-link .address a").await?.attr("href").await?.unwrap_or_default();
    let (_, fragment) = address.split_once('#').unwrap_or_default();
    assert!(fragment.starts_with("sheet.1."), "{fragment}");

    // Anyone who opens it has no job on the device, and has none afterwards.
    let other = Browser::open(engine).await?;
    open(&other, &format!("{SHEET}#{fragment}")).await?;
    let came = "return document.querySelector('#sheet-content')?.textContent.includes('This hand-over sheet came with a link')";
    other.until("what came is shown", came).await?;
    let shown = other.element("#sheet").await?.text().await?;
    for part in [
        "438 V",
        "grid leak, side A",
        "Put the old one back: screen stopper (socket 1), 470 Ω 1 W",
        "An HT fuse",
    ] {
        assert!(shown.contains(part), "`{part}` is not on the sheet: {shown}");
    }
    for part in ["Two-valve head", "bag 3"] {
        assert!(!shown.contains(part), "`{part}` went along: {shown}");
    }
    assert!(
        other.find_all(thirtyfour::By::Css("[data-act=sheet-link]")).await?.is_empty(),
        "it can be looked at"
    );
    other.element("[data-act=own-sheet]").await?.click().await?;
    let left = "return !location.hash && !document.querySelector('#sheet .came')";
    other.until("the link is left", left).await?;
    open(&other, crate::job::JOB).await?;
    assert!(other.element("#jobs").await?.text().await?.contains("There is no job on this device yet"));
    // One that was cut on its way says so, in a page that was open before too.
    open(&other, SHEET).await?;
    let cut = &fragment[..fragment.len() / 2];
    other.script(&format!("location.hash = '{cut}'")).await?;
    let said =
        "return document.querySelector('#sheet-content')?.textContent.includes('cut short on its way')";
    other.until("it says that it was cut", said).await?;
    assert_eq!(other.complaints().await?, [""; 0]);
    assert_eq!(browser.complaints().await?, [""; 0]);
    Ok(())
}
