//! The survey alive: what is typed is in the job, or beside it as a draft, with every key.

use std::cell::{Cell, RefCell};

use calc_core::calculator::Problem;
use job::file::{LINE, TEXT, is_longer};
use job::values;
use job::{Change, From, Job, NotTaken, Photo};
use maud::html;
use web_sys::{Blob, Element};

use super::store::{Drafts, Store};
use super::wake::{addresses, current, refresh};
use super::{form, new_id, now, photo, view};
use crate::browser::page;

/// Fields whose text goes into the job only when it is written down.
const DRAFTED: [&str; 8] = [
    "change-what",
    "change-place",
    "change-value",
    "change-before",
    "change-kept",
    "advise",
    "note",
    "caption",
];

fn field(name: &str) -> Option<Element> {
    page::by_id(&format!("survey-{name}"))
}

fn text_in(name: &str) -> String {
    field(name).map(|field| form::text(&field).trim().to_owned()).unwrap_or_default()
}

/// Sets the whole form as the store stands, save the field in use.
pub(super) async fn set(store: &Store, element: &Element) {
    let found = current(store).await;
    form::disable(element, found.is_none());
    if found.is_none() {
        say("Begin a job above, or choose one: what you write here is then kept in it.");
    }
    let job = found.unwrap_or_default();
    let drafts = store.drafts(&job.id).await;
    page::say(page::find(element, ".which-job").as_ref(), &format!("Job: {}", job.label));
    put("label", &job.label);
    put("owner_ref", &job.owner_ref);
    for known in values::KNOWN {
        let kept = job.values.get(known.id).map(|value| value.text.clone()).unwrap_or_default();
        put(known.id, drafts.get(known.id).unwrap_or(&kept));
        let wrong = drafts.get(known.id).and_then(|text| known.read(text).err()).map(NotTaken::Problem);
        if wrong.is_none() && job.is_stale(known.id) {
            let stale = html! { p { "Measured before the amplifier was last changed." } };
            page::set_html(&format!("survey-{}-problem", known.id), &stale.into_string());
        } else {
            problem(known.id, wrong);
        }
    }
    put_drafts(&drafts);
    lists(store, &job).await;
}

fn put_drafts(drafts: &Drafts) {
    for name in DRAFTED {
        put(name, drafts.get(name).map_or("", String::as_str));
    }
}

fn put(name: &str, text: &str) {
    let id = format!("survey-{name}");
    if page::focused_id().as_deref() != Some(&id) {
        form::set_text(page::by_id(&id).as_ref(), text);
    }
}

async fn lists(store: &Store, job: &Job) {
    page::set_html("survey-changes", &view::changes(&job.changes, Some(job)).into_string());
    page::set_html("survey-advice", &view::lines(&job.advice, job).into_string());
    page::set_html("survey-notes", &view::lines(&job.notes, job).into_string());
    page::set_html("survey-photos", &view::photos(&addresses(store, job).await, true).into_string());
}

fn say(words: &str) {
    page::say(page::first("#survey .kept-at").as_ref(), words);
}

thread_local! {
    /// How many changes are on their way to the disk.
    static PENDING: Cell<u32> = const { Cell::new(0) };
}

/// A change on its way to the disk.
struct Pending;

impl Pending {
    fn begin() -> Self {
        PENDING.set(PENDING.get() + 1);
        say("Keeping …");
        Self
    }
}

impl Drop for Pending {
    fn drop(&mut self) {
        PENDING.set(PENDING.get() - 1);
    }
}

/// Says that all that was changed is on disk, or why it is not. As long as a later change is on its way it is for that one to
/// say.
fn kept(store: &Store, _: Pending) {
    if PENDING.get() > 1 {
        return;
    }
    let trouble = store.trouble();
    page::say(page::first("#survey .stopped-job").as_ref(), trouble.as_deref().unwrap_or_default());
    let words = trouble
        .map_or_else(|| format!("Kept on this device, {}.", now()), |_| "Not kept: see above.".to_owned());
    say(&words);
}

/// A key in a field.
pub(super) async fn typed(store: &Store, target: &Element) {
    let Some(name) = target.get_attribute("name") else { return };
    let Some(id) = store.current() else { return };
    let pending = Pending::begin();
    let text = form::text(target);
    let drafted = DRAFTED.contains(&name.as_str());
    let wrong = RefCell::new(None);
    let set = |job: &mut Job, drafts: &mut Drafts| {
        let set = value(job, &name, &text);
        drafts.remove(&name);
        if drafted || set.is_err() {
            drafts.insert(name.clone(), text.clone());
        }
        wrong.replace(set.err());
    };
    match store.apply(&id, &set).await {
        Ok(_) => {
            problem(&name, wrong.into_inner());
            kept(store, pending);
        }
        Err(why) => say(&why),
    }
}

/// Puts what stands in a field into the job, where it has a place there.
fn value(job: &mut Job, name: &str, text: &str) -> Result<(), NotTaken> {
    match name {
        "label" | "owner_ref" if is_longer(text.trim(), LINE) => {
            let message =
                format!("This is longer than {LINE} characters. Shorten it; there is room in a note.");
            return Err(NotTaken::Problem(Problem { message, offers: vec![] }));
        }
        "label" => text.trim().clone_into(&mut job.label),
        "owner_ref" => text.trim().clone_into(&mut job.owner_ref),
        name if DRAFTED.contains(&name) || name == "change-kind" => return Ok(()),
        name if text.trim().is_empty() => job.forget(name, now()),
        name => return job.set(name, text, From::Typed, now()),
    }
    job.changed = now();
    Ok(())
}

fn problem(name: &str, wrong: Option<NotTaken>) {
    let shown = html! {
        @match wrong {
            Some(NotTaken::Problem(problem)) => {
                p { (problem.message) }
                @for offer in &problem.offers { button type="button" data-offer=(offer) data-for=(name) { (offer) } }
            },
            Some(NotTaken::Unknown(unknown)) => p { (unknown) },
            None => {},
        }
    };
    page::set_attribute(field(name).as_ref(), "aria-invalid", (!shown.0.is_empty()).then_some("true"));
    page::set_html(&format!("survey-{name}-problem"), &shown.into_string());
}

/// A text that was offered, taken with one tap.
pub(super) async fn offered(store: &Store, button: &Element) {
    let (Some(offer), Some(name)) = (button.get_attribute("data-offer"), button.get_attribute("data-for"))
    else {
        return;
    };
    let Some(field) = field(&name) else { return };
    form::set_text(Some(&field), &offer);
    page::focus(Some(&field));
    typed(store, &field).await;
}

/// What stands in the form of changes, advice or notes goes into the job.
pub(super) async fn written_down(store: &Store, act: &str) {
    let Some(id) = store.current() else { return };
    let pending = Pending::begin();
    let fields: &[&str] = match act {
        "change" => &DRAFTED[..5],
        "advise" => &["advise"],
        _ => &["note"],
    };
    let texts: Vec<String> = fields.iter().map(|name| text_in(name)).collect();
    let Some(first) = texts.first().filter(|text| !text.is_empty()) else {
        return say("Nothing is written there yet.");
    };
    // What is longer no file could bring back.
    let most = if act == "change" { LINE } else { TEXT };
    if texts.iter().any(|text| is_longer(text, most)) {
        return say(&format!(
            "Not written down: it is longer than {most} characters. Shorten it, or split it."
        ));
    }
    let kind = field("change-kind").map(|field| form::text(&field)).unwrap_or_default();
    let at = |place: usize| texts.get(place).cloned().unwrap_or_default();
    let write = |job: &mut Job, drafts: &mut Drafts| {
        drafts.retain(|name, _| !fields.contains(&name.as_str()));
        match act {
            "change" => {
                let Some(kind) = view::change_kind(&kind) else { return };
                job.change(Change {
                    at: now(),
                    kind,
                    what: at(0),
                    place: at(1),
                    value: at(2),
                    before: at(3),
                    kept: at(4),
                });
            }
            "advise" => job.advise(first, now()),
            _ => job.note(first, now()),
        }
    };
    match store.apply(&id, &write).await {
        Ok(_) => {
            for name in fields {
                form::set_text(field(name).as_ref(), "");
            }
            refresh(store).await;
            kept(store, pending);
        }
        Err(why) => say(&why),
    }
}

/// An entry is removed, or put back.
pub(super) async fn removed(store: &Store, button: &Element) {
    let Some(id) = store.current() else { return };
    let of = |name: &str| button.get_attribute(name);
    let (key, gone) = (of("data-entry").unwrap_or_default(), of("data-removed").as_deref() == Some("true"));
    let pending = Pending::begin();
    let remove = |job: &mut Job, _: &mut Drafts| job.remove(key.clone(), gone, now());
    if let Err(why) = store.apply(&id, &remove).await {
        return say(&why);
    }
    if let Some(photo) = of("data-photo") {
        store.forget_photo(&id, &photo).await;
    }
    refresh(store).await;
    kept(store, pending);
    // The button stands anew; of a photograph the way to take another is left.
    let again = page::first(&format!(
        "[data-entry={}]",
        js_sys::JSON::stringify(&key.as_str().into()).map(String::from).unwrap_or_default()
    ));
    page::focus(again.or_else(|| field("photo")).as_ref());
}

/// A photograph was taken or chosen.
pub(super) async fn photographed(store: &Store, file: &Blob) {
    let Some(id) = store.current() else { return };
    let pending = Pending::begin();
    let Some(small) = photo::shrink(file).await else {
        return say("The browser cannot read this picture. Choose a JPEG or PNG.");
    };
    if is_longer(&text_in("caption"), LINE) {
        return say(&format!(
            "What it shows is longer than {LINE} characters. Shorten it, then take it again."
        ));
    }
    let taken = Photo {
        id: new_id(),
        caption: text_in("caption"),
        at: now(),
        media: photo::MEDIA.to_owned(),
        width: small.width,
        height: small.height,
        bytes: None,
    };
    // The picture first: a job must not speak of one that is not there.
    if !store.keep_photo(&id, &taken, small.picture.into()).await {
        return say("The photograph could not be kept: there is no room for it on this device.");
    }
    let add = |job: &mut Job, drafts: &mut Drafts| {
        drafts.remove("caption");
        job.photos.push(taken.clone());
        job.changed = taken.at;
    };
    if let Err(why) = store.apply(&id, &add).await {
        return say(&why);
    }
    form::set_text(field("caption").as_ref(), "");
    refresh(store).await;
    kept(store, pending);
}
