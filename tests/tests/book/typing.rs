//! Readings are typed: by the keys of a computer, by the pad, by paste. What counts is what the calculators' reader says of the
//! text, or the text is asked back; nothing is accepted by a key that was doubled or held; nothing is lost on its way.
//!
//! The procedure stands in the place of the page's own, so that these journeys hang on no sentence of the book.

use std::collections::BTreeSet;

use calc_core::quantity::notation::read;
use job::Among;
use job::procedure::{Block, ChoiceSpec, Item, Procedure, ReadingSpec, Step, TickSpec, TimerSpec};
use job::unit::measure;
use serde_json::Value;
use tests::browser::{Browser, PHONE, TABLET};
use tests::engine::Engine;
use thirtyfour::Key;
use thirtyfour::error::WebDriverResult;

use crate::job::{JOB, in_the_store};
use crate::run::POWER_UP;

tests::in_every_engine! {
    what_is_typed_is_what_counts_or_it_is_asked_back,
    nothing_is_accepted_by_a_doubled_or_held_key,
    every_key_arrives_where_it_was_meant_while_the_disk_is_slow,
    a_stop_is_in_sight_on_every_page_until_it_is_read_in_range,
    a_reading_after_ten_minutes_is_closed_at_once,
    what_is_not_kept_is_said_where_one_types,
    the_printed_step_speaks_of_this_amplifier,
}

/// Texts that were once taken for others, every notation that the calculators read, and what is no number at all.
const TEXTS: [&str; 108] = [
    // Found by trying.
    "-4 V",
    "222 V",
    "60 M",
    "0.3 R",
    "3 4",
    "438 V",
    "44",
    "0R3",
    "1e3",
    "1/2",
    "<0.1",
    "0.1 or less",
    "0.05A",
    "0.1V",
    "2meg",
    "0.3ohm",
    "1,000",
    "OL",
    "ol",
    "-0.05",
    "46O",
    "1.234",
    "1,234",
    "34 A",
    "438 mV",
    "2m2",
    "1 meg",
    // Signs and spaces of every kind.
    "−4",
    "–4",
    "‐4",
    "‑4",
    "+4",
    "- 4",
    " 4 ",
    "4\u{a0}V",
    "4\u{2009}V",
    "4\u{202f}V",
    "--4",
    "4-",
    "+-4",
    // Decimal marks and groups.
    "4.5",
    "4,5",
    ".5",
    ",5",
    "5.",
    "1 000",
    "1,000.5",
    "1.000,5",
    "1..5",
    "1.2.3",
    "1,2,3",
    "0,47 k",
    "1 000 000",
    // Prefixes and markings.
    "5k6",
    "5,6 k",
    "220K",
    "4n7",
    "0R47",
    "47R",
    "1M",
    "1m",
    "4k7J",
    "4u7",
    "4µ7",
    "4μ7",
    "10k",
    "10 kΩ",
    "10kohm",
    "10 KOhm",
    "1.5MΩ",
    "47 Ω",
    "47 \u{2126}",
    "33 mΩ",
    "38mA",
    "38 mA",
    "0.038",
    "0.038 A",
    "38 µA",
    "436 VDC",
    "230 V~",
    "6.3 VAC",
    "1 kV",
    "500 mV",
    "-37mV",
    // Powers, fractions, tolerances.
    "1e-3",
    "1E3",
    "2×10^3",
    "2*10^3",
    "1/4 W",
    "10 %",
    "10 ±5 %",
    "1e999",
    "1e400",
    // No number.
    "",
    " ",
    "V",
    "k",
    "-",
    ".",
    "NaN",
    "infinity",
    "0x10",
    "open",
    "zero",
    "٣",
    "４",
    "1_000",
    "½",
];

/// What is read in these journeys, in which unit, and what of it is plausible, in SI units.
const UNITS: [(&str, &str, [f64; 2]); 3] =
    [("volts", "V", [-1000.0, 1000.0]), ("ohms", "Ω", [0.0, 100e6]), ("amperes", "mA", [-1.0, 1.0])];

/// What a block says, made of the reading, tick, choice or timer that it describes.
fn item(kind: &str, id: &str, toml: &str) -> Item {
    let block: Block = toml::from_str(toml).expect("TOML");
    let item = match kind {
        "reading" => {
            let among = Among(&calc_core::calculators::GROUPS);
            ReadingSpec::from_block(&block, id, &among).map(Item::Reading)
        }
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

/// A member of the file of a job, wherever it stands in it.
fn find<'v>(value: &'v Value, name: &str) -> Option<&'v Value> {
    let members = value.as_object()?;
    members.get(name).or_else(|| members.values().find_map(|value| find(value, name)))
}

/// Texts of random keys, always the same.
fn random_texts() -> Vec<String> {
    const KEYS: [char; 32] = [
        '0', '1', '2', '3', '4', '5', '6', '7', '8', '9', '0', '1', '5', '.', ',', '-', '−', '+', ' ', 'k',
        'K', 'm', 'M', 'µ', 'Ω', 'V', 'A', 'R', 'e', '/', '%', 'O',
    ];
    let mut state: u32 = 20_261_129;
    let mut random = |below: usize| {
        state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        (state >> 8) as usize % below
    };
    (0..110).map(|_| (0..=random(7)).map(|_| KEYS[random(KEYS.len())]).collect()).collect()
}

/// What became of a text.
struct Outcome {
    /// The text that counts now.
    counts: Option<String>,
    /// What stands in the line of the echo.
    said: String,
}

/// Takes what became of a text in the first blank of a reading out of the page.
const OUTCOME: &str = "
    const outcome = (id) => {
        const input = document.querySelector(`[data-blank='${id}.a']`);
        const standing = document.querySelector(`[data-stands='${id}.a']`).textContent;
        return [input.hasAttribute('data-taken') ? standing : null, document.querySelector('#run-echo').textContent];
    };
    const clear = (id) => {
        const input = document.querySelector(`[data-blank='${id}.a']`);
        input.focus();
        input.value = '';
        input.dispatchEvent(new Event('input', { bubbles: true }));
        return input;
    };";

fn outcome(value: &Value) -> Outcome {
    let text = |at: usize| value[at].as_str().map(str::to_owned);
    let counts = text(0).map(|standing| standing.rsplit_once(": ").expect("how it stands").0.to_owned());
    Outcome { counts, said: text(1).unwrap_or_default() }
}

/// Whether what became of a text is right: it counts as what the reader says, or it is asked back and the page says why.
fn is_right((_, unit, plausible): (&str, &str, [f64; 2]), text: &str, outcome: &Outcome) {
    let measure = measure(unit).expect("a unit");
    let meant = read(text, measure.unit, measure.shown);
    let Outcome { counts, said } = outcome;
    match (meant, counts) {
        (Ok(meant), Some(kept)) => {
            let kept = read(kept, measure.unit, measure.shown).expect("what is kept is a number");
            assert!(
                (kept.value - meant.value).abs() <= meant.value.abs() * 1e-12,
                "{text:?} {unit}: {kept:?}"
            );
        }
        (Ok(meant), None) => {
            // Outside what is plausible, or, without its unit, more likely a thousand times as much.
            let [low, high] = plausible;
            let is_slip = measure.shown != 0 && !meant.explicit && meant.value.abs() < 1e-3;
            let asked = !(low..=high).contains(&meant.value) || is_slip;
            assert!(
                asked && said.contains("The "),
                "{text:?} {unit} is {meant:?}, and was asked back: {said}"
            );
        }
        (Err(_), Some(kept)) => {
            assert_eq!((text.to_uppercase().as_str(), kept.as_str()), ("OL", "OL"), "{unit}")
        }
        (Err(_), None) => {
            assert!(said.contains("The "), "{text:?} {unit}: the field is not named: {said}");
            let named = said.contains(text.trim()) || (text.len() > 100 && said.contains("too long"));
            assert!(named, "{text:?} {unit}: the text is not named: {said}");
        }
    }
}

async fn what_is_typed_is_what_counts_or_it_is_asked_back(engine: Engine) -> WebDriverResult<()> {
    let texts: Vec<String> = TEXTS.iter().map(|text| (*text).to_owned()).chain(random_texts()).collect();
    assert!(texts.iter().collect::<BTreeSet<_>>().len() >= 200);
    let browser = Browser::open(engine).await?;
    let blanks = "blanks = [\"a\", \"b\"]\npurpose = \"dead\"\n";
    let readings = UNITS.iter().map(|(id, unit, [low, high])| {
        // A bare figure of a block is in the unit's own prefix.
        let scale = if *unit == "mA" { 1e3 } else { 1.0 };
        let plausible = format!("plausible = [\"{}\", \"{}\"]", low * scale, high * scale);
        reading(id, unit, &format!("{blanks}{plausible}"))
    });
    let readings = readings.collect();
    begin(&browser, vec![readings, vec![]]).await?;
    press(&browser, "[data-run=read]").await?;
    assert_eq!(screen(&browser).await?, "typing");
    let mut counted = Vec::new();
    // By keys. Each text is one of the three in turn.
    for (unit, text) in UNITS.iter().cycle().zip(&texts) {
        let id = unit.0;
        browser.script(&format!("{OUTCOME} clear('{id}')")).await?;
        browser.action_chain().send_keys(text.as_str()).send_keys(Key::Enter + "").perform().await?;
        let found = outcome(&browser.script(&format!("{OUTCOME} return outcome('{id}')")).await?);
        is_right(*unit, text, &found);
        counted.extend(found.counts);
    }
    // By the pad, what it has keys for; by paste, everything. Both are of one moment, so that the page can do all of it.
    let pasted: Vec<String> = texts.iter().cloned().chain(["1k".repeat(5000), "Ω".repeat(3000)]).collect();
    for (by, with) in [("pad", &texts), ("paste", &pasted)] {
        let all: Vec<(&str, &String)> =
            UNITS.iter().cycle().skip(usize::from(by == "paste")).map(|unit| unit.0).zip(with).collect();
        let all: Vec<_> = all.into_iter().filter(|(_, text)| by == "paste" || has_keys(text)).collect();
        let script = format!(
            "{OUTCOME}
            const key = (name) => document.querySelector(`#run-panel [data-key='${{name}}']`);
            return {}.map(([id, text]) => {{
                const input = clear(id);
                if ('{by}' === 'pad') {{
                    for (const letter of text === 'OL' ? [text] : text.replaceAll('-', '−')) key(letter).click();
                    document.querySelector('#run-panel [data-run=enter]').click();
                }} else {{
                    document.execCommand('insertText', false, text);
                    input.dispatchEvent(new KeyboardEvent('keydown', {{ key: 'Enter', bubbles: true, cancelable: true }}));
                }}
                return outcome(id);
            }});",
            serde_json::to_string(&all)?
        );
        let found = browser.script(&script).await?;
        let found = found.as_array().expect("an outcome for each");
        assert_eq!(found.len(), all.len());
        for ((id, text), value) in all.iter().zip(found) {
            let unit = UNITS.iter().find(|unit| unit.0 == *id).expect("a reading");
            let found = outcome(value);
            // The pad's own minus.
            let typed = if by == "pad" { text.replace('-', "−") } else { (*text).clone() };
            is_right(*unit, &typed, &found);
            counted.extend(found.counts);
        }
    }
    // From the clipboard, by the keys for it.
    for text in ["-4 V", "0R3", "38 mA"] {
        let copied =
            format!("{OUTCOME} const input = clear('volts'); input.value = {text:?}; input.select()");
        browser.script(&copied).await?;
        let chord = |letter: &str| {
            browser.action_chain().key_down(Key::Control).send_keys(letter).key_up(Key::Control)
        };
        chord("c").perform().await?;
        browser.script(&format!("{OUTCOME} clear('volts')")).await?;
        chord("v").perform().await?;
        let there = browser.script("return document.activeElement.value").await?;
        assert_eq!(there, text, "the clipboard of this engine");
        browser.action_chain().send_keys(Key::Enter + "").perform().await?;
        let found = outcome(&browser.script(&format!("{OUTCOME} return outcome('volts')")).await?);
        is_right(UNITS[0], text, &found);
        counted.extend(found.counts);
    }
    assert!(counted.len() > 100, "{} counted", counted.len());
    // What counts is what is on disk, all of it and in order.
    browser.page(JOB).await?;
    assert_eq!(kept(&browser).await?, counted);
    assert_eq!(browser.complaints().await?, [""; 0]);
    Ok(())
}

/// Whether the pad has keys for a text.
fn has_keys(text: &str) -> bool {
    text == "OL" || (!text.is_empty() && text.chars().all(|letter| "0123456789.-−kMmµ".contains(letter)))
}

/// Sends what a reader may send without meaning anything: Space, Enter twice, and keys that are held.
async fn fumble(browser: &Browser) -> WebDriverResult<()> {
    browser
        .action_chain()
        .send_keys(" ")
        .send_keys(Key::Enter + "")
        .send_keys(Key::Enter + "")
        .perform()
        .await?;
    let held = "
        for (const key of ['Enter', ' ', 'Enter', ' ']) {
            const event = new KeyboardEvent('keydown', { key, repeat: true, bubbles: true, cancelable: true });
            (document.activeElement ?? document.body).dispatchEvent(event);
        }";
    browser.script(held).await.map(drop)
}

/// What is accepted, done and open, as far as the page and the store say.
async fn stands(browser: &Browser) -> WebDriverResult<String> {
    const STANDS: &str = "
        const panel = document.querySelector('#run-panel');
        const all = (selector, what) => [...panel.querySelectorAll(selector)].map(what).join();
        return [
            document.documentElement.dataset.runScreen, document.querySelector('[data-now]')?.id,
            all('[data-stands]', (standing) => standing.textContent), all('[aria-checked]', (tick) => tick.ariaChecked),
            all('.taken', (taken) => taken.textContent), panel.querySelector('[data-run=next]')?.disabled,
        ].join('; ')";
    let page = browser.script(STANDS).await?;
    Ok(format!("{} {}", page.as_str().unwrap_or_default(), in_the_store(browser, "").await?))
}

async fn nothing_comes_of_fumbling(browser: &Browser, at: &str) -> WebDriverResult<()> {
    assert_eq!(screen(browser).await?, at);
    let before = stands(browser).await?;
    let focus = browser.script("return document.activeElement.matches('button, a, summary')").await?;
    assert_eq!(focus, Value::Bool(false), "{at}: something that acts has the focus");
    fumble(browser).await?;
    assert_eq!(stands(browser).await?, before, "{at}");
    Ok(())
}

async fn nothing_is_accepted_by_a_doubled_or_held_key(engine: Engine) -> WebDriverResult<()> {
    let browser = Browser::open(engine).await?;
    let items = vec![
        reading("bias", "V", "high = \"-41 V\"\nplausible = [\"-100 V\", \"100 V\"]\ngate = \"hard\""),
        reading("seen", "seen", "gate = \"hard\"\npurpose = \"live\""),
        reading("unknown", "Ω", "high = \"1.1 × job.load\"\nplausible = [\"0\", \"100 M\"]\ngate = \"soft\""),
        item("tick", "tick", "text = \"Two know where the switch is\"\ngate = \"soft\""),
        item("timer", "wait", "text = \"Ten minutes\"\nminutes = 10\nstart = \"Mains is on\""),
    ];
    begin(&browser, vec![items, vec![]]).await?;
    nothing_comes_of_fumbling(&browser, "step").await?;
    press(&browser, "[data-run=read][data-about=bias]").await?;
    nothing_comes_of_fumbling(&browser, "typing").await?;
    // Asked back: the sign is missing, and once it is not plausible. Enter again asks again.
    for text in ["44", "-444"] {
        browser
            .script(
                "const input = document.querySelector('#run-panel input'); input.focus(); input.value = ''",
            )
            .await?;
        browser.action_chain().send_keys(text).send_keys(Key::Enter + "").perform().await?;
        let offered = "return document.querySelectorAll('#run-offers button').length > 0";
        assert_eq!(browser.script(offered).await?, Value::Bool(true), "{text} is asked back");
        nothing_comes_of_fumbling(&browser, "typing").await?;
        browser.script("document.querySelector('#run-panel input').value = ''").await?;
    }
    // Out of range.
    browser.action_chain().send_keys("-4 V").send_keys(Key::Enter + "").perform().await?;
    nothing_comes_of_fumbling(&browser, "stop").await?;
    press(&browser, "[data-run=cancel]").await?;
    nothing_comes_of_fumbling(&browser, "step").await?;
    // What is read live, and judged by eye.
    press(&browser, "[data-run=read][data-about=seen]").await?;
    nothing_comes_of_fumbling(&browser, "off").await?;
    press(&browser, "[data-run=is-off]").await?;
    nothing_comes_of_fumbling(&browser, "typing").await?;
    press(&browser, "[data-run=cancel]").await?;
    // No limit, and a reason.
    press(&browser, "[data-run=read][data-about=unknown]").await?;
    browser.action_chain().send_keys("8").send_keys(Key::Enter + "").perform().await?;
    nothing_comes_of_fumbling(&browser, "cannot-tell").await?;
    press(&browser, "[data-run=cancel]").await?;
    press(&browser, "[data-run=excuse]").await?;
    nothing_comes_of_fumbling(&browser, "reason").await?;
    // What is fumbled into a reason is no reason.
    press(&browser, "[data-run=excused]").await?;
    assert_eq!(screen(&browser).await?, "reason");
    press(&browser, "[data-run=cancel]").await?;
    // A doubled press is one: a tick does not come and go, a gate that opened is not run through.
    let twice = "for (const _ of '12') document.querySelector('#run-panel [data-run=tick]').click();
        return document.querySelector('#run-panel [data-run=tick]').ariaChecked";
    assert_eq!(browser.script(twice).await?, "true");
    press(&browser, "[data-run=read][data-about=bias]").await?;
    browser
        .action_chain()
        .send_keys("-44.5")
        .send_keys(Key::Enter + "")
        .send_keys(Key::Enter + "")
        .perform()
        .await?;
    nothing_comes_of_fumbling(&browser, "step").await?;
    assert_eq!(kept(&browser).await?.last().map(String::as_str), Some("-44.5 V"));
    assert_eq!(browser.complaints().await?, [""; 0]);
    Ok(())
}

/// Makes the disk slow for scripts that open it from now on: whatever waits for a transaction waits longer.
const SLOW: &str = "
    const kind = window.IDBTransaction.prototype;
    const { get, set } = Object.getOwnPropertyDescriptor(kind, 'oncomplete');
    const late = (act) => act && function (event) { window.setTimeout(() => act.call(this, event), 300); };
    Object.defineProperty(kind, 'oncomplete', { get, set(act) { set.call(this, late(act)); } });
    const listen = window.EventTarget.prototype.addEventListener;
    kind.addEventListener = function (type, act, ...rest) {
        return listen.call(this, type, type === 'complete' ? late(act) : act, ...rest);
    };";

async fn every_key_arrives_where_it_was_meant_while_the_disk_is_slow(engine: Engine) -> WebDriverResult<()> {
    let browser = Browser::open(engine).await?;
    browser.living_page(POWER_UP).await?;
    browser.script(SLOW).await?;
    let more = "plausible = [\"0\", \"500\"]\ngate = \"hard\"\nhigh = \"10\"\npurpose = \"dead\"";
    let four = |id| reading(id, "V", &format!("blanks = [\"a\", \"b\", \"c\", \"d\"]\n{more}"));
    begin_here(&browser, vec![vec![four("first"), four("second")], vec![]]).await?;
    press(&browser, "[data-run=read]").await?;
    let started = std::time::Instant::now();
    let mut keys = browser.action_chain();
    for text in ["2.5", "3.5", "1.4", "4.5", "0.5", "6.5", "7.5"] {
        keys = keys.send_keys(text).send_keys(Key::Enter + "");
    }
    keys.perform().await?;
    let typed = started.elapsed();
    let standing = "return [...document.querySelectorAll('[data-stands]')].map((standing) => standing.textContent).join()";
    let all = "2.5 V: in range,3.5 V: in range,1.4 V: in range,4.5 V: in range,0.5 V: in range,6.5 V: in range,7.5 V: in range,";
    assert_eq!(browser.script(standing).await?, all);
    assert_eq!(screen(&browser).await?, "typing");
    assert!(typed.as_millis() < 2100, "the typing itself waits for the disk: {typed:?}");
    // Out of range: it is said at once, and what is typed after it is no reading.
    browser
        .action_chain()
        .send_keys("14")
        .send_keys(Key::Enter + "")
        .send_keys("4")
        .send_keys(Key::Enter + "")
        .perform()
        .await?;
    assert_eq!(screen(&browser).await?, "stop");
    let read = "return document.querySelector('#run-panel .found dd').textContent";
    assert_eq!(browser.script(read).await?, "14\u{a0}V");
    // What is typed and not entered is there again afterwards.
    press(&browser, "[data-run=read]").await?;
    browser.action_chain().send_keys("9").send_keys(Key::Enter + "").perform().await?;
    browser.until("all is read", "return document.documentElement.dataset.runScreen === 'step'").await?;
    let open = "return document.querySelector('[data-run=next]').disabled === false";
    browser.until("the way is open", open).await?;
    // The disk is slow, and loses nothing.
    let on_disk = ["2.5 V", "3.5 V", "1.4 V", "4.5 V", "0.5 V", "6.5 V", "7.5 V", "14 V", "9 V"];
    let started = std::time::Instant::now();
    while kept(&browser).await? != on_disk {
        assert!(started.elapsed().as_secs() < 10, "{:?}", kept(&browser).await?);
    }
    Ok(())
}

async fn what_is_not_kept_is_said_where_one_types(engine: Engine) -> WebDriverResult<()> {
    let browser = Browser::open(engine).await?;
    let two = reading("volts", "V", "blanks = [\"a\", \"b\"]\nplausible = [\"0\", \"500\"]");
    begin(&browser, vec![vec![two], vec![]]).await?;
    // Pressed twice, begun once.
    let one_job = "if ((await done(jobs().getAllKeys())).length !== 1) throw new Error('two jobs')";
    in_the_store(&browser, one_job).await?;
    press(&browser, "[data-run=read]").await?;
    let full = "window.IDBObjectStore.prototype.put = () => { throw new window.DOMException('full', 'QuotaExceededError') }";
    browser.script(full).await?;
    browser.action_chain().send_keys("7").send_keys(Key::Enter + "").send_keys("8").perform().await?;
    let said =
        "return document.querySelector('#run-panel .stopped-job').textContent.includes('no room to write')";
    browser.until("it is said", said).await?;
    assert_eq!(screen(&browser).await?, "typing");
    assert_eq!(browser.script("return document.activeElement.value").await?, "8", "the next blank");
    Ok(())
}

async fn the_printed_step_speaks_of_this_amplifier(engine: Engine) -> WebDriverResult<()> {
    let browser = Browser::open(engine).await?;
    crate::job::begin(&browser, "Head").await?;
    crate::job::write(&browser, "output-valve", "EL34").await?;
    browser.living_page(POWER_UP).await?;
    let words = "document.querySelector('#step-1').insertAdjacentHTML('beforeend', '<p id=own><i data-of=valve>6L6GC</i>, pin <i data-of=\"pin grid\">5</i>, <i data-of=\"0.95 × job.bias-expected\">−43.7 V</i></p>')";
    browser.script(words).await?;
    browser.until("it can be run", "return !!document.querySelector('#page-run button')").await?;
    browser.script("document.querySelector('#page-run button').click()").await?;
    browser.until("it is offered", "return !!document.querySelector('[data-run=begin]')").await?;
    browser.script("document.querySelector('[data-run=begin]').click()").await?;
    let own = "return document.querySelector('#own').textContent";
    browser.until("it runs", "return document.documentElement.dataset.runScreen === 'step'").await?;
    assert_eq!(browser.script(own).await?, "EL34, pin 5, unknown");
    press(&browser, "[data-run=leave]").await?;
    assert_eq!(browser.script(own).await?, "6L6GC, pin 5, −43.7 V");
    Ok(())
}

async fn a_stop_is_in_sight_on_every_page_until_it_is_read_in_range(engine: Engine) -> WebDriverResult<()> {
    let browser = Browser::open(engine).await?;
    let earth = || {
        vec![
            vec![reading("earth", "Ω", "high = \"0.1\"\nplausible = [\"0\", \"100 M\"]\ngate = \"hard\"")],
            vec![],
        ]
    };
    begin(&browser, earth()).await?;
    press(&browser, "[data-run=read]").await?;
    browser.action_chain().send_keys("3").send_keys(Key::Enter + "").perform().await?;
    assert_eq!(screen(&browser).await?, "stop");
    // It is on disk before the page is left.
    while kept(&browser).await?.is_empty() {}
    press(&browser, "[data-run=cancel]").await?;
    press(&browser, "[data-run=leave]").await?;
    let said = "return document.querySelector('.stop-stands')?.textContent ?? ''";
    for page in ["index.html", "first-power-up/index.html", POWER_UP, JOB] {
        browser.living_page(page).await?;
        browser.until("what stands", "return !!document.querySelector('.stop-stands a')").await?;
        let said = browser.script(said).await?;
        let said = said.as_str().unwrap_or_default();
        assert!(said.starts_with("STOP The earth: 3"), "{page}: {said}");
        assert!(said.contains("“Head”") && said.contains("Go on at step 1"), "{page}: {said}");
    }
    // One press, and the run goes on at that step.
    browser.element(".stop-stands a").await?.click().await?;
    browser.until("it goes on", "return document.querySelector('[data-now]')?.id === 'step-1'").await?;
    // Read in range, it is over; the steps are the page's own now, so the run of this journey is taken up once more.
    let said_there = browser.script(said).await?;
    assert!(said_there.as_str().is_some_and(|said| said.starts_with("STOP")), "{said_there}");
    press(&browser, "[data-run=leave]").await?;
    browser.page("index.html").await?;
    browser.living_page(POWER_UP).await?;
    let procedure = Procedure {
        page: POWER_UP.to_owned(),
        title: "Typing".to_owned(),
        steps: earth().into_iter().map(|items| Step { id: "step-1".to_owned(), items }).take(1).collect(),
    };
    browser.until("it can be run", "return !!document.querySelector('#page-run button')").await?;
    let script = format!(
        "document.querySelector('#page-run').dataset.procedure = {:?}; document.querySelector('#page-run button').click();",
        serde_json::to_string(&procedure)?
    );
    browser.script(&script).await?;
    browser.until("it is offered", "return !!document.querySelector('[data-run=go-on]')").await?;
    browser.script("document.querySelector('[data-run=go-on]').click()").await?;
    press(&browser, "[data-run=read]").await?;
    browser.action_chain().send_keys("0.06").send_keys(Key::Enter + "").perform().await?;
    browser.until("it is over", "return !document.querySelector('.stop-stands')").await?;
    Ok(())
}

async fn a_reading_after_ten_minutes_is_closed_at_once(engine: Engine) -> WebDriverResult<()> {
    let browser = Browser::open(engine).await?;
    let items = vec![
        item("timer", "ten", "text = \"Ten minutes at full mains\"\nminutes = 10\nstart = \"Mains is on\""),
        reading(
            "idle-ten",
            "mA",
            "plausible = [\"0\", \"1 A\"]\nhigh = \"61\"\ngate = \"soft\"\npurpose = \"live\"\nafter = \"ten\"",
        ),
    ];
    begin(&browser, vec![items, vec![]]).await?;
    // Nothing starts by itself.
    let closed = "return document.querySelector('#run-panel [data-run=read]').disabled";
    assert_eq!(browser.script(closed).await?, Value::Bool(true));
    let clock = "return document.querySelector('#run-panel .clock .left').textContent";
    assert_eq!(browser.script(clock).await?, "10:00");
    tokio::time::sleep(std::time::Duration::from_millis(1200)).await;
    assert_eq!(browser.script(clock).await?, "10:00");
    press(&browser, "[data-run=start]").await?;
    browser.until("it runs", &format!("{clock}.startsWith('9:5')")).await?;
    assert_eq!(browser.script(closed).await?, Value::Bool(true), "half a minute is no ten minutes");
    let said =
        browser.script("return document.querySelector('#run-panel [data-run=read]').textContent").await?;
    assert!(said.as_str().is_some_and(|said| said.contains("9:5")), "{said}");
    // A reason opens it.
    press(&browser, "[data-run=early][data-about=idle-ten]").await?;
    browser.element("#run-reason").await?.send_keys("The lamp glowed").await?;
    press(&browser, "[data-run=opened]").await?;
    assert_eq!(screen(&browser).await?, "off");
    press(&browser, "[data-run=is-off]").await?;
    browser.action_chain().send_keys("38").send_keys(Key::Enter + "").perform().await?;
    assert_eq!(screen(&browser).await?, "step");
    let taken = browser.script("return document.querySelector('#run-panel .taken').textContent").await?;
    assert!(taken.as_str().is_some_and(|taken| taken.contains("The lamp glowed")), "{taken}");
    Ok(())
}

// The sizes of screens are Chromium's.
#[tokio::test(flavor = "multi_thread")]
async fn enter_is_in_sight_for_every_reading_of_the_book() -> WebDriverResult<()> {
    const MEASURED: &str = "
        const panel = document.querySelector('#run-panel');
        const bar = document.querySelector('.run-bar').getBoundingClientRect();
        const out = [];
        const inSight = (what, element) => {
            const { top, bottom, width } = element.getBoundingClientRect();
            if (!width || top < 0 || bottom > bar.top + 1) out.push(`${what}: ${Math.round(top)} to ${Math.round(bottom)}, the bar at ${Math.round(bar.top)}`);
        };
        const ids = [...panel.querySelectorAll('[data-run=read]')].map((button) => button.dataset.about);
        for (const id of ids) {
            panel.querySelector(`[data-run=read][data-about='${id}']`).click();
            panel.querySelector('[data-run=is-off]')?.click();
            const enter = panel.querySelector('[data-run=enter]');
            if (enter) {
                inSight(`${id}: Enter`, enter);
                inSight(`${id}: the input`, document.activeElement);
                const over = panel.querySelector('.keys').getBoundingClientRect().top;
                if (document.activeElement.getBoundingClientRect().bottom > over + 1) out.push(`${id}: the input lies under the pad`);
            } else for (const button of panel.querySelectorAll('[data-run=take]')) inSight(`${id}: by eye`, button);
            panel.querySelector('[data-run=cancel]').click();
        }
        return [ids.length, out];";
    let browser = Browser::open(Engine::Chromium).await?;
    crate::job::begin(&browser, "Fifty watts").await?;
    crate::job::write(&browser, "sockets", "4").await?;
    let mut seen = 0;
    for page in tests::site::pages().iter().filter(|page| !page.all("#page-run").is_empty()) {
        for size in [PHONE, TABLET] {
            browser.screen(size).await?;
            browser.page(&page.path).await?;
            // All of its readings in one step, without a gate and without a time to wait for.
            let one_step = "
                const place = document.querySelector('#page-run');
                const procedure = JSON.parse(place.dataset.procedure);
                const items = procedure.steps.flatMap((step) => step.items).filter((item) => item.reading);
                for (const { reading } of items) { delete reading.gate; delete reading.after; delete reading.when; delete reading.purpose; }
                place.dataset.procedure = JSON.stringify({ ...procedure, steps: [{ id: 'step-1', items }] });
                place.querySelector('button').click();";
            browser.script(one_step).await?;
            browser.until("it is offered", "return !!document.querySelector('[data-run=begin]')").await?;
            browser.script("document.querySelector('[data-run=begin]').click()").await?;
            browser.until("it runs", "return document.documentElement.dataset.runScreen === 'step'").await?;
            let measured = browser.script(MEASURED).await?;
            assert_eq!(measured[1], Value::Array(vec![]), "{} at {size:?}", page.path);
            seen += measured[0].as_u64().unwrap_or(0);
            browser.script("localStorage.removeItem('standing-current run')").await?;
        }
    }
    assert!(seen > 200, "{seen} readings were looked at");
    Ok(())
}
