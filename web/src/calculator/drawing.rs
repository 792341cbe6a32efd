//! Draws schematics and wiring as SVG. An SVG contains all that it needs to look as it does, so that it can be saved.

use calc_core::calculator::{Anchor, Drawing, Lies, Shape, Symbol};
use maud::{Markup, html};

/// The drawing, with its title and description for those who do not see it.
pub(crate) fn drawing(drawing: &Drawing, block: &str) -> Markup {
    let Drawing { name, title, description, size: (width, height), shapes } = drawing;
    let (title_id, description_id) = (format!("{block}-{name}-title"), format!("{block}-{name}-words"));
    html! {
        div.export {
            figure.picture {
                svg xmlns="http://www.w3.org/2000/svg" role="img" aria-labelledby={ (title_id) " " (description_id) }
                    viewBox={ "0 0 " (width) " " (height) } fill="none" stroke="currentColor" stroke-width="1.5"
                    font-family="sans-serif" font-size="18" {
                    title id=(title_id) { (title) }
                    desc id=(description_id) { (description) }
                    @for shape in shapes { (one(shape)) }
                }
                figcaption { (title) ". " (description) }
            }
            (save(&format!("{block}-{name}.svg"), "image/svg+xml"))
        }
    }
}

fn one(shape: &Shape) -> Markup {
    match shape {
        Shape::Line(points) => html! { path d=(through(points)) {} },
        Shape::Dashed(points) => html! { path d=(through(points)) stroke-dasharray="5 4" {} },
        Shape::Dot(x, y) => html! { circle cx=(x) cy=(y) r="3" fill="currentColor" {} },
        Shape::Ring(x, y, radius) => html! { circle cx=(x) cy=(y) r=(radius) {} },
        Shape::Symbol(symbol, x, y, lies) => {
            let turn = if *lies == Lies::Across { " rotate(-90)" } else { "" };
            let fill = (*symbol == Symbol::Wiper).then_some("currentColor");
            html! { path transform={ "translate(" (x) " " (y) ")" (turn) } d=(outline(*symbol)) fill=[fill] {} }
        }
        Shape::Label(x, y, anchor, text) => {
            let anchor = match anchor {
                Anchor::Start => None,
                Anchor::Middle => Some("middle"),
                Anchor::End => Some("end"),
            };
            html! { text x=(x) y=(y) text-anchor=[anchor] fill="currentColor" stroke="none" { (text) } }
        }
    }
}

fn through(points: &[(f64, f64)]) -> String {
    let points: Vec<String> = points.iter().map(|(x, y)| format!("{x} {y}")).collect();
    format!("M{}", points.join("L"))
}

/// Round the middle, upright.
fn outline(symbol: Symbol) -> &'static str {
    match symbol {
        Symbol::Resistor => "M0-24V-14M-5.5-14H5.5V14H-5.5ZM0 14V24",
        Symbol::Capacitor => "M0-24V-3.5M-12-3.5H12M-12 3.5H12M0 3.5V24",
        Symbol::Chassis => "M0 0V10M-13 10H13M-11 10l-5 8M0 10l-5 8M11 10l-5 8",
        Symbol::Grid => {
            "M-30 0H-13M-9 0h5M0 0h5M9 0h5M20 0A20 20 0 1 1-20 0A20 20 0 1 1 20 0M-8-9H8V-20M-9 12q9-8 18 0v6"
        }
        Symbol::Wiper => "M0 0l11-5v10Z",
    }
}

/// A button that saves what is beside it: a drawing, the text of a file, or the points of the picture.
pub(super) fn save(file: &str, media: &str) -> Markup {
    html! { button.save type="button" data-act="save" data-file=(file) data-media=(media) { "Save " (file) } }
}
