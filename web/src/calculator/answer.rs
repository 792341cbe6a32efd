//! What is only read, as HTML: the answer and how far it may be off, how it stands to the limits, the working.

use calc_core::calculator::{Answered, Sheet, Table, Verdict};
use maud::{Markup, html};

use super::formula::{step, symbol};
use super::{Shown, drawing, picture};

/// What is said when the answer shown is that of an earlier state of the fields.
pub(super) fn old_note(shown: &Shown, _: &str) -> Markup {
    html! {
        @if shown.old() {
            p.old-note { "Out of date: this answers your earlier entries. Correct the field marked above." }
        }
    }
}

/// The headline and the verdict that asks for the most attention: they stay in sight while a field is edited.
pub(super) fn dock(shown: &Shown, block: &str) -> Markup {
    let report = shown.report();
    html! {
        a href={ "#" (block) "-the-answer" } {
            @if let Some(first) = report.headline() {
                span.headline {
                    strong { (first.value()) } " " @if shown.old() { "(old) " } span { (first.span()) } " "
                    // A low screen has room for the first words of the name: they are cut where they end, and not in one.
                    @let name = first.answer.name;
                    @let first_words = name.split(',').next().unwrap_or(name);
                    span.name { (first_words) span.rest { (name.strip_prefix(first_words).unwrap_or_default()) } }
                }
            }
            @if let Some(worst) = report.worst() {
                " " span.worst data-worst=(worst.standing.id()) data-doubt[worst.word() != worst.standing.word()] {
                    strong { (worst.word()) } ": " (worst.about)
                }
            }
        }
    }
}

pub(super) fn summary(shown: &Shown, _: &str) -> Markup {
    html! { p.summary { (shown.report().summary) } }
}

/// Whether the whole is an example, or which example values stand among the reader's own.
pub(super) fn examples(shown: &Shown, _: &str) -> Markup {
    html! { @if let Some(words) = shown.report().whose_values() { p.examples { (words) } } }
}

pub(super) fn verdicts(shown: &Shown, _: &str) -> Markup {
    html! { ul.verdicts { @for verdict in &shown.report().verdicts { (judged(verdict)) } } }
}

pub(super) fn notes(shown: &Shown, _: &str) -> Markup {
    let notes = &shown.report().notes;
    html! {
        @if !notes.is_empty() {
            ul.notes { @for note in notes { li { (note) } } }
        }
    }
}

pub(super) fn tables(shown: &Shown, _: &str) -> Markup {
    html! { @for shown in &shown.report().tables { (table(&shown.get())) } }
}

pub(super) fn answers(shown: &Shown, block: &str) -> Markup {
    html! {
        dl.answers {
            @for answered in &shown.report().answers {
                div data-answer=(answered.answer.id) {
                    dt { (answered.answer.name) " " (symbol(answered.answer.symbol)) }
                    dd id=(value_id(block, answered)) { (value(answered)) }
                }
            }
        }
    }
}

/// The id of the element that holds an answer's value.
pub(crate) fn value_id(block: &str, answered: &Answered) -> String {
    format!("{block}-is-{}", answered.answer.id)
}

/// An answer's value, and how far it may be off.
pub(crate) fn value(answered: &Answered) -> Markup {
    html! { span.value data-kept-at=[answered.kept()] data-example[!answered.examples.is_empty()] { (answered.value()) } " " span.span { (answered.span()) } }
}

pub(super) fn picture(shown: &Shown, block: &str) -> Markup {
    html! { @if let Some(picture) = &shown.report().picture { (picture::picture(picture, block, Some(shown.cursor))) } }
}

pub(super) fn points(shown: &Shown, block: &str) -> Markup {
    html! {
        @if let Some(picture) = &shown.report().picture {
            (picture::points(picture))
            (drawing::save(&format!("{block}.csv"), "text/csv"))
        }
    }
}

pub(super) fn drawings(shown: &Shown, block: &str) -> Markup {
    html! { @for shown in &shown.report().drawings { (drawing::drawing(shown, block)) } }
}

/// Files that go with the answer, each as text too.
pub(super) fn exports(shown: &Shown, _: &str) -> Markup {
    html! {
        @for export in &shown.report().exports {
            div.export {
                p { (export.name) ", " (export.what) ":" }
                pre tabindex="0" { (export.text.get()) }
                (drawing::save(export.name, export.media))
            }
        }
    }
}

/// A table of the answer. One that is wider than a phone is a card for each row there; else it scrolls in a frame of its own
/// where it is too wide.
pub(super) fn table(table: &Table) -> Markup {
    /// As many columns as a phone is wide.
    const PHONE: usize = 3;
    let is_wide = table.head.len() > PHONE;
    let head = |at: usize| table.head.get(at).filter(|_| is_wide);
    html! {
        div.scroll role="group" aria-label=(table.title) tabindex="0" {
            table.cards[is_wide] {
                caption { (table.title) }
                thead { tr { @for cell in &table.head { @if cell.is_empty() { td {} } @else { th scope="col" { (cell) } } } } }
                tbody {
                    @for row in &table.rows {
                        tr {
                            @for (at, cell) in row.iter().enumerate() {
                                @if at == 0 { th scope="row" { (cell) } } @else { td data-head=[head(at)] { (cell) } }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// The steps of the working.
pub(super) fn working(shown: &Shown, _: &str) -> Markup {
    html! { ol { @for shown in &shown.report().steps { (step(shown)) } } }
}

/// Each answer's likely error, and what it depends on.
pub(super) fn margins(shown: &Shown, _: &str) -> Markup {
    html! {
        ul {
            @for answered in &shown.report().answers {
                li {
                    (answered.answer.name) ": " (answered.value()) ", " (answered.likely())
                    @if let Some(most) = answered.most { ", mostly by “" (most) "”" }
                }
            }
        }
        p {
            "The margin beside each answer is the worst case: every value off at once by its whole tolerance, in the \
             direction that moves this answer most. Verdicts are based on it. ± is the likely spread: the root of the \
             sum of squares, for errors that do not depend on each other (JCGM 100)."
        }
    }
}

/// What holds for every answer of this calculator.
pub(super) fn about(sheet: &Sheet) -> Markup {
    html! {
        details.leaves-out {
            summary { "What it leaves out" }
            ul { @for line in sheet.leaves_out { li { (line) } } }
        }
        details.sources {
            summary { "Where it comes from" }
            ul { @for source in sheet.sources { li { (source.cited()) } } }
        }
    }
}

fn judged(verdict: &Verdict) -> Markup {
    html! {
        li data-standing=(verdict.standing.id()) data-doubt[verdict.word() != verdict.standing.word()] {
            p.standing {
                (verdict.about) @if verdict.is_rule_of_thumb() { " (common practice)" } ": " strong { (verdict.word()) }
            }
            p { (verdict.advice) }
            @if let Some(limit) = &verdict.limit {
                p.limit { "Limit: " (limit) ". " @if let Some(source) = verdict.source { (source.cited()) "." } }
            }
        }
    }
}

/// The answer for a screen reader; or what prevents it.
pub(crate) fn in_words(shown: &Shown) -> String {
    if let Some(problem) = shown.outcome.problems().next() {
        return problem.message.clone();
    }
    let report = shown.report();
    let whose = report.whose_values().map(|words| format!(" {words}")).unwrap_or_default();
    let verdicts = report.verdicts.iter().map(|verdict| format!("{}: {}.", verdict.about, verdict.word()));
    format!("{}{whose} {}", report.summary, verdicts.collect::<Vec<_>>().join(" "))
}
