//! What a job comes to at a glance: what the power-up still needs, what was done, how its readings went over the visits.

use job::procedure::Purpose;
use job::run::judge::lower;
use job::unit::measure;
use job::values::{Group, KNOWN, for_power_up};
use job::{Job, Reading};
use maud::{Markup, html};

use super::day_and_minute;

/// Where the staged power-up lies, from the root of the book.
const POWER_UP: &str = "first-power-up/staged-power-up.html";

/// How many values of a part of the survey are known, `7 of 10`.
pub(in crate::job) fn count(group: Group, job: &Job) -> String {
    let all = || KNOWN.iter().filter(|known| known.group == group);
    format!("{} of {}", all().filter(|known| job.values.contains_key(known.id)).count(), all().count())
}

/// How much of what the power-up needs is known: `2 missing`.
pub(in crate::job) fn missing_count(job: &Job) -> String {
    match for_power_up(job).iter().filter(|known| !job.values.contains_key(known.id)).count() {
        0 => "all there".to_owned(),
        missing => format!("{missing} missing"),
    }
}

/// What the power-up needs and the job does not know, each with the way to its field.
pub(in crate::job) fn missing(job: &Job) -> Markup {
    let needed = for_power_up(job);
    let missing: Vec<_> = needed.iter().filter(|known| !job.values.contains_key(known.id)).collect();
    html! {
        @if missing.is_empty() {
            p { "The limits of the staged power-up can be worked out. What it reads on its way it asks for itself." }
        } @else {
            p { "A limit of the staged power-up that needs one of these is unknown, and its gate stays shut:" }
            ul { @for known in missing { li { button type="button" data-act="to-field" data-for=(known.id) { (known.label) } } } }
        }
    }
}

/// The procedures that were begun, and where one stopped.
pub(in crate::job) fn runs(job: &Job, root: &str) -> Markup {
    html! {
        @if !job.places.contains_key(POWER_UP) { p { a href={ (root) (POWER_UP) } { "Staged power-up" } ": not begun" } }
        @for (page, place) in &job.places {
            p {
                a href={ (root) (page) "#go-on" } { (title(page)) ": go on at " (place.step.replace('-', " ")) }
                span.hint { " " (day_and_minute(place.at)) }
            }
        }
    }
}

/// `first-power-up/staged-power-up.html` as `Staged power-up`.
fn title(page: &str) -> String {
    let name = page.rsplit('/').next().unwrap_or(page).trim_end_matches(".html");
    let mut words = name.replace('-', " ");
    if let Some(first) = words.get_mut(..1) {
        first.make_ascii_uppercase();
    }
    words.replace("power up", "power-up")
}

/// Whether a reading belongs to what is followed.
type Belongs = fn(&Reading) -> bool;

/// What is followed over the visits: its name, and whether a reading is of it.
const FOLLOWED: [(&str, Belongs); 3] = [
    ("Mains at the amplifier", |taken| taken.quantity.starts_with("Mains at the amplifier")),
    ("Bias at the grids", |taken| taken.unit == "V" && taken.quantity.starts_with("Bias at")),
    ("Idle current", |taken| taken.unit == "mA"),
];

/// The readings at full mains over the visits, each kind with a chart and its rows.
pub(in crate::job) fn times(job: &Job) -> Markup {
    let live = |taken: &&Reading| taken.purpose == Purpose::Live && !taken.from_file;
    html! {
        @for (name, is_of_it) in FOLLOWED {
            @let readings: Vec<&Reading> = job.readings.iter().filter(live).filter(|taken| is_of_it(taken)).collect();
            @if !readings.is_empty() {
                h4 { (name) }
                (chart(name, &readings))
                ul.times {
                    @for taken in &readings {
                        li { span.hint { (day_and_minute(taken.at)) } " " @if !taken.blank.is_empty() { (taken.blank) " " } strong { (taken.text) } ", " (lower(&taken.quantity)) }
                    }
                }
            }
        }
        @if !job.readings.iter().any(|taken| live(&taken) && FOLLOWED.iter().any(|(_, is_of_it)| is_of_it(taken))) {
            p { "Mains, bias and idle current at full mains are listed here by their time once a procedure has read them." }
        }
    }
}

/// The readings from left to right in the order in which they were taken, a line for each blank. The values are beside it.
fn chart(name: &str, readings: &[&Reading]) -> Markup {
    let si = |taken: &Reading| {
        Some(measure(&taken.unit).ok()?.parse("", &taken.text).ok()?.si).filter(|si| si.is_finite())
    };
    let points: Vec<(usize, &str, f64)> = readings
        .iter()
        .enumerate()
        .filter_map(|(at, taken)| Some((at, taken.blank.as_str(), si(taken)?)))
        .collect();
    let all = points.iter().map(|(.., si)| *si);
    let (least, most) =
        all.fold((f64::INFINITY, f64::NEG_INFINITY), |(least, most), si| (least.min(si), most.max(si)));
    if points.len() < 2 || least >= most {
        return html! {};
    }
    let written =
        |si| readings.first().and_then(|taken| measure(&taken.unit).ok()).map(|measure| measure.repeated(si));
    // There are as many as were typed.
    #[expect(clippy::cast_precision_loss)]
    let across = |at: usize| 2.0 + 96.0 * at as f64 / (readings.len() - 1).max(1) as f64;
    let down = |si: f64| 8.0 + 84.0 * (most - si) / (most - least);
    let mut blanks: Vec<&str> = points.iter().map(|(_, blank, _)| *blank).collect();
    blanks.sort_unstable();
    blanks.dedup();
    html! {
        div.over-time {
            svg role="img" aria-label={ (name) ", " (points.len()) " readings in the order in which they were taken" } viewBox="0 0 100 100" preserveAspectRatio="none" {
                @for blank in blanks {
                    @let line: Vec<String> = points.iter().filter(|(_, of, _)| *of == blank).map(|(at, _, si)| format!("{:.1},{:.1}", across(*at), down(*si))).collect();
                    polyline points=(line.join(" ")) {}
                    @for point in &line { polyline.point points={ (point) " " (point) } {} }
                }
            }
            p { span { (written(most).unwrap_or_default()) } span { (written(least).unwrap_or_default()) } }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use job::{From, Judged, Time};

    const AT: Time = Time::from_seconds(1_800_000_000);

    #[test]
    fn what_is_missing_for_the_power_up_is_counted_and_leads_to_its_field() {
        let mut job = Job::new("j", "Head", AT);
        let all = for_power_up(&job).len();
        assert_eq!(missing_count(&job), format!("{all} missing"));
        job.set("load", "8", From::Typed, AT).unwrap();
        assert_eq!(missing_count(&job), format!("{} missing", all - 1));
        assert_eq!(count(Group::Load, &job), "1 of 6");
        let said = missing(&job).into_string();
        assert!(said.contains("data-for=\"rated-power\"") && !said.contains("data-for=\"load\""), "{said}");
    }

    #[test]
    fn readings_at_full_mains_are_followed_and_those_behind_the_lamp_are_not() {
        let mut job = Job::new("j", "Head", AT);
        for (at, text, purpose) in
            [(0, "34 mA", Purpose::Live), (60, "36 mA", Purpose::Live), (90, "9 mA", Purpose::BehindTheLamp)]
        {
            let at = Time::from_seconds(AT.seconds() + at);
            let (procedure, step, reading) = ("p.html".into(), "step-1".into(), "idle".into());
            let (quantity, blank, unit) = ("Each valve".into(), "A1".into(), "mA".into());
            let (range, why, early) = (String::new(), String::new(), String::new());
            let (judged, run, from_file, changes_before, inputs_used) = (Judged::InRange, 1, false, 0, None);
            let text = text.to_owned();
            job.readings.push(Reading {
                procedure,
                step,
                reading,
                blank,
                quantity,
                text,
                unit,
                at,
                judged,
                range,
                run,
                why,
                purpose,
                from_file,
                early,
                changes_before,
                inputs_used,
            });
        }
        let said = times(&job).into_string();
        assert!(said.contains("34 mA") && said.contains("36 mA") && !said.contains("9 mA"), "{said}");
        assert!(said.contains("points=\"2.0,92.0 98.0,8.0\""), "{said}");
    }

    #[test]
    fn a_run_is_called_as_its_page() {
        assert_eq!(title("first-power-up/staged-power-up.html"), "Staged power-up");
        assert_eq!(title("survey/cold-survey.html"), "Cold survey");
    }
}
