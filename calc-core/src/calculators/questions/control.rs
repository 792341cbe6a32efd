//! Asks for the track of a control: its law, as made or as measured, and its resistance.

use std::rc::Rc;

use crate::calculator::{Ask, Form, Impossible, Point, Question, Side};
use crate::pot::{Corner, Law};
use crate::quantity::unit::{DEGREE, OHM, ONE, PER_CENT};
use crate::quantity::{ElectricalResistance, Quantity, Ratio};

/// The knob's own scale.
const KNOB: &[Side] = &[Side { name: "place", unit: &ONE, exponent: 0, low: 0.0, high: 10.0 }];
const SHARES: Form = Form {
    places: KNOB,
    readings: &[Side { name: "reading", unit: &PER_CENT, exponent: 0, low: 0.0, high: 1.0 }],
    optional: 0,
    least: 2,
};
const OHMS: Form = Form {
    places: KNOB,
    readings: &[Side { name: "reading", unit: &OHM, exponent: 0, low: 0.0, high: 100e6 }],
    optional: 0,
    least: 2,
};

/// What law the track has.
#[derive(Clone, Copy, PartialEq)]
pub enum Kind {
    Audio,
    Linear,
    Reverse,
    /// The reader's points, as shares of the track.
    Shares,
    /// The reader's points, in ohms from the low end.
    Ohms,
}

impl Kind {
    pub fn ask(a: &mut Ask) -> Self {
        a.choice(
            "law",
            "Law of the track",
            "Measure it: the letter on the case means different things from different makers.",
            &[
                ("audio", "audio, slow at first", Self::Audio),
                ("linear", "linear", Self::Linear),
                ("reverse", "reverse audio, slow at last", Self::Reverse),
                ("points", "my own points, in per cent", Self::Shares),
                ("ohm-points", "my own points, in ohms", Self::Ohms),
            ],
        )
    }
}

/// The track as the reader described it.
#[derive(Clone)]
pub enum Track {
    /// Without a centre it is linear.
    Made {
        centre: Option<Ratio>,
        dead_low: f64,
        dead_high: f64,
        resistance: ElectricalResistance,
    },
    Shares {
        points: Rc<[Point]>,
        resistance: ElectricalResistance,
    },
    Ohms {
        points: Rc<[Point]>,
    },
}

impl Track {
    /// The questions about the track.
    pub fn ask(a: &mut Ask, kind: Kind) -> Self {
        let resistance = |a: &mut Ask| {
            a.quantity("resistance", "R_P", "Total resistance", "250k")
                .hint("Between the outer lugs. The marked value is within 20 %.")
                .within("100R", "100M")
                .tolerance("20 %")
                .get()
        };
        let list = "Knob, colon, reading, from 0 to 10, with spaces between.";
        match kind {
            Kind::Shares => Self::Shares {
                points: a.points("points", "Measured points", list, "0:0 2:3% 5:15% 8:60% 10:100%", &SHARES),
                resistance: resistance(a),
            },
            Kind::Ohms => Self::Ohms {
                points: a.points(
                    "ohm-points",
                    "Measured points, from the low end",
                    list,
                    "0:0 2:7k5 5:37k5 8:150k 10:250k",
                    &OHMS,
                ),
            },
            Kind::Audio | Kind::Linear | Kind::Reverse => {
                let centre = match kind {
                    Kind::Linear => None,
                    _ => Some(
                        a.quantity("centre", "c", "Track at half rotation, from the slow end", "15 %")
                        .hint("The number beside the letter: 10, 15, 20 or 30. Its spread is common practice, no source.")
                        .within("1 %", "50 %")
                        .tolerance("30 %")
                        .get(),
                    ),
                };
                let turned =
                    |centre: Ratio| if kind == Kind::Reverse { Ratio::of(1.0) - centre } else { centre };
                let centre = centre.map(turned);
                let dead = |a: &mut Ask, id, name| {
                    a.usual()
                        .quantity(id, "", name, "20°")
                        .hint("Rotation before the reading moves.")
                        .within("0°", "80°")
                        .get_in(&DEGREE)
                };
                Self::Made {
                    centre,
                    dead_low: dead(a, "dead-low", "Dead at the lower stop"),
                    dead_high: dead(a, "dead-high", "Dead at the upper stop"),
                    resistance: resistance(a),
                }
            }
        }
    }

    /// The law of the track, and its resistance, where the shaft turns through `angle` degrees.
    pub fn law(&self, angle: f64) -> Result<(Law, ElectricalResistance), Impossible> {
        let measured = |field, points: &[Point], whole: f64| {
            let corners = points.iter().map(|point| {
                let (knob, reading) = point.pair();
                Corner::new(knob / 10.0, reading / whole)
            });
            Law::measured(corners.collect()).map_err(|flaw| Impossible { field, message: flaw.to_string() })
        };
        Ok(match self {
            Self::Made { centre, dead_low, dead_high, resistance } => {
                let part = |degrees: f64| Ratio::of(degrees / angle);
                let (low, high) = (part(*dead_low), part(*dead_high));
                (
                    centre.map_or_else(|| Law::straight(low, high), |centre| Law::made(centre, low, high)),
                    *resistance,
                )
            }
            Self::Shares { points, resistance } => (measured("points", points, 1.0)?, *resistance),
            Self::Ohms { points } => {
                let whole = points.last().map_or(0.0, |point| point.pair().1);
                // Of a track of nothing the law says so itself.
                let law = measured("ohm-points", points, if whole > 0.0 { whole } else { 1.0 })?;
                (law, ElectricalResistance::of(whole))
            }
        })
    }
}

/// Asks how far the shaft turns from stop to stop, in degrees.
pub fn ask_angle(a: &mut Ask) -> f64 {
    a.usual()
        .quantity("angle", "", "Rotation from stop to stop", "300°")
        .hint("From the data sheet; nearly all panel pots turn through 300°.")
        .within("200°", "355°")
        .get_in(&DEGREE)
}

/// Asks where the knob stands, of the whole way.
pub fn ask_knob(a: &mut Ask) -> Ratio {
    let knob = a.quantity("knob", "n", "Knob position", "5").hint("On a scale from 0 to 10.");
    Ratio::of(knob.within("0", "10").slides().get_in(&ONE) / 10.0)
}

/// Asks how far the two gangs differ at this setting; a level.
pub fn mismatch<'q, 'a>(a: &'q mut Ask<'a>) -> Question<'q, 'a> {
    a.quantity("mismatch", "e", "Gangs differ by", "3 dB")
        .hint("Measured at this setting, or what the data sheet allows.")
        .within("0 dB", "20 dB")
}
