//! Brings a printed calculator to life: what is typed is worked out, and the parts that have changed are set anew.
//!
//! One listener a block for each kind of event, on the block itself. Only `page` speaks to the browser.

mod page;

use std::cell::{OnceCell, RefCell};
use std::collections::BTreeMap;
use std::rc::Rc;

use calc_core::calculator::{Entry, Inputs, from_line};
use calc_core::calculators::Group;
use wasm_bindgen::prelude::wasm_bindgen;
use web_sys::{Element, HtmlElement};

use crate::view::{PARTS, Shown, fields, in_words, label, value, value_id};

/// A calculator that is alive.
struct Living {
    element: HtmlElement,
    block: String,
    entry: &'static Entry,
    /// What the page sets.
    given: Inputs,
    /// What the reader typed over it.
    typed: Inputs,
    shown: Shown,
    /// The HTML that stands in each element that is set anew, by the element's id.
    standing: BTreeMap<String, String>,
    /// Says the answer once typing has paused.
    pause: page::Pause,
    /// Sets the parts that follow.
    next_frame: Option<page::NextFrame>,
}

thread_local! {
    /// What this module calculates.
    static BROUGHT: OnceCell<&'static [&'static Group]> = const { OnceCell::new() };
}

/// Says which calculators this module brings; the module's `main` does, once.
pub fn bring(groups: &'static [&'static Group]) {
    BROUGHT.with(|brought| {
        brought.get_or_init(|| groups);
    });
}

/// Brings the calculator in this element to life: takes over its printed markup; then the reader's own inputs, kept from
/// the last visit, go in.
///
/// # Errors
/// A sentence for the console, where this module has no such calculator.
#[wasm_bindgen]
pub fn wake(element: &HtmlElement) -> Result<(), String> {
    let attribute = |name: &str| element.get_attribute(name).unwrap_or_default();
    let wanted = attribute("data-calculator");
    let groups = BROUGHT.with(|brought| brought.get().copied().unwrap_or_default());
    let mut entries = groups.iter().flat_map(|group| group.entries);
    let entry = entries
        .find(|entry| entry.sheet.id == wanted)
        .ok_or_else(|| format!("this module has no calculator “{wanted}”"))?;
    let fieldset =
        page::find(element, "fieldset").ok_or("the fields that the page should have are not there")?;
    let (block, given) = (element.id(), from_line(&attribute("data-inputs")).0);
    let shown = Shown::new(entry, &given, None);
    let standing = PARTS.iter().map(|part| (part.id(&block), part.html(&shown, &block)));
    let living = Living {
        element: element.clone(),
        entry,
        given,
        typed: page::kept(&block),
        standing: standing.collect(),
        shown,
        pause: page::Pause::new(page::find(element, "[aria-live]")),
        next_frame: None,
        block,
    };
    let living = Rc::new(RefCell::new(living));
    for (kind, act) in [("input", typed as Act), ("click", pressed), ("toggle", unfolded)] {
        let living = Rc::clone(&living);
        page::listen(element, kind, move |target| {
            // An event that an act of ours brings about itself finds the block taken, and has nothing to add.
            if let Ok(mut living) = living.try_borrow_mut() {
                act(&mut living, &target);
            }
        });
    }
    let follow = Rc::clone(&living);
    let next_frame = page::NextFrame::new(move || {
        if let Ok(mut living) = follow.try_borrow_mut() {
            living.set_parts(true);
        }
    });
    if let Ok(mut living) = living.try_borrow_mut() {
        living.next_frame = Some(next_frame);
        if !living.typed.is_empty() {
            living.work();
        }
    }
    page::set_attribute(Some(&fieldset), "disabled", None);
    page::set_attribute(Some(element), "data-alive", Some(""));
    Ok(())
}

type Act = fn(&mut Living, &Element);

fn typed(living: &mut Living, target: &Element) {
    if let Some(name) = target.get_attribute("name") {
        living.put(name, page::value(target));
    }
}

fn pressed(living: &mut Living, target: &Element) {
    let Some(button) = page::closest(target, "button") else { return };
    match (button.get_attribute("data-act").as_deref(), button.get_attribute("data-offer")) {
        (Some("copy"), _) => {
            let said = page::find(&living.element, ".said");
            let text = living.shown.last.as_text(&label(living.entry.sheet, &living.block));
            page::copy(&text, move |done| {
                page::say(said.as_ref(), if done { "Copied." } else { "The browser forbids copying here." });
            });
        }
        (Some("reset"), _) => {
            living.typed.clear();
            living.work();
            page::say(
                page::find(&living.element, ".said").as_ref(),
                "Every field stands as the page set it.",
            );
        }
        (_, Some(offer)) => {
            let name = button.get_attribute("data-for").unwrap_or_default();
            let field = format!("[name='{name}']");
            living.put(name, offer);
            // The button went with the problem; whoever pressed it goes on in the field.
            page::focus(page::find(&living.element, &field).as_ref());
        }
        _ => {}
    }
}

/// What was folded up has waited.
fn unfolded(living: &mut Living, _: &Element) {
    living.set_parts(true);
}

impl Living {
    fn put(&mut self, name: String, text: String) {
        self.typed.insert(name, text);
        self.work();
    }

    /// Works out the inputs, keeps what was typed, and sets what has changed.
    fn work(&mut self) {
        page::keep(&self.block, &self.typed);
        let mut inputs = self.given.clone();
        inputs.extend(self.typed.clone());
        let before = self.shown.clone();
        self.shown = Shown::new(self.entry, &inputs, Some(before.clone()));
        self.set_fields(&before);
        self.set_answers(&before);
        self.set_parts(false);
        if let Some(next_frame) = &self.next_frame {
            next_frame.ask();
        }
        let answer = page::find(&self.element, ".answer");
        page::set_attribute(
            answer.as_ref(),
            "class",
            Some(if self.shown.old() { "answer stale" } else { "answer" }),
        );
        self.pause.then_say(in_words(&self.shown));
    }

    /// Sets the fields. Those that stay keep their elements, and with them the focus.
    fn set_fields(&mut self, before: &Shown) {
        let (block, now) = (self.block.clone(), self.shown.outcome.fields.clone());
        if !now.iter().map(|field| field.id).eq(before.outcome.fields.iter().map(|field| field.id)) {
            let focused = page::focused_id();
            self.set(format!("{block}-the-fields"), fields::fields(&now, &block).into_string());
            page::focus(focused.and_then(|id| page::by_id(&id)).as_ref());
        }
        for entry in now.iter().flat_map(fields::Entry::of) {
            let element = page::by_id(&entry.id(&block));
            page::set_value(element.as_ref(), entry.text);
            page::set_attribute(element.as_ref(), "aria-invalid", entry.problem.map(|_| "true"));
            if entry.unit.is_some() {
                let unit = page::by_id(&entry.unit_id(&block));
                page::set_attribute(unit.as_ref(), "class", Some(entry.unit_class()));
            }
            self.set(entry.problem_id(&block), entry.problem_html().into_string());
        }
    }

    /// Sets the values of the answers; all of the answers where they are others than before.
    fn set_answers(&mut self, before: &Shown) {
        let (block, now) = (self.block.clone(), self.shown.last.answers.clone());
        if now.iter().map(|answered| answered.answer.id).eq(before
            .last
            .answers
            .iter()
            .map(|old| old.answer.id))
        {
            for answered in &now {
                self.set(value_id(&block, answered), value(answered).into_string());
            }
        } else if let Some(part) = PARTS.iter().find(|part| part.name == "answers") {
            self.standing.retain(|id, _| !id.starts_with(&format!("{block}-is-")));
            self.set(part.id(&block), part.html(&self.shown, &block));
        }
    }

    /// Sets the other parts of the answer, those that follow or those that do not, save what is folded up.
    fn set_parts(&mut self, follows: bool) {
        for part in PARTS.iter().filter(|part| part.follows == follows && part.name != "answers") {
            let id = part.id(&self.block);
            if page::in_sight(&id) {
                self.set(id, part.html(&self.shown, &self.block));
            }
        }
    }

    /// Sets the HTML of an element, if it is not what stands there.
    fn set(&mut self, id: String, html: String) {
        let stands = self.standing.get(&id).map_or("", String::as_str);
        if stands != html {
            page::set_html(&id, &html);
            self.standing.insert(id, html);
        }
    }
}
