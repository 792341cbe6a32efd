//! Which meter a reading of a procedure is taken with, and in which state of the bench: by its id.

use super::meters::{Measure, Place};
use super::rows;
use super::state::State;

/// What is asked of who is at the bench.
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
    /// The diodes of the HT rectifier block one way.
    Diodes,
    /// The bias rectifier blocks one way.
    BiasDiode,
    /// What the circuit does not say: a drawing followed, a figure compared, an ear.
    Well,
}

use Asked::{Figure, Rise};

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

/// A reading of one procedure, by the beginning of its id; the longest that fits counts.
pub(super) type Row = (&'static str, Asked, State);

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
    let (asked, state) = own
        .filter(|_| !is_everywhere(bare))
        .or_else(|| everywhere(bare).map(|asked| (asked, State::DEAD)))?;
    let (state, place) = placed(state, bare, blank, sockets);
    Some((asked, if probe { state.probe() } else { state }, place))
}

fn rows(page: &str) -> &'static [Row] {
    rows::OF_PAGES.iter().find(|(end, _)| page.ends_with(end)).map_or(&[], |(_, rows)| rows)
}

/// Proofs that are in every procedure have the same end everywhere.
fn is_everywhere(id: &str) -> bool {
    ["-left", "-source", "-clip-ohms"].iter().any(|end| id.ends_with(end))
}

fn everywhere(id: &str) -> Option<Asked> {
    let fits = |(end, _): &&(&str, Asked)| {
        id == *end || id.strip_suffix(end).is_some_and(|rest| rest.ends_with('-'))
    };
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
            state =
                if words.get(at + 1) == Some(&"min") { state.after(number.max(1)) } else { state.at(number) };
        }
    }
    (state, place)
}
