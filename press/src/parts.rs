//! The parts of a text that CommonMark does not know as the book needs them: headings with ids, links that are followed, steps,
//! notes.

use crate::fault::{Place, nearest};
use crate::link;
use crate::text::{Flow, Text, Writer, escaped, plain, words_of};
use math_core::MathDisplay;
use maud::{PreEscaped, html};
use pulldown_cmark::{CowStr, Event, HeadingLevel, Tag, TagEnd};
use std::ops::Range;

impl Writer<'_> {
    pub(crate) fn write_heading<'e>(
        &mut self,
        level: HeadingLevel,
        id: Option<CowStr<'e>>,
        inner: Vec<(Event<'e>, Range<usize>)>,
        place: &Place,
        flow: &mut Flow<'e>,
    ) {
        let words = plain(&inner);
        let found = level as u8;
        if found == 1 {
            self.shop.faults.add(
                place,
                format!("# {words}"),
                "is a second title",
                "the title stands in the front matter; write ##",
            );
        } else if found > self.level + 1 {
            let right = format!("write {} {words}", "#".repeat(usize::from(self.level) + 1));
            self.shop.faults.add(
                place,
                format!("{} {words}", "#".repeat(found.into())),
                format!("skips a level after {}", "#".repeat(self.level.into())),
                right,
            );
        }
        self.level = found;
        let id = id.map_or_else(|| slug(&words), |id| id.to_string());
        self.take_id(&id, place);
        if found == 2 {
            let markup = html! {
                @for (event, _) in &inner {
                    @match event {
                        Event::Text(text) => { (text.as_ref()) },
                        Event::Code(code) => { code { (code.as_ref()) } },
                        Event::InlineMath(latex) => { (PreEscaped(self.formula(latex, MathDisplay::Inline, place))) },
                        _ => {},
                    }
                }
            };
            self.text.headings.push((id.clone(), markup));
        }
        self.heading = words;
        flow.html(format!("<{level} id=\"{}\">", escaped(&id)));
        flow.quiet += 1;
        self.run(&mut inner.into_iter(), flow);
        flow.quiet -= 1;
        flow.html(format!("</{level}>\n"));
    }

    pub(crate) fn write_link(
        &mut self,
        written: &str,
        place: &Place,
        rest: &[(Event<'_>, Range<usize>)],
        flow: &mut Flow<'_>,
    ) {
        let link =
            link::follow(written, place, self.page, self.shop.book, &mut self.text.anchors, self.shop.faults)
                .unwrap_or_default();
        self.text.sources.extend(link.source);
        let words: String = rest
            .iter()
            .map_while(|(event, _)| (*event != Event::End(TagEnd::Link)).then(|| words_of(event)))
            .collect();
        let leads_to = if link.leads_to.is_empty() || link.leads_to == words {
            String::new()
        } else {
            format!(" data-to=\"{}\"", escaped(&link.leads_to))
        };
        flow.html(format!("<a href=\"{}\"{leads_to}>", escaped(&link.href)));
    }

    /// The outermost numbered lists of a procedure are its steps.
    pub(crate) fn open_list(&self, first: Option<u64>, flow: &mut Flow<'_>) {
        let steps = first.filter(|_| self.has_steps() && flow.lists.is_empty());
        flow.lists.push(steps);
        match steps {
            Some(1) => flow.html(format!("{}\n", Text::STEPS)),
            Some(first) => flow.html(format!("<ol class=\"steps\" start=\"{first}\">\n")),
            None => flow.out.push(Event::Start(Tag::List(first))),
        }
    }

    pub(crate) fn open_item(&mut self, place: &Place, flow: &mut Flow<'_>) {
        match flow.lists.last_mut() {
            Some(Some(step)) => {
                let number = *step;
                let id = format!("step-{number}");
                *step += 1;
                self.take_id(&id, place);
                self.begin_step(&id);
                flow.html(format!("<li id=\"{id}\">\n<p class=\"step\">Step {number}</p>\n"));
            }
            _ => flow.out.push(Event::Start(Tag::Item)),
        }
    }

    pub(crate) fn write_mention<'e>(&mut self, name: CowStr<'e>, place: &Place, flow: &mut Flow<'e>) {
        let known = flow.mentioned.iter().position(|mentioned| *mentioned == name);
        let number = known.unwrap_or(flow.mentioned.len()) + 1;
        let mut id = String::new();
        if known.is_none() {
            flow.mentioned.push(name);
            self.take_id(&format!("note-{number}-mention"), place);
            id = format!(" id=\"note-{number}-mention\"");
        }
        flow.html(format!("<sup><a class=\"note\"{id} href=\"#note-{number}\" aria-label=\"Note {number}\">{number}</a></sup>"));
    }

    pub(crate) fn write_notes(&mut self, flow: &mut Flow<'_>) {
        let mentioned = std::mem::take(&mut flow.mentioned);
        if !mentioned.is_empty() {
            flow.html("<section class=\"notes\" aria-label=\"Notes\">\n<ol>\n");
            for (number, name) in (1..).zip(&mentioned) {
                let Some((place, note)) = flow.notes.remove(name) else {
                    continue;
                };
                self.take_id(&format!("note-{number}"), &place);
                flow.html(format!("<li id=\"note-{number}\">"));
                flow.out.extend(note);
                flow.html(format!(
                    "<p><a href=\"#note-{number}-mention\">Back to the text of note {number}</a></p></li>\n"
                ));
            }
            flow.html("</ol>\n</section>\n");
        }
        for (name, (place, _)) in &flow.notes {
            self.shop.faults.add(
                place,
                format!("[^{name}]"),
                "is mentioned nowhere",
                nearest(name, mentioned.iter().map(AsRef::as_ref)),
            );
        }
    }
}

/// The id of a heading without one of its own: its words in small letters, joined by hyphens, as other viewers make it.
fn slug(words: &str) -> String {
    let kept = words
        .to_lowercase()
        .chars()
        .filter(|c| c.is_alphanumeric() || " -_".contains(*c))
        .collect::<String>();
    kept.trim().replace(' ', "-")
}

#[cfg(test)]
mod tests {
    use super::slug;

    #[test]
    fn a_heading_without_an_id_is_named_by_its_words() {
        assert_eq!(slug("What seventy per cent is *not*"), "what-seventy-per-cent-is-not");
        assert_eq!(slug("Warm: at 0, 1 and 10 minutes"), "warm-at-0-1-and-10-minutes");
    }
}
