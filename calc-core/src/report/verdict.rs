//! A value with its margin against a limit: within, borderline, beyond, no published limit, or cannot tell.

use super::depends_on::DependsOn;
use crate::margin::Margin;
use crate::quantity::unit::Unit;
use crate::quantity::writing::Rounding;
use crate::quantity::{Quantity, writing};
use crate::source::{Source, Trust};

/// How a value stands to its limit. The worst case decides; a margin that straddles the limit is never *within*.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Standing {
    /// The whole margin is inside.
    Within,
    /// The margin straddles the limit.
    Borderline,
    /// The whole margin lies outside.
    Beyond,
    /// Nobody has published a limit that we know of.
    NoPublishedLimit,
    /// The margin is not known, or something needed was not measured.
    CannotTell,
}

impl Standing {
    /// The word for it.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Within => "within",
            Self::Borderline => "borderline",
            Self::Beyond => "beyond",
            Self::NoPublishedLimit => "no published limit",
            Self::CannotTell => "cannot tell",
        }
    }

    /// How much it asks for attention, the most first: what is beyond, what may be, what nobody can tell.
    #[must_use]
    pub const fn urgency(self) -> u8 {
        match self {
            Self::Beyond => 0,
            Self::Borderline => 1,
            Self::CannotTell => 2,
            Self::NoPublishedLimit => 3,
            Self::Within => 4,
        }
    }

    /// The same, fit for an attribute: `no-published-limit`.
    #[must_use]
    pub fn id(self) -> String {
        self.word().replace(' ', "-")
    }

    /// The word for it, with the doubt that the source of the limit brings: `within, limit unconfirmed`.
    #[must_use]
    pub fn doubted(self, source: Option<&Source>) -> String {
        // A limit that nobody has checked can stop, but it cannot promise.
        if self == Self::Within && source.is_some_and(|source| source.trust == Trust::Memory) {
            return format!("{}, limit unconfirmed", self.word());
        }
        self.word().to_owned()
    }

    fn at_most(margin: &Margin, limit: f64) -> Self {
        match margin {
            Margin { known: false, .. } => Self::CannotTell,
            Margin { high, .. } if *high <= limit => Self::Within,
            Margin { low, .. } if *low > limit => Self::Beyond,
            Margin { low, high, .. } if low.is_finite() && high.is_finite() => Self::Borderline,
            _ => Self::CannotTell,
        }
    }
}

/// A limit and where it comes from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limit {
    /// The limit itself, in SI units.
    pub value: f64,
    /// The unit that it is written in.
    pub unit: &'static Unit,
    /// What kind of limit it is: a rating system, a rule of thumb.
    pub kind: &'static str,
    /// Who published it, and how far that may be trusted.
    pub source: &'static Source,
}

impl Limit {
    /// A limit of a quantity.
    pub fn new<Q: Quantity>(value: Q, kind: &'static str, source: &'static Source) -> Self {
        Self { value: value.si(), unit: Q::UNIT, kind, source }
    }

    /// As it was published or typed. What has more figures than anyone types was worked out, and gets as many as an answer.
    fn written(&self) -> String {
        let typed = writing::engineering(self.value, self.unit, writing::TYPED_FIGURES, Rounding::Down);
        if typed == writing::engineering(self.value, self.unit, writing::TYPED_FIGURES, Rounding::Up) {
            return writing::repeated(self.value, self.unit);
        }
        writing::nearest(self.value, self.unit)
    }
}

/// What is said of a value.
#[derive(Debug, Clone, PartialEq)]
pub struct Verdict {
    /// What is judged: `Anode dissipation`.
    pub about: String,
    /// How the value stands to its limit.
    pub standing: Standing,
    /// The limit as written, with its kind: `30 W, design maximum`.
    pub limit: Option<String>,
    /// Where the limit comes from.
    pub source: Option<&'static Source>,
    /// What to do, in a sentence or two.
    pub advice: String,
    /// The names of the fields that hold an example and on which this depends: then it is no verdict on the reader's
    /// amplifier.
    pub examples: Vec<&'static str>,
    pub(crate) depends_on: DependsOn,
    pub(crate) asked_by: &'static [&'static str],
}

impl Verdict {
    /// Judges a value that must not be more than its limit; `advice` says what to do for each standing. Of what cannot be
    /// told it is not asked: the frame says why (`report/unknown.rs`).
    pub fn at_most(
        about: impl Into<String>,
        margin: &Margin,
        limit: Option<Limit>,
        advice: impl Fn(Standing) -> String,
    ) -> Self {
        let standing =
            limit.map_or(Standing::NoPublishedLimit, |limit| Standing::at_most(margin, limit.value));
        let advice = if standing == Standing::CannotTell { String::new() } else { advice(standing) };
        let verdict = Self::new(about, standing, limit, advice);
        Self { depends_on: DependsOn::Movers(margin.movers), ..verdict }
    }

    /// A verdict whose standing was decided by more than one comparison. Where it cannot be told because a margin is not
    /// known, the advice is left empty for the frame.
    pub fn new(about: impl Into<String>, standing: Standing, limit: Option<Limit>, advice: String) -> Self {
        let written = |limit: Limit| {
            let value = limit.written();
            if limit.kind.is_empty() { value } else { format!("{value}, {}", limit.kind) }
        };
        Self {
            about: about.into(),
            standing,
            limit: limit.map(written),
            source: limit.map(|limit| limit.source),
            advice,
            examples: Vec::new(),
            depends_on: DependsOn::All,
            asked_by: &[],
        }
    }

    /// The same, which depends on no other fields than these. The frame's own test moves all others.
    #[must_use]
    pub fn depending_on(self, fields: &'static [&'static str]) -> Self {
        Self { depends_on: DependsOn::Fields(fields), ..self }
    }

    /// The same, which depends on every field: on which of them its margin leans is itself a matter of the others.
    #[must_use]
    pub fn depending_on_all(self) -> Self {
        Self { depends_on: DependsOn::All, ..self }
    }

    /// The same, about something that is only asked by one of these fields, such as another design: it stands among the
    /// reader's own verdicts only where one of them is the reader's own.
    #[must_use]
    pub fn asked_by(self, fields: &'static [&'static str]) -> Self {
        Self { asked_by: fields, ..self }
    }

    /// How it stands, in words, with its doubts: `within, limit unconfirmed, with example values`.
    #[must_use]
    pub fn word(&self) -> String {
        let word = self.standing.doubted(self.source);
        let decided = matches!(self.standing, Standing::Within | Standing::Borderline | Standing::Beyond);
        if decided && !self.examples.is_empty() { format!("{word}, with example values") } else { word }
    }

    /// The limit with its origin: `100 kΩ, design maximum; not yet confirmed`.
    #[must_use]
    pub fn limit_and_origin(&self) -> Option<String> {
        let limit = self.limit.as_ref()?;
        let origin = self.source.map(|source| format!("; {}", source.origin())).unwrap_or_default();
        Some(format!("{limit}{origin}"))
    }

    /// Whether the limit is a habit of the trade, not a published rating.
    #[must_use]
    pub fn is_rule_of_thumb(&self) -> bool {
        self.source.is_some_and(|source| source.trust == Trust::Practice)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn margin(low: f64, high: f64, known: bool) -> Margin {
        Margin { value: f64::midpoint(low, high), low, high, rss: 0.0, most: None, movers: 0, known }
    }

    #[test]
    fn a_margin_that_straddles_is_not_within() {
        for (low, high, known, standing) in [
            (10.0, 12.0, true, Standing::Within),
            (10.0, 12.1, true, Standing::Borderline),
            (12.0, 12.0, true, Standing::Within),
            (12.0, 13.0, true, Standing::Borderline),
            (12.1, 13.0, true, Standing::Beyond),
            (1.0, 2.0, false, Standing::CannotTell),
            (f64::NAN, f64::NAN, true, Standing::CannotTell),
        ] {
            assert_eq!(Standing::at_most(&margin(low, high, known), 12.0), standing, "{low} to {high}");
        }
    }

    #[test]
    fn without_a_limit_nothing_is_judged() {
        let verdict = Verdict::at_most("Anything", &margin(1.0, 2.0, true), None, |_| String::new());
        assert_eq!(verdict.standing, Standing::NoPublishedLimit);
    }
}
