//! Brings a printed calculator to life: what is typed is worked out, and the parts that have changed are set again.
//!
//! One listener a block for each kind of event, on the block itself. Only `page` speaks to the browser.

mod opened;

use std::cell::RefCell;
use std::collections::BTreeMap;
use std::rc::Rc;

use calc_core::calculator::{Entry, Field, Inputs, Kind, Link, from_line};
use web_sys::{Element, HtmlElement};

use super::{Fields, PARTS, Pages, Shown, Turn, fields, form, in_words, label, value, value_id, wanted};
use crate::platform::{later, page, saved_inputs, share};

/// A calculator that is alive.
struct Living {
    element: HtmlElement,
    block: String,
    entry: &'static Entry,
    /// What the page sets, and what an example was worked out to on another page.
    given: Inputs,
    /// What the reader typed over it, or what a link brought.
    typed: Inputs,
    /// The link whose inputs stand here instead of the page's. Then the address, and not the store, keeps what is typed.
    opened_from: Option<Link>,
    /// The state kept aside: the reader's own inputs in it, and the example beside them.
    kept: Option<(Inputs, Inputs)>,
    shown: Shown,
    /// The id of the field that was last edited.
    edited: Option<&'static str>,
    /// The ids of the answers that are in the page.
    answered: Vec<&'static str>,
    /// The HTML that is in each element that is set again, by the element's id.
    standing: BTreeMap<String, String>,
    /// Says the answer once typing has paused.
    pause: later::Pause,
    /// Sets the parts that follow.
    next_frame: Option<later::NextFrame>,
    /// Which of them are next.
    turn: Turn,
}

/// Brings the calculator in this element to life: takes over its printed markup; then the current job's values
/// go in, and the reader's own inputs, kept from the last visit.
///
/// # Errors
/// A sentence for the console, where there is no such calculator or its fields are not there.
pub fn mount(element: &HtmlElement) -> Result<(), String> {
    let attribute = |name: &str| element.get_attribute(name).unwrap_or_default();
    let entry = calc_core::find(&attribute("data-calculator")).map_err(|unknown| unknown.to_string())?;
    let fieldset =
        page::find(element, "fieldset").ok_or("the fields that the page should have are not there")?;
    let (block, given) = (element.id(), from_line(&attribute("data-inputs")).0);
    let shown = Shown::new(entry, &given, Pages::read(entry, &attribute("data-homes")));
    let standing = PARTS.iter().map(|part| (part.id(&block), part.html(&shown, &block))).collect();
    let aside = saved_inputs::kept(&aside(&block));
    let living = Living {
        element: element.clone(),
        entry,
        typed: saved_inputs::kept(&block),
        opened_from: None,
        kept: (!aside.is_empty()).then(|| (aside, given.clone())),
        given,
        edited: None,
        standing,
        answered: shown.report().answers.iter().map(|answered| answered.answer.id).collect(),
        shown,
        pause: later::Pause::new(page::find(element, "[aria-live]")),
        next_frame: None,
        turn: Turn::Second,
        block,
    };
    let living = Rc::new(RefCell::new(living));
    let acts = [
        ("input", typed as Act),
        ("click", pressed),
        ("focusin", edited),
        ("toggle", unfolded),
        (JOB_CHANGED, worked_anew),
    ];
    for (kind, act) in acts {
        let living = Rc::clone(&living);
        page::listen(element, kind, move |target| {
            // An event that an act of ours brings about itself finds the block taken, and has nothing to add.
            if let Ok(mut living) = living.try_borrow_mut() {
                act(&mut living, &target);
            }
        });
    }
    let follow = Rc::clone(&living);
    let next_frame = later::NextFrame::new(move || {
        if let Ok(mut living) = follow.try_borrow_mut() {
            living.follow();
        }
    });
    if let Ok(mut living) = living.try_borrow_mut() {
        living.next_frame = Some(next_frame);
        living.set_kept();
        if !living.own().is_empty() || living.kept.is_some() {
            living.work();
        }
        living.look_at_link();
    }
    page::on_new_fragment(move || {
        if let Ok(mut living) = living.try_borrow_mut() {
            living.look_at_link();
        }
    });
    page::set_attribute(Some(&fieldset), "disabled", None);
    page::set_attribute(Some(element), "data-alive", Some(""));
    Ok(())
}

/// Under which a block's state that is kept aside is stored.
fn aside(block: &str) -> String {
    format!("{block} aside")
}

/// What `current-job.js` calls out on a calculator when it has set other values of the job there.
const JOB_CHANGED: &str = "from-job";

type Act = fn(&mut Living, &Element);

fn typed(living: &mut Living, target: &Element) {
    if target.has_attribute("data-cursor") {
        return living.read_at(&page::value(target));
    }
    // What slides a value names the field that it slides.
    if let Some(name) = target.get_attribute("name").or_else(|| target.get_attribute("data-for")) {
        page::set_attribute(Some(&living.element), "data-typed", Some(""));
        living.put(name, page::value(target));
    }
}

fn pressed(living: &mut Living, target: &Element) {
    let Some(button) = page::closest(target, "button") else { return };
    match (button.get_attribute("data-act").as_deref(), button.get_attribute("data-offer")) {
        (Some("copy"), _) => {
            living.copy(&living.shown.report().as_text(&label(living.entry.sheet, &living.block)));
        }
        (Some("reset"), _) => {
            let (typed, says) = match &living.opened_from {
                Some(link) => (link.inputs.clone(), "Every field is as the link set it."),
                None => (Inputs::new(), "Every field is as the page or the job set it."),
            };
            living.typed = typed;
            living.changed();
            page::say(page::find(&living.element, ".said").as_ref(), says);
        }
        (Some("own"), _) => living.leave_link(),
        (Some("aside"), _) => living.put_aside(Some((living.own(), living.example()))),
        (Some("aside-off"), _) => living.put_aside(None),
        (Some("aside-back"), _) => {
            if let Some((own, _)) = living.kept.clone() {
                living.typed = own;
                living.changed();
            }
        }
        (Some("copy-link"), _) => living.copy(&living.address()),
        (Some("save"), _) => living.save(&button),
        (Some("share"), _) => share::link(&living.shown.report().summary, &living.address()),
        (_, Some(offer)) => {
            let name = button.get_attribute("data-for").unwrap_or_default();
            let field = format!("[name='{name}']");
            living.put(name, offer);
            // The button went with the problem; anyone who pressed it goes on in the field.
            page::focus(page::find(&living.element, &field).as_ref());
        }
        _ => {}
    }
}

/// Another field has the focus: what is said of it is said once, in the dock.
fn edited(living: &mut Living, target: &Element) {
    let id = page::closest(target, "[data-field]").and_then(|field| field.get_attribute("data-field"));
    let Some(field) = living.shown.outcome.fields.iter().find(|field| Some(field.id) == id.as_deref()) else {
        return;
    };
    if living.edited != Some(field.id) {
        living.edited = Some(field.id);
        page::say(page::find(&living.element, ".said").as_ref(), "");
        living.set_edited();
    }
}

/// What was folded up has waited.
fn unfolded(living: &mut Living, _: &Element) {
    living.set_parts(Turn::Last);
    living.set_found();
    living.set_link();
}

/// The job on the bench is another, or has other values.
fn worked_anew(living: &mut Living, _: &Element) {
    living.work();
}

impl Living {
    fn put(&mut self, name: String, text: String) {
        self.typed.insert(name, text);
        self.changed();
    }

    /// Keeps what was typed, and works it out.
    fn changed(&mut self) {
        if self.opened_from.is_none() {
            saved_inputs::keep(&self.block, &self.typed);
        }
        self.work();
        if self.opened_from.is_some() {
            page::set_fragment(&self.link().written());
        }
    }

    /// The reader's own inputs: the job's, and what was typed over them, or came with a link.
    fn own(&self) -> Inputs {
        let mut own = Inputs::new();
        if self.opened_from.is_none() {
            own.extend(saved_inputs::from_job(&self.element));
        }
        own.extend(self.typed.clone());
        own
    }

    /// The example beside them: the page's, or that of the link.
    fn example(&self) -> Inputs {
        self.opened_from.as_ref().map_or_else(|| self.given.clone(), Link::example)
    }

    /// Keeps a state aside, or none.
    fn put_aside(&mut self, state: Option<(Inputs, Inputs)>) {
        self.kept = state;
        self.set_kept();
        if self.opened_from.is_none() {
            let own = self.kept.as_ref().map(|(own, _)| own.clone()).unwrap_or_default();
            saved_inputs::keep(&aside(&self.block), &own);
        }
        let said = if self.kept.is_some() {
            "Kept aside. Change what you like: both are side by side in the answer."
        } else {
            ""
        };
        page::say(page::find(&self.element, ".said").as_ref(), said);
        self.changed();
    }

    fn set_kept(&mut self) {
        self.shown.kept = self.kept.as_ref().map(|(own, example)| self.entry.run_beside(own, example));
    }

    /// The cursor of the picture is at another place.
    fn read_at(&mut self, along: &str) {
        self.shown.cursor = along.parse().ok();
        for part in PARTS.iter().filter(|part| part.name == "picture") {
            self.set(&part.id(&self.block), part.html(&self.shown, &self.block));
        }
    }

    /// Puts text on the clipboard, and says whether it is there.
    fn copy(&self, text: &str) {
        let said = page::find(&self.element, ".said");
        page::copy(text, move |done| {
            page::say(said.as_ref(), if done { "Copied." } else { "The browser forbids copying here." });
        });
    }

    /// Saves what is beside a button as a file.
    fn save(&self, button: &Element) {
        let attribute = |name: &str| button.get_attribute(name).unwrap_or_default();
        let beside = page::closest(button, ".export").and_then(|beside| {
            let drawing = page::find(&beside, "svg").and_then(|drawing| page::as_xml(&drawing));
            drawing.or_else(|| page::find(&beside, "pre")?.text_content())
        });
        let points = || self.shown.report().picture.as_ref().map(calc_core::calculator::Picture::csv);
        if let Some(text) = beside.or_else(points) {
            page::save(&attribute("data-file"), &attribute("data-media"), &text);
        }
    }

    /// Sets what is said of the field that was last edited.
    fn set_edited(&mut self) {
        let fields = &self.shown.outcome.fields;
        if let Some(field) = fields.iter().find(|field| Some(field.id) == self.edited) {
            let html = fields::edited_html(field, fields::any_own(fields)).into_string();
            self.set(&format!("{}-edited", self.block), html);
        }
    }

    /// Works out the inputs, and sets what has changed.
    fn work(&mut self) {
        let before = self.shown.work(self.entry, &self.own(), &self.example());
        self.set_fields(&before);
        self.set_answers();
        self.set_parts(Turn::First);
        self.turn = Turn::Second;
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

    /// Sets the fields that are others than before. Those that stay keep their elements, and with them the focus.
    fn set_fields(&mut self, before: &Fields) {
        let block = self.block.clone();
        let now = std::mem::take(&mut self.shown.outcome.fields);
        let wanted = std::mem::take(&mut self.shown.outcome.wanted);
        let form = self.entry.sheet.form;
        let ids = |fields: &[Field]| fields.iter().map(|field| field.id).collect::<Vec<_>>();
        let same = ids(&now) == ids(&before.asked);
        if !same {
            self.set_anew(
                &format!("{block}-the-fields"),
                "details.more[open]",
                form::form(form, &now, &block).into_string(),
            );
        }
        let same_wanted = ids(&wanted) == ids(&before.wanted);
        if !same_wanted {
            let html = wanted::all(self.entry, &wanted, &self.own(), &self.example(), &block);
            self.set_anew(&format!("{block}-the-wanted"), "details.wanted[open]", html.into_string());
        }
        let among_own = fields::any_own(&now);
        // The first value of the reader's own makes examples of all others.
        let all = !same || among_own != fields::any_own(&before.asked);
        let others = |now: &[Field], before: &[Field], all: bool| -> Vec<Field> {
            let others = now.iter().enumerate().filter(|(at, field)| all || before.get(*at) != Some(*field));
            others.map(|(_, field)| field.clone()).collect()
        };
        for field in others(&now, &before.asked, all) {
            self.set_field(&field, among_own);
        }
        for field in others(&wanted, &before.wanted, all || !same_wanted) {
            self.set_field(&field, true);
        }
        for (id, words) in form::changed(form, &now, &block) {
            self.set(&id, words);
        }
        self.shown.outcome.fields = now;
        self.shown.outcome.wanted = wanted;
        self.set_edited();
    }

    /// Sets fields where others were, and leaves open and focused what was.
    fn set_anew(&mut self, id: &str, open: &str, html: String) {
        let focused = page::focused_id();
        let open: Vec<String> = page::all(open).iter().map(Element::id).collect();
        page::set_html(id, &html);
        for id in open {
            page::set_attribute(page::by_id(&id).as_ref(), "open", Some(""));
        }
        page::focus(focused.and_then(|id| page::by_id(&id)).as_ref());
    }

    /// Sets what has changed of a field.
    fn set_field(&mut self, field: &Field, among_own: bool) {
        let block = self.block.clone();
        if matches!(field.kind, Kind::Number { slides: Some(_), .. }) && !field.reading.is_empty() {
            page::set_value(page::by_id(&fields::slide_id(field, &block)).as_ref(), &field.reading);
        }
        let whose = page::by_id(&fields::field_id(field, &block));
        page::set_attribute(whose.as_ref(), "data-whose", Some(fields::whose(field)));
        self.set(&fields::whose_id(field, &block), fields::whose_html(field, among_own).into_string());
        self.set(&fields::off_id(field, &block), fields::off_html(field).into_string());
        for entry in fields::Entry::of(field) {
            let element = page::by_id(&entry.id(&block));
            page::set_value(element.as_ref(), entry.text);
            page::set_attribute(element.as_ref(), "aria-invalid", entry.problem.map(|_| "true"));
            if entry.unit.is_some() {
                let unit = page::by_id(&entry.unit_id(&block));
                page::set_attribute(unit.as_ref(), "class", Some(entry.unit_class()));
            }
            // What is wrong is never out of sight.
            if let Some(folded) = element
                .filter(|_| entry.problem.is_some())
                .and_then(|element| page::closest(&element, "details"))
            {
                page::set_attribute(Some(&folded), "open", Some(""));
            }
            self.set(&entry.problem_id(&block), entry.problem_html().into_string());
        }
    }

    /// Sets what gives a wanted answer, where anybody looks at it.
    fn set_found(&mut self) {
        let (own, example) = (self.own(), self.example());
        for field in self.shown.outcome.wanted.clone() {
            let id = wanted::found_id(&field, &self.block);
            if page::in_sight(&id) {
                let html = wanted::found(self.entry, &field, &own, &example).into_string();
                self.set(&id, html);
            }
        }
    }

    /// Sets the values of the answers, which the job's own lines may be beside; all of the answers where they are others
    /// than before.
    fn set_answers(&mut self) {
        let answers = &self.shown.report().answers;
        let ids = answers.iter().map(|answered| answered.answer.id).collect();
        if self.answered == ids {
            let value = |answered| (value_id(&self.block, answered), value(answered).into_string());
            for (id, html) in answers.iter().map(value).collect::<Vec<_>>() {
                self.set(&id, html);
            }
        } else if let Some(part) = PARTS.iter().find(|part| part.name == "answers") {
            self.answered = ids;
            let values = format!("{}-is-", self.block);
            self.standing
                .iter_mut()
                .filter(|(id, _)| id.starts_with(&values))
                .for_each(|(_, html)| html.clear());
            self.set(&part.id(&self.block), part.html(&self.shown, &self.block));
        }
    }

    /// Sets the parts whose turn has come in this frame.
    fn follow(&mut self) {
        self.set_parts(self.turn);
        if self.turn == Turn::Last {
            self.set_found();
            self.set_link();
        } else if let Some(next_frame) = &self.next_frame {
            self.turn = Turn::Last;
            next_frame.ask();
        }
    }

    /// Sets the other parts of the answer that have this turn, save what is folded up.
    fn set_parts(&mut self, turn: Turn) {
        for part in PARTS.iter().filter(|part| part.turn == turn && part.name != "answers") {
            let id = part.id(&self.block);
            // What was empty is folded away for good until something comes to stand there.
            let is_empty = self.standing.get(&id).is_none_or(String::is_empty);
            if part.folded.is_none() || is_empty || page::in_sight(&id) {
                self.set(&id, part.html(&self.shown, &self.block));
            }
        }
    }

    /// Sets the HTML of an element, if it is not what stands there.
    fn set(&mut self, id: &str, html: String) {
        let stands = self.standing.entry(id.to_owned()).or_default();
        if *stands != html {
            page::set_changes(id, stands, &html);
            *stands = html;
        }
    }
}
