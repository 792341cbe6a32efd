//! From a block to what it says, with everything that is wrong with it.

use calc_core::calculator::Inputs;
use calc_core::nearest;
use calc_core::quantity::notation;
use calc_core::quantity::unit::PER_CENT;

use super::block::Keys;
use super::{
    ASIDES, Block, Bound, ChoiceOption, ChoiceSpec, Fault, Gate, Of, Raw, ReadingSpec, STOP_WORDS, TickSpec,
    TimerSpec,
};
use crate::Calculate;
use crate::unit::{Measure, measure};
use crate::values;

impl ReadingSpec {
    /// Reads a `reading` block; `id` is its name where the block gives none.
    ///
    /// # Errors
    /// Everything that is wrong with it, each with its key and what would be right.
    pub fn from_block(block: &Block, id: &str, calculate: &dyn Calculate) -> Result<Self, Vec<Fault>> {
        let mut keys = Keys::of(block);
        let mut limit = |key| keys.text(key);
        let [low, high, note_low, note_high] = ["low", "high", "note-low", "note-high"].map(&mut limit);
        let spec = Self {
            id: name(&mut keys, id),
            quantity: keys.required("quantity"),
            probes: keys.required("probes"),
            expect: keys.required("expect"),
            stop: keys.required("stop"),
            unit: keys.required("unit"),
            blanks: keys.texts("blanks"),
            low,
            high,
            note_low,
            note_high,
            alike: keys.text("alike"),
            rise: keys.texts("rise"),
            gate: gate(&mut keys),
            means: keys.text("means").unwrap_or_default(),
            go: keys.text("go").unwrap_or_default(),
            feeds: keys.texts("feeds"),
            live: keys.truth("live"),
            aside: keys.text("aside").unwrap_or_default(),
        };
        let words = spec.stop.split_whitespace().count();
        if words > STOP_WORDS {
            let right = format!("say it in {STOP_WORDS} words; put the rest into `means`");
            keys.fault("stop", &spec.stop, format!("has {words} words"), right);
        }
        if !spec.aside.is_empty() && !ASIDES.contains(&spec.aside.as_str()) {
            let right = format!("one of {}", ASIDES.join(", "));
            keys.fault("aside", &spec.aside, "is no reason to prove nothing", right);
        }
        spec.check_unit(&mut keys, calculate);
        spec.check_blanks(&mut keys);
        // Of limits that cannot be read nothing is known.
        if keys.faults.is_empty() {
            spec.check_figure(&mut keys);
        }
        keys.finish(spec)
    }

    fn limits(&self) -> [(&'static str, &Option<String>); 4] {
        [
            ("low", &self.low),
            ("high", &self.high),
            ("note-low", &self.note_low),
            ("note-high", &self.note_high),
        ]
    }

    fn check_unit(&self, keys: &mut Keys, calculate: &dyn Calculate) {
        let has_limit = self.low.is_some() || self.high.is_some();
        if self.is_seen() {
            for (key, text) in self.limits() {
                if let Some(text) = text {
                    keys.fault(
                        key,
                        text,
                        "is a limit of something seen",
                        "give it a unit, or leave the limit out",
                    );
                }
            }
        } else if self.gate.is_some() && !has_limit {
            let right = "write low = or high =, or unit = \"seen\"";
            keys.fault("gate", "", "has no limit to be held against", right);
        }
        if self.is_seen() || self.unit.is_empty() {
            return;
        }
        let measure = match measure(&self.unit) {
            Ok(measure) => measure,
            Err(right) => return keys.fault("unit", &self.unit, "is no unit", format!("{right}, or seen")),
        };
        for (key, text) in self.limits() {
            if let Some(text) = text {
                check_bound(key, text, measure, keys, calculate);
            }
        }
        self.check_order(measure, keys);
        self.check_feeds(measure, keys);
        if let Some(alike) = &self.alike
            && notation::read(alike, &PER_CENT, 0).is_err()
            && notation::read(alike, measure.unit, measure.shown).is_err()
        {
            keys.fault(
                "alike",
                alike,
                "is no share and no span",
                format!("write 10 % or 2 {}", measure.written()),
            );
        }
    }

    /// The figure that the job sets is marked in the line that says at what to stop: an example must not stand there in a
    /// run.
    fn check_figure(&self, keys: &mut Keys) {
        match (self.leans_on_the_job(), self.stop_parts().1) {
            (true, None) => {
                let right = "put it in braces, as Over {61 mA}: mains off";
                keys.fault("stop", &self.stop, "does not mark the figure that the job sets", right);
            }
            (false, Some(_)) => {
                keys.fault("stop", &self.stop, "marks a figure that no job sets", "write it without braces");
            }
            _ => {}
        }
    }

    /// Fixed limits must lie in order: low, note-low, note-high, high.
    fn check_order(&self, measure: Measure, keys: &mut Keys) {
        let ordered = [
            ("low", &self.low),
            ("note-low", &self.note_low),
            ("note-high", &self.note_high),
            ("high", &self.high),
        ];
        let mut before: Option<(&str, f64)> = None;
        for (key, text) in ordered {
            let Some(text) = text else { continue };
            let Ok(Bound { of: Of::Fixed(value), .. }) = Bound::read(text, measure) else { continue };
            if let Some((other, least)) = before.filter(|(_, least)| value < *least) {
                keys.fault(
                    key,
                    text,
                    format!("lies below `{other}`"),
                    format!("at least {}", measure.repeated(least)),
                );
            }
            before = Some((key, value));
        }
    }

    fn check_feeds(&self, measure: Measure, keys: &mut Keys) {
        for id in &self.feeds {
            match values::find(id) {
                Err(unknown) => {
                    let right = unknown.nearest.unwrap_or("a value of job/src/values/table.rs");
                    keys.fault("feeds", id, "is no value of a job", right);
                }
                Ok(known) => {
                    let fits =
                        crate::unit::measure(known.unit()).is_ok_and(|other| other.unit == measure.unit);
                    if !fits || known.unit().is_empty() {
                        let right = format!("a value in {}", measure.written());
                        keys.fault("feeds", id, format!("is in {}", known.unit()), right);
                    }
                    if matches!(known.kind, values::Kind::Negative(_)) && self.low.is_some() {
                        let right = "write note-low: more negative is noted (rule 6 of the bench)";
                        keys.fault(
                            "low",
                            self.low.clone().unwrap_or_default(),
                            "would stop at more bias",
                            right,
                        );
                    }
                }
            }
        }
    }

    fn check_blanks(&self, keys: &mut Keys) {
        for (at, blank) in self.blanks.iter().enumerate() {
            if self.blanks.iter().take(at).any(|other| other == blank) {
                keys.fault("blanks", blank, "stands twice", "a name of its own for each blank");
            }
        }
        let blanks = self.blanks.len().max(1);
        if self.feeds.len() > 1 && self.feeds.len() != blanks {
            let right = format!("one value for all, or one for each of the {blanks} blanks");
            keys.fault("feeds", self.feeds.join(", "), format!("names {} values", self.feeds.len()), right);
        }
        if let Some(alike) = &self.alike
            && blanks < 2
        {
            keys.fault("alike", alike, "has one blank only to compare", "write blanks = [\"A\", \"B\"]");
        }
    }
}

/// Whether the value or the answer that a limit names is there, and in the same unit.
fn check_bound(key: &'static str, text: &str, measure: Measure, keys: &mut Keys, calculate: &dyn Calculate) {
    let bound = match Bound::read(text, measure) {
        Ok(bound) => bound,
        Err((wrong, right)) => return keys.fault(key, text, wrong, right),
    };
    let unit = match &bound.of {
        Of::Fixed(_) => return,
        Of::Job(id) => match values::find(id) {
            Ok(known) => crate::unit::measure(known.unit()).map(|measure| measure.unit),
            Err(unknown) => {
                let near = unknown.nearest.map(|near| format!("job.{near}"));
                let right = near.unwrap_or_else(|| "a value of job/src/values/table.rs".to_owned());
                return keys.fault(key, text, "names no value of a job", right);
            }
        },
        Of::Answer { calculator, answer } => {
            let Some(outcome) = calculate.calculate(calculator, &Inputs::new()) else {
                return keys.fault(
                    key,
                    text,
                    format!("names no calculator of limits “{calculator}”"),
                    "one of `LIMITS` in calc-core/src/calculators/mod.rs",
                );
            };
            let answers = outcome.report.map(|report| report.answers).unwrap_or_default();
            let ids = answers.iter().map(|answered| answered.answer.id);
            match answers.iter().find(|answered| answered.answer.id == answer) {
                Some(answered) => Ok(answered.answer.unit),
                None => {
                    let right = nearest(answer, ids.clone()).map_or_else(
                        || format!("one of {}", ids.collect::<Vec<_>>().join(", ")),
                        |near| format!("{calculator}.{near}"),
                    );
                    return keys.fault(key, text, "names no answer of that calculator", right);
                }
            }
        }
    };
    if unit != Ok(measure.unit) {
        keys.fault(key, text, "is in another unit", format!("something in {}", measure.written()));
    }
}

impl TickSpec {
    /// Reads a `tick` block; `id` is its name where the block gives none.
    ///
    /// # Errors
    /// Everything that is wrong with it.
    pub fn from_block(block: &Block, id: &str) -> Result<Self, Vec<Fault>> {
        let mut keys = Keys::of(block);
        let spec = Self { id: name(&mut keys, id), text: keys.required("text"), gate: gate(&mut keys) };
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
            meet: keys.text("meet").unwrap_or_default(),
        };
        keys.finish(spec)
    }
}

/// The options of a choice: a list of tables with id, text and go.
fn options(keys: &mut Keys) -> Vec<ChoiceOption> {
    const RIGHT: &str = "write options = [ { id = \"a\", text = \"…\", go = \"#step-5\" }, … ], two or more";
    let Some(Raw::List(list)) = keys.take("options") else {
        keys.fault("options", "", "is no list of ways to go on", RIGHT);
        return Vec::new();
    };
    let mut options: Vec<ChoiceOption> = Vec::new();
    for raw in list {
        let Raw::Table(table) = raw else {
            keys.fault("options", "", "holds what is no table", RIGHT);
            continue;
        };
        let mut inner = Keys::of(table);
        let option = ChoiceOption {
            id: inner.required("id"),
            text: inner.required("text"),
            go: inner.required("go"),
            not: inner.text("not").unwrap_or_default(),
        };
        if options.iter().any(|other| other.id == option.id) {
            inner.fault("id", &option.id, "stands twice", "an id of its own for each option");
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
                keys.fault(key, "", "is no whole number from 1 to 600", format!("write {key} = 10"));
                0
            }
        };
        let seconds = whole("minutes", 60) + whole("seconds", 1);
        if seconds == 0 && keys.faults.is_empty() {
            keys.fault("minutes", "", "is missing", "write minutes = 10 or seconds = 30");
        }
        keys.finish(Self { id, text, seconds })
    }
}

/// The id of a block: its own, or the one that its place gives it.
fn name(keys: &mut Keys, id: &str) -> String {
    let Some(own) = keys.text("id") else { return id.to_owned() };
    let plain = own.bytes().all(|byte| byte.is_ascii_lowercase() || byte.is_ascii_digit() || byte == b'-');
    if !plain || own == "step" {
        keys.fault("id", &own, "is no id", "small letters, digits and hyphens, as bias-a");
    }
    own
}

fn gate(keys: &mut Keys) -> Option<Gate> {
    let text = keys.text("gate")?;
    match text.as_str() {
        "hard" => Some(Gate::Hard),
        "soft" => Some(Gate::Soft),
        _ => {
            keys.fault("gate", &text, "is no kind of gate", "hard or soft");
            None
        }
    }
}
