//! Lamp limiter: what a filament lamp in series leaves the amplifier, and what it looks like.
//!
//! ```text
//! I = (P_0 / V_0) · (V_l / V_0)^0.55      the lamp; never less resistance than cold, a fifteenth of hot
//! V_l + R_a · I = V_n                     the amplifier as a resistor: V_n² / P, V_n / I_a, or nothing
//! ```
//!
//! Units: V, A, W, Ω. The lamp's voltage is found by halving an interval: the left side rises with it. An LED limits
//! nothing and gets no answer. Source: rerating exponents (Fink and Beaty), tungsten's resistance (White and Minges).

use crate::calculator::{
    Answer, Ask, Axis, Calculator, Impossible, Limit, Margins, Mark, Picture, Report, Series, Sheet,
    Standing, Verdict, named,
};
use crate::quantity::unit::{AMPERE, VOLT};
use crate::quantity::{
    ElectricCurrent, ElectricPotential, ElectricalResistance, Power, Quantity, Ratio, writing,
};
use crate::source::{LAMP_RERATING, PRACTICE, TUNGSTEN, TYPED};

/// Current against voltage, both as shares of the rated.
const EXPONENT: f64 = 0.55;
/// Hot resistance over cold.
const HOT_TO_COLD: f64 = 15.0;
/// Why no other lamp will do.
const ELECTRONIC: &str = "LED and compact fluorescent lamps hold electronics that draw what they please: they limit \
                          nothing. Use a filament or halogen lamp.";
/// What heaters are made for.
const HEATERS: f64 = 6.3;

/// The lamp, the mains and the amplifier.
pub struct LampLimiter {
    kind: Kind,
    lamp: Lamp,
    mains: ElectricPotential,
    load: Load,
}

#[derive(Clone, Copy, PartialEq)]
enum Kind {
    Filament,
    Electronic,
}

#[derive(Clone, Copy)]
struct Lamp {
    power: Power,
    voltage: ElectricPotential,
}

enum Load {
    Watts(Power),
    Current(ElectricCurrent),
    Short,
}

/// Where lamp and amplifier agree; nothing for a lamp that limits nothing.
pub struct Found(Option<Shared>);

struct Shared {
    resistance: ElectricalResistance,
    amplifier: ElectricPotential,
    lamp: ElectricPotential,
    current: ElectricCurrent,
    lamp_power: Power,
    share: Ratio,
    heater: ElectricPotential,
    mains: ElectricPotential,
}

impl Calculator for LampLimiter {
    const SHEET: &'static Sheet = &Sheet {
        id: "lamp-limiter",
        title: "Lamp in series",
        question: "Which lamp, and what is to be seen behind it?",
        edition: 1,
        leaves_out: &[
            "The amplifier is taken as a resistor; its idle current falls faster than its mains.",
            "The first cycles, while lamp and heaters are cold, are hardly limited.",
            "Lamps differ by some per cent, and an old one more.",
            "Nothing is approved behind a lamp: what is read there is read again without it.",
        ],
        sources: &[&LAMP_RERATING, &TUNGSTEN, &PRACTICE],
    };
    type Found = Found;

    fn ask(a: &mut Ask) -> Self {
        let kind = a.choice(
            "kind",
            "Lamp",
            "",
            &[
                ("filament", "filament or halogen", Kind::Filament),
                ("electronic", "LED or compact fluorescent", Kind::Electronic),
            ],
        );
        let lamp = Lamp {
            power: a
                .quantity("lamp-power", "P_0", "Lamp, rated power", "100 W")
                .within("5 W", "2 kW")
                .tolerance("5 %")
                .get(),
            voltage: a
                .quantity("lamp-voltage", "V_0", "Lamp, rated voltage", "120 V")
                .within("12 V", "300 V")
                .get(),
        };
        let mains = a.quantity("mains", "V_n", "Mains", "120 V").within("50 V", "300 V").get();
        let how = a.usual().choice(
            "amplifier",
            "Amplifier known by",
            "",
            &[
                ("watts", "its watts at idle", 0_u8),
                ("current", "its current at full mains", 1),
                ("short", "being a short", 2),
            ],
        );
        let load = match how {
            0 => Load::Watts(
                a.quantity("watts", "P_a", "Watts at full mains", "65 W")
                    .within("1 W", "2 kW")
                    .tolerance("5 %")
                    .get(),
            ),
            1 => Load::Current(
                a.quantity("current", "I_a", "Current at full mains", "0.54 A")
                    .within("5 mA", "20 A")
                    .tolerance("5 %")
                    .get(),
            ),
            _ => Load::Short,
        };
        Self { kind, lamp, mains, load }
    }

    fn work(&self) -> Result<Found, Impossible> {
        if self.kind == Kind::Electronic {
            return Ok(Found(None));
        }
        let resistance: ElectricalResistance = match self.load {
            Load::Watts(power) => self.mains * self.mains / power,
            Load::Current(current) => self.mains / current,
            Load::Short => ElectricalResistance::of(0.0),
        };
        let lamp = self.lamp.voltage_behind(self.mains.si(), resistance.si());
        let current = ElectricCurrent::of(self.lamp.current(lamp));
        let lamp = ElectricPotential::of(lamp);
        let amplifier = self.mains - lamp;
        let share = amplifier / self.mains;
        Ok(Found(Some(Shared {
            resistance,
            amplifier,
            lamp,
            current,
            lamp_power: lamp * current,
            share,
            heater: ElectricPotential::of(HEATERS * share.si()),
            mains: self.mains,
        })))
    }

    fn answers(Found(found): &Found) -> Vec<Answer> {
        let Some(found) = found else { return vec![] };
        vec![
            Answer::new("amplifier-voltage", "V_a", "Mains at the amplifier", found.amplifier),
            Answer::new("share", "", "Of the full mains", found.share),
            Answer::new("lamp-voltage", "V_l", "Over the lamp", found.lamp),
            Answer::new("drawn", "I", "Current", found.current),
            Answer::new("lamp-heat", "P_l", "Power in the lamp", found.lamp_power),
            Answer::new("heater", "V_h", "Heaters of 6.3 V", found.heater),
            Answer::new("short", "V_n", "Over the lamp, should the amplifier be a short", found.mains),
        ]
    }

    fn report(&self, Found(found): &Found, margins: &Margins, report: &mut Report) {
        let Some(found) = found else {
            report.summary = ELECTRONIC.to_owned();
            report.verdicts.push(Verdict::new("Lamp", Standing::Beyond, None, ELECTRONIC.to_owned()));
            return;
        };
        let glow = found.lamp / self.lamp.voltage;
        report.summary = format!(
            "The amplifier gets {}, {:.0}\u{a0}% of its mains; the lamp is {}.",
            writing::nearest(found.amplifier.si(), &VOLT),
            found.share.si() * 100.0,
            brightness(glow.si())
        );
        let marked = Limit::new(self.lamp.voltage, "marked on the lamp", &TYPED);
        report.verdicts.push(Verdict::at_most(
            "Lamp, should the amplifier be a short",
            &margins.of("short"),
            Some(marked),
            |standing| {
                let advice = match standing {
                    Standing::Within => "It bears the whole mains, and shines: mains off.",
                    _ => "It would burn out. A lamp for this mains.",
                };
                advice.to_owned()
            },
        ));
        self.working(found, report);
        report.picture = Some(self.picture(found));
    }
}

impl Lamp {
    /// The current at a voltage over it.
    fn current(self, voltage: f64) -> f64 {
        let (rated, power) = (self.voltage.si(), self.power.si());
        let warm = power / rated * libm::pow((voltage / rated).max(0.0), EXPONENT);
        let cold = rated * rated / power / HOT_TO_COLD;
        warm.min(voltage / cold)
    }

    /// Its voltage in series with a resistance.
    fn voltage_behind(self, mains: f64, resistance: f64) -> f64 {
        let (mut low, mut high) = (0.0, mains);
        for _ in 0..80 {
            let middle = f64::midpoint(low, high);
            if middle + resistance * self.current(middle) < mains {
                low = middle;
            } else {
                high = middle;
            }
        }
        if resistance > 0.0 { f64::midpoint(low, high) } else { mains }
    }
}

impl LampLimiter {
    fn working(&self, found: &Shared, report: &mut Report) {
        if found.resistance.si() > 0.0 {
            let mains = named("V_n", self.mains);
            let formula = match self.load {
                Load::Current(current) => mains / named("I_a", current),
                Load::Watts(power) => mains.squared() / named("P_a", power),
                Load::Short => mains,
            };
            report.step("The amplifier as a resistor.", "R_a", formula, found.resistance);
        }
        let rest = named("V_n", self.mains) - named("V_l", found.lamp);
        report.step("Where both carry the same current, the lamp takes V_l.", "V_a", rest, found.amplifier);
        report.step(
            "What the lamp turns into heat and light.",
            "P_l",
            named("V_l", found.lamp) * named("I", found.current),
            found.lamp_power,
        );
    }

    fn picture(&self, found: &Shared) -> Picture {
        let mains = self.mains.si();
        let most = self.lamp.current(mains).max(1e-6);
        let at = |step: i32| mains * f64::from(step) / 48.0;
        let lamp = (0..=48).map(at).map(|volts| (volts, self.lamp.current(volts))).collect();
        let mut series = vec![Series { name: "lamp".to_owned(), mark: Mark::Curve, points: lamp }];
        let resistance = found.resistance.si();
        if resistance > 0.0 {
            let line = (0..=48).map(at).map(|volts| (volts, (mains - volts) / resistance));
            series.push(Series {
                name: "what the amplifier takes at the rest".to_owned(),
                mark: Mark::Target,
                points: line.filter(|(_, current)| *current <= most).collect(),
            });
        }
        Picture {
            title: "Lamp and amplifier share the mains".to_owned(),
            description: format!(
                "They carry the same current, {}, with {} over the lamp.",
                writing::nearest(found.current.si(), &AMPERE),
                writing::nearest(found.lamp.si(), &VOLT)
            ),
            x: Axis::even("Over the lamp", &VOLT, 0.0, mains),
            y: Axis::even("Current", &AMPERE, 0.0, most),
            series,
        }
    }
}

/// What the eye makes of a lamp at a share of its voltage: common practice, no source.
fn brightness(share: f64) -> &'static str {
    match share {
        share if share < 0.1 => "dark",
        share if share < 0.3 => "a dull red glow at most",
        share if share < 0.5 => "dim",
        share if share < 0.8 => "bright",
        _ => "as bright as it gets: mains off",
    }
}
