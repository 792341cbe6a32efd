//! What a reader waits for: bytes, the first life of a page, the answer after a key.

#[path = "browser/job.rs"]
mod job_kept;

use serde_json::{Value, json};
use tests::browser::Browser;
use tests::edition::Edition;
use tests::engine::Engine;
use tests::site::{compressed, page_with, pages, webassembly};
use thirtyfour::error::WebDriverResult;

/// Notes when the WebAssembly is ready and when each calculator is alive.
const WATCH: &str = "
    const original = WebAssembly.instantiateStreaming;
    WebAssembly.instantiateStreaming = async (...parts) => {
        const ready = await original(...parts);
        window.webAssemblyReady = performance.now();
        return ready;
    };
    new MutationObserver(() => { window.lastAlive = performance.now(); })
        .observe(document, { subtree: true, attributeFilter: ['data-alive'] });";

/// From an input event to the answer laid out, for a number of readings: milliseconds, sorted.
const TYPE_READINGS: &str = "
    const done = arguments[arguments.length - 1];
    const calculator = document.querySelector('#dissipation');
    const field = calculator.querySelector('input[name=\"anode-voltage\"]');
    const answer = () => calculator.querySelector('.answers').textContent;
    const one = (reading) => {
        const before = answer();
        field.value = String(reading);
        const started = performance.now();
        field.dispatchEvent(new InputEvent('input', { bubbles: true }));
        calculator.getBoundingClientRect();
        const taken = performance.now() - started;
        if (answer() === before) throw `the answer did not follow ${reading}`;
        return taken;
    };
    (async () => {
        const times = [];
        for (let reading = 300; reading < 400; reading++) {
            times.push(one(reading));
            await new Promise((rest) => setTimeout(rest, 5));
        }
        done(times.slice(10).sort((a, b) => a - b));
    })();";

#[tokio::main]
async fn main() -> WebDriverResult<()> {
    for wasm in webassembly() {
        let name = wasm.file_name().unwrap_or_default().to_string_lossy();
        let name = name.split('-').next().unwrap_or_default();
        let raw = std::fs::metadata(&wasm).map_or(0, |about| about.len());
        println!("| WebAssembly `{name}` | {} kB, {} kB with brotli |", kilo(raw), kilo(compressed(&wasm)));
    }
    let (files, bytes) = Edition::built().transferred();
    println!("| offline set: {files} files as they are sent | {} kB |", kilo(bytes));
    for page in pages() {
        println!("| first visit of `{}` with brotli | {} kB |", page.path, kilo(page.first_visit()));
    }

    let page = page_with("dissipation");
    let browser = Browser::open(Engine::Chromium).await?;
    browser.before_pages(WATCH).await?;
    for slower in [1, 6] {
        browser.debug("Emulation.setCPUThrottlingRate", json!({ "rate": slower })).await?;
        let mut lives = Vec::new();
        for _ in 0..7 {
            browser.living_page(&page).await?;
            lives.push(browser.script("return lastAlive - webAssemblyReady").await?);
        }
        println!("| `{page}` comes alive, CPU {slower}× slower, median of 7 | {:.1} ms |", median(&lives));
        let answers: Vec<Value> = browser.execute_async(TYPE_READINGS, Vec::new()).await?.convert()?;
        let slowest = answers.last().and_then(Value::as_f64).unwrap_or(f64::NAN);
        println!(
            "| from a key to the answer laid out, CPU {slower}× slower, median and slowest of {} | {:.1} ms, {slowest:.1} ms |",
            answers.len(),
            median(&answers)
        );
    }
    every_calculator(&browser).await?;
    fit_and_redraw(&browser).await?;
    turn_the_knob(&browser).await?;
    job_kept::measure(&browser).await
}

/// From an input event in a calculator's first number to the answer laid out, and the picture in the frame that follows.
const STEP_A_NUMBER: &str = "
    const [calculator, texts] = arguments;
    const done = arguments[arguments.length - 1];
    const field = calculator.querySelector('.fields input:not([name$=tolerance])');
    (async () => {
        const times = [];
        for (let round = 0; round < 30; round++) {
            const started = performance.now();
            field.value = texts[round % texts.length];
            field.dispatchEvent(new InputEvent('input', { bubbles: true }));
            calculator.getBoundingClientRect();
            const answered = performance.now() - started;
            await new Promise((frame) => requestAnimationFrame(frame));
            const late = performance.now();
            calculator.getBoundingClientRect();
            times.push([answered, performance.now() - late]);
            await new Promise((rest) => setTimeout(rest, 5));
        }
        done(times.slice(5).map(([answered]) => answered).sort((a, b) => a - b));
    })();";

async fn every_calculator(browser: &Browser) -> WebDriverResult<()> {
    for slower in [1, 6] {
        browser.debug("Emulation.setCPUThrottlingRate", json!({ "rate": slower })).await?;
        for entry in calc_core::calculators() {
            let id = entry.sheet.id;
            browser.living_page(&page_with(id)).await?;
            let element = browser.element(&format!("[data-calculator={id}]")).await?;
            let field = element.find(thirtyfour::By::Css(".fields input:not([name$=tolerance])")).await?;
            let stands = field.value().await?.unwrap_or_default();
            // The same value in other words: worked out again, with the same answer.
            let texts = json!([format!("{stands} "), stands]);
            let times: Vec<Value> =
                browser.execute_async(STEP_A_NUMBER, vec![element.to_json()?, texts]).await?.convert()?;
            println!(
                "| `{id}`, from a key to the answer laid out, CPU {slower}× slower | {:.1} ms |",
                median(&times)
            );
        }
    }
    Ok(())
}

/// A model fitted to sixty points of the reader's own, and the curves drawn again.
async fn fit_and_redraw(browser: &Browser) -> WebDriverResult<()> {
    let points: Vec<String> = (0..60)
        .map(|at| {
            let (row, column) = (at / 10, at % 10);
            let (anode, grid) = (200 + 40 * row, 20 + 3 * column);
            let current = f64::from(60 - 5 * column + 2 * row);
            format!("{anode}/300/-{grid}: {current}/{:.1}", current / 20.0)
        })
        .collect();
    let given = calc_core::calculator::Inputs::from([
        ("basis".to_owned(), "measured".to_owned()),
        ("points".to_owned(), points.join("; ")),
        ("find".to_owned(), "current".to_owned()),
    ]);
    let link = calc_core::calculator::Link {
        calculator: "idle-point".to_owned(),
        edition: Some(1),
        inputs: given,
        ..calc_core::calculator::Link::default()
    };
    let script = "
        const done = arguments[arguments.length - 1];
        const calculator = document.querySelector('[data-calculator=idle-point]');
        const field = calculator.querySelector('input[name=anode-voltage]');
        (async () => {
            const times = [];
            for (let volts = 300; volts < 330; volts++) {
                field.value = String(volts);
                const started = performance.now();
                field.dispatchEvent(new InputEvent('input', { bubbles: true }));
                calculator.getBoundingClientRect();
                const answered = performance.now() - started;
                const drawn = await new Promise((frame) => requestAnimationFrame(() => {
                    const from = performance.now();
                    setTimeout(() => { calculator.getBoundingClientRect(); frame(performance.now() - from); });
                }));
                times.push([answered, drawn]);
            }
            const one = (at) => times.slice(5).map((pair) => pair[at]).sort((a, b) => a - b);
            done([one(0), one(1)]);
        })();";
    for (what, fragment) in
        [("fitted to 60 points", link.written()), ("of its sheet", String::from("idle-point.1"))]
    {
        for slower in [1, 6] {
            browser.debug("Emulation.setCPUThrottlingRate", json!({ "rate": slower })).await?;
            browser.living_page("index.html").await?;
            browser.living_page(&format!("{}#{fragment}", page_with("idle-point"))).await?;
            let [answered, drawn]: [Vec<Value>; 2] =
                browser.execute_async(script, Vec::new()).await?.convert()?;
            println!(
                "| `idle-point`, model {what}, CPU {slower}× slower: answer, then curves in the next frame | {:.1} ms, {:.1} ms |",
                median(&answered),
                median(&drawn)
            );
        }
    }
    Ok(())
}

/// Turns the knob of the master volume: what is worked out and set of answer, curve and schematic, and their layout.
async fn turn_the_knob(browser: &Browser) -> WebDriverResult<()> {
    let script = "
        const done = arguments[arguments.length - 1];
        const calculator = document.querySelector('[data-calculator=master-volume]');
        const field = calculator.querySelector('input[name=knob]');
        const taken = (act) => { const from = performance.now(); act(); return performance.now() - from; };
        const frame = () => new Promise((frame) => requestAnimationFrame(frame));
        (async () => {
            const times = [];
            for (let turn = 0; turn < 60; turn++) {
                await frame();
                await new Promise((rest) => setTimeout(rest, 60));
                let from;
                requestAnimationFrame(() => { from = performance.now(); });
                field.value = String(2 + (turn * 7) % 60 / 10);
                const answered = taken(() => field.dispatchEvent(new InputEvent('input', { bubbles: true })));
                await frame();
                const drawn = performance.now() - from;
                times.push([answered + drawn, taken(() => calculator.getBoundingClientRect())]);
            }
            const one = (at) => times.slice(5).map((pair) => pair[at]).sort((a, b) => a - b);
            done([one(0), one(1)]);
        })();";
    for slower in [1, 6] {
        browser.debug("Emulation.setCPUThrottlingRate", json!({ "rate": slower })).await?;
        browser.living_page("master-volume/the-control.html").await?;
        let [set, laid]: [Vec<Value>; 2] = browser.execute_async(script, Vec::new()).await?.convert()?;
        println!(
            "| `master-volume`, a turn of its knob, CPU {slower}× slower: answer, curve and schematic; their layout | {:.1} ms, {:.1} ms |",
            median(&set),
            median(&laid)
        );
    }
    Ok(())
}

fn median(figures: &[Value]) -> f64 {
    let mut figures: Vec<f64> = figures.iter().filter_map(Value::as_f64).collect();
    figures.sort_by(f64::total_cmp);
    figures.get(figures.len() / 2).copied().unwrap_or(f64::NAN)
}

fn kilo(bytes: u64) -> String {
    format!("{}.{}", bytes / 1000, bytes % 1000 / 100)
}
