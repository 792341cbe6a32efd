//! A reading beside its limit, as a scale: what stops is hatched, each blank has its mark. It shows what is judged elsewhere.

use job::procedure::ReadingSpec;
use job::run::judge::{CannotTell, Limit, Limits};
use job::unit::{Measure, measure};
use maud::{Markup, html};

/// What a blank reads, in SI units.
pub(in super::super) struct Mark<'a> {
    pub(in super::super) blank: &'a str,
    pub(in super::super) si: f64,
}

/// A text of a blank as a mark; `None` of one that is no number.
pub(in super::super) fn mark<'a>(spec: &ReadingSpec, blank: &'a str, text: &str) -> Option<Mark<'a>> {
    let si = measure(&spec.unit).ok()?.parse("", text).ok()?.si;
    si.is_finite().then_some(Mark { blank, si })
}

/// The scale of a reading; nothing where no limit is a known figure.
pub(in super::super) fn gauge(spec: &ReadingSpec, limits: &Limits, marks: &[Mark<'_>]) -> Markup {
    let known = |limit: &Option<Result<Limit, CannotTell>>| {
        limit.as_ref().and_then(|limit| limit.as_ref().ok()).map(|limit| (limit.si, limit.written.clone()))
    };
    let (low, high) = (known(&limits.low), known(&limits.high));
    let ends = ends(low.as_ref().map(|low| low.0), high.as_ref().map(|high| high.0));
    let (Ok(measure), Some(scale)) = (measure(&spec.unit), ends.map(|(from, to)| Scale { from, to })) else {
        return html! {};
    };
    html! {
        svg.scale aria-hidden="true" width="100%" height="58" {
            rect.range x="0" y="1" width="100%" height="26" {}
            @if let Some((si, _)) = &low { rect.beyond x="0" y="1" width=(scale.percent(*si)) height="26" {} }
            @if let Some((si, _)) = &high { rect.beyond x=(scale.percent(*si)) y="1" width=(scale.rest(*si)) height="26" {} }
            @for (si, words) in [&low, &high].into_iter().flatten() {
                line.limit x1=(scale.percent(*si)) x2=(scale.percent(*si)) y1="0" y2="34" {}
                text.limit x=(scale.percent(*si)) y="52" text-anchor=(scale.anchor(*si)) { (words) }
            }
            @if low.is_none() || high.is_none() { (scale.end_words(measure, low.or(high).map(|limit| limit.0))) }
            @for Mark { blank, si } in marks {
                line.read x1=(scale.percent(*si)) x2=(scale.percent(*si)) y1="1" y2="27" {}
                @if !blank.is_empty() { text.read x=(scale.percent(*si)) y="21" dx=(if scale.share(*si) > 0.5 { "-5" } else { "5" }) text-anchor=(if scale.share(*si) > 0.5 { "end" } else { "start" }) { (blank) } }
            }
        }
    }
}

/// From where to where the scale goes: what is in range has most of it.
fn ends(low: Option<f64>, high: Option<f64>) -> Option<(f64, f64)> {
    let ends = match (low, high) {
        (Some(low), Some(high)) => {
            let room = (high - low) / 2.0;
            (if low >= 0.0 { (low - room).max(0.0) } else { low - room }, high + room)
        }
        (Some(limit), None) | (None, Some(limit)) if limit < 0.0 => (1.4 * limit, 0.0),
        (Some(limit), None) | (None, Some(limit)) => (0.0, 2.0 * limit),
        (None, None) => return None,
    };
    (ends.0 < ends.1 && ends.0.is_finite() && ends.1.is_finite()).then_some(ends)
}

struct Scale {
    from: f64,
    to: f64,
}

impl Scale {
    /// How far along the scale a value is, 0 to 1; one beyond an end is shown at that end.
    fn share(&self, si: f64) -> f64 {
        ((si - self.from) / (self.to - self.from)).clamp(0.0, 1.0)
    }

    fn percent(&self, si: f64) -> String {
        format!("{:.1}%", 100.0 * self.share(si))
    }

    fn rest(&self, si: f64) -> String {
        format!("{:.1}%", 100.0 * (1.0 - self.share(si)))
    }

    fn anchor(&self, si: f64) -> &'static str {
        match self.share(si) {
            ..0.15 => "start",
            0.85.. => "end",
            _ => "middle",
        }
    }

    /// What the ends are, where the limit's own words leave room for it.
    fn end_words(&self, measure: Measure, limit: Option<f64>) -> Markup {
        let at = limit.map_or(0.5, |limit| self.share(limit));
        html! {
            @if at > 0.4 { text x="0" y="52" { (measure.repeated(self.from)) } }
            @if at < 0.6 { text x="100%" y="52" text-anchor="end" { (measure.repeated(self.to)) } }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use job::Job;
    use job::procedure::{Bound, Of};

    #[test]
    fn the_scale_has_the_limit_in_it_and_a_mark_beyond_its_end_lies_at_the_end() {
        let fixed = |si| Some(Bound { factor: 1.0, of: Of::Fixed(si) });
        let spec = ReadingSpec { unit: "V".into(), high: fixed(-42.0), ..ReadingSpec::default() };
        let drawn = |text: &str| {
            let marks: Vec<Mark<'_>> = mark(&spec, "A", text).into_iter().collect();
            gauge(&spec, &Limits::of(&spec, &Job::default()), &marks).into_string()
        };
        // From −58.8 V to 0 V.
        assert!(drawn("-44.1").contains("class=\"read\" x1=\"25.0%\""), "{}", drawn("-44.1"));
        assert!(drawn("-44.1").contains("class=\"limit\" x1=\"28.6%\""));
        assert!(drawn("+300").contains("class=\"read\" x1=\"100.0%\""));
        assert!(!drawn("what").contains("class=\"read\""), "what is no number has no mark");
        let none = ReadingSpec { unit: "V".into(), ..ReadingSpec::default() };
        assert_eq!(gauge(&none, &Limits::of(&none, &Job::default()), &[]).into_string(), "");
    }
}
