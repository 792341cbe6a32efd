//! A procedure is run: readings stop it, gates hold, it goes on where one stopped, with the server gone.

use std::collections::{BTreeMap, BTreeSet};
use std::time::{Duration, Instant};

use job::procedure::Procedure;
use serde_json::Value;
use server::Server;
use tests::amplifier::family::called;
use tests::amplifier::meters::Meters;
use tests::amplifier::survey::survey;
use tests::amplifier::technician::Technician;
use tests::browser::Browser;
use tests::edition::Edition;
use tests::engine::Engine;
use tests::walk::procedures;
use thirtyfour::Key;
use thirtyfour::error::WebDriverResult;

use crate::job::{SHEET, begin, open, write};
use crate::offline::until_kept;
use crate::paper::words_of;

pub const POWER_UP: &str = "first-power-up/staged-power-up.html";

tests::in_every_engine! {
    a_reading_out_of_range_stops_and_only_one_in_range_opens_the_next_step,
    the_apprentice_s_link_shows_a_step_and_is_adopted_as_a_job,
}

/// What the run waits for: `[what, the element to press, the reading's id, the step]`.
const WANTED: &str = "
    const wanted = () => {
        const panel = document.querySelector('#run-panel');
        const one = (selector) => panel.querySelector(selector);
        if (!document.documentElement.hasAttribute('data-working')) return ['over', '', ''];
        const screen = document.documentElement.dataset.runScreen;
        if (['stop', 'cannot-tell'].includes(screen)) return ['stopped', '', panel.innerText];
        if (one('[data-run=is-off]')) return ['press', '[data-run=is-off]', ''];
        if (one('input[data-blank]')) return ['type', '', document.activeElement.dataset.blank ?? ''];
        if (one('[data-about=\"as expected\"]')) return ['press', '[data-about=\"as expected\"]', ''];
        const named = (button) => `[data-run=${button.dataset.run}][data-about=\"${button.dataset.about}\"]`;
        const timer = [...panel.querySelectorAll('[data-run=start]')].find((button) => !button.textContent.endsWith('again'));
        if (timer) return ['wait', named(timer), ''];
        const unread = [...panel.querySelectorAll('[data-run=read]:not([disabled])')].find((button) => button.textContent.startsWith('Enter'));
        if (unread) return ['press', named(unread), ''];
        const undone = one('[role=checkbox][aria-checked=false]');
        if (undone) return ['press', named(undone), ''];
        const radios = [...panel.querySelectorAll('[role=radio]')];
        const choice = (radio) => radio.dataset.about.split('.')[0];
        const chosen = radios.filter((radio) => radio.ariaChecked === 'true').map(choice);
        const unanswered = radios.find((radio) => !chosen.includes(choice(radio)));
        if (unanswered) return ['choose', '', choice(unanswered)];
        if (one('[data-run=next]:not([disabled])')) return ['press', '[data-run=next]', ''];
        if (one('[data-run=finish]')) return ['press', '[data-run=finish]', ''];
        return ['stuck', '', panel.innerText];
    };
    return [...wanted(), document.querySelector('[data-now]')?.id ?? ''];";

/// An amplifier of the family, what its meters show, and the procedure as the page has it.
struct AtTheBench {
    technician: Technician,
    procedure: Procedure,
}

impl AtTheBench {
    fn of(name: &str) -> Self {
        let sound = called(name);
        let technician = Technician { meters: Meters::new(sound.clone(), sound) };
        let page = Edition::built().folder().join(POWER_UP);
        let page = std::fs::read_to_string(page).expect("the page was built");
        let page = scraper::Html::parse_document(&page);
        let place = scraper::Selector::parse("[data-procedure]").expect("a selector");
        let said = page.select(&place).next().and_then(|place| place.attr("data-procedure"));
        let procedure = serde_json::from_str(said.expect("it can be run")).expect("what press wrote");
        Self { technician, procedure }
    }

    /// What is typed into a blank, `reading.blank`; `None` for a rise, which is offered.
    fn typed(&self, about: &str) -> Option<String> {
        let (id, blank) = about.split_once('.').unwrap_or((about, ""));
        let (_, spec) = self.procedure.reading(id).expect("the reading is there");
        Some(self.technician.read(procedures::POWER_UP, spec, blank)?.text)
    }

    /// The button that answers a choice.
    fn answer(&self, id: &str) -> String {
        let mut choices = self.procedure.steps.iter().flat_map(|step| step.choices());
        let choice = choices.find(|choice| choice.id == id).expect("the choice is there");
        format!("[data-run=choose][data-about=\"{id}.{}\"]", self.technician.answers(choice))
    }
}

/// How a button is pressed.
#[derive(Clone, Copy, PartialEq)]
enum By {
    Keys,
    Touch,
}

async fn press(browser: &Browser, selector: &str, by: By) -> WebDriverResult<()> {
    // A driver clicks what is under the fixed bar without scrolling it free, as a thumb would.
    let selector = format!("#run-panel {selector}, #page-run {selector}");
    if by == By::Touch && !selector.contains("data-key") && !selector.contains("enter") {
        // Whatever follows too fast at the same place is the same finger. Nobody reads a screen as fast as a driver does.
        tokio::time::sleep(Duration::from_millis(420)).await;
    }
    let started = Instant::now();
    loop {
        let button = browser.awaited(&selector).await?;
        let pressed = match by {
            By::Keys => button.send_keys(Key::Enter + "").await,
            By::Touch => button.click().await,
        };
        // The panel may have been set again since: then nothing was pressed.
        match pressed {
            Err(error)
                if started.elapsed() < Duration::from_secs(5)
                    && ["StaleElementReference", "ElementNotInteractable"]
                        .iter()
                        .any(|kind| format!("{error:?}").contains(kind)) => {}
            Err(error) => {
                let said = browser.script("return document.querySelector('#run-panel').innerText").await?;
                panic!("{selector}: {error}: {said}");
            }
            Ok(()) => return Ok(()),
        }
    }
}

async fn type_reading(browser: &Browser, text: &str, by: By) -> WebDriverResult<()> {
    let there = "return document.activeElement.matches('#run-panel input[data-blank]')";
    browser.until("an input has the focus", there).await?;
    match by {
        By::Keys => browser.action_chain().send_keys(text).send_keys(Key::Enter + "").perform().await,
        By::Touch => {
            if text == "OL" {
                press(browser, "[data-key=OL]", by).await?;
            } else {
                for key in text.chars().filter(|key| !"+ ΩVAFW".contains(*key)) {
                    let key = if key == '-' { '−' } else { key };
                    press(browser, &format!("[data-key=\"{key}\"]"), by).await?;
                }
            }
            press(browser, "[data-run=enter]", by).await
        }
    }
}

/// From the first step to the last, with the server gone from the first step on; gives the browser, the number of steps and
/// that of the presses that they took.
async fn whole_power_up(name: &str, by: By) -> WebDriverResult<(Browser, usize, Presses)> {
    let bench = AtTheBench::of(name);
    let edition = Edition::built();
    let server = Server::plain(edition.folder(), "/").expect("a free port");
    let browser = Browser::open_at(Engine::Chromium, server.address.clone()).await?;
    begin(&browser, name).await?;
    for (field, text) in survey(&bench.technician.meters.sound) {
        write(&browser, field, &text).await?;
    }
    until_kept(&browser, &edition).await?;
    drop(server);
    start(&browser, by).await?;
    browser.script(COUNT_PRESSES).await?;
    let mut steps = go_until(&browser, &bench, LOOKED_BACK_FROM, by).await?;
    // Looking back is no part of the way.
    browser.script("window.before = { ...window.presses }").await?;
    look_back(&browser, by).await?;
    browser.script("window.presses = window.before").await?;
    steps.extend(go_until(&browser, &bench, "over", by).await?);
    let presses = serde_json::from_value(browser.script("return window.presses").await?)?;
    Ok((browser, steps.len(), presses))
}

/// How many presses there were of each kind: keys of the pad, and what else a run has to press.
type Presses = BTreeMap<String, u64>;

/// Counts every press, by its kind.
const COUNT_PRESSES: &str = "
    window.presses = {};
    const count = ({ target }) => {
        const { key, run } = target.closest('[data-key], [data-run]')?.dataset ?? {};
        const kind = key ? 'keys of the pad' : (run ?? target.localName);
        window.presses[kind] = (window.presses[kind] ?? 0) + 1;
    };
    window.addEventListener('click', count, true);";

/// The step of the first live reading with the output valves in; the chassis is proved dead in the one before it.
const LOOKED_BACK_FROM: &str = "step-20";

/// Goes back to where the chassis was proved dead, which the mains has overtaken since, and forward again untouched.
async fn look_back(browser: &Browser, by: By) -> WebDriverResult<()> {
    // The mains goes on for the first reading of this step.
    start_clock(browser, "[data-run=start]", by).await?;
    browser.script(TWO_HOURS_LATER).await?;
    // A page looks at its clocks twice a second.
    tokio::time::sleep(Duration::from_millis(700)).await;
    press(browser, "[data-run=read]:not([disabled])", by).await?;
    press(browser, "[data-run=is-off]", by).await?;
    press(browser, "[data-about=\"as expected\"]", by).await?;
    press(browser, "[data-run=cancel]", by).await?;
    press(browser, "[data-run=back]", by).await?;
    browser.until("the step before", &format!("{AT} === 'step-19'")).await?;
    let said = browser.script("return document.querySelector('#run-panel').innerText").await?;
    let said = said.as_str().unwrap_or_default();
    assert!(said.contains("prove it dead again before hands go in"), "{said}");
    assert_eq!(
        browser.script("return document.querySelector('[data-run=next]').disabled").await?,
        Value::Bool(true)
    );
    press(browser, "[data-run=forward]", by).await?;
    browser.until("the step that one came from", &format!("{AT} === '{LOOKED_BACK_FROM}'")).await
}

/// Presses the button of a clock, and waits until it runs. A press soon after another at the same place is no press.
async fn start_clock(browser: &Browser, start: &str, by: By) -> WebDriverResult<()> {
    let again = format!("return document.querySelector('#run-panel {start}').textContent.endsWith('again')");
    for _ in 0..5 {
        press(browser, start, by).await?;
        let pressed = Instant::now();
        while pressed.elapsed() < Duration::from_secs(1) {
            if browser.script(&again).await? == Value::Bool(true) {
                return Ok(());
            }
            tokio::time::sleep(Duration::from_millis(20)).await;
        }
    }
    panic!("{start} does not start its clock");
}

/// The clock that nobody sets, two hours further. The device's own counts for no wait while the page lives.
const TWO_HOURS_LATER: &str =
    "const now = performance.now; performance.now = () => now.call(performance) + 7.2e6;";

/// Does what each step asks until one is at a step, or until the run is `over`; gives the steps that were shown.
async fn go_until(
    browser: &Browser,
    bench: &AtTheBench,
    end: &str,
    by: By,
) -> WebDriverResult<BTreeSet<String>> {
    let (mut steps, mut wanted) = (BTreeSet::new(), Vec::new());
    for _ in 0..900 {
        wanted = wanted_after(browser, &wanted).await?;
        let at = browser.script(AT).await?;
        if wanted[0] == end || at == *end {
            return Ok(steps);
        }
        steps.extend(at.as_str().map(str::to_owned));
        match wanted[0].as_str() {
            "type" => match bench.typed(&wanted[2]) {
                Some(text) => type_reading(browser, &text, by).await?,
                // What the readings come to is offered, and taken with one tap.
                None => press(browser, "[data-run=take]", by).await?,
            },
            "choose" => press(browser, &bench.answer(&wanted[2]), by).await?,
            "wait" => {
                start_clock(browser, &wanted[1], by).await?;
                browser.script(TWO_HOURS_LATER).await?;
                // A page looks at its clocks twice a second; then what waited for this one can be read.
                tokio::time::sleep(Duration::from_millis(700)).await;
            }
            "press" => press(browser, &wanted[1], by).await?,
            _ => panic!("after {} steps {}: {}", steps.len(), wanted[0], wanted[2]),
        }
    }
    panic!("the run has no end");
}

/// The step that is shown.
const AT: &str = "return (document.querySelector('[data-now]')?.id ?? '')";

/// What is wanted after a deed. It is done when it is on disk and then the screen is set: something else is wanted. Where
/// the same is wanted again, it was done long before this gives up waiting.
async fn wanted_after(browser: &Browser, before: &[String]) -> WebDriverResult<Vec<String>> {
    const LONG: Duration = Duration::from_millis(300);
    // A page looks at its clocks twice a second.
    const STUCK: Duration = Duration::from_secs(3);
    let started = Instant::now();
    loop {
        let wanted: Vec<String> = serde_json::from_value(browser.script(WANTED).await?)?;
        let patience = if wanted[0] == "stuck" { STUCK } else { LONG };
        if (wanted != before && wanted[0] != "stuck") || started.elapsed() > patience {
            return Ok(wanted);
        }
        tokio::time::sleep(Duration::from_millis(5)).await;
    }
}

async fn start(browser: &Browser, by: By) -> WebDriverResult<()> {
    browser.page(POWER_UP).await?;
    press(browser, "button", by).await?;
    browser.until("the run is offered", "return !!document.querySelector('[data-run=begin]')").await?;
    press(browser, "[data-run=begin]", by).await?;
    browser.until("it has begun", "return document.documentElement.hasAttribute('data-working')").await
}

/// So many presses take one through the staged power-up, each key of the pad among them, with every figure that the meters
/// show: measured, so that they do not grow.
const MOST_PRESSES: u64 = 618;

// The whole of it takes as long as everything else here together: in one engine, the parts in all three.
#[tokio::test(flavor = "multi_thread")]
async fn a_whole_power_up_by_keys_with_the_server_gone() -> WebDriverResult<()> {
    assert!(whole_power_up("two 6L6GC", By::Keys).await?.1 > 30);
    Ok(())
}

#[tokio::test(flavor = "multi_thread")]
async fn a_whole_power_up_by_touch_with_the_server_gone() -> WebDriverResult<()> {
    let name = "two EL34, bias from the HT winding";
    let (browser, steps, presses) = whole_power_up(name, By::Touch).await?;
    assert!(steps > 30);
    let all: u64 = presses.values().sum();
    assert!(all <= MOST_PRESSES, "{all} presses for {steps} steps: {presses:?}");
    // What proves the amplifier goes on the hand-over sheet, what only opened a gate does not; and all of it, a line for each socket, on three pages.
    open(&browser, SHEET).await?;
    let sheets = words_of(&browser).await?;
    let all = sheets.join(" ");
    for part in ["Bias at each output grid", "Each valve after half", name] {
        assert!(all.contains(part), "`{part}` is not on the sheet: {all}");
    }
    for part in ["Voltage left", "Known source", "behind the lamp"] {
        assert!(!all.contains(part), "`{part}` is on the sheet: {all}");
    }
    assert!(sheets.len() <= 3, "{} sheets: {all}", sheets.len());
    Ok(())
}

/// Begins the run and goes to its second step, where the earth is read.
async fn to_the_earth(browser: &Browser) -> WebDriverResult<()> {
    start(browser, By::Touch).await?;
    to_the_second_step(browser).await
}

async fn to_the_second_step(browser: &Browser) -> WebDriverResult<()> {
    // What is answered leads on, and the step begins with a reading.
    press(browser, "[data-run=choose][data-about=\"harness.by-hand\"]", By::Touch).await?;
    browser.until("the second step", &format!("{AT} === 'step-2'")).await?;
    let typed = "const step = document.querySelector('#step-2');
        return step.checkVisibility() && document.activeElement.dataset.blank === 'earth.'";
    browser.until("the printed step, and the input below it", typed).await
}

// Only by Chromium's debugging protocol can a store be missing.
#[tokio::test(flavor = "multi_thread")]
async fn without_a_store_the_export_at_the_end_of_a_run_holds_what_was_read() -> WebDriverResult<()> {
    let browser = Browser::open(Engine::Chromium).await?;
    let none = "IDBFactory.prototype.open = () => { throw new DOMException('no', 'SecurityError'); };
        URL.createObjectURL = (blob) => { blob.text().then((text) => { window.saved = text; }); return '#saved'; };";
    browser.before_pages(none).await?;
    browser.page(POWER_UP).await?;
    press(&browser, "button", By::Touch).await?;
    browser.awaited("#run-label").await?.send_keys("Head").await?;
    press(&browser, "[data-run=new-job]", By::Touch).await?;
    to_the_second_step(&browser).await?;
    type_reading(&browser, "0.0613", By::Keys).await?;
    browser.until("it leads on", &format!("{AT} === 'step-3'")).await?;
    press(&browser, "[data-run=cancel]", By::Touch).await?;
    press(&browser, "[data-run=leave]", By::Touch).await?;
    press(&browser, "[data-act=export]", By::Touch).await?;
    browser.until("what was read is handed over", "return !!window.saved?.includes('0.0613')").await
}

async fn a_reading_out_of_range_stops_and_only_one_in_range_opens_the_next_step(
    engine: Engine,
) -> WebDriverResult<()> {
    let browser = Browser::open(engine).await?;
    begin(&browser, "Head").await?;
    to_the_earth(&browser).await?;
    let on = "return !document.querySelector('[data-run=next]')?.disabled";
    press(&browser, "[data-run=cancel]", By::Touch).await?;
    browser.until("the step", "return !!document.querySelector('[data-run=next]')").await?;
    assert_eq!(browser.script(on).await?, Value::Bool(false), "nothing is read yet");
    press(&browser, "[data-run=read]", By::Touch).await?;
    type_reading(&browser, "0.3", By::Keys).await?;
    browser.until("STOP", "return document.documentElement.dataset.runScreen === 'stop'").await?;
    press(&browser, "[data-run=cancel]", By::Touch).await?;
    browser.until("the step again", "return !!document.querySelector('[data-run=next]')").await?;
    assert_eq!(browser.script(on).await?, Value::Bool(false), "out of range");
    press(&browser, "[data-run=read]", By::Touch).await?;
    type_reading(&browser, "0.06", By::Keys).await?;
    let third = "return document.querySelector('[data-now]')?.id === 'step-3'";
    browser.until("the third step", third).await?;
    let said = browser.script("return document.querySelector('#run-panel .done').textContent").await?;
    assert!(said.as_str().is_some_and(|said| said.contains("0.06 Ω: in range")), "{said}");
    // It is on disk before the page is left: what is on its way then is ended with the page.
    let started = Instant::now();
    while !crate::job::in_the_store(&browser, "").await?.contains("\"step-3\"") {
        assert!(started.elapsed() < Duration::from_secs(10), "the step is not kept");
    }
    browser.refresh().await?;
    browser.until("it goes on where one stopped", third).await?;
    // Who leaves is asked to export what was done, here.
    press(&browser, "[data-run=leave]", By::Touch).await?;
    let owing = "return document.querySelector('#export')?.textContent.includes('changed since it was last exported') === true";
    browser.until("the job is owing", owing).await?;
    press(&browser, "[data-act=export]", By::Touch).await?;
    let handed = "return document.querySelector('#export .said').textContent.includes('as a file')";
    browser.until("it is handed over", handed).await?;
    browser.until("it is exported", &owing.replace("=== true", "!== true")).await?;
    let complaints = browser.complaints().await?;
    assert!(complaints.is_empty(), "{complaints:?}");
    Ok(())
}

async fn the_apprentice_s_link_shows_a_step_and_is_adopted_as_a_job(engine: Engine) -> WebDriverResult<()> {
    let browser = Browser::open(engine).await?;
    begin(&browser, "Head").await?;
    to_the_earth(&browser).await?;
    type_reading(&browser, "0.06", By::Keys).await?;
    browser.until("the third step", &format!("{AT} === 'step-3'")).await?;
    press(&browser, ".done [data-run=back]", By::Touch).await?;
    press(&browser, "details.link summary", By::Touch).await?;
    browser.until("the link", "return !!document.querySelector('#run-link .address a')").await?;
    let address = browser.element("#run-link .address a").await?.attr("href").await?.unwrap_or_default();
    let (_, fragment) = address.split_once('#').unwrap_or_default();
    assert_eq!(fragment, "run.1;step=2;earth=0.06+ohm");
    assert!(!browser.find_all(thirtyfour::By::Css("#run-link svg")).await?.is_empty(), "it is a QR code too");

    // The apprentice’s own device knows of nothing.
    let other = Browser::open(engine).await?;
    other.page(&format!("{POWER_UP}#{fragment}")).await?;
    other.until("what came is shown", "return !!document.querySelector('#page-run table')").await?;
    let shown = other.element("#page-run").await?.text().await?;
    assert!(shown.contains("step 2") && shown.contains("0.06 ohm"), "{shown}");
    // It can be looked at and nothing else.
    let deeds = "return [...document.querySelectorAll('#page-run [data-run], #run-panel [data-run]')].filter((button) => button.checkVisibility()).map((button) => button.dataset.run).join()";
    assert_eq!(other.script(deeds).await?, "adopt,new-job");
    crate::job::open(&other, crate::job::JOB).await?;
    assert!(other.element("#jobs").await?.text().await?.contains("There is no job on this device yet"));
    // Unless it is adopted. Then it is a job, whose reading opens no gate.
    other.page(&format!("{POWER_UP}#{fragment}")).await?;
    press(&other, "[data-run=adopt]", By::Touch).await?;
    let adopted = "return document.querySelector('#page-run')?.textContent.includes('Run with the job “From a link”') === true";
    other.until("it is a job", adopted).await?;
    press(&other, "[data-run=begin]", By::Touch).await?;
    other.until("it has begun", "return document.documentElement.hasAttribute('data-working')").await?;
    assert_eq!(
        other.script("return document.querySelector('[data-run=next]').disabled").await?,
        Value::Bool(true)
    );
    crate::job::open(&other, crate::job::JOB).await?;
    let kept = crate::job::in_the_store(&other, "").await?;
    assert!(kept.contains("0.06 ohm") && kept.contains("\"run\":0"), "{kept}");
    assert_eq!(other.complaints().await?, [""; 0]);
    Ok(())
}

// The way to the first limit that leans on the job is long: in one engine.
#[tokio::test(flavor = "multi_thread")]
async fn an_amplifier_described_otherwise_is_read_again() -> WebDriverResult<()> {
    let browser = Browser::open(Engine::Chromium).await?;
    let bench = AtTheBench::of("two EL34, bias from the HT winding");
    begin(&browser, "A pair").await?;
    start(&browser, By::Touch).await?;
    go_until(&browser, &bench, "step-6", By::Keys).await?;
    // The rated power is not known: the limit leads to where it is filled in.
    let lacks = "return document.querySelector('#run-panel .lacks a').textContent";
    assert_eq!(browser.script(lacks).await?, "Amplifier’s rated power");
    browser.script("document.querySelector('#run-panel .lacks a').click()").await?;
    browser.until("the field", "return document.activeElement.id === 'survey-rated-power'").await?;
    for (field, text) in survey(&bench.technician.meters.sound) {
        write(&browser, field, &text).await?;
    }
    // Anyone who did not leave the run is in it at once.
    let go_on = || async {
        browser.page(POWER_UP).await?;
        let press = "
            const button = document.querySelector('[data-run=go-on], #page-run:not([data-alive]) button');
            if (button && !button.dataset.pressed) {
                button.dataset.pressed = 'once';
                button.click();
            }
            return document.documentElement.hasAttribute('data-working')";
        browser.until("it goes on", press).await?;
        browser.until("a step is shown", "return !!document.querySelector('[data-now]')").await
    };
    go_on().await?;
    go_until(&browser, &bench, "step-8", By::Keys).await?;
    // It is another load after all.
    let load = survey(&bench.technician.meters.sound).into_iter().find(|(field, _)| *field == "load");
    let (_, load) = load.expect("the survey found it");
    crate::job::open(&browser, crate::job::JOB).await?;
    write(&browser, "load", "2").await?;
    go_on().await?;
    assert_eq!(browser.script(AT).await?, "step-7", "the gate is closed again");
    let said = browser.script("return document.querySelector('#run-panel .waits').innerText").await?;
    let said = said.as_str().unwrap_or_default();
    assert!(said.contains("the amplifier was changed after this was read: read it again"), "{said}");
    // What was meant after all: it stands as it was read.
    crate::job::open(&browser, crate::job::JOB).await?;
    write(&browser, "load", &load).await?;
    go_on().await?;
    let waits = browser.find_all(thirtyfour::By::Css("#run-panel .waits")).await?.is_empty();
    assert!(waits, "nothing of the load is in the way");
    // A part is another: the first that was metered behind a hard gate is read again, whatever its limits are.
    crate::job::open(&browser, crate::job::JOB).await?;
    write(&browser, "change-what", "grid leak").await?;
    crate::job::press(&browser, "change").await?;
    go_on().await?;
    let said = browser.script("return document.querySelector('#run-panel').innerText").await?;
    let said = said.as_str().unwrap_or_default();
    assert!(said.contains("read before “grid leak” was changed: read again"), "{said}");
    Ok(())
}
