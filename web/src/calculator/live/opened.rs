//! A calculator and the links to it: one that was opened with the page, and the one that is given out.

use calc_core::calculator::{Inputs, Link};

use super::{Living, aside};
use crate::calculator::link;
use crate::platform::{page, saved_inputs, share};

impl Living {
    pub(super) fn link(&self) -> Link {
        let link = Link::to(self.entry, &self.block, &self.own(), &self.example(), &self.shown.outcome);
        match (&self.kept, &self.shown.kept) {
            (Some((own, example)), Some(outcome)) => {
                let kept = Link::to(self.entry, &self.block, own, example, outcome);
                link.beside(&kept, &outcome.fields)
            }
            _ => link,
        }
    }

    pub(super) fn address(&self) -> String {
        page::address(&self.link().written())
    }

    /// If the page's address is a link to this block, it is opened.
    pub(super) fn look_at_link(&mut self) {
        let link = page::link();
        // An anchor inside the page has taken the place of the link that keeps what is typed.
        if link.is_none() && self.opened_from.is_some() {
            page::set_fragment(&self.link().written());
        }
        let Some(link) = link.filter(|link| self.is_meant_by(link)) else { return };
        if link.edition.is_some() {
            self.typed = link.inputs.clone();
            self.kept = link.kept();
            self.set_kept();
            self.opened_from = Some(link.clone());
        } else {
            self.opened_from = None;
            // What was worked out from an example stays one. Put in one by one: taking out of a map is code of its own.
            self.typed = Inputs::new();
            let kept = saved_inputs::kept(&self.block);
            self.typed.extend(kept.into_iter().filter(|(id, _)| !link.examples.contains_key(id)));
            self.typed.extend(link.inputs.clone());
            self.given.extend(link.examples.clone());
            saved_inputs::keep(&self.block, &self.typed);
            // What it brought is kept now: the page loaded again must not bring it again.
            page::set_fragment(&self.block);
        }
        self.work();
        let said = link::opened_from_link(&link, self.entry, &self.shown.outcome).into_string();
        self.set(&format!("{}-came", self.block), said);
        page::show(&self.element);
    }

    /// Whether a link means this block: by its id, or, where that is gone from the page, as the first of its calculator.
    fn is_meant_by(&self, link: &Link) -> bool {
        let same = format!("[data-calculator='{}']", link.calculator);
        let block = if link.block.is_empty() { &link.calculator } else { &link.block };
        let named = page::by_id(block).filter(|element| element.matches(&same).unwrap_or(false));
        let meant = named.or_else(|| page::first(&same));
        meant.is_some_and(|element| element.is_same_node(Some(&self.element)))
    }

    /// Puts the page's inputs and the reader's own back where a link's stood.
    pub(super) fn leave_link(&mut self) {
        self.opened_from = None;
        self.typed = saved_inputs::kept(&self.block);
        let kept = saved_inputs::kept(&aside(&self.block));
        self.kept = (!kept.is_empty()).then(|| (kept, self.given.clone()));
        self.set_kept();
        page::set_fragment(&self.block);
        self.set(&format!("{}-came", self.block), String::new());
        self.work();
    }

    /// Sets what is given out as a link, if anybody looks at it.
    pub(super) fn set_link(&mut self) {
        let id = format!("{}-link", self.block);
        if page::in_sight(&id) {
            let given = link::given_out(&self.address(), share::takes_links()).into_string();
            self.set(&id, given);
        }
    }
}
