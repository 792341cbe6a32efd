//! What can be seen to be wrong with an open page: what is read or touched is too small, the page is too wide, something
//! moves. Every page is looked at where it is opened anyway (`offline.rs`).

use serde_json::Value;
use tests::browser::{Browser, PHONE, TABLET};
use tests::engine::Engine;
use thirtyfour::error::WebDriverResult;

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

/// Running text is at least 18 px. Subscripts and superscripts belong to the word they are at, in HTML and MathML.
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

/// What is wrong with the open page, with everything unfolded, on one screen after another.
pub async fn faults(browser: &Browser, engine: Engine) -> WebDriverResult<Vec<String>> {
    let screens = if engine == Engine::Chromium { &SCREENS[..] } else { &SCREENS[..1] };
    browser.script("document.querySelectorAll('details').forEach(details => details.open = true)").await?;
    let mut all = Vec::new();
    for (screen, probes) in screens {
        if screens.len() > 1 {
            browser.screen(*screen).await?;
        }
        for probe in *probes {
            let found: Vec<String> = serde_json::from_value(browser.script(probe).await?)?;
            all.extend(found.into_iter().map(|fault| format!("{screen:?}: {fault}")));
        }
    }
    if screens.len() > 1 {
        browser.screen(TABLET).await?;
    }
    Ok(all)
}

// A probe that finds nothing anywhere would pass every page. Styles are set by the script: the page's policy forbids others.
#[tokio::test(flavor = "multi_thread")]
async fn each_probe_finds_what_is_wrong() -> WebDriverResult<()> {
    let browser = Browser::open(Engine::Chromium).await?;
    browser.page("index.html").await?;
    for (probe, wrong) in [
        (
            TOO_SMALL,
            "made.type = 'button'; made.textContent = 'go'; made.style.cssText = 'min-height: 0; height: 43px'",
        ),
        (SMALL_TYPE, "made.textContent = 'small'; made.style.fontSize = '17px'"),
        (SIDEWAYS, "made.style.cssText = 'display: block; width: 3000px'"),
        (MOVING, "made.style.transitionDuration = '1s'"),
    ] {
        assert_eq!(browser.script(probe).await?, Value::Array(vec![]), "before: {probe}");
        let make = format!(
            "const made = document.querySelector('main').appendChild(document.createElement('button'));
             made.id = 'made'; {wrong}"
        );
        browser.script(&make).await?;
        let found = browser.script(probe).await?;
        assert_eq!(found.as_array().map(Vec::len), Some(1), "{found}: {probe}");
        browser.script("document.querySelector('#made').remove()").await?;
    }
    Ok(())
}
