//! The one view that every calculator is shown by.
//!
//! What is typed into and pressed is a Leptos view (`fields`, and this file); what is only read is HTML made by `maud`
//! (`answer`, `formula`, `picture`) and set as a whole. Measured: with all of it as Leptos views the WebAssembly was
//! 238 kB in brotli, for every element's type brings its own code to build, change and take over.

mod answer;
mod fields;
mod formula;
mod picture;

use calc_core::calculator::{Entry, Inputs, Outcome, Report, Sheet};
use leptos::prelude::*;

use crate::Block;

/// What the parts of the view share about one block.
#[derive(Clone, Copy)]
struct State {
    #[cfg_attr(not(target_arch = "wasm32"), expect(dead_code, reason = "only a browser has a clipboard"))]
    sheet: &'static Sheet,
    /// The block's anchor, before which every id of the block begins.
    block: StoredValue<String>,
    /// What the reader typed, over what the page sets.
    typed: RwSignal<Inputs>,
    /// What came of it, worked out once for each change.
    shown: Memo<Shown>,
    /// False as printed and until the browser has taken over.
    alive: RwSignal<bool>,
}

/// What came of the inputs, and the last answer that could be worked out.
#[derive(Clone)]
struct Shown {
    outcome: Outcome,
    last: Report,
}

impl Shown {
    /// Whether the answer shown is that of an earlier state of the fields.
    fn old(&self) -> bool {
        self.outcome.report.is_none()
    }
}

/// The content of a block of this calculator.
pub(crate) fn calculator(entry: &'static Entry, block: Block) -> impl IntoView {
    let typed = RwSignal::new(Inputs::new());
    let given = block.inputs;
    let work = move |before: Option<&Shown>| {
        let mut inputs = given.clone();
        typed.with(|typed| inputs.extend(typed.clone()));
        let outcome = entry.run(&inputs);
        let last = outcome.report.clone().or_else(|| before.map(|before| before.last.clone()));
        Shown { outcome, last: last.unwrap_or_default() }
    };
    // Typing nearly always changes something; to compare the whole answer first costs more than it saves.
    let shown = Memo::new_with_compare(work, |_, _| true);
    let alive = RwSignal::new(false);
    let state = State { sheet: entry.sheet, block: StoredValue::new(block.id), typed, shown, alive };
    #[cfg(target_arch = "wasm32")]
    wake(state);
    view! {
        <p class="title">{state.block.with_value(|block| label(entry.sheet, block))}</p>
        <p class="question">{entry.sheet.question}</p>
        {fields::form(state)}
        {answer_view(state)}
        {buttons(state)}
        <div class="about" inner_html=answer::about(entry.sheet).into_string()></div>
    }
}

/// The calculator's title, and which of several in a page it is: `Dissipation at idle: after ten minutes`.
pub(crate) fn label(sheet: &Sheet, block: &str) -> String {
    if block == sheet.id {
        sheet.title.to_owned()
    } else {
        format!("{}: {}", sheet.title, block.replace('-', " "))
    }
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

/// The answer. What unfolds keeps its state while what is in it changes.
fn answer_view(state: State) -> impl IntoView {
    let State { shown, block, .. } = state;
    let found =
        move || block.with_value(|block| shown.with(|shown| answer::found(&shown.last, block).into_string()));
    let working = move || shown.with(|shown| answer::working(&shown.last).into_string());
    let margins = move || shown.with(|shown| answer::margins(&shown.last).into_string());
    let points = move || {
        shown.with(|shown| {
            shown.last.picture.as_ref().map(|shown| picture::points(shown).into_string()).unwrap_or_default()
        })
    };
    let old = move || {
        if shown.with(Shown::old) {
            "Old: the answer to what stood here before. Mend the field marked above."
        } else {
            ""
        }
    };
    let has_picture = shown.with_untracked(|shown| shown.last.picture.is_some());
    view! {
        <div class="answer" class:stale=move || shown.with(Shown::old)>
            <p class="old-note">{old}</p>
            <div inner_html=found></div>
            <details class="working"><summary>"The working, with your numbers"</summary><div inner_html=working></div></details>
            <details class="margins"><summary>"How far off, and what it hangs on"</summary><div inner_html=margins></div></details>
            <details class="points" hidden=!has_picture><summary>"The picture as a table"</summary><div inner_html=points></div></details>
        </div>
    }
}

/// Copy, undo, and what is said about both; and the answer, said to those who listen once typing has paused.
fn buttons(state: State) -> impl IntoView {
    let (said, spoken) = (RwSignal::new(""), RwSignal::new(String::new()));
    #[cfg(target_arch = "wasm32")]
    {
        let pause = std::time::Duration::from_millis(900);
        let mut speak = leptos::leptos_dom::helpers::debounce(pause, move |words: String| spoken.set(words));
        let words = move || {
            state.shown.with(|shown| {
                let problem = shown.outcome.problems().next().map(|problem| problem.message.clone());
                problem.unwrap_or_else(|| answer::in_words(&shown.last))
            })
        };
        Effect::watch(words, move |words, _, _| speak(words.clone()), false);
    }
    let copy = move |_| {
        #[cfg(target_arch = "wasm32")]
        {
            let text = state.shown.with_untracked(|shown| shown.last.as_text(state.sheet.title));
            leptos::task::spawn_local(async move {
                said.set(if crate::browser::copy(&text).await {
                    "Copied."
                } else {
                    "The browser forbids copying here."
                });
            });
        }
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
            <span class="unseen" aria-live="polite">{move || spoken.get()}</span>
        </div>
    }
}
