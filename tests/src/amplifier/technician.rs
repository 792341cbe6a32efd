//! Who is at the bench: answers what a procedure asks by what the meters show, and types what is read.

use super::circuit::{Adjust, Bias, Leg, Way};
use super::harm::harm;
use super::meters::{Measure, Meters, Place};
use super::readings::{Asked, Look, asked};
use super::state::State;
use calc_core::quantity::unit::PREFIXES;
use job::procedure::{AS_EXPECTED, ChoiceSpec, NOT_AS_EXPECTED, ReadingSpec};
use job::unit::measure;

/// Someone with meters at an amplifier.
pub struct Technician {
    pub meters: Meters,
}

/// What is read of one blank.
pub struct Read {
    pub text: String,
    pub state: State,
}

impl Technician {
    pub fn sockets(&self) -> Vec<&'static str> {
        self.meters.circuit.sockets.iter().map(|socket| socket.name).collect()
    }

    /// Reads one blank of a reading. `None` for a rise, which the run works out.
    pub fn read(&self, page: &str, spec: &ReadingSpec, blank: &str) -> Option<Read> {
        let (asked, state, place) = asked(page, &spec.id, blank, &self.sockets()).unwrap_or_else(|| {
            panic!("{page}: nobody has said what the meter of {} is on: rows.rs", spec.id)
        });
        let text = match asked {
            Asked::Rise => return None,
            Asked::Seen(look) => {
                if self.looks_well(look, state) { AS_EXPECTED } else { NOT_AS_EXPECTED }.to_owned()
            }
            Asked::Figure(what) => self.typed(what, state, place, spec),
        };
        Some(Read { text, state })
    }

    /// Four figures, in the reading's unit; with its sign where the meter could show either.
    fn typed(&self, what: Measure, state: State, place: Place, spec: &ReadingSpec) -> String {
        let shown = self.meters.shows(what, state, place);
        if shown.is_infinite() {
            return "OL".to_owned();
        }
        let unit = measure(&spec.unit).expect("a unit of the page");
        let value = shown / libm::pow(10.0, f64::from(unit.shown));
        // A meter's last digit: nothing below a tenth of a millivolt, or of a milliohm.
        let value = if value.abs() < 1e-3 { 0.0 } else { value };
        let figures = [1000.0, 100.0, 10.0, 1.0].iter().filter(|step| value.abs() < **step).count();
        let digits = format!("{value:.figures$}");
        let digits = if value.abs() < 1.0 && unit.shown != 0 && value != 0.0 {
            // A bare number below one would be asked back.
            let prefix = PREFIXES.iter().find(|(_, power)| *power == unit.shown).expect("its prefix").0;
            format!("{digits} {prefix}{}", unit.unit.symbol)
        } else {
            digits
        };
        let signed = matches!(what, Measure::Grid | Measure::Lift | Measure::BiasNode);
        if signed && value >= 0.0 { format!("+{digits}") } else { digits }
    }

    fn looks_well(&self, look: Look, state: State) -> bool {
        let meters = &self.meters;
        match look {
            Look::Lamp => !meters.is_bright(state),
            Look::Amplifier => harm(meters, state).is_none_or(|words| is_unseen(&words)),
            Look::Sign => {
                let closed = State { open_loop: false, ..state };
                let shows = |state| meters.shows(Measure::SmallSignal, state, Place::default());
                shows(closed) < 0.97 * shows(state.open())
            }
            Look::Jumps => meters.circuit.control.as_ref().is_none_or(|control| control.lifted == [false; 2]),
            Look::Diodes => meters.circuit.supply.legs.iter().all(|leg| *leg == Leg::Whole),
            Look::BiasDiode => match &meters.circuit.bias {
                Bias::Fixed(fixed) => fixed.leg == Leg::Whole,
                Bias::Cathode => true,
            },
            Look::Well => true,
        }
    }

    /// The option of a choice that fits this amplifier.
    pub fn answers(&self, choice: &ChoiceSpec) -> String {
        let circuit = &self.meters.sound;
        let fixed = match &circuit.bias {
            Bias::Fixed(fixed) => Some(fixed),
            Bias::Cathode => None,
        };
        let has_resistors = circuit.shared_cathode.is_some() || circuit.sockets[0].cathode > 0.0;
        let harness = circuit.bench.harness && has_resistors;
        let id = choice
            .id
            .trim_end_matches("-in")
            .trim_end_matches("-full")
            .trim_end_matches("-out")
            .trim_end_matches("-back");
        let wanted: &[&str] = match id {
            "way" if fixed.is_none() => &["cathode", "not-held-back"],
            "way" if self.meters.is_held_back() => &["held-back"],
            "way" => &["not-held-back"],
            "harness" if harness => &["with"],
            "harness" => &["by-hand"],
            "bias-kind" if fixed.is_some() => &["fixed"],
            "bias-kind" => &["cathode"],
            "load-kind" => &["dummy"],
            // Anyone who has a harness has an insulation tester; the others do without.
            "tester" if circuit.bench.harness => &["yes"],
            "tester" => &["no"],
            "meter" if harness => &["one-meg"],
            "meter" => &["straight"],
            "cathode-kind" if circuit.shared_cathode.is_some() => &["shared"],
            "cathode-kind" if has_resistors => &["own"],
            "cathode-kind" => &["direct"],
            "rectifier" if circuit.supply.valve_rectifier => &["valve"],
            "rectifier" => &["silicon"],
            "reservoir-kind" if circuit.supply.balance.is_some() => &["pair"],
            "reservoir-kind" => &["single"],
            "where" => &[match circuit.control.as_ref().map(|control| control.way) {
                Some(Way::Across | Way::Instead) => "rheostat",
                Some(Way::Between) => "across",
                Some(Way::ToChassis) => "to-chassis",
                _ => "divider",
            }],
            "cathodes" if has_resistors => &["resistor"],
            "cathodes" => &["none"],
            "master" if circuit.control.is_some() => &["yes"],
            "feedback" | "feedback-sign" if circuit.output.loop_gain.is_some() => &["yes"],
            "quick" if fixed.is_some() && !circuit.supply.valve_rectifier => &["yes"],
            "master" | "feedback" | "feedback-sign" | "quick" => &["no"],
            "grid-lead" if harness => &[if fixed.is_some() { "resistor" } else { "to-chassis" }],
            "grid-lead" => &["bare"],
            "settled" => &[if self.rises() { "risen" } else { "level" }],
            "pair" => &[if circuit.supply.balance.is_some() { "yes" } else { "no" }],
            "adjust" => match fixed.map(|fixed| fixed.adjust) {
                Some(Adjust::Trimmer) => &["trimmer"],
                Some(Adjust::Each) => &["each"],
                Some(Adjust::Balance) => &["balance"],
                _ => &["fixed"],
            },
            _ => &["three-core", "one-way", "fused", "leave", "lately", "each", "yes"],
        };
        let found = wanted.iter().find(|wanted| choice.options.iter().any(|option| option.id == **wanted));
        found.map_or_else(
            || panic!("{}: none of {wanted:?} is offered: {:?}", choice.id, choice.options),
            |id| (*id).to_owned(),
        )
    }

    /// Whether any cathode rises by more than a tenth of what is expected, from one minute to ten.
    fn rises(&self) -> bool {
        let sockets = self.meters.circuit.sockets.len();
        let current = |socket, state| self.meters.shows(Measure::Cathode, state, Place { socket, side: 0 });
        (0..sockets).any(|socket| {
            let (one, ten) = (State::FULL.open(), State::FULL.open().after(10));
            current(socket, ten) - current(socket, one) > 0.1 * current(socket, one).max(1e-3)
        })
    }
}

/// What does harm without smoke, glow or sound.
fn is_unseen(words: &str) -> bool {
    ["chassis", "capacitor", "insulation"].iter().any(|word| words.contains(word))
}
