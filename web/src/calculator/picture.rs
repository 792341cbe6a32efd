//! Draws a picture as a chart: ticks, plot and names each in a drawing of its own, side by side, so that no letter can lie
//! on a line and letters keep their size whatever width the chart gets. With it the table of its points.

use calc_core::calculator::{Axis, Mark, Picture, Scale, Series};
use calc_core::quantity::writing;
use maud::{Markup, html};

/// The plot's own units: across they are stretched to the width that there is, upward they are pixels (`book.css`).
const WIDTH: f64 = 1000.0;
const HEIGHT: f64 = 320.0;
/// How far the middles of two lines of letters are apart.
const LINE: f64 = 21.0;
/// From the middle of a line of letters down to where they stand.
const FOOT: f64 = 6.0;
/// As many characters of a name as one line takes.
const LETTERS: usize = 9;
/// Of the width, what two labels need between them on a phone.
const APART: f64 = 0.42;

/// In so many steps the cursor goes from the beginning of the picture to its end.
pub(crate) const ALONG: u32 = 200;

/// The chart. The block's name keeps its ids apart from those of other blocks. Where it is alive it has a cursor, which may
/// have been put somewhere: a slider as large as the plot, whose thumb is a line from top to bottom, so that finger, mouse and
/// keys move it too.
pub(crate) fn picture(picture: &Picture, block: &str, cursor: Option<Option<u32>>) -> Markup {
    let (x, y) = (&widened(&picture.x), &widened(&picture.y));
    let (title_id, description_id) = (format!("{block}-picture-title"), format!("{block}-picture-words"));
    html! {
        figure.picture {
            div.chart role=(if cursor.is_some() { "group" } else { "img" }) aria-labelledby={ (title_id) " " (description_id) } {
                p.upward aria-hidden="true" { (y.name) }
                (upward_ticks(y))
                (plot(&picture.series, x, y))
                @if let Some(along) = cursor {
                    input.cursor type="range" data-cursor max=(ALONG) value=(along.unwrap_or(0)) data-put=(along.is_some())
                        aria-label={ "Read the chart along: " (x.name) } aria-valuetext=(read(&picture.series, x, y, along));
                }
                (names(&picture.series, x, y))
                (across_ticks(x))
                p.across aria-hidden="true" { (x.name) }
            }
            @if let Some(along) = cursor { p.read { (read(&picture.series, x, y, along)) } }
            figcaption {
                span id=(title_id) { (picture.title) "." } " " span id=(description_id) { (picture.description) }
                (legend(&picture.series, x, y))
            }
        }
    }
}

/// What the lines are where the cursor is along the picture, the highest first as they are drawn.
fn read(series: &[Series], x: &Axis, y: &Axis, along: Option<u32>) -> String {
    let Some(along) = along else { return "Touch the chart to read it anywhere.".to_owned() };
    let at = x.at(f64::from(along) / f64::from(ALONG));
    let lines =
        series.iter().filter(|series| matches!(series.mark, Mark::Curve | Mark::Limit | Mark::Target));
    let mut read: Vec<(&str, f64)> =
        lines.filter_map(|series| Some((&*series.name, height(&series.points, x, at)?))).collect();
    read.sort_by(|(_, one), (_, other)| other.total_cmp(one));
    let read =
        read.iter().map(|(name, height)| format!("; {name}: {}", y.written(*height, writing::nearest)));
    x.written(at, writing::nearest) + &read.collect::<String>()
}

/// How high a line is at a place; none before its beginning and after its end. Between two points it is straight as drawn.
fn height(points: &[(f64, f64)], x: &Axis, at: f64) -> Option<f64> {
    let place = x.place(at);
    points.windows(2).find_map(|pair| {
        let [(one, low), (other, high)] = pair else { return None };
        let (from, to) = (x.place(*one), x.place(*other));
        let within = (from.min(to)..=from.max(to)).contains(&place) && from != to;
        within.then(|| low + (high - low) * (place - from) / (to - from))
    })
}

/// What no curve is, in words: nobody needs to tell colours apart. The reader's point with its value.
fn legend(series: &[Series], x: &Axis, y: &Axis) -> Markup {
    let value = |(px, py): &(f64, f64)| {
        format!(": {}, {}", x.written(*px, writing::nearest), y.written(*py, writing::nearest))
    };
    html! {
        ul.legend {
            @for series in series {
                @match series.mark {
                    Mark::Curve => {},
                    Mark::Limit => li { "Full line: " (series.name) },
                    Mark::Target => li { "Dashed line: " (series.name) },
                    Mark::Margin => li { "Box round the dot: " (series.name) },
                    Mark::Point => li { "Dot: " (series.name) @if let [one] = &*series.points { (value(one)) } },
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

/// The axis, out to the round numbers next to its ends: both are ticks then.
fn widened(axis: &Axis) -> Axis {
    let ticks = axis.ticks();
    let (Scale::Even, [first, second, ..]) = (axis.scale, &*ticks) else { return axis.clone() };
    let step = second - first;
    let off = |value: f64, tick: f64| (value - tick).abs() > step * 1e-6;
    let last = ticks.last().copied().unwrap_or(*second);
    let from = if off(axis.from, *first) { first - step } else { *first };
    let to = if off(axis.to, last) { last + step } else { last };
    Axis { from, to, ..axis.clone() }
}

/// What is numbered along an axis: its round numbers or powers of ten, and both ends.
fn numbered(axis: &Axis) -> Vec<f64> {
    let mut ticks = axis.ticks();
    if axis.scale == Scale::Decades {
        let apart = |one: f64, other: f64| (axis.place(one) - axis.place(other)).abs() > 0.01;
        if ticks.iter().all(|tick| apart(*tick, axis.from)) {
            ticks.insert(0, axis.from);
        }
        if ticks.iter().all(|tick| apart(*tick, axis.to)) {
            ticks.push(axis.to);
        }
    }
    ticks
}

/// Which of the numbers across have room on a phone: both ends, and between them those far enough from all before.
fn roomy(axis: &Axis, ticks: &[f64]) -> Vec<bool> {
    let mut taken: Vec<f64> =
        ticks.first().into_iter().chain(ticks.last()).map(|tick| axis.place(*tick)).collect();
    let many = ticks.len();
    ticks
        .iter()
        .enumerate()
        .map(|(at, tick)| {
            let place = axis.place(*tick);
            let is_end = at == 0 || at + 1 == many;
            let has_room = taken.iter().all(|other| (other - place).abs() >= APART);
            if has_room {
                taken.push(place);
            }
            is_end || has_room
        })
        .collect()
}

fn across(x: &Axis, value: f64) -> f64 {
    WIDTH * x.place(value)
}

fn upward(y: &Axis, value: f64) -> f64 {
    HEIGHT * (1.0 - y.place(value))
}

/// A coordinate to a tenth of a unit.
fn at(value: f64) -> String {
    format!("{value:.1}")
}

fn upward_ticks(y: &Axis) -> Markup {
    html! {
        svg.upward-ticks aria-hidden="true" {
            @for tick in numbered(y) {
                text x="100%" y=(at(upward(y, tick) + FOOT)) text-anchor="end" { (y.written(tick, writing::repeated)) }
            }
        }
    }
}

fn across_ticks(x: &Axis) -> Markup {
    let ticks = numbered(x);
    let roomy = roomy(x, &ticks);
    html! {
        svg.across-ticks aria-hidden="true" {
            @for (tick, has_room) in ticks.iter().zip(roomy) {
                text.crowded[!has_room] x={ (at(100.0 * x.place(*tick))) "%" } y="31" text-anchor="middle" { (x.written(*tick, writing::repeated)) }
            }
        }
    }
}

fn plot(series: &[Series], x: &Axis, y: &Axis) -> Markup {
    let grid: String =
        numbered(x).iter().map(|tick| format!("M{} 0V{HEIGHT}", at(across(x, *tick)))).collect();
    let lines: String =
        numbered(y).iter().map(|tick| format!("M0 {}H{WIDTH}", at(upward(y, *tick)))).collect();
    html! {
        svg.plot aria-hidden="true" viewBox={ "0 0 " (WIDTH) " " (HEIGHT) } preserveAspectRatio="none" {
            path.grid d={ (grid) (lines) } {}
            path.axis d={ "M0 0V" (HEIGHT) "H" (WIDTH) } {}
            @for series in series { (shape(series, x, y)) }
        }
    }
}

fn shape(series: &Series, x: &Axis, y: &Axis) -> Markup {
    let points: Vec<String> = series
        .points
        .iter()
        .map(|(px, py)| format!("{} {}", at(across(x, *px)), at(upward(y, *py))))
        .collect();
    let line = points.join("L");
    // A dot is a line of no length with round ends: it stays round however the plot is stretched.
    let dots: String = points.iter().map(|point| format!("M{point}h.01")).collect();
    match series.mark {
        Mark::Curve => html! { path.curve d={ "M" (line) } {} },
        Mark::Limit => html! { path.limit-line d={ "M" (line) } {} },
        Mark::Target => html! { path.target-line d={ "M" (line) } {} },
        Mark::Margin => html! { path.margin-box d={ "M" (line) "Z" } {} },
        Mark::Point => html! { path.reading d=(dots) {} },
    }
}

/// A name in lines, broken at its blanks.
fn in_lines(name: &str) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in name.split(' ') {
        match lines.last_mut() {
            Some(line) if line.chars().count() + word.chars().count() < LETTERS => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    lines
}

/// The names of the lines, each beside the end of its own; where two would meet, one below the other in the same order.
fn names(series: &[Series], x: &Axis, y: &Axis) -> Markup {
    let named = |series: &&Series| matches!(series.mark, Mark::Curve | Mark::Limit | Mark::Target);
    let ends = series.iter().filter(named).filter_map(|series| {
        let inside = |(px, _): &&(f64, f64)| x.place(*px) <= 1.0;
        let (_, py) = series.points.iter().rev().find(inside)?;
        Some((in_lines(&series.name), upward(y, *py).clamp(0.0, HEIGHT)))
    });
    // Put in order one by one: they are a handful, and the code of a sort is several kilobytes.
    let mut ends = ends.fold(Vec::new(), |mut ordered: Vec<(Vec<String>, f64)>, end| {
        let below = ordered.partition_point(|(_, middle)| *middle <= end.1);
        ordered.insert(below, end);
        ordered
    });
    let mut foot = 0.0;
    for (lines, middle) in &mut ends {
        let half = LINE * lines.len() as f64 / 2.0;
        *middle = middle.max(foot + half);
        foot = *middle + half;
    }
    // What was pushed out at the foot is moved up again, and what is above it with it.
    let mut head = HEIGHT;
    for (lines, middle) in ends.iter_mut().rev() {
        let half = LINE * lines.len() as f64 / 2.0;
        *middle = middle.min(head - half);
        head = *middle - half;
    }
    html! {
        svg.names aria-hidden="true" {
            @for (lines, middle) in &ends {
                @for (count, line) in lines.iter().enumerate() {
                    @let down = LINE * (count as f64 - (lines.len() as f64 - 1.0) / 2.0);
                    text x="8" y=(at(middle + down + FOOT)) { (line) }
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use calc_core::quantity::unit::{DECIBEL, HERTZ};

    #[test]
    fn a_line_is_read_between_its_points_as_it_is_drawn() {
        let x = Axis::decades("Frequency", &HERTZ, 10.0, 1000.0);
        let points = [(10.0, 0.0), (1000.0, -20.0)];
        // Halfway along two decades is 100 Hz, and the line is halfway down there.
        assert!(height(&points, &x, 100.0).is_some_and(|height| (height + 10.0).abs() < 1e-9));
        assert_eq!(height(&points, &x, 5.0), None);
        let series = [Series { name: "at 5".to_owned(), mark: Mark::Curve, points: points.to_vec() }];
        let said = read(&series, &x, &Axis::even("Level", &DECIBEL, -20.0, 0.0), Some(ALONG / 2));
        assert_eq!(said.replace('\u{a0}', " "), "100 Hz; at 5: −10.0 dB");
    }
}
