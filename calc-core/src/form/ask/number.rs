//! A text typed for a number, held against what its question allows. What cannot be used is asked back, with what may have
//! been meant.

use super::Spec;
use crate::form::field::ToleranceField;
use crate::form::problem::Problem;
use crate::quantity::notation::{Read, read, ten_to};
use crate::quantity::tolerance::Tolerance;
use crate::quantity::unit::{FARAD, PER_CENT, PREFIXES, Unit};
use crate::quantity::{capacitor, writing};

/// A number as the field shows it: in `unit`, with the prefix ten to the `shown`.
pub(super) struct Number<'s> {
    pub(super) spec: &'s Spec,
    pub(super) unit: &'static Unit,
    pub(super) shown: i32,
}

impl Number<'_> {
    /// Reads the text and holds it against the range.
    pub(super) fn read(&self, text: &str) -> Result<Read, Problem> {
        let Spec { name, default, whole, .. } = self.spec;
        let parsed = read(text, self.unit, self.shown).map_err(|refusal| {
            let mut problem = Problem::refused(refusal, name, text, self.unit, default);
            problem.offers.retain(|offer| self.offered(offer));
            problem
        })?;
        if let Some(most) = whole
            && !(1..=*most).any(|count| f64::from(count) == parsed.value)
        {
            let wrong = format!("it must be a whole number from 1 to {most}.");
            return Err(Problem::about(name, text, &wrong, vec![]));
        }
        if !self.in_range(parsed.value) {
            return Err(self.out_of_range(text, parsed));
        }
        self.asked_back(text, parsed)
    }

    /// 0.038 in a field in mA is more likely 38 mA than 38 µA, and 473 in one in nF may be copied from a part that has
    /// 47 nF: ask back rather than guess.
    fn asked_back(&self, text: &str, parsed: Read) -> Result<Read, Problem> {
        let magnitude = parsed.value.abs();
        if self.shown == 0 || parsed.explicit || magnitude == 0.0 {
            return Ok(parsed);
        }
        let number = magnitude / ten_to(self.shown);
        let base = (magnitude < ten_to(self.shown)).then_some((number, false));
        // An electrolytic capacitor, in microfarads, is marked in what its field shows.
        let coded = *self.unit == FARAD && self.shown < -6;
        let marked = if coded { capacitor::marked(text, number) } else { None };
        let other = |value: f64| self.in_range(value) && (value / parsed.value - 1.0).abs() > 1e-6;
        let mut readings = base.into_iter().chain(marked.map(|farads| (farads, true)));
        let signed = |(value, on_part): (f64, bool)| (value.copysign(parsed.value), on_part);
        let Some((value, on_part)) = readings.by_ref().map(signed).find(|(value, _)| other(*value)) else {
            return Ok(parsed);
        };
        let shown = shown_unit(self.shown, self.unit);
        let (meant, literal) = (writing::bench(value, self.unit), format!("{} {shown}", text.trim()));
        let part = if on_part { format!("; a part marked like that is {meant}") } else { String::new() };
        let wrong = format!("a bare number here is in {shown}{part}. Is it {meant}, or {literal}?");
        Err(Problem::about(self.spec.name, text, &wrong, vec![meant, literal]))
    }

    fn in_range(&self, value: f64) -> bool {
        self.limits().is_none_or(|(low, high)| (low..=high).contains(&value))
    }

    fn limits(&self) -> Option<(f64, f64)> {
        let (low, high) = self.spec.range?;
        Some((read(low, self.unit, 0).ok()?.value, read(high, self.unit, 0).ok()?.value))
    }

    fn offered(&self, offer: &str) -> bool {
        read(offer, self.unit, self.shown).is_ok_and(|read| self.in_range(read.value))
    }

    /// Says between what the value must lie and in what a bare number was read, and offers what may have been meant: the
    /// other sign, another prefix.
    fn out_of_range(&self, text: &str, parsed: Read) -> Problem {
        let (low, high) = self.limits().unwrap_or_default();
        let shown =
            Some(shown_unit(self.shown, self.unit)).filter(|shown| !parsed.explicit && !shown.is_empty());
        let read = shown.map(|shown| format!("a bare number here is in {shown}, and ")).unwrap_or_default();
        let wrong = format!(
            "{read}it must lie between {} and {}.",
            writing::repeated(low, self.unit),
            writing::repeated(high, self.unit)
        );
        let mut offers = vec![writing::bench(-parsed.value, self.unit)];
        if !parsed.explicit {
            let bare = parsed.value / ten_to(parsed.prefix);
            let powers = std::iter::once(0).chain(PREFIXES.iter().map(|(_, power)| *power));
            offers.extend(powers.map(|power| writing::bench(bare * ten_to(power), self.unit)));
        }
        offers.retain(|offer| self.offered(offer));
        offers.dedup();
        offers.truncate(2);
        Problem::about(self.spec.name, text, &wrong, offers)
    }

    /// The tolerance typed beside the value; a tolerance letter in the value itself goes before both.
    pub(super) fn tolerance_field(
        &self,
        usual: &str,
        typed: Option<String>,
        parsed: Option<&Read>,
    ) -> (ToleranceField, Option<Tolerance>) {
        let marked = parsed.and_then(|read| read.tolerance).map(|per_cent| format!("{per_cent} %"));
        let text = marked.or(typed).unwrap_or_else(|| usual.to_owned());
        let (tolerance, problem) = match Tolerance::read(&text, self.unit, self.shown) {
            Ok(tolerance) => (Some(tolerance), None),
            Err(refusal) => {
                let name = format!("{}, tolerance", self.spec.name);
                let example = format!("{usual}, or as 0.5 % + 2 digits");
                (None, Some(Problem::refused(refusal, &name, &text, &PER_CENT, &example)))
            }
        };
        (ToleranceField { is_changed: text != usual, text, problem }, tolerance)
    }
}

/// The prefix and symbol that a bare number takes, as `mA`.
pub(super) fn shown_unit(shown: i32, unit: &Unit) -> String {
    let prefix = PREFIXES.iter().find(|(_, power)| *power == shown).map(|(letter, _)| *letter);
    let prefix = prefix.map(|letter| if letter == 'u' { 'µ' } else { letter });
    format!("{}{}", prefix.map(String::from).unwrap_or_default(), unit.symbol)
}
