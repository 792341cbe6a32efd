//! Readings are typed: into inputs of the page, by any keyboard, by the pad, by paste. Each text is echoed as it was
//! understood before it counts, and Enter takes it. Nothing here redraws the screen while someone types.

use job::Judged;
use job::procedure::{Purpose, ReadingSpec};
use maud::{Markup, html};
use wasm_bindgen::JsCast;
use web_sys::{Element, Event, HtmlInputElement, KeyboardEvent};

use super::act::{screen, take};
use super::view::Screen;
use super::view::typing as view;
use super::{Run, Shared, is, lead};
use crate::platform::page;

/// The blanks on the screen.
const BLANKS: &str = "#run-panel input[data-blank]";

/// Listens to the inputs, to the pad and to Enter.
pub(super) fn listen(run: &Shared) {
    let Some(panel) = page::by_id(super::PANEL) else { return };
    let on_input = run.clone();
    page::on(&panel, "input", move |_: &Event, target| {
        if target.has_attribute("data-blank") {
            typed(&on_input.borrow(), &target);
        }
    });
    let on_focus = run.clone();
    page::on(&panel, "focusin", move |_: &Event, target| {
        if target.has_attribute("data-blank") {
            mark(&target);
            offer(html! {});
            echo(&on_focus.borrow(), &target);
            keep_in_sight(Some(&target));
            // What was taken is not typed on, but typed again.
            if let Some(input) =
                target.dyn_ref::<HtmlInputElement>().filter(|input| input.has_attribute("data-taken"))
            {
                input.select();
            }
        }
    });
    let on_key = run.clone();
    page::on(&panel, "keydown", move |event: &KeyboardEvent, target| {
        if event.key() == "Enter" && !event.is_composing() && target.has_attribute("data-blank") {
            event.prevent_default();
            if !event.repeat() {
                enter_in(&on_key, &target);
            }
        }
    });
    // Whatever is touched while a reading is typed, the focus stays in the input: the next key goes there.
    let on_touch = run.clone();
    page::on_page("mousedown", move |event: &Event, target| {
        let typing = matches!(on_touch.borrow().screen, Screen::Typing { .. });
        if typing && page::closest(&target, "input, a, summary").is_none() {
            event.prevent_default();
        }
    });
    let on_pad = run.clone();
    page::on(&panel, "click", move |_: &Event, target| {
        let key = page::closest(&target, "[data-key]");
        if let (Some(key), Some(input)) = (key, here()) {
            press(&input, &is(&key, "data-key"));
            typed(&on_pad.borrow(), &input);
        }
    });
}

/// The input that has the focus, or had it last.
fn here() -> Option<HtmlInputElement> {
    let marked = page::first(&format!("{BLANKS}[data-here]"));
    marked.or_else(|| page::first(BLANKS))?.dyn_into().ok()
}

fn mark(input: &Element) {
    page::set_attribute(page::first(&format!("{BLANKS}[data-here]")).as_ref(), "data-here", None);
    page::set_attribute(Some(input), "data-here", Some(""));
}

/// Types a key of the pad where the caret is.
fn press(input: &HtmlInputElement, key: &str) {
    let letters: Vec<u16> = input.value().encode_utf16().collect();
    let end = u32::try_from(letters.len()).unwrap_or(u32::MAX);
    let caret = |place: Result<Option<u32>, _>| place.ok().flatten().unwrap_or(end);
    let (mut from, to) = (caret(input.selection_start()), caret(input.selection_end()));
    let typed = if key == "⌫" { "" } else { key };
    if typed.is_empty() && from == to {
        from = from.saturating_sub(1);
    }
    let part = |range: std::ops::Range<u32>| {
        letters
            .get(range.start as usize..range.end as usize)
            .map(String::from_utf16_lossy)
            .unwrap_or_default()
    };
    input.set_value(&[&part(0..from), typed, &part(to..end)].concat());
    page::focus(Some(input));
    let caret = from + u32::try_from(typed.encode_utf16().count()).unwrap_or(0);
    // An input for text has a selection.
    let _ = input.set_selection_range(caret, caret);
}

/// The text of an input is another now.
fn typed(run: &Run, input: &Element) {
    page::set_attribute(Some(input), "data-taken", None);
    page::set_attribute(Some(input), "aria-invalid", None);
    offer(html! {});
    echo(run, input);
    keep_in_sight(Some(input));
}

/// Says how the text of an input is understood, beside its limit. It does not count yet.
fn echo(run: &Run, input: &Element) {
    let name = is(input, "data-blank");
    let Some(spec) = run.reading(item_of(&name)) else { return };
    let (text, limits) = (page::value(input), run.limits(spec));
    page::say(page::by_id(view::ECHO).as_ref(), &view::echo(spec, &name, &text, &limits));
    if let Some(job) = &run.job {
        let scale = view::scale(spec, &limits, &run.course(job), &name, &text);
        page::set_html(&view::gauge_id(&spec.id), &scale.into_string());
    }
}

/// Enter, by the pad: takes the input that has the focus.
pub(super) fn enter(run: &Shared) {
    if let Some(input) = here() {
        page::focus(Some(&input));
        enter_in(run, &input);
    }
}

fn enter_in(run: &Shared, input: &Element) {
    // What is taken is taken: only what has been typed since counts.
    if !input.has_attribute("data-taken") {
        take(run, &is(input, "data-blank"), &page::value(input), false);
    }
}

/// Asks back what was typed: nothing was taken, the focus stays, what is offered is there to be pressed.
pub(super) fn ask_back(name: &str, message: &str, offers: Markup) {
    page::set_attribute(blank(name).as_ref(), "aria-invalid", Some("true"));
    page::say(page::by_id(view::ECHO).as_ref(), message);
    offer(offers);
    keep_in_sight(blank(name).as_ref());
}

/// Scrolls so far that the input does not lie under the pad, which grows with what is said above it.
fn keep_in_sight(input: Option<&Element>) {
    if let (Some(input), Some(keys)) = (input, page::first("#run-panel .keys")) {
        let hidden = input.get_bounding_client_rect().bottom() - keys.get_bounding_client_rect().top();
        page::scroll_down(hidden + 8.0);
    }
}

fn offer(offers: Markup) {
    page::set_html(view::OFFERS, &offers.into_string());
}

/// Opens the inputs of a reading, and of those that are typed with it; `about` names the reading, or one of its blanks. What the
/// page prints of the step is above them for a reader who `arrives` at it.
pub(super) fn open(run: &Shared, about: &str, arrives: bool) {
    let items = run.borrow().together(item_of(about));
    let unread = run.borrow().unread(&items, about);
    screen(run, Screen::Typing { items, arrives });
    page::focus(blank(&unread).or_else(|| page::first(BLANKS)).as_ref());
    if arrives {
        // The step is read before its reading.
        page::scroll_to_top();
    }
}

/// Goes on from a blank that was taken: to the next that is empty on this screen, else to what follows in the run. Where another
/// holds a text that was not entered, the reader goes there.
pub(super) fn go_on(run: &Shared, name: &str) {
    let Screen::Typing { items, .. } = run.borrow().screen.clone() else { return };
    let unread = run.borrow().unread_from(&items, name);
    if unread.is_empty() {
        return lead::on(run, name);
    }
    run.borrow().say_standings(&items);
    let is_empty = |input: &Element| page::value(input).is_empty();
    let empty = unread.iter().find_map(|name| blank(name).filter(is_empty));
    page::focus(empty.or_else(|| blank(name)).or_else(|| page::by_id(super::PANEL)).as_ref());
}

/// Leaves for a screen that stops; what is typed in the other blanks is there again afterwards.
pub(super) fn leave_for(run: &Shared, name: &str, to: Screen) {
    for input in page::all(BLANKS) {
        let (other, text) = (is(&input, "data-blank"), page::value(&input));
        if other != name && !text.is_empty() && !input.has_attribute("data-taken") {
            run.borrow_mut().drafts.insert(other, text);
        }
    }
    screen(run, to);
}

fn blank(name: &str) -> Option<Element> {
    page::first(&format!("#run-panel input[data-blank='{name}']"))
}

pub(super) fn item_of(name: &str) -> &str {
    name.split_once('.').map_or(name, |(item, _)| item)
}

impl Run {
    /// The readings that are typed on one screen with this one: the proofs of dead of a step stand together.
    fn together(&self, item: &str) -> Vec<String> {
        let is_proof = |reading: &ReadingSpec| {
            reading.purpose == Purpose::Dead && !reading.is_seen() && reading.after.is_empty()
        };
        let (Some(step), true) = (self.step(), self.reading(item).is_some_and(is_proof)) else {
            return vec![item.to_owned()];
        };
        self.asked_readings(step)
            .filter(|reading| is_proof(reading))
            .map(|reading| reading.id.clone())
            .collect()
    }

    /// The names of the blanks of some readings, in order.
    pub(super) fn names(&self, items: &[String]) -> Vec<String> {
        let Some(job) = &self.job else { return Vec::new() };
        let readings = items.iter().filter_map(|item| self.reading(item));
        let named = |reading: &ReadingSpec| {
            let name = |blank: &str| format!("{}.{blank}", reading.id);
            reading.blanks(job).into_iter().map(name).collect::<Vec<_>>()
        };
        readings.flat_map(named).collect()
    }

    /// Whether a blank was read in this run, and still counts.
    pub(super) fn is_read(&self, name: &str) -> bool {
        let Some(job) = &self.job else { return false };
        let course = self.course(job);
        let (item, blank) = name.split_once('.').unwrap_or((name, ""));
        course.last(item, blank).is_some_and(|read| {
            !matches!(read.taken.judged, Judged::Stop | Judged::CannotTell)
                && course.invalidated_by(&read).is_none()
        })
    }

    /// The blank to begin with: the one named, else the first of the reading that is not read, else its first.
    fn unread(&self, items: &[String], about: &str) -> String {
        let names = self.names(items);
        let of_it: Vec<&String> = names.iter().filter(|name| item_of(name) == item_of(about)).collect();
        let named = of_it.iter().find(|name| ***name == about);
        let unread = of_it.iter().find(|name| !self.is_read(name));
        named.or(unread).or(of_it.first()).map(|name| (**name).clone()).unwrap_or_default()
    }

    /// The blanks that are not read, from the one after this on, round the screen.
    fn unread_from(&self, items: &[String], name: &str) -> Vec<String> {
        let names = self.names(items);
        let at = names.iter().position(|known| known == name).map_or(0, |at| at + 1);
        let round = names.iter().skip(at).chain(names.iter().take(at));
        round.filter(|name| !self.is_read(name)).cloned().collect()
    }

    /// Says at each blank how it stands now, and keeps in the page what is taken.
    fn say_standings(&self, items: &[String]) {
        let Some(job) = &self.job else { return };
        let course = self.course(job);
        for name in self.names(items) {
            let (item, blank_name) = name.split_once('.').unwrap_or((&name, ""));
            let words = view::standing(&course, item, blank_name);
            page::say(page::first(&format!("#run-panel [data-stands='{name}']")).as_ref(), &words);
            let taken = self.is_read(&name).then_some("");
            page::set_attribute(blank(&name).as_ref(), "data-taken", taken);
        }
    }
}
