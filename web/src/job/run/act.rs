//! What is pressed and typed while a procedure runs.

use job::gate;
use job::judge::{Judgement, Take};
use job::procedure::Procedure;
use web_sys::Element;

use super::view::{Because, Pad, Screen, Stopped};
use super::{OURS, Shared, awake, change, is, later, set};
use crate::browser::page;
use crate::job::{form, now};

/// Listens to the place of the run, to what stands below the step, and to the keyboard.
pub(super) fn listen(run: &Shared, place: &Element) {
    let panel = page::by_id(super::PANEL);
    for element in [Some(place.clone()), panel].into_iter().flatten() {
        let on_click = run.clone();
        page::listen(&element, "click", move |target| {
            if let Some(button) = page::closest(&target, "button[data-act]") {
                return given(&on_click, &button);
            }
            let Some(button) = page::closest(&target, "[data-run]") else { return };
            awake::may_sound();
            let run = on_click.clone();
            later(async move { pressed(&run, &is(&button, "data-run"), &is(&button, "data-about")).await });
        });
        let on_toggle = run.clone();
        page::listen(&element, "toggle", move |_| {
            if let Some(link) = on_toggle.borrow().link() {
                page::set_html("run-link", &link);
            }
        });
    }
    let on_key = run.clone();
    page::listen_for_keys(move |key| {
        let run = on_key.clone();
        let on_a_way_out =
            page::first("#run-panel [data-run='cancel']:focus, #run-panel [data-run='offer']:focus")
                .is_some();
        if !matches!(run.borrow().screen, Screen::Pad(_)) || (on_a_way_out && key == "Enter") {
            return false;
        }
        let (act, about) = match key {
            "Enter" => ("enter", ""),
            "Backspace" => ("key", "⌫"),
            "-" | "−" => ("key", "−"),
            "," => ("key", "."),
            "Escape" => ("cancel", ""),
            key if key.chars().count() == 1
                && (key.chars().all(|letter| letter.is_ascii_digit()) || ".kmMuµ".contains(key)) =>
            {
                ("key", key)
            }
            _ => return false,
        };
        let (act, about) = (act.to_owned(), about.to_owned());
        later(async move { pressed(&run, &act, &about).await });
        true
    });
}

/// The link to the step, copied or sent.
fn given(run: &Shared, button: &Element) {
    let address = run.borrow().address().unwrap_or_default();
    page::give(button, "A step and its readings", &address);
}

/// Whether the current job has this procedure under way.
pub(super) fn is_under_way(run: &Shared) -> bool {
    let run = run.borrow();
    run.job.as_ref().is_some_and(|job| job.places.contains_key(&run.procedure.page))
}

/// Goes on where one stopped, as far as the gates let one.
pub(super) async fn go_on(run: &Shared) {
    let step = {
        let state = run.borrow();
        let open = state.open();
        let place = state.job.as_ref().and_then(|job| job.places.get(&state.procedure.page));
        let kept =
            place.map(|place| place.step.clone()).filter(|step| open.iter().any(|state| state.id == *step));
        kept.or_else(|| gate::frontier(&open).map(|state| state.id.clone()))
    };
    if let Some(step) = step {
        show(run, &step).await;
    }
}

/// Shows a step, and keeps that one is there.
async fn show(run: &Shared, step: &str) {
    let page = run.borrow().procedure.page.clone();
    change(run, |job| job.stop_at(&page, step, now())).await;
    {
        let mut state = run.borrow_mut();
        state.shown = Some(step.to_owned());
        state.screen = Screen::Step;
    }
    awake::keep_on(Some(&page));
    start_timers(run);
    set(run);
    page::scroll_to_top();
    page::focus(page::by_id(super::PANEL).as_ref());
}

/// Starts the timers of the step that is shown, unless they run.
fn start_timers(run: &Shared) {
    let state = run.borrow();
    if let Some(step) = state.step() {
        super::timers(step).for_each(|timer| awake::start(&state.clock(), timer));
    }
}

fn leave(run: &Shared) {
    {
        let mut state = run.borrow_mut();
        state.shown = None;
        state.left = true;
    }
    awake::keep_on(None);
    set(run);
}

async fn pressed(run: &Shared, act: &str, about: &str) {
    let page = run.borrow().procedure.page.clone();
    match act {
        "new-job" => {
            let label = page::by_id("run-label").map(|field| form::text(&field)).unwrap_or_default();
            let label =
                if label.trim().is_empty() { "An amplifier without a name".to_owned() } else { label };
            if new_job(run, label.trim()).await {
                begin(run, &page).await;
            } else {
                set(run);
            }
        }
        "begin" => begin(run, &page).await,
        "go-on" => go_on(run).await,
        "leave" | "finish" => leave(run),
        "next" | "back" => {
            let to = {
                let state = run.borrow();
                let open = state.open();
                let at = open.iter().position(|known| Some(&known.id) == state.shown.as_ref()).unwrap_or(0);
                let to = if act == "next" { at + 1 } else { at.saturating_sub(1) };
                open.get(to).map(|known| known.id.clone())
            };
            if let Some(step) = to {
                show(run, &step).await;
            }
        }
        "forward" => show(run, about).await,
        "go" => leave(run),
        "tick" => {
            let done = run.borrow().tick_stands(about);
            change(run, |job| job.tick(&page, about, !done, now())).await;
            set(run);
            focus_on(act, about);
        }
        "choose" => {
            let Some((choice, option)) = about.split_once('.') else { return };
            change(run, |job| job.choose(&page, choice, option, now())).await;
            set(run);
            focus_on(act, about);
        }
        "read" => {
            let item = about.split_once('.').map_or(about, |(item, _)| item);
            let live = run.borrow().is_live(item);
            if matches!(run.borrow().screen, Screen::Stopped(_)) && live {
                // A new reading is a new time with the mains on: the step says how, and its wait begins anew.
                run.borrow().wait_anew(item);
                start_timers(run);
                screen(run, Screen::Step);
            } else {
                screen(run, if live { Screen::Off(about.to_owned()) } else { pad_for(about) });
            }
        }
        "is-off" => screen(run, pad_for(about)),
        "key" => {
            typed(run, about);
            set(run);
            focus_on(act, about);
        }
        "enter" => {
            let text = match &run.borrow().screen {
                Screen::Pad(pad) => pad.typed.clone(),
                _ => return,
            };
            take(run, &text).await;
        }
        "offer" => take(run, about).await,
        "excuse" => screen(run, Screen::Reason(about.to_owned())),
        "excused" => {
            let text = page::by_id("run-reason").map(|field| form::text(&field)).unwrap_or_default();
            let procedure = run.borrow().procedure.clone();
            if change(run, |job| job.excuse(&procedure, about, &text, now())).await == Some(true) {
                screen(run, Screen::Step);
            } else {
                page::say(
                    page::by_id("run-reason-said").as_ref(),
                    "Write the reason first: a gate is not passed without one.",
                );
            }
        }
        "adopt" => adopt(run).await,
        _ => screen(run, Screen::Step),
    }
}

/// Begins a job. Whether it is on the bench.
async fn new_job(run: &Shared, label: &str) -> bool {
    let store = run.borrow().store.clone();
    let job = store.begin(label).await.ok();
    let begun = job.is_some();
    run.borrow_mut().stands(job);
    begun
}

async fn begin(run: &Shared, page: &str) {
    let first = run.borrow().procedure.steps.first().map(|step| step.id.clone()).unwrap_or_default();
    change(run, |job| job.begin(page, &first, now())).await;
    go_on(run).await;
}

fn screen(run: &Shared, to: Screen) {
    run.borrow_mut().screen = to;
    set(run);
    page::scroll_to_top();
    // A held or doubled Enter must not answer the screen that warns: there the focus is on no button.
    let warns = matches!(run.borrow().screen, Screen::Off(_) | Screen::Stopped(_));
    let at = if warns { "#run-panel" } else { "#run-panel .on, #run-panel button, #run-panel textarea" };
    page::focus(page::first(at).as_ref());
}

/// The button stands anew: whoever pressed it is still on it.
fn focus_on(act: &str, about: &str) {
    page::focus(page::first(&format!("[data-run='{act}'][data-about='{about}']")).as_ref());
}

fn pad_for(about: &str) -> Screen {
    let (item, blank) = about.split_once('.').unwrap_or((about, ""));
    Screen::Pad(Pad { item: item.to_owned(), blank: blank.to_owned(), ..Pad::default() })
}

fn typed(run: &Shared, key: &str) {
    if let Screen::Pad(pad) = &mut run.borrow_mut().screen {
        pad.problem = None;
        if key == "⌫" {
            pad.typed.pop();
        } else {
            pad.typed.push_str(key);
        }
    }
}

/// Takes what was typed: judged, kept, and what follows shown.
async fn take(run: &Shared, text: &str) {
    let (procedure, step, pad): (Procedure, String, Pad) = {
        let state = run.borrow();
        let Screen::Pad(pad) = &state.screen else { return };
        let Some(step) = state.shown.clone() else { return };
        (state.procedure.clone(), step, pad.clone())
    };
    let deed =
        |job: &mut job::Job| job.take(Take::typed(&procedure, &pad.item, &pad.blank, text, now()), &OURS);
    let Some(judgement) = change(run, deed).await else { return };
    if run.borrow().shown.as_ref() != Some(&step) {
        // Meanwhile the amplifier was described otherwise elsewhere, and this step is closed.
        return set(run);
    }
    let stopped = |why| Screen::Stopped(Stopped { item: pad.item.clone(), blank: pad.blank.clone(), why });
    let asked_back = |message: String| {
        Screen::Pad(Pad { typed: text.to_owned(), problem: Some((message, vec![])), ..pad.clone() })
    };
    let to = match judgement {
        Judgement::Unread(problem) => Screen::Pad(Pad {
            typed: text.to_owned(),
            problem: Some((problem.message, problem.offers)),
            ..pad.clone()
        }),
        Judgement::Doubted(doubt) => asked_back(doubt.message),
        Judgement::TooEarly(early) => asked_back(format!("Not before its time: {}.", early.timer)),
        Judgement::Stop(stop) => stopped(Because::Range(stop)),
        Judgement::CannotTell(lack) => stopped(Because::Unknown(lack)),
        Judgement::InRange | Judgement::Noted(_) | Judgement::Recorded => next_blank(run, &pad.item),
    };
    screen(run, to);
}

/// The next blank of this step that has not been read in this run, or does not stand any more: all are read in one time with the mains on.
fn next_blank(run: &Shared, item: &str) -> Screen {
    let state = run.borrow();
    let (Some(step), Some(job)) = (state.step(), &state.job) else { return Screen::Step };
    let course = state.course(job);
    let live = state.is_live(item);
    let readings =
        step.readings().filter(|reading| reading.id == item || (live && reading.purpose.is_live()));
    let blanks =
        readings.flat_map(|reading| reading.blanks(job).into_iter().map(move |blank| (reading, blank)));
    let mut unread = blanks.filter(|(reading, blank)| {
        course.last(&reading.id, blank).is_none_or(|read| course.lapse(&read).is_some())
    });
    unread.next().map_or(Screen::Step, |(reading, blank)| pad_for(&format!("{}.{blank}", reading.id)))
}

/// Takes what came with a link into the current job, or into a new one.
async fn adopt(run: &Shared) {
    let (link, procedure) = {
        let mut state = run.borrow_mut();
        let Some(link) = state.came.take() else { return };
        (link, state.procedure.clone())
    };
    if run.borrow().job.is_none() {
        new_job(run, "From a link").await;
    }
    let deed = |job: &mut job::Job| {
        let (taken, _) = link.adopted(&procedure, now(), job.changes.len());
        job.readings.extend(taken);
        job.changed = now();
    };
    change(run, deed).await;
    page::set_fragment("");
    set(run);
}
