//! Shows a calculator: one generic view, printed into the page by `press` and brought to life by the browser.
//!
//! - [`Block`] is a calculator as it is in a page; [`printed`] is its HTML with the answer already worked out.
//! - [`mod@calculator`] is the view: the fields, the answer, the formulas, the picture, each a function from data to HTML.
//! - [`api`] is the calculators for programs, as plain JavaScript objects.
//! - [`job`] is the amplifier on the bench: where it is kept, and the blocks that show it.
//! - `calculator::live` brings it to life; [`platform`] is what is asked of the browser.
//!
//! No arithmetic of the trade stands here: everything shown comes out of `calc_core`.

#![warn(missing_docs)]

pub mod api;
pub mod calculator;
pub mod job;
pub mod platform;

use calc_core::calculator::{Inputs, Picture};

/// A calculator as it is in a page.
#[derive(Debug, Clone, PartialEq)]
pub struct Block {
    /// The anchor of the block, unique in its page.
    pub id: String,
    /// The id of the calculator.
    pub calculator: String,
    /// The inputs that the page sets; what is absent is at the calculator's default.
    pub inputs: Inputs,
}

/// The block as HTML, complete: fields, answer, working and picture for the inputs that the page sets.
///
/// `page_of` gives the address of another calculator's page by its id, as it is seen from the page of this block.
///
/// # Errors
/// [`calc_core::UnknownCalculator`]
pub fn printed(
    block: &Block,
    page_of: &dyn Fn(&str) -> String,
) -> Result<String, calc_core::UnknownCalculator> {
    let Block { id, calculator, inputs } = block;
    let entry = calc_core::find(calculator)?;
    let pages = calculator::Pages::of(entry, page_of);
    let homes = pages.written();
    let shown = calculator::Shown::new(entry, inputs, pages);
    let keeps = keeps(entry);
    let section = maud::html! {
        section.calculator id=(id) aria-label=(calculator::label(entry.sheet, id)) data-calculator=(calculator)
            data-keeps=[(!keeps.is_empty()).then(|| keeps.join(" "))] data-homes=[(!homes.is_empty()).then_some(homes)] data-inputs=(calc_core::calculator::to_line(inputs)) { (calculator::content(entry, id, &shown, inputs)) }
    };
    Ok(section.into_string())
}

/// What of a calculator has a place in a job: its fields, and with `is-` before them its answers.
fn keeps(entry: &calc_core::calculator::Entry) -> Vec<String> {
    let fields = ::job::values::of_calculator(entry.sheet.id).map(|(_, field)| field.to_owned());
    let report = entry.run(&Inputs::new()).report.unwrap_or_default();
    let answers = report.answers.iter().map(|answered| answered.answer.id);
    let kept = answers.filter(|answer| ::job::values::keeping(entry.sheet.id, answer).is_some());
    fields.chain(kept.map(|answer| format!("is-{answer}"))).collect()
}

/// A picture that belongs to no calculator; `name` keeps its ids apart from those of others in its page.
#[must_use]
pub fn chart(picture: &Picture, name: &str) -> maud::Markup {
    calculator::picture::picture(picture, name, None)
}
