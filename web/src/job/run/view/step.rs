//! The step's own screen: what it asks, what it waits for, and the way on. The printed step is above it.

use job::procedure::{Gate, Item, Procedure, ReadingSpec, SOCKETS, Step, TimerSpec};
use job::run::gate::{RunState, Wait, Why};
use job::run::judge::Limits;
use job::{Job, Time};
use maud::{Markup, html};

use super::typing::stop_rule;
use super::{CHANGED, HANDS_IN, MAINS_ON, button, lacking, said, stands, stop_line, words};

/// The step's own screen: what it asks, and the way on.
pub(in super::super) struct Asked<'a> {
    pub(in super::super) procedure: &'a Procedure,
    pub(in super::super) step: &'a Step,
    pub(in super::super) job: &'a Job,
    /// The run, and what of it still counts.
    pub(in super::super) course: &'a RunState<'a>,
    pub(in super::super) waits: &'a [Wait],
    /// The limits of each reading, by its id.
    pub(in super::super) limits: &'a [(String, Limits)],
    /// By what it is judged whether the time that a reading waits for has run out.
    pub(in super::super) waited: &'a dyn Fn(&str) -> Time,
    /// The address of the page on which the amplifier is described.
    pub(in super::super) survey: &'a str,
    /// The live blank to begin with, where all that is read live in this step may be typed now.
    pub(in super::super) live: Option<&'a str>,
    pub(in super::super) first: bool,
    pub(in super::super) last: bool,
    /// The step you came back from, if looking here does not mean doing it again.
    pub(in super::super) forward: Option<&'a str>,
}

impl Asked<'_> {
    pub(in super::super) fn html(&self) -> Markup {
        html! {
            @for item in self.step.items.iter().filter(|item| self.procedure.asks(item.when(), self.job)) {
                div.asked id={ "asked-" (item.id()) } { (self.item(item)) }
            }
            @if let Some(live) = self.live {
                div.live {
                    p.off { "Mains off. Hands out. Then type." }
                    (button("is-off", live, "It is off: type what was read"))
                }
            }
            @if !self.waits.is_empty() {
                @let (plain, told): (Vec<_>, Vec<_>) = self.waits.iter().partition(|wait| is_plain(wait));
                div.waits role="status" {
                    p { strong { "Closed" } @if !plain.is_empty() { ". The next step waits for what is asked above" } @if told.is_empty() { "." } @else { ":" } }
                    @if !told.is_empty() { ul { @for wait in told { li { (self.wait(wait)) } } } }
                }
            }
            div.run-way {
                @if !self.first { (button("back", &self.step.id, "Back")) }
                @if self.last {
                    @if self.waits.is_empty() { (button("finish", &self.step.id, "Finish")) }
                } @else {
                    button.on type="button" data-run="next" data-about=(self.step.id) disabled[!self.waits.is_empty()] { "Next step" }
                }
            }
            @if let Some(forward) = self.forward {
                p { "Just looking, with no hand in the chassis? " (button("forward", forward, &format!("Forward to {}", words(forward)))) }
            }
            div.run-leave { (button("leave", "", "Leave the run")) }
            // Hands that have just left a live amplifier have nothing to send.
            @if !self.step.items.iter().any(|item| matches!(item, Item::Reading(reading) if reading.purpose.is_live())) { details.link id={ "link-to-" (self.step.id) } { summary { "A link to this step and its readings, for the apprentice" } div id="run-link" data-content-stays {} } }
        }
    }

    fn item(&self, item: &Item) -> Markup {
        let id = item.id();
        html! {
            @match item {
                Item::Reading(reading) => {
                    p.quantity { (reading.quantity) }
                    @if let Some((_, limits)) = self.limits.iter().find(|(known, _)| known == id) {
                        (stop_rule(&stop_line(reading, limits))) (lacking(&limits.missing_inputs(), self.survey))
                    }
                    @let blanks = reading.blanks(self.job);
                    div.standings { @for blank in &blanks { (self.taken(reading, blank)) } }
                    @if blanks.is_empty() {
                        p { "The job does not say how many output valves there are: " a href={ (self.survey) "#survey-" (SOCKETS) } data-run="go" data-about="" { "fill it in" } ", then go on here." }
                    } @else { (self.way_in(reading, &blanks)) }
                },
                Item::Tick(tick) => {
                    @let done = self.course.is_ticked(tick);
                    button.tick-button type="button" role="checkbox" aria-checked=(done) data-run="tick" data-about=(id) {
                        span.box aria-hidden="true" { @if done { "✓" } } " " (tick.text)
                    }
                },
                Item::Choice(choice) => {
                    @let chosen = self.job.chosen(&self.procedure.page, id);
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
                Item::Timer(timer) => { (self.clock(timer)) },
            }
        }
    }

    /// What was read in this run, and whether it counts.
    fn taken(&self, reading: &ReadingSpec, blank: &str) -> Markup {
        html! {
            @if let Some(read) = self.course.last(&reading.id, blank) {
                p.taken {
                    @if !blank.is_empty() { (blank) ": " }
                    strong { (read.taken.text) } ", " (stands(self.course, &read)) "."
                }
            }
        }
    }

    /// The button that leads to where it is typed. Before its time it is closed, and says for how long.
    fn way_in(&self, reading: &ReadingSpec, blanks: &[&str]) -> Markup {
        let unread = blanks.iter().any(|blank| self.course.last(&reading.id, blank).is_none());
        let words = match (unread, blanks) {
            (false, _) => "Read again",
            (true, [_]) => "Enter the reading",
            (true, _) => "Enter the readings",
        };
        let left = |blank: &&str| {
            self.job.time_left(self.procedure, self.step, reading, blank, (self.waited)(&reading.id))
        };
        let is_open = blanks.iter().any(|blank| {
            left(blank).is_none() && (!unread || self.course.last(&reading.id, blank).is_none())
        });
        let timer = self.step.timers().find(|timer| timer.id == reading.after);
        html! {
            div.way-in { @match timer.filter(|_| !is_open) {
                Some(timer) => {
                    p {
                        button type="button" data-run="read" data-about=(reading.id) disabled {
                            (words)
                            @if blanks.iter().filter_map(left).any(|(_, left)| left.is_some()) { ": closed for " (Self::left(timer)) }
                            @else { ": closed until “" (timer.text) "” has been started for it and has run out" }
                        }
                    }
                    p { (button("early", &reading.id, "Open it early, with a written reason")) }
                },
                None => p { (button("read", &reading.id, words)) },
            } }
        }
    }

    /// What is left of a time.
    fn left(timer: &TimerSpec) -> Markup {
        html! { span.left role="timer" data-seconds=(timer.seconds) data-timer=(timer.id) data-content-stays {} }
    }

    /// A time to wait: what starts it, and what is left of it.
    fn clock(&self, timer: &TimerSpec) -> Markup {
        let again = if self.job.started(&self.procedure.page, &timer.id).is_some() { " again" } else { "" };
        html! {
            p.clock {
                span { (timer.text) ":" } " " (Self::left(timer)) " "
                (button("start", &timer.id, &format!("{}: start{again}", timer.start)))
            }
        }
    }

    fn wait(&self, wait: &Wait) -> Markup {
        html! {
            (words_of(self.step, wait, self.job))
            @if wait.gate == Gate::Soft { " " (button("excuse", &wait.item, "Pass with a written reason")) }
        }
    }
}

/// Whether it is plain to see that something is still to be done.
fn is_plain(wait: &Wait) -> bool {
    wait.gate == Gate::Hard && matches!(wait.why, Why::NotRead | Why::NotTicked | Why::NotChosen)
}

/// What a step waits for, which keeps those after it closed.
pub(in super::super) fn closed(step: &Step, waits: &[Wait], job: &Job) -> Markup {
    html! { @if !waits.is_empty() { div.waits { p { "Closed until " (words(&step.id)) " has what it waits for:" } ul { @for wait in waits { li { (words_of(step, wait, job)) } } } } } }
}

/// Something that a step waits for, in a sentence.
fn words_of(step: &Step, wait: &Wait, job: &Job) -> Markup {
    let about = step.items.iter().find(|item| item.id() == wait.item);
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
            Why::Apart => "the readings are too far apart",
            Why::NotTicked => "not ticked",
            Why::NotChosen => "not answered",
            Why::FromFile => "it came with a file: read it again",
            Why::Sockets => "the job does not say how many output valves there are",
            Why::ChosenOtherwise => "this answer differs from the earlier one: one of the two is wrong",
        }) "."
        @if let (Why::Apart, Some(Item::Reading(reading))) = (wait.why, about) {
            @if !reading.alike_means.is_empty() { " It likely means: " (said(&reading.alike_means, job)) }
        }
    }
}
