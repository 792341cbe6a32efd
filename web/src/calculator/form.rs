//! The form: sections with a heading each, one row a field, and folded up what is seldom changed.

use calc_core::calculator::{Field, Filled, Section, filled};
use maud::{Markup, html};

use super::fields::{any_own, field, off};

/// The id of a section's element.
fn section_id(section: &Filled, block: &str) -> String {
    format!("{block}-in-{}", section.place)
}

/// The id of what folds up the values that are seldom changed.
fn more_id(section: &Filled, block: &str) -> String {
    format!("{}-more", section_id(section, block))
}

/// For each section the id of the element that says how many of the values out of sight were changed, and its words.
pub(crate) fn changed(form: &'static [Section], fields: &[Field], block: &str) -> Vec<(String, String)> {
    let said = |section: &Filled| (format!("{}-said", more_id(section, block)), says(section));
    filled(form, fields).iter().map(said).collect()
}

fn says(section: &Filled) -> String {
    match section.changed() {
        0 => String::new(),
        many => format!(", {many} changed"),
    }
}

/// All fields, section by section.
pub(crate) fn form(form: &'static [Section], fields: &[Field], block: &str) -> Markup {
    let sections = filled(form, fields);
    let among_own = any_own(fields);
    html! {
        @if sections.len() > 1 {
            ul.sections {
                @for section in &sections {
                    li { a href={ "#" (section_id(section, block)) } { (section.name) " " span { (section.fields.len()) } } }
                }
            }
        }
        @for section in &sections {
            div.section id=(section_id(section, block)) {
                @if sections.len() > 1 { p.name { (section.name) } }
                div.fields { @for shown in &section.fields { (field(shown, among_own, block)) } }
                (more(section, among_own, block))
            }
        }
    }
}

fn more(section: &Filled, among_own: bool, block: &str) -> Markup {
    let id = more_id(section, block);
    let all = || section.fields.iter().chain(&section.more).filter(|field| field.tolerance.is_some());
    html! {
        @if !section.more.is_empty() || all().next().is_some() {
            details.more id=(id) {
                summary {
                    @match (section.more.is_empty(), all().next()) {
                        (true, _) => "Tolerances (±)",
                        (false, Some(_)) => "More, and tolerances (±)",
                        (false, None) => "More",
                    }
                    span id={ (id) "-said" } { (says(section)) }
                }
                div.fields {
                    @for shown in &section.more { (field(shown, among_own, block)) }
                    @for shown in all() { (off(shown, block)) }
                }
            }
        }
    }
}
