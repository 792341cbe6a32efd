//! Draws a picture as SVG, with its title and description for those who do not see it, its lines named in words, and
//! the table of its points.

use calc_core::calculator::{Axis, Mark, Picture, Series};
use calc_core::quantity::writing;
use leptos::prelude::*;

// The drawing's own units: as wide as a phone's column is in pixels, so that its letters are no smaller than the text's.
const WIDTH: f64 = 350.0;
const HEIGHT: f64 = 300.0;
const LEFT: f64 = 78.0;
const RIGHT: f64 = 12.0;
const TOP: f64 = 12.0;
const BOTTOM: f64 = 62.0;

/// The picture with its table.
pub(super) fn picture(picture: Picture, block: &str) -> AnyView {
    let Picture { title, description, x, y, series } = picture;
    let (title_id, description_id) = (format!("{block}-picture"), format!("{block}-picture-words"));
    let labelled = format!("{title_id} {description_id}");
    let legend = series.iter().map(|series| view! { <li>{sample(series.mark)} " " {series.name.clone()}</li> }).collect_view();
    let rows = series.iter().flat_map(|series| table_rows(series, &x, &y)).collect_view();
    let shapes = series.into_iter().map(|series| shape(series, &x, &y)).collect_view();
    let (x_heading, y_heading) = (x.name, y.name);
    view! {
        <figure class="picture">
            <svg role="img" aria-labelledby=labelled viewBox=format!("0 0 {WIDTH} {HEIGHT}")>
                <title id=title_id>{title.clone()}</title>
                <desc id=description_id>{description.clone()}</desc>
                {axes(&x, &y)}
                {shapes}
            </svg>
            <figcaption>{title} ". " {description} <ul class="legend">{legend}</ul></figcaption>
            <details class="points">
                <summary>"The points as a table"</summary>
                <table>
                    <thead><tr><th scope="col">"Line"</th><th scope="col">{x_heading}</th><th scope="col">{y_heading}</th></tr></thead>
                    <tbody>{rows}</tbody>
                </table>
            </details>
        </figure>
    }
    .into_any()
}

fn across(x: &Axis, value: f64) -> f64 {
    LEFT + (WIDTH - LEFT - RIGHT) * value / x.to
}

fn upward(y: &Axis, value: f64) -> f64 {
    HEIGHT - BOTTOM - (HEIGHT - TOP - BOTTOM) * value / y.to
}

/// A coordinate to a tenth of a unit.
fn at(value: f64) -> String {
    format!("{value:.1}")
}

fn axes(x: &Axis, y: &Axis) -> AnyView {
    let (left, bottom) = (at(LEFT), at(HEIGHT - BOTTOM));
    // Every other mark is numbered, so that the numbers stand apart at 18 pixels.
    let below = x.ticks().into_iter().enumerate().map(|(count, tick)| {
        let place = at(across(x, tick));
        let number = (count % 2 == 0).then(|| writing::repeated(tick, x.unit));
        view! {
            <path class="tick" d=format!("M{place} {bottom}v6") />
            <text x=place.clone() y=at(HEIGHT - BOTTOM + 25.0) text-anchor="middle">{number}</text>
        }
    });
    let beside = y.ticks().into_iter().enumerate().map(|(count, tick)| {
        let place = upward(y, tick);
        let number = (count % 2 == 0).then(|| writing::repeated(tick, y.unit));
        view! {
            <path class="tick" d=format!("M{left} {}h-6", at(place)) />
            <text x=at(LEFT - 9.0) y=at(place + 6.0) text-anchor="end">{number}</text>
        }
    });
    view! {
        <path class="axis" d=format!("M{left} {}V{bottom}H{}", at(TOP), at(WIDTH - RIGHT)) />
        {below.collect_view()}
        {beside.collect_view()}
        <text x=at(WIDTH - RIGHT) y=at(HEIGHT - 8.0) text-anchor="end">{x.name}</text>
        <text x=at(LEFT + 8.0) y=at(TOP + 12.0)>{y.name}</text>
    }
    .into_any()
}

fn shape(series: Series, x: &Axis, y: &Axis) -> AnyView {
    let points: Vec<(String, String)> =
        series.points.iter().map(|(px, py)| (at(across(x, *px)), at(upward(y, *py)))).collect();
    let line = || points.iter().map(|(px, py)| format!("{px} {py}")).collect::<Vec<_>>().join("L");
    match series.mark {
        Mark::Limit => view! { <path class="limit-line" d=format!("M{}", line()) /> }.into_any(),
        Mark::Target => view! { <path class="target-line" d=format!("M{}", line()) /> }.into_any(),
        Mark::Margin => view! { <path class="margin-box" d=format!("M{}Z", line()) /> }.into_any(),
        Mark::Point => {
            let dots = points.into_iter().map(|(px, py)| view! { <circle class="reading" cx=px cy=py r="5" /> });
            dots.collect_view().into_any()
        }
    }
}

/// What the line looks like, in words: nobody needs to tell colours apart.
fn sample(mark: Mark) -> &'static str {
    match mark {
        Mark::Limit => "Full line:",
        Mark::Target => "Dashed line:",
        Mark::Point => "Dot:",
        Mark::Margin => "Box round the dot:",
    }
}

fn table_rows(series: &Series, x: &Axis, y: &Axis) -> Vec<AnyView> {
    let row = |(px, py): &(f64, f64)| {
        let (name, px, py) = (series.name.clone(), writing::nearest(*px, x.unit), writing::nearest(*py, y.unit));
        view! { <tr><th scope="row">{name}</th><td>{px}</td><td>{py}</td></tr> }.into_any()
    };
    series.points.iter().map(row).collect()
}
