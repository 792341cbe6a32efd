//! The steps as the page prints them: what each is called, and the stage that it belongs to.

use job::procedure::Procedure;
use web_sys::Element;

use crate::platform::page;

/// A step of the page.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct PrintedStep {
    /// The id of the step, `step-14`.
    pub(super) id: String,
    /// Its number in the page, `14`.
    pub(super) number: String,
    /// Its first words, which the page prints bold.
    pub(super) title: String,
    /// The heading above it.
    pub(super) stage: String,
    /// Whether it has a caution, which is read before anything is done.
    pub(super) cautions: bool,
    /// Whether it has a calculator, at which one stays.
    pub(super) calculates: bool,
}

/// The steps of a procedure in the order of the page. What the page does not print is left empty.
pub(super) fn read(procedure: &Procedure) -> Vec<PrintedStep> {
    let step = |id: &str| {
        let element = page::by_id(id);
        let title = element.as_ref().and_then(|step| page::find(step, "strong"));
        let has = |what: &str| element.as_ref().is_some_and(|step| page::find(step, what).is_some());
        PrintedStep {
            id: id.to_owned(),
            number: id.rsplit('-').next().unwrap_or_default().to_owned(),
            title: title
                .and_then(|title| title.text_content())
                .map(|title| first(&title))
                .unwrap_or_default(),
            stage: element.as_ref().and_then(heading).unwrap_or_default(),
            cautions: has(".caution"),
            calculates: has("[data-calculator]"),
        }
    };
    procedure.steps.iter().map(|known| step(&known.id)).collect()
}

/// The heading above the list that a step is in.
fn heading(step: &Element) -> Option<String> {
    let mut at = page::closest(step, "ol.steps")?.previous_element_sibling();
    while let Some(element) = at {
        if element.tag_name() == "H2" {
            return element.text_content();
        }
        at = element.previous_element_sibling();
    }
    None
}

/// A title up to its first full stop, colon or semicolon.
fn first(title: &str) -> String {
    let end = title
        .find(['.', ':', ';', '?'])
        .filter(|end| title.get(end + 1..).is_none_or(|rest| rest.is_empty() || rest.starts_with(' ')));
    title.get(..end.unwrap_or(title.len())).unwrap_or(title).trim().to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_title_ends_at_its_first_stop_and_not_in_a_figure() {
        assert_eq!(
            first("Prove the earth once more, with 1 A or more: earth pin"),
            "Prove the earth once more, with 1 A or more"
        );
        assert_eq!(first("Off, dead. Discharge and prove"), "Off, dead");
        assert_eq!(first("Under 0.5 V at once"), "Under 0.5 V at once");
    }
}
