//! What a screen reader is told: the names and roles in the accessibility tree of a calculator, as a record.
//! Only in Chromium, by its debugging protocol.

use serde_json::{Value, json};
use tests::browser::Browser;
use tests::engine::Engine;
use tests::site::page_with;
use thirtyfour::error::WebDriverResult;

/// Every node with a role that is read out, `role: name`, in the order of the page.
async fn told(browser: &Browser, selector: &str) -> WebDriverResult<Vec<String>> {
    let document = browser.debug("DOM.getDocument", json!({ "depth": 0 })).await?;
    let root = document["root"]["nodeId"].clone();
    let node = browser.debug("DOM.querySelector", json!({ "nodeId": root, "selector": selector })).await?;
    browser.debug("Accessibility.enable", json!({})).await?;
    let tree = browser.debug("Accessibility.queryAXTree", json!({ "nodeId": node["nodeId"] })).await?;
    let nodes = tree["nodes"].as_array().cloned().unwrap_or_default();
    let text = |node: &Value, key: &str| node[key]["value"].as_str().unwrap_or_default().to_owned();
    let roles = [
        "region",
        "group",
        "textbox",
        "combobox",
        "button",
        "DisclosureTriangle",
        "image",
        "status",
        "table",
        "link",
    ];
    Ok(nodes
        .iter()
        .filter(|node| node["ignored"] != json!(true) && roles.contains(&text(node, "role").as_str()))
        .map(|node| {
            let description = text(node, "description");
            let about = if description.is_empty() { String::new() } else { format!(" ({description})") };
            // Editions of Chromium differ in the space behind a name.
            format!("{}: {}{about}", text(node, "role"), text(node, "name").trim_end())
        })
        .collect())
}

#[tokio::test(flavor = "multi_thread")]
async fn a_calculator_is_told_by_its_names() -> WebDriverResult<()> {
    let browser = Browser::open(Engine::Chromium).await?;
    browser.living_page(&page_with("output-power")).await?;
    let told = told(&browser, "[data-calculator=output-power]").await?.join("\n") + "\n";
    let recorded = include_str!("names/output-power.txt");
    assert_eq!(
        told, recorded,
        "\nThe record is tests/tests/book/names/output-power.txt; now it would read:\n{told}"
    );
    // A voice has no name, and what unfolds is named by its line.
    for line in told.lines().filter(|line| !["status: ", "group: "].contains(line)) {
        assert!(!line.ends_with(": "), "`{line}` has no name");
    }
    Ok(())
}
