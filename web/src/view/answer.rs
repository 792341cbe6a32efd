//! What is only read, as HTML: the answer and how far it may be off, how it stands to the limits, the working.

use calc_core::calculator::{Answered, Report, Sheet, Table, Verdict};
use maud::{Markup, html};

use super::formula::{step, symbol};
use super::picture::picture;

/// Summary, verdicts, notes, values, picture.
pub(super) fn found(report: &Report, block: &str) -> Markup {
    html! {
        p.summary { (report.summary) }
        ul.verdicts { @for verdict in &report.verdicts { (judged(verdict)) } }
        @if !report.notes.is_empty() {
            ul.notes { @for note in &report.notes { li { (note) } } }
        }
        dl.answers { @for answered in &report.answers { (value(answered)) } }
        @if let Some(shown) = &report.picture { (picture(shown, block)) }
        @for shown in &report.tables { (table(shown)) }
    }
}

/// A table of the answer; it scrolls in a frame of its own where it is too wide.
fn table(table: &Table) -> Markup {
    html! {
        div.scroll role="region" aria-label=(table.title) tabindex="0" {
            table {
                caption { (table.title) }
                thead { tr { @for cell in &table.head { th scope="col" { (cell) } } } }
                tbody {
                    @for row in &table.rows {
                        tr {
                            @for (at, cell) in row.iter().enumerate() {
                                @if at == 0 { th scope="row" { (cell) } } @else { td { (cell) } }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// The steps of the working.
pub(super) fn working(report: &Report) -> Markup {
    html! { ol { @for shown in &report.steps { (step(shown)) } } }
}

/// Each answer's likely error, and what it hangs on.
pub(super) fn margins(report: &Report) -> Markup {
    html! {
        ul {
            @for answered in &report.answers {
                li {
                    (answered.answer.name) ": " (answered.value()) ", " (answered.likely())
                    @if let Some(most) = answered.most { ", mostly by “" (most) "”" }
                }
            }
        }
        p {
            "Worst case adds every tolerance; ± is the root of the sum of squares, for errors that do not depend on each \
             other (JCGM 100). Verdicts are drawn on the worst case."
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

fn value(answered: &Answered) -> Markup {
    html! {
        div data-answer=(answered.answer.id) {
            dt { (answered.answer.name) " " (symbol(answered.answer.symbol)) }
            dd { span.value { (answered.value()) } " " span.span { (answered.span()) } }
        }
    }
}

fn judged(verdict: &Verdict) -> Markup {
    html! {
        li data-standing=(verdict.standing.id()) {
            p.standing {
                @if verdict.is_rule_of_thumb() { "Common practice, " }
                (verdict.about) ": " strong { (verdict.standing.word()) }
            }
            p { (verdict.advice) }
            @if let Some(limit) = &verdict.limit {
                p.limit { "Limit: " (limit) ". " @if let Some(source) = verdict.source { (source.cited()) "." } }
            }
        }
    }
}

/// The answer for those who listen.
#[cfg(target_arch = "wasm32")]
pub(super) fn in_words(report: &Report) -> String {
    let verdicts =
        report.verdicts.iter().map(|verdict| format!("{}: {}.", verdict.about, verdict.standing.word()));
    format!("{} {}", report.summary, verdicts.collect::<Vec<_>>().join(" "))
}
