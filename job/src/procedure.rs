//! What a page says of its steps: press reads it from the blocks and writes it into the page as JSON, the browser reads it
//! back. The same types on both sides.
//!
//! ```
//! use job::procedure::{Block, Raw, ReadingSpec};
//! let text = |text: &str| Raw::Text(text.to_owned());
//! let block = Block::from([
//!     ("quantity".into(), text("Bias at grid A")), ("probes".into(), text("grid tag to chassis")),
//!     ("expect".into(), text("−41 to −51 V")), ("stop".into(), text("Less negative than −41 V: mains off")),
//!     ("unit".into(), text("volt")), ("high".into(), text("-41 V")),
//! ]);
//! let faults = ReadingSpec::from_block(&block, "step-5").unwrap_err();
//! assert_eq!((faults[0].key.as_str(), faults[0].found.as_str()), ("unit", "volt"));
//! ```

mod blanks;
mod bound;
mod check;
mod names;
mod purpose;
mod read;
pub mod words;

use serde::{Deserialize, Serialize};

pub use crate::block::{Block, Fault, Raw, Shared, completed};
use crate::{Job, values};
pub use blanks::{Blanks, SOCKETS, sockets};
#[cfg(test)]
pub(crate) use bound::bound;
pub use bound::{Alike, Bound, Of, Plausible};
pub use names::{Answer, Go, Rise, Spot};
pub use purpose::Purpose;
pub use read::wrong_words;

/// A text of a reading that is judged by eye: as it should be.
pub const AS_EXPECTED: &str = "as expected";
/// A text of a reading that is judged by eye: not as it should be.
pub const NOT_AS_EXPECTED: &str = "not as expected";
/// The unit of a reading that is judged by eye.
pub const SEEN: &str = "seen";

/// A procedure: its steps in the order of the page.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Procedure {
    /// The page's path from the root of the book, as `power-up/first-power-up.html`.
    pub page: String,
    /// What the page is called.
    pub title: String,
    /// The steps, in the order of the page.
    pub steps: Vec<Step>,
}

/// A step of a procedure.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Step {
    /// Its id in the page, as `step-5`.
    pub id: String,
    /// What it carries, in the order of the page.
    pub items: Vec<Item>,
}

/// What a step carries.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
// A page has some dozens of them; a box for each reading would save nothing that counts.
#[expect(clippy::large_enum_variant)]
pub enum Item {
    /// A reading to take.
    Reading(ReadingSpec),
    /// A box to tick: it was done or seen, without a figure.
    Tick(TickSpec),
    /// A branch to take.
    Choice(ChoiceSpec),
    /// A time to wait.
    Timer(TimerSpec),
}

/// How a gate opens.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Gate {
    /// By a reading in range (or the tick) in this run; never by a reason.
    Hard,
    /// By these or by a written reason, which the hand-over sheet shows.
    #[default]
    Soft,
}

impl Gate {
    #[expect(clippy::trivially_copy_pass_by_ref, reason = "as serde asks")]
    const fn is_soft(&self) -> bool {
        matches!(self, Self::Soft)
    }
}

/// A reading to take. In a page is only what is not empty. Sentences may hold this amplifier's own, [`words`].
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct ReadingSpec {
    /// Its name in the page; never changed once published.
    pub id: String,
    /// What is read, as `Bias at grid A`.
    pub quantity: String,
    /// Where the probes go.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub probes: String,
    /// What to expect, in words.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub expect: String,
    /// At what to stop, in at most [`STOP_WORDS`] words. Where a limit is worked out from the job, the figure is in
    /// braces, `Over {61 mA}: mains off`: on paper as an example, in a run with this amplifier's own in its place.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub stop: String,
    /// What a bare number is in; [`SEEN`] for a judgement by eye.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub unit: String,
    /// Where its values are written: one blank, several that are named, or one for each output valve.
    #[serde(skip_serializing_if = "Blanks::is_one")]
    pub blanks: Blanks,
    /// What a meter may honestly show; always there where something is measured.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub plausible: Option<Plausible>,
    /// A reading below this stops the run.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub low: Option<Bound>,
    /// A reading above this stops the run.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub high: Option<Bound>,
    /// Below this it is noted.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub note_low: Option<Bound>,
    /// Above this it is noted.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub note_high: Option<Bound>,
    /// How far the blanks may lie apart.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub alike: Option<Alike>,
    /// How the gate opens that blanks too far apart have closed.
    #[serde(skip_serializing_if = "Gate::is_soft")]
    pub alike_gate: Gate,
    /// What a difference likely means.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub alike_means: String,
    /// It is the largest rise from the first of a pair to the second, which a run works out and offers. Empty of what a meter
    /// shows.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub rise: Vec<Rise>,
    /// Whether the next step waits for it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub gate: Option<Gate>,
    /// What it likely means when it stops.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub means: String,
    /// Where to go when it stops.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub go: Option<Go>,
    /// The values of the job that it fills: one for all blanks, or one for each.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub feeds: Vec<String>,
    /// What it is evidence of.
    #[serde(skip_serializing_if = "Purpose::is_cold")]
    pub purpose: Purpose,
    /// The timer of its step that must have run out; empty for none.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub after: String,
    /// It is read only where an earlier choice was answered so.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub when: Option<Answer>,
}

/// Something to tick.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct TickSpec {
    /// Its name in the page.
    pub id: String,
    /// What is true when it is ticked.
    pub text: String,
    /// Whether the next step waits for it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub gate: Option<Gate>,
    /// It is asked only where an earlier choice was answered so.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub when: Option<Answer>,
}

/// A branch to take. The step after it is closed until one is taken.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct ChoiceSpec {
    /// Its name in the page.
    pub id: String,
    /// The question, which its options answer.
    pub question: String,
    /// What can be answered.
    pub options: Vec<ChoiceOption>,
    /// An earlier choice with the same options, which this one asks again: it must be answered the same. Empty for none.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub same: String,
    /// The step where the branches meet again, `step-16`: who comes from one branch to the first step of another goes on
    /// there. Empty where branches only skip.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub meet: String,
    /// It is asked only where an earlier choice was answered so.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub when: Option<Answer>,
}

/// One way to go on.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct ChoiceOption {
    /// Its name in links, files and `when`; never changed once published.
    pub id: String,
    /// The answer, in words.
    pub text: String,
    /// The step that follows, `step-12`; always a later one.
    pub go: String,
    /// The answer to an earlier choice that speaks against this one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub not: Option<Answer>,
}

/// A time to wait; the reader starts it. By itself it closes no gate: a reading may wait for it.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct TimerSpec {
    /// Its name in the page.
    pub id: String,
    /// What is waited for.
    pub text: String,
    /// How long it runs, in seconds.
    pub seconds: u32,
    /// What is true when it is started, in the words of its button: `Mains is on`.
    pub start: String,
    /// It is asked only where an earlier choice was answered so.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub when: Option<Answer>,
}

/// At most so many words for what to do on STOP.
pub const STOP_WORDS: usize = 12;

impl Procedure {
    /// The step with this id.
    #[must_use]
    pub fn step(&self, id: &str) -> Option<&Step> {
        self.steps.iter().find(|step| step.id == id)
    }

    /// The reading with this id, and its step.
    #[must_use]
    pub fn reading(&self, id: &str) -> Option<(&Step, &ReadingSpec)> {
        let readings = |step| Step::readings(step).map(move |reading| (step, reading));
        self.steps.iter().flat_map(readings).find(|(_, reading)| reading.id == id)
    }

    /// The choice with this id.
    #[must_use]
    pub fn choice(&self, id: &str) -> Option<&ChoiceSpec> {
        self.steps.iter().flat_map(Step::choices).find(|choice| choice.id == id)
    }

    /// Whether an item is asked in a job: not where the choice that it depends on was answered otherwise, or is itself not
    /// asked. Where that choice was not answered it is, so that nothing is passed for want of an answer.
    #[must_use]
    pub fn asks(&self, when: Option<&Answer>, job: &Job) -> bool {
        // A choice depends on earlier ones only, so that this ends; a damaged page ends after as many rounds as it has steps.
        let mut when = when;
        for _ in 0..=self.steps.len() {
            let Some(answer) = when else { return true };
            if job.chosen(&self.page, &answer.choice).is_some_and(|option| option != answer.option) {
                return false;
            }
            when = self.choice(&answer.choice).and_then(|choice| choice.when.as_ref());
        }
        true
    }
}

impl Step {
    /// What is measured in it, in order.
    pub fn readings(&self) -> impl Iterator<Item = &ReadingSpec> {
        self.items
            .iter()
            .filter_map(|item| if let Item::Reading(reading) = item { Some(reading) } else { None })
    }

    /// What is only ticked in it, in order.
    pub fn ticks(&self) -> impl Iterator<Item = &TickSpec> {
        self.items.iter().filter_map(|item| if let Item::Tick(tick) = item { Some(tick) } else { None })
    }

    /// What is chosen in it, in order.
    pub fn choices(&self) -> impl Iterator<Item = &ChoiceSpec> {
        self.items.iter().filter_map(|item| if let Item::Choice(choice) = item { Some(choice) } else { None })
    }

    /// What is waited for in it, in order.
    pub fn timers(&self) -> impl Iterator<Item = &TimerSpec> {
        self.items.iter().filter_map(|item| if let Item::Timer(timer) = item { Some(timer) } else { None })
    }
}

impl Item {
    /// Its name in the page.
    #[must_use]
    pub fn id(&self) -> &str {
        match self {
            Self::Reading(ReadingSpec { id, .. })
            | Self::Tick(TickSpec { id, .. })
            | Self::Choice(ChoiceSpec { id, .. })
            | Self::Timer(TimerSpec { id, .. }) => id,
        }
    }

    /// The answer that it depends on.
    #[must_use]
    pub const fn when(&self) -> Option<&Answer> {
        match self {
            Self::Reading(ReadingSpec { when, .. })
            | Self::Tick(TickSpec { when, .. })
            | Self::Choice(ChoiceSpec { when, .. })
            | Self::Timer(TimerSpec { when, .. }) => when.as_ref(),
        }
    }
}

impl ReadingSpec {
    /// Its blanks in a job; none where it has one for each socket and the job does not say how many there are.
    #[must_use]
    pub fn blanks<'s>(&'s self, job: &Job) -> Vec<&'s str> {
        self.blanks.of(job)
    }

    /// Whether a limit that stops is worked out from the job.
    #[must_use]
    pub fn depends_on_the_job(&self) -> bool {
        self.stops().any(|bound| !matches!(bound.of, Of::Fixed(_)))
    }

    /// Whether a limit that stops is worked out from a value of the job, by itself or through a calculator.
    #[must_use]
    pub fn depends_on(&self, id: &str) -> bool {
        let Ok(known) = values::find(id) else { return false };
        self.stops().any(|bound| match &bound.of {
            Of::Fixed(_) => false,
            Of::Job(value) => value == id,
            Of::Answer { calculator, .. } => known.goes_into(calculator),
        })
    }

    /// The limits that stop.
    fn stops(&self) -> impl Iterator<Item = &Bound> {
        [&self.low, &self.high].into_iter().flatten()
    }

    /// At what to stop, in three parts: before the figure that the job sets, the example of it, and after. The second is
    /// `None` where the job sets none.
    #[must_use]
    pub fn stop_parts(&self) -> (&str, Option<&str>, &str) {
        let Some((before, rest)) = self.stop.split_once('{') else { return (&self.stop, None, "") };
        let (example, after) = rest.split_once('}').unwrap_or((rest, ""));
        (before, Some(example), after)
    }

    /// Whether it is judged by eye.
    #[must_use]
    pub fn is_seen(&self) -> bool {
        self.unit == SEEN
    }

    /// The value of the job that a blank fills.
    #[must_use]
    pub fn feeds(&self, blank: &str) -> Option<&str> {
        let id = match (self.feeds.as_slice(), &self.blanks) {
            ([_, _, ..], Blanks::Named(names)) => {
                self.feeds.get(names.iter().position(|name| name == blank)?)
            }
            (feeds, blanks) => feeds.first().filter(|_| blanks.may_have(blank)),
        };
        id.map(String::as_str)
    }
}

#[cfg(test)]
mod tests;
