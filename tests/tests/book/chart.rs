//! Charts: no letter touches a line, on another or beyond an edge; both ends of an axis are numbered.

use tests::browser::{Browser, PHONE, TABLET};
use tests::engine::Engine;
use thirtyfour::error::WebDriverResult;

tests::in_every_engine! { a_chart_is_read_anywhere_by_keys_and_by_a_finger }

/// The cursor of the chart that is read.
const CURSOR: &str = "[data-calculator=coupling] .cursor";

/// The cursor is a slider over the plot: keys move it, and a tap puts it where the tap is.
async fn a_chart_is_read_anywhere_by_keys_and_by_a_finger(engine: Engine) -> WebDriverResult<()> {
    let browser = Browser::open(engine).await?;
    browser.living_page(&tests::site::page_with("coupling")).await?;
    let read = "return document.querySelector('[data-calculator=coupling] .read').innerText";
    assert!(browser.script(read).await?.as_str().is_some_and(|read| read.starts_with("Touch the chart")));
    browser.element(CURSOR).await?.send_keys(thirtyfour::Key::Right + "").await?;
    let said = |at: u32| {
        format!(
            "return document.querySelector('{CURSOR}').value === '{at}' && document.querySelector('{CURSOR}').getAttribute('aria-valuetext') === document.querySelector('[data-calculator=coupling] .read').textContent && document.querySelector('[data-calculator=coupling] .read').innerText.includes('Hz')"
        )
    };
    browser.until("a key has moved the cursor", &said(1)).await?;
    let first = browser.script(read).await?;
    // In the middle, where a driver clicks.
    browser.element(CURSOR).await?.click().await?;
    let middle = format!("const at = +document.querySelector('{CURSOR}').value; return at > 95 && at < 105");
    browser.until("a tap has moved the cursor", &middle).await?;
    assert_ne!(browser.script(read).await?, first);
    // It stays there while a field is edited, and reads the new curve.
    let before = browser.script(read).await?;
    crate::calculator::type_into(&browser, "[data-calculator=coupling] [name=capacitance]", "10n").await?;
    browser.until("the curve under the cursor is another", &format!("{read} !== {before}")).await?;
    browser.until("the cursor stays", &middle).await
}

/// A desk.
const DESK: (u32, u32) = (1440, 900);

/// What is wrong with the charts of the open page, and how many letters were looked at. Boxes of type hold room above and
/// below the letters: a tenth of a line may overlap.
const FAULTS: &str = "
    const faults = [];
    let seen = 0;
    for (const chart of document.querySelectorAll('.chart')) {
        const box = (element) => element.getBoundingClientRect();
        const plot = box(chart.querySelector('.plot'));
        const labels = [...chart.querySelectorAll('text, p')].filter((label) => label.checkVisibility());
        seen += labels.length;
        const name = (label) => `${chart.closest('section, figure').id || document.title}: “${label.textContent}”`;
        const meet = (one, other) => one.left < other.right - 1 && other.left < one.right - 1
            && one.top + 4 < other.bottom && other.top + 4 < one.bottom;
        labels.forEach((label, place) => {
            const at = box(label);
            if (label.matches('text') && meet(at, plot)) faults.push(`${name(label)} lies in the plot`);
            if (at.left < -0.5 || at.right > document.documentElement.clientWidth + 0.5) faults.push(`${name(label)} is cut at the edge`);
            for (const other of labels.slice(place + 1).filter((other) => other.matches('text') || label.matches('text')))
                if (meet(at, box(other))) faults.push(`${name(label)} lies on “${other.textContent}”`);
        });
        const across = [...chart.querySelectorAll('.across-ticks text')].filter((label) => label.checkVisibility());
        const ends = across.map((label) => { const { left, right } = box(label); return (left + right) / 2; });
        for (const [end, edge] of [[ends[0], plot.left], [ends.at(-1), plot.right]])
            if (Math.abs(end - edge) > 0.12 * plot.width) faults.push(`${name(across[0])}: an end of the axis has no number`);
    }
    return [seen, faults];";

// The sizes of screens are Chromium's.
#[tokio::test(flavor = "multi_thread")]
async fn no_letter_of_a_chart_lies_on_a_line_or_beyond_an_edge() -> WebDriverResult<()> {
    let browser = Browser::open(Engine::Chromium).await?;
    let (mut seen, mut faults) = (0, vec![]);
    for page in tests::site::pages().iter().filter(|page| !page.all(".chart").is_empty()) {
        browser.living_page(&page.path).await?;
        for size in [TABLET, PHONE, DESK] {
            browser.screen(size).await?;
            let found = browser.script(FAULTS).await?;
            seen += found[0].as_u64().unwrap_or(0);
            let here = found[1].as_array().into_iter().flatten().filter_map(|fault| fault.as_str());
            faults.extend(here.map(|fault| format!("{} at {size:?}: {fault}", page.path)));
        }
    }
    assert!(faults.is_empty(), "\n{}", faults.join("\n"));
    assert!(seen > 1000, "{seen} letters were looked at");
    Ok(())
}
