//! What has been done to an amplifier when a meter is read.

/// How it gets its mains.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Power {
    /// Unplugged.
    Off,
    /// Behind the lamp.
    Lamp,
    /// All of it.
    Full,
}

/// A state of the bench.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct State {
    /// How it gets its mains.
    pub power: Power,
    /// Standby on *play*.
    pub play: bool,
    /// Output valves in.
    pub valves: bool,
    /// Cathodes not warm yet: the first seconds.
    pub cold: bool,
    /// Feedback lead open.
    pub open_loop: bool,
    /// The control after the inverter, 0 to 10.
    pub knob: u8,
    /// Minutes since the mains went on.
    pub minutes: u8,
    /// Which valve of each side has a meter on its grid tag, 1 is the inmost; 0 is none.
    pub grid_meter: u8,
    /// A 1 MΩ resistor at the tag, in the meter's lead.
    pub probe: bool,
    /// Driven to just below clipping.
    pub driven: bool,
    /// The leads of a control lifted from the grids.
    pub lead_off: bool,
    /// Before any valve can draw current, see [`State::safe`].
    pub safe: bool,
}

impl State {
    /// Dead, valves in.
    pub const DEAD: Self = Self {
        power: Power::Off,
        play: true,
        valves: true,
        cold: false,
        open_loop: false,
        knob: 10,
        minutes: 1,
        grid_meter: 0,
        probe: false,
        driven: false,
        lead_off: false,
        safe: false,
    };
    /// Behind the lamp, valves in, *play*.
    pub const LAMP: Self = Self { power: Power::Lamp, ..Self::DEAD };
    /// Full mains, valves in, *play*.
    pub const FULL: Self = Self { power: Power::Full, ..Self::DEAD };

    /// Standby open.
    #[must_use]
    pub const fn held(self) -> Self {
        Self { play: false, ..self }
    }

    /// Output valves out.
    #[must_use]
    pub const fn out(self) -> Self {
        Self { valves: false, ..self }
    }

    /// In the first seconds.
    #[must_use]
    pub const fn first_seconds(self) -> Self {
        Self { cold: true, ..self }
    }

    /// Feedback open.
    #[must_use]
    pub const fn open(self) -> Self {
        Self { open_loop: true, ..self }
    }

    /// After so many minutes.
    #[must_use]
    pub const fn after(self, minutes: u8) -> Self {
        Self { minutes, ..self }
    }

    /// The control at a setting.
    #[must_use]
    pub const fn at(self, knob: u8) -> Self {
        Self { knob, ..self }
    }

    /// Driven.
    #[must_use]
    pub const fn driven(self) -> Self {
        Self { driven: true, ..self }
    }

    /// A 1 MΩ resistor at the grid's tag.
    #[must_use]
    pub const fn probe(self) -> Self {
        Self { probe: true, ..self }
    }

    /// The leads of a control lifted from the grids.
    #[must_use]
    pub const fn lead_off(self) -> Self {
        Self { lead_off: true, ..self }
    }

    /// As the technician reads a bias before any valve can draw current: on standby where that keeps the HT away and the bias
    /// there, with the output valves out where it does not. `Meters` knows which.
    #[must_use]
    pub const fn safe(self) -> Self {
        Self { safe: true, ..self }
    }

    /// A meter on the grid tags of the valves with this number.
    #[must_use]
    pub const fn on_grids(self, number: u8) -> Self {
        Self { grid_meter: number, ..self }
    }
}
