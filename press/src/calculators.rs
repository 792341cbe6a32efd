//! The one door to `calc-core` and `web`: what press needs to know of calculators and sources.

use calc_core::calculator::Inputs;
pub use web::Block;

/// What is wrong with a calculator's block.
pub enum Wrong {
    /// There is no calculator of this name.
    Calculator,
    /// The calculator asks for no field of this name.
    Field {
        /// The name that was written.
        name: String,
        /// The names it could have been.
        known: Vec<String>,
    },
    /// A field does not take its value.
    Value {
        /// The field.
        field: String,
        /// What is wrong, in the calculator's own words.
        message: String,
        /// What it would take instead.
        offers: Vec<String>,
    },
}

/// A published source, as the list of sources shows it.
pub struct Source {
    /// Its name in front matter and links.
    pub id: &'static str,
    /// What it is called.
    pub title: &'static str,
    /// Edition, date, page.
    pub detail: &'static str,
    /// How it was seen.
    pub standing: &'static str,
}

/// The ids of all calculators.
pub fn ids() -> Vec<&'static str> {
    vec![stand_in::CALCULATOR]
}

/// What a block asks that its calculator does not take.
pub fn check(calculator: &str, inputs: &Inputs) -> Vec<Wrong> {
    stand_in::check(calculator, inputs)
}

/// The block as HTML, with its answer already worked. Not a byte of it may change: the browser takes over this very markup.
pub fn printed(block: &Block) -> String {
    web::printed(block)
}

/// All sources, in the order of the list.
pub fn sources() -> &'static [Source] {
    stand_in::SOURCES
}

/// The name that the writer probably meant.
pub fn nearest<'n>(word: &str, names: &[&'n str]) -> Option<&'n str> {
    stand_in::nearest(word, names)
}

/// Stands where `calc_core::{calculators, calculate, source, nearest}` will: to be deleted when they are there.
mod stand_in {
    use super::{Inputs, Source, Wrong};

    pub const CALCULATOR: &str = "dissipation";
    const FIELDS: [&str; 3] = ["valve", "anode-voltage", "cathode-current"];
    pub const SOURCES: &[Source] = &[
        Source {
            id: "iec-60062",
            title: "IEC 60062:2016, Marking codes for resistors and capacitors",
            detail: "Letter and digit codes",
            standing: "From memory, to be confirmed",
        },
        Source {
            id: "jcgm-100",
            title: "JCGM 100:2008, Guide to the expression of uncertainty in measurement",
            detail: "Examples H.1 and H.2",
            standing: "From memory, to be confirmed",
        },
    ];

    pub fn check(calculator: &str, inputs: &Inputs) -> Vec<Wrong> {
        if calculator != CALCULATOR {
            return vec![Wrong::Calculator];
        }
        let wrong = |(name, value): (&String, &String)| {
            if !FIELDS.contains(&name.as_str()) {
                return Some(Wrong::Field {
                    name: name.clone(),
                    known: FIELDS.map(String::from).to_vec(),
                });
            }
            let wrong = name != "valve" && !value.starts_with(|c: char| c.is_ascii_digit());
            wrong.then(|| Wrong::Value {
                field: name.clone(),
                message: format!("\"{value}\" is not a number"),
                offers: vec!["438 V".into()],
            })
        };
        inputs.iter().filter_map(wrong).collect()
    }

    pub fn nearest<'n>(word: &str, names: &[&'n str]) -> Option<&'n str> {
        let distance = |name: &str| {
            let name: Vec<char> = name.chars().collect();
            let mut row: Vec<usize> = (0..=name.len()).collect();
            for (i, a) in word.chars().enumerate() {
                let mut corner = row[0];
                row[0] = i + 1;
                for (j, b) in name.iter().enumerate() {
                    let cost = (corner + usize::from(a != *b))
                        .min(row[j] + 1)
                        .min(row[j + 1] + 1);
                    corner = row[j + 1];
                    row[j + 1] = cost;
                }
            }
            row[name.len()]
        };
        names
            .iter()
            .map(|name| (distance(name), *name))
            .filter(|(far, name)| *far <= name.len().max(3) / 2)
            .min()
            .map(|(_, name)| name)
    }
}
