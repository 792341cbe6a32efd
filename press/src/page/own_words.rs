//! This amplifier's own words, in braces: on paper the example stands there, a run finds it by what it is of.

use crate::fault::Faults;
use crate::markdown::tree::{Kind, Node, change};
use job::procedure::words::{Part, parts};
use job::procedure::wrong_words;
use maud::{Markup, html};

/// Marks them in the running text, and complains of what is wrong with them.
pub(super) fn mark(nodes: &mut [Node], faults: &Faults) {
    change(nodes, &mut |node| {
        let Kind::Text(text) = &node.kind else { return };
        if !text.contains('{') {
            return;
        }
        if let Some(place) = &node.place {
            for (found, wrong, right) in wrong_words(text) {
                faults.add(place, found, wrong, right);
            }
        }
        let one = |part| match part {
            Part::Text(text) => Node::from(text),
            Part::Own(of, example) => own(of, example).into(),
        };
        let marked: Vec<Node> = parts(text).into_iter().map(one).collect();
        // Where every brace is something else, what stands there stays, or it would be marked again and again.
        if marked.len() > 1 || matches!(marked.as_slice(), [Node { kind: Kind::Html(_), .. }]) {
            node.kind = Kind::Group(marked);
        }
    });
}

/// The amplifier's own: on paper the example; a run finds it by what it is of.
pub(super) fn own(of: &str, example: &str) -> Markup {
    html! { span data-of=(of) { (together(example)) } }
}

/// A sentence of a block.
pub(super) fn sentence(text: &str) -> Markup {
    html! {
        @for part in parts(text) {
            @match part {
                Part::Text(text) => { (together(text)) },
                Part::Own(of, example) => { (own(of, example)) },
            }
        }
    }
}

/// A figure stays with its unit: `10` at the end of a line and `V` on the next can be misread from where one stands.
pub(super) fn together(text: &str) -> String {
    const UNITS: [&str; 11] = ["V", "mV", "A", "mA", "W", "Ω", "kΩ", "MΩ", "µF", "%", "s"];
    let mut written = String::with_capacity(text.len());
    for (at, word) in text.split(' ').enumerate() {
        let unit = word.trim_end_matches(|mark: char| ".,;:)".contains(mark));
        let joins = written.ends_with(|last: char| last.is_ascii_digit()) && UNITS.contains(&unit);
        if at > 0 {
            written.push(if joins { '\u{a0}' } else { ' ' });
        }
        written.push_str(word);
    }
    written
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_figure_stays_with_its_unit() {
        assert_eq!(together("10 V or more: hands out"), "10\u{a0}V or more: hands out");
        assert_eq!(together("0.5 Ω: no power, 2 valves"), "0.5\u{a0}Ω: no power, 2 valves");
    }

    #[test]
    fn the_amplifiers_own_words_are_printed_as_the_example_and_found_by_what_they_are_of() {
        let printed =
            sentence("red on pin {pin grid: 5}, about {0.95 × job.bias-expected: −43.7 V} & falling");
        assert_eq!(
            printed.into_string(),
            "red on pin <span data-of=\"pin grid\">5</span>, about \
             <span data-of=\"0.95 × job.bias-expected\">−43.7\u{a0}V</span> &amp; falling"
        );
    }
}
