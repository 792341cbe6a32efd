//! The blocks `jobs`, `survey` and `sheet` as HTML: printed by `press` as paper with blanks, set anew by the browser.

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
    /// The sheet that goes back with the amplifier.
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
            div id={ (block.name()) "-content" } { (content) }
        }
    }
    .into_string()
}

fn jobs_asleep() -> Markup {
    html! { p.asleep { "The jobs on this device are listed here once scripts run. Without them, and in the edition that is one file, the form on paper is the job." } }
}

/// The job on the bench among those that are kept.
pub(super) fn current_of<'h>(heads: &'h [Head], current: Option<&str>) -> Option<&'h Head> {
    heads.iter().find(|head| Some(head.id.as_str()) == current)
}

/// The list of jobs, and what can be done with the current one; `unread` is why that one cannot be read.
#[must_use]
pub fn jobs(
    heads: &[Head],
    current: Option<&str>,
    unread: Option<&str>,
    promise: &str,
    can_share: bool,
) -> Markup {
    let now = current_of(heads, current);
    html! {
        @if heads.is_empty() { p { "There is no job on this device yet." } }
        ul.shelf {
            @for head in heads {
                li {
                    button type="button" data-act="choose" data-id=(head.id) aria-pressed=(if Some(head.id.as_str()) == current { "true" } else { "false" }) {
                        (head.label)
                        @if Some(head.id.as_str()) == current { " – on the bench now" }
                    }
                    span.hint { "changed " (day_and_minute(head.changed)) (if head.is_owing() { "; not exported since" } else { "; exported" }) }
                }
            }
        }
        @if let Some(head) = now {
            div.of-current {
                @if let Some(why) = unread {
                    p { strong { (head.label) } ": " (why) " Nothing of it was changed. Save what is kept of it first; a newer edition of the handbook, or a file you exported, may bring it back." }
                    div.buttons { button type="button" data-act="raw" { "Save its text as it is" } }
                } @else { (exports(head, can_share)) }
                details {
                    summary { "Delete this job from this device" }
                    label for="jobs-delete" { "Type its name, “" (head.label) "”, to delete it" }
                    div.entry {
                        input #jobs-delete type="text" autocomplete="off" spellcheck="false";
                        button type="button" data-act="delete" { "Delete" }
                    }
                }
            }
        }
        div.new-job {
            label for="jobs-new" { "A new job: what the amplifier is called" }
            div.entry {
                input #jobs-new type="text" autocomplete="off";
                button type="button" data-act="new" { "Begin a job" }
            }
            label for="jobs-import" { "A job from a file" }
            div.entry { input #jobs-import type="file" accept=".json,application/json"; }
        }
        p.hint { (promise) }
        p.said role="status" {}
    }
}

/// After a session of work: the job on the bench, to be exported.
#[must_use]
pub fn export(head: &Head, can_share: bool) -> Markup {
    html! { div.of-current { (exports(head, can_share)) p.said role="status" {} } }
}

/// What can be done to have a job elsewhere too.
fn exports(head: &Head, can_share: bool) -> Markup {
    html! {
        p { strong { (head.label) } @if head.is_owing() { ": changed since it was last exported. A browser may clear what it keeps; the file is yours." } }
        div.buttons {
            button type="button" data-act="export" { "Export the job as a file" }
            @if can_share { button type="button" data-act="share" { "Share the job’s file" } }
            button type="button" data-act="csv" { "Save its readings as CSV" }
        }
    }
}

/// The survey as a form; asleep it prints as blanks.
fn survey(choices: &dyn Fn(&str) -> Vec<(String, String)>) -> Markup {
    html! {
        p.which-job { "Job: " span.blank-line {} }
        fieldset disabled {
            legend { "The job" }
            div.fields {
                (text_field("label", "What the amplifier is called", "", ""))
                (text_field("owner_ref", "Whose it is", "", "In the shop’s own words: a ticket or a name."))
            }
        }
        (photo_form())
        @for group in Group::ALL {
            fieldset disabled {
                legend { (group.title()) }
                div.fields { @for known in KNOWN.iter().filter(|known| known.group == group) { (value_field(known, choices)) } }
            }
        }
        (change_form())
        (line_form("advice", "Advice to the owner", "advise"))
        (line_form("notes", "Notes", "note"))
        p.kept-at {}
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
            legend { "Photographs, before anything is unsoldered" }
            div id="survey-photos" {}
            div.field {
                label for="survey-caption" { "What the next photograph shows" }
                div.entry { input.words #survey-caption type="text" name="caption" autocomplete="off"; }
            }
            div.field.camera {
                label for="survey-photo" { "Take it, or choose it" }
                div.entry { input #survey-photo type="file" accept="image/*" capture="environment" data-act="photo"; }
                p.hint { "It is shrunk to 1600 pixels and kept with the job on this device." }
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
            legend { "Changes to the amplifier, as they are made" }
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
            p.hint { "What was measured before a change is then older than the amplifier, and every page says so. Remove only what was never made; what was put back is another change." }
        }
    }
}

fn line_form(name: &str, legend: &str, act: &str) -> Markup {
    html! {
        fieldset disabled {
            legend { (legend) }
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
