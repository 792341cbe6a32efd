//! How long the timers of a run have run, by a clock that nobody sets: the device's own may be set forward after a sleep, or
//! back. It counts while the page lives; what ran before is taken from the job.

use std::collections::BTreeMap;

use job::procedure::{Procedure, Step};
use job::{Job, Time};

/// The timers of a procedure, each as it was when this page first saw it run.
#[derive(Default)]
pub(super) struct Waits(BTreeMap<String, Seen>);

struct Seen {
    /// When the job says that it was started.
    started: Time,
    /// How many seconds it had run by the device's clock.
    before: u64,
    /// Since when it is counted, in milliseconds of the clock that nobody sets.
    since: f64,
}

impl Waits {
    /// Looks which timers run. `now` is the device's time, `steady` milliseconds of the clock that nobody sets.
    pub(super) fn look(&mut self, procedure: &Procedure, job: &Job, now: Time, steady: f64) {
        for timer in procedure.steps.iter().flat_map(Step::timers) {
            let started = job.started(&procedure.page, &timer.id).map(|started| started.at);
            match (started, self.0.get(&timer.id)) {
                (Some(started), Some(seen)) if seen.started == started => {}
                (Some(started), _) => {
                    let seen = Seen { started, before: now.since(started), since: steady };
                    self.0.insert(timer.id.clone(), seen);
                }
                (None, _) => drop(self.0.remove(&timer.id)),
            }
        }
    }

    /// The time by which a reading is judged that waits for a timer: when it was started, and for how long it has run.
    pub(super) fn now(&self, timer: &str, steady: f64) -> Time {
        self.0.get(timer).map_or(Time::default(), |seen| {
            // Milliseconds since a page was opened are far from where they lose seconds.
            #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
            let here = ((steady - seen.since) / 1e3).max(0.0) as u64;
            Time::from_seconds(seen.started.seconds() + seen.before + here)
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use job::procedure::{Item, TimerSpec};

    const HOUR: u64 = 3_600;

    #[test]
    fn a_clock_set_forward_or_back_ends_no_wait_and_lengthens_none() {
        let timer = TimerSpec {
            id: "ten".into(),
            text: "Ten minutes".into(),
            seconds: 600,
            start: "Mains is on".into(),
            when: None,
        };
        let step = Step { id: "step-1".into(), items: vec![Item::Timer(timer.clone())] };
        let procedure = Procedure { page: "p.html".into(), title: String::new(), steps: vec![step] };
        let at = |seconds: u64| Time::from_seconds(1_800_000_000 + seconds);
        let mut job = Job::new("j", "Head", at(0));
        job.begin("p.html", "step-1", at(0));
        let mut waits = Waits::default();
        let left = |waits: &Waits, job: &Job, steady| job.left("p.html", &timer, waits.now("ten", steady));
        waits.look(&procedure, &job, at(0), 0.0);
        assert_eq!(left(&waits, &job, 0.0), None);
        job.start("p.html", "ten", at(HOUR));
        waits.look(&procedure, &job, at(HOUR), 1_000.0);
        // Whatever the device's clock says by then.
        for now in [0, HOUR + 30, 9 * HOUR] {
            waits.look(&procedure, &job, at(now), 31_000.0);
            assert_eq!(left(&waits, &job, 31_000.0), Some(570), "{now}");
        }
        assert_eq!(left(&waits, &job, 601_000.0), Some(0));
        // A page that is opened later goes on from what the job says.
        let mut anew = Waits::default();
        anew.look(&procedure, &job, at(HOUR + 100), 5.0);
        assert_eq!(left(&anew, &job, 5.0), Some(500));
        // Started again, it runs from the beginning.
        job.start("p.html", "ten", at(10));
        waits.look(&procedure, &job, at(10), 700_000.0);
        assert_eq!(left(&waits, &job, 700_000.0), Some(600));
    }
}
