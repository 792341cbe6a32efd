//! Charts: no letter touches a line, on another or beyond an edge; both ends of an axis are numbered.

use tests::browser::{Browser, PHONE, TABLET};
use tests::engine::Engine;
use thirtyfour::error::WebDriverResult;

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
