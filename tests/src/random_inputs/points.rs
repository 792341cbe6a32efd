//! Random lists of points.

use calc_core::calculator::Field;

use super::random::Random;

/// A list of points for a field: of a track, what was read at places from 0 to 10 of its knob, rising; of a valve, some points
/// near the field's own. Other lists stay as they stand by default.
pub fn list(field: &Field, random: &mut Random) -> String {
    let most = match field.id {
        "points" if field.text.starts_with("0:0 ") => None,
        "ohm-points" => Some(libm::round(random.over_decades(1e3, 1e6))),
        "points" => return near(&field.text, random).unwrap_or_else(|| field.text.clone()),
        _ => return field.text.clone(),
    };
    let between = 1 + random.place(5);
    let mut at = rising(between, random);
    let mut read = rising(between, random);
    at.insert(0, 0.0);
    read.insert(0, 0.0);
    at.push(1.0);
    read.push(1.0);
    let point = |(at, read): (&f64, &f64)| match most {
        None => format!("{:.2}:{:.1}%", at * 10.0, read * 100.0),
        Some(ohms) => format!("{:.2}:{:.0}", at * 10.0, read * ohms),
    };
    at.iter().zip(&read).map(point).collect::<Vec<_>>().join(" ")
}

/// One to four points near one: `438/434/-46: 32.5/1.5`. What was read is further off than where, as of a valve it is.
fn near(one: &str, random: &mut Random) -> Option<String> {
    let (at, read) = one.split_once(": ")?;
    let many = 1 + random.place(4);
    let mut side = |numbers: &str, off: f64| {
        let number = |text: &str| {
            let usual: f64 = text.parse().ok()?;
            Some(format!("{:.2}", usual * random.between(1.0 - off, 1.0 + off)))
        };
        Some(numbers.split('/').map(number).collect::<Option<Vec<_>>>()?.join("/"))
    };
    let points: Option<Vec<String>> =
        (0..many).map(|_| Some(format!("{}: {}", side(at, 0.03)?, side(read, 0.1)?))).collect();
    Some(points?.join("; "))
}

/// So many shares between nothing and all, each more than the one before.
fn rising(many: usize, random: &mut Random) -> Vec<f64> {
    // As evenly spaced steps, each moved by less than half a step.
    let step = |at: usize| (at as f64 + 1.0 + random.between(-0.4, 0.4)) / (many as f64 + 1.0);
    (0..many).map(step).collect()
}
