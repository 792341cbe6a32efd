//! Readings that wait for their time (A5 of the surface review).

use super::*;
use crate::procedure::TimerSpec;
use crate::run::judge::TooEarly;

const TEN_MINUTES: u32 = 600;

/// Idle after ten minutes, and what is left after as many.
fn procedure() -> Procedure {
    let reading = |id: &str, purpose| {
        Item::Reading(ReadingSpec {
            id: id.into(),
            quantity: format!("Reading {id}"),
            unit: "mA".into(),
            blanks: Blanks::named(&["A1", "B1"]),
            high: bound("50 mA"),
            after: "ten".into(),
            purpose,
            ..ReadingSpec::default()
        })
    };
    let timer = TimerSpec {
        id: "ten".into(),
        text: "Ten minutes".into(),
        seconds: TEN_MINUTES,
        start: "Mains is on".into(),
        when: None,
    };
    let items = vec![Item::Timer(timer), reading("idle", Purpose::Live), reading("left", Purpose::Dead)];
    let step = Step { id: "step-1".into(), items };
    Procedure { page: "p.html".into(), title: String::new(), steps: vec![step] }
}

fn later(seconds: i64) -> Time {
    Time::from_seconds(NOW.seconds().saturating_add_signed(seconds))
}

fn take(job: &mut Job, id: &str, blank: &str, text: &str, seconds: i64, early: &str) -> Judgement {
    job.record_reading(NewReading {
        early,
        ..NewReading::typed(&procedure(), id, blank, text, later(seconds))
    })
}

/// How many seconds a reading that was refused has to wait.
#[track_caller]
fn waits(judgement: &Judgement) -> Option<u64> {
    let Judgement::TooEarly(TooEarly { left, timer, .. }) = judgement else { panic!("{judgement:?}") };
    assert_eq!(timer, "Ten minutes");
    *left
}

#[test]
fn a5_a_reading_of_ten_minutes_is_none_after_half_a_minute() {
    let mut job = job();
    let before = job.clone();
    assert_eq!(waits(&take(&mut job, "idle", "A1", "34", 0, "")), None, "it was not started");
    assert_eq!(job, before);
    job.start("p.html", "ten", later(0));
    assert_eq!(waits(&take(&mut job, "idle", "A1", "34", 30, "")), Some(570));
    assert_eq!(waits(&take(&mut job, "idle", "A1", "34", 599, " ")), Some(1));
    assert_eq!(take(&mut job, "idle", "A1", "34", 600, ""), Judgement::InRange);
    assert_eq!(take(&mut job, "idle", "B1", "35", 660, ""), Judgement::InRange);
    assert!(job.readings.iter().all(|taken| taken.early.is_empty()));
}

#[test]
fn a5_a_reason_takes_it_early_and_stands_with_it() {
    let mut job = job();
    job.start("p.html", "ten", later(0));
    assert_eq!(take(&mut job, "idle", "A1", "34", 30, " the owner waits "), Judgement::InRange);
    let taken = job.readings.last().unwrap();
    assert_eq!(
        (taken.early.as_str(), taken.standing()),
        ("the owner waits", "in range: taken before its time: the owner waits".to_owned())
    );
    // In its time no reason is kept.
    assert_eq!(take(&mut job, "idle", "B1", "34", 600, "in a hurry"), Judgement::InRange);
    assert_eq!(job.readings.last().unwrap().early, "");
}

#[test]
fn a_wait_is_measured_by_its_own_clock_and_not_by_the_time_of_the_reading() {
    let (mut job, procedure) = (job(), procedure());
    job.start("p.html", "ten", later(0));
    // The device's clock was set forward by hours after half a minute.
    let take =
        NewReading { waited: later(30), ..NewReading::typed(&procedure, "left", "A1", "1", later(9_000)) };
    assert_eq!(waits(&job.record_reading(take)), Some(570));
    assert_eq!(job.record_reading(NewReading { waited: later(600), ..take }), Judgement::InRange);
    assert_eq!(job.readings.last().map(|taken| taken.at), Some(later(9_000)));
}

#[test]
fn what_stops_is_kept_at_any_time() {
    let mut job = job();
    assert!(matches!(take(&mut job, "idle", "A1", "90", 0, ""), Judgement::Stop(_)));
    assert_eq!(job.readings.last().unwrap().judged, Judged::Stop);
}

#[test]
fn what_is_read_live_again_waits_again() {
    let mut job = job();
    job.start("p.html", "ten", later(0));
    assert_eq!(take(&mut job, "idle", "A1", "34", 600, ""), Judgement::InRange);
    assert_eq!(waits(&take(&mut job, "idle", "A1", "35", 700, "")), None, "the mains was off between");
    assert_eq!(
        take(&mut job, "idle", "B1", "35", 700, ""),
        Judgement::InRange,
        "it was read in the same time"
    );
    job.start("p.html", "ten", later(800));
    assert_eq!(waits(&take(&mut job, "idle", "A1", "35", 900, "")), Some(500));
    assert_eq!(take(&mut job, "idle", "A1", "35", 1_400, ""), Judgement::InRange);
    // With the mains off it goes on being off.
    assert_eq!(take(&mut job, "left", "A1", "1", 1_400, ""), Judgement::InRange);
    assert_eq!(take(&mut job, "left", "A1", "2", 1_401, ""), Judgement::InRange);
}

#[test]
fn another_run_starts_its_own_time() {
    let mut job = job();
    job.start("p.html", "ten", later(0));
    job.begin("p.html", "step-1", later(700));
    assert_eq!(waits(&take(&mut job, "left", "A1", "1", 800, "")), None);
}

proptest! {
    /// Whatever the clock does, and however often it is started: what is taken without a reason was waited for by the clock
    /// since the last start.
    #[test]
    fn a_clock_that_is_set_back_never_shortens_a_wait(
        course in prop::collection::vec((any::<bool>(), -900..900_i64), 1..12),
    ) {
        let mut job = job();
        let (mut clock, mut started) = (0_i64, None);
        for (start, passes) in course {
            clock += passes;
            if start {
                job.start("p.html", "ten", later(clock));
                started = Some(clock);
            }
            let waited = started.is_some_and(|started| clock - started >= i64::from(TEN_MINUTES));
            let judgement = take(&mut job, "left", "A1", "1", clock, "");
            prop_assert_eq!(judgement == Judgement::InRange, waited, "{:?}", judgement);
        }
    }
}
