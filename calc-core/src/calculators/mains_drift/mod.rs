//! Today's mains: what every voltage of an amplifier is at a mains that is not the marked one, and what the output valves
//! then draw.
//!
//! ```text
//! k = V_now / V_marked
//! V_h = k V_h,m     V_HT = k V_HT,m     V_g1 = k V_g1,m     every winding in proportion
//! g    the grid at which the model draws the idle current that was read at the marked mains
//! I_k = I_k,m + k_g k_w (I_model(k V_a, k V_g2, g + (k − 1) V_g1,m) − I_k,m)
//! cathode bias: V_g1 = −I_k R_k, and the anode's voltage is less by it
//! P_a  = V_a I_a       I_a / I_k  the model's, its screen current times k_s
//! ```
//!
//! The k are 100 % and carry the margins: see valve/margin.rs. Units: V, A, W. Range: any
//! within the fields'. Errors: an idle current the model does not reach, a bias that it does not find. Source: a transformer's voltages are in
//! proportion; the model's equations and data sheet rows as named; the spread of valves and the tenth that amplifiers were made
//! for are common practice, no source.

#[cfg(test)]
mod tests;
mod words;

use super::questions::{bias, mains, valve};
use crate::calculator::{Answer, Ask, Calculator, Impossible, Margins, Report, Section, Sheet};
use crate::numeric::root::root;
use crate::quantity::unit::AMPERE;
use crate::quantity::{ElectricCurrent, ElectricPotential, Power, Quantity, Ratio, writing};
use crate::source::{KOREN, MEMORY, PRACTICE, REEFMAN};
use crate::valve::model::{Currents, Volts};
use crate::valve::{Fitted, VALVES, Valve, fitted, margin};

/// The two mains, and what is known at the marked one.
pub struct MainsDrift {
    marked: ElectricPotential,
    measured: ElectricPotential,
    heater: ElectricPotential,
    bias: ElectricPotential,
    ht: ElectricPotential,
    idle: Option<Idle>,
}

/// The output valves at the marked mains.
#[derive(Clone, Copy)]
struct Idle {
    valve: &'static Valve,
    fitted: Option<&'static Fitted>,
    cathode_biased: bool,
    screen: ElectricPotential,
    /// Idle current of one cathode.
    current: ElectricCurrent,
    /// k_g: the data sheet's slope against the model's.
    gm_share: Ratio,
    /// k_s: the data sheet's screen current against the model's.
    screen_share: Ratio,
    /// k_w: this valve's slope against the average one's.
    valve_share: Ratio,
}

/// The same at the mains of the minute.
pub struct Found {
    share: Ratio,
    off: Ratio,
    heater: ElectricPotential,
    bias: ElectricPotential,
    ht: ElectricPotential,
    /// The output valves, and what they do now; nothing where they are left out or have no model.
    idle: Option<(Settled, IdleNow)>,
}

/// One output valve at a mains.
#[derive(Clone, Copy)]
struct IdleNow {
    volts: Volts,
    cathode: ElectricCurrent,
    anode: ElectricCurrent,
    power: Power,
}

const LOWEST_GRID: f64 = -300.0;

impl Calculator for MainsDrift {
    const SHEET: &'static Sheet = &Sheet {
        id: "mains-drift",
        title: "Today’s mains",
        question: "What does today’s mains voltage do to heaters, bias, HT and idle current?",
        edition: 1,
        headline: &["bias"],
        form: &[Section {
            name: "Mains",
            fields: &["measured", "marked", "bias", "ht", "output", "valve", "screen", "idle"],
            more: &["heater", "gm-share", "screen-share", "slope"],
        }],
        leaves_out: &[
            "The drop in windings and rectifier is taken as growing with the voltage.",
            "A stabilised bias does not follow the mains.",
            "Hotter or cooler cathodes, and how the valve settles over minutes.",
            "A model tells you what to expect. What the valve draws must be read.",
        ],
        sources: &[&KOREN, &REEFMAN, &PRACTICE, &MEMORY],
    };
    type Found = Found;

    fn ask(a: &mut Ask) -> Self {
        let marked = mains::marked(a, "marked", "V_m");
        let measured = mains::measured(a, ["measured", "V_n", "Mains at the amplifier, now"], "125 V").get();
        let heater = a
            .usual()
            .quantity("heater", "V_h", "Heaters at the marked mains", "6.3 V")
            .within("1 V", "120 V")
            .get();
        let bias = bias::voltage(a, "bias", "Bias at the marked mains").get();
        let ht = a.quantity("ht", "V_HT", "HT at the marked mains", "438 V").within("1 V", "2 kV").get();
        let cathode_biased = a.usual().choice(
            "output",
            "Output valves",
            "",
            &[
                ("none", "left out", None),
                ("fixed", "with fixed bias", Some(false)),
                ("cathode", "with cathode bias", Some(true)),
            ],
        );
        let idle = cathode_biased.map(|cathode_biased| Idle::ask(a, cathode_biased));
        Self { marked, measured, heater, bias, ht, idle }
    }

    fn work(&self) -> Result<Found, Impossible> {
        let share = self.measured / self.marked;
        let settled = match &self.idle {
            Some(idle) => idle.settle(self)?,
            None => None,
        };
        let now = |settled: Settled| Some((settled, settled.at(share.si())?));
        let idle = settled.map(|settled| now(settled).ok_or_else(no_bias)).transpose()?;
        // A cathode's own bias is what its current makes of it, not what the winding gives.
        let own = idle.filter(|(settled, _)| settled.idle.cathode_biased).map(|(_, now)| now.volts.grid);
        Ok(Found {
            share,
            off: Ratio::of((share.si() - 1.0).abs()),
            heater: self.heater * share.si(),
            bias: own.map_or(self.bias * share.si(), ElectricPotential::of),
            ht: self.ht * share.si(),
            idle,
        })
    }

    fn answers(found: &Found) -> Vec<Answer> {
        let mut answers = vec![
            Answer::new("bias", "V_g1", "Bias now", found.bias),
            Answer::new("heater", "V_h", "Heaters now", found.heater),
            Answer::new("ht", "V_HT", "HT now", found.ht),
            Answer::new("share", "k", "Mains now, share of the marked", found.share),
            Answer::new("off", "", "Deviation from the marking", found.off),
        ];
        if let Some((_, now)) = found.idle {
            answers.push(Answer::new("idle", "I_k", "Cathode current now, one valve", now.cathode));
            answers.push(Answer::new("anode-power", "P_a", "Anode dissipation now", now.power));
        }
        answers
    }

    fn report(&self, found: &Found, margins: &Margins, report: &mut Report) {
        report.summary = self.summary(found);
        self.judge(found, margins, report);
        self.working(found, report);
        if let Some((settled, now)) = found.idle {
            report.notes.push(settled.fitted.margin_words());
            report.tables.push(self.table(settled).into());
            report.picture = Some(self.picture(settled, now));
        }
    }
}

impl Idle {
    fn ask(a: &mut Ask, cathode_biased: bool) -> Self {
        let valve = valve::which(a, "Output valve", Valve::is_output, None).unwrap_or(&VALVES[0]);
        Self {
            valve,
            fitted: fitted(valve.name),
            cathode_biased,
            screen: valve::electrode(a, ["screen", "V_g2", "Screen at the marked mains"], "434 V").get(),
            current: a
                .quantity("idle", "I_k,m", "Cathode current at the marked mains, one valve", "35 mA")
                .within("1 mA", "500 mA")
                .tolerance("1 %")
                .get(),
            gm_share: margin::ask_gm(a, fitted(valve.name)),
            screen_share: margin::ask_screen(a, fitted(valve.name)),
            valve_share: margin::ask_valve_at_current(a, "slope", "Spread of real valves: slope"),
        }
    }

    /// The model, moved along its grid until it draws what was read. None for a valve without a model.
    fn settle(&self, mains: &MainsDrift) -> Result<Option<Settled>, Impossible> {
        let Some(fitted) = self.fitted else { return Ok(None) };
        let (ht, bias) = (mains.ht.si(), mains.bias.si());
        // HT and screen are read from the chassis where the cathode is above it.
        let lift = if self.cathode_biased { -bias } else { 0.0 };
        if ht <= lift || self.screen.si() <= lift {
            let message =
                "The bias takes up all of the HT or of the screen voltage: nothing is left for the valve.";
            return Err(Impossible { field: "bias", message: message.to_owned() });
        }
        let volts = |grid: f64| Volts { anode: ht - lift, screen: self.screen.si() - lift, grid };
        let over = |grid: f64| total(fitted.model.currents(volts(grid))) - self.current.si();
        let grid = root(LOWEST_GRID, 0.0, over).map_err(|_| {
            let most = writing::nearest(self.current.si() + over(0.0), &AMPERE);
            let message =
                format!("At these voltages the model draws no more than {most}. Type less current.");
            Impossible { field: "idle", message }
        })?;
        let resistance = self.cathode_biased.then(|| -bias / self.current.si());
        Ok(Some(Settled { idle: *self, fitted, ht, bias, moved: grid - bias, resistance }))
    }
}

/// A valve whose model draws at the marked mains what was read.
#[derive(Clone, Copy)]
struct Settled {
    idle: Idle,
    fitted: &'static Fitted,
    ht: f64,
    bias: f64,
    /// By how much the model's grid lies off the valve's own, V.
    moved: f64,
    /// In the cathode, Ω, where it makes the bias.
    resistance: Option<f64>,
}

impl Settled {
    /// The valve at a share of the marked mains; `None` where no bias is what its current makes in the cathode resistor.
    fn at(&self, share: f64) -> Option<IdleNow> {
        let Some(resistance) = self.resistance else {
            return Some(self.biased(share, share * self.bias, 0.0));
        };
        // More current is more bias and so less current: there is one bias at which they agree.
        let excess = |bias: f64| self.biased(share, bias, -bias).cathode.si() * resistance + bias;
        let all = -share * self.ht.min(self.idle.screen.si());
        let bias = root(all, 0.0, excess).ok()?;
        Some(self.biased(share, bias, -bias))
    }

    fn biased(&self, share: f64, bias: f64, lift: f64) -> IdleNow {
        let volts =
            Volts { anode: share * self.ht - lift, screen: share * self.idle.screen.si() - lift, grid: bias };
        let modelled = self.fitted.model.currents(Volts { grid: bias + self.moved, ..volts });
        let then = self.idle.current.si();
        let slope = self.idle.gm_share.si() * self.idle.valve_share.si();
        let cathode = (then + slope * (total(modelled) - then)).max(0.0);
        let screen = modelled.screen * self.idle.screen_share.si();
        let anode = ElectricCurrent::of(cathode * anode_share(Currents { screen, ..modelled }));
        IdleNow {
            volts,
            cathode: ElectricCurrent::of(cathode),
            anode,
            power: ElectricPotential::of(volts.anode) * anode,
        }
    }
}

fn no_bias() -> Impossible {
    let message = "At this mains voltage the model finds no bias that the cathode current makes in its resistor: the \
                   bias is too large a part of the HT or of the screen voltage. Read all three again, from the \
                   chassis.";
    Impossible { field: "bias", message: message.to_owned() }
}

/// What the cathode carries.
fn total(currents: Currents) -> f64 {
    currents.anode + currents.screen
}

/// How much of the cathode's current goes to the anode; all of none.
fn anode_share(currents: Currents) -> f64 {
    let all = total(currents);
    if all > 0.0 { currents.anode / all } else { 1.0 }
}
