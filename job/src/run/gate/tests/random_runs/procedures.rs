//! Random procedures: items of every kind and gate, with branches.

use super::*;

/// What an item of a random procedure is made of: its kind, its gate, how far two branches lead, and whether it depends on the
/// last choice before it.
type Drawn = (u8, Option<Gate>, usize, usize, bool);

/// A random procedure of up to eight steps.
pub(super) fn any_procedure() -> impl Strategy<Value = Procedure> {
    let gate = prop::sample::select(vec![Some(Gate::Hard), Some(Gate::Hard), Some(Gate::Soft), None]);
    let item = (0..7_u8, gate, 1..4_usize, 1..4_usize, any::<bool>());
    prop::collection::vec(prop::collection::vec(item, 0..3), 1..8).prop_map(|steps| {
        let count = steps.len();
        let mut name = 0;
        let mut before: Option<Answer> = None;
        let mut step = |(at, items): (usize, Vec<Drawn>)| {
            let mut chosen = false;
            let earlier = before.clone();
            let items = items.into_iter().flat_map(|(kind, gate, one, other, hangs)| {
                name += 1;
                let id = format!("i{name}");
                let to = |by: usize| (at + 1 + by).min(count);
                let when = earlier.clone().filter(|_| hangs);
                match kind {
                    0 => vec![only(reading(&id, &["A", "B"], gate), when)],
                    1 => vec![only(tick(&id, gate), when)],
                    2 if !chosen && at + 1 < count => {
                        chosen = true;
                        before = Some(Answer { choice: id.clone(), option: format!("to-{}", to(one)) });
                        vec![choice(&id, &[to(one), to(other)], "")]
                    }
                    3 => vec![only(by_the_survey(&id, gate), when)],
                    4 => vec![only(of_sockets(&id, gate), when)],
                    5 => timed(&id, gate).into_iter().map(|item| only(item, when.clone())).collect(),
                    _ => vec![only(reading(&id, &[], gate), when)],
                }
            });
            items.collect::<Vec<Item>>()
        };
        let steps: Vec<Vec<Item>> = steps.into_iter().enumerate().map(&mut step).collect();
        procedure(steps)
    })
}

/// A reading whose limit is what the survey says.
fn by_the_survey(id: &str, gate: Option<Gate>) -> Item {
    let mut item = reading(id, &[], gate);
    if let Item::Reading(spec) = &mut item {
        spec.high = bound(&format!("job.{EXPECTED}"));
    }
    item
}

/// An item that is asked only where a choice was answered so.
fn only(mut item: Item, answer: Option<Answer>) -> Item {
    match &mut item {
        Item::Reading(ReadingSpec { when, .. })
        | Item::Tick(TickSpec { when, .. })
        | Item::Timer(TimerSpec { when, .. })
        | Item::Choice(ChoiceSpec { when, .. }) => *when = answer,
    }
    item
}

/// A reading with a blank for each output valve.
fn of_sockets(id: &str, gate: Option<Gate>) -> Item {
    let mut item = reading(id, &[], gate);
    if let Item::Reading(spec) = &mut item {
        spec.blanks = Blanks::Sockets;
    }
    item
}

/// A reading that waits a minute, and its timer.
fn timed(id: &str, gate: Option<Gate>) -> Vec<Item> {
    let mut item = reading(id, &[], gate);
    let timer = TimerSpec { id: format!("{id}-time"), seconds: MINUTE, ..TimerSpec::default() };
    if let Item::Reading(spec) = &mut item {
        spec.after.clone_from(&timer.id);
    }
    vec![Item::Timer(timer), item]
}
