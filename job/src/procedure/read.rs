//! From a block to what it says, with everything that is wrong with it.

mod reading;

use super::names::is_id;
use super::words::{Own, Part, parts};
use super::{Answer, Block, ChoiceOption, ChoiceSpec, Fault, Gate, Raw, TickSpec, TimerSpec};
use crate::block::Keys;

/// Everything that is wrong with the amplifier's own words in a sentence: what was found, what is wrong, what is right.
pub fn wrong_words(text: &str) -> Vec<(String, String, String)> {
    let wrong = |part: &Part<'_>| match part {
        Part::Text(text) => text.contains('{').then(|| {
            let right = "write {valve: 6L6GC}: what it is of, a colon, the example".to_owned();
            ((*text).to_owned(), "has a brace without a colon".to_owned(), right)
        }),
        Part::Own(of, example) => {
            let found = format!("{{{of}: {example}}}");
            if example.is_empty() {
                return Some((found, "has no example to be printed".to_owned(), format!("{{{of}: …}}")));
            }
            let checked = Own::read(of).and_then(|own| own.check());
            checked.err().map(|(wrong, right)| (found, wrong, right))
        }
    };
    parts(text).iter().filter_map(wrong).collect()
}

fn check_words(key: &'static str, text: &str, keys: &mut Keys) {
    for (found, wrong, right) in wrong_words(text) {
        keys.fault(key, found, wrong, right);
    }
}

/// An answer to a choice.
fn answer(keys: &mut Keys, key: &'static str) -> Option<Answer> {
    let text = keys.text(key)?;
    let read = Answer::read(&text);
    if read.is_none() {
        keys.fault(
            key,
            &text,
            "is not an answer to a choice",
            "a choice and one of its options, as standby.none",
        );
    }
    read
}

/// The id of a step, from `#step-4`.
fn step(keys: &mut Keys, key: &'static str, text: &str) -> String {
    if let Some(id) = text.strip_prefix('#').filter(|id| is_id(id)) {
        return id.to_owned();
    }
    if !text.is_empty() {
        keys.fault(key, text, "is not a step of this page", "write it as #step-12");
    }
    String::new()
}

impl TickSpec {
    /// Reads a `tick` block; `id` is its name where the block gives none.
    ///
    /// # Errors
    /// Everything that is wrong with it.
    pub fn from_block(block: &Block, id: &str) -> Result<Self, Vec<Fault>> {
        let mut keys = Keys::of(block);
        let spec = Self {
            id: name(&mut keys, id),
            text: keys.required("text"),
            gate: keys.one_of("gate", GATES),
            when: answer(&mut keys, "when"),
        };
        keys.finish(spec)
    }
}

impl ChoiceSpec {
    /// Reads a `choice` block; `id` is its name where the block gives none.
    ///
    /// # Errors
    /// Everything that is wrong with it.
    pub fn from_block(block: &Block, id: &str) -> Result<Self, Vec<Fault>> {
        let mut keys = Keys::of(block);
        let spec = Self {
            id: name(&mut keys, id),
            question: keys.required("question"),
            options: options(&mut keys),
            same: keys.text("same").unwrap_or_default(),
            meet: keys.text("meet").map_or_else(String::new, |meet| step(&mut keys, "meet", &meet)),
            when: answer(&mut keys, "when"),
        };
        keys.finish(spec)
    }
}

/// The options of a choice: a list of tables with id, text and go.
fn options(keys: &mut Keys) -> Vec<ChoiceOption> {
    const RIGHT: &str = "write options = [ { id = \"a\", text = \"…\", go = \"#step-5\" }, … ], two or more";
    let Some(Raw::List(list)) = keys.take("options") else {
        keys.fault("options", "", "is not a list of ways to go on", RIGHT);
        return Vec::new();
    };
    let mut options: Vec<ChoiceOption> = Vec::new();
    for raw in list {
        let Raw::Table(table) = raw else {
            keys.fault("options", "", "contains something that is not a table", RIGHT);
            continue;
        };
        let mut inner = Keys::of(table);
        let option = ChoiceOption {
            id: inner.required("id"),
            text: inner.required("text"),
            go: String::new(),
            not: answer(&mut inner, "not"),
        };
        let go = inner.required("go");
        let option = ChoiceOption { go: step(&mut inner, "go", &go), ..option };
        if options.iter().any(|other| other.id == option.id) {
            inner.fault("id", &option.id, "occurs twice", "an id of its own for each option");
        }
        match inner.finish(option) {
            Ok(option) => options.push(option),
            Err(faults) => {
                for fault in faults {
                    keys.fault(&format!("options.{}", fault.key), fault.found, fault.wrong, fault.right);
                }
            }
        }
    }
    if list.len() < 2 {
        keys.fault("options", "", "offers nothing to choose", RIGHT);
    }
    options
}

impl TimerSpec {
    /// Reads a `timer` block; `id` is its name where the block gives none.
    ///
    /// # Errors
    /// Everything that is wrong with it.
    pub fn from_block(block: &Block, id: &str) -> Result<Self, Vec<Fault>> {
        let mut keys = Keys::of(block);
        let (id, text) = (name(&mut keys, id), keys.required("text"));
        let mut whole = |key: &'static str, each: u32| match keys.take(key) {
            None => 0,
            Some(Raw::Whole(number)) if (1..=600).contains(number) => {
                u32::try_from(*number).unwrap_or(0).saturating_mul(each)
            }
            Some(_) => {
                keys.fault(key, "", "is not a whole number from 1 to 600", format!("write {key} = 10"));
                0
            }
        };
        let seconds = whole("minutes", 60) + whole("seconds", 1);
        if seconds == 0 && keys.faults.is_empty() {
            keys.fault("minutes", "", "is missing", "write minutes = 10 or seconds = 30");
        }
        let (start, when) = (keys.required("start"), answer(&mut keys, "when"));
        keys.finish(Self { id, text, seconds, start, when })
    }
}

/// The id of a block: its own, or the one that its place gives it.
fn name(keys: &mut Keys, id: &str) -> String {
    let Some(own) = keys.text("id") else { return id.to_owned() };
    if !is_id(&own) || own == "step" {
        keys.fault("id", &own, "is not an id", "small letters, digits and hyphens, as bias-a");
    }
    own
}

/// How gates open, by their names.
const GATES: &[(&str, Gate)] = &[("hard", Gate::Hard), ("soft", Gate::Soft)];
