//! Links: what came with one, what is given out as one, where an answer can be taken on to.

use calc_core::calculator::{Answered, Entry, Link, Outcome};
use maud::{Markup, html};
use qrcodegen::{QrCode, QrCodeEcc};

use super::Shown;

/// Links that take the answer on to another calculator. An old answer is taken nowhere.
pub(super) fn handoffs(shown: &Shown, _: &str) -> Markup {
    html! {
        @for carry in shown.report().carries.iter().filter(|_| !shown.old()) {
            @let (calculator, carried) = (carry.to.id.to_owned(), carry.inputs.clone());
            @let link = if carry.is_example {
                Link { calculator, examples: carried, ..Link::default() }
            } else {
                Link { calculator, inputs: carried, ..Link::default() }
            };
            p.carry { a href={ (shown.pages.address(carry.to.id)) "#" (link.written()) } { "Take " (carry.what) " to “" (carry.to.title) "”" } }
        }
    }
}

/// What the reader must know of a link that this block was opened from.
pub(crate) fn opened_from_link(link: &Link, entry: &Entry, outcome: &Outcome) -> Markup {
    let whole = link.edition.is_some();
    let carries = |id: &str| link.inputs.contains_key(id) || link.examples.contains_key(id);
    let unknown = outcome.unknown.iter().filter(|name| carries(name));
    let unread: Vec<&str> = link.damaged.iter().chain(unknown).map(String::as_str).collect();
    let set = outcome.fields.iter().chain(&outcome.wanted).filter(|field| carries(field.id));
    let mut names: Vec<&str> = set.map(|field| field.name).collect();
    names.dedup();
    let first = outcome.report.as_ref().and_then(|report| report.answers.first());
    let differs = |answered: &&Answered| {
        link.answer.as_ref().is_some_and(|answer| *answer != answered.value().replace('\u{a0}', " "))
    };
    html! {
        @if whole {
            p { "These inputs came with a link. What you typed here yourself is kept." }
        } @else {
            p { "Set by the link: " (names.join(", ")) "." }
        }
        @if !unread.is_empty() {
            p { strong { "Part of the link could not be read" } ": " @for (at, part) in unread.iter().enumerate() { @if at > 0 { ", " } "“" (part) "”" } ". The rest is below." }
        }
        @if link.edition.is_some_and(|edition| edition > entry.sheet.edition) {
            p { strong { "The link was made by a later edition" } " of this handbook. Its defaults may differ from \
                                                                   those below." }
        }
        @if let (Some(answered), Some(answer)) = (first.filter(differs), &link.answer) {
            p { strong { "When the link was made, the answer was " (answer) } " (" (answered.answer.name) "). A figure or a rule behind it has \
                                                                                                           since been corrected." }
        }
        @if whole { button type="button" data-act="own" { "Show my own readings instead" } }
    }
}

/// What is given out: the address, a way to copy or to send it, and its code for the camera of a phone.
pub(crate) fn given_out(address: &str, can_share: bool) -> Markup {
    html! {
        p.address { a href=(address) { (address) } }
        p {
            button type="button" data-act="copy-link" { "Copy the link" }
            @if can_share { " " button type="button" data-act="share" { "Send the link" } }
        }
        @match QrCode::encode_text(address, QrCodeEcc::Medium) {
            Ok(code) => (drawn(&code)),
            Err(_) => p { "The link is too long for a QR code. Copy it." },
        }
    }
}

/// A QR code (ISO/IEC 18004), dark on light in either scheme, with the quiet zone of four modules that readers need.
fn drawn(code: &QrCode) -> Markup {
    const QUIET: i32 = 4;
    let side = code.size() + 2 * QUIET;
    let mut dark = String::new();
    for row in 0..code.size() {
        let mut column = 0;
        while column < code.size() {
            let run = (column..code.size()).take_while(|column| code.get_module(*column, row)).count();
            let length = i32::try_from(run).unwrap_or_default();
            if length > 0 {
                dark.push_str(&format!("M{} {}h{length}v1h-{length}z", column + QUIET, row + QUIET));
            }
            column += length + 1;
        }
    }
    html! {
        svg.qr role="img" aria-label="QR code of this link" viewBox={ "0 0 " (side) " " (side) } {
            rect.light width=(side) height=(side) {}
            path.dark d=(dark) {}
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use calc_core::calculator::Inputs;

    fn came_text(fragment: &str) -> String {
        let link = Link::read(fragment).unwrap();
        let entry = calc_core::find(&link.calculator).unwrap();
        opened_from_link(&link, entry, &entry.run(&link.opened())).into_string()
    }

    #[test]
    fn what_could_not_be_read_is_shown() {
        let text = came_text("dissipation.1;bias=cathode;anode-volts=3;broken");
        assert!(text.contains("could not be read") && text.contains("“broken”, “anode-volts”"), "{text}");
        assert!(!came_text("dissipation.1;bias=cathode").contains("could not be read"));
    }

    #[test]
    fn an_answer_that_has_been_corrected_since_is_named() {
        let answer = calc_core::calculate("dissipation", &Inputs::new()).unwrap().report.unwrap().answers[0]
            .value()
            .replace('\u{a0}', " ");
        let same = Link {
            calculator: "dissipation".into(),
            edition: Some(1),
            answer: Some(answer),
            ..Link::default()
        };
        assert!(!came_text(&same.written()).contains("corrected"));
        let other = Link { answer: Some("99.9 W".into()), ..same };
        assert!(came_text(&other.written()).contains("the answer was 99.9 W"));
    }

    #[test]
    fn a_later_edition_is_named() {
        assert!(came_text("dissipation.99;bias=fixed").contains("later edition"));
    }

    /// The drawing, read by another library than the one that made the code.
    #[test]
    fn the_drawn_code_can_be_read() {
        let address = "https://example.org/output-stage/dissipation.html#first:dissipation.1;anode-voltage=436V;~14.8+W";
        let drawing = given_out(address, false).into_string();
        let path = drawing.split(" d=\"").nth(1).unwrap().split('"').next().unwrap();
        let number = |text: &str| text.parse::<usize>().unwrap();
        let mut dark = std::collections::BTreeSet::new();
        for run in path.split('z').filter(|run| !run.is_empty()) {
            let (from, rest) = run.strip_prefix('M').unwrap().split_once('h').unwrap();
            let (x, y) = from.split_once(' ').unwrap();
            let length = number(rest.split('v').next().unwrap());
            dark.extend((0..length).map(|along| (number(x) + along, number(y))));
        }
        let side = number(drawing.split("viewBox=\"0 0 ").nth(1).unwrap().split(' ').next().unwrap());
        let pixels = 4;
        let mut image = rqrr::PreparedImage::prepare_from_greyscale(side * pixels, side * pixels, |x, y| {
            if dark.contains(&(x / pixels, y / pixels)) { 0 } else { 255 }
        });
        let (_, read) = image.detect_grids()[0].decode().unwrap();
        assert_eq!(read, address);
    }

    #[test]
    fn an_address_too_long_for_a_code_says_so() {
        assert!(given_out(&"x".repeat(3000), false).into_string().contains("too long"));
        assert!(given_out("http://localhost/a.html#dissipation.1", false).into_string().contains("<svg"));
    }
}
