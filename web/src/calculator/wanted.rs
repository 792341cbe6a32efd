//! The questions the other way round: what is wanted of an answer, and which value of a field gives it.

use calc_core::calculator::{Entry, Field, Inputs, Inverse, Made, Solution, Verdict};
use maud::{Markup, html};

use super::fields;

/// The id of the element that holds what was found.
pub(crate) fn found_id(wanted: &Field, block: &str) -> String {
    format!("{block}-{}-found", wanted.id)
}

/// All of them, each folded up behind its question.
pub(crate) fn all(entry: &Entry, wanted: &[Field], own: &Inputs, example: &Inputs, block: &str) -> Markup {
    let question = |wanted: &Field| entry.inverse.iter().find(|inverse| inverse.id == wanted.id);
    html! {
        @for wanted in wanted {
            @if let Some(Inverse { question, .. }) = question(wanted) {
                details.wanted id={ (block) "-" (wanted.id) "-question" } {
                    summary { (question) }
                    div.fields { (fields::field(wanted, false, block)) }
                    div id=(found_id(wanted, block)) { (found(entry, wanted, own, example)) }
                }
            }
        }
    }
}

/// What gives the wanted answer.
pub(crate) fn found(entry: &Entry, wanted: &Field, own: &Inputs, example: &Inputs) -> Markup {
    let field =
        entry.inverse.iter().find(|inverse| inverse.id == wanted.id).map_or("", |inverse| inverse.field);
    html! {
        @match entry.solutions(wanted, own, example) {
            Err(why) => p { (why) },
            Ok(solutions) => {
                @for solution in &solutions { (one(solution, field)) }
            }
        }
    }
}

fn one(Solution { value, text, made }: &Solution, field: &str) -> Markup {
    html! {
        p.solution {
            span { (value.answer.name) ": " strong { (value.value()) } " (" (value.span()) ")" }
            // What is bought is one of the preferred values.
            @if made.is_empty() { button type="button" data-offer=(text) data-for=(field) { "Take " (text) } }
        }
        @if !made.is_empty() {
            ul.made {
                @for Made { text, gives, worst } in made {
                    li {
                        button type="button" data-offer=(text) data-for=(field) { "Take " (text) } " "
                        span {
                            "gives " strong { (gives.value()) } " (" (gives.span()) ")"
                            @if let Some(worst) = worst { ". " (verdict(worst)) }
                        }
                    }
                }
            }
        }
    }
}

fn verdict(worst: &Verdict) -> Markup {
    html! { (worst.about) ": " strong { (worst.word()) } "." }
}
