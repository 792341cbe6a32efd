//! A list of points in one field, as a reader notes them down: `0:0 2:3% 5:15% 10:100%`.
//!
//! A point is where it was read, a colon, and what was read there; each side is written as in a field of its own.
//! Between points stands a space, and a comma or semicolon too if one likes. What stands before a colon has no space in
//! it; what stands behind may (`5: 37.5 kΩ`). The places rise from point to point, and there are at least two points.

use super::ask::Ask;
use super::field::{Field, Kind};
use super::problem::Problem;
use crate::quantity::notation::read;
use crate::quantity::unit::Unit;
use crate::quantity::writing;

/// One side of every point of a list.
#[derive(Debug, Clone, Copy)]
pub struct Side {
    /// What it is called in a refusal: `place`, `reading`.
    pub name: &'static str,
    /// The unit that a bare number takes.
    pub unit: &'static Unit,
    /// The lowest it may be, in SI units.
    pub low: f64,
    /// The highest it may be, in SI units.
    pub high: f64,
}

impl Ask<'_> {
    /// Asks for a list of points, in SI units and in rising order of their places. A list that cannot be read leaves
    /// its problem in the field, and the default in its place.
    pub fn points(
        &mut self,
        id: &'static str,
        name: &'static str,
        hint: &'static str,
        default: &'static str,
        sides: [&Side; 2],
    ) -> Vec<(f64, f64)> {
        let text = self.typed(id).unwrap_or(default).to_owned();
        let (points, problem) = match listed(name, &text, default, sides) {
            Ok(points) => (points, None),
            Err(problem) => (listed(name, default, default, sides).unwrap_or_default(), Some(problem)),
        };
        let [place, reading] = sides.map(|side| side.unit);
        let written = |(at, value): &(f64, f64)| {
            format!("{}: {}", writing::repeated(*at, place), writing::repeated(*value, reading))
        };
        let understood = if problem.is_none() { points.iter().map(written).collect() } else { vec![] };
        self.note(|| Field {
            id,
            symbol: "",
            name,
            hint,
            kind: Kind::Points,
            text,
            reading: understood.join(", "),
            problem,
            tolerance: None,
        });
        points
    }
}

fn listed(
    name: &str,
    text: &str,
    example: &str,
    [place, reading]: [&Side; 2],
) -> Result<Vec<(f64, f64)>, Problem> {
    let wrong = |wrong: String| Problem::about(name, text, &wrong, vec![]);
    let pieces = split(text).ok_or_else(|| {
        let form =
            "write each point as its place, a colon and what was read there, with a space between points";
        wrong(format!("{form}, as in {example}."))
    })?;
    let mut points: Vec<(f64, f64)> = Vec::new();
    for (count, (at, value)) in (1..).zip(pieces) {
        let side = |side: &Side, typed: &str| number(side, typed, &format!("{name}, point {count}"), example);
        let (at, value) = (side(place, at)?, side(reading, value)?);
        if let Some((before, _)) = points.last()
            && *before >= at
        {
            let (at, before) = (writing::repeated(at, place.unit), writing::repeated(*before, place.unit));
            return Err(wrong(format!("the {}s must rise, and {at} comes after {before}.", place.name)));
        }
        points.push((at, value));
    }
    if points.len() < 2 {
        return Err(wrong("at least two points are needed.".to_owned()));
    }
    Ok(points)
}

/// The two texts of each point; `None` where a colon or one of its sides is missing.
fn split(text: &str) -> Option<Vec<(&str, &str)>> {
    let separator = |letter: char| letter.is_whitespace() || matches!(letter, ',' | ';');
    let mut parts = text.split(':');
    let mut at = parts.next()?.trim_matches(separator);
    let mut parts = parts.peekable();
    let mut pieces = Vec::new();
    while let Some(part) = parts.next() {
        let part = part.trim_matches(separator);
        let (value, next) = if parts.peek().is_some() {
            // The place of the next point is what stands behind the last space or semicolon; a comma may be decimal.
            let (value, next) = part.rsplit_once(|letter: char| letter.is_whitespace() || letter == ';')?;
            (value.trim_end_matches(separator), next)
        } else {
            (part, "")
        };
        if at.is_empty() || value.is_empty() {
            return None;
        }
        pieces.push((at, value));
        at = next;
    }
    (!pieces.is_empty()).then_some(pieces)
}

fn number(side: &Side, typed: &str, name: &str, example: &str) -> Result<f64, Problem> {
    let read = read(typed, side.unit, 0).map_err(|refusal| {
        // What it offers is one number, not the whole list.
        let refused = Problem::refused(refusal, name, typed, side.unit, example);
        Problem { offers: vec![], ..refused }
    })?;
    if (side.low..=side.high).contains(&read.value) {
        return Ok(read.value);
    }
    let (low, high) = (writing::repeated(side.low, side.unit), writing::repeated(side.high, side.unit));
    let wrong = format!("a {} must lie between {low} and {high}.", side.name);
    Err(Problem::about(name, typed, &wrong, vec![]))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::unit::{OHM, ONE, PER_CENT};
    use proptest::prelude::*;

    const KNOB: Side = Side { name: "place", unit: &ONE, low: 0.0, high: 10.0 };
    const SHARE: Side = Side { name: "reading", unit: &PER_CENT, low: 0.0, high: 1.0 };
    const OHMS: Side = Side { name: "reading", unit: &OHM, low: 0.0, high: 1e8 };

    fn shares(text: &str) -> Result<Vec<(f64, f64)>, String> {
        listed("Points", text, "0:0 10:100%", [&KNOB, &SHARE]).map_err(|problem| problem.message)
    }

    #[test]
    fn points_are_read_as_people_note_them_down() {
        let wanted = vec![(0.0, 0.0), (2.5, 0.035), (10.0, 1.0)];
        for text in [
            "0:0 2.5:3.5% 10:100%",
            "0:0, 2.5:3.5%, 10:100%",
            "0:0;2.5:3.5;10:100",
            " 0 : 0 \n 2,5: 3,5 % ; 10 : 100 % ",
        ] {
            assert_eq!(shares(text).as_ref(), Ok(&wanted), "{text}");
        }
        let ohms = listed("Points", "0:12R 5: 37.5 kΩ 10:250k", "", [&KNOB, &OHMS]).unwrap();
        assert_eq!(ohms, [(0.0, 12.0), (5.0, 37.5e3), (10.0, 250e3)]);
    }

    #[test]
    fn what_is_no_list_is_refused_with_place_and_reason() {
        for (text, reason) in [
            ("", "write each point as its place, a colon"),
            ("nonsense", "“nonsense” cannot be used; write each point"),
            ("0:0 5 10:100", "Points, point 1: “0 5” cannot be used"),
            ("0:0,5:15", "write each point"),
            ("0: 5:15 10:100", "write each point"),
            ("0:0 5:", "write each point"),
            ("0:0", "at least two points"),
            ("0:0 5:15% 5:20% 10:100%", "the places must rise, and 5 comes after 5"),
            ("0:0 5:15k 10:100%", "Points, point 2: “15k” cannot be used; the prefix k"),
            ("0:0 5:15% 11:100%", "Points, point 3: “11” cannot be used; a place must lie between 0 and 10"),
            ("0:0 5:15% 10:120%", "a reading must lie between 0 % and 100 %"),
        ] {
            let message = shares(text).unwrap_err().replace('\u{a0}', " ");
            assert!(message.contains(reason), "{text}: {message}");
        }
    }

    proptest! {
        #[test]
        fn any_text_is_read_or_refused(text in "[0-9:;,.% kRΩa-]{0,24}|\\PC{0,16}") {
            if let Ok(points) = shares(&text) {
                prop_assert!(points.len() >= 2 && points.windows(2).all(|pair| pair[0].0 < pair[1].0));
            }
        }
    }
}
