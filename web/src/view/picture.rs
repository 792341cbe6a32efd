//! Draws a picture as SVG, with its title and description for those who do not see it, its lines named in words, and
//! the table of its points.

use calc_core::calculator::{Axis, Mark, Picture, Scale, Series};
use calc_core::quantity::writing;
use maud::{Markup, html};

// The drawing's own units: no wider than a phone's column is in pixels, so that its letters are no smaller there than
// the text's.
const WIDTH: f64 = 310.0;
const HEIGHT: f64 = 320.0;
const LEFT: f64 = 84.0;
const RIGHT: f64 = 12.0;
const TOP: f64 = 36.0;
const BOTTOM: f64 = 64.0;
/// How high a line of letters is.
const LINE: f64 = 20.0;
/// How wide a letter is, near enough.
const LETTER: f64 = 10.0;

/// The picture. The block's name keeps its ids apart from those of other blocks.
pub(crate) fn picture(picture: &Picture, block: &str) -> Markup {
    let Picture { title, description, x, y, series } = picture;
    let (title_id, description_id) = (format!("{block}-picture-title"), format!("{block}-picture-words"));
    html! {
        figure.picture {
            svg role="img" aria-labelledby={ (title_id) " " (description_id) } viewBox={ "0 0 " (at(WIDTH)) " " (at(HEIGHT)) } {
                title id=(title_id) { (title) }
                desc id=(description_id) { (description) }
                (axes(x, y))
                @for series in series { (shape(series, x, y)) }
                @for (name, px, py) in curve_names(series, x, y) {
                    text x=(at(px)) y=(at(py)) dx="-4" dy="-6" text-anchor="end" { (name) }
                }
            }
            figcaption {
                (title) ". " (description)
                ul.legend {
                    @for series in series.iter().filter(|series| series.mark != Mark::Curve) {
                        li { (sample(series.mark)) " " (series.name) }
                    }
                    @if series.iter().any(|series| series.mark == Mark::Curve) { li { "Thin lines: named at their ends" } }
                }
            }
        }
    }
}

/// The points of the picture as a table.
pub(super) fn points(picture: &Picture) -> Markup {
    let Picture { x, y, series, .. } = picture;
    html! {
        table {
            thead { tr { th scope="col" { "Line" } th scope="col" { (x.name) } th scope="col" { (y.name) } } }
            tbody {
                @for series in series {
                    @for (across, upward) in &series.points {
                        tr {
                            th scope="row" { (series.name) }
                            td { (x.written(*across, writing::nearest)) }
                            td { (y.written(*upward, writing::nearest)) }
                        }
                    }
                }
            }
        }
    }
}

fn across(x: &Axis, value: f64) -> f64 {
    LEFT + (WIDTH - LEFT - RIGHT) * x.place(value)
}

fn upward(y: &Axis, value: f64) -> f64 {
    HEIGHT - BOTTOM - (HEIGHT - TOP - BOTTOM) * y.place(value)
}

/// A coordinate to a tenth of a unit.
fn at(value: f64) -> String {
    format!("{value:.1}")
}

fn axes(x: &Axis, y: &Axis) -> Markup {
    let (left, bottom) = (at(LEFT), at(HEIGHT - BOTTOM));
    // Every other mark is numbered, so that the numbers stand apart at 18 pixels; every row has its name.
    let numbered = |axis: &Axis| {
        let every = if matches!(axis.scale, Scale::Rows(_)) { 1 } else { 2 };
        axis.ticks()
            .into_iter()
            .enumerate()
            .map(|(count, tick)| (count % every == 0, tick))
            .collect::<Vec<_>>()
    };
    html! {
        path.axis d={ "M" (left) " " (at(TOP)) "V" (bottom) "H" (at(WIDTH - RIGHT)) } {}
        @for (number, tick) in numbered(x) {
            path.tick d={ "M" (at(across(x, tick))) " " (bottom) "v6" } {}
            @if number {
                text x=(at(across(x, tick))) y=(at(HEIGHT - BOTTOM + 25.0)) text-anchor="middle" { (x.written(tick, writing::repeated)) }
            }
        }
        @for (number, tick) in numbered(y) {
            path.tick d={ "M" (left) " " (at(upward(y, tick))) "h-6" } {}
            @if number {
                text x=(at(LEFT - 9.0)) y=(at(upward(y, tick) + 6.0)) text-anchor="end" { (y.written(tick, writing::repeated)) }
            }
        }
        text x=(at(WIDTH - RIGHT)) y=(at(HEIGHT - 8.0)) text-anchor="end" { (x.name) }
        text x="0" y="18" { (y.name) }
    }
}

fn shape(series: &Series, x: &Axis, y: &Axis) -> Markup {
    let points: Vec<(String, String)> =
        series.points.iter().map(|(px, py)| (at(across(x, *px)), at(upward(y, *py)))).collect();
    let line = points.iter().map(|(px, py)| format!("{px} {py}")).collect::<Vec<_>>().join("L");
    match series.mark {
        Mark::Curve => html! { path.curve d={ "M" (line) } {} },
        Mark::Limit => html! { path.limit-line d={ "M" (line) } {} },
        Mark::Target => html! { path.target-line d={ "M" (line) } {} },
        Mark::Margin => html! { path.margin-box d={ "M" (line) "Z" } {} },
        Mark::Point => html! { @for (px, py) in &points { circle.reading cx=(px) cy=(py) r="5" {} } },
    }
}

/// The names of the curves, each where its curve ends; one that would lie on another is left to the table.
fn curve_names<'s>(series: &'s [Series], x: &Axis, y: &Axis) -> Vec<(&'s str, f64, f64)> {
    let mut names: Vec<(&str, f64, f64)> = Vec::new();
    for series in series.iter().filter(|series| series.mark == Mark::Curve) {
        let Some((px, py)) = series.points.last().map(|(px, py)| (across(x, *px), upward(y, *py))) else {
            continue;
        };
        let wide = LETTER * series.name.chars().count() as f64;
        if names.iter().all(|(_, x, y)| (py - y).abs() >= LINE || (px - x).abs() >= wide) {
            names.push((&series.name, px, py));
        }
    }
    names
}

/// What the line looks like, in words: nobody needs to tell colours apart.
fn sample(mark: Mark) -> &'static str {
    match mark {
        Mark::Limit => "Full line:",
        Mark::Target => "Dashed line:",
        Mark::Curve => "Thin line:",
        Mark::Point => "Dot:",
        Mark::Margin => "Box round the dot:",
    }
}
