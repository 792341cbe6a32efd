//! Every calculator against its independent reference (`reference/ID.py`) on random inputs: 20 in every run, 2,000 under
//! `cargo xtask check --long`.
//!
//! The inputs are typed in one of the bench's notations, and the reference is given what they represent, so the reader is
//! tested too. Answers agree within a millionth. A verdict that is one comparison is judged once more, by the limit of the
//! reference and the margin of ours.

use std::collections::BTreeMap;
use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::sync::OnceLock;

use calc_core::calculator::{Entry, Outcome, Report};
use calc_core::margin::Margin;
use calc_core::quantity::unit::{DBU, DBV, DECIBEL, Unit};
use calc_core::quantity::writing::repeated;
use calc_core::valve::model::Model;
use calc_core::valve::{VALVES, fitted};
use serde::Deserialize;
use serde_json::{Value, json};
use tests::random_inputs::random::Random;
use tests::random_inputs::{Case, Meant, inputs};

/// How far an answer may be off, as a share of the reference's.
const AGREED: f64 = 1e-6;
/// A level is a logarithm: near 0 dB the ratio is near 1, of whose sixteen digits few are left. This is far below print.
const LEVELS: f64 = 1e-9;
/// A margin that ends on its limit, but for the last digits.
const AT_THE_LIMIT: f64 = 1e-9;
/// At least so many of the inputs must lead to answers.
const ANSWERED: f64 = 0.3;

/// What a reference says of one case.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Said {
    answers: BTreeMap<String, Value>,
    #[serde(default)]
    limits: BTreeMap<String, Compared>,
    #[serde(default)]
    standings: BTreeMap<String, String>,
    #[serde(default)]
    floors: BTreeMap<String, f64>,
}

impl Said {
    /// At which fields it refuses to answer: at one of them, so must we.
    fn refused(&self) -> Vec<&str> {
        match self.answers.get("refused") {
            Some(Value::Array(fields)) => fields.iter().filter_map(Value::as_str).collect(),
            Some(field) => field.as_str().into_iter().collect(),
            None => vec![],
        }
    }
}

/// A verdict that is one comparison of an answer with a limit.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Compared {
    answer: String,
    /// Nobody has published one, if there is none.
    limit: Option<f64>,
    side: Side,
}

#[derive(Deserialize)]
#[serde(rename_all = "lowercase")]
enum Side {
    Most,
    Least,
}

macro_rules! differential {
    ($($test:ident: $id:literal,)*) => {
        $(#[test]
        fn $test() {
            agrees($id);
        })*

        #[test]
        fn no_calculator_is_left_out() {
            let ids: Vec<&str> = calc_core::calculators().map(|entry| entry.sheet.id).collect();
            for id in ids {
                assert!([$($id),*].contains(&id), "{id} is not among the differential tests");
            }
        }
    };
}

differential! {
    bias_splitter: "bias-splitter",
    coupling: "coupling",
    discharge: "discharge",
    dissipation: "dissipation",
    gain_stage: "gain-stage",
    grid_stopper: "grid-stopper",
    idle_current: "idle-current",
    idle_point: "idle-point",
    lamp_limiter: "lamp-limiter",
    lead_loss: "lead-loss",
    lead_order: "lead-order",
    mains_drift: "mains-drift",
    master_volume: "master-volume",
    output_power: "output-power",
    phase_inverter: "phase-inverter",
    stop_figures: "stop-figures",
    taper: "taper",
}

/// How many random inputs: many under `check --long`, which asks for many of proptest's as well.
fn runs() -> u64 {
    if std::env::var_os("PROPTEST_CASES").is_some() { 2_000 } else { 20 }
}

/// Where the random inputs begin: `SEED=…` repeats or varies a run.
fn seed() -> u64 {
    std::env::var("SEED").ok().and_then(|seed| seed.parse().ok()).unwrap_or(18)
}

fn agrees(id: &str) {
    let entry = calc_core::find(id).expect("it is in the register");
    let seeds: Vec<u64> = (0..runs()).map(|run| seed() + run).collect();
    let cases: Vec<Case> = seeds.iter().map(|seed| case(entry, *seed)).collect();
    let said = reference(id, &cases);
    assert_eq!(said.len(), cases.len(), "{id}: the reference answers each of the inputs");
    let mut failures = Vec::new();
    let mut answered = 0.0;
    for ((seed, case), said) in seeds.iter().zip(&cases).zip(&said) {
        match held(entry, case, said) {
            Ok(has_answers) => answered += f64::from(u8::from(has_answers)),
            Err(wrong) => {
                failures.push(format!("SEED={seed}: {}\n  typed {:?}", wrong.join("\n  "), case.typed))
            }
        }
    }
    let many = failures.len();
    let some: Vec<String> = failures.into_iter().take(5).collect();
    assert!(many == 0, "{id}: {many} of {} differ, the first of them:\n{}", cases.len(), some.join("\n"));
    let share = answered / cases.len() as f64;
    println!("{id}: {answered} of {} inputs have answers", cases.len());
    assert!(share >= ANSWERED, "{id}: only {share} of the inputs have an answer");
}

/// Inputs that belong to a seed. Most of those that contradict each other are drawn again.
fn case(entry: &Entry, seed: u64) -> Case {
    let mut random = Random::seeded(seed);
    let mut case = inputs(entry, &(1.0..=20.0), &mut random);
    for _ in 0..5 {
        if entry.run(&case.typed).report.is_some() || random.happens(0.2) {
            break;
        }
        case = inputs(entry, &(1.0..=20.0), &mut random);
    }
    case
}

/// Whether there are answers, all of them as the reference has them; or all that is wrong.
fn held(entry: &Entry, case: &Case, said: &Said) -> Result<bool, Vec<String>> {
    let outcome = entry.run(&case.typed);
    let misread = misread(&outcome, case);
    if !misread.is_empty() {
        return Err(misread);
    }
    let ours = outcome.fields.iter().find(|field| field.problem.is_some());
    let theirs = said.refused();
    let agreed = ours.map_or(theirs.is_empty(), |field| theirs.contains(&field.id));
    if !agreed {
        let message = ours.and_then(|field| field.problem.as_ref()).map(|problem| &problem.message);
        return Err(vec![format!("refused at {theirs:?} by the reference, by us: {message:?}")]);
    }
    let Some(report) = &outcome.report else { return Ok(false) };
    let wrong = [answers_differ(report, said), verdicts_differ(report, said)].concat();
    if wrong.is_empty() { Ok(true) } else { Err(wrong) }
}

/// Fields whose text was not read as it was meant. What is wrong with a text leaves no reading; what contradicts another
/// field does.
fn misread(outcome: &Outcome, case: &Case) -> Vec<String> {
    let mut wrong: Vec<String> =
        outcome.unknown.iter().map(|name| format!("no field asks for {name}")).collect();
    for field in &outcome.fields {
        let tolerance = field.tolerance.as_ref().and_then(|tolerance| tolerance.problem.as_ref());
        wrong.extend(tolerance.map(|problem| format!("{}: {}", field.id, problem.message)));
        let reading = match &case.meant[field.id] {
            Meant::Number(value, unit) => repeated(*value, unit),
            Meant::Count(count) => count.to_string(),
            Meant::Choice(_) | Meant::Text(_) if field.problem.is_none() || !field.reading.is_empty() => {
                continue;
            }
            Meant::Choice(text) | Meant::Text(text) => text.clone(),
        };
        if field.reading != reading {
            wrong.push(format!(
                "{} is read as “{}”, was “{reading}”: {:?}",
                field.id, field.reading, field.problem
            ));
        }
    }
    wrong
}

fn answers_differ(report: &Report, said: &Said) -> Vec<String> {
    let mut wrong = Vec::new();
    let ours: BTreeMap<&str, (f64, &Unit)> = report
        .answers
        .iter()
        .map(|answered| (answered.answer.id, (answered.margin.value, answered.answer.unit)))
        .collect();
    for (name, theirs) in &said.answers {
        let (ours, unit) = match (ours.get(name.as_str()), theirs.as_f64()) {
            (Some(ours), Some(_)) => *ours,
            (None, None) => continue,
            (ours, theirs) => {
                wrong.push(format!(
                    "{name} is {:?}, by the reference {theirs:?}",
                    ours.map(|(value, _)| value)
                ));
                continue;
            }
        };
        let theirs = theirs.as_f64().unwrap_or(f64::NAN);
        let level = [&DECIBEL, &DBV, &DBU].contains(&unit);
        let floor = said.floors.get(name).copied().unwrap_or(if level { LEVELS } else { 0.0 });
        let near = (ours - theirs).abs() <= AGREED * theirs.abs() + floor;
        if !near {
            wrong.push(format!("{name} is {ours}, by the reference {theirs}"));
        }
    }
    let unsaid = ours.keys().filter(|name| !said.answers.contains_key(**name));
    wrong.extend(unsaid.map(|name| format!("of {name} the reference says nothing")));
    wrong
}

fn verdicts_differ(report: &Report, said: &Said) -> Vec<String> {
    let mut wrong = Vec::new();
    let mut hold = |about: &str, allowed: &[&str]| {
        let word = report
            .verdicts
            .iter()
            .find(|verdict| verdict.about == about)
            .map(|verdict| verdict.standing.word());
        if !word.is_some_and(|word| allowed.contains(&word)) {
            wrong.push(format!("{about} is {word:?}, by the reference {allowed:?}"));
        }
    };
    for (about, word) in &said.standings {
        hold(about, &[word]);
    }
    for (about, Compared { answer, limit, side }) in &said.limits {
        let margin = report.answers.iter().find(|answered| answered.answer.id == answer);
        let Some(margin) = margin.map(|answered| answered.margin) else {
            hold(about, &[]);
            continue;
        };
        match limit {
            None => hold(about, &["no published limit"]),
            Some(limit) => hold(about, &standings(&margin, *limit, side)),
        }
    }
    wrong
}

/// How a margin stands to a limit. One that ends on it, but for the last digits, may stand two ways.
fn standings(margin: &Margin, limit: f64, side: &Side) -> Vec<&'static str> {
    if !(margin.known && margin.low.is_finite() && margin.high.is_finite()) {
        return vec!["cannot tell"];
    }
    // Seen from the side that is good.
    let (good, bad) = match side {
        Side::Most => (margin.low - limit, margin.high - limit),
        Side::Least => (limit - margin.high, limit - margin.low),
    };
    let slack = AT_THE_LIMIT * limit.abs();
    let mut words = vec![];
    if bad <= slack {
        words.push("within");
    }
    if bad >= -slack && good <= slack {
        words.push("borderline");
    }
    if good >= -slack {
        words.push("beyond");
    }
    words
}

/// One answer of the reference in one case; no number where it has none.
pub fn answer(id: &str, case: &Case, answer: &str) -> f64 {
    let said = reference(id, std::slice::from_ref(case));
    said.first().and_then(|said| said.answers.get(answer)?.as_f64()).unwrap_or(f64::NAN)
}

/// What the reference says of each case: one process for all of them.
fn reference(id: &str, cases: &[Case]) -> Vec<Said> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("reference");
    let file = folder.join(format!("{}.py", id.replace('-', "_")));
    assert!(file.is_file(), "{id} has no independent reference: {}", file.display());
    // Debian's own sees Debian's scipy; another may come before it on PATH.
    let python = if Path::new("/usr/bin/python3").is_file() { "/usr/bin/python3" } else { "python3" };
    let started = Command::new(python)
        .arg(folder.join("run.py"))
        .arg(id)
        .arg(models())
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn();
    let install = "type: apt-get update && apt-get install --yes python3-scipy";
    let mut process = started.unwrap_or_else(|error| panic!("{python} is needed ({error}); {install}"));
    let cases: Vec<Value> = cases.iter().map(as_json).collect();
    let mut stdin = process.stdin.take().expect("it was asked for");
    // On a thread of its own: neither waits for the other to read.
    let writer = std::thread::spawn(move || stdin.write_all(Value::Array(cases).to_string().as_bytes()));
    let ran = process.wait_with_output().expect("it was started");
    writer.join().expect("it does not panic").ok();
    let complaint = String::from_utf8_lossy(&ran.stderr);
    assert!(!complaint.contains("No module named"), "{python} lacks a module ({complaint}); {install}");
    assert!(ran.status.success(), "{id}: its reference failed:\n{complaint}");
    serde_json::from_slice(&ran.stdout).unwrap_or_else(|error| panic!("{id}: its reference: {error}"))
}

fn as_json(case: &Case) -> Value {
    let value = |meant: &Meant| match meant {
        Meant::Number(value, _) => json!(value),
        Meant::Count(count) => json!(count),
        Meant::Choice(text) | Meant::Text(text) => json!(text),
    };
    case.meant.iter().map(|(id, meant)| ((*id).to_owned(), value(meant))).collect()
}

/// The file with the constants of the fitted models, written once.
fn models() -> &'static Path {
    static WRITTEN: OnceLock<PathBuf> = OnceLock::new();
    WRITTEN.get_or_init(|| {
        let known = VALVES.iter().filter_map(|valve| Some((valve.name.to_owned(), constants(valve.name)?)));
        let models: Value = known.collect();
        let path = Path::new(env!("CARGO_TARGET_TMPDIR")).join(format!("models-{}.json", std::process::id()));
        fs::write(&path, models.to_string()).expect("the folder for tests can be written to");
        path
    })
}

fn constants(valve: &str) -> Option<Value> {
    let fitted = fitted(valve)?;
    let reach = fitted.reach;
    let reach = json!({ "anode": reach.anode, "screen": reach.screen, "current": reach.current });
    Some(match fitted.model {
        Model::Triode(t) => json!({
            "form": "triode", "mu": t.mu, "ex": t.ex, "kg1": t.kg1, "kp": t.kp, "kvb": t.kvb, "vct": t.vct,
            "reach": reach,
        }),
        Model::Pentode(p) => json!({
            "form": "pentode", "mu": p.mu, "ex": p.ex, "kg1": p.kg1, "kg2": p.kg2, "kp": p.kp, "slope": p.slope,
            "alpha_s": p.alpha_s, "beta": p.beta, "reach": reach,
        }),
    })
}
