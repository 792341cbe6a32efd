//! What is pressed while a procedure runs. A press acts at once, on the job in memory.

use job::run::gate;
use job::run::judge::{Judgement, NewReading};
use maud::html;
use web_sys::{Element, KeyboardEvent, MouseEvent};

use super::queue::{change, change_if};
use super::view::typing as view;
use super::view::{Because, Screen, Stopped};
use super::{Shared, is, later, lead, set, typing};
use crate::job::{exchange, form, new_id, now};
use crate::platform::{page, share, tone, wake_lock};

/// Listens to the place of the run, to what is below the step, and to keys that are held.
pub(super) fn listen(run: &Shared, place: &Element) {
    let panel = page::by_id(super::PANEL);
    for element in [Some(place.clone()), panel].into_iter().flatten() {
        let on_click = run.clone();
        page::on(&element, "click", move |event: &MouseEvent, target| {
            if let Some(button) = page::closest(&target, "button[data-act]") {
                return given(&on_click, &button);
            }
            let Some(button) = page::closest(&target, "[data-run]") else { return };
            let (act, about, name) =
                (is(&button, "data-run"), is(&button, "data-about"), is(&button, "data-name"));
            let is_new = on_click.borrow_mut().presses.is_new(&format!("{act} {about} {name}"), event);
            // Enter takes what is typed, and there is something only once.
            if is_new || act == "enter" {
                // A browser lets a page sound only after a press of the reader's own.
                if event.is_trusted() {
                    tone::may_sound();
                }
                pressed(&on_click, &act, &about, &name);
            }
        });
        let on_toggle = run.clone();
        page::listen(&element, "toggle", move |_| {
            if let Some(link) = on_toggle.borrow().link() {
                page::set_html("run-link", &link);
            }
        });
    }
    page::on_page("keydown", |event: &KeyboardEvent, target| {
        let presses = match event.key().as_str() {
            "Enter" => page::closest(&target, "textarea").is_none(),
            " " => page::closest(&target, "input, textarea").is_none(),
            _ => false,
        };
        if event.repeat() && presses {
            event.prevent_default();
        }
    });
}

/// The link to the step, copied or sent.
fn given(run: &Shared, button: &Element) {
    let address = run.borrow().address().unwrap_or_default();
    share::give(button, "A step and its readings", &address);
}

/// Whether the current job has this procedure under way.
pub(super) fn is_under_way(run: &Shared) -> bool {
    let run = run.borrow();
    let page = &run.procedure.page;
    run.job.as_ref().is_some_and(|job| job.places.contains_key(page) && !job.is_of_another_edition(page))
}

/// Goes on where one stopped, as far as the gates let one.
pub(super) fn go_on(run: &Shared) {
    let step = {
        let state = run.borrow();
        let open = state.open();
        let place = state.job.as_ref().and_then(|job| job.places.get(&state.procedure.page));
        let kept =
            place.map(|place| place.step.clone()).filter(|step| open.iter().any(|state| state.id == *step));
        kept.or_else(|| gate::frontier(&open).map(|state| state.id.clone()))
    };
    if let Some(step) = step {
        show(run, &step);
    }
}

/// Shows a step, and keeps that one is there.
pub(super) fn show(run: &Shared, step: &str) {
    let page = run.borrow().procedure.page.clone();
    {
        let (page, step, at) = (page.clone(), step.to_owned(), now());
        change(run, move |job| job.stop_at(&page, &step, at));
    }
    {
        let mut state = run.borrow_mut();
        state.shown = Some(step.to_owned());
        state.drafts.clear();
        state.early.clear();
        state.done.clear();
    }
    keep_on(run, Some(&page));
    screen(run, Screen::Step);
}

fn leave(run: &Shared) {
    {
        let mut state = run.borrow_mut();
        state.shown = None;
        state.furthest.set(0);
        state.left = true;
    }
    keep_on(run, None);
    set(run);
}

/// Keeps the screen on, and in mind which page runs.
fn keep_on(run: &Shared, page: Option<&str>) {
    if wake_lock::keep_on(page.is_some()) {
        let state = run.borrow();
        let (store, job) = (state.store.clone(), state.job.as_ref().map(|job| job.id.clone()));
        let run = job.zip(page.map(str::to_owned));
        later(async move {
            store.note_run(run.as_ref().map(|(job, page)| (job.as_str(), page.as_str()))).await;
        });
    }
}

/// Gives the job out as it is in this page, with what is not on disk.
fn export(run: &Shared) {
    let state = run.borrow();
    let (Some(job), store) = (state.job.clone(), state.store.clone()) else { return };
    later(async move {
        let text = exchange::text(&store, &job, &|_| {}).await;
        page::save(&exchange::name(&job, "json"), "application/json", &text);
    });
}

fn pressed(run: &Shared, act: &str, about: &str, name: &str) {
    let (page, at) = (run.borrow().procedure.page.clone(), now());
    let about = about.to_owned();
    match act {
        "new-job" => begin_with_new_job(run),
        "begin" => begin(run),
        "go-on" => go_on(run),
        "leave" | "finish" | "go" => leave(run),
        "next" | "back" => {
            let to = {
                let state = run.borrow();
                let open = state.open();
                let at = open.iter().position(|known| Some(&known.id) == state.shown.as_ref()).unwrap_or(0);
                let to = if act == "next" { at + 1 } else { at.saturating_sub(1) };
                open.get(to).map(|known| known.id.clone())
            };
            match to {
                Some(step) if act == "next" => lead::arrive(run, &step, String::new()),
                Some(step) => show(run, &step),
                None => {}
            }
        }
        "forward" => show(run, &about),
        "steps" => screen(run, Screen::Steps),
        "again" => again(run, &about),
        "tick" => {
            let done = run.borrow().tick_stands(&about);
            let tick = about.clone();
            change(run, move |job| job.tick(&page, &tick, !done, at));
            if done { set(run) } else { lead::on(run, &about) }
        }
        "choose" => {
            let chosen = about.clone();
            change(run, move |job| {
                if let Some((choice, option)) = chosen.split_once('.') {
                    job.choose(&page, choice, option, at);
                }
            });
            lead::on(run, &about);
        }
        "start" => {
            change(run, move |job| job.start(&page, &about, at));
            set(run);
        }
        "read" => read(run, &about),
        "is-off" => typing::open(run, &about, false),
        "enter" => typing::enter(run),
        "take" => take(run, name, &about, false),
        "confirm" => take(run, name, &about, true),
        "excuse" => screen(run, Screen::Reason { item: about, early: false }),
        "early" => screen(run, Screen::Reason { item: about, early: true }),
        "excused" => excused(run, about),
        "opened" => opened(run, &about),
        "adopt" => adopt(run),
        "export" => export(run),
        // Back to the step: what was typed and not entered is given up.
        _ => {
            run.borrow_mut().drafts.clear();
            screen(run, Screen::Step);
        }
    }
}

/// The reason that is typed, if one is; else it is asked for.
fn reason() -> Option<String> {
    let text = page::by_id("run-reason").map(|field| form::text(&field)).unwrap_or_default();
    if text.trim().is_empty() {
        let said = "Write the reason first: nothing is passed without one.";
        page::say(page::by_id("run-reason-said").as_ref(), said);
        return None;
    }
    Some(text)
}

/// Opens a reading before its time, for a reason that is kept with what is read.
fn opened(run: &Shared, item: &str) {
    let Some(text) = reason() else { return };
    run.borrow_mut().early.insert(item.to_owned(), text);
    read(run, item);
}

/// Leads to a reading of whatever step, to read it again.
fn again(run: &Shared, about: &str) {
    let item = about.split_once('.').map_or(about, |(item, _)| item);
    let step = run.borrow().procedure.reading(item).map(|(step, _)| step.id.clone());
    let is_open = |step: &String| run.borrow().open().iter().any(|state| state.id == *step);
    if let Some(step) = step.filter(is_open) {
        show(run, &step);
        read(run, about);
    }
}

/// Leads to where a reading is typed: on a live amplifier by way of its switch.
fn read(run: &Shared, about: &str) {
    let item = about.split_once('.').map_or(about, |(item, _)| item);
    let live = run.borrow().is_live(item);
    if matches!(run.borrow().screen, Screen::Stopped(_)) && live {
        // A new reading is a new time with the mains on: the step says how.
        screen(run, Screen::Step);
    } else if live {
        screen(run, Screen::Off(about.to_owned()));
    } else {
        typing::open(run, about, false);
    }
}

fn excused(run: &Shared, item: String) {
    let Some(text) = reason() else { return };
    let (procedure, at) = (run.borrow().procedure.clone(), now());
    change(run, move |job| job.excuse(&procedure, &item, &text, at));
    screen(run, Screen::Step);
}

/// Begins a job under the name that is typed, and the run with it.
fn begin_with_new_job(run: &Shared) {
    let label = page::by_id("run-label").map(|field| form::text(&field)).unwrap_or_default();
    let label = if label.trim().is_empty() { "An amplifier without a name".to_owned() } else { label };
    with_new_job(run, label.trim().to_owned(), begin);
}

/// Begins a job and does something with it. While it is being begun, no other is.
fn with_new_job(run: &Shared, label: String, then: impl FnOnce(&Shared) + 'static) {
    if std::mem::replace(&mut run.borrow_mut().begins, true) {
        return;
    }
    let run = run.clone();
    later(async move {
        let store = run.borrow().store.clone();
        let begun = store.add(job::Job::new(&new_id(), &label, now())).await;
        run.borrow_mut().begins = false;
        match begun {
            Ok(job) => {
                run.borrow_mut().stands(Some(job));
                then(&run);
            }
            Err(why) => {
                run.borrow_mut().unkept = Some(why);
                set(&run);
            }
        }
    });
}

fn begin(run: &Shared) {
    let (page, first, at) = {
        let state = run.borrow();
        let first = state.procedure.steps.first().map(|step| step.id.clone()).unwrap_or_default();
        (state.procedure.page.clone(), first, now())
    };
    change(run, move |job| job.begin(&page, &first, at));
    go_on(run);
}

/// Shows another screen from its top. The focus is on none of its buttons: a doubled or held key answers nothing.
pub(super) fn screen(run: &Shared, to: Screen) {
    run.borrow_mut().screen = to;
    set(run);
    page::scroll_to_top();
    page::focus_where_it_is(
        page::first("#run-panel textarea").or_else(|| page::by_id(super::PANEL)).as_ref(),
    );
}

/// Takes what was typed or pressed for a blank, by its name `item.blank`: it is judged, it goes to disk, and what follows is
/// shown. What is no reading, and what is hard to believe and not `confirmed`, is asked back and changes nothing.
pub(super) fn take(run: &Shared, name: &str, text: &str, confirmed: bool) {
    let (item, blank) = name.split_once('.').unwrap_or((name, ""));
    let step = run.borrow().shown.clone();
    let deed = {
        let state = run.borrow();
        let (procedure, early) =
            (state.procedure.clone(), state.early.get(item).cloned().unwrap_or_default());
        let waited = state.waited(item);
        let (item, blank, text, at) = (item.to_owned(), blank.to_owned(), text.to_owned(), now());
        move |job: &mut job::Job| {
            let take = NewReading {
                procedure: &procedure,
                reading: &item,
                blank: &blank,
                text: &text,
                at,
                waited,
                confirmed,
                early: &early,
            };
            job.record_reading(take)
        }
    };
    let Some(judgement) = change_if(run, deed, |judgement| judgement.judged().is_some()) else { return };
    let stopped = |why| Screen::Stopped(Stopped { item: item.to_owned(), blank: blank.to_owned(), why });
    let to = match judgement {
        Judgement::Unread(problem) => {
            return typing::ask_back(name, &problem.message, view::offers(name, &problem.offers));
        }
        Judgement::Doubted(doubt) => {
            return typing::ask_back(name, &doubt.message, view::confirm(name, &doubt));
        }
        Judgement::TooEarly(early) => return typing::ask_back(name, &view::too_early(&early), html! {}),
        Judgement::Stop(stop) => Some(stopped(Because::Range(stop))),
        Judgement::CannotTell(lack) => Some(stopped(Because::Unknown(lack))),
        Judgement::InRange | Judgement::Noted(_) | Judgement::Recorded => None,
    };
    run.borrow_mut().drafts.remove(name);
    match to {
        // Meanwhile the amplifier was described otherwise elsewhere, and this step is closed.
        _ if run.borrow().shown != step => set(run),
        Some(to) => typing::leave_for(run, name, to),
        None => typing::go_on(run, name),
    }
}

/// Takes what came with a link into the current job, or into a new one.
fn adopt(run: &Shared) {
    if run.borrow().job.is_none() {
        return with_new_job(run, "From a link".to_owned(), adopt);
    }
    let (link, procedure, at) = {
        let mut state = run.borrow_mut();
        let Some(link) = state.came.take() else { return };
        (link, state.procedure.clone(), now())
    };
    change(run, move |job| {
        let (taken, _) = link.adopted(&procedure, at, job.changes.len());
        job.readings.extend(taken);
        job.changed = at;
    });
    page::set_fragment("");
    set(run);
}
