//! Random inputs for a calculator, as people would type them, and what they represent: from what the calculator says of its
//! own fields. The same seed gives the same inputs.

mod points;
pub mod random;
pub mod written;

use std::collections::BTreeMap;
use std::ops::RangeInclusive;

use calc_core::calculator::{Entry, Field, Inputs, Kind, tolerance_id};
use calc_core::quantity::notation::read;
use calc_core::quantity::unit::{PREFIXES, Unit};

use random::Random;
use written::{Decimal, typed};

/// Inputs as typed, and what they represent.
#[derive(Debug, Clone, Default)]
pub struct Case {
    /// What is typed into every field, and beside it as tolerance.
    pub typed: Inputs,
    /// What each field's text represents.
    pub meant: BTreeMap<&'static str, Meant>,
}

/// What a text represents.
#[derive(Debug, Clone, PartialEq)]
pub enum Meant {
    /// A value in SI units (an angle in degrees, a level in decibels), and its unit.
    Number(f64, &'static Unit),
    /// How many.
    Count(u32),
    /// The id of a choice.
    Choice(String),
    /// Words, or a list of points.
    Text(String),
}

/// So often a value is near its default; else it lies anywhere in its range.
const NEAR: f64 = 0.7;
/// Near the default: so many times more or less.
const TIMES: f64 = 3.0;

/// Random inputs for every field that the calculator asks for with the choices that they make, with tolerances of so many
/// per cent.
///
/// # Panics
/// When the calculator's choices go round in a circle.
#[must_use]
pub fn inputs(entry: &Entry, tolerances: &RangeInclusive<f64>, random: &mut Random) -> Case {
    let mut case = Case::default();
    let mut doubted = None;
    // Which fields are asked depends on the choices and on what is counted, and on one choice another may.
    for _ in 0..40 {
        let fields = asked(entry, &case.typed, doubted);
        doubted = fields.iter().find(|field| field.tolerance.is_some()).map(|field| field.id);
        let open = fields.iter().find_map(|field| match &field.kind {
            Kind::Choice(choices) if !case.meant.contains_key(field.id) => Some((field.id, choices)),
            _ => None,
        });
        let Some((id, choices)) = open else {
            let empty = fields.iter().filter(|field| !case.meant.contains_key(field.id));
            let empty: Vec<&Field> = empty.collect();
            if empty.is_empty() {
                return case;
            }
            for field in empty {
                fill(field, tolerances, &mut case, random);
            }
            continue;
        };
        let chosen = random.one_of(choices).id.clone();
        case.typed.insert(id.to_owned(), chosen.clone());
        case.meant.insert(id, Meant::Choice(chosen));
    }
    panic!("{}: its choices have no end", entry.sheet.id);
}

/// The fields that are asked for with these inputs. A tolerance that cannot be read, of this field, spares the margins and words
/// of an answer that nobody looks at.
pub(crate) fn asked(entry: &Entry, typed: &Inputs, doubted: Option<&str>) -> Vec<Field> {
    let mut typed = typed.clone();
    typed.extend(doubted.map(|field| (tolerance_id(field), "?".to_owned())));
    entry.run(&typed).fields
}

fn fill(field: &Field, tolerances: &RangeInclusive<f64>, case: &mut Case, random: &mut Random) {
    let (text, meant) = match &field.kind {
        Kind::Choice(_) => return,
        Kind::Words => {
            let words = random.one_of(&["a sheet of 1958", "measured, ± 2 %", "КТ 88", ""]).to_string();
            (words.clone(), Meant::Text(words))
        }
        Kind::Points => {
            let points = points::list(field, random);
            (points.clone(), Meant::Text(points))
        }
        Kind::Number { most: Some(most), .. } => {
            let most = if random.happens(NEAR) { (*most).min(4) } else { *most };
            let counts: Vec<u32> = (1..=most).collect();
            let count = *random.one_of(&counts);
            (count.to_string(), Meant::Count(count))
        }
        Kind::Number { unit: shown, measured_in, within, .. } => {
            let shown = exponent(shown, measured_in);
            let number = value(field, measured_in, *within, random);
            let text = typed(number, measured_in, shown, random);
            (text, Meant::Number(number.value(measured_in.exponent), measured_in))
        }
    };
    case.typed.insert(field.id.to_owned(), text);
    case.meant.insert(field.id, meant);
    if field.tolerance.is_some() {
        let share = random.between(*tolerances.start(), *tolerances.end());
        case.typed.insert(tolerance_id(field.id), tolerance(share, random));
    }
}

/// The power of ten of the prefix that a field shows, as `mA`.
fn exponent(shown: &str, unit: &Unit) -> i32 {
    let prefix = shown.strip_suffix(unit.symbol).unwrap_or(shown);
    let letter = prefix.chars().next().map(|letter| if letter == 'µ' { 'u' } else { letter });
    let power = |letter| PREFIXES.iter().find(|(known, _)| *known == letter).map(|(_, power)| *power);
    letter.and_then(power).unwrap_or(0)
}

/// A value in its range: near the default, or anywhere.
///
/// # Panics
/// When a default or a range cannot be read, or the range holds no number of four figures.
fn value(field: &Field, unit: &Unit, within: Option<(&str, &str)>, random: &mut Random) -> Decimal {
    let known = |text: &str| match read(text, unit, 0) {
        Ok(read) => read.value,
        Err(refusal) => panic!("{}: “{text}”: {refusal:?}", field.id),
    };
    let usual = known(&field.text);
    let (low, high) = within.map_or((usual / TIMES, usual * TIMES), |(low, high)| (known(low), known(high)));
    for _ in 0..1000 {
        let wanted = if usual != 0.0 && random.happens(NEAR) {
            usual * random.over_decades(1.0 / TIMES, TIMES)
        } else {
            anywhere(low, high, random)
        };
        let number = Decimal::nearest(wanted / known_power(unit), 1 + random.place(4));
        if (low..=high).contains(&number.value(unit.exponent)) {
            return number;
        }
    }
    panic!("{}: no number between {low} and {high}", field.id)
}

/// What one of the unit is in SI units.
fn known_power(unit: &Unit) -> f64 {
    libm::pow(10.0, f64::from(unit.exponent))
}

/// Anywhere in a range: over its decades where it has any, the rest evenly.
fn anywhere(low: f64, high: f64, random: &mut Random) -> f64 {
    /// Of a range that begins at nothing, this share of its end is the smallest looked at but nothing itself.
    const SMALLEST: f64 = 1e-6;
    if low < 0.0 && high <= 0.0 {
        return -anywhere(-high, -low, random);
    }
    if low == 0.0 && high > 0.0 {
        return if random.happens(0.1) { 0.0 } else { random.over_decades(high * SMALLEST, high) };
    }
    if low > 0.0 && high > 10.0 * low { random.over_decades(low, high) } else { random.between(low, high) }
}

/// So many per cent, as a tolerance is typed.
fn tolerance(per_cent: f64, random: &mut Random) -> String {
    let number = format!("{per_cent:.1}");
    let number = if random.happens(0.4) { number.replace('.', ",") } else { number };
    let before = random.one_of(&["", "±", "± ", "+/- "]);
    let behind = random.one_of(&[" %", "%", ""]);
    format!("{before}{number}{behind}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_calculator_takes_what_is_made_for_it() {
        for entry in calc_core::calculators() {
            let mut random = Random::seeded(7);
            for _ in 0..3 {
                let case = inputs(entry, &(1.0..=20.0), &mut random);
                let outcome = entry.run(&case.typed);
                assert_eq!(outcome.unknown, Vec::<String>::new(), "{}", entry.sheet.id);
                for field in outcome.fields {
                    assert!(case.meant.contains_key(field.id), "{}: {}", entry.sheet.id, field.id);
                    let understood = field.problem.is_none() || !field.reading.is_empty();
                    assert!(understood, "{}: {:?}", entry.sheet.id, field.problem);
                }
            }
        }
    }

    #[test]
    fn the_same_seed_gives_the_same() {
        let entry = calc_core::find("discharge").unwrap();
        let typed = |seed| inputs(entry, &(1.0..=20.0), &mut Random::seeded(seed)).typed;
        assert_eq!(typed(3), typed(3));
        assert_ne!(typed(3), typed(4));
    }
}
