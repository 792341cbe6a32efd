//! The form: each field with its label, unit, tolerance, and what is wrong with it right beside it.

use calc_core::calculator::{Choice, Kind, Problem, tolerance_id};
use leptos::either::Either;
use leptos::prelude::*;

use super::State;
use super::formula::symbol;

/// All fields. Asleep until the browser has taken over, so that no one types into a page that cannot answer.
pub(super) fn form(state: State) -> impl IntoView {
    let ids = Memo::new(move |_| {
        state.outcome.with(|outcome| outcome.fields.iter().map(|field| field.id).collect::<Vec<_>>())
    });
    view! {
        <fieldset disabled=move || !state.alive.get()>
            <legend>"Your readings"</legend>
            {move || ids.get().into_iter().map(|id| field(state, id)).collect_view()}
        </fieldset>
    }
}

/// One field. Its name and kind stay; its text and its problem follow what is typed.
fn field(state: State, id: &'static str) -> impl IntoView {
    let now = Memo::new(move |_| {
        state.outcome.with(|outcome| outcome.fields.iter().find(|field| field.id == id).cloned())
    });
    let first = now.get_untracked()?;
    let input_id = state.block.with_value(|block| format!("{block}-{id}"));
    let hint_id = format!("{input_id}-hint");
    let value = Typed {
        state,
        input_id: input_id.clone(),
        name: id.to_owned(),
        text: Memo::new(move |_| {
            now.with(|now| now.as_ref().map(|field| field.text.clone()).unwrap_or_default())
        }),
        problem: Memo::new(move |_| now.with(|now| now.as_ref().and_then(|field| field.problem.clone()))),
    };
    let label = maud::html! { (first.name) " " (symbol(first.symbol)) }.into_string();
    let help = value.problem_view();
    let control = match first.kind {
        Kind::Choice(choices) => Either::Left(selection(value, choices, hint_id.clone())),
        Kind::Number { unit } => Either::Right(number(value, &hint_id, unit)),
        Kind::Words => Either::Right(number(value, &hint_id, String::new())),
    };
    let tolerance = first.tolerance.is_some().then(|| {
        let off = move || now.with(|now| now.as_ref().and_then(|field| field.tolerance.clone()));
        let value = Typed {
            state,
            input_id: format!("{input_id}-off"),
            name: tolerance_id(id),
            text: Memo::new(move |_| off().map(|off| off.text).unwrap_or_default()),
            problem: Memo::new(move |_| off().and_then(|off| off.problem)),
        };
        let (label_for, help) = (value.input_id.clone(), value.problem_view());
        view! {
            <span class="off">
                <label for=label_for>
                    <span aria-hidden="true">"±"</span><span class="unseen">{first.name}", how far off it may be"</span>
                </label>
                {text_box(value, "")}
            </span>
            {help}
        }
    });
    let view = view! {
        <div class="field" data-field=id>
            <label for=input_id inner_html=label></label>
            <div class="entry">{control} {tolerance}</div>
            <p class="hint" id=hint_id>{first.hint}</p>
            {help}
        </div>
    };
    Some(view)
}

/// Something typed: a value or a tolerance, with what is wrong with it.
struct Typed {
    state: State,
    input_id: String,
    /// Under which it is kept among the inputs.
    name: String,
    text: Memo<String>,
    problem: Memo<Option<Problem>>,
}

impl Typed {
    fn problem_id(&self) -> String {
        format!("{}-problem", self.input_id)
    }

    fn put(&self) -> impl Fn(String) + use<> {
        let (typed, name) = (self.state.typed, self.name.clone());
        move |text| {
            typed.update(|typed| {
                typed.insert(name.clone(), text);
            });
        }
    }

    /// What is wrong, and what was perhaps meant, to be taken with one tap.
    fn problem_view(&self) -> impl IntoView + use<> {
        let (typed, problem, name) = (self.state.typed, self.problem, self.name.clone());
        let (input_id, problem_id) = (self.input_id.clone(), self.problem_id());
        let offer = move |offer: String| {
            let (name, text, input_id) = (name.clone(), offer.clone(), input_id.clone());
            let take = move |_| {
                typed.update(|typed| {
                    typed.insert(name.clone(), text.clone());
                });
                // The button goes with the problem; whoever pressed it goes on in the field.
                focus(&input_id);
            };
            view! { <button type="button" data-offer=offer.clone() on:click=take>{offer.clone()}</button> }
        };
        move || {
            problem.get().map(|problem| {
                let offers = problem.offers.into_iter().map(&offer).collect_view();
                view! { <div class="problem" id=problem_id.clone()><p>{problem.message}</p> {offers}</div> }
            })
        }
    }
}

fn focus(_id: &str) {
    #[cfg(target_arch = "wasm32")]
    crate::browser::focus(_id);
}

fn selection(value: Typed, choices: Vec<Choice>, hint_id: String) -> impl IntoView + use<> {
    let (text, problem, put, problem_id) = (value.text, value.problem, value.put(), value.problem_id());
    let options = choices.into_iter().map(|choice| {
        let id = choice.id.clone();
        let chosen = move || text.with(|text| text.eq_ignore_ascii_case(&id));
        view! { <option value=choice.id selected=chosen>{choice.label}</option> }
    });
    let options = options.collect_view();
    view! {
        <select id=value.input_id name=value.name aria-describedby=format!("{hint_id} {problem_id}")
            aria-invalid=move || problem.with(Option::is_some).then_some("true") prop:value=move || text.get()
            on:change=move |event| put(event_target_value(&event))>
            {options}
        </select>
    }
}

fn number(value: Typed, hint_id: &str, unit: String) -> impl IntoView + use<> {
    let words = unit.is_empty();
    view! {
        {text_box(value, hint_id)}
        <span class="unit" hidden=words>{unit}</span>
    }
}

fn text_box(value: Typed, hint_id: &str) -> impl IntoView + use<> {
    let (text, problem, put, problem_id) = (value.text, value.problem, value.put(), value.problem_id());
    view! {
        <input type="text" id=value.input_id name=value.name autocomplete="off" autocapitalize="off" spellcheck="false"
            aria-describedby=format!("{hint_id} {problem_id}") aria-invalid=move || problem.with(Option::is_some).then_some("true")
            value=text.get_untracked() prop:value=move || text.get() on:input=move |event| put(event_target_value(&event)) />
    }
}
