//! The one view that every calculator is shown by, as HTML.
//!
//! `press` prints `content` whole. In the browser the same functions give the HTML of one part at a time, and
//! `live` sets the parts that have changed; so what is printed and what is alive cannot drift apart.

mod answer;
mod compare;
mod drawing;
pub(crate) mod fields;
pub(crate) mod form;
pub(crate) mod formula;
pub(crate) mod link;
pub mod live;
pub(crate) mod picture;
pub(crate) mod wanted;

use calc_core::calculator::{Entry, Field, Inputs, Outcome, Report, Sheet};
use maud::{Markup, html};

/// The pages of the calculators that an answer can be taken on to, each by the calculator's id.
#[derive(Debug)]
pub(crate) struct Pages(Vec<(&'static str, String)>);

impl Pages {
    /// Asks `page_of` for the address of each.
    pub(crate) fn of(entry: &Entry, page_of: &dyn Fn(&str) -> String) -> Self {
        Self(entry.leads_to.iter().map(|sheet| (sheet.id, page_of(sheet.id))).collect())
    }

    /// Reads back what [`Pages::written`] wrote.
    pub(crate) fn read(entry: &Entry, written: &str) -> Self {
        let addresses = written.split(' ').map(str::to_owned);
        Self(entry.leads_to.iter().map(|sheet| sheet.id).zip(addresses).collect())
    }

    /// The addresses in the calculator's own order, parted by blanks.
    pub(crate) fn written(&self) -> String {
        self.0.iter().map(|(_, address)| address.as_str()).collect::<Vec<_>>().join(" ")
    }

    fn address(&self, calculator: &str) -> &str {
        self.0.iter().find(|(id, _)| *id == calculator).map_or("", |(_, address)| address)
    }
}

/// What came of the inputs.
#[derive(Debug)]
pub(crate) struct Shown {
    pub(crate) outcome: Outcome,
    /// Where an answer can be taken on to.
    pages: Pages,
    /// The last answer before, where these inputs have none.
    before: Report,
    /// The state that was kept aside.
    pub(crate) kept: Option<Outcome>,
    /// How far along the picture its cursor is, of [`picture::ALONG`].
    pub(crate) cursor: Option<u32>,
}

impl Shown {
    /// Works out the example of a page, of which nothing is the reader's own.
    pub(crate) fn new(entry: &Entry, example: &Inputs, pages: Pages) -> Self {
        Self {
            outcome: entry.run_beside(&Inputs::new(), example),
            pages,
            before: Report::default(),
            kept: None,
            cursor: None,
        }
    }

    /// Works out the reader's own inputs beside those of an example, and gives back what stood before.
    pub(crate) fn work(&mut self, entry: &Entry, own: &Inputs, example: &Inputs) -> Fields {
        let before = std::mem::replace(&mut self.outcome, entry.run_beside(own, example));
        if let (None, Some(report)) = (&self.outcome.report, before.report) {
            self.before = report;
        }
        Fields { asked: before.fields, wanted: before.wanted }
    }

    /// The answer that is shown.
    pub(crate) fn report(&self) -> &Report {
        self.outcome.report.as_ref().unwrap_or(&self.before)
    }

    /// Whether it is that of an earlier state of the fields.
    pub(crate) fn old(&self) -> bool {
        self.outcome.report.is_none()
    }
}

/// The fields of a form: what is asked, and what may be wanted of the answers.
pub(crate) struct Fields {
    pub(crate) asked: Vec<Field>,
    pub(crate) wanted: Vec<Field>,
}

/// The answer and its verdicts come first, its pictures in the next frame, and what is long to read once typing leaves a
/// frame free.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Turn {
    First,
    Second,
    Last,
}

/// A part of the answer that is set again when it has changed.
pub(crate) struct Part {
    /// What it is called in its id and as a CSS hook.
    pub(crate) name: &'static str,
    /// The line it is folded up behind. While it is, typing need not pay for what nobody sees.
    pub(crate) folded: Option<&'static str>,
    /// When it is set.
    pub(crate) turn: Turn,
    html: fn(&Shown, &str) -> Markup,
}

impl Part {
    /// The HTML of this part; the block's name keeps its ids apart from those of other blocks.
    pub(crate) fn html(&self, shown: &Shown, block: &str) -> String {
        self.markup(shown, block).into_string()
    }

    fn markup(&self, shown: &Shown, block: &str) -> Markup {
        (self.html)(shown, block)
    }

    /// The id of its element, which no field can have.
    pub(crate) fn id(&self, block: &str) -> String {
        format!("{block}-the-{}", self.name)
    }

    const fn new(name: &'static str, html: fn(&Shown, &str) -> Markup) -> Self {
        Self { name, folded: None, turn: Turn::First, html }
    }

    const fn following(name: &'static str, turn: Turn, html: fn(&Shown, &str) -> Markup) -> Self {
        Self { name, folded: None, turn, html }
    }

    const fn folded(name: &'static str, summary: &'static str, html: fn(&Shown, &str) -> Markup) -> Self {
        Self { name, folded: Some(summary), turn: Turn::Last, html }
    }
}

/// The answer, part by part: first what stays in sight beside the fields.
pub(crate) static PARTS: [Part; 16] = [
    Part::new("dock", answer::dock),
    Part::new("examples", answer::examples),
    Part::new("old-note", answer::old_note),
    Part::new("summary", answer::summary),
    Part::new("compare", compare::compare),
    Part::new("verdicts", answer::verdicts),
    Part::following("notes", Turn::Second, answer::notes),
    Part::new("answers", answer::answers),
    Part::new("carries", link::handoffs),
    Part::following("picture", Turn::Second, answer::picture),
    Part::folded("drawings", "Drawings", answer::drawings),
    Part::folded("tables", "Tables", answer::tables),
    Part::folded("working", "The working, with your numbers", answer::working),
    Part::folded("margins", "Margins, and what they depend on", answer::margins),
    Part::folded("points", "The picture as a table", answer::points),
    Part::folded("exports", "Files to save", answer::exports),
];

pub(crate) use answer::{in_words, value, value_id};

/// The calculator's title, and which of several in a page it is: `Dissipation at idle: after ten minutes`.
pub(crate) fn label(sheet: &Sheet, block: &str) -> String {
    if block == sheet.id {
        sheet.title.to_owned()
    } else {
        format!("{}: {}", sheet.title, block.replace('-', " "))
    }
}

/// The content of a block, its fields asleep: waking it removes `disabled`.
pub(crate) fn content(entry: &Entry, block: &str, shown: &Shown, example: &Inputs) -> Markup {
    let sheet = entry.sheet;
    let [dock, examples, parts @ ..] = &PARTS;
    let fields = &shown.outcome.fields;
    html! {
        a.skip href={ "#" (block) "-the-answer" } { "Skip to the answer" }
        p.title { (label(sheet, block)) }
        p.question { (sheet.question) }
        div.came id={ (block) "-came" } role="status" {}
        div.asked {
            div id=(examples.id(block)) { (examples.markup(shown, block)) }
            fieldset disabled {
                legend { "Readings and values" }
                div id={ (block) "-the-wanted" } { (wanted::all(entry, &shown.outcome.wanted, &Inputs::new(), example, block)) }
                div id={ (block) "-the-fields" } { (form::form(sheet.form, fields, block)) }
            }
            div.dock {
                p.edited id={ (block) "-edited" } {}
                p.said role="status" {}
                div.found id=(dock.id(block)) { (dock.markup(shown, block)) }
                @for field in fields { (fields::slider(field, block)) }
                details.link {
                    summary { "Keep, link" span.unseen { ": keep this aside and compare, a link to these readings, its QR code, the answer as text" } }
                    div.buttons {
                        button type="button" data-act="aside" { "Keep this aside and compare" }
                        button type="button" data-act="copy" { "Copy the answer as text" }
                    }
                    div id={ (block) "-link" } {}
                }
            }
        }
        div.answer id={ (block) "-the-answer" } tabindex="-1" {
            @for part in parts {
                @let content = part.markup(shown, block);
                @match part.folded {
                    None => div id=(part.id(block)) class=[(part.turn != Turn::First).then_some("follows")] { (content) },
                    Some(summary) => details class=(part.name) { summary { (summary) } div id=(part.id(block)) { (content) } },
                }
            }
        }
        div.buttons {
            button type="button" data-act="reset" { "Clear my entries" }
            span.unseen aria-live="polite" {}
        }
        (answer::about(sheet))
    }
}
