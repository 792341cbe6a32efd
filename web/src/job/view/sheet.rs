//! The hand-over sheet as HTML, its link, and what is above one that came with a link.

use job::share::sheet_link::Unread;
use job::sheet::{BeforeAfter, Sheet, is_socket};
use job::{Job, Judged, Reading};
use maud::{Markup, html};

use super::{Shown, changes, day_and_minute, photos};
use crate::calculator::link::given_out;

/// The hand-over sheet; of a job without anything, blanks for the paper.
#[must_use]
pub fn sheet(job: &Job, pictures: &[Shown<'_>]) -> Markup {
    let sheet = Sheet::of(job);
    let blank = job.id.is_empty();
    html! {
        div.sheet-head {
            p.sheet-title { "Amplifier: " @if job.label.is_empty() { span.blank-line {} } @else { strong { (job.label) } } }
            p { "Owner: " @if job.owner_ref.is_empty() { span.blank-line {} } @else { (job.owner_ref) } }
            p { "Date: " @if blank { span.blank-line {} } @else { (job.changed.date()) } }
        }
        h2 { "The amplifier" }
        @if sheet.amplifier.is_empty() { p.nothing { "Nothing written down." } }
        dl.known {
            @for value in &sheet.amplifier {
                div { dt { (value.label) } dd { (value.text) @if value.stale { " (before the last change)" } } }
            }
        }
        h2 { "Readings, before and after" }
        (table(&["Reading", "Before", "After"], before_and_after(&sheet), 4))
        h2 { "Parts and settings" }
        (changes(&sheet.parts, None))
        h2 { "How to put it back" }
        @if sheet.put_back.is_empty() { p.nothing { "Nothing was changed." } }
        ol { @for line in &sheet.put_back { li { (line) } } }
        h2 { "Advice" }
        @if sheet.advice.is_empty() { p.nothing { "None written down." } }
        ul { @for line in &sheet.advice { li { (line) } } }
        h2 { "Readings that prove it" }
        (table(&["Reading", "Read", "Range", "Result", "When"], proofs(&sheet.proofs), 4))
        @if !sheet.reasons.is_empty() {
            h2 { "Passed by a written reason" }
            (table(&["What", "Reason", "When"], sheet.reasons.iter().map(|reason| vec![reason.about.clone(), reason.text.clone(), day_and_minute(reason.at)]).collect(), 0))
        }
        @if !pictures.is_empty() { h2 { "Photographs" } div.pictures { (photos(pictures, false)) } }
        @if !blank { div.buttons { button type="button" data-act="print" { "Print this sheet" } } }
    }
}

/// What makes a link of the hand-over sheet, and what it contains.
#[must_use]
pub fn link() -> Markup {
    html! {
        details {
            summary { "A link to this hand-over sheet, without names" }
            p { "For an apprentice or a colleague: the link contains the hand-over sheet itself, and no server keeps it. Left out are the job’s name, the owner, notes, photographs and where old parts are kept." }
            p { strong { "What you wrote under advice, parts and reasons is included as you wrote it." } " Read it through for names before you send it." }
            div.buttons { button type="button" data-act="sheet-link" { "Make the link" } }
            div #sheet-link {}
        }
    }
}

/// The link of a sheet. Where it is long, how long.
#[must_use]
pub fn link_made(address: &str, can_share: bool) -> Markup {
    /// As many letters as a messenger can be trusted with. A rule of thumb: common practice, no source.
    const SURE: usize = 2000;
    html! {
        (given_out(address, can_share))
        @if address.len() > SURE {
            p { "It is " (address.len()) " characters, and some messaging apps cut long links short. Send it by \
                                           e-mail. Anyone who opens a shortened link is told so." }
        }
    }
}

/// What is above a hand-over sheet that came with a link; what of it could not be believed.
#[must_use]
pub fn came(doubts: &[String]) -> Markup {
    above(&html! {
        p { "This hand-over sheet came with a link. It is not kept on this device, and changes no job. Its verdicts are the \
             sender’s: nothing was judged here." }
        @for doubt in doubts { p { (doubt) } }
    })
}

/// What is above your own hand-over sheet when none came with a link.
#[must_use]
pub fn unread(why: &Unread) -> Markup {
    above(&html! {
        p { "The link to a hand-over sheet could not be read: " (why) ". Ask for it again. Below is that of your own job." }
    })
}

fn above(said: &Markup) -> Markup {
    html! {
        div.came role="status" {
            (said)
            button type="button" data-act="own-sheet" { "Show my own sheet" }
        }
    }
}

fn table(head: &[&str], rows: Vec<Vec<String>>, blanks: usize) -> Markup {
    let blanks = if rows.is_empty() { blanks } else { 0 };
    html! {
        div.scroll role="group" aria-label=(head.join(", ")) tabindex="0" {
            table {
                thead { tr { @for name in head { th scope="col" { (name) } } } }
                tbody {
                    @for row in &rows { tr { @for (at, cell) in row.iter().enumerate() { @if at == 0 { th scope="row" { (cell) } } @else { td { (cell) } } } } }
                    @for _ in 0..blanks { tr.blank { @for _ in head { td {} } } }
                }
            }
        }
    }
}

/// A row for each reading, its blanks side by side; each socket has its own. What has nothing beside it, and is a proof,
/// is not said twice.
fn before_and_after(sheet: &Sheet) -> Vec<Vec<String>> {
    let rows: Vec<&BeforeAfter> = sheet.readings.iter().filter(|row| !row.proof_only).collect();
    let side = |rows: &[&BeforeAfter], of: fn(&BeforeAfter) -> &Option<Reading>| {
        joined(rows.iter().filter_map(|row| of(row).as_ref()))
    };
    let one = |rows: &[&BeforeAfter]| {
        let name = named(&rows[0].quantity, &rows[0].blank);
        vec![name, side(rows, |row| &row.before), side(rows, |row| &row.after)]
    };
    let of = |row: &BeforeAfter| {
        let taken = row.before.as_ref().or(row.after.as_ref());
        taken.map(|taken| (taken.procedure.clone(), taken.reading.clone()))
    };
    rows.chunk_by(|one, other| of(one) == of(other) && !is_socket(&other.blank)).map(one).collect()
}

/// What a row is of: a reading, or one socket of it.
fn named(quantity: &str, blank: &str) -> String {
    if is_socket(blank) { format!("{quantity}, {blank}") } else { quantity.to_owned() }
}

/// Readings of several blanks: `tip 0.1 Ω, sleeve 3 Ω (out of range)`. The row says it of a socket.
fn joined<'t>(taken: impl Iterator<Item = &'t Reading>) -> String {
    let one = |taken: &Reading| {
        let blank = if is_socket(&taken.blank) { "" } else { &taken.blank };
        let stopped = match (taken.judged, taken.from_file) {
            (Judged::Stop, false) => " (out of range)",
            (Judged::Stop, true) => " (out of range, as its file says)",
            _ => "",
        };
        format!("{blank} {}{stopped}", read(taken)).trim_start().to_owned()
    };
    taken.map(one).collect::<Vec<_>>().join(", ")
}

fn read(taken: &Reading) -> String {
    let bare = taken.text.ends_with(|letter: char| letter.is_ascii_digit());
    if bare && taken.unit != "seen" { format!("{} {}", taken.text, taken.unit) } else { taken.text.clone() }
}

/// A row for each reading, the blanks with the same result side by side; each socket has its own.
fn proofs(proofs: &[Reading]) -> Vec<Vec<String>> {
    let alike = |one: &Reading, other: &Reading| {
        (&one.procedure, &one.reading, &one.range) == (&other.procedure, &other.reading, &other.range)
            && one.standing() == other.standing()
            && !is_socket(&other.blank)
    };
    let row = |taken: &[Reading]| {
        let last = &taken[taken.len() - 1];
        let (read, when) = (joined(taken.iter()), day_and_minute(last.at));
        vec![named(&last.quantity, &last.blank), read, last.range.clone(), last.standing(), when]
    };
    proofs.chunk_by(alike).map(row).collect()
}
