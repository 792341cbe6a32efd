//! The socket of this amplifier's output valve as seen from below, with the pin filled that the probe goes to.

use calc_core::valve::{Base, Electrode, pins};
use job::Job;
use job::procedure::words::{Own, Part, parts};
use maud::{Markup, html};

/// What the drawing is of: the first pin that the words name, of the output valve that the job names.
fn meant(words: &str, job: &Job) -> Option<(&'static str, Electrode, String)> {
    let electrode = parts(words).iter().find_map(|part| match part {
        Part::Own(of, _) => match Own::read(of) {
            Ok(Own::Pin(electrode)) => Some(electrode),
            _ => None,
        },
        Part::Text(_) => None,
    })?;
    let valve = job.values.get("output-valve")?.text.clone();
    Some((electrode.words(), electrode, valve))
}

/// The drawing; nothing where the words name no pin or the valve is not known.
pub(in super::super) fn socket(words: &str, job: &Job) -> Markup {
    let found =
        meant(words, job).and_then(|(name, electrode, valve)| Some((name, electrode, pins(&valve)?, valve)));
    let Some((name, electrode, pins, valve)) = found else { return html! {} };
    let base = if pins.len() == 9 { Base::Noval } else { Base::Octal };
    let place = |pin: u8| {
        let (right, down) = base.place(pin);
        (at(72.0 * right), at(72.0 * down))
    };
    let filled: Vec<String> = (1..)
        .zip(pins)
        .filter(|(_, pin)| pin.has(electrode))
        .map(|(number, _): (u8, _)| number.to_string())
        .collect();
    html! {
        figure.socket {
            svg role="img" viewBox="-104 -104 208 208" aria-label={ (valve) " socket from below: " (name) ", pin " (filled.join(" and ")) } {
                circle r="100" {}
                @match base {
                    Base::Octal => { path d="M-6 30a31 31 0 1 1 12 0v10h-12z" {} }
                    Base::Noval => { text y="80" text-anchor="middle" { (base.mark()) } }
                }
                @for (number, pin) in (1..).zip(pins) {
                    @let (x, y) = place(number);
                    g.filled[pin.has(electrode)] {
                        circle cx=(x) cy=(y) r="17" {}
                        text x=(x) y=(y) dy="7" text-anchor="middle" { (number) }
                    }
                }
            }
            figcaption { (valve) ", from below: " (name) }
        }
    }
}

fn at(place: f64) -> String {
    format!("{place:.1}")
}

#[cfg(test)]
mod tests {
    use super::*;
    use job::{From, Time};

    #[test]
    fn the_pin_of_this_amplifiers_valve_is_filled() {
        let mut job = Job::new("j", "Head", Time::from_seconds(0));
        let words = "grid tag (pin {pin grid: 5}); chassis";
        assert_eq!(socket(words, &job).into_string(), "", "no valve, no pin");
        for (valve, pin) in [("EL34", "5"), ("EL84", "2")] {
            job.set("output-valve", valve, From::Typed, Time::from_seconds(1)).unwrap();
            let drawn = socket(words, &job).into_string();
            assert!(drawn.contains(&format!("control grid, pin {pin}\"")), "{drawn}");
            let filled = drawn.split("class=\"filled\"").nth(1).and_then(|rest| rest.split("</g>").next());
            assert!(filled.is_some_and(|filled| filled.contains(&format!(">{pin}</text>"))), "{drawn}");
        }
        assert_eq!(socket("across it", &job).into_string(), "");
    }
}
