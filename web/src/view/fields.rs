//! The form: each field with its label, unit, tolerance, and what is wrong with it right beside it.

use calc_core::calculator::{Choice, Field, Inputs, Kind, Problem, tolerance_id};
use leptos::either::Either;
use leptos::prelude::*;

use super::State;
use super::formula::symbol;

/// All fields. Asleep until the browser has taken over, so that no one types into a page that cannot answer.
pub(super) fn form(state: State) -> impl IntoView {
    let ids = Memo::new(move |_| {
        state.shown.with(|shown| shown.outcome.fields.iter().map(|field| field.id).collect::<Vec<_>>())
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
        state.shown.with(|shown| shown.outcome.fields.iter().find(|field| field.id == id).cloned())
    });
    let first = now.get_untracked()?;
    let input_id = state.block.with_value(|block| format!("{block}-{id}"));
    let hint_id = format!("{input_id}-hint");
    let typed = state.typed;
    let value = Typed { typed, now, part: Part::Value, input_id: input_id.clone(), name: id.to_owned() };
    let tolerance = first.tolerance.is_some().then(|| {
        let (input_id, name) = (format!("{input_id}-off"), tolerance_id(id));
        let value = Typed { typed, now, part: Part::Tolerance, input_id, name };
        view! {
            <span class="off">
                <label for=value.input_id.clone()>
                    <span aria-hidden="true">"±"</span><span class="unseen">{first.name}", how far off it may be"</span>
                </label>
                {value.text_box(None)}
            </span>
            {value.problem_view()}
        }
    });
    let label = maud::html! { (first.name) " " (symbol(first.symbol)) }.into_string();
    let control = match first.kind {
        Kind::Choice(choices) => Either::Left(value.selection(choices, &hint_id)),
        Kind::Number { unit } => Either::Right((value.text_box(Some(&hint_id)), unit_view(unit))),
        Kind::Words => Either::Right((value.text_box(Some(&hint_id)), unit_view(String::new()))),
    };
    let view = view! {
        <div class="field" data-field=id>
            <label for=input_id inner_html=label></label>
            <div class="entry">{control} {tolerance}</div>
            <p class="hint" id=hint_id>{first.hint}</p>
            {value.problem_view()}
        </div>
    };
    Some(view)
}

/// The unit that a bare number takes.
fn unit_view(unit: String) -> impl IntoView {
    view! { <span class="unit">{unit}</span> }
}

/// Which of the two things that may be typed into one field.
#[derive(Clone, Copy)]
enum Part {
    Value,
    Tolerance,
}

/// Something typed, and what is wrong with it.
struct Typed {
    typed: RwSignal<Inputs>,
    now: Memo<Option<Field>>,
    part: Part,
    input_id: String,
    /// Under which it is kept among the inputs.
    name: String,
}

impl Typed {
    /// The text, and what is wrong with it, as they stand now.
    fn now<T: Default>(&self, of: fn(&str, Option<&Problem>) -> T) -> impl Fn() -> T + Copy + use<T> {
        let (now, part) = (self.now, self.part);
        move || {
            now.with(|now| match (now, part) {
                (Some(field), Part::Value) => of(&field.text, field.problem.as_ref()),
                (Some(Field { tolerance: Some(off), .. }), Part::Tolerance) => {
                    of(&off.text, off.problem.as_ref())
                }
                _ => T::default(),
            })
        }
    }

    fn text(&self) -> impl Fn() -> String + Copy + use<> {
        self.now(|text, _| text.to_owned())
    }

    fn wrong(&self) -> impl Fn() -> bool + Copy + use<> {
        self.now(|_, problem| problem.is_some())
    }

    fn put(&self) -> impl Fn(String) + Clone + use<> {
        let (typed, name) = (self.typed, self.name.clone());
        move |text| typed.update(|typed| drop(typed.insert(name.clone(), text)))
    }

    fn described_by(&self, hint_id: Option<&str>) -> String {
        format!("{} {}-problem", hint_id.unwrap_or_default(), self.input_id)
    }

    fn text_box(&self, hint_id: Option<&str>) -> impl IntoView + use<> {
        let (text, wrong, put) = (self.text(), self.wrong(), self.put());
        view! {
            <input type="text" id=self.input_id.clone() name=self.name.clone() autocomplete="off" autocapitalize="off"
                spellcheck="false" aria-describedby=self.described_by(hint_id) aria-invalid=move || wrong().then_some("true")
                value=text() prop:value=text on:input=move |event| put(event_target_value(&event)) />
        }
    }

    fn selection(&self, choices: Vec<Choice>, hint_id: &str) -> impl IntoView + use<> {
        let (text, wrong, put) = (self.text(), self.wrong(), self.put());
        let options = choices.into_iter().map(|choice| {
            let id = choice.id.clone();
            let chosen = move || text().eq_ignore_ascii_case(&id);
            view! { <option value=choice.id selected=chosen>{choice.label}</option> }
        });
        let options = options.collect_view();
        view! {
            <select id=self.input_id.clone() name=self.name.clone() aria-describedby=self.described_by(Some(hint_id))
                aria-invalid=move || wrong().then_some("true") prop:value=text
                on:change=move |event| put(event_target_value(&event))>
                {options}
            </select>
        }
    }

    /// What is wrong, and what was perhaps meant, to be taken with one tap.
    fn problem_view(&self) -> impl IntoView + use<> {
        let (put, input_id) = (self.put(), self.input_id.clone());
        let problem = self.now(|_, problem| problem.cloned());
        let offered = move |offer: String| {
            let (put, text, input_id) = (put.clone(), offer.clone(), input_id.clone());
            let take = move |_| {
                put(text.clone());
                // The button goes with the problem; whoever pressed it goes on in the field.
                focus(&input_id);
            };
            view! { <button type="button" data-offer=offer.clone() on:click=take>{offer.clone()}</button> }
        };
        let content = move || {
            problem().map(|problem| {
                let offers = problem.offers.into_iter().map(&offered).collect_view();
                view! { <p>{problem.message}</p> {offers} }
            })
        };
        view! { <div class="problem" id=format!("{}-problem", self.input_id)>{content}</div> }
    }
}

#[cfg_attr(not(target_arch = "wasm32"), expect(unused_variables, reason = "only a browser has a focus"))]
fn focus(id: &str) {
    #[cfg(target_arch = "wasm32")]
    crate::browser::focus(id);
}
