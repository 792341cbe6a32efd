//! The form: each field with its label, unit, tolerance, and what is wrong with it right beside it.

use calc_core::calculator::{Field, Kind, Problem, tolerance_id};
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
    let help = format!("{input_id}-help");
    let problem = move || now.with(|now| now.as_ref().and_then(|field| field.problem.clone()));
    let tolerance = first.tolerance.is_some().then(|| tolerance_box(state, id, now, &input_id));
    let label = maud::html! { (first.name) " " (symbol(first.symbol)) }.into_string();
    let control = control(state, &first, now, input_id.clone(), help.clone());
    let view = view! {
        <div class="field" data-field=id>
            <label for=input_id inner_html=label></label>
            <div class="entry">{control} {tolerance}</div>
            <div id=help>
                <p class="hint">{first.hint}</p>
                {move || problem().map(|problem| problem_view(state, id.to_owned(), problem))}
            </div>
        </div>
    };
    Some(view)
}

fn control(
    state: State,
    first: &Field,
    now: Memo<Option<Field>>,
    input_id: String,
    help: String,
) -> impl IntoView + use<> {
    let id = first.id;
    let text = move || now.with(|now| now.as_ref().map(|field| field.text.clone()).unwrap_or_default());
    let wrong =
        move || now.with(|now| now.as_ref().is_some_and(|field| field.problem.is_some())).then_some("true");
    if let Kind::Choice(choices) = &first.kind {
        let chosen = move |option: &str| text().eq_ignore_ascii_case(option);
        let options = choices.iter().cloned().map(|choice| {
            let value = choice.id.clone();
            view! { <option value=choice.id selected=move || chosen(&value)>{choice.label}</option> }
        });
        let options = options.collect_view();
        return Either::Left(view! {
            <select id=input_id name=id aria-describedby=help aria-invalid=wrong prop:value=text
                on:change=move |event| put(state, id.to_owned(), event_target_value(&event))>
                {options}
            </select>
        });
    }
    let unit = match &first.kind {
        Kind::Number { unit } => unit.clone(),
        _ => String::new(),
    };
    Either::Right(view! {
        <input type="text" id=input_id name=id class:words=first.kind == Kind::Words autocomplete="off" autocapitalize="off"
            spellcheck="false" aria-describedby=help aria-invalid=wrong value=text() prop:value=text
            on:input=move |event| put(state, id.to_owned(), event_target_value(&event)) />
        <span class="unit">{unit}</span>
    })
}

/// How far the value may be off, beside it.
fn tolerance_box(
    state: State,
    id: &'static str,
    now: Memo<Option<Field>>,
    input_id: &str,
) -> impl IntoView + use<> {
    let name = tolerance_id(id);
    let off = move || now.with(|now| now.as_ref().and_then(|field| field.tolerance.clone()));
    let text = move || off().map(|off| off.text).unwrap_or_default();
    let problem = move || off().and_then(|off| off.problem);
    let (input_id, help) = (format!("{input_id}-off"), format!("{input_id}-off-help"));
    let (put_to, offer_to) = (name.clone(), name.clone());
    view! {
        <span class="off">
            <label for=input_id.clone()><span aria-hidden="true">"±"</span><span class="unseen">"how far off it may be"</span></label>
            <input type="text" id=input_id name=name autocomplete="off" autocapitalize="off" spellcheck="false"
                aria-describedby=help.clone() aria-invalid=move || problem().is_some().then_some("true")
                value=text() prop:value=text
                on:input=move |event| put(state, put_to.clone(), event_target_value(&event)) />
        </span>
        <div id=help class="off-help">{move || problem().map(|problem| problem_view(state, offer_to.clone(), problem))}</div>
    }
}

/// What is wrong, and what was perhaps meant, to be taken with one tap.
fn problem_view(state: State, id: String, problem: Problem) -> impl IntoView {
    let offers = problem.offers.into_iter().map(|offer| {
        let (id, text, named) = (id.clone(), offer.clone(), offer.clone());
        view! {
            <button type="button" data-offer=named on:click=move |_| put(state, id.clone(), text.clone())>{offer}</button>
        }
    });
    let offers = offers.collect_view();
    view! { <div class="problem"><p>{problem.message}</p> {offers}</div> }
}

fn put(state: State, id: String, text: String) {
    state.typed.update(|typed| {
        typed.insert(id, text);
    });
}
