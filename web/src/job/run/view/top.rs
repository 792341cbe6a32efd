//! What is above every screen of a run: where you are, how far that is, and in which state the chassis is; and the list of
//! all steps behind it.

use job::procedure::Procedure;
use job::run::gate::{RunState, StepState, frontier};
use job::run::judge::lower;
use maud::{Markup, html};

use super::super::plan::PrintedStep;
use super::{button, stands};

/// What the run knows of the chassis, for someone at a step.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in super::super) enum Bench {
    /// Proved dead in this run, and nothing live has been read since.
    Dead,
    /// Nothing says that it is dead.
    NotProved,
    /// What this step asks is read with the mains on.
    MainsOn,
    /// A live reading is being typed: the mains is off by the reader's word.
    MainsOff,
}

impl Bench {
    const fn words(self) -> (&'static str, &'static str) {
        match self {
            Self::Dead => ("DEAD", "proved in this run"),
            Self::NotProved => ("NOT PROVED DEAD", "hands out"),
            Self::MainsOn => ("MAINS ON", "hands out, tablet away"),
            Self::MainsOff => ("MAINS OFF TO TYPE", "hands out"),
        }
    }

    const fn name(self) -> &'static str {
        match self {
            Self::Dead => "dead",
            Self::NotProved => "not-proved",
            Self::MainsOn => "on",
            Self::MainsOff => "off",
        }
    }
}

/// The run as its head shows it.
pub(in super::super) struct Top<'a> {
    pub(in super::super) procedure: &'a Procedure,
    /// The steps as the page prints them.
    pub(in super::super) plan: &'a [PrintedStep],
    pub(in super::super) states: &'a [StepState],
    /// The step that is shown.
    pub(in super::super) here: &'a str,
    pub(in super::super) bench: Bench,
    /// Whether the list of all steps is open.
    pub(in super::super) lists: bool,
}

impl Top<'_> {
    fn at(&self, id: &str) -> usize {
        self.plan.iter().position(|step| step.id == id).unwrap_or(0)
    }

    /// The place of the last step that is open.
    fn reached(&self) -> usize {
        frontier(self.states).map_or(0, |state| self.at(&state.id))
    }

    /// The head of every screen.
    pub(in super::super) fn html(&self) -> Markup {
        let (word, more) = self.bench.words();
        html! {
            div.run-where {
                p.run-at {
                    @if let Some(step) = self.plan.get(self.at(self.here)) {
                        strong { (step.number) " of " (self.plan.len()) } @if !step.title.is_empty() { " · " (step.title) }
                    }
                }
                @if self.lists { (button("cancel", "", "Back to the step")) } @else { (button("steps", "", "All steps")) }
            }
            (self.segments())
            p.run-state data-state=(self.bench.name()) role="status" { strong { (word) } " " span { (more) } }
        }
    }

    /// One box for each stage, as wide as it has steps, filled as far as one has come.
    fn segments(&self) -> Markup {
        let reached = self.reached();
        let mut at = 0;
        html! {
            svg.segments aria-hidden="true" viewBox={ "0 0 " (self.plan.len() * 10) " 10" } preserveAspectRatio="none" {
                @for stage in self.plan.chunk_by(|one, other| one.stage == other.stage) {
                    @let from = at;
                    @let () = at += stage.len();
                    @let done = (reached + usize::from(reached + 1 == self.plan.len())).clamp(from, at) - from;
                    rect.stage x=(from * 10 + 1) y="1" width=(stage.len() * 10 - 2) height="8" {}
                    @if done > 0 { rect.done x=(from * 10 + 1) y="1" width=(done * 10 - 2) height="8" {} }
                }
            }
        }
    }

    /// All steps, by stage: what was read in them, what is closed and why.
    pub(in super::super) fn list(&self, course: &RunState<'_>, closed: &Markup) -> Markup {
        let reached = self.reached();
        html! {
            div.all-steps {
                @for stage in self.plan.chunk_by(|one, other| one.stage == other.stage) {
                    @if let Some(first) = stage.first() { @if !first.stage.is_empty() { h2 { (first.stage) } } }
                    ol {
                        @for step in stage { (self.step(step, reached, course, closed)) }
                    }
                }
                div.run-leave { (button("leave", "", "Leave the run")) }
            }
        }
    }

    fn step(&self, step: &PrintedStep, reached: usize, course: &RunState<'_>, closed: &Markup) -> Markup {
        let (at, is_here) = (self.at(&step.id), step.id == self.here);
        let state = self.states.iter().find(|state| state.id == step.id);
        let is_open = state.is_some_and(|state| state.open);
        let word = match state {
            Some(state) if state.open && state.waits.is_empty() => "done",
            Some(state) if state.open => "open",
            _ if at < reached => "not on this way",
            _ => "closed",
        };
        let words = html! { strong { (step.number) } " " (step.title) };
        html! {
            li.here[is_here] {
                @if is_open {
                    button type="button" data-run="forward" data-about=(step.id) {
                        span { (words) } span.standing { @if is_here { "here, " } (word) }
                    }
                } @else { p { span { (words) } span.standing { (word) } } }
                @if at == reached + 1 && !is_open { (closed) }
                @for reading in self.procedure.step(&step.id).into_iter().flat_map(job::procedure::Step::readings) {
                    @for read in course.all_last(reading) {
                        button.again type="button" data-run="again" data-about={ (reading.id) "." (read.taken.blank) } disabled[!is_open] {
                            span { (reading.quantity) @if !read.taken.blank.is_empty() { ", " (read.taken.blank) } ": " strong { (read.taken.text) } }
                            span.standing { (lower(&stands(course, &read))) }
                        }
                    }
                }
            }
        }
    }
}
