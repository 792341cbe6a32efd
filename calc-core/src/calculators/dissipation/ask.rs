//! What is asked of an idle current: what was read of it, or only what it may be.

use super::{Asked, Bias, Dissipation, Point, Screen, Spread};
use crate::calculator::Ask;
use crate::calculators::questions::reading::VOLTMETER;
use crate::calculators::questions::valve;
use crate::quantity::unit::AMPERE;
use crate::quantity::{ElectricCurrent, ElectricPotential, Quantity, Ratio, writing};
use crate::valve::ask_output_valve;

/// What was read of current and screen.
struct Readings {
    screen_voltage: ElectricPotential,
    sharing: u32,
    spread: Spread,
    cathode_current: ElectricCurrent,
    screen: Screen,
}

#[derive(Clone, Copy)]
enum ScreenHow {
    Stopper,
    Current,
    Estimated,
    Unknown,
}

fn ask_share(a: &mut Ask, id: &'static str) -> Ratio {
    a.usual()
        .quantity(id, "k", "Screen’s share of the cathode current", "5 %")
        .hint("Common practice, no source: 3 to 15 % at idle, by type.")
        .within("0 %", "50 %")
        .tolerance("60 %")
        .get()
}

fn ask_readings(a: &mut Ask) -> Readings {
    let screen_voltage = valve::screen(a, "Screen voltage", "434 V").tolerance(VOLTMETER).get();
    let sharing = a.usual().count("sharing", "Valves that share the reading", "1", 8);
    let spread = match sharing {
        1 => Spread::Alone,
        _ => {
            let known = a.usual().choice(
                "spread",
                "How they share it",
                "A shared reading can hide one valve above its limit.",
                &[("unknown", "not measured", false), ("measured", "measured separately", true)],
            );
            if known {
                let most =
                    a.quantity("spread-percent", "s", "Most that one valve takes above the mean", "10 %");
                Spread::Measured(most.within("0 %", "700 %").get())
            } else {
                Spread::Unknown
            }
        }
    };
    let cathode_current = a
        .quantity("cathode-current", "I_k", "Cathode current, as read", "34 mA")
        .hint("Of all valves that share the reading. 34 mV across 1 Ω is 34 mA.")
        .within("0 A", "4 A")
        .tolerance("1.5 %")
        .get();
    let how = a.usual().choice(
        "screen-how",
        "Screen current",
        "For each valve.",
        &[
            ("stopper", "from the drop across its stopper", ScreenHow::Stopper),
            ("current", "read as a current", ScreenHow::Current),
            ("estimated", "estimated, a share of the cathode’s", ScreenHow::Estimated),
            ("unknown", "not known", ScreenHow::Unknown),
        ],
    );
    let screen = match how {
        ScreenHow::Stopper => Screen::Stopper {
            drop: a
                .quantity("screen-drop", "V_s", "Drop across the screen stopper", "0.840 V")
                .within("0 V", "200 V")
                .tolerance(VOLTMETER)
                .get(),
            resistor: valve::screen_stopper(a),
        },
        ScreenHow::Current => Screen::Current(valve::screen_current(a).tolerance("2 %").get()),
        ScreenHow::Estimated => Screen::Estimated(ask_share(a, "screen-share")),
        ScreenHow::Unknown => Screen::Unknown,
    };
    let each = cathode_current / f64::from(sharing);
    let drawn = screen.current(each).unwrap_or_default();
    if drawn > each {
        a.refuse("cathode-current", || {
            format!(
                "The screen would draw {}, more than the {} that reaches the cathode. Check both: the drop across the \
                 screen stopper, and which valves the cathode reading includes.",
                writing::nearest(drawn.si(), &AMPERE),
                writing::nearest(each.si(), &AMPERE),
            )
        });
    }
    Readings { screen_voltage, sharing, spread, cathode_current, screen }
}

pub(super) fn ask(a: &mut Ask) -> Dissipation {
    let asked = a.usual().choice(
        "asked",
        "Question",
        "",
        &[("safe", "Is what I read safe?", Asked::Safe), ("may", "What may it be?", Asked::MayBe)],
    );
    let valve = ask_output_valve(a, "6L6GC");
    let bias = a.choice(
        "bias",
        "Bias",
        "",
        &[
            ("fixed", "fixed, a negative supply", Bias::Fixed),
            ("cathode", "cathode, by a resistor", Bias::Cathode),
        ],
    );
    let anode_to = a.usual().choice(
        "anode-from",
        "Voltages read from",
        "Ratings are from the cathode.",
        &[("cathode", "the valve’s cathode", Point::Cathode), ("chassis", "the chassis", Point::Chassis)],
    );
    let anode_voltage = valve::anode(a, "Anode voltage", "438 V").tolerance(VOLTMETER).get();
    let cathode_voltage = match anode_to {
        Point::Cathode => ElectricPotential::of(0.0),
        Point::Chassis => a
            .quantity("cathode-voltage", "V_k", "Cathode voltage, to chassis", "0.034 V")
            .within("0 V", "150 V")
            .tolerance(VOLTMETER)
            .get(),
    };
    let read = match asked {
        Asked::Safe => ask_readings(a),
        Asked::MayBe => Readings {
            // Nothing was read: the anode's share of any current is the same, and of the screen's volts nothing is said.
            screen_voltage: anode_voltage,
            sharing: 1,
            spread: Spread::Alone,
            cathode_current: ElectricCurrent::of(1.0),
            screen: Screen::Estimated(ask_share(a, "screen-estimate")),
        },
    };
    let (low, high) = match bias {
        Bias::Fixed => ("60 %", "70 %"),
        Bias::Cathode => ("80 %", "90 %"),
    };
    let practice = "Share of the anode rating. Common practice, no source.";
    let Readings { screen_voltage, sharing, spread, cathode_current, screen } = read;
    Dissipation {
        lowest_target: a
            .usual()
            .quantity("lowest-target", "", "Lowest target", low)
            .hint(practice)
            .within("1 %", "100 %")
            .get(),
        target: a
            .usual()
            .quantity("target", "", "Highest target", high)
            .hint(practice)
            .within("1 %", "100 %")
            .get(),
        asked,
        valve,
        bias,
        anode_to,
        anode_voltage,
        cathode_voltage,
        sharing,
        spread,
        cathode_current,
        screen,
        screen_voltage,
    }
}
