//! Readings are typed: by the keys of a computer, by the pad, by paste. What counts is what the calculators' reader says of the
//! text, or the text is asked back; nothing is accepted by a key that was doubled or held; nothing is lost on its way.
//!
//! The procedure is in the place of the page's own, so that these journeys depend on no sentence of the book.

mod disk;
mod head;
mod nothing;
mod screens;
mod texts;
mod time;

use job::procedure::{Block, ChoiceSpec, Item, Procedure, ReadingSpec, Step, TickSpec, TimerSpec};
use serde_json::Value;
use tests::browser::Browser;
use thirtyfour::error::WebDriverResult;

use crate::job::in_the_store;
use crate::run::POWER_UP;

/// What a block says, made of the reading, tick, choice or timer that it describes.
fn item(kind: &str, id: &str, toml: &str) -> Item {
    let block: Block = toml::from_str(toml).expect("TOML");
    let item = match kind {
        "reading" => ReadingSpec::from_block(&block, id).map(Item::Reading),
        "tick" => TickSpec::from_block(&block, id).map(Item::Tick),
        "choice" => ChoiceSpec::from_block(&block, id).map(Item::Choice),
        _ => TimerSpec::from_block(&block, id).map(Item::Timer),
    };
    item.unwrap_or_else(|faults| panic!("{id}: {faults:?}"))
}

fn reading(id: &str, unit: &str, more: &str) -> Item {
    let stop = if more.contains("job.") { "Over {10 Ω}: mains off" } else { "Over it: mains off" };
    let toml = format!(
        "quantity = \"The {id}\"\nprobes = \"across it\"\nexpect = \"a figure\"\nstop = \"{stop}\"\nunit = \"{unit}\"\n{more}\n"
    );
    item("reading", id, &toml)
}

/// Begins a job and a run of these steps, in the place of the page's own.
async fn begin(browser: &Browser, steps: Vec<Vec<Item>>) -> WebDriverResult<()> {
    browser.living_page(POWER_UP).await?;
    begin_here(browser, steps).await
}

async fn begin_here(browser: &Browser, steps: Vec<Vec<Item>>) -> WebDriverResult<()> {
    let steps =
        (1..).zip(steps).map(|(at, items): (u8, _)| Step { id: format!("step-{at}"), items }).collect();
    let procedure = Procedure { page: POWER_UP.to_owned(), title: "Typing".to_owned(), steps };
    let said = serde_json::to_string(&procedure)?;
    browser.until("it can be run", "return !!document.querySelector('#page-run button')").await?;
    let script = format!(
        "document.querySelector('#page-run').dataset.procedure = {said:?}; document.querySelector('#page-run button').click();"
    );
    browser.script(&script).await?;
    browser.until("a job is asked for", "return !!document.querySelector('#run-label')").await?;
    let new = "document.querySelector('#run-label').value = 'Head'; for (const _ of '12') document.querySelector('[data-run=new-job]').click();";
    browser.script(new).await?;
    browser.until("it runs", "return document.documentElement.dataset.runScreen === 'step'").await
}

/// Presses a button of the run, as a script does: at once.
async fn press(browser: &Browser, selector: &str) -> WebDriverResult<()> {
    browser.script(&format!("document.querySelector('#run-panel {selector}').click()")).await.map(drop)
}

/// Which screen of the run is shown.
async fn screen(browser: &Browser) -> WebDriverResult<String> {
    let screen = browser.script("return document.documentElement.dataset.runScreen").await?;
    Ok(screen.as_str().unwrap_or_default().to_owned())
}

/// The texts of the readings that are in the store, in order.
async fn kept(browser: &Browser) -> WebDriverResult<Vec<String>> {
    let job: Value = serde_json::from_str(&in_the_store(browser, "").await?)?;
    let readings = find(&job, "readings").and_then(Value::as_array).cloned().unwrap_or_default();
    Ok(readings.iter().map(|taken| taken["text"].as_str().unwrap_or_default().to_owned()).collect())
}

/// A member of the file of a job, wherever it is in it.
fn find<'v>(value: &'v Value, name: &str) -> Option<&'v Value> {
    let members = value.as_object()?;
    members.get(name).or_else(|| members.values().find_map(|value| find(value, name)))
}
