//! The calculators by which limits of readings are worked out.

use std::cell::RefCell;
use std::collections::BTreeMap;
use std::rc::Rc;

use calc_core::calculator::{Entry, Inputs, Outcome, Report};
use calc_core::calculators::{dissipation, lamp_limiter, mains_drift, stop_figures};

/// The module that runs procedures carries these and no others.
static KNOWN: [Entry; 4] = [
    Entry::of::<dissipation::Dissipation>(),
    Entry::of::<stop_figures::StopFigures>(),
    Entry::of::<lamp_limiter::LampLimiter>(),
    Entry::of::<mains_drift::MainsDrift>(),
];

/// The ids of the calculators that a limit may name.
pub(crate) fn names() -> impl Iterator<Item = &'static str> + Clone {
    KNOWN.iter().map(|entry| entry.sheet.id)
}

/// So many outcomes are kept. The limits of one job want some two hundred: each field that it does not know is moved, to see
/// what depends on it.
const KEPT: usize = 512;

type Outcomes = BTreeMap<(&'static str, Inputs), Rc<Outcome>>;

thread_local! {
    /// What was worked out for which inputs. Each press shows limits that were shown before.
    static OUTCOMES: RefCell<Outcomes> = const { RefCell::new(BTreeMap::new()) };
}

/// What comes of one of them, without its words; `None` where no limit is worked out by a calculator of this name.
pub(crate) fn calculate(id: &str, inputs: &Inputs) -> Option<Rc<Outcome>> {
    let entry = KNOWN.iter().find(|entry| entry.sheet.id == id)?;
    let key = (entry.sheet.id, inputs.clone());
    OUTCOMES.with_borrow_mut(|outcomes| {
        if let Some(known) = outcomes.get(&key) {
            return Some(Rc::clone(known));
        }
        if outcomes.len() >= KEPT {
            outcomes.clear();
        }
        let mut outcome = entry.run(inputs);
        outcome.report = outcome.report.map(|Report { answers, .. }| Report { answers, ..Report::default() });
        let outcome = Rc::new(outcome);
        outcomes.insert(key, Rc::clone(&outcome));
        Some(outcome)
    })
}
