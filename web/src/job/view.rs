//! The blocks `jobs`, `survey` and `sheet` as HTML: printed by `press` as paper with blanks, set again by the browser.

pub(in crate::job) mod overview;
mod sheet;

use job::values::{Group, KNOWN, Kind, Known};
use job::{Change, ChangeKind, Entry, Job, Note, Photo, Time};
use maud::{Markup, html};

pub use sheet::{came, link, link_made, sheet, unread};

use super::store::Head;

/// A block of a page that shows jobs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Block {
    /// The jobs on this device.
    Jobs,
    /// What is known of the amplifier, as a form.
    Survey,
    /// The hand-over sheet.
    Sheet,
}

impl Block {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::Jobs, Self::Survey, Self::Sheet];

    /// Its name in a page.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Jobs => "jobs",
            Self::Survey => "survey",
            Self::Sheet => "sheet",
        }
    }

    const fn label(self) -> &'static str {
        match self {
            Self::Jobs => "Jobs on this device",
            Self::Survey => "What is known of the amplifier",
            Self::Sheet => "Hand-over sheet",
        }
    }
}

/// The block as it is printed. `choices` gives the choices of a `calculator.field`, id and label.
#[must_use]
pub fn printed(block: Block, choices: &dyn Fn(&str) -> Vec<(String, String)>) -> String {
    let content = match block {
        Block::Jobs => jobs_asleep(),
        Block::Survey => survey(choices),
        Block::Sheet => sheet(&Job::default(), &[]),
    };
    html! {
        section.job id=(block.name()) data-job=(block.name()) aria-label=(block.label()) {
            p.stopped-job role="status" {}
            p.elsewhere role="status" {}
            div id={ (block.name()) "-content" } { (content) }
        }
    }
    .into_string()
}

fn jobs_asleep() -> Markup {
    html! { p.asleep { "Your jobs appear here when scripts are on. Without scripts, and in the single-file edition, \
    use the printed form instead." } }
}

/// A job among those that are kept.
pub(super) fn head_of<'h>(heads: &'h [Head], id: Option<&str>) -> Option<&'h Head> {
    heads.iter().find(|head| Some(head.id.as_str()) == id)
}

/// The list of jobs, and what can be done with the one that the page works with.
pub(super) struct Shelf<'s> {
    pub(super) heads: &'s [Head],
    /// The job that the page works with.
    pub(super) current: Option<&'s str>,
    /// The job on the bench.
    pub(super) on_bench: Option<&'s str>,
    /// Why the job that the page works with cannot be read.
    pub(super) unread: Option<&'s str>,
    /// What the browser promises about keeping.
    pub(super) promise: &'s str,
    pub(super) can_share: bool,
}

impl Shelf<'_> {
    /// As HTML.
    pub(super) fn html(&self) -> Markup {
        let Self { heads, current, on_bench, unread, promise, can_share } = *self;
        html! {
            @if heads.is_empty() { p { "There is no job on this device yet." } }
            ul.shelf {
                @for head in heads {
                    @let is_on_bench = Some(head.id.as_str()) == on_bench;
                    li {
                        button type="button" data-act="choose" data-id=(head.id) aria-pressed=(if is_on_bench { "true" } else { "false" }) {
                            (head.label)
                            @if is_on_bench { " – on the bench now" }
                        }
                        span.hint { "changed " (day_and_minute(head.changed)) (if head.is_owing() { "; not exported since" } else { "; exported" }) }
                    }
                }
            }
            @if let Some(head) = head_of(heads, current) {
                div.of-current {
                    @if let Some(why) = unread {
                        p { strong { (head.label) } ": " (why) " Nothing was changed. First save what is kept of it; \
                                                                a newer edition of the handbook, or a file you \
                                                                exported, may bring it back." }
                        div.buttons { button type="button" data-act="raw" data-id=(head.id) { "Save its text as it is" } }
                    } @else { (exports(head, can_share)) }
                    details {
                        summary { "Delete this job from this device" }
                        label for="jobs-delete" { "Type its name, “" (head.label) "”, to delete it" }
                        div.entry {
                            input #jobs-delete type="text" autocomplete="off" spellcheck="false";
                            button type="button" data-act="delete" data-id=(head.id) { "Delete" }
                        }
                    }
                }
            }
            details.new-job open[heads.is_empty()] {
                summary { "A new job, or one from a file" }
                label for="jobs-new" { "A new job: what the amplifier is called" }
                div.entry {
                    input #jobs-new type="text" autocomplete="off";
                    button type="button" data-act="new" { "Begin a job" }
                }
                label for="jobs-import" { "A job from a file" }
                div.entry { input #jobs-import type="file" accept=".json,application/json"; }
                p.hint { (promise) }
            }
            p.said role="status" {}
        }
    }
}

/// That another job than the one of this page is on the bench, and the way to it.
pub(super) fn elsewhere(own: &str, on_bench: Option<&Head>) -> Markup {
    html! {
        @match on_bench {
            Some(head) => {
                "This is “" strong { (own) } "”, which is no longer on the bench: another tab has put “" (head.label) "” there. What you write here still goes \
                                                                                                                       to “" (own) "”. "
                button type="button" data-act="choose" data-id=(head.id) { "Work with “" (head.label) "” here" }
            },
            None => { "This is “" strong { (own) } "”, which is no longer on the bench: another tab has taken it off. \
                                                    What you write here still goes to it." },
        }
    }
}

/// After a session of work: a job, to be exported.
#[must_use]
pub fn export(head: &Head, can_share: bool) -> Markup {
    html! { div.of-current { (exports(head, can_share)) p.said role="status" {} } }
}

/// What can be done to have a job elsewhere too.
fn exports(head: &Head, can_share: bool) -> Markup {
    html! {
        p { strong { (head.label) } @if head.is_owing() { ": changed since it was last exported. A browser may clear what it keeps; the file is yours." } }
        div.buttons {
            button type="button" data-act="export" data-id=(head.id) { "Export the job as a file" }
            @if can_share { button type="button" data-act="share" data-id=(head.id) { "Share the job’s file" } }
            button type="button" data-act="csv" data-id=(head.id) { "Save its readings as CSV" }
        }
    }
}

/// The survey as a form; asleep it prints as blanks. Its parts are folded up where scripts run.
fn survey(choices: &dyn Fn(&str) -> Vec<(String, String)>) -> Markup {
    html! {
        p.which-job { "Job: " span.blank-line {} }
        div.parts {
            (part("power-up", "For the power-up", &html! { div id="survey-power-up" {} }))
            (part("runs", "Procedures", &html! { div id="survey-runs" {} }))
            (part("job", "The job", &html! {
                fieldset disabled {
                    legend.unseen { "The job" }
                    div.fields {
                        (text_field("label", "What the amplifier is called", "", ""))
                        (text_field("owner_ref", "Whose it is", "", "In the shop’s own words: a ticket or a name."))
                    }
                }
            }))
            (part("times", "Readings by time", &html! { div id="survey-times" {} }))
            @for group in Group::ALL {
                (part(group.name(), group.title(), &html! {
                    fieldset disabled {
                        legend.unseen { (group.title()) }
                        div.fields { @for known in KNOWN.iter().filter(|known| known.group == group) { (value_field(known, choices)) } }
                    }
                }))
            }
            (part("photos", "Photographs, before anything is unsoldered", &photo_form()))
            (part("changes", "Changes to the amplifier, as they are made", &change_form()))
            (part("advice", "Advice to the owner", &line_form("advice", "Advice to the owner", "advise")))
            (part("notes", "Notes", &line_form("notes", "Notes", "note")))
        }
        p.kept-at {}
    }
}

/// A part of the survey under its heading, which folds it up.
fn part(name: &str, title: &str, content: &Markup) -> Markup {
    html! {
        section.part data-part=(name) {
            h3 { button type="button" data-act="fold" data-id=(name) aria-expanded="true" { span { (title) } " " span.count data-count=(name) {} } }
            div.content { (content) }
        }
    }
}

fn value_field(known: &Known, choices: &dyn Fn(&str) -> Vec<(String, String)>) -> Markup {
    let options: Vec<(String, String)> = match known.kind {
        Kind::Choice(choices) => {
            choices.iter().map(|(id, label)| ((*id).to_owned(), (*label).to_owned())).collect()
        }
        Kind::ChoiceOf(field) => choices(field),
        _ => return text_field(known.id, known.label, known.unit(), known.hint),
    };
    let id = format!("survey-{}", known.id);
    html! {
        div.field {
            label for=(id) { (known.label) }
            div.entry {
                select id=(id) name=(known.id) {
                    option value="" { "not known" }
                    @for (option, label) in &options { option value=(option) { (label) } }
                }
            }
            p.hint { (known.hint) }
            div.problem id={ (id) "-problem" } {}
        }
    }
}

fn text_field(name: &str, label: &str, unit: &str, hint: &str) -> Markup {
    let id = format!("survey-{name}");
    html! {
        div.field {
            label for=(id) { (label) }
            div.entry {
                input class=[unit.is_empty().then_some("words")] type="text" id=(id) name=(name) autocomplete="off" autocapitalize="off" spellcheck="false" aria-describedby={ (id) "-problem" };
                span.unit { (unit) }
            }
            p.hint { (hint) }
            div.problem id={ (id) "-problem" } {}
        }
    }
}

fn photo_form() -> Markup {
    html! {
        fieldset.photos disabled {
            legend.unseen { "Photographs, before anything is unsoldered" }
            div id="survey-photos" {}
            div.field {
                label for="survey-caption" { "What the next photograph shows" }
                div.entry { input.words #survey-caption type="text" name="caption" autocomplete="off"; }
            }
            div.field.camera {
                label for="survey-photo" { "Take one, or choose one" }
                div.entry { input #survey-photo type="file" accept="image/*" capture="environment" data-act="photo"; }
                p.hint { "It is reduced to 1600 pixels and kept with the job on this device." }
            }
        }
    }
}

const KINDS: [(ChangeKind, &str, &str); 4] = [
    (ChangeKind::Fitted, "fitted", "Fitted"),
    (ChangeKind::TakenOut, "taken-out", "Taken out"),
    (ChangeKind::Set, "set", "Set"),
    (ChangeKind::Swapped, "swapped", "Swapped"),
];

/// The kind of a change by its name in the form.
#[must_use]
pub fn change_kind(name: &str) -> Option<ChangeKind> {
    KINDS.iter().find(|(_, id, _)| *id == name).map(|(kind, ..)| *kind)
}

fn change_form() -> Markup {
    html! {
        fieldset disabled {
            legend.unseen { "Changes to the amplifier, as they are made" }
            div id="survey-changes" { (changes(&[], None)) }
            div.fields {
                div.field {
                    label for="survey-change-kind" { "What kind" }
                    div.entry { select #survey-change-kind name="change-kind" { @for (_, id, label) in KINDS { option value=(id) { (label) } } } }
                }
                (text_field("change-what", "What", "", "Grid leak, coupling capacitor, bias trimmer."))
                (text_field("change-place", "Where", "", "As seen in this chassis."))
                (text_field("change-value", "What is there now", "", ""))
                (text_field("change-before", "What was there before", "", ""))
                (text_field("change-kept", "Where the old part is kept", "", ""))
            }
            div.buttons { button type="button" data-act="change" { "Write the change down" } }
            p.hint { "Readings taken before a change are marked as out of date on every page. Remove an entry only if \
                      the change was never made; if a part was put back, record that as a new change." }
        }
    }
}

fn line_form(name: &str, legend: &str, act: &str) -> Markup {
    html! {
        fieldset disabled {
            legend.unseen { (legend) }
            ul id={ "survey-" (name) } {}
            div.field {
                label.unseen for={ "survey-" (act) } { (legend) }
                textarea id={ "survey-" (act) } name=(act) rows="2" {}
                div.buttons { button type="button" data-act=(act) { "Write it down" } }
            }
        }
    }
}

/// What was changed, as a table; three empty rows where nothing was, for the paper. With the job they are of each can be removed.
#[must_use]
pub fn changes(changes: &[Change], job: Option<&Job>) -> Markup {
    html! {
        div.scroll role="group" aria-label="Changes" tabindex="0" {
            table {
                thead { tr { @for head in ["", "What, where", "Now", "Before", "Old part kept"] { @if head.is_empty() { td {} } @else { th scope="col" { (head) } } } @if job.is_some() { td {} } } }
                tbody {
                    @for change in changes {
                        @let stands = job.is_none_or(|job| job.stands(change));
                        tr.removed[!stands] {
                            th scope="row" { @if !stands { "Removed: " } (kind(change.kind)) }
                            td { (change.what) @if !change.place.is_empty() { ", " (change.place) } }
                            td { (change.value) } td { (change.before) } td { (change.kept) }
                            @if job.is_some() { td { (removing(change, stands, &change.what)) } }
                        }
                    }
                    @if changes.is_empty() { @for _ in 0..3 { tr.blank { td {} td {} td {} td {} td {} } } }
                }
            }
        }
    }
}

/// What was written down in a job, line by line.
#[must_use]
pub fn lines(notes: &[Note], job: &Job) -> Markup {
    html! {
        @for note in notes {
            @let stands = job.stands(note);
            li.removed[!stands] {
                @if !stands { "Removed: " }
                (note.text) " " span.hint { (day_and_minute(note.at)) } " " (removing(note, stands, &note.text))
            }
        }
    }
}

/// Removes an entry, or puts it back.
fn removing(entry: &impl Entry, stands: bool, what: &str) -> Markup {
    let word = if stands { "Remove" } else { "Put back" };
    html! { button type="button" data-act="remove" data-entry=(entry.key()) data-removed=(stands) aria-label={ (word) ": " (what) } { (word) } }
}

/// A photograph and its address.
pub type Shown<'p> = (&'p Photo, String);

/// The photographs. With `remove` each can be removed, after another question: its picture does not come back.
#[must_use]
pub fn photos(photos: &[Shown<'_>], remove: bool) -> Markup {
    html! {
        @for (photo, address) in photos {
            figure {
                @if address.is_empty() { p { "This picture is not on this device." } }
                @else { img src=(address) alt=(if photo.caption.is_empty() { "Photograph without a caption" } else { &photo.caption }) width=(photo.width) height=(photo.height); }
                figcaption { (photo.caption) " " span.hint { (day_and_minute(photo.at)) } }
                @if remove {
                    details {
                        summary { "Remove this photograph" }
                        p { "It is then gone from this device and from what is exported later." }
                        button type="button" data-act="remove" data-entry=(photo.key()) data-photo=(photo.id) data-removed="true" aria-label={ "Remove it: " (photo.caption) } { "Remove it" }
                    }
                }
            }
        }
    }
}

const fn kind(kind: ChangeKind) -> &'static str {
    match kind {
        ChangeKind::Fitted => "Fitted",
        ChangeKind::TakenOut => "Taken out",
        ChangeKind::Set => "Set",
        ChangeKind::Swapped => "Swapped",
    }
}

/// `2026-11-25 21:11`, UTC.
fn day_and_minute(at: Time) -> String {
    at.to_string().chars().take(16).map(|letter| if letter == 'T' { ' ' } else { letter }).collect()
}
