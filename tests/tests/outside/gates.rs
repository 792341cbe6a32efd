//! The page of the appendix that says which gate stops which fault, written from the walks.

use std::fmt::Write as _;
use std::fs;
use std::path::Path;

use tests::amplifier::family::family;

use crate::faults::{GROUPS, Outcome, UNSEEN};
use tests::walk::procedures::PROCEDURES;
use tests::walk::{At, Closed};

const PAGE: &str = "20-appendix/3-what-the-gates-stop.md";
/// Set to anything, the page is written instead of compared.
const WRITE: &str = "WRITE_APPENDIX";

const HEAD: &str = r#"+++
title = "What the gates stop"
kind = "appendix"
summary = "Faults put into invented amplifiers: the gate that stops each, what the meter shows there, and what no gate sees."
+++

How far can you rely on the gates of the procedures? A test of this book answers, and writes this page. It has invented amplifiers as circuits: windings, rectifiers, resistors, valves by their published models. Each sound one passes every procedure to its end. Then one part is made faulty, the circuit is calculated again, and the procedures are run with what the meters would show. A reading without a procedure's name is one of the [staged power-up](../6-first-power-up/1-staged-power-up.md).

- **First gate**: where the run first stops. If it is soft, a written reason opens it, and the run goes on to the next column.
- **Hard gate**: the first one that no reason opens, often the *same*. The run ends there.
- **Harm**: the first reading at which the fault could do harm if nothing had stopped the work: a person on a live or unearthed chassis; an anode or screen 20 % over its rated watts; a capacitor over its rated voltage; a resistor, an insulation or a transformer overloaded; a howl at full power; drive without a load ([common practice, no source](source:practice)).

A dash means none.

"#;

const TAIL: &str = r"
The circuits leave these out, so they have not been tried:

- a fault that comes and goes: a joint that opens when warm, a valve that shorts when tapped;
- a capacitor that leaks only when warm, or only above the voltage behind the lamp;
- a coupling capacitor that lifts its grid by less than half a volt, a hundred megohms or more: the insulation tester finds it;
- one hot valve among several that share a cathode resistor or a half primary: only your eyes see it, once the anode is red;
- two faults that hide each other, or a wrong figure in the job: an expected bias too small, the wrong valve;
- hum, hiss, crackle, a microphonic valve: your ears judge these;
- shorted turns in the output transformer: too little power, which has no gate;
- the small valves and their own supply nodes.
";

/// Compares the page with what the walks say, or writes it.
pub fn compare(outcomes: &[Outcome]) {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../content").join(PAGE);
    let expected = page(outcomes);
    if std::env::var_os(WRITE).is_some() {
        fs::write(&path, expected).expect("the page can be written");
        return;
    }
    let found = fs::read_to_string(&path).unwrap_or_default();
    assert!(
        found == expected,
        "{PAGE} is not what the walks say; write it with {WRITE}=1 cargo test -p tests --test outside faults"
    );
}

fn page(outcomes: &[Outcome]) -> String {
    let mut page = HEAD.to_owned();
    let _ = writeln!(page, "{} amplifiers, {} faults.", family().len(), outcomes.len());
    let mut rest = outcomes.iter();
    for (title, faults) in GROUPS {
        let _ = write!(
            page,
            "\n## {title}\n\n| Fault | In | First gate | The meter shows | Hard gate | Harm |\n"
        );
        page.push_str("|---|---|---|---|---|---|\n");
        for outcome in rest.by_ref().take(faults.len()) {
            let first = outcome.first();
            let _ = writeln!(
                page,
                "| {} | {} | {} | {} | {} | {} |",
                outcome.fault.words,
                outcome.fault.amplifier,
                first.map_or("—".into(), |closed| place(closed.at, &closed.quantity)),
                first.map_or("—".into(), shown),
                outcome.hard().map_or("—".into(), |closed| hard(closed, outcome)),
                outcome.harm.as_ref().map_or("—".into(), |(visit, what)| {
                    format!("{}: {what}", place(visit.at, &visit.quantity))
                }),
            );
        }
    }
    let late: Vec<&str> = outcomes
        .iter()
        .filter(|outcome| outcome.late_alone.is_some())
        .map(|outcome| outcome.fault.words)
        .collect();
    page.push_str("\n## The staged power-up by itself\n\n");
    let _ = if late.is_empty() {
        writeln!(
            page,
            "Run by itself, without the cold survey and the other procedures, the staged power-up also stops in time every fault that could do harm in it."
        )
    } else {
        writeln!(
            page,
            "Run by itself, without the cold survey and the other procedures, the staged power-up stops in time every fault that could do harm in it, except these: {}.",
            late.join("; ")
        )
    };
    page.push_str(
        "\n## What no gate sees\n\nThese faults pass every gate; by the rules above they do no harm:\n\n",
    );
    for (words, why) in UNSEEN {
        let fault = outcomes.iter().find(|outcome| outcome.fault.words == words);
        let amplifier = fault.map_or("", |outcome| outcome.fault.amplifier);
        let _ = writeln!(page, "- {words} ({amplifier}): {why}.");
    }
    page.push_str(TAIL);
    page
}

fn hard(closed: &Closed, outcome: &Outcome) -> String {
    let is_first = outcome.first().is_some_and(|first| first.hard);
    if is_first { "same".into() } else { place(closed.at, &closed.quantity) }
}

/// The procedure, unless it is the staged power-up, and what is read there.
fn place(At { page, .. }: At, quantity: &str) -> String {
    let (path, _) = PROCEDURES[page];
    let title = fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("../content").join(path))
        .ok()
        .and_then(|text| {
            text.lines()
                .find_map(|line| Some(line.strip_prefix("title = \"")?.trim_end_matches('"').to_owned()))
        });
    let title = title.unwrap_or_else(|| path.to_owned());
    if title == "Staged power-up" { format!("*{quantity}*") } else { format!("{title}, *{quantity}*") }
}

/// What was read, the blanks that have a name by it.
fn shown(closed: &Closed) -> String {
    let read = closed.read.iter().map(|(blank, text)| {
        let unit = if text.chars().next_back().is_some_and(|last| last.is_ascii_digit()) {
            closed.unit.as_str()
        } else {
            ""
        };
        format!("{blank} {} {unit}", text.replace('-', "−")).trim().replace("  ", " ")
    });
    read.collect::<Vec<_>>().join("; ")
}
