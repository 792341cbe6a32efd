//! What the bench looks up of a valve and no calculator asks for: its base, its pins, its heater. The table stands apart
//! from [`VALVES`](super::VALVES), because a table that no calculator reads is left out of what the browser loads.

use super::{Figure, System};
use crate::quantity::{Capacitance, ElectricCurrent, ElectricPotential};
use crate::source::Source;

/// How the pins stand. Both are numbered clockwise, seen from below, from where the circle is marked.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Base {
    /// Eight pins, 45° apart, round a spigot with a key between the last and the first.
    Octal,
    /// Nine pins, 36° apart, with a gap of 72° between the last and the first.
    Noval,
}

impl Base {
    /// What the trade calls it, with its article and the name of the standard.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Octal => "an octal base (K8A)",
            Self::Noval => "a noval base (B9A)",
        }
    }

    /// What marks the place between the last pin and the first.
    #[must_use]
    pub const fn mark(self) -> &'static str {
        match self {
            Self::Octal => "key",
            Self::Noval => "gap",
        }
    }

    /// Where a pin is on a circle of radius 1 with the mark at the bottom, seen from below: to the right and down
    /// from the middle.
    #[must_use]
    pub fn place(self, pin: u8) -> (f64, f64) {
        let clockwise = self.degrees(pin).to_radians();
        (-libm::sin(clockwise), libm::cos(clockwise))
    }

    /// How far a pin stands from the mark, clockwise.
    fn degrees(self, pin: u8) -> f64 {
        match self {
            Self::Octal => 45.0 * (f64::from(pin) - 0.5),
            Self::Noval => 36.0 * f64::from(pin),
        }
    }
}

/// What a pin may lead to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Electrode {
    /// One end of the heater.
    Heater,
    /// The middle of a heater that is run in series or in parallel.
    HeaterTap,
    /// The cathode.
    Cathode,
    /// The first grid.
    ControlGrid,
    /// The second grid.
    ScreenGrid,
    /// The third grid.
    SuppressorGrid,
    /// The beam plates, in the place of a pentode's third grid.
    BeamPlates,
    /// The anode.
    Anode,
    /// A shield between the electrodes, joined to none of them.
    InternalScreen,
    /// The metal ring round the foot of the valve, which can be touched.
    BaseSleeve,
}

/// Words in `data/valves.toml` and in the book, and the letters that data sheets use; of a triode the only grid is g.
const ELECTRODES: [(Electrode, &str, &str); 10] = [
    (Electrode::Heater, "heater", "h"),
    (Electrode::HeaterTap, "heater centre tap", "hct"),
    (Electrode::Cathode, "cathode", "k"),
    (Electrode::ControlGrid, "control grid", "g1"),
    (Electrode::ScreenGrid, "screen grid", "g2"),
    (Electrode::SuppressorGrid, "suppressor grid", "g3"),
    (Electrode::BeamPlates, "beam plates", "bp"),
    (Electrode::Anode, "anode", "a"),
    (Electrode::InternalScreen, "internal screen", "s"),
    (Electrode::BaseSleeve, "base sleeve", "sleeve"),
];

impl Electrode {
    /// What it is called.
    #[must_use]
    pub fn words(self) -> &'static str {
        ELECTRODES[self as usize].1
    }

    /// How a drawing of the socket names it.
    #[must_use]
    pub fn letters(self) -> &'static str {
        ELECTRODES[self as usize].2
    }
}

/// What one pin leads to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Pin {
    /// Nothing, by the sheet.
    Unconnected,
    /// Something inside that is nobody's business: never a place to tie anything to.
    Internal,
    /// Electrodes, of which section where the valve has two systems in one envelope.
    Joined(&'static [Electrode], Option<u8>),
}

impl Pin {
    /// Whether this electrode is on the pin.
    #[must_use]
    pub fn has(self, electrode: Electrode) -> bool {
        matches!(self, Self::Joined(electrodes, _) if electrodes.contains(&electrode))
    }

    /// What is on it, in words.
    #[must_use]
    pub fn words(self) -> String {
        match self {
            Self::Unconnected => "no connection".to_owned(),
            Self::Internal => "internal connection".to_owned(),
            Self::Joined(electrodes, section) => {
                let words: Vec<&str> = electrodes.iter().map(|electrode| electrode.words()).collect();
                let section = section.map_or(String::new(), |section| format!(", section {section}"));
                words.join(" and ") + &section
            }
        }
    }
}

/// What the bench looks up of a valve.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Particulars {
    /// The valve's type number.
    pub valve: &'static str,
    /// How its pins stand.
    pub base: Base,
    /// The pins, the first first.
    pub pins: &'static [Pin],
    /// Who published the pins.
    pub pins_source: &'static Source,
    /// The voltage that the heater is made for.
    pub heater_voltage: Figure<ElectricPotential>,
    /// The heater's current at that voltage.
    pub heater_current: Figure<ElectricCurrent>,
    /// Of a pentode the data sheet's “output”, of a triode anode to cathode; cold.
    pub output: Option<Figure<Capacitance>>,
}

impl Particulars {
    /// The pins with their numbers.
    pub fn numbered(&self) -> impl Iterator<Item = (u8, Pin)> {
        (1..).zip(self.pins.iter().copied())
    }

    /// Whether two systems share the envelope.
    #[must_use]
    pub fn is_double(&self) -> bool {
        self.pins.iter().any(|pin| matches!(pin, Pin::Joined(_, Some(2))))
    }
}

/// A type that goes into the socket of another and joins electrodes inside to pins that there have no connection: what a
/// spare tag carries is on that electrode as soon as it is plugged in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Lookalike {
    /// Its type number, as in the table of valves.
    pub name: &'static str,
    /// How its pins stand.
    pub base: Base,
    /// The pins that are joined inside, and to what.
    pub joined: &'static [(u8, Pin)],
    /// Where the pins are published.
    pub source: &'static Source,
}

impl Lookalike {
    /// Whether it goes into the socket of this valve and works there: the pins that both use carry the same.
    #[must_use]
    pub fn fits(&self, of: &Particulars) -> bool {
        let carries = |electrode: &Electrode| of.pins.iter().any(|pin| pin.has(*electrode));
        let known = |(number, pin): &(u8, Pin)| {
            let Pin::Joined(electrodes, None) = pin else { return false };
            let there = of.numbered().find(|(at, _)| at == number).map(|(_, pin)| pin);
            electrodes.iter().all(carries) && there.is_some_and(|there| there != *pin)
        };
        self.base == of.base && !of.is_double() && self.joined.iter().all(known)
    }
}

include!(concat!(env!("OUT_DIR"), "/particulars.rs"));

/// What the table says of the valve with this type number.
#[must_use]
pub fn particulars(valve: &str) -> Option<&'static Particulars> {
    PARTICULARS.iter().find(|particulars| particulars.valve == valve)
}

/// The pins of the valve with this type number, the first first. A table of its own: a run says a pin and needs nothing
/// else of the particulars.
#[must_use]
pub fn pins(valve: &str) -> Option<&'static [Pin]> {
    PINS.iter().find(|(name, _)| *name == valve).map(|(_, pins)| *pins)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn electrodes_stand_in_the_order_of_their_words() {
        for (at, (electrode, ..)) in ELECTRODES.iter().enumerate() {
            assert_eq!(*electrode as usize, at);
        }
    }

    #[test]
    fn pins_stand_where_the_base_has_them() {
        // 45° apart on both sides of the key; 36° apart with 72° from the last to the first.
        assert_eq!((Base::Octal.degrees(1), Base::Octal.degrees(8)), (22.5, 337.5));
        assert_eq!((Base::Noval.degrees(1), Base::Noval.degrees(9)), (36.0, 324.0));
        // Clockwise from the bottom: first to the left, then over the top to the right.
        for (base, last) in [(Base::Octal, 8), (Base::Noval, 9)] {
            let ((left, low), (right, as_low)) = (base.place(1), base.place(last));
            assert!(left < 0.0 && low > 0.5 && (left + right).abs() < 1e-9 && (low - as_low).abs() < 1e-9);
            assert!(base.place(2).0 < 0.0 && base.place(last / 2).1 < 0.0 && base.place(last - 1).0 > 0.0);
        }
    }
}
