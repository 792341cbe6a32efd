//! Which meter a reading of a procedure is taken with, and in which state of the bench: by its id.

use super::meters::{Measure, Place};
use super::state::State;

/// What is asked of who stands at the bench.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Asked {
    /// A meter's figure.
    Figure(Measure),
    /// The larger of some differences of earlier readings, which the run works out.
    Rise,
    /// Eyes, ears, nose.
    Seen(Look),
}

/// What eyes, ears and nose look for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Look {
    /// The lamp.
    Lamp,
    /// Anodes, screens, smells, howls.
    Amplifier,
    /// The output falls when the feedback is connected.
    Sign,
    /// No jump while a control is turned.
    Jumps,
    /// The ohms of a control are as its topology has them.
    Path,
}

use Asked::{Figure, Rise, Seen};

const LAMP: State = State::LAMP.open();
const FULL: State = State::FULL.open();
const WARM: State = FULL.after(10);
/// With the feedback connected.
const CLOSED: State = State::FULL.after(10);
const DEAD: State = State::DEAD;

/// Readings that any procedure may have, by the end of their id after a dash, or the whole of it.
const EVERYWHERE: &[(&str, Asked)] = &[
    ("left", Figure(Measure::Left)),
    ("left-again", Figure(Measure::Left)),
    ("left-after", Figure(Measure::Left)),
    ("source", Figure(Measure::Battery)),
    ("meter-before", Figure(Measure::Battery)),
    ("meter-after", Figure(Measure::Battery)),
    ("clip-ohms", Figure(Measure::HtOhms)),
    ("resistor", Figure(Measure::Discharge)),
    ("earth", Figure(Measure::Earth)),
    ("earth-after", Figure(Measure::Earth)),
    ("insulation", Figure(Measure::Insulation)),
    ("insulation-after", Figure(Measure::Insulation)),
    ("load", Figure(Measure::LoadOhms)),
    ("load-speaker", Figure(Measure::LoadOhms)),
    ("load-legs", Figure(Measure::LoadLeg)),
    ("load-rating", Figure(Measure::LoadWatts)),
    ("lamp-earth", Figure(Measure::BoxEarth)),
    ("lamp-live", Figure(Measure::LampLive)),
    ("lamp-neutral", Figure(Measure::LampNeutral)),
    ("rise", Rise),
];

/// Readings of one procedure, by the beginning of their id; the longest that fits counts.
type Row = (&'static str, Asked, State);

const POWER_UP: &[Row] = &[
    ("ratings", Figure(Measure::CapacitorRating), DEAD),
    ("c-cathode", Figure(Measure::CathodeOhms), DEAD),
    ("c-leak", Figure(Measure::GridOhms), DEAD),
    ("out-lamp", Seen(Look::Lamp), LAMP.out().held()),
    ("out-mains", Figure(Measure::Mains), LAMP.out().held()),
    ("out-heaters", Figure(Measure::Heaters), LAMP.out().held()),
    ("a-held", Figure(Measure::Anode), LAMP.out().held()),
    ("a-bias-out", Figure(Measure::Grid), LAMP.out().held()),
    ("b-mains-out", Figure(Measure::Mains), LAMP.out()),
    ("b-bias-out", Figure(Measure::Grid), LAMP.out()),
    ("ht-out-lamp", Seen(Look::Lamp), LAMP.out()),
    ("ht-out", Figure(Measure::Ht), LAMP.out()),
    ("lift", Figure(Measure::Lift), LAMP.out().at(0)),
    ("lift-ten", Figure(Measure::Lift), LAMP.out().at(10)),
    ("a-lamp-in", Seen(Look::Lamp), LAMP.held()),
    ("a-mains-in", Figure(Measure::Mains), LAMP.held()),
    ("a-bias-in", Figure(Measure::Grid), LAMP.held()),
    ("b-mains-in", Figure(Measure::Mains), LAMP.first_seconds()),
    ("b-bias-in", Figure(Measure::Grid), LAMP.first_seconds()),
    ("b-seen-in", Seen(Look::Amplifier), LAMP.first_seconds()),
    ("ht-lamp-seen", Seen(Look::Amplifier), LAMP),
    ("ht-lamp-cathodes", Figure(Measure::Cathode), LAMP),
    ("off-on", Figure(Measure::Cathode), LAMP),
    ("mains", Figure(Measure::Outlet), DEAD),
    ("full-a-bias", Figure(Measure::Grid), FULL.held()),
    ("full-a-ripple", Figure(Measure::Ripple), FULL.held()),
    ("full-b-ripple", Figure(Measure::Ripple), FULL.out()),
    ("full-b-bias", Figure(Measure::Grid), FULL.out()),
    ("full-b-ht", Figure(Measure::Ht), FULL.out()),
    ("full-lift", Figure(Measure::Lift), FULL.out().at(0)),
    ("full-lift-ten", Figure(Measure::Lift), FULL.out().at(10)),
    ("full-b-bias-in", Figure(Measure::Grid), FULL.first_seconds()),
    ("full-b-seen-in", Seen(Look::Amplifier), FULL.first_seconds()),
    ("idle-seen", Seen(Look::Amplifier), FULL),
    ("idle-once", Figure(Measure::Cathode), FULL),
    ("full-bias-ht", Figure(Measure::Grid), FULL.probe()),
    ("heaters", Figure(Measure::Heaters), FULL),
    ("idle-watts", Figure(Measure::Watts), FULL),
    ("idle-one", Figure(Measure::Cathode), FULL),
    ("idle-ten", Figure(Measure::Cathode), WARM),
    ("idle-twenty", Figure(Measure::Cathode), FULL.after(20)),
    ("rise-twenty", Rise, FULL.after(20)),
    ("off-on-full", Figure(Measure::Cathode), WARM),
    ("half-warm", Figure(Measure::HalfOhms), DEAD),
    ("anodes", Figure(Measure::Anode), WARM),
    ("idle-warm", Figure(Measure::Half), WARM),
    ("output-open", Figure(Measure::SmallSignal), WARM),
    ("output-connected", Figure(Measure::SmallSignal), CLOSED),
    ("knob-0", Figure(Measure::Cathode), CLOSED.at(0)),
    ("knob-5", Figure(Measure::Cathode), CLOSED.at(5)),
    ("knob-10", Figure(Measure::Cathode), CLOSED.at(10)),
    ("knob-rise", Rise, CLOSED),
    ("sweep", Seen(Look::Amplifier), CLOSED),
    ("drive-seen", Seen(Look::Amplifier), CLOSED.driven()),
    ("drive", Figure(Measure::Drive), CLOSED.driven()),
    ("drive-bias", Figure(Measure::BiasNode), CLOSED.driven()),
    ("warm-once", Figure(Measure::Cathode), CLOSED),
    ("warm-one", Figure(Measure::Cathode), CLOSED),
    ("warm-ten", Figure(Measure::Cathode), CLOSED.after(20)),
    ("warm-rise", Rise, CLOSED.after(20)),
    ("tapped", Seen(Look::Amplifier), CLOSED),
    ("soak", Figure(Measure::Cathode), CLOSED.after(30)),
    ("soak-rise", Rise, CLOSED.after(30)),
];

const SET_IDLE: &[Row] = &[
    ("cathode-ohms", Figure(Measure::CathodeOhms), DEAD),
    ("halves", Figure(Measure::HalfOhms), DEAD),
    ("lamp", Seen(Look::Lamp), LAMP.out().held()),
    ("held", Figure(Measure::Anode), LAMP.out().held()),
    ("grids-standby", Figure(Measure::Grid), LAMP.out().held()),
    ("ht-out", Figure(Measure::Ht), LAMP.out()),
    ("grids-play", Figure(Measure::Grid), LAMP.out()),
    ("grids-moved", Rise, LAMP.out()),
    ("lift", Figure(Measure::Lift), LAMP.out()),
    ("mains", Figure(Measure::Outlet), DEAD),
    // Read before any valve can draw current: on standby, or with the valves out.
    ("bias", Figure(Measure::Grid), FULL.safe()),
    ("ripple", Figure(Measure::Ripple), FULL.safe()),
    ("bias-in", Figure(Measure::Grid), FULL.first_seconds()),
    ("seen", Seen(Look::Amplifier), CLOSED.after(1)),
    ("cathode", Figure(Measure::Cathode), CLOSED.after(1)),
    ("half", Figure(Measure::Half), CLOSED.after(1)),
    ("grids-ht", Figure(Measure::Grid), CLOSED.after(1).probe()),
    ("anode", Figure(Measure::Anode), CLOSED),
    ("screen", Figure(Measure::ScreenDrop), CLOSED),
    ("set-bias", Figure(Measure::Grid), FULL.safe()),
    ("after-one", Figure(Measure::Cathode), CLOSED.after(1)),
    ("after-ten", Figure(Measure::Cathode), CLOSED),
    ("after-rise", Rise, CLOSED),
    ("bias-drive", Figure(Measure::BiasNode), CLOSED.driven()),
    ("driven", Figure(Measure::Cathode), CLOSED),
    ("soak", Figure(Measure::Cathode), CLOSED.after(30)),
    ("soak-seen", Seen(Look::Amplifier), CLOSED.after(30)),
];

/// A reading of a procedure and a blank of it: what is asked, in which state, at which place. `sockets` are the names of the
/// amplifier's. `None` where nobody has said what the meter is on.
#[must_use]
pub fn asked(page: &str, id: &str, blank: &str, sockets: &[&str]) -> Option<(Asked, State, Place)> {
    let (bare, probe) = match id.strip_suffix("-harness") {
        Some(bare) => (bare, true),
        None => (id, false),
    };
    let of_page = rows(page).iter().filter(|(start, ..)| bare.starts_with(start));
    let own = of_page.max_by_key(|(start, ..)| start.len()).map(|(_, asked, state)| (*asked, *state));
    let (asked, state) = own.filter(|_| !is_everywhere(bare)).or_else(|| everywhere(bare).map(|asked| (asked, DEAD)))?;
    let (state, place) = placed(state, bare, blank, sockets);
    Some((asked, if probe { state.probe() } else { state }, place))
}

fn rows(page: &str) -> &'static [Row] {
    let of_page = [("staged-power-up.md", POWER_UP), ("set-idle-current.md", SET_IDLE)];
    of_page.into_iter().find(|(end, _)| page.ends_with(end)).map_or(&[], |(_, rows)| rows)
}

/// Proofs that stand in every procedure have the same end everywhere.
fn is_everywhere(id: &str) -> bool {
    ["-left", "-source", "-clip-ohms"].iter().any(|end| id.ends_with(end))
}

fn everywhere(id: &str) -> Option<Asked> {
    let fits = |(end, _): &&(&str, Asked)| id == *end || id.strip_suffix(end).is_some_and(|rest| rest.ends_with('-'));
    EVERYWHERE.iter().filter(fits).max_by_key(|(end, _)| end.len()).map(|(_, asked)| *asked)
}

/// What a blank's words say: a socket, a side, a setting of the knob, minutes.
fn placed(mut state: State, id: &str, blank: &str, sockets: &[&str]) -> (State, Place) {
    let mut place = Place::default();
    let mut put = |word: &str| {
        if let Some(at) = sockets.iter().position(|name| *name == word) {
            place = Place { socket: at, side: usize::from(word.starts_with('B')) };
        } else if matches!(word, "B" | "b" | "lower" | "sleeve") {
            let at = sockets.iter().position(|name| name.starts_with('B')).unwrap_or(0);
            place = Place { socket: at, side: 1 };
        }
    };
    let own = id.rsplit('-').next().filter(|word| matches!(*word, "a" | "b"));
    own.into_iter().chain(blank.split(' ')).for_each(&mut put);
    let words: Vec<&str> = blank.split(' ').collect();
    for (at, word) in words.iter().enumerate() {
        if let Ok(number) = word.parse::<u8>() {
            state = if words.get(at + 1) == Some(&"min") { state.after(number.max(1)) } else { state.at(number) };
        }
    }
    (state, place)
}
