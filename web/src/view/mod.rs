//! The one view that every calculator is shown by.

mod answer;
mod fields;
mod formula;
mod picture;

use calc_core::calculator::{Inputs, Outcome, Report, Sheet};
use leptos::prelude::*;

use crate::Block;

/// What the reader and the view share about one block.
#[derive(Clone, Copy)]
struct State {
    /// The block's anchor, before which every id of the block begins.
    block: StoredValue<String>,
    /// What the reader typed, over what the page sets.
    typed: RwSignal<Inputs>,
    /// What came of it, worked out once for each change.
    outcome: Memo<Outcome>,
    /// False as printed and until the browser has taken over.
    alive: RwSignal<bool>,
}

/// The last answer that could be worked out.
#[derive(Clone, PartialEq)]
struct Shown {
    report: Report,
    /// Whether something typed since then could not be used.
    old: bool,
}

/// The content of a block.
pub(crate) fn calculator(block: Block) -> AnyView {
    let Ok(entry) = calc_core::find(&block.calculator) else {
        return view! { <p class="problem">"There is no calculator of this name in this edition."</p> }.into_any();
    };
    let typed = RwSignal::new(Inputs::new());
    let given = block.inputs;
    let outcome = Memo::new(move |_| {
        let mut inputs = given.clone();
        typed.with(|typed| inputs.extend(typed.clone()));
        (entry.run)(&inputs)
    });
    let shown = Memo::new(move |last: Option<&Option<Shown>>| {
        outcome.with(|outcome| match &outcome.report {
            Some(report) => Some(Shown { report: report.clone(), old: false }),
            None => last.cloned().flatten().map(|shown| Shown { old: true, ..shown }),
        })
    });
    let state = State { block: StoredValue::new(block.id.clone()), typed, outcome, alive: RwSignal::new(false) };
    #[cfg(target_arch = "wasm32")]
    wake(state);
    let title = format!("{}-title", block.id);
    view! {
        <p class="title" id=title>{entry.sheet.title}</p>
        <p class="question">{entry.sheet.question}</p>
        {fields::form(state)}
        {answer::answers(state, shown)}
        {buttons(state, shown, entry.sheet)}
        {about(entry.sheet)}
        {spoken(shown)}
    }
    .into_any()
}

/// Once the browser has taken over: the fields wake, what was typed on an earlier visit goes in, what is typed is kept.
#[cfg(target_arch = "wasm32")]
fn wake(state: State) {
    use crate::browser;
    Effect::new(move |again: Option<()>| {
        let block = state.block.get_value();
        if again.is_none() {
            state.alive.set(true);
            let kept = browser::kept(&block);
            if !kept.is_empty() {
                state.typed.set(kept);
            }
        }
        state.typed.with(|typed| browser::keep(&block, typed));
    });
}

fn buttons(state: State, shown: Memo<Option<Shown>>, sheet: &'static Sheet) -> impl IntoView {
    let said = RwSignal::new("");
    let copy = move |_| {
        let text = shown.with_untracked(|shown| shown.as_ref().map(|shown| shown.report.as_text(sheet.title)));
        #[cfg(target_arch = "wasm32")]
        leptos::task::spawn_local(async move {
            let done = match text {
                Some(text) => crate::browser::copy(&text).await,
                None => false,
            };
            said.set(if done { "Copied." } else { "The browser forbids copying here." });
        });
        #[cfg(not(target_arch = "wasm32"))]
        drop(text);
    };
    let reset = move |_| {
        state.typed.set(Inputs::new());
        said.set("Every field stands as the page set it.");
    };
    view! {
        <div class="buttons">
            <button type="button" data-act="copy" on:click=copy>"Copy the answer as text"</button>
            <button type="button" data-act="reset" on:click=reset>"Undo all I typed"</button>
            <span class="said" role="status">{move || said.get()}</span>
        </div>
    }
}

/// What holds for every answer of this calculator.
fn about(sheet: &'static Sheet) -> impl IntoView {
    let leaves_out = sheet.leaves_out.iter().map(|line| view! { <li>{*line}</li> }).collect_view();
    let sources = sheet.sources.iter().map(|source| view! { <li>{answer::cited(source)}</li> }).collect_view();
    view! {
        <details class="leaves-out"><summary>"What it leaves out"</summary><ul>{leaves_out}</ul></details>
        <details class="sources"><summary>"Where it comes from"</summary><ul>{sources}</ul></details>
    }
}

/// Says the answer to those who listen, once typing has paused.
fn spoken(shown: Memo<Option<Shown>>) -> impl IntoView {
    let says = RwSignal::new(String::new());
    #[cfg(target_arch = "wasm32")]
    {
        let pause = std::time::Duration::from_millis(900);
        let mut say = leptos::leptos_dom::helpers::debounce(pause, move |words: String| says.set(words));
        let words = move || shown.with(|shown| shown.as_ref().map(answer::in_words).unwrap_or_default());
        Effect::watch(words, move |words, _, _| say(words.clone()), false);
    }
    #[cfg(not(target_arch = "wasm32"))]
    let _ = shown;
    view! { <p class="unseen" aria-live="polite">{move || says.get()}</p> }
}
