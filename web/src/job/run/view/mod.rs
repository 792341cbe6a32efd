//! The screens of a procedure that is run, as HTML: `top` is above all of them, `step` is the step's own, `typing` where
//! readings are typed, `stop` what stops.

mod gauge;
mod socket;
pub(super) mod step;
pub(super) mod stop;
pub(super) mod top;
pub(super) mod typing;

use job::procedure::ReadingSpec;
use job::run::gate::{Invalidation, Read, RunState};
use job::run::judge::{CannotTell, Limits, MissingInput, Stop};
use job::{Job, Judged};
use maud::{Markup, html};

pub(super) use step::Asked;

/// What is on the screen.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Screen {
    /// The step and what it asks.
    Step,
    /// All steps.
    Steps,
    /// Before typing what was read on a live amplifier: the reading.
    Off(String),
    /// Where readings are typed.
    Typing {
        /// Which.
        items: Vec<String>,
        /// Whether one has just come to their step.
        arrives: bool,
    },
    /// A reading that stops, or about which nothing can be said.
    Stopped(Stopped),
    /// The reason for passing an item: a soft gate, or a reading before its time.
    Reason {
        /// The item.
        item: String,
        /// Whether it is a reading before its time.
        early: bool,
    },
}

impl Screen {
    /// Its name, for the style sheet.
    pub(super) const fn name(&self) -> &'static str {
        match self {
            Self::Step => "step",
            Self::Steps => "steps",
            Self::Off(_) => "off",
            Self::Typing { .. } => "typing",
            Self::Stopped(Stopped { why: Because::Range(_), .. }) => "stop",
            Self::Stopped(_) => "cannot-tell",
            Self::Reason { .. } => "reason",
        }
    }
}

/// The item of a step that stopped the run.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Stopped {
    pub(super) item: String,
    pub(super) blank: String,
    pub(super) why: Because,
}

/// Why it stopped.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Because {
    /// Out of range.
    Range(Stop),
    /// The limit is not known.
    Unknown(CannotTell),
}

/// A sentence with this amplifier's own words in it.
fn said(text: &str, job: &Job) -> String {
    job::procedure::words::said(text, job)
}

/// A button that does something; `about` is the item, blank or option it is about.
fn button(act: &str, about: &str, words: &str) -> Markup {
    html! { button type="button" data-run=(act) data-about=(about) { (words) } }
}

/// What is shown before a run: which job, and where to begin.
pub(super) fn begin(
    job: Option<&Job>,
    page: &str,
    jobs: &str,
    trouble: Option<&str>,
    elsewhere: &str,
) -> Markup {
    html! {
        section.run-begin aria-label="Run this procedure" {
            (self::trouble(trouble, elsewhere))
            @match job {
                Some(job) => {
                    p { "Run with the job “" strong { (job.label) } "”. " a href=(jobs) { "Another job" } }
                    @if job.is_of_another_edition(page) {
                        p { strong { "A run was begun with an earlier edition of this book." } " Its steps and gates were different, so it cannot go on. What was read stays in the record." }
                        p { (button("begin", "", "Begin again")) }
                    } @else if let Some(place) = job.places.get(page) {
                        p { (button("go-on", "", &format!("Go on at {}", words(&place.step)))) }
                        details {
                            summary { "Begin again from the first step" }
                            p { "Readings from the present run will no longer open any gate. They stay in the record." }
                            p { (button("begin", "", "Begin again")) }
                        }
                    } @else { p { (button("begin", "", "Begin")) } }
                },
                None => {
                    p { label for="run-label" { "For a new job, name the amplifier as on its ticket:" } }
                    p {
                        input type="text" id="run-label" autocomplete="off"; " "
                        (button("new-job", "", "Begin with a new job"))
                    }
                    p { a href=(jobs) { "Choose a job that is on this device" } }
                },
            }
        }
    }
}

/// The block that offers to export the job that was run, to be woken.
pub(super) fn export(job: &Job) -> Markup {
    html! {
        section.job id=(super::EXPORT) data-job="export" data-of=(job.id) aria-label="Export the job" {
            p.stopped-job role="status" {}
            div id="export-content" {}
        }
    }
}

/// `step-12` as `step 12`.
pub(super) fn words(step: &str) -> String {
    step.replace('-', " ")
}

/// What a limit lacks, each with the way to where it is filled in.
fn lacking(missing_inputs: &[MissingInput], survey: &str) -> Markup {
    html! {
        @if !missing_inputs.is_empty() {
            p { "The limit cannot be worked out yet. Fill in, then go on here:" }
            ul.lacks {
                @for lack in missing_inputs {
                    li {
                        a href={ (survey) "#survey-" (lack.known.id) } data-run="go" data-about="" { (lack.known.label) }
                        @if lack.stale { " (measured before the last change)" }
                    }
                }
            }
        }
    }
}

/// A reading that no longer counts.
const CHANGED: &str = "the amplifier was changed after this was read: read it again";
const HANDS_IN: &str = "hands were in the chassis after this was read: read it again";
const MAINS_ON: &str =
    "the mains has been on since, or may have been: prove it dead again before hands go in";

/// Whether a reading of this run still counts, in words.
fn stands(course: &RunState<'_>, read: &Read<'_>) -> String {
    match course.invalidated_by(read) {
        Some(Invalidation::Changed(change)) => {
            format!("read before “{}” was changed: read again", change.what)
        }
        Some(Invalidation::InputChanged) => CHANGED.to_owned(),
        Some(Invalidation::HandsIn) => HANDS_IN.to_owned(),
        Some(Invalidation::MainsOn) => MAINS_ON.to_owned(),
        None => match read.taken.judged {
            Judged::Stop => "STOP: out of range".to_owned(),
            Judged::CannotTell => "cannot tell: its limit was not known".to_owned(),
            Judged::Recorded => "written down".to_owned(),
            Judged::InRange | Judged::Noted => read.taken.standing(),
        },
    }
}

/// What is not kept on this device, and the way to have it all the same. Every screen has the line, so that it is said where one
/// is; the button shows when there is something to say. `elsewhere` is that another job is on the bench.
pub(super) fn trouble(words: Option<&str>, elsewhere: &str) -> Markup {
    html! {
        p.elsewhere role="status" { (elsewhere) }
        p.stopped-job role="status" { (words.unwrap_or_default()) }
        p.rescue { button type="button" data-run="export" data-about="" { "Export the job as it is in this page" } }
    }
}

/// What was done last in the step before, for a reader who was led on from there.
pub(super) fn done(words: &str) -> Markup {
    html! { @if !words.is_empty() { p.done role="status" { (words) " " (button("back", "", "Back")) } } }
}

/// Before typing: the hands are out, the mains is off.
pub(super) fn off(item: &str) -> Markup {
    html! {
        p.off { "Mains off. Hands out. Then type." }
        p { "Leave the clips where they are and stand back. Never type beside a live chassis." }
        div.run-way { (button("is-off", item, "It is off: type")) (button("cancel", "", "Back to the step")) }
    }
}

/// The figure at which to stop, for this amplifier.
pub(super) fn figure(limits: &Limits) -> String {
    limits.figure().unwrap_or_else(|| "an unknown figure".to_owned())
}

/// At what to stop, with the figure of this amplifier.
fn stop_line(reading: &ReadingSpec, limits: &Limits) -> String {
    let (before, example, after) = reading.stop_parts();
    match (example, limits.figure()) {
        (None, _) => before.to_owned(),
        (Some(_), Some(figure)) => [before, &figure, after].concat(),
        (Some(_), None) => "Stop figure not known: mains stays off".to_owned(),
    }
}

/// The reason for a soft gate, or for a reading before its time.
pub(super) fn reason(item: &str, early: bool) -> Markup {
    let (act, why, words) = if early {
        ("opened", "Why are you not waiting?", "Write it down and type")
    } else {
        ("excused", "Why are you passing this gate?", "Write it down and pass")
    };
    html! {
        p.quantity { label for="run-reason" { (why) " Your words are printed on the hand-over sheet." } }
        textarea id="run-reason" rows="4" {}
        p id="run-reason-said" role="alert" {}
        div.run-way { (button(act, item, words)) (button("cancel", "", "Back to the step")) }
    }
}

/// A time as a clock shows it, `9:58`.
pub(super) fn minutes(seconds: u64) -> String {
    format!("{}:{:02}", seconds / 60, seconds % 60)
}

/// What came with a link: the apprentice's view, which changes nothing.
pub(super) fn came(step: &str, readings: &[(String, String)], unknown: &[String]) -> Markup {
    html! {
        section.run-begin aria-label="What came with the link" {
            p { "These readings came with a link, for " a href={ "#" (step) } { (words(step)) } ". They do not change your own job." }
            table {
                thead { tr { th scope="col" { "Reading" } th scope="col" { "Read" } } }
                tbody { @for (name, text) in readings { tr { th scope="row" { (name) } td { (text) } } } }
            }
            @if !unknown.is_empty() { p { strong { "Part of the link could not be read" } ": " (unknown.join(", ")) "." } }
            p { (button("adopt", "", "Take them into a job")) " They open no gate: each is read again." }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use job::Time;
    use job::procedure::{Bound, Gate, Item, Of, Procedure, Step};
    use job::run::gate::{Wait, Why};

    fn of_job() -> Bound {
        Bound { factor: 0.95, of: Of::Job("bias-expected".into()) }
    }

    fn spec() -> ReadingSpec {
        ReadingSpec {
            id: "bias".into(),
            quantity: "Bias".into(),
            stop: "Less negative: off".into(),
            unit: "V".into(),
            high: Some(Bound { factor: 1.0, of: Of::Fixed(-41.0) }),
            ..ReadingSpec::default()
        }
    }

    #[test]
    fn what_stopped_says_what_was_read_and_the_limit_and_lets_nobody_pass() {
        let limits = Limits::of(&spec(), &Job::default());
        let stop =
            Stop { read: "−30 V".into(), limit: "at most −41 V".into(), source: "this page".into() };
        let at = Stopped { item: "bias".into(), blank: "A".into(), why: Because::Range(stop) };
        let said = stop::stopped(
            &at,
            &spec(),
            &limits,
            &Job::default(),
            &RunState::of(&Procedure::default(), &Job::default()),
            "",
        )
        .into_string();
        for part in ["STOP", "Off.", "−30 V", "must be at most", "−41 V"] {
            assert!(said.contains(part), "{part}: {said}");
        }
        assert!(!said.contains("excuse"), "{said}");
    }

    #[test]
    fn the_figure_in_the_large_line_is_this_amplifiers_and_never_the_example() {
        let spec = ReadingSpec {
            stop: "Less negative than {−43 V}: mains off".into(),
            high: Some(of_job()),
            ..spec()
        };
        let line = |job: &Job| stop_line(&spec, &Limits::of(&spec, job));
        let mut job = Job::new("j", "Head", job::Time::from_seconds(0));
        assert_eq!(line(&job), "Stop figure not known: mains stays off");
        job.set("bias-expected", "-30 V", job::From::Typed, job::Time::from_seconds(1)).unwrap();
        assert_eq!(line(&job), "Less negative than −28.5\u{a0}V: mains off");
    }

    #[test]
    fn what_a_limit_lacks_is_a_way_to_where_it_is_filled_in() {
        let spec = ReadingSpec { high: Some(of_job()), ..spec() };
        let limits = Limits::of(&spec, &Job::default());
        let why = Because::Unknown(limits.high.clone().unwrap().unwrap_err());
        let at = Stopped { item: "bias".into(), blank: String::new(), why };
        let said = stop::stopped(
            &at,
            &spec,
            &limits,
            &Job::default(),
            &RunState::of(&Procedure::default(), &Job::default()),
            "job.html",
        );
        let link = "<a href=\"job.html#survey-bias-expected\" data-run=\"go\"";
        assert!(said.into_string().contains(link));
    }

    #[test]
    fn only_a_soft_gate_offers_a_reason() {
        let step = Step { id: "step-1".into(), items: vec![Item::Reading(spec())] };
        let job = Job::new("j", "Head", job::Time::from_seconds(0));
        let procedure = Procedure { page: "p.html".into(), ..Procedure::default() };
        let course = RunState::of(&procedure, &job);
        let page = |gate| {
            let waits = [Wait { item: "bias".into(), blank: String::new(), why: Why::NotRead, gate }];
            let asked = Asked {
                step: &step,
                job: &job,
                course: &course,
                procedure: &procedure,
                waits: &waits,
                limits: &[],
                waited: &|_| Time::from_seconds(0),
                survey: "job.html",
                live: None,
                first: true,
                last: false,
                forward: None,
            };
            asked.html().into_string()
        };
        assert!(!page(Gate::Hard).contains("written reason") && page(Gate::Soft).contains("written reason"));
        assert!(page(Gate::Hard).contains("disabled"), "the way on is closed");
    }
}
