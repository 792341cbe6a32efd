//! The screens of a procedure that is run, as HTML. The printed step stands above; these are its answers.

use job::gate::{Course, Lapse, Wait, Why};
use job::judge::{CannotTell, Lack, Limits, Stop};
use job::procedure::{AS_EXPECTED, Gate, Item, NOT_AS_EXPECTED, ReadingSpec, Step, TimerSpec};
use job::{Job, Judged, Taken};
use maud::{Markup, html};

/// What one sees.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Screen {
    /// The step and what it asks.
    Step,
    /// Before typing what was read on a living amplifier.
    Off(String),
    /// The pad, for a blank of a reading.
    Pad(Pad),
    /// A reading that stops, or of which nothing can be said.
    Stopped(Stopped),
    /// The reason for a soft gate.
    Reason(String),
}

/// A reading being typed.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Pad {
    pub(super) item: String,
    pub(super) blank: String,
    pub(super) typed: String,
    /// What was wrong with what was typed, and what was perhaps meant.
    pub(super) problem: Option<(String, Vec<String>)>,
}

/// What stopped.
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

/// A button that does something; `about` is the item, blank or option it is about.
fn button(act: &str, about: &str, words: &str) -> Markup {
    html! { button type="button" data-run=(act) data-about=(about) { (words) } }
}

/// What stands before a run: which job, and where to begin.
pub(super) fn begin(job: Option<&Job>, page: &str, jobs: &str, trouble: Option<&str>) -> Markup {
    html! {
        section.run-begin aria-label="Run this procedure" {
            p.stopped-job role="status" { (trouble.unwrap_or_default()) }
            @match job {
                Some(job) => {
                    p { "Run with the job “" strong { (job.label) } "”. " a href=(jobs) { "Another job" } }
                    @if let Some(place) = job.places.get(page) {
                        p { (button("go-on", "", &format!("Go on at {}", words(&place.step)))) }
                        details {
                            summary { "Begin anew" }
                            p { "The readings of the run under way then open nothing any more. They stay in the record." }
                            p { (button("begin", "", "Begin it anew")) }
                        }
                    } @else { p { (button("begin", "", "Begin")) } }
                },
                None => {
                    p { label for="run-label" { "For a new job name the amplifier, as on its ticket:" } }
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

/// The place in which the module of the job offers to export it.
pub(super) fn export() -> Markup {
    html! {
        section.job id="export" data-job="export" aria-label="Export the job" {
            p.stopped-job role="status" {}
            div id="export-content" {}
        }
    }
}

/// `step-12` as `step 12`.
pub(super) fn words(step: &str) -> String {
    step.replace('-', " ")
}

/// The step's own screen: what it asks, and the way on.
pub(super) struct Asked<'a> {
    pub(super) step: &'a Step,
    pub(super) job: &'a Job,
    /// The run, and what of it still counts.
    pub(super) course: &'a Course<'a>,
    pub(super) page: &'a str,
    pub(super) waits: &'a [Wait],
    /// The limits of each reading, by its id.
    pub(super) limits: &'a [(String, Limits)],
    /// The address of the page on which the amplifier is described.
    pub(super) survey: &'a str,
    pub(super) first: bool,
    pub(super) last: bool,
    /// The step that one came back from, if what is asked here must not be done again for a look.
    pub(super) forward: Option<&'a str>,
    pub(super) trouble: Option<&'a str>,
}

impl Asked<'_> {
    pub(super) fn html(&self) -> Markup {
        html! {
            @for item in &self.step.items {
                div.asked { (self.item(item)) }
            }
            @if !self.waits.is_empty() {
                div.waits role="status" {
                    p { strong { "Closed" } ". The next step waits for:" }
                    ul { @for wait in self.waits { li { (self.wait(wait)) } } }
                }
            }
            div.run-way {
                @if !self.first { (button("back", "", "Back")) }
                @if self.last {
                    @if self.waits.is_empty() { (button("finish", "", "Finish")) }
                } @else {
                    button.on type="button" data-run="next" data-about="" disabled[!self.waits.is_empty()] { "Next step" }
                }
                (button("leave", "", "Leave the run"))
            }
            @if let Some(forward) = self.forward {
                p { "Only looked, and no hand was in the chassis? " (button("forward", forward, &format!("Forward to {}", words(forward)))) }
            }
            // Hands that just left a living amplifier have nothing to send.
            @if !self.step.items.iter().any(|item| matches!(item, Item::Reading(reading) if reading.purpose.is_live())) { details.link { summary { "A link to this step and its readings, for the apprentice" } div id="run-link" {} } }
            @if let Some(trouble) = self.trouble { p.stopped-job role="status" { (trouble) } }
        }
    }

    fn item(&self, item: &Item) -> Markup {
        let id = item.id();
        html! {
            @match item {
                Item::Reading(reading) => {
                    p.quantity { (reading.quantity) }
                    @if let Some((_, limits)) = self.limits.iter().find(|(known, _)| known == id) { (for_this_amplifier(limits)) (lacking(&limits.lacks(), self.survey)) }
                    @for blank in reading.blanks(self.job) {
                        p { (self.taken(reading, blank)) (button("read", &format!("{id}.{blank}"), &self.offer(reading, blank))) }
                    }
                },
                Item::Tick(tick) => {
                    @let done = self.course.is_ticked(tick);
                    button.tick-button type="button" role="checkbox" aria-checked=(done) data-run="tick" data-about=(id) {
                        span.box aria-hidden="true" { @if done { "✓" } } " " (tick.text)
                    }
                },
                Item::Choice(choice) => {
                    @let chosen = self.job.chosen(self.page, id);
                    p.quantity { (choice.question) }
                    @for option in &choice.options {
                        p {
                            button.tick-button type="button" role="radio" aria-checked=(chosen == Some(&option.id))
                                data-run="choose" data-about={ (id) "." (option.id) } {
                                span.box aria-hidden="true" { @if chosen == Some(&option.id) { "✓" } } " " (option.text)
                            }
                        }
                    }
                },
                Item::Timer(timer) => { (clock(timer)) },
            }
        }
    }

    /// What was read in this run, and how it stands.
    fn taken(&self, reading: &ReadingSpec, blank: &str) -> Markup {
        html! {
            @if let Some(read) = self.course.last(&reading.id, blank) {
                span.taken {
                    @if !blank.is_empty() { (blank) ": " }
                    strong { (read.taken.text) } ", "
                    (match self.course.lapse(&read) {
                        None => standing(read.taken),
                        Some(Lapse::Changed(change)) => format!("read before “{}” was changed: read again", change.what),
                        Some(Lapse::Told) => CHANGED.to_owned(),
                        Some(Lapse::HandsIn) => HANDS_IN.to_owned(),
                        Some(Lapse::MainsOn) => MAINS_ON.to_owned(),
                    })
                    ". "
                }
            }
        }
    }

    fn offer(&self, reading: &ReadingSpec, blank: &str) -> String {
        let again = self.course.last(&reading.id, blank).is_some();
        let verb = if again { "Read again" } else { "Enter reading" };
        if blank.is_empty() { verb.to_owned() } else { format!("{verb}: {blank}") }
    }

    fn wait(&self, wait: &Wait) -> Markup {
        let about = self.step.items.iter().find(|item| item.id() == wait.item);
        let name = match about {
            Some(Item::Reading(reading)) => reading.quantity.as_str(),
            Some(Item::Tick(tick)) => tick.text.as_str(),
            Some(Item::Choice(choice)) => choice.question.as_str(),
            _ => "",
        };
        html! {
            (name.trim_end_matches('.')) @if !wait.blank.is_empty() { ", " (wait.blank) } ": "
            (match wait.why {
                Why::NotRead => "not read in this run",
                Why::OutOfRange => "out of range",
                Why::CannotTell => "its limit was not known: read it again",
                Why::Changed => CHANGED,
                Why::HandsIn => HANDS_IN,
                Why::MainsOn => MAINS_ON,
                Why::FromFile => "it came with a file: read it again",
                Why::Sockets => "how many output valves there are is not known: fill it in on the page of the job",
                Why::Apart => "the readings lie too far apart",
                Why::NotTicked => "not ticked",
                Why::NotChosen => "not answered",
                Why::ChosenOtherwise => "answered otherwise than before: one of the two is wrong",
            }) ". "
            @if wait.gate == Gate::Soft { (button("excuse", &wait.item, "Pass with a written reason")) }
        }
    }
}

/// A time to wait, and what is left of it.
fn clock(timer: &TimerSpec) -> Markup {
    html! { p { (timer.text) ": " span.clock role="timer" data-timer=(timer.id) data-seconds=(timer.seconds) {} } }
}

/// The limits as they are worked out from the job.
fn for_this_amplifier(limits: &Limits) -> Markup {
    let range = limits.words();
    html! { @if !range.is_empty() { p { "For this amplifier: " strong { (range) } "." } } }
}

/// What a limit lacks, each with the way to where it is filled in.
fn lacking(lacks: &[Lack], survey: &str) -> Markup {
    html! {
        @if !lacks.is_empty() {
            p { "The limit cannot be worked out yet. Fill in, then go on here:" }
            ul.lacks {
                @for lack in lacks {
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
const MAINS_ON: &str = "the mains was on since, or may have been: prove it again before hands go in";

/// How a reading stands, in words.
fn standing(taken: &Taken) -> String {
    match taken.judged {
        Judged::Stop => "STOP: out of range".to_owned(),
        Judged::CannotTell => "cannot tell: its limit was not known".to_owned(),
        Judged::Recorded => "written down".to_owned(),
        Judged::InRange | Judged::Noted => taken.standing(),
    }
}

/// Before typing: the hands are out, the mains is off.
pub(super) fn off(item: &str) -> Markup {
    html! {
        p.stop { "Mains off. Hands out. Then type." }
        p { "Put the probes down first; they stay clipped on. Nobody types beside a living chassis." }
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
    example.map_or_else(|| before.to_owned(), |_| [before, &figure(limits), after].concat())
}

/// The pad. What its step waits for is in sight: a reading after ten minutes is typed after ten.
pub(super) fn pad(
    pad: &Pad,
    reading: &ReadingSpec,
    limits: &Limits,
    step: Option<&Step>,
    rise: Option<&str>,
) -> Markup {
    let items = step.into_iter().flat_map(|step| &step.items);
    html! {
        p.stop { strong { "STOP" } " " (stop_line(reading, limits)) }
        p.quantity { (reading.quantity) @if !pad.blank.is_empty() { ": " (pad.blank) } }
        p { "Expect " (reading.expect) "." }
        (for_this_amplifier(limits))
        @for item in items { @if let Item::Timer(timer) = item { (clock(timer)) } }
        @if let Some((message, offers)) = &pad.problem {
            div.problem role="alert" {
                p { (message) }
                @for offer in offers { (button("offer", offer, offer)) " " }
            }
        }
        @if reading.is_seen() {
            div.run-way { (button("offer", AS_EXPECTED, "As expected")) (button("offer", NOT_AS_EXPECTED, "Not as expected")) }
        } @else {
            p.typed aria-live="polite" { output id="run-typed" data-item=(pad.item) { (pad.typed) } " " span.unit { (reading.unit) } }
            div.pad role="group" aria-label="Pad" {
                @for key in KEYS { button type="button" data-run="key" data-about=(key.0) aria-label=(key.1) { (key.0) } }
            }
            div.run-way { button.on type="button" data-run="enter" data-about="" { "Enter" } }
        }
        // Behind the keys: a doubled Enter of the reading before must not take it.
        @if let Some(rise) = rise { div.run-way { (button("offer", rise, &format!("Take {rise}, as the readings have it"))) } }
        div.run-way { (button("cancel", "", "Back to the step")) }
    }
}

/// The keys of the pad, and their names.
const KEYS: [(&str, &str); 15] = [
    ("7", "7"),
    ("8", "8"),
    ("9", "9"),
    ("4", "4"),
    ("5", "5"),
    ("6", "6"),
    ("1", "1"),
    ("2", "2"),
    ("3", "3"),
    ("−", "minus"),
    ("0", "0"),
    (".", "point"),
    ("k", "kilo"),
    ("M", "mega"),
    ("⌫", "take the last back"),
];

/// A reading that stops.
pub(super) fn stopped(stopped: &Stopped, reading: &ReadingSpec, limits: &Limits, survey: &str) -> Markup {
    html! {
        @match &stopped.why {
            Because::Range(stop) => {
                p.stop role="alert" { strong { "STOP" } " " (stop_line(reading, limits)) }
                p.quantity { (reading.quantity) @if !stopped.blank.is_empty() { ", " (stopped.blank) } ": " (stop.read) }
                p { "The limit is " strong { (stop.limit) } " (" (stop.source) ")." }
                @if !reading.means.is_empty() { p { "What it likely means: " (reading.means) } }
                @if let Some(go) = &reading.go { p { a href=(go.href()) data-run="go" data-about=(go.href()) { "Where to go from here" } } }
            },
            Because::Unknown(lack) => {
                p.stop role="alert" { strong { "CANNOT TELL" } " No limit, no go: mains stays off." }
                p.quantity { (reading.quantity) @if !stopped.blank.is_empty() { ", " (stopped.blank) } }
                p { (lack.why) }
                (lacking(&lack.lacks, survey))
            },
        }
        div.run-way {
            (button("read", &format!("{}.{}", stopped.item, stopped.blank), "Read again"))
            (button("cancel", "", "Back to the step"))
        }
    }
}

/// The reason for a soft gate.
pub(super) fn reason(item: &str) -> Markup {
    html! {
        p.quantity { label for="run-reason" { "Why is this passed? It stands on the sheet, in your words." } }
        textarea id="run-reason" rows="4" {}
        p id="run-reason-said" role="alert" {}
        div.run-way { (button("excused", item, "Write it down and pass")) (button("cancel", "", "Back to the step")) }
    }
}

/// What came with a link: the apprentice's view, which changes nothing.
pub(super) fn came(step: &str, readings: &[(String, String)], unknown: &[String]) -> Markup {
    html! {
        section.run-begin aria-label="What came with the link" {
            p { "These readings came with a link, for " a href={ "#" (step) } { (words(step)) } ". Nothing of yours is changed by them." }
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
    use job::procedure::{Bound, Of, Procedure};

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
    fn the_stop_figure_stands_above_the_pad_and_above_what_stopped() {
        let limits = Limits::of(&spec(), &Job::default(), &job::Among(&[]));
        let timer = TimerSpec {
            id: "ten".into(),
            text: "After ten minutes".into(),
            seconds: 600,
            ..TimerSpec::default()
        };
        let step = Step { id: "step-1".into(), items: vec![Item::Timer(timer)] };
        let typed = pad(
            &Pad { item: "bias".into(), ..Pad::default() },
            &spec(),
            &limits,
            Some(&step),
            Some("700 µA"),
        )
        .into_string();
        let places = [
            "Less negative: off",
            "For this amplifier",
            "data-seconds=\"600\"",
            "data-about=\"−\"",
            "Enter",
            "Take 700 µA",
        ]
        .map(|part| typed.find(part).unwrap());
        assert!(places.is_sorted(), "{places:?}");
        let stop =
            Stop { read: "−30 V".into(), limit: "at most −41 V".into(), source: "this page".into() };
        let said = stopped(
            &Stopped { item: "bias".into(), blank: "A".into(), why: Because::Range(stop) },
            &spec(),
            &limits,
            "",
        )
        .into_string();
        assert!(
            said.contains("−30 V") && said.contains("at most −41 V") && !said.contains("excuse"),
            "{said}"
        );
    }

    #[test]
    fn the_figure_in_the_large_line_is_this_amplifiers_and_never_the_example() {
        let spec = ReadingSpec {
            stop: "Less negative than {−43 V}: mains off".into(),
            high: Some(of_job()),
            ..spec()
        };
        let line = |job: &Job| stop_line(&spec, &Limits::of(&spec, job, &job::Among(&[])));
        let mut job = Job::new("j", "Head", job::Time::from_seconds(0));
        assert_eq!(line(&job), "Less negative than an unknown figure: mains off");
        job.set("bias-expected", "-30 V", job::From::Typed, job::Time::from_seconds(1)).unwrap();
        assert_eq!(line(&job), "Less negative than −28.5\u{a0}V: mains off");
    }

    #[test]
    fn what_a_limit_lacks_is_a_way_to_where_it_is_filled_in() {
        let spec = ReadingSpec { high: Some(of_job()), ..spec() };
        let limits = Limits::of(&spec, &Job::default(), &job::Among(&[]));
        let why = Because::Unknown(limits.high.clone().unwrap().unwrap_err());
        let at = Stopped { item: "bias".into(), blank: String::new(), why };
        let said = stopped(&at, &spec, &limits, "job.html");
        let link = "<a href=\"job.html#survey-bias-expected\" data-run=\"go\"";
        assert!(said.into_string().contains(link));
    }

    #[test]
    fn only_a_soft_gate_offers_a_reason() {
        let step = Step { id: "step-1".into(), items: vec![Item::Reading(spec())] };
        let job = Job::new("j", "Head", job::Time::from_seconds(0));
        let procedure = Procedure { page: "p.html".into(), ..Procedure::default() };
        let course = Course::of(&procedure, &job);
        let page = |gate| {
            let waits = [Wait { item: "bias".into(), blank: String::new(), why: Why::NotRead, gate }];
            let asked = Asked {
                step: &step,
                job: &job,
                course: &course,
                page: "p.html",
                waits: &waits,
                limits: &[],
                survey: "job.html",
                first: true,
                last: false,
                forward: None,
                trouble: None,
            };
            asked.html().into_string()
        };
        assert!(!page(Gate::Hard).contains("written reason") && page(Gate::Soft).contains("written reason"));
        assert!(page(Gate::Hard).contains("disabled"), "the way on is closed");
    }
}
