//! The survey alive: what is typed is in the job, or beside it as a draft, with every key.

use std::cell::{Cell, RefCell};

use calc_core::calculator::Problem;
use job::file::{LINE, TEXT, is_longer};
use job::values::{self, Group};
use job::{Change, From, Job, NotTaken, Photo};
use maud::html;
use web_sys::{Blob, Element};

use super::mount::{addresses, refresh, set_notices};
use super::store::{Drafts, Fault, Store};
use super::view::overview;
use super::{form, new_id, now, turns, view};
use crate::platform::{morph::morph, page, picture};

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

/// The job that the form round an element shows. What is typed there goes to this one, whatever is on the bench by now.
fn of(element: &Element) -> Option<String> {
    page::closest(element, "[data-of]")?.get_attribute("data-of")
}

/// Sets the whole form as the store stands. The field in use keeps what is being typed there.
pub(super) async fn set(store: &Store, element: &Element) {
    let found = store.on_bench().await;
    if !element.has_attribute("data-alive") {
        page::all("#survey [data-act=fold]").iter().for_each(|button| set_fold(button, true));
    }
    form::disable(element, found.is_none());
    if found.is_none() {
        say("Begin a job above, or choose one. What you write here is kept in it.");
    }
    let before = element.get_attribute("data-of");
    let of = found.as_ref().map(|job| job.id.clone());
    page::set_attribute(Some(element), "data-of", of.as_deref());
    let is_same = before == of;
    let job = found.unwrap_or_default();
    let drafts = store.drafts(&job.id).await;
    page::say(page::find(element, ".which-job").as_ref(), &format!("Job: {}", job.label));
    put("label", &job.label, is_same);
    put("owner_ref", &job.owner_ref, is_same);
    for known in values::KNOWN {
        put(known.id, &shown(&job, &drafts, known.id), is_same);
        let wrong = drafts.get(known.id).and_then(|text| known.read(text).err()).map(NotTaken::Problem);
        if wrong.is_none() && job.is_stale(known.id) {
            let stale = html! { p { "Measured before the amplifier was last changed." } };
            page::set_html(&format!("survey-{}-problem", known.id), &stale.into_string());
        } else {
            problem(known.id, wrong);
        }
    }
    for name in DRAFTED {
        put(name, drafts.get(name).map_or("", String::as_str), is_same);
    }
    lists(store, &job).await;
    overview(&job);
}

/// What the job comes to, in the headings of the parts and in those that say nothing else.
fn overview(job: &Job) {
    let count = |part: &str, words: &str| {
        page::say(page::first(&format!("#survey [data-count='{part}']")).as_ref(), words);
    };
    Group::ALL.iter().for_each(|group| count(group.name(), &overview::count(*group, job)));
    count("power-up", &overview::missing_count(job));
    count("runs", &job.places.len().to_string());
    count("job", &job.label);
    let standing = [
        ("photos", job.standing(&job.photos).count()),
        ("changes", job.standing(&job.changes).count()),
        ("advice", job.standing(&job.advice).count()),
        ("notes", job.standing(&job.notes).count()),
    ];
    standing.iter().for_each(|(part, number)| count(part, &number.to_string()));
    morph("survey-power-up", &overview::missing(job).into_string());
    morph("survey-runs", &overview::runs(job, &page::root()).into_string());
    morph("survey-times", &overview::times(job).into_string());
}

fn set_fold(button: &Element, folded: bool) {
    page::set_attribute(Some(button), "aria-expanded", Some(if folded { "false" } else { "true" }));
    page::set_attribute(page::closest(button, ".part").as_ref(), "data-folded", folded.then_some(""));
}

/// Folds a part up, or unfolds it.
pub(super) fn fold(button: &Element) {
    set_fold(button, button.get_attribute("aria-expanded").as_deref() == Some("true"));
}

/// Unfolds the part that a field is in, and goes there.
pub(super) fn to_field(field: &Element) {
    let part = page::closest(field, ".part");
    if let Some(button) = part.and_then(|part| page::find(&part, "[data-act=fold]")) {
        set_fold(&button, false);
    }
    page::show(&page::closest(field, ".field").unwrap_or_else(|| field.clone()));
    page::focus(Some(field));
}

/// What a field shows as it is kept: a text that is no value yet, else the value.
fn shown(job: &Job, drafts: &Drafts, name: &str) -> String {
    let kept = || match name {
        "label" => job.label.clone(),
        "owner_ref" => job.owner_ref.clone(),
        _ => job.values.get(name).map(|value| value.text.clone()).unwrap_or_default(),
    };
    drafts.get(name).cloned().unwrap_or_else(kept)
}

/// Sets a field. The one in use is left as it was typed, `438` for 438 V, as long as what is kept is what was typed here; what
/// another tab has kept there since is shown, and so is the job that the form has been turned to.
fn put(name: &str, text: &str, is_same: bool) {
    let id = format!("survey-{name}");
    let in_use = is_same && page::focused_id().as_deref() == Some(&id);
    let own = OWN.with_borrow(|(own, kept)| (own == name).then(|| kept == text));
    if in_use && (PENDING.get() > 0 || own == Some(true)) {
        return;
    }
    if in_use && own == Some(false) {
        say("Another tab has changed the field that you are in. It shows what is kept.");
    }
    form::set_text(page::by_id(&id).as_ref(), text);
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
    /// The field that was typed in last, and what is kept of it.
    static OWN: RefCell<(String, String)> = RefCell::default();
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
async fn kept(store: &Store, id: &str, _: Pending) {
    if PENDING.get() > 1 {
        return;
    }
    if let Some(form) = page::by_id("survey") {
        set_notices(store, &form).await;
    }
    say(&if store.is_kept(id) {
        format!("Kept on this device, {}.", now())
    } else {
        "Not kept: see above.".to_owned()
    });
}

/// Says why nothing of it could be kept.
fn refused(why: &Fault) {
    say(&format!("Not kept. {why}"));
}

/// A key in a field.
pub(super) fn typed(store: &Store, target: &Element) {
    let Some(name) = target.get_attribute("name") else { return };
    let (store, id, text) = (store.clone(), of(target), form::text(target));
    let pending = Pending::begin();
    turns::then(async move {
        match id {
            Some(id) => write(&store, &id, &name, &text, pending).await,
            None => say("Not kept: there is no job to keep it in. Begin one above, or choose one."),
        }
    });
}

async fn write(store: &Store, id: &str, name: &str, text: &str, pending: Pending) {
    let drafted = DRAFTED.contains(&name);
    let came = RefCell::new((None, String::new()));
    let set = |job: &mut Job, drafts: &mut Drafts| {
        let set = value(job, name, text);
        drafts.remove(name);
        if drafted || set.is_err() {
            drafts.insert(name.to_owned(), text.to_owned());
        }
        came.replace((set.err(), shown(job, drafts, name)));
    };
    match store.apply(id, &set).await {
        Ok(job) => {
            let (wrong, shown) = came.into_inner();
            overview(&job);
            OWN.set((name.to_owned(), shown));
            problem(name, wrong);
            kept(store, id, pending).await;
        }
        Err(why) => refused(&why),
    }
}

/// Puts the content of a field into the job, where it has a place there.
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
pub(super) fn offered(store: &Store, button: &Element) {
    let (Some(offer), Some(name)) = (button.get_attribute("data-offer"), button.get_attribute("data-for"))
    else {
        return;
    };
    let Some(field) = field(&name) else { return };
    form::set_text(Some(&field), &offer);
    page::focus(Some(&field));
    typed(store, &field);
}

/// The content of the form of changes, advice or notes goes into the job.
pub(super) async fn written_down(store: &Store, act: &str, button: &Element) {
    let Some(id) = of(button) else { return };
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
            kept(store, &id, pending).await;
        }
        Err(why) => refused(&why),
    }
}

/// An entry is removed, or put back.
pub(super) async fn removed(store: &Store, button: &Element) {
    let Some(id) = of(button) else { return };
    let is = |name: &str| button.get_attribute(name);
    let (key, gone) = (is("data-entry").unwrap_or_default(), is("data-removed").as_deref() == Some("true"));
    let pending = Pending::begin();
    let remove = |job: &mut Job, _: &mut Drafts| job.remove(key.clone(), gone, now());
    if let Err(why) = store.apply(&id, &remove).await {
        return refused(&why);
    }
    if let Some(photo) = is("data-photo") {
        store.forget_photo(&id, &photo).await;
    }
    refresh(store).await;
    kept(store, &id, pending).await;
    // The button is new; of a photograph the way to take another is left.
    let again = page::first(&format!(
        "[data-entry={}]",
        js_sys::JSON::stringify(&key.as_str().into()).map(String::from).unwrap_or_default()
    ));
    page::focus(again.or_else(|| field("photo")).as_ref());
}

/// A photograph was taken or chosen.
pub(super) async fn photographed(store: &Store, field: &Element, file: &Blob) {
    let Some(id) = of(field) else { return };
    let pending = Pending::begin();
    say("Making the photograph smaller …");
    let Some(small) = picture::shrink(file).await else {
        return say("The browser cannot read this picture. Choose a JPEG or PNG.");
    };
    if is_longer(&text_in("caption"), LINE) {
        return say(&format!(
            "The caption is longer than {LINE} characters. Shorten it, then take the photograph again."
        ));
    }
    let taken = Photo {
        id: new_id(),
        caption: text_in("caption"),
        at: now(),
        media: picture::MEDIA.to_owned(),
        width: small.width,
        height: small.height,
        bytes: None,
    };
    // The picture first: a job must not speak of one that is not there.
    let size = small.picture.length();
    if !store.keep_photo(&id, &taken, small.picture.into(), size).await {
        return say("The photograph could not be kept: there is no room for it on this device.");
    }
    let add = |job: &mut Job, drafts: &mut Drafts| {
        drafts.remove("caption");
        job.photos.push(taken.clone());
        job.changed = taken.at;
    };
    if let Err(why) = store.apply(&id, &add).await {
        return refused(&why);
    }
    form::set_text(self::field("caption").as_ref(), "");
    refresh(store).await;
    kept(store, &id, pending).await;
}
