//! Every calculator with hard inputs (`tests::hard`): whatever comes of them is finite, ordered and says what it does not
//! know. Some hundred in every run, a million under `cargo xtask check --long`; as WebAssembly `xtask` runs them as well.

use tests::hard::run;

/// How many runs of each calculator.
fn runs() -> u64 {
    if std::env::var_os("PROPTEST_CASES").is_some() { 1_000_000 } else { 200 }
}

/// Where the seeds begin: `SEED=…` repeats or varies a run.
fn first() -> u64 {
    std::env::var("SEED").ok().and_then(|seed| seed.parse().ok()).unwrap_or(1)
}

#[test]
fn whatever_is_typed_every_answer_is_sound() {
    let mut wrong = Vec::new();
    for entry in calc_core::calculators() {
        let id = entry.sheet.id;
        let found = run(entry, first()..first() + runs(), |seed, complaints| {
            wrong.push(format!("{id}, SEED={seed}: {}", complaints.join("\n  ")));
        });
        // Inputs that contradict each other have no answer; a quarter of them at least do not.
        assert!(
            found.answered * 4 >= runs(),
            "{id}: only {} of {} runs have an answer",
            found.answered,
            runs()
        );
    }
    let some: Vec<&str> = wrong.iter().take(10).map(String::as_str).collect();
    assert!(wrong.is_empty(), "{} runs went wrong, the first:\n{}", wrong.len(), some.join("\n"));
}

/// Seeds that went wrong once: of a stage without any capacitance at its grid, and of points that no valve has.
const ONCE: [(&str, u64); 6] = [
    ("gain-stage", 3099),
    ("gain-stage", 8317),
    ("idle-point", 1947),
    ("idle-point", 10_928),
    ("idle-point", 11_453),
    ("idle-point", 19_518),
];

#[test]
fn what_once_went_wrong_is_sound() {
    let mut wrong = Vec::new();
    for (id, seed) in ONCE {
        let entry = calc_core::find(id).expect("the calculator is there");
        run(entry, seed..=seed, |seed, complaints| wrong.push(format!("{id}, {seed}: {complaints:?}")));
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}
