//! Pages on paper: printed to PDF and read back by `pdftotext`.
//! Only in Chromium, by its debugging protocol.

use std::process::Command;

use serde_json::json;
use tests::browser::Browser;
use tests::engine::Engine;
use thirtyfour::error::WebDriverResult;

/// Prints a page on A4 and gives its words, page by page.
async fn printed(path: &str) -> WebDriverResult<Vec<String>> {
    let browser = Browser::open(Engine::Chromium).await?;
    browser.living_page(path).await?;
    words_of(&browser).await
}

/// A4 and Letter, in inches.
pub const PAPERS: [(f64, f64); 2] = [(8.27, 11.69), (8.5, 11.0)];

/// Prints the page that is open on A4 and gives its words, page by page.
pub async fn words_of(browser: &Browser) -> WebDriverResult<Vec<String>> {
    let text = text_of(browser, PAPERS[0], "-layout").await?;
    // A form feed ends a page, the last too.
    let sheets = text.trim_end_matches('\u{c}').split('\u{c}');
    Ok(sheets.map(|sheet| sheet.split_whitespace().collect::<Vec<_>>().join(" ")).collect())
}

/// Prints the page that is open, and gives each of its words with the inches between it and the right edge of the paper.
pub async fn room_right_of_words(
    browser: &Browser,
    paper: (f64, f64),
) -> WebDriverResult<Vec<(String, f64)>> {
    let text = text_of(browser, paper, "-bbox").await?;
    let word = |line: &str| {
        let (_, rest) = line.split_once("xMax=\"")?;
        let (points, rest) = rest.split_once('"')?;
        let (_, word) = rest.split_once('>')?;
        let points: f64 = points.parse().ok()?;
        Some((word.trim_end_matches("</word>").to_owned(), paper.0 - points / 72.0))
    };
    Ok(text.lines().filter_map(word).collect())
}

/// Prints the page that is open and gives what `pdftotext` says of it.
async fn text_of(browser: &Browser, paper: (f64, f64), how: &str) -> WebDriverResult<String> {
    let size = json!({ "paperWidth": paper.0, "paperHeight": paper.1, "preferCSSPageSize": true });
    let pdf = browser.debug("Page.printToPDF", size).await?;
    let room = tempfile::tempdir().expect("a folder for the test");
    let file = room.path().join("page.pdf");
    // Decoded by GNU coreutils: the protocol gives base64.
    let text = room.path().join("page.b64");
    std::fs::write(&text, pdf["data"].as_str().expect("a PDF")).expect("a file");
    let decoded = Command::new("base64").arg("--decode").arg(&text).output().expect("base64 runs");
    std::fs::write(&file, decoded.stdout).expect("a file");
    let words = Command::new("pdftotext").arg(how).arg(&file).arg("-").output().expect("pdftotext runs");
    assert!(words.status.success(), "{}", String::from_utf8_lossy(&words.stderr));
    Ok(String::from_utf8_lossy(&words.stdout).into_owned())
}

#[tokio::test(flavor = "multi_thread")]
async fn a_procedure_prints_with_its_stops_and_blanks_and_nothing_to_press() -> WebDriverResult<()> {
    let sheets = printed("output-stage/set-idle-current.html").await?;
    let all = sheets.join(" ");
    for part in
        ["Set the idle current", "STOP", "Probes", "Expect", "Reading", "discharge", "Local electrical codes"]
    {
        assert!(all.to_lowercase().contains(&part.to_lowercase()), "`{part}` is not on the paper");
    }
    for part in [
        "Skip to the text",
        "Copy the answer",
        "Clear my entries",
        "QR code",
        "new edition",
        "Kept on this device",
    ] {
        assert!(!all.contains(part), "`{part}` is on the paper");
    }
    // Three calculators among the steps; their working, which would fill as many again, stays off the paper. Some sixty
    // readings: every socket's, by hand and by harness, with and without cathode resistors.
    assert!(sheets.len() <= 16, "{} sheets", sheets.len());
    Ok(())
}

/// A reading is a row: what is read, and beside it where it is written.
#[tokio::test(flavor = "multi_thread")]
async fn the_longest_procedure_is_sixteen_sheets_with_a_row_for_each_reading() -> WebDriverResult<()> {
    let browser = Browser::open(Engine::Chromium).await?;
    browser.living_page(crate::run::POWER_UP).await?;
    let sheets = words_of(&browser).await?;
    assert!(sheets.len() <= 16, "{} sheets", sheets.len());
    let rows = browser.script("return document.querySelectorAll('div.reading').length").await?;
    assert!(rows.as_u64() > Some(100), "{rows} readings");
    let blanks =
        browser.script("return document.querySelectorAll('div.reading .blanks > div').length").await?;
    // Each has its unit at the end of its line; what is seen has no unit.
    assert!(blanks.as_u64() >= rows.as_u64(), "{blanks} blanks for {rows} readings");
    let all = sheets.join(" ");
    for part in [
        "Probes:",
        "Expect:",
        "Stop if under 12 kΩ",
        "Only where “With meters clipped on by hand”",
        "A1",
        "B2",
    ] {
        assert!(all.contains(part), "`{part}` is not on the paper");
    }
    Ok(())
}

#[tokio::test(flavor = "multi_thread")]
async fn a_calculator_prints_with_its_answer_and_verdict() -> WebDriverResult<()> {
    let all = printed("output-stage/dissipation.html").await?.join(" ");
    for part in ["Dissipation at idle", "438 V", "14.2 W", "within", "Limit: 30 W", "Sources"] {
        assert!(all.contains(part), "`{part}` is not on the paper");
    }
    Ok(())
}
