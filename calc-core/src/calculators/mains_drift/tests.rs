//! Where the model knows no bias.

use crate::calculators::asked::{problem, report};

const FAR: [(&str, &str); 6] = [
    ("output", "cathode"),
    ("valve", "EL84"),
    ("bias", "-80 V"),
    ("ht", "100 V"),
    ("screen", "200 V"),
    ("idle", "5 mA"),
];

#[test]
fn a_bias_that_no_current_makes_is_refused_and_is_no_nan() {
    let refused = problem("mains-drift", &[&FAR[..], &[("measured", "60 V")]].concat(), "bias");
    assert!(refused.is_some_and(|said| said.contains("no bias")));
}

/// Where today's mains has an answer and some other mains of table and picture has none, these say so.
#[test]
fn no_table_or_picture_has_a_nan() {
    for measured in ["90 V", "110 V", "120 V", "125 V"] {
        let outcome = crate::calculators::asked::outcome(
            "mains-drift",
            &[&FAR[..], &[("measured", measured)]].concat(),
        );
        let Some(report) = outcome.report else { continue };
        assert!(!report.as_text("").contains("NaN"));
        let picture = report.picture.unwrap();
        let points = picture.series.iter().flat_map(|series| &series.points);
        assert!(points.into_iter().all(|(x, y)| x.is_finite() && y.is_finite()), "{measured}");
        assert!(picture.y.from.is_finite() && picture.y.to.is_finite(), "{measured}");
        assert!(!picture.description.contains("NaN"), "{}", picture.description);
        assert!(report.tables[0].get().rows.iter().flatten().all(|cell| !cell.contains("NaN")));
    }
    let _ = report("mains-drift", &[("output", "cathode")]);
}
