//! The answer: what was found and how far it may be off, how it stands to the limits, the working, the picture.

use calc_core::calculator::{Answered, Report, Verdict};
use calc_core::source::Source;
use leptos::prelude::*;

use super::formula::{step, symbol};
use super::picture::picture;
use super::{Shown, State};

/// The whole answer, following what is typed.
pub(super) fn answers(state: State, shown: Memo<Option<Shown>>) -> impl IntoView {
    let block = state.block.get_value();
    let old = move || shown.with(|shown| shown.as_ref().is_none_or(|shown| shown.old));
    view! {
        <div class="answer" class:stale=old>
            <p class="old-note">
                {move || old().then_some("Old: this is the answer to what stood here before. Mend the field marked above.")}
            </p>
            {move || shown.get().map(|shown| report_view(shown.report, &block))}
        </div>
    }
}

fn report_view(report: Report, block: &str) -> AnyView {
    let Report { summary, answers, verdicts, steps, picture: shown, notes } = report;
    let verdicts = verdicts.into_iter().map(verdict).collect_view();
    let margins = answers.iter().map(margin).collect_view();
    let answers = answers.into_iter().map(answer).collect_view();
    let notes = notes.into_iter().map(|note| view! { <li>{note}</li> }).collect_view();
    let steps = steps.into_iter().map(step).collect_view();
    view! {
        <p class="summary">{summary}</p>
        <ul class="verdicts">{verdicts}</ul>
        <ul class="notes">{notes}</ul>
        <dl class="answers">{answers}</dl>
        {shown.map(|shown| picture(shown, block))}
        <details class="working"><summary>"The working, with your numbers"</summary><ol>{steps}</ol></details>
        <details class="margins">
            <summary>"How far off, and what it hangs on"</summary>
            <ul>{margins}</ul>
            <p>
                "Worst case adds every tolerance; ± is the root of the sum of squares, for errors that do not know of each
                other (JCGM 100). Verdicts are drawn on the worst case."
            </p>
        </details>
    }
    .into_any()
}

fn answer(answered: Answered) -> AnyView {
    view! {
        <div data-answer=answered.answer.id>
            <dt>{answered.answer.name} " " {symbol(answered.answer.symbol)}</dt>
            <dd><span class="value">{answered.value()}</span> " " <span class="span">{answered.span()}</span></dd>
        </div>
    }
    .into_any()
}

fn margin(answered: &Answered) -> AnyView {
    let most = answered.most.map(|name| format!(", mostly by {}", lower_first(name)));
    let line = format!("{}: {}, {}{}", answered.answer.name, answered.value(), answered.likely(), most.unwrap_or_default());
    view! { <li>{line}</li> }.into_any()
}

fn verdict(verdict: Verdict) -> AnyView {
    let habit = if verdict.is_rule_of_thumb() { "Common practice: " } else { "" };
    let limit = verdict.limit.map(|limit| {
        let cited = verdict.source.map(cited);
        view! { <span class="limit">"Limit: " {limit} ". " {cited}</span> }
    });
    view! {
        <li data-standing=verdict.standing.id()>
            <p class="standing">{habit} {verdict.about} ": " <strong>{verdict.standing.word()}</strong></p>
            <p>{verdict.advice}</p>
            <p class="limit">{limit}</p>
        </li>
    }
    .into_any()
}

/// A source, with how far it may be trusted.
pub(super) fn cited(source: &'static Source) -> String {
    let words = source.trust.words();
    if source.title.to_lowercase().contains(words) { source.title.to_owned() } else { format!("{} ({words})", source.title) }
}

/// The answer for those who listen.
#[cfg(target_arch = "wasm32")]
pub(super) fn in_words(shown: &Shown) -> String {
    if shown.old {
        return "No answer yet: a field needs mending.".to_owned();
    }
    let verdicts = shown.report.verdicts.iter().map(|verdict| format!("{}: {}.", verdict.about, verdict.standing.word()));
    format!("{} {}", shown.report.summary, verdicts.collect::<Vec<_>>().join(" "))
}

fn lower_first(name: &str) -> String {
    let mut letters = name.chars();
    letters.next().map(|first| first.to_lowercase().chain(letters).collect()).unwrap_or_default()
}
