//! A list of points in one field, as a reader notes them down: `0:0 2:3% 5:15% 10:100%`, or, where a point takes more
//! than one number, `438/434/-46: 32.5/1.5; 430/426/-42: 44/2.1`.
//!
//! A point is where it was read, a colon, and what was read there; each number is written as in a field of its own.
//! Between points stands a space, or a semicolon, and then spaces may stand within a point. What stands behind a colon
//! may have them in any case (`5: 37.5 kΩ`). Places of one number rise from point to point.

use std::rc::Rc;

use super::ask::Ask;
use super::field::{Field, Kind};
use super::point::Point;
use super::problem::Problem;
use crate::quantity::notation::read;
use crate::quantity::unit::Unit;
use crate::quantity::writing;

/// One number of every point of a list.
#[derive(Debug, Clone, Copy)]
pub struct Side {
    /// What it is called in a refusal: `place`, `anode voltage`.
    pub name: &'static str,
    /// The unit of a number in its place of the list.
    pub unit: &'static Unit,
    /// The power of ten of that unit that a bare number takes: −3 for milliamperes.
    pub exponent: i32,
    /// The lowest it may be, in SI units.
    pub low: f64,
    /// The highest it may be, in SI units.
    pub high: f64,
}

/// What the points of a list are made of.
#[derive(Debug)]
pub struct Form {
    /// Where a point was read.
    pub places: &'static [Side],
    /// What was read there.
    pub readings: &'static [Side],
    /// How many of the readings, the last ones, need not have been read.
    pub optional: usize,
    /// How many points there must be at least.
    pub least: usize,
}

/// More points than anybody measures.
const MOST: usize = 100;

impl Ask<'_> {
    /// Asks for a list of points. One that cannot be read leaves its problem in the field, and the default in its place.
    pub fn points(
        &mut self,
        id: &'static str,
        name: &'static str,
        hint: &'static str,
        default: &'static str,
        form: &Form,
    ) -> Rc<[Point]> {
        if let Some(points) = self.replayed_list() {
            return points;
        }
        let text = self.typed(id).unwrap_or(default).to_owned();
        let (points, problem) = match listed(name, &text, default, form) {
            Ok(points) => (points, None),
            Err(problem) => (listed(name, default, default, form).unwrap_or_default(), Some(problem)),
        };
        let points: Rc<[Point]> = points.into();
        self.keep_list(&points);
        let side = |sides: &[Side], numbers: &[f64]| {
            let written =
                sides.iter().zip(numbers).map(|(side, number)| writing::repeated(*number, side.unit));
            written.collect::<Vec<_>>().join("/")
        };
        let written =
            |point: &Point| format!("{}: {}", side(form.places, &point.at), side(form.readings, &point.read));
        let understood = if problem.is_none() { points.iter().map(written).collect() } else { vec![] };
        self.note(id, |whose| Field {
            id,
            symbol: "",
            name,
            hint,
            kind: Kind::Points,
            text,
            reading: understood.join(", "),
            whose,
            problem,
            tolerance: None,
        });
        points
    }
}

fn listed(name: &str, text: &str, example: &str, form: &Form) -> Result<Vec<Point>, Problem> {
    let wrong = |wrong: String| Problem::about(name, text, &wrong, vec![]);
    let pieces = split(text).ok_or_else(|| {
        let form = "write each point as its place, a colon and what was read there, with a space or a semicolon between points";
        wrong(format!("{form}, as in {example}."))
    })?;
    if pieces.len() > MOST {
        return Err(wrong(format!("it has {} points; the most is {MOST}.", pieces.len())));
    }
    let mut points: Vec<Point> = Vec::new();
    for (count, (at, read)) in (1..).zip(pieces) {
        let name = format!("{name}, point {count}");
        let side = |sides, optional, typed| numbers(sides, optional, typed, &name, example);
        let point = Point { at: side(form.places, 0, at)?, read: side(form.readings, form.optional, read)? };
        if let ([place], Some(before)) = (form.places, points.last())
            && before.pair().0 >= point.pair().0
        {
            let [at, before] = [&point, before].map(|point| writing::repeated(point.pair().0, place.unit));
            return Err(wrong(format!("the {}s must rise, and {at} comes after {before}.", place.name)));
        }
        points.push(point);
    }
    if points.len() < form.least {
        return Err(wrong(format!("at least {} points are needed, as in {example}.", form.least)));
    }
    Ok(points)
}

/// The two texts of each point; `None` where a colon or one of its sides is missing.
fn split(text: &str) -> Option<Vec<(&str, &str)>> {
    let separator = |letter: char| letter.is_whitespace() || matches!(letter, ',' | ';');
    let mut parts = text.trim_end_matches(separator).split(':');
    let mut at = parts.next()?.trim_matches(separator);
    let mut parts = parts.peekable();
    let mut pieces = Vec::new();
    while let Some(part) = parts.next() {
        let part = part.trim_matches(separator);
        let (value, next) = if parts.peek().is_some() {
            // The place of the next point is what stands behind the semicolon, or else behind the last space; a comma may
            // be decimal.
            let parted = part.rsplit_once(';').or_else(|| part.rsplit_once(char::is_whitespace));
            let (value, next) = parted?;
            (value.trim_end_matches(separator), next.trim())
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

/// The numbers of one side of a point, with a stroke between them.
fn numbers(
    sides: &[Side],
    optional: usize,
    typed: &str,
    name: &str,
    example: &str,
) -> Result<Vec<f64>, Problem> {
    let parts: Vec<&str> = if sides.len() > 1 { typed.split('/').collect() } else { vec![typed] };
    if !(sides.len() - optional..=sides.len()).contains(&parts.len()) {
        let names: Vec<&str> = sides.iter().map(|side| side.name).collect();
        let wrong = format!("what belongs there is {}, as in {example}.", names.join("/"));
        return Err(Problem::about(name, typed, &wrong, vec![]));
    }
    sides.iter().zip(parts).map(|(side, part)| number(side, part, name, example)).collect()
}

fn number(side: &Side, typed: &str, name: &str, example: &str) -> Result<f64, Problem> {
    let read = read(typed, side.unit, side.exponent).map_err(|refusal| {
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
    use crate::quantity::unit::{AMPERE, OHM, ONE, PER_CENT, VOLT};
    use proptest::prelude::*;

    const fn side(name: &'static str, unit: &'static Unit, low: f64, high: f64) -> Side {
        Side { name, unit, exponent: 0, low, high }
    }

    const KNOB: &[Side] = &[side("place", &ONE, 0.0, 10.0)];
    const SHARES: Form =
        Form { places: KNOB, readings: &[side("reading", &PER_CENT, 0.0, 1.0)], optional: 0, least: 2 };
    const OHMS: Form =
        Form { places: KNOB, readings: &[side("reading", &OHM, 0.0, 1e8)], optional: 0, least: 2 };
    const VALVE: Form = Form {
        places: &[side("anode voltage", &VOLT, 1.0, 1500.0), side("grid voltage", &VOLT, -300.0, 0.0)],
        readings: &[
            Side { exponent: -3, ..side("anode current", &AMPERE, 0.0, 4.0) },
            Side { exponent: -3, ..side("screen current", &AMPERE, 0.0, 4.0) },
        ],
        optional: 1,
        least: 1,
    };

    fn shares(text: &str) -> Result<Vec<(f64, f64)>, String> {
        let points = listed("Points", text, "0:0 10:100%", &SHARES).map_err(|problem| problem.message)?;
        Ok(points.iter().map(Point::pair).collect())
    }

    #[test]
    fn a_point_may_have_several_numbers_on_either_side() {
        let points = listed("Points", "438/-46: 32.5/1.5 ; 430 V / −42 V: 44mA;", "", &VALVE).unwrap();
        let all: Vec<(&[f64], &[f64])> = points.iter().map(|point| (&*point.at, &*point.read)).collect();
        assert_eq!(all, [(&[438.0, -46.0][..], &[0.0325, 0.0015][..]), (&[430.0, -42.0], &[0.044])]);
        for (text, reason) in [
            ("438: 32", "point 1: “438” cannot be used; what belongs there is anode voltage/grid voltage"),
            ("438/-46: 1/2/3", "what belongs there is anode current/screen current"),
            ("438/46: 32", "a grid voltage must lie between"),
            ("438/-46: 32; 430/-42: a", "point 2: “a” cannot be used"),
        ] {
            let message = listed("Points", text, "438/-46: 32", &VALVE).unwrap_err().message;
            assert!(message.contains(reason), "{text}: {message}");
        }
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
        let ohms = listed("Points", "0:12R 5: 37.5 kΩ 10:250k", "", &OHMS).unwrap();
        let ohms: Vec<(f64, f64)> = ohms.iter().map(Point::pair).collect();
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
            ("0:0", "at least 2 points"),
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
