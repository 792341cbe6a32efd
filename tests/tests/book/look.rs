//! Every page, opened: it comes alive quietly, and what is read and touched is large enough, on a phone and on a tablet.

use tests::browser::{Browser, PHONE, TABLET};
use tests::engine::Engine;
use tests::site::unlike_pages;
use thirtyfour::error::WebDriverResult;

tests::in_every_engine! {
    every_page_comes_alive_with_nothing_too_small_too_wide_or_moving,
}

/// Everything touched is at least 44 by 44 px. A link inside running text is as high as its line (WCAG 2.5.8 and 2.5.5
/// leave such links out), and a label that belongs to a tick is part of what is touched.
pub const TOO_SMALL: &str = "
    const inText = (element) => element.matches('a') && element.closest('p, li, dd, td, th, caption, figcaption')
        && element.parentElement.textContent.trim() !== element.textContent.trim();
    const area = (element) => {
        const own = element.getBoundingClientRect();
        const label = element.matches('input[type=checkbox], input[type=radio]') && element.labels[0];
        const box = label ? label.getBoundingClientRect() : own;
        return { width: Math.max(own.width, box.width), height: Math.max(own.height, box.height) };
    };
    return [...document.querySelectorAll('a[href], button, input, select, textarea, summary, [tabindex]')]
        .filter((element) => element.checkVisibility() && element.tabIndex >= 0 && !inText(element))
        .filter((element) => !element.matches('.skip:not(:focus)'))
        .map((element) => [element, area(element)])
        .filter(([, { width, height }]) => width < 43.99 || height < 43.99)
        .map(([element, { width, height }]) =>
            `${element.outerHTML.slice(0, 120)} is ${width.toFixed(1)} by ${height.toFixed(1)} px`);";

/// Running text is at least 18 px. Subscripts and superscripts belong to the word they stand at, in HTML and MathML.
const SMALL_TYPE: &str = "
    const found = new Set();
    const words = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
    while (words.nextNode()) {
        const element = words.currentNode.parentElement;
        if (!words.currentNode.data.trim() || !element.checkVisibility() || element.closest('sub, sup, math')) continue;
        let size = parseFloat(getComputedStyle(element).fontSize);
        const drawing = element.closest('svg');
        if (drawing) size *= drawing.getScreenCTM().a;
        if (size < 17.99) found.add(`${size.toFixed(1)} px: ${words.currentNode.data.trim().slice(0, 60)}`);
    }
    return [...found];";

/// Nothing makes a page scroll sideways.
const SIDEWAYS: &str = "
    const screen = document.documentElement.clientWidth;
    if (document.documentElement.scrollWidth <= screen) return [];
    return [...document.body.querySelectorAll('*')]
        .filter((element) => element.getBoundingClientRect().right > screen + 0.5)
        .map((element) => `${element.outerHTML.slice(0, 120)} ends at ${element.getBoundingClientRect().right.toFixed(0)} px of ${screen}`);";

/// What moves, or would: nothing may, for any reader.
const MOVING: &str = "
    return [...document.body.querySelectorAll('*')].filter((element) => {
        const style = getComputedStyle(element);
        return style.animationName !== 'none' || style.transitionDuration !== '0s' || style.scrollBehavior !== 'auto';
    }).map((element) => element.outerHTML.slice(0, 120));";

/// A desktop screen of 1280 by 1024 pixels, magnified four times (WCAG 1.4.10).
const MAGNIFIED: (u32, u32) = (320, 256);

/// Each screen, and what could be wrong with a page on it. Only Chromium shows pages as narrow as a phone.
const SCREENS: [((u32, u32), &[&str]); 3] = [
    (TABLET, &[TOO_SMALL, SMALL_TYPE, SIDEWAYS, MOVING]),
    (PHONE, &[TOO_SMALL, SMALL_TYPE, SIDEWAYS]),
    (MAGNIFIED, &[SIDEWAYS]),
];

/// Every page comes alive with an empty console and is looked at with everything unfolded, on one screen after another.
async fn every_page_comes_alive_with_nothing_too_small_too_wide_or_moving(
    engine: Engine,
) -> WebDriverResult<()> {
    let screens = if engine == Engine::Chromium { &SCREENS[..] } else { &SCREENS[..1] };
    let browser = Browser::open(engine).await?;
    let mut all = Vec::new();
    for page in unlike_pages() {
        browser.living_page(&page.path).await?;
        let found = browser.complaints().await?;
        all.extend(found.into_iter().map(|complaint| format!("{}: {complaint}", page.path)));
        browser
            .script("document.querySelectorAll('details').forEach(details => details.open = true)")
            .await?;
        for (screen, faults) in screens {
            if screens.len() > 1 {
                browser.screen(*screen).await?;
            }
            for fault in *faults {
                let found: Vec<String> = serde_json::from_value(browser.script(fault).await?)?;
                all.extend(found.into_iter().map(|fault| format!("{}, {screen:?}: {fault}", page.path)));
            }
        }
    }
    assert!(all.is_empty(), "\n{}", all.join("\n"));
    Ok(())
}
