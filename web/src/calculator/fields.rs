//! The rows of the form: each field with its label, unit and tolerance, and below it what is wrong with it.

use calc_core::calculator::{Field, Kind, Problem, ToleranceField, Whose, tolerance_id};
use maud::{Markup, html};

use super::formula::symbol;

/// Something that is typed or chosen, wherever it stands: a field's value or its tolerance.
pub(crate) struct Entry<'f> {
    /// Under which it is kept among the inputs, and the name of its element.
    pub(crate) name: String,
    /// Its content.
    pub(crate) text: &'f str,
    /// The unit that a bare number takes, where there is one.
    pub(crate) unit: Option<&'f str>,
    /// What is wrong with it.
    pub(crate) problem: Option<&'f Problem>,
}

impl<'f> Entry<'f> {
    /// The one or two entries of a field.
    pub(crate) fn of(field: &'f Field) -> impl Iterator<Item = Self> {
        let unit = match &field.kind {
            Kind::Number { unit, .. } => Some(unit.as_str()),
            _ => None,
        };
        let value =
            Self { name: field.id.to_owned(), text: &field.text, unit, problem: field.problem.as_ref() };
        let off = field.tolerance.as_ref().map(|off| Self::tolerance(field, off));
        std::iter::once(value).chain(off)
    }

    fn tolerance(field: &Field, off: &'f ToleranceField) -> Self {
        Self { name: tolerance_id(field.id), text: &off.text, unit: None, problem: off.problem.as_ref() }
    }

    /// The id of its element.
    pub(crate) fn id(&self, block: &str) -> String {
        format!("{block}-{}", self.name)
    }

    /// The id of the element that names its unit.
    pub(crate) fn unit_id(&self, block: &str) -> String {
        format!("{}-unit", self.id(block))
    }

    /// The unit's class: it steps back where the text names it.
    pub(crate) fn unit_class(&self) -> &'static str {
        if self.unit.is_some_and(|unit| self.text.ends_with(unit)) { "unit named" } else { "unit" }
    }

    /// The id of the element that says what is wrong with it.
    pub(crate) fn problem_id(&self, block: &str) -> String {
        format!("{}-problem", self.id(block))
    }

    /// What is wrong, and what was perhaps meant, to be taken with one tap.
    pub(crate) fn problem_html(&self) -> Markup {
        html! {
            @if let Some(problem) = self.problem {
                p { (problem.message) }
                @for offer in &problem.offers {
                    button type="button" data-offer=(offer) data-for=(self.name) { (offer) }
                }
            }
        }
    }
}

/// The id of what slides a field's value, where something does.
pub(crate) fn slide_id(field: &Field, block: &str) -> String {
    format!("{block}-{}-slide", field.id)
}

/// The id of a field's own element, which says whose value it holds.
pub(crate) fn field_id(field: &Field, block: &str) -> String {
    format!("{block}-{}-field", field.id)
}

/// The id of the words that mark an example.
pub(crate) fn whose_id(field: &Field, block: &str) -> String {
    format!("{block}-{}-whose", field.id)
}

/// The id of what shows how far off a value may be.
pub(crate) fn off_id(field: &Field, block: &str) -> String {
    format!("{block}-{}-off", field.id)
}

/// Whose value a field holds, fit for an attribute.
pub(crate) fn whose(field: &Field) -> &'static str {
    match field.whose {
        Whose::Own => "own",
        Whose::Example => "example",
        Whose::Usual => "usual",
    }
}

/// Whether some field holds a value of the reader's own: until then the whole is an example, and none is marked apart.
pub(crate) fn any_own(fields: &[Field]) -> bool {
    fields.iter().any(|field| field.whose == Whose::Own)
}

/// The words that mark an example among the reader's own.
pub(crate) fn whose_html(field: &Field, among_own: bool) -> Markup {
    html! { @if field.whose == Whose::Example && among_own { "Example value" } }
}

/// What is said of the field that is edited: where its value is found, and the way to take an example as one's own.
pub(crate) fn edited_html(field: &Field, among_own: bool) -> Markup {
    html! {
        @if !field.hint.is_empty() { span { strong { (field.name) } ": " (field.hint) } }
        @if field.whose == Whose::Example && among_own {
            button type="button" data-offer=(field.text) data-for=(field.id) {
                "It is mine" span.unseen { ": " (field.name) " " (field.text) }
            }
        }
    }
}

/// How far off a value may be, as it is shown beside it.
pub(crate) fn off_html(field: &Field) -> Markup {
    html! { @if let Some(off) = &field.tolerance { "± " (off.text) } }
}

/// The row of a field.
pub(crate) fn field(field: &Field, among_own: bool, block: &str) -> Markup {
    let mut entries = Entry::of(field);
    let Some(value) = entries.next() else { return Markup::default() };
    let hint_id = format!("{}-hint", value.id(block));
    let said_by = format!("{hint_id} {}", whose_id(field, block));
    html! {
        div.field.wide[is_wide(&field.kind)] data-field=(field.id) id=(field_id(field, block)) data-whose=(whose(field)) {
            label for=(value.id(block)) { (field.name) " " (symbol(field.symbol)) }
            div.entry {
                @match &field.kind {
                    Kind::Choice(choices) => {
                        select id=(value.id(block)) name=(value.name) aria-invalid=[wrong(&value)]
                            aria-describedby={ (said_by) " " (value.problem_id(block)) } {
                            @for choice in choices {
                                option value=(choice.id) selected[choice.id.eq_ignore_ascii_case(value.text)] { (choice.label) }
                            }
                        }
                    },
                    Kind::Number { unit, .. } => {
                        (text_box(&value, Some(&said_by), block))
                        span id=(value.unit_id(block)) class=(value.unit_class()) { (unit) }
                    },
                    Kind::Words | Kind::Points => (text_box(&value, Some(&said_by), block)),
                }
                @if field.tolerance.is_some() { span.off id=(off_id(field, block)) { (off_html(field)) } }
            }
            p.hint id=(hint_id) { (field.hint) }
            p.whose id=(whose_id(field, block)) { (whose_html(field, among_own)) }
            (problem_box(&value, block))
        }
    }
}

/// The row of how far off a field's value may be.
pub(crate) fn off(field: &Field, block: &str) -> Markup {
    html! {
        @if let Some(off) = Entry::of(field).nth(1) {
            div.field {
                label for=(off.id(block)) { "± " (field.name) span.unseen { ", how far off it may be" } }
                div.entry { (text_box(&off, None, block)) }
                (problem_box(&off, block))
            }
        }
    }
}

/// What slides a field's value, where a hand turns it at the bench.
pub(crate) fn slider(field: &Field, block: &str) -> Markup {
    html! {
        @if let Kind::Number { slides: Some((from, to)), .. } = field.kind {
            div.slider {
                span aria-hidden="true" { (from) }
                input.slide type="range" id=(slide_id(field, block)) data-for=(field.id) min=(from) max=(to) step="0.1"
                    value=(field.text) aria-label={ (field.name) ", to slide" };
                span aria-hidden="true" { (to) }
            }
        }
    }
}

/// Whether its content is too long for half the width of a tablet: cut short it could be taken for another.
fn is_wide(kind: &Kind) -> bool {
    const HALF: usize = 16;
    match kind {
        Kind::Choice(choices) => choices.iter().any(|choice| choice.label.chars().count() > HALF),
        Kind::Number { .. } => false,
        Kind::Words | Kind::Points => true,
    }
}

fn text_box(entry: &Entry, said_by: Option<&str>, block: &str) -> Markup {
    html! {
        input type="text" id=(entry.id(block)) name=(entry.name) value=(entry.text) autocomplete="off"
            autocapitalize="off" spellcheck="false" aria-invalid=[wrong(entry)]
            aria-describedby={ @if let Some(said_by) = said_by { (said_by) " " } (entry.problem_id(block)) };
    }
}

fn problem_box(entry: &Entry, block: &str) -> Markup {
    html! { div.problem id=(entry.problem_id(block)) { (entry.problem_html()) } }
}

fn wrong(entry: &Entry) -> Option<&'static str> {
    entry.problem.map(|_| "true")
}
