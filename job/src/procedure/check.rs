//! What must hold of a procedure as a whole.

use std::collections::BTreeSet;

use super::{Answer, Blanks, ChoiceSpec, Fault, Item, Procedure, ReadingSpec, Rise, Spot, Step};

impl Procedure {
    /// Everything that is wrong with the procedure as a whole: an id that stands twice, a choice that leads nowhere or back,
    /// more than one choice in a step, an answer, a timer or a reading named that is not there before, a proof of dead behind
    /// a live reading of the same step: it would take back what opened the step. Each fault's key is the step and the item:
    /// `step-5 standby`.
    #[must_use]
    pub fn faults(&self) -> Vec<Fault> {
        let mut faults = Vec::new();
        let mut seen = BTreeSet::new();
        for (at, step) in self.steps.iter().enumerate() {
            let mut fault = |item: &str, found: &str, wrong: &str, right: &str| {
                faults.push(Fault::new(format!("{} {item}", step.id).trim(), found, wrong, right));
            };
            for (place, item) in step.items.iter().enumerate() {
                let id = item.id();
                if !seen.insert(id) {
                    fault(id, id, "occurs twice in this page", "an id of its own");
                }
                if let Some(when) = item.when().filter(|when| !self.is_answer_before(when, at, place)) {
                    let found = format!("{}.{}", when.choice, when.option);
                    fault(id, &found, "is not an earlier answer", ANSWER);
                }
                match item {
                    Item::Choice(choice) => self.check_choice(choice, at, &mut fault),
                    Item::Reading(reading) => {
                        let is_it = |known: &str| known == reading.after;
                        if !reading.after.is_empty() && !step.timers().any(|timer| is_it(&timer.id)) {
                            let right = "the id of a timer in the same step";
                            fault(id, &reading.after, "is not a timer of this step", right);
                        }
                        for rise in reading.rise.iter().filter(|rise| !self.is_rise(rise, reading, at)) {
                            let Rise { from, to } = rise;
                            let found = format!("{} to {}", written(from), written(to));
                            fault(id, &found, "is not a rise between earlier readings", RISE);
                        }
                    }
                    Item::Tick(_) | Item::Timer(_) => {}
                }
            }
            let mut readings = step.readings();
            if readings.any(|reading| reading.purpose.is_live())
                && let Some(dead) = readings.find(|reading| reading.purpose == super::Purpose::Dead)
            {
                let right = "a step of its own: hands go in there";
                fault(&dead.id, &dead.id, "is read dead after a live reading", right);
            }
            if step.choices().count() > 1 {
                fault(
                    "",
                    "",
                    "has more than one choice",
                    "one choice in a step; put the other into the next",
                );
            }
        }
        faults
    }

    fn check_choice(&self, choice: &ChoiceSpec, at: usize, fault: &mut impl FnMut(&str, &str, &str, &str)) {
        let meet = Some(&choice.meet).filter(|meet| !meet.is_empty());
        for go in choice.options.iter().map(|option| &option.go).chain(meet) {
            if self.index(go).is_none_or(|to| to <= at) {
                let right = "a later step, as #step-12";
                fault(&choice.id, &format!("#{go}"), "is not a later step of this page", right);
            }
        }
        let ids = |choice: &ChoiceSpec| -> Vec<String> {
            choice.options.iter().map(|option| option.id.clone()).collect()
        };
        let mut earlier = self.steps.iter().take(at).flat_map(Step::choices);
        if !choice.same.is_empty()
            && !earlier.any(|other| other.id == choice.same && ids(other) == ids(choice))
        {
            let right = "the id of an earlier choice with the same options";
            fault(&choice.id, &choice.same, "is not an earlier choice with these options", right);
        }
        for not in choice.options.iter().filter_map(|option| option.not.as_ref()) {
            if !self.is_answer_before(not, at, 0) {
                let found = format!("{}.{}", not.choice, not.option);
                fault(&choice.id, &found, "is not an earlier answer", ANSWER);
            }
        }
    }

    /// Whether an answer is one to a choice of an earlier step, or of this step before this place.
    fn is_answer_before(&self, answer: &Answer, at: usize, place: usize) -> bool {
        let here = self.steps.get(at).into_iter().flat_map(|step| step.items.iter().take(place));
        let here = here.filter_map(|item| if let Item::Choice(choice) = item { Some(choice) } else { None });
        let mut choices = self.steps.iter().take(at).flat_map(Step::choices).chain(here);
        choices.any(|choice| {
            choice.id == answer.choice && choice.options.iter().any(|option| option.id == answer.option)
        })
    }

    /// Whether both ends of a rise are read before, in the unit of the reading that it is.
    fn is_rise(&self, Rise { from, to }: &Rise, reading: &ReadingSpec, at: usize) -> bool {
        let find = |spot: &Spot| {
            let mut known = self.steps.iter().take(at + 1).flat_map(Step::readings);
            known.find(|other| other.id == spot.reading && other.unit == reading.unit)
        };
        let (Some(first), Some(second)) = (find(from), find(to)) else { return false };
        if from.blank.is_empty() {
            return first.blanks == second.blanks;
        }
        let has =
            |other: &ReadingSpec, blank: &str| other.blanks != Blanks::One && other.blanks.may_have(blank);
        has(first, &from.blank) && has(second, &to.blank)
    }

    /// The place of the step with this id.
    pub(crate) fn index(&self, id: &str) -> Option<usize> {
        self.steps.iter().position(|step| step.id == id)
    }
}

const ANSWER: &str = "an earlier choice and one of its options, as feedback.untouched";
const RISE: &str = "two readings before it in the same unit, as idle-one to idle-ten, or two of their blanks";

fn written(spot: &Spot) -> String {
    format!("{}.{}", spot.reading, spot.blank).trim_end_matches('.').to_owned()
}
