//! What came with a link, and what is given out as one.

use serde_json::{Value, json};
use tests::browser::Browser;
use tests::engine::Engine;
use tests::site::page_with;
use thirtyfour::error::WebDriverResult;

use crate::calculator::{POWER, VOLTAGE, answer, type_into, until_power};

const CALCULATOR: &str = "#dissipation";

tests::in_every_engine! {
    another_reader_sees_the_same_and_keeps_what_was_typed,
    a_damaged_link_opens_with_what_was_good_and_says_what_was_not,
    a_link_to_a_calculator_that_is_not_there_says_so,
    an_answer_is_taken_on_to_the_calculator_that_needs_it,
    a_state_kept_aside_is_beside_the_present_one_in_one_link,
    a_wanted_answer_gives_a_value_and_what_can_be_bought,
}

/// The cells of a row of the comparison.
fn row(name: &str) -> String {
    format!(
        "[...document.querySelectorAll('{CALCULATOR}-the-compare tr')].map(row => [...row.children].map(cell => cell.innerText)).find(row => row[0] === '{name}')"
    )
}

async fn a_state_kept_aside_is_beside_the_present_one_in_one_link(engine: Engine) -> WebDriverResult<()> {
    let page = page_with("dissipation");
    let sender = Browser::open(engine).await?;
    sender.living_page(&page).await?;
    type_into(&sender, VOLTAGE, "400").await?;
    let kept = "return document.querySelector('#dissipation-anode-voltage').value === '400'";
    sender.until("it is typed", kept).await?;
    sender.element(&format!("{CALCULATOR} details.link > summary")).await?.click().await?;
    sender.element(&format!("{CALCULATOR} [data-act=aside]")).await?.click().await?;
    type_into(&sender, VOLTAGE, "300").await?;
    let differs = format!("return ({})?.slice(1, 3).join(' ')", row("Anode voltage"));
    let both = format!("{}?.replaceAll('\u{a0}', ' ') === '400 V 300 V'", differs);
    sender.until("both are side by side", &both).await?;
    // The power is in proportion: three quarters of 13.0 W, 3.25 W less.
    let power = format!("return ({})[3].replaceAll('\u{a0}', ' ')", row("Anode dissipation, each valve"));
    assert_eq!(sender.script(&power).await?, json!("−3.25 W"));
    // What follows a key follows in its own time.
    let has_both = format!(
        "const link = document.querySelector('{CALCULATOR} .address a')?.href ?? ''; return link.includes('anode-voltage=300V') && link.includes('!anode-voltage=400V')"
    );
    sender.until("the link has both", &has_both).await?;
    let link = given_out(&sender).await?;

    let reader = Browser::open(engine).await?;
    reader.goto(&link).await?;
    reader.until("the link brings both", &both).await?;
    reader.element(&format!("{CALCULATOR} [data-act=aside-back]")).await?.click().await?;
    reader.until("the kept state is back", kept.replace("'400'", "'400V'").as_str()).await?;
    reader.element(&format!("{CALCULATOR} [data-act=aside-off]")).await?.click().await?;
    let gone = format!("return !document.querySelector('{CALCULATOR}-the-compare table')");
    reader.until("nothing is compared", &gone).await
}

async fn a_wanted_answer_gives_a_value_and_what_can_be_bought(engine: Engine) -> WebDriverResult<()> {
    let browser = Browser::open(engine).await?;
    browser.living_page(&page_with("discharge")).await?;
    let question = "[data-calculator=discharge] details.wanted";
    browser.element(&format!("{question} > summary")).await?.click().await?;
    type_into(&browser, &format!("{question} input"), "5").await?;
    // 5 s by ln(490 V / 10 V) and 141 µF: 9.11 kΩ, between 9k1 and 10k.
    let found = format!(
        "return document.querySelector('{question}').innerText.replaceAll('\u{a0}', ' ').includes('9.11 kΩ')"
    );
    browser.until("it is found", &found).await?;
    browser.element(&format!("{question} [data-offer='9k1']")).await?.click().await?;
    let taken =
        "return document.querySelector('[data-calculator=discharge] [name=resistor]').value === '9k1'";
    browser.until("it is taken", taken).await?;
    type_into(&browser, &format!("{question} input"), "5 x").await?;
    let asked_back =
        format!("return document.querySelector('{question} .problem').innerText.includes('5 x')");
    browser.until("what cannot be read is asked back", &asked_back).await
}

/// The link that a calculator gives out.
async fn given_out(browser: &Browser) -> WebDriverResult<String> {
    let summary = format!("{CALCULATOR} details.link > summary");
    if browser.script(&format!("return document.querySelector('{CALCULATOR} details.link').open")).await?
        == Value::Bool(false)
    {
        browser.element(&summary).await?.click().await?;
    }
    let address = format!("{CALCULATOR} details.link .address a");
    browser.until("the link shows", &format!("return !!document.querySelector({address:?})")).await?;
    Ok(browser.element(&address).await?.prop("href").await?.unwrap_or_default())
}

async fn another_reader_sees_the_same_and_keeps_what_was_typed(engine: Engine) -> WebDriverResult<()> {
    let page = page_with("dissipation");
    let sender = Browser::open(engine).await?;
    sender.living_page(&page).await?;
    let example = answer(&sender, POWER).await?;
    type_into(&sender, VOLTAGE, "301").await?;
    until_power(&sender, false, &example).await?;
    let sent = answer(&sender, POWER).await?;
    let link = given_out(&sender).await?;
    assert!(link.is_ascii() && link.contains("anode-voltage=301V"), "{link}");
    assert_eq!(
        sender
            .script(&format!("return document.querySelectorAll('{CALCULATOR} details.link svg.qr').length"))
            .await?,
        json!(1)
    );

    let reader = Browser::open(engine).await?;
    reader.living_page(&page).await?;
    type_into(&reader, VOLTAGE, "222").await?;
    until_power(&reader, false, &example).await?;
    let own = answer(&reader, POWER).await?;
    reader.goto(&link).await?;
    until_power(&reader, true, &sent).await?;
    let came = format!("{CALCULATOR} .came");
    assert!(answer(&reader, &came).await?.contains("came with a link"));

    // What is typed over it stays in the address; the reader's own stays where it was.
    type_into(&reader, VOLTAGE, "302").await?;
    until_power(&reader, false, &sent).await?;
    let changed = answer(&reader, POWER).await?;
    reader.refresh().await?;
    until_power(&reader, true, &changed).await?;
    reader.element(&format!("{CALCULATOR} [data-act=own]")).await?.click().await?;
    until_power(&reader, true, &own).await?;
    assert_eq!(answer(&reader, &came).await?, "");
    assert!(reader.complaints().await?.is_empty());
    Ok(())
}

async fn a_damaged_link_opens_with_what_was_good_and_says_what_was_not(
    engine: Engine,
) -> WebDriverResult<()> {
    let browser = Browser::open(engine).await?;
    let page = page_with("dissipation");
    browser.living_page(&format!("{page}#dissipation.1;anode-voltage=301V;bias=%4;nonsense;~1+W")).await?;
    browser
        .until("the link is opened", &format!("return document.querySelector({VOLTAGE:?}).value === '301V'"))
        .await?;
    let said = answer(&browser, &format!("{CALCULATOR} .came")).await?;
    for part in ["could not be read", "bias=%4", "nonsense", "the answer was 1 W"] {
        assert!(said.contains(part), "`{part}` is not in `{said}`");
    }
    Ok(())
}

async fn a_link_to_a_calculator_that_is_not_there_says_so(engine: Engine) -> WebDriverResult<()> {
    let browser = Browser::open(engine).await?;
    browser.living_page(&format!("{}#gone:lost.3;a=1", page_with("dissipation"))).await?;
    browser
        .until(
            "it is said",
            "return document.querySelector('.stopped[role=status]')?.innerText.includes('lost')",
        )
        .await
}

async fn an_answer_is_taken_on_to_the_calculator_that_needs_it(engine: Engine) -> WebDriverResult<()> {
    let browser = Browser::open(engine).await?;
    browser.living_page(&page_with("idle-current")).await?;
    // An example stays one. The drop is typed; resistor and screen current are taken as the reader's own with one tap.
    let calculator = "[data-calculator=idle-current]";
    let link = format!("{calculator} .carry a");
    assert!(
        browser
            .element(&link)
            .await?
            .prop("href")
            .await?
            .is_some_and(|href| href.contains(";*cathode-current="))
    );
    type_into(&browser, &format!("{calculator} input[name='cathode-drop']"), "35.0 mV").await?;
    for field in ["cathode-resistor", "screen-current"] {
        browser.element(&format!("{calculator} [name={field}]")).await?.click().await?;
        let mine = format!("{calculator} .dock .edited button[data-for={field}]");
        browser
            .until("it is marked as an example", &format!("return !!document.querySelector({mine:?})"))
            .await?;
        browser.element(&mine).await?.click().await?;
    }
    let own = format!("return document.querySelector({link:?}).href.includes(';cathode-current=35')");
    browser.until("the answer is the reader's own", &own).await?;
    browser.element(&link).await?.click().await?;
    browser
        .until(
            "the current stands in the dissipation",
            &format!("return location.pathname.includes('dissipation') && document.querySelector('{CALCULATOR}[data-alive] .came')?.innerText.includes('Cathode current')"),
        )
        .await?;
    // It was put in as if it had been typed: kept, and not put in again.
    assert_eq!(browser.script("return location.hash.includes('=')").await?, Value::Bool(false));
    let kept = browser.script("return Object.values(localStorage).join()").await?;
    assert!(kept.as_str().is_some_and(|kept| kept.contains("cathode-current")), "{kept}");
    assert!(browser.complaints().await?.is_empty());
    Ok(())
}
