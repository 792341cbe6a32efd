//! Triode stage: where it stands, how much it amplifies, what it asks of the stage before, how far it can swing.
//!
//! ```text
//! I_a = k_m k_v I_model(V_ak, V_gk)       V_ak = V_b − I_a (R_a + R_k)    V_gk = −I_a R_k      (on the load line)
//! R'  = R_a in parallel with R_n          what the anode drives
//! A   = µ R' / (r_a + R')                 bypassed
//!       µ R' / (r_a + R' + (µ + 1) R_k)   not
//! R_o = R_a in parallel with r_a, or with r_a + (µ + 1) R_k
//! C_i = C_g + C_ga (1 + A) + C_s          f_i = 1 / (2π R_g C_i)
//! f_z = 1 / (2π R_k C_k)                  f_p = f_z (1 + (µ + 1) R_k / (r_a + R'))
//! up  = I_a R'                            the valve shut
//! down = ΔI R'                            the grid at its cathode: I_model(V_ak − ΔI R, 0) = I_a + ΔI, with R = R',
//!                                         or R' + R_k where nothing holds the cathode
//! ```
//!
//! Units: V, A, Ω, F, S, Hz. Errors: a stage that draws no current. Source: published valve model as in valve/model.rs;
//! the other forms are those of textbooks.

mod picture;
#[cfg(test)]
mod tests;
mod words;

use std::f64::consts::TAU;

use super::coupling::Coupling;
use super::questions::parts::resistor;
use super::questions::stage::{self, grid_capacitance};
use crate::calculator::{
    Answer, Ask, Calculator, Impossible, Inverse, Margins, Report, Section, Sheet, if_wanted,
};
use crate::numeric::low_pass::LowPass;
use crate::pot::parallel;
use crate::preferred;
use crate::quantity::unit::{DECIBEL, HERTZ, ONE};
use crate::quantity::{
    Capacitance, ElectricCurrent, ElectricPotential, ElectricalResistance, Power, Quantity,
};
use crate::source::{KOREN, KOREN_SETS, PRACTICE, RADIOTRON};
use crate::valve::{Line, Slopes, Triode, ask_triode};

/// The stage as it is built.
pub struct GainStage {
    triode: Triode,
    supply: ElectricPotential,
    anode: ElectricalResistance,
    cathode: ElectricalResistance,
    bypass: Option<Capacitance>,
    /// What the anode drives behind its coupling capacitor.
    next: ElectricalResistance,
    /// What drives the grid.
    source: ElectricalResistance,
    grid: Capacitance,
    anode_grid: Capacitance,
    stray: Capacitance,
    /// Whether anything reads what is left downwards.
    downwards: bool,
}

/// The point of rest, and what signals make of it.
pub struct Found {
    current: ElectricCurrent,
    cathode: ElectricPotential,
    /// Direct voltage of the anode, from the chassis.
    anode: ElectricPotential,
    across: ElectricPotential,
    slopes: Slopes,
    load: ElectricalResistance,
    bypassed: f64,
    unbypassed: f64,
    /// As built, cathode bypassed or not.
    gain: f64,
    output: ElectricalResistance,
    input: Capacitance,
    input_corner: LowPass,
    shelf: Option<Shelf>,
    up: ElectricPotential,
    /// How much more than at rest flows when the grid comes to its cathode.
    rise: ElectricCurrent,
    down: ElectricPotential,
    power: Power,
    /// At the anode while the valve draws nothing.
    cold: ElectricPotential,
}

/// What a bypass capacitor does: full gain above the pole, that without it below the zero.
#[derive(Clone, Copy)]
struct Shelf {
    zero: f64,
    pole: f64,
}

impl Shelf {
    /// How far the gain rises from foot to top, in decibels.
    fn height(self) -> f64 {
        20.0 * libm::log10(self.pole / self.zero)
    }
}

impl Calculator for GainStage {
    const SHEET: &'static Sheet = &Sheet {
        id: "gain-stage",
        title: "A triode stage",
        question: "What are its operating point, its gain and its swing?",
        edition: 1,
        headline: &["gain"],
        form: &[Section {
            name: "Stage",
            fields: &[
                "valve",
                "supply",
                "anode-resistor",
                "cathode-resistor",
                "bypass",
                "bypass-capacitor",
                "next-leak",
                "source",
            ],
            more: &[
                "grid-capacitance",
                "anode-grid-capacitance",
                "stray",
                "model-share",
                "gm-share",
                "mu-share",
                "valve-share",
                "valve-gm",
                "valve-mu",
            ],
        }],
        leaves_out: &[
            "A published valve model, fitted to data-sheet figures: it describes their average valve, new and warm.",
            "Grid current. It begins about a volt before the grid reaches its cathode, so the swing downwards is at \
             most what is shown.",
            "Towards cut-off the valve curves long before its current stops: the last third of the swing upwards is \
             distorted.",
            "The coupling capacitors, which have their own corners, and what the supply node does under signal.",
            "Without a bypass the cathode follows the grid and cancels part of C_g; here all of it is counted.",
        ],
        sources: &[&KOREN, &KOREN_SETS, &RADIOTRON, &PRACTICE],
    };
    const LEADS_TO: &'static [&'static Sheet] = &[Coupling::SHEET];
    const INVERSE: &'static [Inverse] = &[Inverse {
        id: "wanted.cathode-resistor",
        question: "Which cathode resistor gives this anode current?",
        field: "cathode-resistor",
        answer: "anode-current",
        example: "1.2 mA",
        made_in: Some(preferred::Series::E24),
    }];
    type Found = Found;

    fn ask(a: &mut Ask) -> Self {
        let chosen = ask_triode(a, "12AX7");
        let supply = stage::supply(a, "Supply of the stage, at its node", "300 V");
        let anode =
            resistor(a, ["anode-resistor", "R_a", "Anode resistor"], "100k").within("100R", "1M").get();
        let cathode =
            resistor(a, ["cathode-resistor", "R_k", "Cathode resistor"], "1k5").within("10R", "1M").get();
        let bypassed = a.choice(
            "bypass",
            "Cathode resistor bypassed",
            "",
            &[("yes", "by a capacitor", true), ("no", "no", false)],
        );
        let bypass = bypassed.then(|| {
            let capacitor = a.quantity("bypass-capacitor", "C_k", "Bypass capacitor", "22u");
            capacitor.within("1n", "10 mF").tolerance("20 %").get()
        });
        let next = resistor(a, ["next-leak", "R_n", "What it drives: the next grid leak, or control"], "1M");
        let next = next.within("10R", "100M").get();
        let source =
            resistor(a, ["source", "R_g", "Resistance that drives its grid, stopper included"], "68k");
        let source = source.within("10R", "100M").get();
        let published = chosen.0.capacitances;
        let sheet = |figure: Option<crate::valve::Figure<Capacitance>>| {
            figure.map_or(1.6e-12, |figure| figure.value().si())
        };
        let grid =
            grid_capacitance(a, ["grid-capacitance", "C_g", "Grid to cathode"], sheet(published.grid)).get();
        let anode_grid = sheet(published.anode_grid);
        let anode_grid =
            grid_capacitance(a, ["anode-grid-capacitance", "C_ga", "Grid to anode"], anode_grid).get();
        let stray = grid_capacitance(a, ["stray", "C_s", "Socket and wiring at the grid"], 5e-12);
        let stray = stray.tolerance("50 %").get();
        let whole: Capacitance = grid + anode_grid + stray;
        if whole.si() <= 0.0 {
            a.refuse("grid-capacitance", || {
                "All three capacitances are 0 pF, and no grid has none. The valve’s sheet gives its own two; socket and wiring add \
                 some 5 pF."
                    .to_owned()
            });
        }
        Self {
            triode: Triode::ask_shares(a, chosen),
            supply,
            anode,
            cathode,
            bypass,
            next,
            source,
            grid,
            anode_grid,
            stray,
            downwards: a.wants("headroom-down"),
        }
    }

    fn work(&self) -> Result<Found, Impossible> {
        let (supply, r_a, r_k) = (self.supply.si(), self.anode.si(), self.cathode.si());
        let line = Line { anode: supply, anode_falls: r_a + r_k, grid: 0.0, grid_falls: r_k };
        let current = self.triode.on_line(line, 0.0).current;
        let (cathode, across) = (current * r_k, supply - current * (r_a + r_k));
        let slopes = self.triode.slopes(across, -cathode).ok_or_else(shut)?;
        let (mu, ra) = (slopes.mu.si(), slopes.ra);
        let load = parallel(self.anode, self.next);
        let amplified = |degeneration: f64| mu * load.si() / (ra.si() + load.si() + degeneration);
        let held = (mu + 1.0) * r_k;
        let (bypassed, unbypassed) = (amplified(0.0), amplified(held));
        let built = self.bypass.is_some();
        let gain = if built { bypassed } else { unbypassed };
        let inside = if built { ra } else { ra + ElectricalResistance::of(held) };
        let input = self.grid + self.anode_grid * (1.0 + gain) + self.stray;
        let moved = load.si() + if built { 0.0 } else { r_k };
        let line = Line { anode: across + current * moved, anode_falls: moved, grid: 0.0, grid_falls: 0.0 };
        let opened = if_wanted(self.downwards, || self.triode.on_line(line, current).current);
        let rise = ElectricCurrent::of(opened - current);
        let at_rest = ElectricCurrent::of(current);
        Ok(Found {
            current: at_rest,
            cathode: ElectricPotential::of(cathode),
            anode: ElectricPotential::of(supply - current * r_a),
            across: ElectricPotential::of(across),
            slopes,
            load,
            bypassed,
            unbypassed,
            gain,
            output: parallel(self.anode, inside),
            input,
            input_corner: LowPass::new(self.source, input),
            shelf: self.bypass.map(|capacitor| {
                let zero = 1.0 / (TAU * r_k * capacitor.si());
                Shelf { zero, pole: zero * (1.0 + held / (ra.si() + load.si())) }
            }),
            up: at_rest * load,
            rise,
            down: rise * load,
            power: ElectricPotential::of(across) * at_rest,
            cold: self.supply,
        })
    }

    fn answers(found: &Found) -> Vec<Answer> {
        let Found { slopes, shelf, .. } = found;
        let number = |id, symbol, name, value| Answer::in_unit(id, symbol, name, &ONE, value);
        let hertz = |id, symbol, name, value| Answer::in_unit(id, symbol, name, &HERTZ, value);
        let mut answers = vec![
            Answer::new("anode-current", "I_a", "Anode current", found.current),
            Answer::new("anode-voltage", "V_a", "Anode, from chassis", found.anode).not_below_zero(),
            Answer::new("cathode-voltage", "V_k", "Cathode, from chassis", found.cathode).not_below_zero(),
            Answer::new("across", "V_ak", "Across the valve", found.across).not_below_zero(),
            number("gain", "A", "Gain, as built", found.gain).not_below_zero(),
            number("gain-bypassed", "", "Gain with the cathode bypassed", found.bypassed).not_below_zero(),
            number("gain-unbypassed", "", "Gain without a bypass", found.unbypassed).not_below_zero(),
            Answer::new("output-resistance", "R_o", "Output resistance", found.output),
            Answer::new("input-capacitance", "C_i", "Input capacitance, gain included", found.input),
            hertz("input-corner", "f_i", "Treble corner at its grid", found.input_corner.corner),
        ];
        if let Some(shelf) = shelf {
            answers.push(hertz("bypass-corner", "f_p", "Full gain above about", shelf.pole));
            answers.push(hertz("bypass-foot", "f_z", "As if not bypassed, below", shelf.zero));
            answers.push(
                Answer::in_unit("shelf", "", "Between the two", &DECIBEL, shelf.height()).not_below_zero(),
            );
        }
        answers.extend([
            Answer::new("headroom-up", "V_up", "Anode swing upwards, peak", found.up).not_below_zero(),
            Answer::new("headroom-down", "V_down", "Anode swing downwards, peak", found.down)
                .not_below_zero(),
            Answer::new("gm", "g_m", "Mutual conductance", slopes.gm),
            Answer::new("ra", "r_a", "Anode resistance", slopes.ra),
            number("mu", "µ", "Amplification factor", slopes.mu.si()).not_below_zero(),
            Answer::new("anode-power", "P_a", "Anode dissipation", found.power),
            Answer::new("cold", "V_b", "At the anode while the valve is cold", found.cold),
        ]);
        answers
    }

    fn report(&self, found: &Found, margins: &Margins, report: &mut Report) {
        report.summary = self.summary(found);
        self.judge(found, margins, report);
        self.working(found, report);
        self.notes(report);
        report.carries.push(self.carry(found));
        report.picture = Some(self.picture(found, margins));
    }
}

fn shut() -> Impossible {
    let message = "The valve draws no current: type a higher supply, or a smaller cathode resistor.";
    Impossible { field: "supply", message: message.to_owned() }
}
