//! Where readings are typed: what is asked, an input for each blank, the echo, the pad.

use std::collections::BTreeMap;

use job::Job;
use job::procedure::{AS_EXPECTED, NOT_AS_EXPECTED, ReadingSpec};
use job::run::gate::RunState;
use job::run::judge::{Doubt, Limits, TooEarly, lower, read_as};
use maud::{Markup, html};

use super::gauge::{Mark, gauge, mark};
use super::socket::socket;
use super::{button, minutes, said, stop_line};

/// The id of the line in which a text is echoed, and of the place of what is offered instead of it.
pub(in super::super) const ECHO: &str = "run-echo";
/// See [`ECHO`].
pub(in super::super) const OFFERS: &str = "run-offers";

/// A reading on the screen.
pub(in super::super) struct Asked<'a> {
    pub(in super::super) reading: &'a ReadingSpec,
    pub(in super::super) limits: Limits,
    /// What the readings come to, where it is a rise and they are all there.
    pub(in super::super) rise: Option<String>,
}

/// The screen. `drafts` is what was typed before and does not count yet, by the name of its blank.
pub(in super::super) fn typing(
    asked: &[Asked<'_>],
    job: &Job,
    course: &RunState<'_>,
    drafts: &BTreeMap<String, String>,
) -> Markup {
    html! {
        @for Asked { reading, limits, .. } in asked {
            section.typed aria-label=(reading.quantity) {
                p.quantity { (reading.quantity) }
                @if !reading.is_seen() { (socket(&reading.probes, job)) }
                dl {
                    @if !reading.probes.is_empty() { div { dt { "Probes" } dd { (said(&reading.probes, job)) } } }
                    @if !reading.expect.is_empty() { div { dt { "Expect" } dd { (said(&reading.expect, job)) } } }
                }
                (stop_rule(&stop_line(reading, limits)))
                div.blanks {
                    @for blank in reading.blanks(job) {
                        @let name = format!("{}.{blank}", reading.id);
                        @let label = if blank.is_empty() { "Reading" } else { blank };
                        @let text = drafts.get(&name).map(String::as_str);
                        div.blank-typed {
                            p.head {
                                @if reading.is_seen() { strong { (blank) } } @else { label for={ "run-" (name) } { (label) } }
                                " " span data-stands=(name) { (standing(course, &reading.id, blank)) }
                            }
                            @if reading.is_seen() { (by_eye(&name)) } @else { (input(&name, &reading.unit, text)) }
                        }
                    }
                }
                @if !reading.is_seen() { div.gauge id=(gauge_id(&reading.id)) { (gauge(reading, limits, &read(course, reading))) } }
                (why(reading, limits, job))
            }
        }
        @if !asked.iter().all(|asked| asked.reading.is_seen()) {
            div.keys {
                p.echo id=(ECHO) role="status" {}
                div.offers id=(OFFERS) {}
                (pad())
            }
        }
        div.run-way {
            @for Asked { reading, rise, .. } in asked {
                @if let Some(rise) = rise {
                    @for blank in reading.blanks(job) {
                        (take(&format!("{}.{blank}", reading.id), rise, &format!("Use {rise}, worked out from the \
                                                                                  readings")))
                    }
                }
            }
            (button("cancel", "", "Back to the step"))
        }
    }
}

/// The id of the place of a reading's scale.
pub(in super::super) fn gauge_id(item: &str) -> String {
    format!("run-scale-{item}")
}

/// What of a reading was read in this run and counts, as marks on its scale.
fn read<'c>(course: &RunState<'c>, reading: &ReadingSpec) -> Vec<Mark<'c>> {
    let counts = course.all_last(reading).into_iter().filter(|read| course.invalidated_by(read).is_none());
    counts.filter_map(|read| mark(reading, &read.taken.blank, &read.taken.text)).collect()
}

/// The scale of a reading while a text is typed into one of its blanks.
pub(in super::super) fn scale(
    spec: &ReadingSpec,
    limits: &Limits,
    course: &RunState<'_>,
    name: &str,
    text: &str,
) -> Markup {
    let typed = name.split_once('.').map_or("", |(_, blank)| blank);
    let mut marks = read(course, spec);
    if let Some(mark) = mark(spec, typed, text) {
        marks.retain(|mark| mark.blank != typed);
        marks.push(mark);
    }
    gauge(spec, limits, &marks)
}

/// What stands behind the fold: what a reading out of range likely means, and where its limits come from.
fn why(reading: &ReadingSpec, limits: &Limits, job: &Job) -> Markup {
    let mut sources: Vec<&str> = Vec::new();
    for limit in [&limits.low, &limits.high].into_iter().flatten().flatten() {
        if !sources.contains(&limit.source.as_str()) {
            sources.push(&limit.source);
        }
    }
    html! {
        @if !reading.means.is_empty() || !sources.is_empty() {
            details.why {
                summary { "Why" }
                @if !reading.means.is_empty() { p { "Out of range, it likely means: " (said(&reading.means, job)) } }
                @if !reading.alike_means.is_empty() { p { "Apart, they likely mean: " (said(&reading.alike_means, job)) } }
                @if !sources.is_empty() { p { "The limit: " (sources.join("; ")) "." } }
            }
        }
    }
}

/// The rule of a reading: at what to stop.
pub(in super::super) fn stop_rule(line: &str) -> Markup {
    html! { @if !line.is_empty() { p.stop-rule { "Stop if " (lower(line)) "." } } }
}

/// An input of text, and nothing but: a screen's own keyboard stays away, the pad is there.
fn input(name: &str, unit: &str, text: Option<&str>) -> Markup {
    html! {
        span.entry {
            input type="text" id={ "run-" (name) } data-blank=(name) value=[text] inputmode="none" autocomplete="off"
                autocapitalize="off" autocorrect="off" spellcheck="false" enterkeyhint="enter" aria-describedby=(ECHO);
            " " span.unit { (unit) }
        }
    }
}

fn by_eye(name: &str) -> Markup {
    html! { div.run-way { (take(name, AS_EXPECTED, "As expected")) (take(name, NOT_AS_EXPECTED, "Not as expected")) } }
}

/// A button that takes a text for a blank.
fn take(name: &str, text: &str, words: &str) -> Markup {
    html! { button type="button" data-run="take" data-about=(text) data-name=(name) { (words) } }
}

/// What is offered in the place of a text that was asked back.
pub(in super::super) fn offers(name: &str, offers: &[String]) -> Markup {
    html! { @for text in offers { (take(name, text, text)) " " } }
}

/// What confirms a value that is hard to believe.
pub(in super::super) fn confirm(name: &str, doubt: &Doubt) -> Markup {
    html! { button type="button" data-run="confirm" data-about=(doubt.text) data-name=(name) { "It is " (doubt.text) } }
}

/// What is said about a reading before its time.
pub(in super::super) fn too_early(early: &TooEarly) -> String {
    let TooEarly { timer, left, read } = early;
    let left = left.map_or_else(
        || "it was not started for this reading".to_owned(),
        |left| format!("{} still to run", minutes(left)),
    );
    format!("{read} is too early for “{timer}”: {left}. To take it now, write a reason in the step.")
}

/// Whether a blank counts, with what was read; empty where it was not read in this run.
pub(in super::super) fn standing(course: &RunState<'_>, item: &str, blank: &str) -> String {
    let Some(read) = course.last(item, blank) else { return String::new() };
    let word = if course.invalidated_by(&read).is_some() { "read again" } else { read.taken.judged.words() };
    format!("{}: {word}", read.taken.text)
}

/// A text as it is understood, with its unit, beside the limit; or what is wrong with it. Nothing where nothing is typed.
pub(in super::super) fn echo(spec: &ReadingSpec, name: &str, text: &str, limits: &Limits) -> String {
    let blank = name.split_once('.').map_or("", |(_, blank)| blank);
    let blank = if blank.is_empty() { String::new() } else { format!("{blank}: ") };
    let range = limits.words();
    if text.trim().is_empty() {
        return if range.is_empty() { blank } else { format!("{blank}{range}") };
    }
    match read_as(spec, text) {
        Ok(read) if range.is_empty() => format!("{blank}{read}"),
        Ok(read) => format!("{blank}{read} · {range}"),
        Err(problem) => problem.message,
    }
}

/// The pad: it types into the input, and takes a reading by Enter only. It is not in the tab order: someone with a tab key has
/// the other keys too.
fn pad() -> Markup {
    html! {
        div.pad role="group" aria-label="Pad" {
            @for (key, name) in KEYS {
                button type="button" tabindex="-1" data-key=(key) aria-label=(name) { (key) }
            }
            button.on type="button" tabindex="-1" data-run="enter" data-about="" { "Enter" }
        }
    }
}

/// The keys of the pad row by row, and their names.
const KEYS: [(&str, &str); 18] = [
    ("7", "7"),
    ("8", "8"),
    ("9", "9"),
    ("−", "minus"),
    ("⌫", "delete last character"),
    ("4", "4"),
    ("5", "5"),
    ("6", "6"),
    (".", "point"),
    ("OL", "over limit: open"),
    ("1", "1"),
    ("2", "2"),
    ("3", "3"),
    ("m", "milli"),
    ("M", "mega"),
    ("0", "0"),
    ("k", "kilo"),
    ("µ", "micro"),
];
