//! The socket seen from below, drawn from the pins: the drawing, the table of pins, and what spare tags may hide.

use super::{cited, li, p, strong, unknown};
use crate::markdown::tree::{Element, Node, nodes};
use calc_core::source::VALVE_BASES;
use calc_core::valve::{Base, Electrode, Kind, LOOKALIKES, Lookalike, Particulars, Pin, Valve, particulars};
use maud::{Markup, html};

// The drawing's own units: as wide as the charts are, so that its letters are no smaller on a phone than the text's.
const WIDTH: f64 = 310.0;
const HEIGHT: f64 = 244.0;
/// How far the pins stand from the middle.
const CIRCLE: f64 = 70.0;
/// A pin, with its number inside.
const PIN: f64 = 15.0;
/// The edge of the base.
const EDGE: f64 = 90.0;
/// Where the letters begin, and how far a line of letters is below its middle.
const LETTERS: f64 = 104.0;
const DROP: f64 = 6.0;

/// The section of a valve's page.
pub fn section(valve: &Valve, from: &str) -> Vec<Node> {
    let Some(of) = particulars(valve.name) else {
        let words = nodes!["Its base and pins are ", unknown(), "."];
        return nodes![Element::heading("socket", "Socket"), p(words)];
    };
    let beside = html! {
        div.beside {
            (drawing(valve, of))
            section.scroll tabindex="0" aria-label={ "Pins of the " (valve.name) } {
                table {
                    thead { tr { th scope="col" { "Pin" } th scope="col" { "Drawn" } th scope="col" { "What is on it" } } }
                    tbody {
                        @for (number, pin) in of.numbered() {
                            tr { th scope="row" { (number) } td { (letters(valve.kind, pin)) } td { (pin.words()) } }
                        }
                    }
                }
            }
        }
    };
    let mut nodes = nodes![
        Element::heading("socket", "Socket, seen from below"),
        p(nodes![
            format!(
                "As you see it with the chassis turned over, the wiring side towards you; seen from above, left and \
                 right change places. Pins are numbered clockwise from the {}, here at the bottom. Their arrangement: \
                 ",
                of.base.mark()
            ),
            cited(from, &VALVE_BASES),
            ". What is on them: ",
            cited(from, of.pins_source),
            "."
        ]),
        beside,
    ];
    if of.is_double() {
        let words = "Which section is the first differs from maker to maker. Go by the pins.";
        nodes.push(p(nodes![words]).into());
    }
    let traps = traps(of, from);
    if !traps.is_empty() {
        nodes.push(Element::new("ul", traps.into_iter().map(|trap| li(trap).into()).collect()).into());
    }
    nodes
}

/// How the drawing names what is on a pin.
fn letters(kind: Kind, pin: Pin) -> String {
    match pin {
        Pin::Unconnected => "NC".to_owned(),
        Pin::Internal => "IC".to_owned(),
        Pin::Joined(electrodes, section) => {
            let one = |electrode: &Electrode| match (kind, electrode) {
                (Kind::Triode, Electrode::ControlGrid) => "g",
                (_, electrode) => electrode.letters(),
            };
            let all: Vec<&str> = electrodes.iter().map(one).collect();
            // Roman, because g2 is the second grid and not the second section's.
            all.join(", ") + section.map_or("", |section| if section == 1 { " I" } else { " II" })
        }
    }
}

fn drawing(valve: &Valve, of: &Particulars) -> Markup {
    let (middle, level) = (WIDTH / 2.0, HEIGHT / 2.0);
    let place = |pin: u8, distance: f64| {
        let (right, down) = of.base.place(pin);
        (middle + distance * right, level + distance * down)
    };
    let mark = of.base.mark();
    let pins: Vec<String> =
        of.numbered().map(|(number, pin)| format!("pin {number} {}", pin.words())).collect();
    html! {
        figure.picture {
            svg role="img" aria-labelledby="socket-title socket-words" viewBox={ "0 0 " (WIDTH) " " (HEIGHT) } {
                title #socket-title { "Socket of the " (valve.name) ", seen from below" }
                desc #socket-words { "Clockwise from the " (mark) ", which is at the bottom: " (pins.join("; ")) "." }
                circle cx=(middle) cy=(level) r=(EDGE) {}
                @match of.base {
                    Base::Octal => {
                        // The spigot with its key.
                        path d={ "M" (middle - 5.0) " " (level + 21.0) "a21.6 21.6 0 1 1 10 0v7h-10z" } {}
                        text x=(middle) y=(level + 45.0) text-anchor="middle" { (mark) }
                    }
                    Base::Noval => {
                        text x=(middle) y=(at(level + CIRCLE + DROP)) text-anchor="middle" { (mark) }
                    }
                }
                @for (number, pin) in of.numbered() {
                    @let (x, y) = place(number, CIRCLE);
                    @let unused = matches!(pin, Pin::Unconnected | Pin::Internal).then_some("4 3");
                    circle cx=(at(x)) cy=(at(y)) r=(PIN) stroke-dasharray=[unused] {}
                    text x=(at(x)) y=(at(y + DROP)) text-anchor="middle" { (number) }
                    @let (x, y) = place(number, LETTERS);
                    text x=(at(x)) y=(at(y + DROP)) text-anchor=(anchor(x - middle)) { (letters(valve.kind, pin)) }
                }
            }
            figcaption {
                "Seen from below, the " (mark) " at the bottom. "
                @if of.pins.iter().any(|pin| matches!(pin, Pin::Unconnected | Pin::Internal)) {
                    "A pin with a broken edge has no connection (NC) or an internal one (IC)."
                }
            }
        }
    }
}

/// A coordinate to a tenth of a unit.
fn at(value: f64) -> String {
    format!("{value:.1}")
}

/// Letters grow away from the middle.
fn anchor(aside: f64) -> &'static str {
    match aside {
        ..-12.0 => "end",
        12.0.. => "start",
        _ => "middle",
    }
}

/// What hides behind tags that look free: an octal's 1 and 6, and internal connections.
fn traps(of: &Particulars, from: &str) -> Vec<Vec<Node>> {
    let mut traps = Vec::new();
    let pin = |number: u8| of.numbered().find(|(at, _)| *at == number).map_or(Pin::Internal, |(_, pin)| pin);
    if of.base == Base::Octal && !of.is_double() {
        traps.push(on_pin_1(of, pin(1)));
        if pin(6) == Pin::Unconnected {
            traps.push(nodes![
                strong("Nothing is on pin 6"),
                ", according to this data sheet but not to every other. A tie point there is next to the control grid \
                 on pin 5: with the screen’s feed on it, the full screen voltage is across a few millimetres of \
                 wafer."
            ]);
        }
    }
    traps.extend(LOOKALIKES.iter().filter(|other| other.fits(of)).map(|other| joined(other, from)));
    let internal: Vec<String> = of
        .numbered()
        .filter(|(_, pin)| *pin == Pin::Internal)
        .map(|(number, _)| number.to_string())
        .collect();
    if let Some((last, others)) = internal.split_last() {
        let pins = if others.is_empty() {
            format!("Pin {last} lead inside.")
        } else {
            format!("Pins {} and {last} lead inside.", others.join(", "))
        };
        traps.push(nodes![
            strong(pins),
            " Something is there, and no data sheet says what. Their tags carry nothing: do not use them as tie \
             points."
        ]);
    }
    traps
}

/// What may lie on tag 1 of an octal socket.
fn on_pin_1(of: &Particulars, first: Pin) -> Vec<Node> {
    match first {
        Pin::Unconnected => nodes![
            strong("Nothing is on pin 1"),
            ", so its tag is often a tie point. The socket outlives the valve: the next type may have its suppressor, its \
             beam plates or its metal sleeve there. Find out what the tag carries, and write down which types must not be \
             plugged in."
        ],
        _ if first.has(Electrode::BaseSleeve) => nodes![
            strong("Pin 1 is the metal sleeve of the base."),
            " Whatever tag 1 carries is then on a bare ring that a hand can touch. Find out what it carries before this \
             valve goes in."
        ],
        _ => {
            let cathode = of.numbered().find(|(_, pin)| pin.has(Electrode::Cathode));
            let belongs = cathode
                .map_or(String::new(), |(number, _)| format!(" It belongs on the cathode, pin {number}."));
            nodes![
                strong(format!("Pin 1 is the {}.", first.words())),
                belongs,
                " In a socket that was wired for a type with nothing on pin 1, tag 1 may be bare, and this electrode is left \
                 open; or it may be a tie point, and this electrode gets what is tied there. Never join tags 1 and 8 before \
                 you know what tag 1 carries: where it is the bias feed, the bias is gone at every valve on that feed."
            ]
        }
    }
}

/// What a type that fits the same socket does to what is tied to a spare tag.
fn joined(other: &Lookalike, from: &str) -> Vec<Node> {
    let pins: Vec<String> =
        other.joined.iter().map(|(number, pin)| format!("pin {number} is its {}", pin.words())).collect();
    nodes![
        strong(format!("The {} fits this socket and joins pins inside", other.name)),
        format!(": {} as well (", pins.join(", ")),
        cited(from, other.source),
        "). A screen feed tied to tag 6 is then on the control grid, and the valve conducts all it can; a wire tied to tag 1 \
         is then on the HT. Read both tags to chassis, and clear them, before such a type goes in."
    ]
}
