//! A reading that valves share, and the worst of them.

use crate::calculators::asked::{near, report, standing, value};

const TWO: [(&str, &str); 4] =
    [("sharing", "2"), ("spread", "measured"), ("spread-percent", "30 %"), ("cathode-current", "140 mA")];

/// By hand: 140 mA / 2 less 1.5 mA of screen is 68.5 mA, at 438 V 30.0 W; 30 % more is 39.0 W on a rating of 30 W.
#[test]
fn a_worst_valve_beyond_is_beyond_however_good_the_mean() {
    let over = report("dissipation", &TWO);
    assert!(near(value(&over, "worst-anode-power"), 39.0, 1e-3));
    assert_eq!(standing(&over, "Anode dissipation"), "beyond");
    // 100 mA: 48.5 mA, 21.2 W the mean, 27.6 W the worst. 110 mA: 53.5 mA, 23.4 W and 30.5 W.
    for (reading, word) in [("100 mA", "within"), ("110 mA", "borderline")] {
        let report = report("dissipation", &[&TWO[..3], &[("cathode-current", reading)]].concat());
        assert_eq!(standing(&report, "Anode dissipation"), word, "{reading}");
    }
}

/// By hand: 20 mA / 4 less 1.5 mA is 3.5 mA, at 438 V 1.53 W; all of it in one valve 6.13 W, of 30 W.
#[test]
fn all_the_current_in_one_valve_is_within_where_that_is_within() {
    let four = report("dissipation", &[("sharing", "4"), ("cathode-current", "20 mA")]);
    assert!(near(value(&four, "worst-anode-power"), 6.132, 1e-3));
    assert_eq!(standing(&four, "Anode dissipation"), "within");
    // 4 × 34 mA: 14.2 W each, 57 W in one.
    let more = report("dissipation", &[("sharing", "4"), ("cathode-current", "136 mA")]);
    assert_eq!(standing(&more, "Anode dissipation"), "borderline");
}
