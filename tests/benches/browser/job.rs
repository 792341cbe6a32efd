//! What the job costs: a key to the disk, and a bench full of jobs.

use job::{ChangeKind, From, Job, Judged, Photo, Reading, Time, file};
use serde_json::{Value, json};
use tests::browser::Browser;
use thirtyfour::error::WebDriverResult;

use super::median;

const JOB: &str = "survey/the-job.html";
const JOBS: usize = 200;
const READINGS: u64 = 200;
const PHOTOS: usize = 10;

/// From the key to the words that say it is on disk, forty times.
const TYPE: &str = "
    const done = arguments[arguments.length - 1];
    const [field, kept] = ['#survey-anode-voltage', '.kept-at'].map((name) => document.querySelector(name));
    (async () => {
        const times = [];
        for (let volts = 300; volts < 340; volts++) {
            field.value = String(volts);
            const started = performance.now();
            field.dispatchEvent(new InputEvent('input', { bubbles: true }));
            await new Promise((said) => {
                const seen = new MutationObserver(() => {
                    if (!kept.textContent.startsWith('Kept')) return;
                    seen.disconnect();
                    said();
                });
                seen.observe(kept, { childList: true, characterData: true, subtree: true });
            });
            times.push(performance.now() - started);
            await new Promise((rest) => setTimeout(rest, 20));
        }
        done(times.sort((a, b) => a - b));
    })();";

/// Puts jobs and their pictures where the book keeps them.
const SHELVE: &str = "
    const [texts, heads, ids, photos] = arguments;
    const done = arguments[arguments.length - 1];
    indexedDB.open('standing-current').onsuccess = ({ target: { result: database } }) => {
        const all = database.transaction(['jobs', 'heads', 'photos'], 'readwrite');
        const picture = new Uint8Array(100000).map((_, at) => at * 7);
        ids.forEach((id, at) => {
            all.objectStore('jobs').put(texts[at], id);
            all.objectStore('heads').put(heads[at], id);
            for (let photo = 0; photo < photos; photo++) all.objectStore('photos').put(picture, `${id}/p${photo}`);
        });
        all.oncomplete = () => { database.close(); done(true); };
    };";

/// From the tap on a job in the list to its survey, pictures and all.
const CHOOSE: &str = "
    const [label, photos] = arguments;
    const done = arguments[arguments.length - 1];
    const button = [...document.querySelectorAll('[data-act=choose]')].find((one) => one.textContent.trim() === label);
    const started = performance.now();
    const look = () => {
        const there = document.querySelector('#survey-label').value === label
            && document.querySelectorAll('#survey-photos img').length === photos;
        if (there) done(performance.now() - started);
        else setTimeout(look);
    };
    button.click();
    look();";

pub async fn measure(browser: &Browser) -> WebDriverResult<()> {
    browser.debug("Emulation.setCPUThrottlingRate", json!({ "rate": 1 })).await?;
    open(browser).await?;
    browser.script("document.querySelector('#jobs-new').value = 'First'; document.querySelector('[data-act=new]').click()").await?;
    browser
        .until("a job is begun", "return document.querySelector('#survey-label').value === 'First'")
        .await?;
    let times: Vec<Value> = browser.execute_async(TYPE, Vec::new()).await?.convert()?;
    print_times("from a key to its change on disk, an empty job", &times);

    for chunk in (0..JOBS).collect::<Vec<_>>().chunks(10) {
        let jobs: Vec<Job> = chunk.iter().map(|at| full(*at)).collect();
        let heads = jobs.iter().map(|job| {
            json!({ "id": job.id, "label": job.label, "changed": job.changed, "exported": null }).to_string()
        });
        let with = vec![
            json!(jobs.iter().map(file::write).collect::<Vec<_>>()),
            json!(heads.collect::<Vec<_>>()),
            json!(jobs.iter().map(|job| &job.id).collect::<Vec<_>>()),
            json!(PHOTOS),
        ];
        browser.execute_async(SHELVE, with).await?;
    }
    let mut lives = Vec::new();
    for _ in 0..5 {
        open(browser).await?;
        lives.push(browser.script("return window.lastAlive - performance.getEntriesByType('resource').filter((one) => one.name.includes('jobs-')).at(-1).responseEnd").await?);
    }
    lives.sort_by(|one, other| {
        one.as_f64().unwrap_or(f64::NAN).total_cmp(&other.as_f64().unwrap_or(f64::NAN))
    });
    print_times(&format!("{JOBS} jobs on the shelf: the page of jobs comes alive"), &lives);
    let mut times = Vec::new();
    for at in 0..20 {
        let label = format!("Amplifier {}", at * 7);
        times.push(browser.execute_async(CHOOSE, vec![json!(label), json!(PHOTOS)]).await?.json().clone());
    }
    times.sort_by(|one, other| {
        one.as_f64().unwrap_or(f64::NAN).total_cmp(&other.as_f64().unwrap_or(f64::NAN))
    });
    print_times(
        &format!("one of {JOBS} jobs opened, {READINGS} readings and {PHOTOS} photographs of 100 kB each"),
        &times,
    );
    let times: Vec<Value> = browser.execute_async(TYPE, Vec::new()).await?.convert()?;
    print_times("from a key to its change on disk, a full job", &times);
    Ok(())
}

async fn open(browser: &Browser) -> WebDriverResult<()> {
    browser.page(JOB).await?;
    browser
        .until("the blocks come alive", "return !document.querySelector('[data-job]:not([data-alive])')")
        .await
}

fn print_times(what: &str, times: &[Value]) {
    let slowest = times.last().and_then(Value::as_f64).unwrap_or(f64::NAN);
    println!("| {what}, median and slowest of {} | {:.1} ms, {slowest:.1} ms |", times.len(), median(times));
}

/// A job as it is at the end of a week's work.
fn full(at: usize) -> Job {
    let mut job = Job::new(&format!("job{at}"), &format!("Amplifier {at}"), Time::from_seconds(at as u64));
    for known in job::values::KNOWN {
        // What takes other texts than these stays unknown.
        let _ = job.set(known.id, "-46", From::Typed, Time::from_seconds(1000));
    }
    for number in 0..READINGS {
        job.readings.push(Reading {
            procedure: "first-power-up/staged-power-up.html".to_owned(),
            step: format!("step-{}", number % 40),
            reading: format!("reading-{number}"),
            blank: if number % 2 == 0 { "A" } else { "B" }.to_owned(),
            quantity: "Bias at the grid’s own tag".to_owned(),
            text: "-46.2 V".to_owned(),
            unit: "V".to_owned(),
            at: Time::from_seconds(1000 + number),
            judged: Judged::InRange,
            range: "−41 V or more negative".to_owned(),
            why: String::new(),
            purpose: job::procedure::Purpose::Live,
            from_file: false,
            early: String::new(),
            run: 1,
            changes_before: 0,
            inputs_used: Some([("bias-expected".to_owned(), "-43 V".to_owned())].into()),
        });
    }
    job.change(job::Change {
        at: Time::from_seconds(2000),
        kind: ChangeKind::Swapped,
        what: "grid leak".to_owned(),
        place: "side A".to_owned(),
        value: "100 kΩ".to_owned(),
        before: "220 kΩ".to_owned(),
        kept: "bag 3".to_owned(),
    });
    for photo in 0..PHOTOS {
        job.photos.push(Photo {
            id: format!("p{photo}"),
            caption: "The board before anything is unsoldered".to_owned(),
            at: Time::from_seconds(900),
            media: "image/jpeg".to_owned(),
            width: 1600,
            height: 1200,
            bytes: None,
        });
    }
    job
}
