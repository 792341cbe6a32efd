//! A reading that stops. Nothing else in the book looks like it.

use job::Job;
use job::judge::Limits;
use job::procedure::ReadingSpec;
use maud::{Markup, html};

use super::{Because, Stopped, button, lacking, said, stop_line};

/// What was read, the limit, where to look, and the two ways on.
pub(in super::super) fn stopped(
    stopped: &Stopped,
    reading: &ReadingSpec,
    limits: &Limits,
    job: &Job,
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
                    p { "The limit: " (stop.source) "." }
                    @if !reading.means.is_empty() { p { strong { "Where to look: " } (said(&reading.means, job)) } }
                    @if let Some(go) = &reading.go { p { a href=(go.href()) data-run="go" data-about=(go.href()) { "Where to go from here" } } }
                    p { "This STOP stays in sight on every page of the book until the reading is in range." }
                }
            },
            Because::Unknown(lack) => {
                div.unknown role="alert" {
                    p.word { "CANNOT TELL" }
                    p.deed { "No limit, no go. Mains stays off." }
                }
                p.quantity { (which) }
                p { (lack.why) }
                (lacking(&lack.lacks, survey))
            },
        }
        div.run-way {
            (button("cancel", "", "It is off: find the cause"))
            (button("read", &again, "Mistyped: read again"))
        }
    }
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
    fn what_to_do_is_behind_the_colon() {
        assert_eq!(deed("Over 61 mA, or climbing: mains off, hands out"), "Mains off, hands out.");
        assert_eq!(deed("No power"), "No power.");
    }
}
