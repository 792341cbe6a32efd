//! Each question the other way round, by the independent reference of its calculator (`reference/ID.py`) run backwards: the
//! reference works out the answer for a value that we choose, we are asked for the value that gives this answer, and the
//! reference is asked again with ours.

use std::collections::BTreeMap;

use calc_core::calculator::{Entry, Field, Inputs, Inverse, Kind};
use calc_core::quantity::notation::read;
use calc_core::quantity::writing::bench;
use tests::random_inputs::{Case, Meant};

use crate::differential::answer;

/// The field is set to so many times its default.
const TIMES: [f64; 2] = [0.8, 1.3];
/// How far the reference's answer for our value may be from what was wanted, as a share, and for what may be nothing.
const AGREED: f64 = 1e-5;
/// How far our value may be from the chosen one: what is wanted is typed with few figures.
const CHOSEN: f64 = 0.02;

#[test]
fn the_reference_gives_what_was_wanted_for_the_value_that_we_find() {
    let mut tried = 0;
    let mut wrong = vec![];
    for entry in calc_core::calculators() {
        for inverse in entry.inverse {
            for times in TIMES {
                tried += 1;
                if let Err(why) = held(entry, inverse, times) {
                    wrong.push(format!(
                        "{}, {} at {times} times its default: {why}",
                        entry.sheet.id, inverse.id
                    ));
                }
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert!(tried >= 20, "only {tried} were tried");
}

/// The example of every question has an answer, and a part that is bought is offered in two values.
#[test]
fn every_example_has_a_solution() {
    for entry in calc_core::calculators() {
        let outcome = entry.run(&Inputs::new());
        assert_eq!(outcome.wanted.len(), entry.inverse.len(), "{}", entry.sheet.id);
        for (wanted, inverse) in outcome.wanted.iter().zip(entry.inverse) {
            let found = entry.solutions(wanted, &Inputs::new(), &Inputs::new());
            let found = found.unwrap_or_else(|why| panic!("{}: {why}", inverse.id));
            assert!(found.iter().all(|found| found.value.margin.known), "{}", inverse.id);
            assert_eq!(found[0].made.is_empty(), inverse.made_in.is_none(), "{}", inverse.id);
        }
    }
}

fn held(entry: &Entry, inverse: &Inverse, times: f64) -> Result<(), String> {
    let id = entry.sheet.id;
    let default = entry.run(&Inputs::new());
    let mut meant: BTreeMap<&'static str, Meant> =
        default.fields.iter().map(|field| (field.id, meant(field))).collect();
    let Some(Meant::Number(value, unit)) = meant.get(inverse.field).cloned() else {
        return Err("it is no number".to_owned());
    };
    let chosen = value * times;
    meant.insert(inverse.field, Meant::Number(chosen, unit));
    let theirs = answer(id, &Case { typed: Inputs::new(), meant: meant.clone() }, inverse.answer);
    let answered =
        default.report.ok_or("no report")?.answers.into_iter().find(|one| one.answer.id == inverse.answer);
    let unit_of_answer = answered.ok_or("no such answer")?.answer.unit;
    let typed = Inputs::from([(inverse.id.to_owned(), bench(theirs, unit_of_answer))]);
    let wanted =
        entry.run(&typed).wanted.into_iter().find(|wanted| wanted.id == inverse.id).ok_or("not asked")?;
    let aim = read(&wanted.reading, unit_of_answer, 0).map_err(|_| format!("{wanted:?}"))?.value;
    let found = entry.solutions(&wanted, &typed, &Inputs::new())?;
    for solution in &found {
        let ours = solution.value.answer.value;
        meant.insert(inverse.field, Meant::Number(ours, unit));
        let again = answer(id, &Case { typed: Inputs::new(), meant: meant.clone() }, inverse.answer);
        if (again - aim).abs() > AGREED * aim.abs().max(1e-3) {
            return Err(format!("for {ours} the reference gives {again}, wanted was {aim}"));
        }
    }
    let near = |solution: &calc_core::calculator::Solution| {
        (solution.value.answer.value - chosen).abs() <= CHOSEN * chosen.abs()
    };
    if found.iter().any(near) { Ok(()) } else { Err(format!("{chosen} is not among {found:?}")) }
}

fn meant(field: &Field) -> Meant {
    match &field.kind {
        Kind::Number { most: Some(_), .. } => Meant::Count(field.text.trim().parse().expect("a count")),
        Kind::Number { measured_in, .. } => {
            let value = read(&field.reading, measured_in, 0).expect("a reading can be read").value;
            Meant::Number(value, measured_in)
        }
        Kind::Choice(_) => Meant::Choice(field.text.clone()),
        Kind::Words | Kind::Points => Meant::Text(field.text.clone()),
    }
}
