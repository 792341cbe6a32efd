//! What a reading is evidence of.

use serde::{Deserialize, Serialize};

/// What a reading is evidence of, and with it what takes it away again.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Purpose {
    /// Read without mains, and of the amplifier: an earth, a load, a winding.
    #[default]
    Cold,
    /// Read at full mains, and of the amplifier.
    Live,
    /// Read live at less than the mains: it opens its gate and approves nothing.
    BehindTheLamp,
    /// Of the bench's own tools, which no hand in the chassis moves.
    OfTheBench,
    /// That the chassis is dead, or that the meter which says so works: hands may go in.
    Dead,
    /// That the mains may go on: the discharge resistor is off, nothing is shorted.
    BeforePower,
}

impl Purpose {
    /// All of them that a block may name; without one a reading is [`Purpose::Cold`].
    pub const NAMED: [Self; 5] =
        [Self::Live, Self::BehindTheLamp, Self::OfTheBench, Self::Dead, Self::BeforePower];

    /// As blocks and files write it.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Cold => "cold",
            Self::Live => "live",
            Self::BehindTheLamp => "behind-the-lamp",
            Self::OfTheBench => "of-the-bench",
            Self::Dead => "dead",
            Self::BeforePower => "before-power",
        }
    }

    /// Why it tells nothing of the amplifier, in words; `None` of one that does.
    #[must_use]
    pub const fn aside(self) -> Option<&'static str> {
        match self {
            Self::Cold | Self::Live => None,
            Self::BehindTheLamp => Some("behind the lamp"),
            Self::OfTheBench => Some("of the bench"),
            Self::Dead => Some("while dead"),
            Self::BeforePower => Some("before power"),
        }
    }

    /// Whether it is read on a live amplifier: mains off first, then type.
    #[must_use]
    pub const fn is_live(self) -> bool {
        matches!(self, Self::Live | Self::BehindTheLamp)
    }

    /// Whether it says that no mains was on: hands, tools or the bench were proved by it.
    #[must_use]
    pub const fn is_of_no_mains(self) -> bool {
        matches!(self, Self::OfTheBench | Self::Dead | Self::BeforePower)
    }

    /// Whether it tells of the amplifier, and is on the sheet.
    #[must_use]
    pub const fn tells_of_the_amplifier(self) -> bool {
        self.aside().is_none()
    }

    #[expect(clippy::trivially_copy_pass_by_ref, reason = "as serde asks")]
    pub(crate) const fn is_cold(&self) -> bool {
        matches!(self, Self::Cold)
    }
}
