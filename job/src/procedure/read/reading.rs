//! A `reading` block: its limits, its blanks, what it fills and what it is evidence of.

use super::{GATES, answer, check_words, name};
use crate::block::Keys;
use crate::procedure::words::unit_of;
use crate::procedure::{
    Alike, Blanks, Block, Bound, Fault, Go, Of, Plausible, Purpose, ReadingSpec, Rise, STOP_WORDS,
};
use crate::unit::{Measure, measure};
use crate::values;

/// The names of the limits, in order, and the limits.
type Limits<'l> = [(&'static str, &'l Option<Bound>); 4];

impl ReadingSpec {
    /// Reads a `reading` block; `id` is its name where the block gives none.
    ///
    /// # Errors
    /// Everything that is wrong with it, each with its key and what would be right.
    pub fn from_block(block: &Block, id: &str) -> Result<Self, Vec<Fault>> {
        let mut keys = Keys::of(block);
        let mut spec = Self {
            id: name(&mut keys, id),
            quantity: keys.required("quantity"),
            probes: keys.required("probes"),
            expect: keys.required("expect"),
            stop: keys.required("stop"),
            unit: keys.required("unit"),
            blanks: blanks(&mut keys),
            alike_gate: keys.one_of("alike-gate", GATES).unwrap_or_default(),
            alike_means: keys.text("alike-means").unwrap_or_default(),
            rise: rises(&mut keys),
            gate: keys.one_of("gate", GATES),
            means: keys.text("means").unwrap_or_default(),
            go: keys.text("go").map(|go| Go::read(&go)),
            feeds: keys.texts("feeds"),
            purpose: purpose(&mut keys),
            after: keys.text("after").unwrap_or_default(),
            when: answer(&mut keys, "when"),
            ..Self::default()
        };
        spec.read_figures(&mut keys);
        let words = spec.stop.split_whitespace().count();
        if words > STOP_WORDS {
            let right = format!("say it in {STOP_WORDS} words; put the rest into `means`");
            keys.fault("stop", &spec.stop, format!("has {words} words"), right);
        }
        for (key, text) in [
            ("probes", &spec.probes),
            ("expect", &spec.expect),
            ("means", &spec.means),
            ("alike-means", &spec.alike_means),
        ] {
            check_words(key, text, &mut keys);
        }
        spec.check_unit(&mut keys);
        spec.check_blanks(&mut keys);
        // Of limits that cannot be read nothing is known.
        if keys.faults.is_empty() {
            spec.check_figure(&mut keys);
        }
        keys.finish(spec)
    }

    fn limits(&self) -> Limits<'_> {
        [
            ("low", &self.low),
            ("note-low", &self.note_low),
            ("note-high", &self.note_high),
            ("high", &self.high),
        ]
    }

    /// Reads what is written in the reading's unit: limits, what is plausible, how far blanks may lie apart.
    fn read_figures(&mut self, keys: &mut Keys) {
        const KEYS: [&str; 6] = ["low", "high", "note-low", "note-high", "plausible", "alike"];
        if self.is_seen() {
            for key in KEYS {
                if keys.take(key).is_some() {
                    let right = "give it a unit, or leave the limit out";
                    keys.fault(key, "", "is a limit of something seen", right);
                }
            }
            return;
        }
        // Where the unit is missing that is said already.
        let measure = match measure(&self.unit) {
            Ok(measure) if !self.unit.is_empty() => measure,
            wrong => {
                if let Err(right) = wrong {
                    keys.fault("unit", &self.unit, "is not a unit", format!("{right}, or seen"));
                }
                for key in KEYS {
                    keys.take(key);
                }
                return;
            }
        };
        let mut limit = |key| {
            let text = keys.text(key)?;
            let read = Bound::read(&text, measure);
            read.map_err(|(wrong, right)| keys.fault(key, &text, wrong, right)).ok()
        };
        [self.low, self.high, self.note_low, self.note_high] =
            ["low", "high", "note-low", "note-high"].map(&mut limit);
        self.plausible = plausible(keys, measure);
        if let Some(text) = keys.text("alike") {
            self.alike = Alike::read(&text, measure);
            if self.alike.is_none() {
                let right = format!("write 10 % or 2 {}", measure.written());
                keys.fault("alike", text, "is neither a share nor a span", right);
            }
        }
    }

    fn check_unit(&self, keys: &mut Keys) {
        let has_limit = self.low.is_some() || self.high.is_some();
        if !self.is_seen() && self.gate.is_some() && !has_limit && keys.faults.is_empty() {
            let right = "write low = or high =, or unit = \"seen\"";
            keys.fault("gate", "", "has no limit to compare with", right);
        }
        let Ok(measure) = measure(&self.unit) else { return };
        if self.unit.is_empty() {
            return;
        }
        for (key, bound) in self.limits() {
            if let Some(bound) = bound {
                check_bound(key, bound, measure, keys);
            }
        }
        self.check_order(measure, keys);
        self.check_feeds(measure, keys);
    }

    /// The figure that the job sets is marked in the line that says at what to stop: an example must not stand there in a
    /// run.
    fn check_figure(&self, keys: &mut Keys) {
        match (self.depends_on_the_job(), self.stop_parts().1) {
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

    /// Fixed limits must lie in order, low, note-low, note-high, high, and within what is plausible.
    fn check_order(&self, measure: Measure, keys: &mut Keys) {
        let mut before: Option<(&str, f64)> = None;
        for (key, bound) in self.limits() {
            let Some(Bound { of: Of::Fixed(value), .. }) = bound else { continue };
            let written = measure.repeated(*value);
            if let Some((other, least)) = before.filter(|(_, least)| value < least) {
                let right = format!("at least {}", measure.repeated(least));
                keys.fault(key, &written, format!("is below `{other}`"), right);
            }
            if self.plausible.is_some_and(|plausible| !plausible.holds(*value)) {
                keys.fault("plausible", "", format!("does not include {key}, {written}"), "a wider range");
            }
            before = Some((key, *value));
        }
    }

    fn check_feeds(&self, measure: Measure, keys: &mut Keys) {
        for id in &self.feeds {
            match values::find(id) {
                Err(unknown) => {
                    let right = unknown.nearest.unwrap_or("a value of job/src/values/table.rs");
                    keys.fault("feeds", id, "is not a value of a job", right);
                }
                Ok(known) => {
                    let fits =
                        crate::unit::measure(known.unit()).is_ok_and(|other| other.unit == measure.unit);
                    if !fits || known.unit().is_empty() {
                        let right = format!("a value in {}", measure.written());
                        keys.fault("feeds", id, format!("is in {}", known.unit()), right);
                    }
                    if let (values::Kind::Negative(_), Some(low)) = (known.kind, &self.low) {
                        let right = "write note-low: a more negative bias harms nothing, and is only noted";
                        keys.fault("low", low.written(measure), "would stop at more bias", right);
                    }
                }
            }
        }
    }

    fn check_blanks(&self, keys: &mut Keys) {
        let named = if let Blanks::Named(names) = &self.blanks { names.as_slice() } else { &[] };
        for (at, blank) in named.iter().enumerate() {
            if named.iter().take(at).any(|other| other == blank) {
                keys.fault("blanks", blank, "occurs twice", "a name of its own for each blank");
            }
        }
        let blanks = named.len().max(1);
        if self.feeds.len() > 1 && self.feeds.len() != blanks {
            let right = if self.blanks == Blanks::Sockets {
                "one value for all sockets".to_owned()
            } else {
                format!("one value for all, or one for each of the {blanks} blanks")
            };
            keys.fault("feeds", self.feeds.join(", "), format!("names {} values", self.feeds.len()), right);
        }
        if self.alike.is_some() && !self.blanks.are_several() {
            let right = "write blanks = [\"A\", \"B\"] or each = \"socket\"";
            keys.fault("alike", "", "has one blank only to compare", right);
        }
        for key in ["alike-gate", "alike-means"] {
            if self.alike.is_none() && keys.take(key).is_some() && keys.faults.is_empty() {
                keys.fault(key, "", "needs an `alike`", "write alike = \"10 %\", or leave it out");
            }
        }
    }
}

/// Whether the value or the answer that a limit names is there, and in the same unit.
fn check_bound(key: &'static str, bound: &Bound, measure: Measure, keys: &mut Keys) {
    match unit_of(&bound.of) {
        Err((wrong, right)) => keys.fault(key, bound.written(measure), wrong, right),
        Ok(Some(unit)) if unit != measure.unit.symbol => {
            let right = format!("something in {}", measure.written());
            keys.fault(key, bound.written(measure), "is in another unit", right);
        }
        Ok(_) => {}
    }
}

/// Reads how many blanks a reading has: by `blanks`, or by `each` one for each output valve.
fn blanks(keys: &mut Keys) -> Blanks {
    let (named, each) = (keys.texts("blanks"), keys.text("each"));
    match (named.is_empty(), each.as_deref()) {
        (true, None) => Blanks::One,
        (false, None) => Blanks::Named(named),
        (true, Some("socket")) => Blanks::Sockets,
        (true, Some(each)) => {
            keys.fault("each", each, "is not something with a blank each", "socket");
            Blanks::One
        }
        (false, Some(each)) => {
            keys.fault("each", each, "cannot be used with `blanks`", "one of the two");
            Blanks::Named(named)
        }
    }
}

/// What is plausible: the least and the most, fixed, in the reading's unit.
fn plausible(keys: &mut Keys, measure: Measure) -> Option<Plausible> {
    let right = format!("write plausible = [\"0 {0}\", \"800 {0}\"]", measure.written());
    let texts = keys.texts("plausible");
    let read: Option<Vec<f64>> = texts
        .iter()
        .map(|text| Some(calc_core::quantity::notation::read(text, measure.unit, measure.shown).ok()?.value))
        .collect();
    match read.as_deref() {
        Some([low, high]) if low < high => return Some(Plausible { low: *low, high: *high }),
        Some([]) => keys.fault("plausible", "", "is missing", right),
        _ => keys.fault("plausible", texts.join(", "), "is not a least and a most in this unit", right),
    }
    None
}

/// The purpose; without one it is a cold reading.
fn purpose(keys: &mut Keys) -> Purpose {
    keys.one_of("purpose", &Purpose::NAMED.map(|purpose| (purpose.name(), purpose))).unwrap_or_default()
}

fn rises(keys: &mut Keys) -> Vec<Rise> {
    let texts = keys.texts("rise");
    let mut rises = Vec::new();
    for text in &texts {
        match Rise::read(text) {
            Some(rise) => rises.push(rise),
            None => {
                let right = "idle-one to idle-ten, or with a blank on both sides, idle-one.A1 to idle-ten.A1";
                keys.fault("rise", text, "is not a rise from one reading to another", right);
            }
        }
    }
    rises
}
