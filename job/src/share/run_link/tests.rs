use super::*;
use crate::procedure::{Blanks, Item, ReadingSpec, Step};
use crate::run::judge::NewReading;
use proptest::prelude::*;

const NOW: Time = Time::from_seconds(1_795_641_062);

fn procedure() -> Procedure {
    let spec = |id: &str, unit: &str, blanks: &[&str]| {
        Item::Reading(ReadingSpec {
            id: id.into(),
            quantity: id.into(),
            unit: unit.into(),
            blanks: Blanks::named(blanks),
            ..ReadingSpec::default()
        })
    };
    let items = vec![spec("bias", "V", &["A", "B"]), spec("stopper", "kΩ", &[]), spec("lamp", "seen", &[])];
    Procedure {
        page: "p.html".into(),
        title: String::new(),
        steps: vec![Step { id: "step-5".into(), items }],
    }
}

#[test]
fn a_step_becomes_a_link_without_label_or_owner() {
    let mut job = Job::new("secret-id", "Smoky head", NOW);
    job.owner_ref = "shelf 12".into();
    let procedure = procedure();
    for (id, blank, text) in
        [("bias", "A", "−46"), ("bias", "B", "-45.5 V"), ("stopper", "", "1.5"), ("lamp", "", "as expected")]
    {
        let _ = job.record_reading(NewReading::typed(&procedure, id, blank, text, NOW));
    }
    let written = RunLink::to(&procedure, "step-5", &job).written();
    assert_eq!(written, "run.1;step=5;bias.A=-46+V;bias.B=-45.5+V;lamp=as+expected;stopper=1.5+kohm");
    let read = RunLink::read(&written).unwrap();
    let (taken, unknown) = read.adopted(&procedure, NOW, 0);
    assert!(unknown.is_empty(), "{unknown:?}");
    assert_eq!(taken.len(), 4);
    assert!(taken.iter().all(|taken| taken.run == 0 && taken.judged == Judged::Recorded));
}

/// Kept for ever: links that were given out.
#[test]
fn links_once_given_out_are_read_for_ever() {
    let link = RunLink::read("run.1;step=5;bias.A=-46+V;stopper=1.5+kohm").unwrap();
    assert_eq!(link.step, "step-5");
    assert_eq!(link.readings[&("bias".to_owned(), "A".to_owned())], "-46 V");
    assert_eq!(link.readings[&("stopper".to_owned(), String::new())], "1.5 kohm");
    assert!(link.damaged.is_empty());
}

#[test]
fn what_is_damaged_is_handed_back_and_the_rest_is_read() {
    let link = RunLink::read("run.2;step=5;bias.A=%4;=3;Bias=2;bias.B=-46+V;broken").unwrap();
    assert_eq!(link.damaged, ["run.2", "bias.A=%4", "=3", "broken", "Bias"]);
    assert_eq!(link.readings.len(), 1);
    let strange = RunLink::read("run.1;step=5;bias.C=-46+V;gone=1;bias.A=abc").unwrap();
    let (taken, unknown) = strange.adopted(&procedure(), NOW, 0);
    assert!(taken.is_empty());
    assert_eq!(unknown, ["bias: “abc”", "bias.C", "gone"]);
}

/// Before sockets were told apart a blank was called by its side.
#[test]
fn a_link_of_a_side_is_of_its_first_socket() {
    let mut procedure = procedure();
    if let Item::Reading(bias) = &mut procedure.steps[0].items[0] {
        bias.blanks = Blanks::Sockets;
    }
    let link = RunLink::read("run.1;step=5;bias.A=-46+V;bias.B2=-45+V;bias.C=-1+V").unwrap();
    let (taken, unknown) = link.adopted(&procedure, NOW, 0);
    let read: Vec<(&str, &str)> =
        taken.iter().map(|taken| (taken.blank.as_str(), taken.text.as_str())).collect();
    assert_eq!(read, [("A1", "-46 V"), ("B2", "-45 V")]);
    assert_eq!(unknown, ["bias.C"]);
}

#[test]
fn what_is_longer_than_a_reading_is_not_looked_at() {
    let long = "1k".repeat(500_000);
    let link = RunLink::read(&format!("run.1;step=5;bias.A={long};bias.B=-46+V")).unwrap();
    assert_eq!((link.damaged.as_slice(), link.readings.len()), (["bias.A".to_owned()].as_slice(), 1));
    // The step, which is no reading, and an id that is.
    let step = RunLink::read(&format!("run.1;step={long}")).unwrap();
    assert!(step.step.len() < 200 && step.damaged == ["step"], "{}", step.step.len());
}

/// Of no run, and judged by nothing: the gate of the procedure stays closed whatever a link says.
#[test]
fn a_reading_from_a_link_opens_nothing() {
    let mut procedure = procedure();
    if let Item::Reading(bias) = &mut procedure.steps[0].items[0] {
        bias.gate = Some(crate::procedure::Gate::Hard);
        bias.high = crate::procedure::bound("-41 V");
    }
    procedure.steps.push(Step { id: "step-6".into(), items: vec![] });
    let mut job = Job::new("a", "head", NOW);
    job.begin("p.html", "step-5", NOW);
    let link = RunLink::read("run.1;step=5;bias.A=-46+V;bias.B=-46+V").unwrap();
    job.readings.extend(link.adopted(&procedure, NOW, 0).0);
    let is_open = |job: &Job| crate::run::gate::state(&procedure, job)[1].open;
    assert!(job.readings.len() == 2 && !is_open(&job));
    job.judge_again(&procedure);
    assert!(!is_open(&job), "judged again they are of no run still");
    for blank in ["A", "B"] {
        let _ = job.record_reading(NewReading::typed(&procedure, "bias", blank, "-46", NOW));
    }
    assert!(is_open(&job));
}

#[test]
fn a_link_that_was_escaped_on_its_way_is_read() {
    let link = "run.1;step=5;bias.A=-46+V";
    assert_eq!(RunLink::read(&link.replace(';', "%3B").replace('=', "%3D")), RunLink::read(link));
    for other in ["", "step-5", "runs.1;a=b", "dissipation.1;valve=EL34"] {
        assert_eq!(RunLink::read(other), None, "{other}");
    }
}

proptest! {
    #[test]
    fn any_fragment_is_read(rest in "\\PC{0,60}") {
        let _ = RunLink::read(&rest);
        let link = RunLink::read(&format!("run.1;{rest}")).unwrap();
        let _ = link.adopted(&procedure(), NOW, 0);
    }

    #[test]
    fn what_is_written_is_read_back(
        step in "step-[0-9]{1,3}|proof",
        readings in prop::collection::btree_map(("[a-rt-z][a-z0-9-]{0,6}", "\\PC{0,4}"), "\\PC{0,8}", 0..4),
    ) {
        let link = RunLink { step, readings, damaged: vec![] };
        let written = link.written();
        prop_assert!(written.is_ascii());
        prop_assert_eq!(RunLink::read(&written), Some(link));
    }
}
