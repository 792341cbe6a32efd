//! Accessibility: axe-core finds nothing on any page, light or dark, before and after something went wrong. Every page is
//! looked at where it is opened anyway (`offline.rs`).
//! Only in Chromium: the findings are those of the markup and the styles, and colour schemes need its debugging protocol.

use std::collections::BTreeSet;

use serde_json::Value;
use tests::browser::Browser;
use tests::engine::Engine;
use tests::site::{given, page_with};
use thirtyfour::error::WebDriverResult;

/// Everything axe-core can say for WCAG 2.2 A and AA and its best practices, and contrast of 7:1. The enhanced rule leaves
/// what falls below 4.5:1 to the plain one, so both are needed.
const RULES: &str = "{
    runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'],
    rules: { 'color-contrast-enhanced': { enabled: true } },
    resultTypes: ['violations', 'incomplete'],
}";

/// Those of them that look at colours. Whatever else they find is the same in light and dark, which differ in colours only.
const OF_COLOURS: &str = "{
    runOnly: { type: 'rule', values: ['color-contrast', 'color-contrast-enhanced', 'link-in-text-block'] },
    resultTypes: ['violations', 'incomplete'],
}";

/// Gives what axe-core found, one line a finding. A contrast it cannot tell is a finding, save where it never tells:
/// that of a single character, of a mathematical sign, of letters in a drawing, which have the colour of the text
/// round it, and of what is under an opened term.
const FINDINGS: &str = "
    const node = (rule, node) => `${rule.id}: ${node.target.join(' ')}: ${node.failureSummary}`;
    const never = (node, key) => ['shortTextContent', 'nonBmp'].includes(key)
        || (['imgNode', 'bgOverlap'].includes(key) && document.querySelector(node.target[0]).closest('svg'))
        || (['bgOverlap', 'elmPartiallyObscured'].includes(key) && document.querySelector('.meaning') && !document.querySelector(node.target[0]).closest('.meaning'));
    const unsure = (node) => node.any.some((check) => check.data && !never(node, check.data.messageKey));
    const findings = (found) => [
        ...found.violations.flatMap((rule) => rule.nodes.map((n) => node(rule, n))),
        ...found.incomplete.filter((rule) => rule.id.startsWith('color-contrast'))
            .flatMap((rule) => rule.nodes.filter(unsure).map((n) => node(rule, n))),
    ];";

/// What axe-core finds on the open page.
pub async fn findings(browser: &Browser) -> WebDriverResult<Vec<String>> {
    findings_by(browser, RULES).await
}

async fn findings_by(browser: &Browser, rules: &str) -> WebDriverResult<Vec<String>> {
    if browser.script("return !!window.axe").await? == Value::Bool(false) {
        let axe = std::fs::read_to_string(given("AXE_JS")).expect("axe-core is text");
        browser.script(&axe).await?;
    }
    let run = format!(
        "{FINDINGS}
         const done = arguments[arguments.length - 1];
         // Colours under what sticks to the screen's edge it cannot tell: it lies where it is printed.
         const flat = new CSSStyleSheet();
         flat.replaceSync('.calculator .dock, .bar {{ position: static !important }}');
         document.adoptedStyleSheets = [flat];
         axe.run(document, {rules}).then(found => done(findings(found)), error => done([`axe-core failed: ${{error}}`]));"
    );
    browser.execute_async(run, Vec::new()).await?.convert()
}

/// What styles can tell apart on a page, nearly: each element in its parent, by name and class.
const STYLED: &str = "
    const named = (element) => `${element.localName}.${element.getAttribute('class') ?? ''}`;
    const all = [...document.body.querySelectorAll('*')];
    return [...new Set(all.map((element) => `${named(element.parentElement)} ${named(element)}`))];";

/// What axe-core finds on one page after another, light and dark.
#[derive(Default)]
pub struct Findings {
    /// How elements looked on the pages before: see [`STYLED`].
    seen: BTreeSet<String>,
}

impl Findings {
    /// On the open page, with everything unfolded.
    pub async fn on_page(&mut self, browser: &Browser) -> WebDriverResult<Vec<String>> {
        let styled: Vec<String> = serde_json::from_value(browser.script(STYLED).await?)?;
        // In the dark nothing is new on a page whose elements were all on others.
        let known = self.seen.len();
        self.seen.extend(styled);
        let schemes = [("light", RULES), ("dark", OF_COLOURS)];
        let mut all = Vec::new();
        for (scheme, rules) in schemes.into_iter().take(if self.seen.len() > known { 2 } else { 1 }) {
            browser.scheme(scheme).await?;
            let found = findings_by(browser, rules).await?;
            all.extend(found.into_iter().map(|finding| format!("{scheme}: {finding}")));
        }
        Ok(all)
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn no_finding_beside_a_problem() -> WebDriverResult<()> {
    let browser = Browser::open(Engine::Chromium).await?;
    for scheme in ["light", "dark"] {
        browser.scheme(scheme).await?;
        browser.living_page(&page_with("dissipation")).await?;
        crate::calculator::type_into(&browser, crate::calculator::VOLTAGE, "z438").await?;
        browser.until("the problem shows", "return !!document.querySelector('.problem:not(:empty)')").await?;
        let found = findings(&browser).await?;
        assert!(found.is_empty(), "{scheme}:\n{}", found.join("\n"));
    }
    Ok(())
}

#[tokio::test(flavor = "multi_thread")]
async fn axe_core_does_find_what_is_wrong() -> WebDriverResult<()> {
    let browser = Browser::open(Engine::Chromium).await?;
    browser.page("index.html").await?;
    browser
        .script("document.querySelector('main').append(Object.assign(document.createElement('input'), { type: 'text' }))")
        .await?;
    let found = Value::from(findings(&browser).await?).to_string();
    assert!(found.contains("label: input"), "a field without a label went unnoticed: {found}");
    Ok(())
}
