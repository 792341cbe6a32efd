//! What a step of a procedure carries: readings, ticks, choices, timers. On paper they are boxes and blanks; what the
//! browser needs to run them is in the page as JSON.

use super::own_words::{sentence, together};
use super::{Context, Found};
use crate::address::relative;
use crate::markdown::NOTES;
use crate::markdown::tree::{Element, Kind, Node, change, nodes};
use crate::page::links::{Anchor, Follow};
use crate::read::book::{Page, first_line};
use crate::read::front_matter;
use crate::read::toml_text::{TomlText, complain};
use crate::source_text::{SourceLocation, SourceText};
use job::block::{Block, Fault, completed};
use job::procedure::{
    Answer, ChoiceOption, ChoiceSpec, Gate, Go, Item, Procedure, ReadingSpec, Step, TickSpec, TimerSpec,
};
use job::run::judge::lower;
use maud::{Markup, html};
use std::collections::BTreeMap;

/// The id of the place where a procedure is begun; the browser fills it.
pub const RUN: &str = "page-run";
/// What offers to run it.
pub const SCRIPT: &str = "run.js";
/// The class of a list of steps.
const STEPS: &str = "steps";
/// The page that lists the jobs.
const JOBS: &str = "content/1-survey/2-the-job.md";

/// Whether steps are counted on this page.
pub(super) fn has_steps(page: &Page) -> bool {
    page.front.kind == front_matter::Kind::Procedure
}

/// Numbers the steps of a procedure, prints what its steps carry, and gives back both for the run.
pub(super) fn read(follow: Follow<'_>, nodes: &mut [Node], anchors: &mut Vec<Anchor>) -> Steps {
    let mut reader = Reader { follow, anchors, steps: Vec::new(), places: BTreeMap::new() };
    reader.read(nodes, false);
    Steps { steps: reader.steps, places: reader.places }
}

/// The steps of a page.
pub(super) struct Steps {
    steps: Vec<Step>,
    /// Where each begins, by its id.
    places: BTreeMap<String, SourceLocation>,
}

impl Steps {
    /// In the order of the page.
    pub(super) fn all(&self) -> &[Step] {
        &self.steps
    }

    /// Where the procedure has gates it can be run: puts the place where it is begun before its first step.
    pub(super) fn offer_run(self, context: &Context<'_>, page: &Page, nodes: &mut [Node], found: &mut Found) {
        let (path, title) = (page.path.clone(), page.front.title.clone());
        let procedure = Procedure { page: path, title, steps: self.steps };
        if !can_run(&procedure) {
            return;
        }
        let first = first_line(&page.file);
        for fault in procedure.faults() {
            let step = fault.key.split(' ').next().unwrap_or_default();
            complain(self.places.get(step).unwrap_or(&first), fault, context.faults);
        }
        let said = serde_json::to_string(&procedure).unwrap_or_default();
        let jobs = context.book.pages.iter().find(|page| &*page.file == JOBS);
        let jobs = jobs.map(|jobs| relative(&page.path, &jobs.path)).unwrap_or_default();
        let run = html! { div id=(RUN) data-page=(page.path) data-jobs=(jobs) data-procedure=(said) {} };
        found.scripts.insert(SCRIPT.to_owned());
        let mut run = Some(run);
        change(nodes, &mut |node| {
            let first = node.element().is_some_and(|list| {
                list.attribute("class") == Some(STEPS) && list.attribute("start").is_none()
            });
            if first && let Some(run) = run.take() {
                let list = Node {
                    kind: std::mem::replace(&mut node.kind, Kind::Group(Vec::new())),
                    place: node.place.take(),
                };
                node.kind = Kind::Group(nodes![run, list]);
            }
        });
    }
}

/// Goes through a page in order.
struct Reader<'a, 'f> {
    follow: Follow<'f>,
    anchors: &'a mut Vec<Anchor>,
    steps: Vec<Step>,
    places: BTreeMap<String, SourceLocation>,
}

impl Reader<'_, '_> {
    fn read(&mut self, nodes: &mut [Node], in_list: bool) {
        for node in nodes {
            match &mut node.kind {
                // The outermost numbered lists of a procedure are its steps, but for that of its notes.
                Kind::Element(list) if list.name == "ol" && !in_list && has_steps(self.follow.page) => {
                    self.number(list);
                }
                Kind::Element(element) => {
                    let is_list =
                        matches!(element.name, "ol" | "ul") || element.attribute(NOTES.0) == Some(NOTES.1);
                    self.read(&mut element.children, in_list || is_list);
                }
                Kind::Group(inside) => self.read(inside, in_list),
                Kind::Block { word, body } => {
                    let printed = match word.as_str() {
                        "reading" => self.reading(body),
                        "tick" => self.tick(body),
                        "choice" => self.choice(body),
                        "timer" => self.timer(body),
                        _ => None,
                    };
                    node.kind =
                        printed.map_or(Kind::Group(Vec::new()), |printed| Kind::Html(printed.into_string()));
                }
                _ => {}
            }
        }
    }

    /// The steps of a list, each with its number.
    fn number(&mut self, list: &mut Element) {
        let first = list.attribute("start").and_then(|start| start.parse::<u64>().ok()).unwrap_or(1);
        list.attributes.insert(0, ("class", STEPS.to_owned()));
        for (number, item) in (first..).zip(&mut list.children) {
            let place = item.place.clone();
            let Kind::Element(item) = &mut item.kind else { continue };
            let id = format!("step-{number}");
            self.steps.push(Step { id: id.clone(), items: Vec::new() });
            self.places.extend(place.map(|place| (id.clone(), place)));
            item.attributes.push(("id", id));
            item.children
                .insert(0, Element::new("p", nodes![format!("Step {number}")]).with("class", "step").into());
            self.read(&mut item.children, true);
        }
    }

    /// A reading to take.
    fn reading(&mut self, body: &SourceText) -> Option<Markup> {
        let (mut spec, toml) = self.spec(body, |block, id| {
            let readings = &self.follow.context.book.readings;
            let block = completed(block.clone(), readings).map_err(|fault| vec![fault])?;
            ReadingSpec::from_block(&block, id)
        })?;
        spec.go = spec.go.and_then(|go| self.followed(&go.href(), toml.place("go")));
        let printed = reading(&spec, &html! { (self.only(spec.when.as_ref())) (self.after(&spec.after)) });
        self.carries(Item::Reading(spec));
        Some(printed)
    }

    /// Something to tick.
    fn tick(&mut self, body: &SourceText) -> Option<Markup> {
        let (spec, _) = self.spec(body, TickSpec::from_block)?;
        let printed = html! { div.tick data-item=(spec.id) { span.box aria-hidden="true" {} " " (spec.text) (gate(spec.gate)) (self.only(spec.when.as_ref())) } };
        self.carries(Item::Tick(spec));
        Some(printed)
    }

    /// A branch to take.
    fn choice(&mut self, body: &SourceText) -> Option<Markup> {
        let (spec, _) = self.spec(body, ChoiceSpec::from_block)?;
        let printed = html! {
            div.choice data-item=(spec.id) {
                p.quantity { (spec.question) (self.only(spec.when.as_ref())) }
                ul {
                    @for option in &spec.options {
                        li { span.box aria-hidden="true" {} " " (option.text) ": " a href={ "#" (option.go) } { (option.go.replace('-', " ")) } }
                    }
                }
            }
        };
        self.carries(Item::Choice(spec));
        Some(printed)
    }

    /// A time to wait.
    fn timer(&mut self, body: &SourceText) -> Option<Markup> {
        let (spec, _) = self.spec(body, TimerSpec::from_block)?;
        let printed = html! {
            div.timer data-item=(spec.id) {
                "Wait: " (spec.text) ", " (time(spec.seconds)) ". From: " (spec.start) "." (self.only(spec.when.as_ref()))
            }
        };
        self.carries(Item::Timer(spec));
        Some(printed)
    }

    /// On which answer something depends, in the first words of that answer.
    fn only(&self, when: Option<&Answer>) -> Markup {
        let mut choices = self.steps.iter().flat_map(Step::choices);
        let option = when.and_then(|when| {
            let choice = choices.find(|choice| choice.id == when.choice)?;
            Some((choice, choice.options.iter().find(|option| option.id == when.option)?))
        });
        html! {
            @if let Some((choice, option)) = option {
                " " span.only {
                    "Only where " span.at-length { "the answer to “" (choice.question) "” was " } "“" (short(choice, option)) "”."
                }
            }
        }
    }

    /// The wait that comes before a reading.
    fn after(&self, timer: &str) -> Markup {
        let mut timers = self.steps.last().into_iter().flat_map(Step::timers);
        html! {
            @if let Some(timer) = timers.find(|known| known.id == timer) {
                " " span.only { "Not before " (time(timer.seconds)) " from: " (timer.start) "." }
            }
        }
    }

    /// Reads a block, and complains of what is wrong with it at its key.
    fn spec<S>(
        &self,
        body: &SourceText,
        read: impl FnOnce(&Block, &str) -> Result<S, Vec<Fault>>,
    ) -> Option<(S, TomlText)> {
        let faults = self.follow.context.faults;
        let toml = TomlText::read(body, "block of a step", faults)?;
        match read(&toml.block, &self.next_id()) {
            Ok(spec) => Some((spec, toml)),
            Err(wrongs) => {
                toml.complain("", wrongs, faults);
                None
            }
        }
    }

    /// The id of what comes next in this step, where it gives none itself: `step-5`, then `step-5-2`.
    fn next_id(&self) -> String {
        self.steps.last().map_or_else(
            || "step".to_owned(),
            |step| match step.items.len() {
                0 => step.id.clone(),
                more => format!("{}-{}", step.id, more + 1),
            },
        )
    }

    /// Where a reading leads that is out of range, its address from this page.
    fn followed(&mut self, go: &str, place: &SourceLocation) -> Option<Go> {
        let link = self.follow.link(go, place, self.anchors)?;
        Some(Go::read(&link.href))
    }

    fn carries(&mut self, item: Item) {
        if let Some(step) = self.steps.last_mut() {
            step.items.push(item);
        }
    }
}

/// Whether anything in it stops who does it: without a gate it is text to be read.
fn can_run(procedure: &Procedure) -> bool {
    let gates = |item: &Item| match item {
        Item::Reading(reading) => reading.gate.is_some(),
        Item::Tick(tick) => tick.gate.is_some(),
        Item::Choice(_) | Item::Timer(_) => false,
    };
    procedure.steps.iter().flat_map(|step| &step.items).any(gates)
}

/// A reading on paper.
fn reading(spec: &ReadingSpec, only: &Markup) -> Markup {
    let (before, figure, after) = spec.stop_parts();
    html! {
        div.reading data-item=(spec.id) role="group" aria-label={ "Reading: " (spec.quantity) } {
            div.says {
                p.quantity { (together(&spec.quantity)) (gate(spec.gate)) (only) }
                dl {
                    div { dt { "Probes" } " " dd { (sentence(&spec.probes)) } } " "
                    div { dt { "Expect" } " " dd { (sentence(&spec.expect)) } }
                }
                p.stop-rule {
                    "Stop if " (together(&lower(before)))
                    @if let Some(figure) = figure {
                        span.figure { (together(figure)) } (together(after))
                    }
                    "."
                }
                @if !spec.means.is_empty() { p.means { "Out of range" span.at-length { ", it likely means" } ": " (sentence(&spec.means)) } }
                @if !spec.alike_means.is_empty() { p.means { "Apart" span.at-length { ", they likely mean" } ": " (sentence(&spec.alike_means)) } }
            }
            // To be filled in on paper: a run asks for them itself.
            dl.blanks {
                @for blank in spec.blanks.printed() {
                    div { dt { @if blank.is_empty() { "Reading" } @else { (blank) } } dd { (spec.unit) } }
                }
            }
        }
    }
}

/// What waits for it.
fn gate(gate: Option<Gate>) -> Markup {
    html! {
        @match gate {
            Some(Gate::Hard) => { " " span.gate { "Hard gate" } },
            Some(Gate::Soft) => { " " span.gate { "Soft gate" span.at-length { ": a written reason opens it too" } } },
            None => {},
        }
    }
}

/// An answer up to its first comma, colon or semicolon; all of it where another answer begins with the same words.
fn short<'c>(choice: &'c ChoiceSpec, option: &'c ChoiceOption) -> &'c str {
    let first = |text: &'c str| text.split([',', ':', ';']).next().unwrap_or(text);
    let same = choice.options.iter().filter(|other| first(&other.text) == first(&option.text)).count();
    if same > 1 { option.text.trim_end_matches('.') } else { first(&option.text) }
}

fn time(seconds: u32) -> String {
    let part = |count: u32, one: &str| {
        (count > 0).then(|| format!("{count} {one}{}", if count == 1 { "" } else { "s" }))
    };
    let parts = [part(seconds / 60, "minute"), part(seconds % 60, "second")];
    parts.into_iter().flatten().collect::<Vec<_>>().join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_time_is_said_in_words() {
        let said = [60, 90, 600, 1, 3600].map(time);
        assert_eq!(said, ["1 minute", "1 minute 30 seconds", "10 minutes", "1 second", "60 minutes"]);
    }

    #[test]
    fn an_answer_is_cut_where_it_still_differs_from_the_others() {
        let option = |text: &str| ChoiceOption { text: text.to_owned(), ..ChoiceOption::default() };
        let options = ["By hand, with two meters", "Harness: no", "Harness: yes."].map(option).to_vec();
        let choice = ChoiceSpec { options, ..ChoiceSpec::default() };
        let said: Vec<&str> = choice.options.iter().map(|option| short(&choice, option)).collect();
        assert_eq!(said, ["By hand", "Harness: no", "Harness: yes"]);
    }
}
