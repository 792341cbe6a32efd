//! No verdict is believed that was not come to here.

use super::*;
use crate::procedure::{Gate, Plausible};

/// A bias that must be within a twentieth of what is expected, and as much below 10 V as hands want.
fn procedure() -> Procedure {
    let bias = ReadingSpec {
        id: "bias".into(),
        quantity: "Bias".into(),
        unit: "V".into(),
        high: bound("0.95 × job.bias-expected"),
        gate: Some(Gate::Hard),
        ..ReadingSpec::default()
    };
    let left = ReadingSpec {
        id: "left".into(),
        quantity: "Left".into(),
        unit: "V".into(),
        high: bound("10 V"),
        plausible: Some(Plausible { low: -1000.0, high: 1000.0 }),
        gate: Some(Gate::Hard),
        purpose: Purpose::Dead,
        ..ReadingSpec::default()
    };
    let step = |id: &str, spec| Step { id: id.into(), items: vec![Item::Reading(spec)] };
    let steps = vec![step("step-1", left), step("step-2", bias), Step { id: "step-3".into(), items: vec![] }];
    Procedure { page: "p.html".into(), title: String::new(), steps }
}

fn open(job: &Job) -> usize {
    crate::run::gate::state(&procedure(), job).iter().filter(|state| state.open).count()
}

/// A run that was passed, as it comes back with a file.
fn from_file() -> Job {
    let mut job = job();
    set(&mut job, &[("bias-expected", "-46")]);
    for (id, text) in [("left", "2"), ("bias", "-45")] {
        assert_eq!(
            job.record_reading(NewReading::typed(&procedure(), id, "", text, NOW)),
            Judgement::InRange
        );
    }
    assert_eq!(open(&job), 3);
    for taken in &mut job.readings {
        taken.from_file = true;
    }
    job
}

#[test]
fn what_came_with_a_file_opens_nothing_until_it_is_judged_again() {
    let mut job = from_file();
    assert_eq!(open(&job), 1);
    assert_eq!(crate::run::gate::state(&procedure(), &job)[0].waits[0].why, crate::run::gate::Why::FromFile);
    let before = job.readings.clone();
    job.judge_again(&procedure());
    assert_eq!(open(&job), 3);
    let unmarked = before.into_iter().map(|taken| crate::Reading { from_file: false, ..taken });
    assert_eq!(job.readings, unmarked.collect::<Vec<_>>(), "an honest file says what is so");
    let once = job.clone();
    job.judge_again(&procedure());
    assert_eq!(job, once);
}

// The last item of the breaking review: "400 V, in range" opened the gate "below 10 V".
#[test]
fn a_verdict_that_is_forged_is_judged_away() {
    let mut job = from_file();
    let forged = |at: usize, text: &str, by: Option<(&str, &str)>| {
        let mut job = job.clone();
        job.readings[at].text = text.into();
        if let Some((id, by)) = by {
            job.readings[at].inputs_used = Some([(id.to_owned(), by.to_owned())].into());
        }
        job.judge_again(&procedure());
        (job.readings[at].judged, open(&job))
    };
    assert_eq!(forged(0, "400 V", None), (Judged::Stop, 1));
    assert_eq!(forged(0, "x", None), (Judged::CannotTell, 1));
    assert_eq!(forged(0, "-4000 V", None), (Judged::CannotTell, 1), "it was confirmed nowhere");
    assert_eq!(forged(1, "-30 V", None), (Judged::Stop, 2));
    // By what it says that it was judged by; that is told otherwise by the survey, and it counts no more.
    assert_eq!(forged(1, "-30 V", Some(("bias-expected", "-20 V"))), (Judged::InRange, 2));
    assert_eq!(forged(1, "-30 V", Some(("bias-expected", "+20 V"))), (Judged::CannotTell, 2));
    job.readings[1].inputs_used = Some(std::collections::BTreeMap::new());
    job.judge_again(&procedure());
    assert_eq!(open(&job), 3, "by the survey, which is now what it was judged by");
    job.set("bias-expected", "-60", From::Typed, NOW).unwrap();
    assert_eq!(open(&job), 2);
}

#[test]
fn what_was_confirmed_here_stays_confirmed() {
    let mut job = job();
    let procedure = procedure();
    let take = NewReading { confirmed: true, ..NewReading::typed(&procedure, "left", "", "-4000", NOW) };
    assert_eq!(job.record_reading(take), Judgement::InRange);
    job.judge_again(&procedure);
    assert_eq!(job.readings[0].judged, Judged::InRange);
    job.readings[0].judged = Judged::Stop;
    job.readings[0].purpose = Purpose::Live;
    job.judge_again(&procedure);
    assert_eq!((job.readings[0].judged, job.readings[0].purpose), (Judged::InRange, Purpose::Dead));
}

proptest! {
    /// Whatever a file says of its readings: a hard gate is passed by what is in range and by nothing else.
    #[test]
    fn no_file_opens_a_gate_by_its_word(
        text in prop_oneof!["-?[0-9]{1,3} V", "\\PC{0,8}"], judged in 0..5_usize, expected in "-[0-9]{2} V", by in any::<bool>(),
    ) {
        let mut job = from_file();
        let verdicts = [Judged::InRange, Judged::Noted, Judged::Stop, Judged::CannotTell, Judged::Recorded];
        for at in [0, 1] {
            (job.readings[at].text, job.readings[at].judged) = (text.clone(), verdicts[judged]);
        }
        if by {
            job.readings[1].inputs_used = Some([("bias-expected".to_owned(), expected)].into());
        }
        job.judge_again(&procedure());
        let value = measure("V").unwrap().parse("", &text).ok().map(|read| read.si);
        let passed = open(&job);
        prop_assert!(passed < 2 || value.is_some_and(|value| (-1000.0..=10.0).contains(&value)));
        prop_assert!(passed < 3 || value.is_some_and(|value| value <= -0.95 * 46.0));
    }
}
