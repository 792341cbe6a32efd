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
//! let faults = ReadingSpec::from_block(&block, "step-5", &job::Among(&calc_core::calculators::GROUPS)).unwrap_err();
//! assert_eq!((faults[0].key.as_str(), faults[0].found.as_str()), ("unit", "volt"));
//! ```

mod block;
mod bound;
mod check;
mod read;

use serde::{Deserialize, Serialize};

use crate::unit::measure;
use crate::values;
pub use block::{Block, Fault, Raw};
pub use bound::{Bound, Of};

/// A text of a reading that is judged by eye: as it should be.
pub const AS_EXPECTED: &str = "as expected";
/// A text of a reading that is judged by eye: not as it should be.
pub const NOT_AS_EXPECTED: &str = "not as expected";
/// The unit of a reading that is judged by eye.
pub const SEEN: &str = "seen";

/// Of a reading at less than the mains.
pub(crate) const BEHIND_THE_LAMP: &str = "behind the lamp";
/// Of a reading that says that hands may go in.
const WHILE_DEAD: &str = "while dead";
/// Of a reading of the bench's own things.
const OF_THE_BENCH: &str = "of the bench";
/// Why a reading proves nothing of the amplifier.
pub const ASIDES: [&str; 4] = [BEHIND_THE_LAMP, "before power", WHILE_DEAD, OF_THE_BENCH];

/// A procedure: its steps in the order of the page.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Procedure {
    /// The page's path from the root of the book, as `power-up/first-power-up.html`.
    pub page: String,
    /// The page's title.
    pub title: String,
    /// Its steps.
    pub steps: Vec<Step>,
}

/// A step of a procedure.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Step {
    /// Its id in the page, as `step-5`.
    pub id: String,
    /// What it carries, in the order of the page.
    pub items: Vec<Item>,
}

/// What a step carries.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
// A page has some dozens of them; a box for each reading would save nothing that counts.
#[expect(clippy::large_enum_variant)]
pub enum Item {
    /// A reading to take.
    Reading(ReadingSpec),
    /// Something to tick.
    Tick(TickSpec),
    /// A branch to take.
    Choice(ChoiceSpec),
    /// A time to wait.
    Timer(TimerSpec),
}

/// How a gate opens.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Gate {
    /// By a reading in range (or the tick) in this run; never by a reason.
    Hard,
    /// By these or by a written reason, which the sheet shows.
    Soft,
}

/// A reading to take. Limits are kept as they were written; [`Bound`] reads them. In a page stands only what is not empty.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct ReadingSpec {
    /// Its name in the page; never changed once published.
    pub id: String,
    /// What is read.
    pub quantity: String,
    /// Where the probes go: printed, and asked by nobody else.
    #[serde(skip_serializing)]
    pub probes: String,
    /// What to expect, in words.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub expect: String,
    /// At what to stop, in at most [`STOP_WORDS`] words. Where a limit is worked out from the job, the figure stands in
    /// braces, `Over {61 mA}: mains off`: on paper as an example, in a run with this amplifier's own in its place.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub stop: String,
    /// What a bare number is in; [`SEEN`] for a judgement by eye.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub unit: String,
    /// The names of its blanks; one without a name where none were given.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub blanks: Vec<String>,
    /// Below this: STOP.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub low: Option<String>,
    /// Above this: STOP.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub high: Option<String>,
    /// Below this it is noted.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub note_low: Option<String>,
    /// Above this it is noted.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub note_high: Option<String>,
    /// How far the blanks may lie apart, as `10 %` of the larger, or as a span in the unit.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub alike: Option<String>,
    /// Pairs of blanks, `idle-one.A to idle-ten.A`: it is the largest rise from the first of a pair to the second, which a run
    /// works out and offers. Empty of what a meter shows.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub rise: Vec<String>,
    /// Whether the next step waits for it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub gate: Option<Gate>,
    /// What it likely means when it stops.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub means: String,
    /// Where to go when it stops: a page of the book or `#step-4`; may be empty.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub go: String,
    /// The values of the job that it fills: one for all blanks, or one for each.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub feeds: Vec<String>,
    /// Whether it is read on a living amplifier: mains off first, then type.
    #[serde(skip_serializing_if = "is_not")]
    pub live: bool,
    /// Why it proves nothing of the amplifier, one of [`ASIDES`]: it opens its gate, and stays off the sheet. Empty of one
    /// that does.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub aside: String,
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
}

/// A branch to take. The step after it is closed until one is taken.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct ChoiceSpec {
    /// Its name in the page.
    pub id: String,
    /// What is asked.
    pub question: String,
    /// What can be answered.
    pub options: Vec<ChoiceOption>,
    /// An earlier choice with the same options, which this one asks again: it must be answered alike. Empty for none.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub same: String,
    /// The step where the branches meet again, as `#step-16`: who comes from one branch to the first step of another goes on
    /// there. Empty where branches only skip.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub meet: String,
}

/// One way to go on.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct ChoiceOption {
    /// Its name.
    pub id: String,
    /// What it says.
    pub text: String,
    /// The step that follows, as `#step-12`; always a later one.
    pub go: String,
    /// The answer to an earlier choice that speaks against this one, `choice.option`. Empty for none.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub not: String,
}

/// A time to wait; it starts itself when the step opens. It closes no gate.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct TimerSpec {
    /// Its name in the page.
    pub id: String,
    /// What is waited for.
    pub text: String,
    /// How long.
    pub seconds: u32,
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "as serde asks")]
const fn is_not(truth: &bool) -> bool {
    !*truth
}

/// At most so many words for what to do on STOP (rule 8 of the bench).
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
}

impl Step {
    /// Its readings.
    pub fn readings(&self) -> impl Iterator<Item = &ReadingSpec> {
        self.items
            .iter()
            .filter_map(|item| if let Item::Reading(reading) = item { Some(reading) } else { None })
    }

    /// Its ticks.
    pub fn ticks(&self) -> impl Iterator<Item = &TickSpec> {
        self.items.iter().filter_map(|item| if let Item::Tick(tick) = item { Some(tick) } else { None })
    }

    /// Its choices.
    pub fn choices(&self) -> impl Iterator<Item = &ChoiceSpec> {
        self.items.iter().filter_map(|item| if let Item::Choice(choice) = item { Some(choice) } else { None })
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
}

impl ReadingSpec {
    /// Its blanks: the names given, or one without a name.
    pub fn blanks(&self) -> impl Iterator<Item = &str> {
        let unnamed = self.blanks.is_empty().then_some("");
        self.blanks.iter().map(String::as_str).chain(unnamed)
    }

    /// Whether a limit that stops is worked out from the job.
    #[must_use]
    pub fn leans_on_the_job(&self) -> bool {
        !self.stops().iter().all(|of| matches!(of, Some(Of::Fixed(_))))
    }

    /// Whether a limit that stops is worked out from a value of the job, by itself or through a calculator.
    #[must_use]
    pub fn leans_on(&self, id: &str) -> bool {
        let Ok(known) = values::find(id) else { return false };
        self.stops().iter().flatten().any(|of| match of {
            Of::Fixed(_) => false,
            Of::Job(value) => value == id,
            Of::Answer { calculator, .. } => known.goes_into(calculator),
        })
    }

    /// What the limits that stop are of; `None` for one that cannot be read.
    fn stops(&self) -> Vec<Option<Of>> {
        let measure = measure(&self.unit).ok();
        let of = |text: &String| Some(Bound::read(text, measure?).ok()?.of);
        [&self.low, &self.high].into_iter().flatten().map(of).collect()
    }

    /// At what to stop, in three parts: before the figure that the job sets, the example of it, and after. The second is
    /// `None` where the job sets none.
    #[must_use]
    pub fn stop_parts(&self) -> (&str, Option<&str>, &str) {
        let Some((before, rest)) = self.stop.split_once('{') else { return (&self.stop, None, "") };
        let (example, after) = rest.split_once('}').unwrap_or((rest, ""));
        (before, Some(example), after)
    }

    /// The pairs that it rises over, each of two readings with their blanks.
    pub fn rises(&self) -> impl Iterator<Item = [(&str, &str); 2]> {
        let place = |text| str::split_once(text, '.').unwrap_or((text, ""));
        self.rise.iter().map(move |pair| {
            let (from, to) = pair.split_once(" to ").unwrap_or((pair, ""));
            [place(from), place(to)]
        })
    }

    /// Whether it is a proof of dead: it says that hands may go in.
    #[must_use]
    pub fn is_dead(&self) -> bool {
        self.aside == WHILE_DEAD
    }

    /// Whether it is read off the bench's own things, which no hand in the chassis moves.
    #[must_use]
    pub fn is_of_the_bench(&self) -> bool {
        self.aside == OF_THE_BENCH
    }

    /// Whether it is judged by eye.
    #[must_use]
    pub fn is_seen(&self) -> bool {
        self.unit == SEEN
    }

    /// The value of the job that a blank fills.
    #[must_use]
    pub fn feeds(&self, blank: &str) -> Option<&str> {
        let at = self.blanks().position(|known| known == blank)?;
        let id = if self.feeds.len() > 1 { self.feeds.get(at) } else { self.feeds.first() };
        id.map(String::as_str)
    }
}

#[cfg(test)]
mod tests;
