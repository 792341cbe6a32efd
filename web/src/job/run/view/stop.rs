//! A reading that stops. Nothing else in the book looks like it.

use job::procedure::ReadingSpec;
use job::run::gate::RunState;
use job::run::judge::Limits;
use job::{Job, Judged};
use maud::{Markup, html};

use super::{Because, Stopped, button, lacking, said, stop_line};

/// What was read, the limit, where to look, and the two ways on.
pub(in super::super) fn stopped(
    stopped: &Stopped,
    reading: &ReadingSpec,
    limits: &Limits,
    job: &Job,
    course: &RunState<'_>,
    survey: &str,
) -> Markup {
    let again = format!("{}.{}", stopped.item, stopped.blank);
    let which = html! { (reading.quantity) @if !stopped.blank.is_empty() { ", " (stopped.blank) } };
    html! {
        @match &stopped.why {
            Because::Range(stop) => {
                div.stop role="alert" {
                    p.word { "STOP" }
                    p.deed { (deed(&stop_line(reading, limits))) }
                }
                div.found {
                    p.quantity { (which) }
                    dl {
                        div { dt { "read" } dd { (stop.read) } }
                        @let (bound, figure) = bound(&stop.limit);
                        div { dt { (bound) } dd { (figure) } }
                    }
                    p.look { "Look here, in this order" }
                    ol {
                        @if let Some(others) = others(reading, &stopped.blank, job, course) { li { (others) } }
                        @for words in sentences(&said(&reading.means, job)) { li { (words) } }
                        @if let Some(go) = &reading.go { li { a href=(go.href()) data-run="go" data-about=(go.href()) { "How to find it" } } }
                    }
                    p.hint { "The limit: " (stop.source) ". Kept with the job, and in sight on every page until it is read in range." }
                }
            },
            Because::Unknown(lack) => {
                div.unknown role="alert" {
                    p.word { "CANNOT TELL" }
                    p.deed { "No limit, no go. Mains stays off." }
                }
                p.quantity { (which) }
                p { (lack.why) }
                (lacking(&lack.missing_inputs, survey))
            },
        }
        div.run-way {
            (button("cancel", "", "It is off: find the cause"))
            (button("read", &again, "Mistyped: read again"))
        }
    }
}

/// What the other blanks of the reading say of where the fault is; nothing where there are none or none was read.
fn others(reading: &ReadingSpec, blank: &str, job: &Job, course: &RunState<'_>) -> Option<String> {
    let others = reading.blanks(job).into_iter().filter(|other| *other != blank);
    let read = others.filter_map(|other| {
        let read = course.last(&reading.id, other).filter(|read| course.invalidated_by(read).is_none())?;
        Some((other, &read.taken.text, read.taken.judged))
    });
    let (bad, good): (Vec<_>, Vec<_>) = read.partition(|(.., judged)| *judged == Judged::Stop);
    let names = |read: &[(&str, &String, Judged)]| {
        let each: Vec<String> = read.iter().map(|(other, text, _)| format!("{other} ({text})")).collect();
        each.join(", ")
    };
    match (good.is_empty(), bad.is_empty()) {
        (true, true) => None,
        (false, true) => Some(format!(
            "In range: {}. So first what {blank} has to itself, not what they share.",
            names(&good)
        )),
        (true, false) => Some(format!("Out of range too: {}. So first what they share.", names(&bad))),
        (false, false) => Some(format!("In range: {}. Out of range too: {}.", names(&good), names(&bad))),
    }
}

/// The sentences of what it likely means, in their order.
fn sentences(text: &str) -> impl Iterator<Item = String> {
    text.split_inclusive(". ")
        .map(|sentence| sentence.trim().to_owned())
        .filter(|sentence| !sentence.is_empty())
}

/// `at most −41 V` as a name and its figure; what is judged by eye has no figure.
fn bound(limit: &str) -> (String, &str) {
    let parted =
        ["at most", "at least"].iter().find_map(|word| Some((*word, limit.strip_prefix(word)?.trim())));
    parted.map_or_else(|| ("must be".to_owned(), limit), |(word, figure)| (format!("must be {word}"), figure))
}

/// What to do: what follows the colon of the rule, as a sentence; the whole of a rule that has none.
fn deed(line: &str) -> String {
    let deed = line.split_once(": ").map_or(line, |(_, deed)| deed);
    let mut letters = deed.chars();
    letters
        .next()
        .map(|first| first.to_uppercase().chain(letters).collect::<String>() + ".")
        .unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_sentence_is_a_place_to_look() {
        let said: Vec<String> =
            sentences("If all are low it is the feed, 0.5 V or so. If one is, that side.").collect();
        assert_eq!(said, ["If all are low it is the feed, 0.5 V or so.", "If one is, that side."]);
    }

    #[test]
    fn what_to_do_is_behind_the_colon() {
        assert_eq!(deed("Over 61 mA, or climbing: mains off, hands out"), "Mains off, hands out.");
        assert_eq!(deed("No power"), "No power.");
    }
}
