//! Texts: each counts as what the calculators' reader says of it, or it is asked back.

use std::collections::BTreeSet;

use calc_core::quantity::notation::read;
use job::unit::measure;
use serde_json::Value;
use tests::browser::Browser;
use tests::engine::Engine;
use thirtyfour::Key;
use thirtyfour::error::WebDriverResult;

use super::{begin, kept, press, reading, screen};
use crate::job::JOB;

tests::in_every_engine! {
    what_is_typed_is_what_counts_or_it_is_asked_back,
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
    /// What is in the line of the echo.
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
    // What counts is what is on disk, all of it and in order: as fast as a script types, it is there some seconds later.
    let started = std::time::Instant::now();
    while kept(&browser).await?.len() < counted.len() && started.elapsed().as_secs() < 30 {
        tokio::time::sleep(std::time::Duration::from_millis(100)).await;
    }
    browser.page(JOB).await?;
    assert_eq!(kept(&browser).await?, counted);
    assert_eq!(browser.complaints().await?, [""; 0]);
    Ok(())
}

/// Whether the pad has keys for a text.
fn has_keys(text: &str) -> bool {
    text == "OL" || (!text.is_empty() && text.chars().all(|letter| "0123456789.-−kMmµ".contains(letter)))
}
