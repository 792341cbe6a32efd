//! Idle point: what bias to expect for a current, or what current for a bias.
//!
//! ```text
//! I_a  = k_m k_v I_model(V_a, V_g2, V_g1)      the equations: valve/model.rs
//! I_g2 = k_s k_w I_g2,model     g_m = k_g k_w g_m,model     r_a = k_r r_a,model / k_w     where the model draws the same I_a
//! I_k  = I_a + I_g2      P_a = V_a I_a
//! S_k  = gm I_k / I_a    what the cathode reading gains for each volt of bias
//! ```
//!
//! The k are 100 % and carry the margins: see valve/margin.rs. Units: V, A, S, Ω. Range: any voltages within the fields'. Errors: a current the model never reaches; a valve cut
//! off. Source: equations and data sheet rows as named; that valves spread by 30 % is common practice, no source.

mod curves;
mod form;
mod points;
mod words;

use super::questions::reading::VOLTMETER;
use super::questions::valve;
use crate::calculator::{
    Answer, Ask, Calculator, Impossible, Lazy, Margins, Report, Sheet, Standing, Verdict,
};
use crate::margin::End;
use crate::quantity::unit::AMPERE;
use crate::quantity::{
    ElectricCurrent, ElectricPotential, ElectricalConductance, ElectricalResistance, Power, Quantity, Ratio,
    writing,
};
use crate::source::{KOREN, MEMORY, PRACTICE, REEFMAN};
use crate::valve::fit::Row;
use crate::valve::model::{Flow, Model, Volts};
use crate::valve::{Fitted, Kind, VALVES, Valve, fitted, margin};

/// The valve, its voltages from the cathode, and what is wanted of it.
pub struct IdlePoint {
    valve: &'static Valve,
    fitted: Option<&'static Fitted>,
    basis: Basis,
    anode: ElectricPotential,
    screen: ElectricPotential,
    wanted: Wanted,
    shares: Shares,
}

/// How far the model and the valve may be off: `valve/margin.rs`. All that is the valve's own is 1 where points were
/// measured on it.
#[derive(Clone, Copy)]
struct Shares {
    /// k_m: the data sheet's anode current against the model's.
    model: Ratio,
    /// k_s; a triode has none.
    screen: Ratio,
    /// k_g: the data sheet's gm against the model's.
    gm: Ratio,
    /// k_r: the data sheet's anode resistance against the model's.
    ra: Ratio,
    /// k_v: this valve's anode current against the average one's.
    valve: Ratio,
    /// k_w: what goes with its anode current, against the average valve's.
    valve_at_current: Ratio,
}

impl Shares {
    fn ask(a: &mut Ask, fitted: Option<&Fitted>, triode: bool, measured: bool) -> Self {
        let whole = || Ratio::of(1.0);
        Self {
            model: margin::ask_anode(a, fitted),
            screen: if triode { whole() } else { margin::ask_screen(a, fitted) },
            gm: margin::ask_gm(a, fitted),
            ra: margin::ask_ra(a, fitted),
            valve: if measured { whole() } else { margin::ask_valve(a) },
            valve_at_current: if measured {
                whole()
            } else {
                let name = if triode {
                    "Spread of real valves: slopes"
                } else {
                    "Spread of real valves: slopes and screen current"
                };
                margin::ask_valve_at_current(a, "valve-slopes", name)
            },
        }
    }
}

/// What the model is fitted to.
enum Basis {
    Sheet,
    Measured(Vec<Row>),
}

enum Wanted {
    /// The bias for this anode current.
    Bias(ElectricCurrent),
    /// The current at this bias.
    Current(ElectricPotential),
}

/// What was found; nothing for a valve whose data sheet is not known well enough.
pub struct Found(Option<Point>);

struct Point {
    model: Model,
    volts: Volts,
    /// Of the model, before the shares.
    modelled: ElectricCurrent,
    anode_current: ElectricCurrent,
    /// Of the model where it draws the anode current, before the shares; as is gm.
    screen_modelled: ElectricCurrent,
    screen_current: ElectricCurrent,
    cathode_current: ElectricCurrent,
    gm_modelled: ElectricalConductance,
    gm: ElectricalConductance,
    /// None where the anode current does not rise with the anode voltage.
    ra: Option<ElectricalResistance>,
    per_volt: ElectricalConductance,
    power: Power,
}

const LOWEST_GRID: f64 = -300.0;

/// Below this a valve is cut off, and a model of its working currents says nothing.
const CUT_OFF: f64 = 1e-6;

impl Calculator for IdlePoint {
    const SHEET: &'static Sheet = &Sheet {
        id: "idle-point",
        title: "Bias to expect",
        question: "What bias does this current need, and what current does this bias give?",
        edition: 1,
        headline: &["bias", "cathode-current"],
        form: form::FORM,
        leaves_out: &[
            "A published valve model, fitted to data-sheet figures: it describes their average valve, new and warm.",
            "Grid current, gas, leakage, and the drop of HT and heater voltage under load.",
            "The anode’s knee and its kinks below about 50 V; curves there are drawn for orientation only.",
            "With distributed load the screen’s voltage moves with the anode’s; at idle that makes no difference.",
        ],
        sources: &[&KOREN, &REEFMAN, &PRACTICE, &MEMORY],
    };
    type Found = Found;

    fn ask(a: &mut Ask) -> Self {
        let valve = valve::which(a, "Valve", |_| true, None).unwrap_or(&VALVES[0]);
        let triode = valve.kind == Kind::Triode;
        let output = valve.limits.anode_power.is_some_and(|heat| heat.value().si() > 5.0);
        let measured = a.usual().choice(
            "basis",
            "Model fitted to",
            "",
            &[("sheet", "its data sheet", false), ("measured", "points I measured on it", true)],
        );
        let fitted = fitted(valve.name);
        let basis = if measured { Basis::Measured(points::ask(a, triode)) } else { Basis::Sheet };
        let anode = valve::anode(a, "Anode, from the cathode", if output { "438 V" } else { "200 V" });
        let anode = anode.tolerance(VOLTMETER).get();
        let screen = if triode {
            ElectricPotential::of(0.0)
        } else {
            let screen = valve::screen(a, "Screen, from the cathode", if output { "434 V" } else { "140 V" });
            screen.tolerance(VOLTMETER).get()
        };
        let find = a.usual().choice(
            "find",
            "Find",
            "",
            &[("bias", "the bias for a current", true), ("current", "the current at a bias", false)],
        );
        let wanted = if find {
            let default = if output { "32.5 mA" } else { "1 mA" };
            let current = a.quantity("target", "I_a", "Anode current wanted", default);
            Wanted::Bias(
                current
                    .hint("For one valve: the cathode reading less the screen current.")
                    .within("10 uA", "1 A")
                    .get(),
            )
        } else {
            let default = if output { "-46 V" } else { "-1.5 V" };
            let bias = a.quantity("bias", "V_g1", "Grid, from the cathode", default);
            Wanted::Current(bias.within("-300 V", "0 V").tolerance(VOLTMETER).get())
        };
        let shares = Shares::ask(a, fitted, triode, measured);
        Self { valve, fitted, basis, anode, screen, wanted, shares }
    }

    fn work(&self) -> Result<Found, Impossible> {
        let Some(fitted) = self.fitted else { return Ok(Found(None)) };
        let model = match &self.basis {
            Basis::Sheet => fitted.model,
            Basis::Measured(rows) => points::fit_once(fitted.model, rows),
        };
        let share = self.share();
        let at = |grid: f64| Volts { anode: self.anode.si(), screen: self.screen.si(), grid };
        let grid = match self.wanted {
            Wanted::Current(grid) => grid.si(),
            Wanted::Bias(target) => {
                let found = model.at_current(at(0.0), target.si() / share).map(|volts| volts.grid);
                let over = || share * model.currents(at(0.0)).anode - target.si();
                found
                    .filter(|grid| (LOWEST_GRID..=0.0).contains(grid))
                    .ok_or_else(|| out_of_reach(target, over()))?
            }
        };
        let volts = at(grid);
        let currents = model.currents(volts);
        // What was asked for is what flows.
        let anode_current = match self.wanted {
            Wanted::Bias(target) => target,
            Wanted::Current(_) => ElectricCurrent::of(share * currents.anode),
        };
        if !(anode_current.si() >= CUT_OFF && anode_current.si().is_finite()) {
            let message = "At this bias the valve is cut off: the model gives less than a microampere. Type a bias \
                           nearer zero.";
            return Err(Impossible { field: "bias", message: message.to_owned() });
        }
        // The rest goes with the anode current: it is the model's where that draws as much.
        let alike = model.at_current(volts, anode_current.si()).ok_or_else(|| {
            let message =
                "At these voltages the model itself never draws so much current. Type smaller shares.";
            Impossible { field: "model-share", message: message.to_owned() }
        })?;
        let own = self.shares.valve_at_current.si();
        let Flow { currents: alike, by_grid, by_anode } = model.flow(alike);
        if by_grid <= 0.0 {
            let message = "Fitted to these points, the model’s current falls as its grid rises, which no valve’s does. Read the \
                           points again, or add some at other grid voltages.";
            return Err(Impossible { field: "points", message: message.to_owned() });
        }
        let screen_modelled = ElectricCurrent::of(alike.screen);
        let screen_current = screen_modelled * (self.shares.screen.si() * own);
        let cathode_current = anode_current + screen_current;
        let gm_modelled = ElectricalConductance::of(by_grid);
        let gm = gm_modelled * (self.shares.gm.si() * own);
        let rise = by_anode * own / self.shares.ra.si();
        Ok(Found(Some(Point {
            model,
            volts,
            modelled: ElectricCurrent::of(currents.anode),
            anode_current,
            screen_modelled,
            screen_current,
            cathode_current,
            gm_modelled,
            gm,
            ra: (rise > 1e-9).then(|| ElectricalResistance::of(1.0 / rise)),
            per_volt: gm * (cathode_current / anode_current),
            power: self.anode * anode_current,
        })))
    }

    fn answers(Found(found): &Found) -> Vec<Answer> {
        let Some(point) = found else { return vec![] };
        let mut answers = vec![
            Answer::new(
                "bias",
                "V_g1",
                "Bias, grid from the cathode",
                ElectricPotential::of(point.volts.grid),
            )
            .kept_at(End::High),
            Answer::new("anode-current", "I_a", "Anode current", point.anode_current),
        ];
        if point.screen_current.si() > 0.0 {
            // With the anode's current sought, the screen's voltage moves it in the last digits only: it is said all the same.
            answers.push(
                Answer::new("screen-current", "I_g2", "Screen current", point.screen_current)
                    .depending_on_all(),
            );
            answers.push(
                Answer::new("cathode-current", "I_k", "Cathode current", point.cathode_current)
                    .depending_on_all(),
            );
        }
        answers.push(Answer::new(
            "per-volt",
            "S_k",
            "Cathode current for each volt of bias; 1 mS is 1 mA/V",
            point.per_volt,
        ));
        answers.push(Answer::new("gm", "g_m", "Mutual conductance, of the anode current", point.gm));
        if let Some(ra) = point.ra {
            answers.push(Answer::new("ra", "r_a", "Anode resistance", ra).depending_on_all());
        }
        answers.push(Answer::new("anode-power", "P_a", "Anode dissipation", point.power));
        answers
    }

    fn report(&self, Found(found): &Found, margins: &Margins, report: &mut Report) {
        let Some(point) = found else {
            report.summary = format!("No model of the {}: cannot tell.", self.valve.name);
            let advice = "No operating point of this type is known well enough to fit a model to. Take the bias from the \
                          maker’s service data, and start at the trimmer’s most negative end.";
            report.verdicts.push(Verdict::new(
                "Bias to expect",
                Standing::CannotTell,
                None,
                advice.to_owned(),
            ));
            return;
        };
        report.summary = self.summary(point, margins);
        self.judge(point, margins, report);
        self.working(point, report);
        report.notes.push(
            "Set the bias by a current reading, never by a model. Start at the most negative end, with the HT off \
             until both grids have read their bias."
                .to_owned(),
        );
        report.notes.extend(self.fitted.map(Fitted::margin_words));
        report.tables.extend(self.against_the_points(&point.model).map(Lazy::from));
        report.picture = Some(curves::picture(self.valve, &point.model, self.share(), point.volts));
    }
}

/// No bias gives the current: with none at all the model gives too little, or far beyond cut-off still too much.
fn out_of_reach(target: ElectricCurrent, over: f64) -> Impossible {
    let message = if over < 0.0 {
        let most = writing::nearest(target.si() + over, &AMPERE);
        format!(
            "At these voltages the model gives no more than {most}, even with no bias. Type less current."
        )
    } else {
        "At these voltages no bias down to −300 V holds the current so low. Type more current.".to_owned()
    };
    Impossible { field: "target", message }
}

impl IdlePoint {
    fn share(&self) -> f64 {
        self.shares.model.si() * self.shares.valve.si()
    }
}

#[cfg(test)]
mod tests {
    use crate::calculator::Inputs;
    use proptest::prelude::*;

    /// A point as a reader might mistype it, within what is let through.
    fn any_point() -> impl Strategy<Value = String> {
        let currents = (1e-3..4e3f64, proptest::option::of(1e-3..4e3f64));
        (1.0..1500f64, 1.0..1500f64, -300.0..0f64, currents).prop_map(|(anode, screen, grid, (a, s))| {
            let screen_current = s.map(|s| format!("/{s:.3}")).unwrap_or_default();
            format!("{anode:.1}/{screen:.1}/{grid:.1}: {a:.3}{screen_current}")
        })
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(64))]
        #[test]
        fn a_fit_to_any_points_leads_to_numbers_or_to_a_problem(
            points in proptest::collection::vec(any_point(), 1..6),
            value in 0.0..300f64,
            for_bias in any::<bool>(),
        ) {
            let (find, field, text) =
                if for_bias { ("bias", "target", value.to_string()) } else { ("current", "bias", format!("-{value}")) };
            let typed = [("basis", "measured".to_owned()), ("points", points.join("; ")), ("find", find.to_owned()), (field, text)];
            let inputs: Inputs = typed.into_iter().map(|(id, text)| (id.to_owned(), text)).collect();
            let outcome = crate::calculate("idle-point", &inputs).unwrap();
            match outcome.report {
                Some(report) => {
                    prop_assert!(report.answers.iter().all(|answered| answered.margin.value.is_finite()));
                    let text = report.as_text("");
                    prop_assert!(!text.contains("NaN") && !text.contains("inf"), "{text}");
                }
                None => prop_assert!(outcome.fields.iter().any(|field| field.problem.is_some())),
            }
        }
    }
}
