//! What a step of a procedure carries: readings, ticks, choices, timers. On paper they are boxes and blanks; what the
//! browser needs to run them stands in the page as JSON.

use crate::fault::Place;
use crate::front::Kind;
use crate::link;
use crate::piece::Piece;
use crate::table::from_toml;
use crate::text::{Flow, Text, Writer};
use calc_core::calculators::LIMITS;
use job::Among;
use job::judge::lower;
use job::procedure::words::{Part, parts};
use job::procedure::{
    Answer, Block, ChoiceOption, ChoiceSpec, Fault, Gate, Go, Item, Procedure, ReadingSpec, Step, TickSpec,
    TimerSpec, completed, wrong_words,
};
use maud::{Markup, html};
use pulldown_cmark::Event;

/// The id of the place where a procedure is begun; the browser fills it.
pub const RUN: &str = "page-run";
/// What offers to run it.
pub const SCRIPT: &str = "run.js";
/// The page that lists the jobs.
const JOBS: &str = "content/1-survey/2-the-job.md";

impl Writer<'_> {
    /// A reading to take.
    pub(crate) fn reading(&mut self, body: &Piece) -> String {
        let spec = self.spec(body, |block, id| {
            let block = completed(block.clone(), &self.shop.book.readings).map_err(|fault| vec![fault])?;
            ReadingSpec::from_block(&block, id, &OURS)
        });
        let Some(mut spec) = spec else { return String::new() };
        spec.go = spec.go.and_then(|go| self.followed(&go.href(), &place_of(body, "go")));
        let printed = reading(&spec, &html! { (self.only(spec.when.as_ref())) (self.after(&spec.after)) });
        self.carries(Item::Reading(spec));
        printed.into_string()
    }

    /// Something to tick.
    pub(crate) fn tick(&mut self, body: &Piece) -> String {
        let Some(spec) = self.spec(body, TickSpec::from_block) else { return String::new() };
        let printed = html! { div.tick data-item=(spec.id) { span.box aria-hidden="true" {} " " (spec.text) (gate(spec.gate)) (self.only(spec.when.as_ref())) } };
        self.carries(Item::Tick(spec));
        printed.into_string()
    }

    /// A branch to take.
    pub(crate) fn choice(&mut self, body: &Piece) -> String {
        let Some(spec) = self.spec(body, ChoiceSpec::from_block) else { return String::new() };
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
        printed.into_string()
    }

    /// A time to wait.
    pub(crate) fn timer(&mut self, body: &Piece) -> String {
        let Some(spec) = self.spec(body, TimerSpec::from_block) else { return String::new() };
        let printed = html! {
            div.timer data-item=(spec.id) {
                "Wait: " (spec.text) ", " (time(spec.seconds)) ". From: " (spec.start) "." (self.only(spec.when.as_ref()))
            }
        };
        self.carries(Item::Timer(spec));
        printed.into_string()
    }

    /// Running text in which the amplifier's own words stand.
    pub(crate) fn write_own(&mut self, text: &str, place: &Place, flow: &mut Flow<'_>) {
        for (found, wrong, right) in wrong_words(text, &OURS) {
            self.shop.faults.add(place, found, wrong, right);
        }
        for part in parts(text) {
            match part {
                Part::Text(text) if flow.quiet == 0 => self.write_words(text.to_owned().into(), flow),
                Part::Text(text) => flow.out.push(Event::Text(text.to_owned().into())),
                Part::Own(of, example) => flow.html(own(of, example).into_string()),
            }
        }
    }

    /// On which answer something depends, in the first words of that answer.
    fn only(&self, when: Option<&Answer>) -> Markup {
        let mut choices = self.text.steps.iter().flat_map(Step::choices);
        let option = when.and_then(|when| {
            let choice = choices.find(|choice| choice.id == when.choice)?;
            Some((choice, choice.options.iter().find(|option| option.id == when.option)?))
        });
        html! {
            @if let Some((choice, option)) = option {
                " " span.only { "Only where the answer to “" (choice.question) "” was “" (short(choice, option)) "”." }
            }
        }
    }

    /// The wait that comes before a reading.
    fn after(&self, timer: &str) -> Markup {
        let mut timers = self.text.steps.last().into_iter().flat_map(Step::timers);
        html! {
            @if let Some(timer) = timers.find(|known| known.id == timer) {
                " " span.only { "Not before " (time(timer.seconds)) " from: " (timer.start) "." }
            }
        }
    }

    /// Reads a block, and complains of what is wrong with it at its key.
    fn spec<S>(&self, body: &Piece, read: impl FnOnce(&Block, &str) -> Result<S, Vec<Fault>>) -> Option<S> {
        let block: Block = from_toml(body, "block of a step", self.shop.faults)?;
        match read(&block, &self.next_id()) {
            Ok(spec) => Some(spec),
            Err(wrongs) => {
                wrongs.into_iter().for_each(|fault| self.complain(&place_of(body, &fault.key), fault));
                None
            }
        }
    }

    fn complain(&self, place: &Place, fault: Fault) {
        let found = if fault.found.is_empty() {
            format!("`{}`", fault.key)
        } else {
            format!("{} = \"{}\"", fault.key, fault.found)
        };
        self.shop.faults.add(place, found, fault.wrong, fault.right);
    }

    /// The id of what comes next in this step, where it gives none itself: `step-5`, then `step-5-2`.
    fn next_id(&self) -> String {
        self.text.steps.last().map_or_else(
            || "step".to_owned(),
            |step| match step.items.len() {
                0 => step.id.clone(),
                more => format!("{}-{}", step.id, more + 1),
            },
        )
    }

    /// Where a reading leads that is out of range, its address from this page.
    fn followed(&mut self, go: &str, place: &Place) -> Option<Go> {
        let link =
            link::follow(go, place, self.page, self.shop.book, &mut self.text.anchors, self.shop.faults)?;
        Some(Go::read(&link.href))
    }

    fn carries(&mut self, item: Item) {
        if let Some(step) = self.text.steps.last_mut() {
            step.items.push(item);
        }
    }

    /// Ends the page: a procedure with gates can be run, and what it takes is put before its first step.
    pub(crate) fn end_steps(&mut self, html: String) -> String {
        let procedure = Procedure {
            page: self.page.path.clone(),
            title: self.page.front.title.clone(),
            steps: std::mem::take(&mut self.text.steps),
        };
        if !can_run(&procedure) {
            return html;
        }
        let first = crate::book::first_line(&self.page.file);
        for fault in procedure.faults() {
            let step = fault.key.split(' ').next().unwrap_or_default();
            let place = self.text.ids.get(step).cloned();
            self.complain(place.as_ref().unwrap_or(&first), fault);
        }
        self.take_id(RUN, &first);
        let said = serde_json::to_string(&procedure).unwrap_or_default();
        let jobs = self.shop.book.pages.iter().find(|page| &*page.file == JOBS);
        let jobs = jobs.map(|jobs| link::relative(&self.page.path, &jobs.path)).unwrap_or_default();
        let page = &self.page.path;
        let run =
            html! { div id=(RUN) data-page=(page) data-jobs=(jobs) data-procedure=(said) {} }.into_string();
        self.text.scripts.insert(SCRIPT.to_owned());
        html.replacen(Text::STEPS, &format!("{run}\n{}", Text::STEPS), 1)
    }

    /// Whether steps are counted on this page.
    pub(crate) fn has_steps(&self) -> bool {
        self.page.front.kind == Kind::Procedure
    }

    /// A step begins.
    pub(crate) fn begin_step(&mut self, id: &str) {
        self.text.steps.push(Step { id: id.to_owned(), items: Vec::new() });
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

/// What limits are worked out by.
const OURS: Among<'_> = Among(&[&LIMITS]);

/// The amplifier's own: on paper the example; a run finds it by what it is of.
fn own(of: &str, example: &str) -> Markup {
    html! { span data-of=(of) { (together(example)) } }
}

/// A sentence of a block.
fn sentence(text: &str) -> Markup {
    html! {
        @for part in parts(text) {
            @match part {
                Part::Text(text) => { (together(text)) },
                Part::Own(of, example) => { (own(of, example)) },
            }
        }
    }
}

/// A reading on paper.
fn reading(spec: &ReadingSpec, only: &Markup) -> Markup {
    let (before, figure, after) = spec.stop_parts();
    html! {
        div.reading data-item=(spec.id) role="group" aria-label={ "Reading: " (spec.quantity) } {
            p.quantity { (together(&spec.quantity)) (gate(spec.gate)) (only) }
            dl {
                div { dt { "Probes" } dd { (sentence(&spec.probes)) } }
                div { dt { "Expect" } dd { (sentence(&spec.expect)) } }
                @for blank in spec.blanks.printed() {
                    div.blank { dt { @if blank.is_empty() { "Reading" } @else { (blank) } } dd { span { (spec.unit) } } }
                }
            }
            p.stop-rule {
                "Stop if " (together(&lower(before)))
                @if let Some(figure) = figure {
                    span.figure { (together(figure)) } (together(after))
                }
                "."
            }
            @if !spec.means.is_empty() { p.means { "Out of range, it likely means: " (sentence(&spec.means)) } }
            @if !spec.alike_means.is_empty() { p.means { "Apart, they likely mean: " (sentence(&spec.alike_means)) } }
        }
    }
}

/// A figure stays with its unit: `10` at the end of a line and `V` on the next can be misread from where one stands.
fn together(text: &str) -> String {
    const UNITS: [&str; 11] = ["V", "mV", "A", "mA", "W", "Ω", "kΩ", "MΩ", "µF", "%", "s"];
    let mut written = String::with_capacity(text.len());
    for (at, word) in text.split(' ').enumerate() {
        let unit = word.trim_end_matches(|mark: char| ".,;:)".contains(mark));
        let joins = written.ends_with(|last: char| last.is_ascii_digit()) && UNITS.contains(&unit);
        if at > 0 {
            written.push(if joins { '\u{a0}' } else { ' ' });
        }
        written.push_str(word);
    }
    written
}

/// What waits for it.
fn gate(gate: Option<Gate>) -> Markup {
    html! {
        @match gate {
            Some(Gate::Hard) => { " " span.gate { "Hard gate" } },
            Some(Gate::Soft) => { " " span.gate { "Soft gate: a written reason opens it too" } },
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

/// Where the key stands in a block; its first line where it does not.
fn place_of(body: &Piece, key: &str) -> Place {
    let key = key.split(['.', ' ']).next().unwrap_or_default();
    let mut at = 0;
    for line in body.text.split_inclusive('\n') {
        if line.trim_start().strip_prefix(key).is_some_and(|rest| rest.trim_start().starts_with('=')) {
            return body.place(at);
        }
        at += line.len();
    }
    body.place(0)
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

    #[test]
    fn a_figure_stays_with_its_unit() {
        assert_eq!(together("10 V or more: hands out"), "10\u{a0}V or more: hands out");
        assert_eq!(together("0.5 Ω: no power, 2 valves"), "0.5\u{a0}Ω: no power, 2 valves");
    }

    #[test]
    fn the_amplifiers_own_words_are_printed_as_the_example_and_found_by_what_they_are_of() {
        let printed =
            sentence("red on pin {pin grid: 5}, about {0.95 × job.bias-expected: −43.7 V} & falling");
        assert_eq!(
            printed.into_string(),
            "red on pin <span data-of=\"pin grid\">5</span>, about \
             <span data-of=\"0.95 × job.bias-expected\">−43.7\u{a0}V</span> &amp; falling"
        );
    }

    #[test]
    fn a_key_is_found_on_its_line() {
        let body = Piece::new("a.md".into(), "unit = \"V\"\nlow = \"1\"\nnote-low = \"0\"\n", 10);
        let line = |key: &str| place_of(&body, key).line;
        assert_eq!((line("unit"), line("note-low"), line("low"), line("gone")), (10, 12, 11, 10));
    }
}
