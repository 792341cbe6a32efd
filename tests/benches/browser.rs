//! What a reader waits for: bytes, the first life of a page, the answer after a key.

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
    const calculator = document.querySelector('[data-calculator=dissipation]');
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
