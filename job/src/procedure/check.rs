//! What must hold of a procedure as a whole.

use std::collections::BTreeSet;

use super::{ChoiceSpec, Fault, Procedure, ReadingSpec, Step};

impl Procedure {
    /// Everything that is wrong with the procedure as a whole: an id that stands twice, a choice that leads nowhere or back,
    /// more than one choice in a step, a rise over what is not read before, a proof of dead behind a live reading of the
    /// same step: it would take back what opened the step. Each fault's key is the step and the item: `step-5 standby`.
    #[must_use]
    pub fn faults(&self) -> Vec<Fault> {
        let mut faults = Vec::new();
        let mut seen = BTreeSet::new();
        for (at, step) in self.steps.iter().enumerate() {
            for item in &step.items {
                if !seen.insert(item.id()) {
                    let key = format!("{} {}", step.id, item.id());
                    faults.push(Fault::new(&key, item.id(), "stands twice in this page", "an id of its own"));
                }
            }
            for choice in step.choices() {
                let key = format!("{} {}", step.id, choice.id);
                let meet = Some(&choice.meet).filter(|meet| !meet.is_empty());
                for go in choice.options.iter().map(|option| &option.go).chain(meet) {
                    if self.place(go).is_none_or(|to| to <= at) {
                        let right = format!("a step behind {}, as #step-12", step.id);
                        faults.push(Fault::new(&key, go, "is no later step of this page", right));
                    }
                }
            }
            for choice in step.choices().filter(|choice| !choice.same.is_empty()) {
                let ids = |choice: &ChoiceSpec| -> Vec<String> {
                    choice.options.iter().map(|option| option.id.clone()).collect()
                };
                let mut earlier = self.steps.iter().take(at).flat_map(Step::choices);
                if !earlier.any(|other| other.id == choice.same && ids(other) == ids(choice)) {
                    let key = format!("{} {}", step.id, choice.id);
                    let right = "the id of an earlier choice with the same options";
                    faults.push(Fault::new(
                        &key,
                        &choice.same,
                        "is no earlier choice with these options",
                        right,
                    ));
                }
            }
            for (choice, option) in
                step.choices().flat_map(|choice| choice.options.iter().map(move |option| (choice, option)))
            {
                let mut earlier = self.steps.iter().take(at).flat_map(Step::choices);
                let is_it = |(other, id): (&str, &str)| {
                    earlier
                        .any(|known| known.id == other && known.options.iter().any(|option| option.id == id))
                };
                if !option.not.is_empty() && !option.not.split_once('.').is_some_and(is_it) {
                    let key = format!("{} {}", step.id, choice.id);
                    let right = "an earlier choice and one of its options, as feedback.untouched";
                    faults.push(Fault::new(&key, &option.not, "is no earlier answer", right));
                }
            }
            for (reading, (id, blank)) in
                step.readings().flat_map(|reading| reading.rises().flatten().map(move |part| (reading, part)))
            {
                let mut known = self.steps.iter().take(at + 1).flat_map(Step::readings);
                let is_it = |other: &ReadingSpec| {
                    other.id == id && other.unit == reading.unit && other.blanks().any(|known| known == blank)
                };
                if !known.any(is_it) {
                    let key = format!("{} {}", step.id, reading.id);
                    let right = "two blanks read before in the same unit, as idle-one.A to idle-ten.A";
                    faults.push(Fault::new(&key, format!("{id}.{blank}"), "is no earlier blank", right));
                }
            }
            let mut readings = step.readings();
            if readings.any(|reading| reading.live)
                && let Some(dead) = readings.find(|reading| reading.is_dead())
            {
                let key = format!("{} {}", step.id, dead.id);
                let right = "a step of its own: hands go in there";
                faults.push(Fault::new(&key, &dead.id, "is read dead behind a live reading", right));
            }
            if step.choices().count() > 1 {
                let right = "one choice in a step; put the other into the next";
                faults.push(Fault::new(&step.id, "", "has more than one choice", right));
            }
        }
        faults
    }

    /// The place of the step that a link within the page names.
    pub(crate) fn place(&self, go: &str) -> Option<usize> {
        self.index(go.strip_prefix('#')?)
    }

    /// The place of the step with this id.
    pub(crate) fn index(&self, id: &str) -> Option<usize> {
        self.steps.iter().position(|step| step.id == id)
    }
}
