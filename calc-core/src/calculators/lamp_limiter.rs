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
    Answer, Ask, Axis, Calculator, Impossible, Inverse, Limit, Margins, Mark, Picture, Report, Section,
    Series, Sheet, Standing, Verdict, named,
};
use crate::quantity::unit::{AMPERE, PER_CENT, VOLT};
use crate::quantity::{
    ElectricCurrent, ElectricPotential, ElectricalResistance, Power, Quantity, Ratio, writing,
};
use crate::source::{LAMP_RERATING, PRACTICE, TUNGSTEN, TYPED};

/// Current against voltage, both as shares of the rated.
const EXPONENT: f64 = 0.55;
/// Hot resistance over cold.
const HOT_TO_COLD: f64 = 15.0;
/// Why no other lamp will do.
const ELECTRONIC: &str = "LED and compact fluorescent lamps contain electronics and do not limit the current. Use a \
                          filament or halogen lamp.";
/// A lamp's life goes as its voltage to one of these, by the make (Fink and Beaty).
const LIFE: (f64, f64) = (-12.0, -16.0);
/// So many times its marked voltage a lamp takes for a while. Common practice, no source.
const FOR_A_WHILE: f64 = 1.1;
/// From so many times its marked voltage on a lamp fails in minutes or at once. Common practice, no source.
const AT_ONCE: f64 = 1.5;
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
        question: "Which lamp, and what should you read behind it?",
        edition: 1,
        headline: &["amplifier-voltage"],
        form: &[Section {
            name: "Amplifier and lamp",
            fields: &["amplifier", "watts", "current", "kind", "lamp-power", "lamp-voltage", "mains"],
            more: &[],
        }],
        leaves_out: &[
            "The amplifier is taken as a resistor; its idle current falls faster than its mains voltage.",
            "The first cycles, while lamp and heaters are cold, are hardly limited.",
            "Lamps differ by a few per cent, and old ones by more.",
            "Nothing is approved behind a lamp: take every reading again without it.",
        ],
        sources: &[&LAMP_RERATING, &TUNGSTEN, &PRACTICE],
    };
    const INVERSE: &'static [Inverse] = &[Inverse {
        id: "wanted.lamp-power",
        question: "Which lamp leaves this much mains for the amplifier?",
        field: "lamp-power",
        answer: "amplifier-voltage",
        example: "90 V",
        made_in: None,
    }];
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
                ("watts", "its power at idle", 0_u8),
                ("current", "its current at full mains", 1),
                ("short", "being shorted", 2),
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
            Answer::new("share", "", "Share of the full mains", found.share),
            Answer::new("lamp-voltage", "V_l", "Across the lamp", found.lamp),
            Answer::new("drawn", "I", "Current", found.current),
            Answer::new("lamp-heat", "P_l", "Power in the lamp", found.lamp_power),
            Answer::new("heater", "V_h", "6.3 V heaters", found.heater),
            Answer::new("short", "V_n", "Across the lamp if the amplifier is shorted", found.mains),
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
            "Lamp, if the amplifier is shorted",
            &margins.of("short"),
            Some(marked),
            |standing| {
                if standing == Standing::Within {
                    return "It takes the full mains voltage and lights brightly: mains off.".to_owned();
                }
                overrun((self.mains / self.lamp.voltage).si())
            },
        ));
        self.working(found, report);
        report.picture = Some(self.picture(found));
    }
}

impl Lamp {
    /// The current at a voltage across it.
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
        let mains = || named("V_n", self.mains);
        let says = "The lamp’s current at V_l: as V_l^0.55 from the rated point, and no more than the cold filament \
                    passes.";
        let current = report.state(says, "I", found.current);
        let lamp = if found.resistance.si() > 0.0 {
            let says = "V_l is where both carry the same current, found by bisection.";
            report.step(says, "V_l", mains() - named("R_a", found.resistance) * current, found.lamp)
        } else {
            report.step("With a short, the lamp takes all of it.", "V_l", mains(), found.lamp)
        };
        let rest = report.step("What is left for the amplifier.", "V_a", mains() - lamp, found.amplifier);
        let share = report.step("As a share of the full mains.", "k", rest / mains(), found.share);
        let heaters = named("V_6.3", ElectricPotential::of(HEATERS));
        report.step("Its heater voltage follows.", "V_h", heaters * share, found.heater);
        report.state("If the amplifier were shorted, the lamp would take all of it.", "V_n", found.mains);
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
                name: "what the amplifier draws on the remainder".to_owned(),
                mark: Mark::Target,
                points: line.filter(|(_, current)| *current <= most).collect(),
            });
        }
        Picture {
            title: "Lamp and amplifier share the mains".to_owned(),
            description: format!(
                "They carry the same current, {}, with {} across the lamp.",
                writing::nearest(found.current.si(), &AMPERE),
                writing::nearest(found.lamp.si(), &VOLT)
            ),
            x: Axis::even("Across the lamp", &VOLT, 0.0, mains),
            y: Axis::even("Current", &AMPERE, 0.0, most),
            series,
        }
    }
}

/// What becomes of a lamp at so many times its marked voltage. The rule speaks of small changes; further on it is only an
/// order of magnitude.
fn overrun(times: f64) -> String {
    let above = writing::engineering(times - 1.0, &PER_CENT, 2, writing::Rounding::Nearest);
    let [most, least] = [LIFE.0, LIFE.1].map(|exponent| libm::pow(times, exponent));
    let share = |life: f64| writing::engineering(life, &PER_CENT, 2, writing::Rounding::Nearest);
    let life = format!("{} to {} of its rated life", share(least), share(most));
    if times <= FOR_A_WHILE {
        format!(
            "At {above} above its marked voltage it does not burn out at once: by the rerating rule it keeps about \
             {life}. Mains off; fit a lamp for this mains when you have one."
        )
    } else if times <= AT_ONCE {
        format!(
            "At {above} above its marked voltage it would not last: by the rerating rule, stretched this far, it \
             keeps about {life}. Use a lamp for this mains."
        )
    } else {
        format!(
            "At {above} above its marked voltage it would burn out within minutes, or at once, and then it limits \
             nothing. Use a lamp for this mains."
        )
    }
}

/// What the eye makes of a lamp at a share of its voltage: common practice, no source.
fn brightness(share: f64) -> &'static str {
    match share {
        share if share < 0.1 => "dark",
        share if share < 0.3 => "a dull red glow at most",
        share if share < 0.5 => "dim",
        share if share < 0.8 => "bright",
        _ => "at full brightness: mains off",
    }
}

#[cfg(test)]
mod tests {
    use crate::calculators::asked::{report, verdict};

    const SHORT: &str = "Lamp, if the amplifier is shorted";

    /// By hand: (125 / 120)^−12 is 0.613 and ^−16 is 0.520; (150 / 120)^−12 is 0.069 and ^−16 is 0.028.
    #[test]
    fn a_lamp_burns_out_only_where_it_would() {
        for (mains, word, says) in [
            ("120 V", "within", "It takes the full mains voltage"),
            (
                "125 V",
                "beyond",
                "it does not burn out at once: by the rerating rule it keeps about 52 % to 61 % of",
            ),
            (
                "150 V",
                "beyond",
                "it would not last: by the rerating rule, stretched this far, it keeps about 2.8 % to 6.9 %",
            ),
            ("230 V", "beyond", "it would burn out within minutes, or at once"),
        ] {
            let report = report("lamp-limiter", &[("mains", mains)]);
            let verdict = verdict(&report, SHORT);
            assert_eq!(verdict.standing.word(), word, "{mains}");
            assert!(verdict.advice.replace('\u{a0}', " ").contains(says), "{mains}: {}", verdict.advice);
        }
    }
}
