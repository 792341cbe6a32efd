//! The calculators for programs: plain objects in, plain objects out, the same values that a page shows.

use std::collections::BTreeMap;

use calc_core::calculator::{Answered, Field, Inputs, Kind, Outcome, Problem, Step, Table, Verdict};
use calc_core::source::Source;
use serde::Serialize;
use serde_wasm_bindgen::Serializer;
use wasm_bindgen::JsValue;

use crate::calculator::formula;

/// What came of a calculation.
#[derive(Debug, Serialize)]
#[serde(rename_all = "camelCase")]
pub struct Calculated {
    /// The answer in one sentence; `null` while a field has a problem, as are all that follow but the last two.
    pub summary: Option<String>,
    /// The answers, each with its margin.
    pub answers: Vec<Found>,
    /// How it stands to the limits.
    pub verdicts: Vec<Judged>,
    /// The verdict that asks for the most attention.
    pub worst: Option<Judged>,
    /// The steps of the working, in their order.
    pub working: Vec<Worked>,
    /// Choices side by side.
    pub tables: Vec<Listed>,
    /// What the reader must know about these inputs.
    pub notes: Vec<String>,
    /// What is wrong with the inputs, by field.
    pub problems: BTreeMap<String, Mending>,
    /// Names among the inputs that no field asks for.
    pub unknown: Vec<String>,
}

/// One answer. Numbers are in the base unit of SI (V, A, Ω, F, W, Hz, s) or, where `unit` names another, in that.
#[derive(Debug, Serialize)]
pub struct Found {
    id: &'static str,
    name: &'static str,
    symbol: &'static str,
    unit: &'static str,
    value: f64,
    /// Worst case; `null` where a part of the tolerance gives no answer.
    low: Option<f64>,
    high: Option<f64>,
    /// Half width by root sum square.
    rss: Option<f64>,
    /// The input that moves it most.
    most: Option<&'static str>,
    /// As a page writes it.
    text: String,
    /// Why `low`, `high` and `rss` are not known: which end of which tolerance has no answer.
    unknown: Option<String>,
    /// The names of the fields that were not given and on which it depends: they are at an example.
    examples: Vec<&'static str>,
}

/// How an answer stands to one limit.
#[derive(Debug, Serialize)]
pub struct Judged {
    about: String,
    /// In words, with its doubts: `within, with example values`.
    standing: String,
    limit: Option<String>,
    /// The limit's source, by its title.
    source: Option<&'static str>,
    /// How far that may be trusted: `read`, `second-hand`, `memory`, `practice` or `reader`.
    trust: Option<&'static str>,
    /// Where the limit comes from, in words: `not yet confirmed`.
    origin: Option<String>,
    advice: String,
    /// The names of the fields that were not given and on which it depends: they are at an example.
    examples: Vec<&'static str>,
}

/// One step of the working; the formula is MathML.
#[derive(Debug, Serialize)]
pub struct Worked {
    says: String,
    symbol: &'static str,
    formula: String,
    value: f64,
    result: String,
}

/// A table of an answer.
#[derive(Debug, Serialize)]
pub struct Listed {
    title: String,
    head: Vec<String>,
    rows: Vec<Vec<String>>,
}

/// What is wrong with a field, and what to type instead.
#[derive(Debug, Serialize)]
pub struct Mending {
    message: String,
    offers: Vec<String>,
}

/// A calculator in the catalogue.
#[derive(Debug, Serialize)]
#[serde(rename_all = "camelCase")]
pub struct Listing {
    id: &'static str,
    title: &'static str,
    question: &'static str,
    edition: u32,
    fields: Vec<Asked>,
    leaves_out: &'static [&'static str],
    sources: Vec<String>,
}

/// A field that is asked while every other is at its default.
#[derive(Debug, Serialize)]
pub struct Asked {
    id: &'static str,
    name: &'static str,
    symbol: &'static str,
    hint: &'static str,
    /// What a bare number is taken in; empty where the field takes none.
    unit: String,
    /// What may be chosen; empty where it is typed.
    choices: Vec<String>,
    default: String,
    /// What it may be off by, where that is asked.
    tolerance: Option<String>,
}

impl From<&Outcome> for Calculated {
    fn from(outcome: &Outcome) -> Self {
        let report = outcome.report.clone().unwrap_or_default();
        let problem = |id: String, problem: &Problem| {
            (id, Mending { message: problem.message.clone(), offers: problem.offers.clone() })
        };
        let problems = outcome.fields.iter().flat_map(|field| {
            let tolerance = field.tolerance.as_ref().and_then(|tolerance| tolerance.problem.as_ref());
            let own = field.problem.as_ref().map(|wrong| problem(field.id.to_owned(), wrong));
            let tolerance =
                tolerance.map(|wrong| problem(calc_core::calculator::tolerance_id(field.id), wrong));
            own.into_iter().chain(tolerance)
        });
        Self {
            summary: outcome.report.is_some().then(|| report.summary.clone()),
            answers: report.answers.iter().map(Found::from).collect(),
            verdicts: report.verdicts.iter().map(Judged::from).collect(),
            worst: report.worst().map(Judged::from),
            working: report.steps.iter().map(Worked::from).collect(),
            tables: report.tables.iter().map(|table| Listed::from(&table.get())).collect(),
            notes: report.notes.clone(),
            problems: problems.collect(),
            unknown: outcome.unknown.clone(),
        }
    }
}

impl From<&Answered> for Found {
    fn from(answered: &Answered) -> Self {
        let Answered { answer, margin, most, examples, unknown } = answered;
        let known = |value| margin.known.then_some(value);
        Self {
            id: answer.id,
            name: answer.name,
            symbol: answer.symbol,
            unit: answer.unit.symbol,
            value: answer.value,
            low: known(margin.low),
            high: known(margin.high),
            rss: known(margin.rss),
            most: *most,
            text: answered.value(),
            unknown: unknown.clone(),
            examples: examples.clone(),
        }
    }
}

impl From<&Verdict> for Judged {
    fn from(verdict: &Verdict) -> Self {
        Self {
            about: verdict.about.clone(),
            standing: verdict.word(),
            limit: verdict.limit.clone(),
            source: verdict.source.map(|source| source.title),
            trust: verdict.source.map(|source| source.trust.id()),
            origin: verdict.source.map(Source::origin),
            advice: verdict.advice.clone(),
            examples: verdict.examples.clone(),
        }
    }
}

impl From<&Step> for Worked {
    fn from(step: &Step) -> Self {
        Self {
            says: step.says.clone(),
            symbol: step.symbol,
            formula: formula::mathml(&step.formula),
            value: step.value,
            result: step.result.clone(),
        }
    }
}

impl From<&Table> for Listed {
    fn from(table: &Table) -> Self {
        Self { title: table.title.clone(), head: table.head.clone(), rows: table.rows.clone() }
    }
}

impl From<Field> for Asked {
    fn from(field: Field) -> Self {
        let (unit, choices) = match field.kind {
            Kind::Number { unit, .. } => (unit, vec![]),
            Kind::Choice(choices) => (String::new(), choices.into_iter().map(|choice| choice.id).collect()),
            Kind::Words | Kind::Points => (String::new(), vec![]),
        };
        Self {
            id: field.id,
            name: field.name,
            symbol: field.symbol,
            hint: field.hint,
            unit,
            choices,
            default: field.text,
            tolerance: field.tolerance.map(|tolerance| tolerance.text),
        }
    }
}

/// Works out a calculator: `calculate("dissipation", { "cathode-current": "38 mA" })` gives an object as [`Calculated`]
/// describes. Inputs are texts as they are typed at the bench; what is absent is at its default.
///
/// # Errors
/// A sentence, where there is no such calculator or `inputs` is no object of texts.
pub fn calculate(id: &str, inputs: JsValue) -> Result<JsValue, JsValue> {
    let absent = inputs.is_undefined() || inputs.is_null();
    let inputs: Inputs = if absent { Inputs::new() } else { serde_wasm_bindgen::from_value(inputs)? };
    let outcome = calc_core::calculate(id, &inputs).map_err(|unknown| unknown.to_string())?;
    plain(&Calculated::from(&outcome))
}

/// What there is to calculate: an array of objects as [`Listing`] describes.
///
/// # Errors
/// None that is known: only what the browser may refuse.
pub fn catalogue() -> Result<JsValue, JsValue> {
    let listings: Vec<Listing> = calc_core::calculators().map(Listing::from).collect();
    plain(&listings)
}

impl From<&calc_core::calculator::Entry> for Listing {
    fn from(entry: &calc_core::calculator::Entry) -> Self {
        let sheet = entry.sheet;
        Self {
            id: sheet.id,
            title: sheet.title,
            question: sheet.question,
            edition: sheet.edition,
            fields: entry.run(&Inputs::new()).fields.into_iter().map(Asked::from).collect(),
            leaves_out: sheet.leaves_out,
            sources: sheet.sources.iter().map(|source: &&Source| source.cited()).collect(),
        }
    }
}

/// Plain objects and `null`, as JSON would have them.
fn plain<T: Serialize>(value: &T) -> Result<JsValue, JsValue> {
    Ok(value.serialize(&Serializer::json_compatible())?)
}
