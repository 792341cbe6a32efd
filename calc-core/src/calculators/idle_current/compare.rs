//! The ways side by side: which has the narrowest margin, whether they agree, whether to stop.

use crate::calculator::{
    Axis, Calculator, Carry, Inputs, Limit, Margins, Mark, Picture, Report, Series, Standing, Table, Verdict,
};
use crate::margin::Margin;
use crate::quantity::unit::{AMPERE, PER_CENT};
use crate::quantity::{ElectricCurrent, Quantity, writing};
use crate::source::PRACTICE;

/// A way to read the current.
struct Way {
    /// The answer it gives.
    id: &'static str,
    /// The answer in which it gives the anode's current.
    anode: &'static str,
    name: &'static str,
    gives: &'static str,
    /// Its row in the picture.
    row: f64,
}

const RESISTOR: Way = Way {
    id: "by-resistor",
    anode: "less-screen",
    name: "Cathode resistor",
    gives: "cathode current",
    row: 3.0,
};
const HALF: Way =
    Way { id: "by-half", anode: "by-half", name: "Half primary", gives: "anode current", row: 2.0 };
const AMMETER: Way = Way {
    id: "by-ammeter",
    anode: "by-ammeter",
    name: "Ammeter across the half",
    gives: "anode current",
    row: 1.0,
};
const WAYS: [&Way; 3] = [&RESISTOR, &HALF, &AMMETER];

/// What a reading of nothing may mean.
const NOTHING: &str = "No current: the valve is cold or cut off, something is open, or a probe is not making contact. \
                       A zero reading proves nothing.";

/// From here on the mains goes off: 0.2 V on 1 Ω.
const STOP: f64 = 0.2;

impl Way {
    /// Its name within a sentence.
    fn said(&self) -> String {
        format!("the {}", self.name.to_ascii_lowercase())
    }

    fn is(&self, other: &Way) -> bool {
        self.id == other.id
    }
}

/// A way that was read.
#[derive(Clone, Copy)]
struct Reading {
    way: &'static Way,
    margin: Margin,
}

impl Reading {
    fn of(margins: &Margins, way: &'static Way, answer: &str) -> Option<Self> {
        let margin = margins.of(answer);
        margin.value.is_finite().then_some(Self { way, margin })
    }

    fn value(&self) -> String {
        writing::nearest(self.margin.value, &AMPERE)
    }

    /// Whether it cannot be told from no current at all.
    fn is_nothing(&self) -> bool {
        // Where the margin is not known, its digits say too little: `0 V` may be anything below a volt.
        let lowest = if self.margin.known { self.margin.low } else { self.margin.value };
        lowest <= 0.0
    }

    /// `34.0 mA (33.2 to 34.8 mA)`
    fn spanned(&self) -> String {
        let Margin { low, high, known, .. } = self.margin;
        let span = if known { writing::span(low, high, &AMPERE) } else { "margin not known".to_owned() };
        format!("{} ({span})", self.value())
    }

    /// Half the width of the margin as a share of the value; infinite where there is no saying.
    fn share(&self) -> f64 {
        let Margin { value, low, high, known, .. } = self.margin;
        if known && value > 0.0 { (high - value).max(value - low) / value } else { f64::INFINITY }
    }

    /// The highest that it may be.
    fn highest(&self) -> f64 {
        if self.margin.known { self.margin.high } else { f64::INFINITY }
    }

    /// `± 2.1 %`
    fn width(&self) -> String {
        if self.share().is_finite() {
            format!("±\u{a0}{}", self.half_width())
        } else {
            "not known".to_owned()
        }
    }

    /// `2.1 %`; the whole where it is not known.
    fn half_width(&self) -> String {
        writing::engineering(self.share().min(1.0), &PER_CENT, 2, writing::Rounding::Up)
    }

    fn apart(&self, other: &Self) -> bool {
        self.margin.low > other.margin.high || other.margin.low > self.margin.high
    }
}

/// Everything that is said about the ways together.
pub(super) fn compare(margins: &Margins, screen: Option<ElectricCurrent>, report: &mut Report) {
    let read: Vec<Reading> = WAYS.into_iter().filter_map(|way| Reading::of(margins, way, way.id)).collect();
    let highest = read.iter().max_by(|a, b| a.highest().total_cmp(&b.highest()));
    // At least one way was read, or there is no report.
    let Some(stop) = highest.map(stop) else { return };
    let agreement = agreement(margins, &read);
    let trusted = trusted(&read);
    let nothing = read.iter().all(Reading::is_nothing);
    report.summary = match trusted {
        _ if nothing => NOTHING.to_owned(),
        _ if stop.standing != Standing::Within => {
            "Stop: mains off, hands out. No output valve idles at such a current.".to_owned()
        }
        _ if agreement.standing == Standing::Beyond => {
            "The ways disagree by more than their margins: trust none of them until the cause is found."
                .to_owned()
        }
        Some(Reading { way, .. }) if way.is(&AMMETER) => {
            "Only the ammeter was read: not a reading to rely on. Read the drop across the cathode resistor."
                .to_owned()
        }
        Some(reading) => {
            format!(
                "Trust {}: {} {}, {}.",
                reading.way.said(),
                reading.way.gives,
                reading.spanned(),
                reading.width()
            )
        }
        None => String::new(),
    };
    let in_doubt = nothing || stop.standing != Standing::Within || agreement.standing == Standing::Beyond;
    if let Some(reading) = trusted.filter(|reading| !in_doubt && !reading.way.is(&AMMETER)) {
        report.notes.push(reasons(reading, &read, margins));
        report.carries.push(to_dissipation(reading, screen));
    }
    report.verdicts.push(stop);
    report.verdicts.push(agreement);
    report.tables.push(table(margins).into());
    report.picture = Some(picture(&read, margins));
}

/// The narrowest margin; the ammeter only where nothing else was read.
fn trusted(read: &[Reading]) -> Option<&Reading> {
    let narrower = |a: &&Reading, b: &&Reading| a.share().total_cmp(&b.share());
    read.iter().filter(|reading| !reading.way.is(&AMMETER)).min_by(narrower).or_else(|| read.first())
}

/// Why this one, and what the others lack.
fn reasons(trusted: &Reading, read: &[Reading], margins: &Margins) -> String {
    let doubt = |reading: &Reading| {
        let most = margins.most(reading.way.id).map(|most| format!(", most of it from “{most}”"));
        format!("{} {}{}", reading.way.said(), reading.width(), most.unwrap_or_default())
    };
    let others: Vec<String> = read.iter().filter(|other| !other.way.is(trusted.way)).map(doubt).collect();
    let against = if others.is_empty() { String::new() } else { format!("; {}", others.join("; ")) };
    format!("The narrowest margin is trusted: {}{against}.", doubt(trusted))
}

/// The current that is trusted, with its margin. What flows through the primary is all anode current: no screen is to be
/// taken from it, and none can be judged.
fn to_dissipation(trusted: &Reading, screen: Option<ElectricCurrent>) -> Carry {
    let screen = screen.filter(|_| trusted.way.is(&RESISTOR));
    let mut inputs = Inputs::new();
    inputs.insert("cathode-current".to_owned(), writing::bench(trusted.margin.value, &AMPERE));
    inputs.insert("cathode-current.tolerance".to_owned(), trusted.half_width());
    let screen_how = if screen.is_some() { "current" } else { "unknown" };
    inputs.insert("screen-how".to_owned(), screen_how.to_owned());
    if let Some(screen) = screen {
        inputs.insert("screen-current".to_owned(), writing::bench(screen.si(), &AMPERE));
    }
    let answers =
        if screen.is_some() { vec![trusted.way.id, trusted.way.anode] } else { vec![trusted.way.id] };
    let screen = if screen.is_some() { "its screen current" } else { "the screen current as not known" };
    let what = format!("{}, {}, with {screen},", trusted.value(), trusted.width());
    Carry { to: super::Dissipation::SHEET, what, inputs, answers, is_example: false }
}

/// The highest of the readings against the figure at which the mains goes off.
fn stop(highest: &Reading) -> Verdict {
    let about = format!("Stop figure, {}", highest.way.name.to_ascii_lowercase());
    if highest.is_nothing() && highest.margin.high <= STOP {
        return Verdict::new(about, Standing::CannotTell, None, NOTHING.to_owned());
    }
    let limit = Limit::new(ElectricCurrent::of(STOP), "rule of thumb: 0.2 V on 1 Ω", &PRACTICE);
    let margin = &highest.margin;
    Verdict::at_most(about, margin, Some(limit), |standing| {
        let advice = match standing {
            Standing::Within => "No runaway. Its dissipation shows whether the valve can take this current.",
            _ => {
                "Stop: mains off, hands out. Bias lost, valve shorted, or the wrong range. Find the cause before \
                 power goes on again."
            }
        };
        advice.to_owned()
    })
    .depending_on_all()
}

/// Whether the ways agree, once they are all turned into anode current.
fn agreement(margins: &Margins, read: &[Reading]) -> Verdict {
    let about = "Agreement of the ways";
    let say = |standing, advice: String| Verdict::new(about, standing, None, advice);
    if read.len() < 2 {
        let advice = "Only one way was read, so nothing confirms it. A second one would show a wrong resistor or range.";
        return say(Standing::CannotTell, advice.to_owned());
    }
    if read.iter().any(|reading| !reading.margin.known) {
        // The frame says why.
        return say(Standing::CannotTell, String::new());
    }
    let anode: Vec<Reading> =
        WAYS.into_iter().filter_map(|way| Reading::of(margins, way, way.anode)).collect();
    let pairs = anode
        .iter()
        .enumerate()
        .flat_map(|(at, one)| anode.iter().skip(at + 1).map(move |other| (one, other)));
    // Where the screen's part is not known, the anode can still not carry more than the cathode gives.
    let cathode = Reading::of(margins, &RESISTOR, RESISTOR.id);
    let over = |cathode: &Reading| anode.iter().find(|anode| anode.margin.low > cathode.margin.high);
    let apart = pairs.filter(|(one, other)| one.apart(other)).map(|(one, other)| (*one, *other)).next();
    let apart = apart.or_else(|| cathode.and_then(|cathode| over(&cathode).map(|anode| (cathode, *anode))));
    if let Some((one, other)) = apart {
        return say(
            Standing::Beyond,
            format!(
                "By {} {}, by {} {}: too far apart. Look for a resistor or winding that is not what was typed, the \
                 other half of the primary, a misread range, a stage that oscillates.",
                one.way.said(),
                one.spanned(),
                other.way.said(),
                other.spanned()
            ),
        );
    }
    match (cathode, anode.iter().find(|anode| !anode.way.is(&RESISTOR))) {
        (Some(cathode), Some(other)) if anode.iter().all(|anode| !anode.way.is(&RESISTOR)) => {
            let screen = writing::nearest((cathode.margin.value - other.margin.value).max(0.0), &AMPERE);
            say(
                Standing::CannotTell,
                format!(
                    "Cathode and anode current differ by the screen current: here it would be {screen}. Read it \
                     across its stopper."
                ),
            )
        }
        _ => say(Standing::Within, "Their margins overlap: none of them contradicts another.".to_owned()),
    }
}

fn table(margins: &Margins) -> Table {
    let row = |way: &'static Way| {
        let name = way.name.to_owned();
        let Some(reading) = Reading::of(margins, way, way.id) else {
            return [&name, way.gives, "not read", "", ""].map(str::to_owned).to_vec();
        };
        let most = margins.most(way.id).unwrap_or("nothing").to_owned();
        vec![name, way.gives.to_owned(), reading.spanned(), reading.width(), most]
    };
    let head = ["Way", "Gives", "Current", "Half width", "Largest contribution"];
    Table {
        title: "The ways side by side".to_owned(),
        head: head.map(str::to_owned).to_vec(),
        rows: WAYS.map(row).to_vec(),
    }
}

/// A bar for each way, one above the other, on one scale of current.
fn picture(read: &[Reading], margins: &Margins) -> Picture {
    let anode = |reading: &Reading| Reading::of(margins, reading.way, reading.way.anode);
    let shown: Vec<Reading> = read.iter().map(|reading| anode(reading).unwrap_or(*reading)).collect();
    let known = shown.iter().filter(|reading| reading.margin.known);
    let ends = known.clone().flat_map(|reading| [reading.margin.low, reading.margin.high]);
    let (low, high) =
        ends.fold((f64::INFINITY, 0.0), |(low, high): (f64, f64), end| (low.min(end), high.max(end)));
    let (low, high) = if low < high { (low, high) } else { (0.0, 1e-3) };
    let room = (high - low) * 0.25;
    let mut series = Vec::new();
    for reading in &shown {
        let height = reading.way.row;
        let Margin { value, low, high, known, .. } = reading.margin;
        let what = if anode(reading).is_some() { "anode" } else { "cathode" };
        let name = format!("{}, {what}", reading.way.name.to_ascii_lowercase());
        if known {
            let corners = [(low, -0.3), (high, -0.3), (high, 0.3), (low, 0.3)];
            let points = corners.map(|(current, up)| (current, height + up)).to_vec();
            series.push(Series { name: format!("{name}: its margin"), mark: Mark::Margin, points });
        }
        series.push(Series { name, mark: Mark::Point, points: vec![(value, height)] });
    }
    let said: Vec<String> = shown
        .iter()
        .map(|reading| format!("{} {}", reading.way.name.to_ascii_lowercase(), reading.spanned()))
        .collect();
    Picture {
        title: "What each way allows".to_owned(),
        description: format!(
            "From the top: {}. Bars that do not overlap contradict each other.",
            said.join(", ")
        ),
        x: Axis::even("Current", &AMPERE, (low - room).max(0.0), high + room),
        y: Axis::rows("Read by", &["meter", "half", "resistor"]),
        series,
    }
}
