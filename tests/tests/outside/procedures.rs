//! Every procedure but the staged power-up, which has a file of its own, walked from its first step to its last.

use std::fs;
use std::path::Path;

use tests::amplifier::Amplifier;

use crate::walk::{assert_in_order, walk};

/// The head of 50 W, surveyed and powered up, and what its meters show at other work on it.
const AT_WORK: Amplifier = Amplifier {
    ways: &["yes", "in-the-bias", "change", "long"],
    known: &[
        ("mains-marked", "230 V"),
        ("mains-measured", "229 V"),
        ("bias-expected", "-37 V"),
        ("idle-stop", "52 mA"),
        ("idle-expected", "38 mA"),
        ("cathode-current", "38 mA"),
        ("load", "16"),
    ],
    shows: &[
        ("step-", "1"),
        ("resistor", "9.9"),
        ("fuse", "0.4"),
        ("live-to-fuse", "0.2"),
        ("primary", "6"),
        ("load", "14.1"),
        ("grid-tags", "233"),
        ("tags-between", "470"),
        ("stoppers", "1.5"),
        ("cathode-resistors", "1"),
        ("screen-stoppers", "470"),
        ("halves", "62"),
        ("mains", "229"),
        ("bias", "-36.8"),
        ("lifted", "-30"),
        ("again", "-36.8"),
        ("cathode", "38"),
        ("after", "38"),
        ("soak", "38"),
        ("anode", "440"),
        ("screen", "0.7"),
        ("low-ends", "12000"),
        ("path-0", "13.5"),
        ("path-10", "240"),
        ("path-kept", "233"),
        ("hot-lugs", "262"),
        ("bush", "0.05"),
        ("output-closed", "0.5"),
        ("quarter", "0.2 mA"),
        ("half", "0.3 mA"),
        ("full", "0.4 mA"),
        ("bias-full", "0.1 mA"),
    ],
};

/// The pages that are walked here and in `power_up.rs`.
const WALKED: [&str; 11] = [
    "1-survey/1-cold-survey.md",
    "12-hand-over/2-prove-close-hand-over.md",
    "2-make-it-safe/1-discharge-and-prove.md",
    "2-make-it-safe/3-boards-and-controls.md",
    "3-output-stage/1-set-idle-current.md",
    "4-master-volume/4-fit-it.md",
    "4-master-volume/5-prove-it.md",
    "4-master-volume/9-take-it-out.md",
    "5-stability/1-fit-grid-stoppers.md",
    "6-first-power-up/1-staged-power-up.md",
    "6-first-power-up/3-re-form.md",
];

#[test]
fn no_procedure_is_forgotten() {
    let content = Path::new(env!("CARGO_MANIFEST_DIR")).join("../content");
    let folder = |path: &Path| fs::read_dir(path).into_iter().flatten().flatten().map(|entry| entry.path());
    let mut found: Vec<String> = folder(&content)
        .flat_map(|chapter| folder(&chapter))
        .filter(|page| fs::read_to_string(page).is_ok_and(|text| text.contains("\nkind = \"procedure\"\n")))
        .map(|page| {
            page.strip_prefix(&content).expect("a page of the content").to_string_lossy().into_owned()
        })
        .collect();
    found.sort();
    assert_eq!(found, WALKED);
}

#[test]
fn dead_is_proven_by_a_meter_that_is_proven_before_and_after() {
    let (passed, _) = walk("2-make-it-safe/1-discharge-and-prove.md", &AT_WORK);
    assert_in_order(
        &passed,
        &["plug-out", "resistor", "meter-before", "left", "meter-after", "left-again", "kept"],
    );
}

#[test]
fn the_cold_survey_and_the_board_are_for_who_has_proven_it_dead() {
    for page in ["1-survey/1-cold-survey.md", "2-make-it-safe/3-boards-and-controls.md"] {
        assert_eq!(walk(page, &AT_WORK).0, ["left"], "{page}");
    }
    let lately = Amplifier { ways: &["lately"], ..AT_WORK };
    assert_eq!(walk("1-survey/1-cold-survey.md", &lately).0, ["left"]);
}

#[test]
fn the_idle_current_is_read_with_the_bias_proven_and_the_clip_off_each_time() {
    const SET: &str = "3-output-stage/1-set-idle-current.md";
    let (passed, job) = walk(SET, &AT_WORK);
    let way: [&str; 20] = [
        "left",
        "source",
        "again-left",
        "load",
        "load-legs",
        "clip-ohms",
        "clip-off",
        "mains",
        "bias-a",
        "b-left",
        "b-clip-off",
        "bias-b",
        "ht-left",
        "ht-clip-off",
        "cathode-a",
        "cathode-b",
        "anode-clip-off",
        "screen-clip-off",
        "after-ten",
        "close-clip-off",
    ];
    assert_in_order(&passed, &way);
    assert!(passed.iter().any(|id| id == "trim-left"));
    assert_eq!(job.values["cathode-current"].text, "38 mA");
    let (passed, _) = walk(SET, &Amplifier { ways: &["leave"], ..AT_WORK });
    assert!(!passed.iter().any(|id| id.starts_with("trim-")), "{passed:?}");
    assert_in_order(&passed, &way);
}

#[test]
fn the_control_is_fitted_proven_and_taken_out_again() {
    assert_eq!(walk("4-master-volume/4-fit-it.md", &AT_WORK).0, ["left"]);
    const PROVE: &str = "4-master-volume/5-prove-it.md";
    let after: [&str; 14] = [
        "as-reckoned",
        "held-ohms",
        "bush",
        "bias-clip-off",
        "bias-a",
        "bias-b",
        "jumps",
        "lifted",
        "again",
        "load",
        "cathode-a",
        "sweep",
        "after-drive-a",
        "soak",
    ];
    let (passed, _) = walk(PROVE, &AT_WORK);
    assert_in_order(&passed, &["left", "low-ends", "path-0", "path-10"]);
    assert_in_order(&passed, &after);
    assert_in_order(&passed, &["cathode-b", "open-clip-off", "closed-clip-off", "sign", "sweep"]);
    let (passed, _) = walk(PROVE, &Amplifier { ways: &["beside-it", "no"], ..AT_WORK });
    assert_in_order(&passed, &["left", "path-kept"]);
    assert_in_order(&passed, &after);
    assert!(!passed.iter().any(|id| id == "low-ends" || id == "sign"), "{passed:?}");
    let (passed, _) = walk("4-master-volume/9-take-it-out.md", &AT_WORK);
    assert_in_order(&passed, &["left", "grid-tags", "bias-clip-off", "bias", "sign"]);
}

#[test]
fn grid_stoppers_are_proven_cold_by_the_bias_and_by_drive() {
    let (passed, _) = walk("5-stability/1-fit-grid-stoppers.md", &AT_WORK);
    assert_in_order(
        &passed,
        &[
            "left",
            "grid-tags-after",
            "tags-between",
            "clip-ohms",
            "clip-off",
            "bias",
            "b-left",
            "load",
            "b-clip-off",
            "cathodes",
            "traces",
            "square",
            "after-drive",
        ],
    );
}

#[test]
fn old_electrolytics_are_re_formed_between_two_proofs_of_dead() {
    let (passed, _) = walk("6-first-power-up/3-re-form.md", &AT_WORK);
    assert_in_order(&passed, &["left", "clip-off", "left-after", "bias-clip-off", "bias-left"]);
}

#[test]
fn it_is_handed_over_soaked_earthed_and_insulated() {
    let (passed, _) = walk("12-hand-over/2-prove-close-hand-over.md", &AT_WORK);
    assert_in_order(&passed, &["soaked", "left", "clean", "earth-after", "insulation-after", "played"]);
}
