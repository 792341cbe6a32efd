//! Idle point: what bias to expect for a current, or what current for a bias.
//!
//! ```text
//! I_a  = k_m k_v I_model(V_a, V_g2, V_g1)      the equations: valve/model.rs
//! I_k  = I_a + I_g2      P_a = V_a I_a
//! S_k  = gm I_k / I_a    what the cathode reading gains for each volt of bias
//! ```
//!
//! k_m and k_v are 100 % and carry the margins: how far the model may lie from the average valve, and how far this valve
//! may. Units: V, A, S, Ω. Range: any voltages within the fields'. Errors: a current the model never reaches; a valve cut
//! off. Source: equations and sheet rows as named; that valves spread by 30 % is common practice, no source.

mod curves;
mod points;
mod words;

use crate::calculator::{
    Answer, Ask, Calculator, Impossible, Later, Margins, Report, Sheet, Standing, Verdict,
};
use crate::margin::End;
use crate::quantity::unit::AMPERE;
use crate::quantity::{
    ElectricCurrent, ElectricPotential, ElectricalConductance, ElectricalResistance, Power, Quantity, Ratio,
    writing,
};
use crate::root::root;
use crate::source::{KOREN, MEMORY, PRACTICE, REEFMAN};
use crate::valve::fit::Row;
use crate::valve::model::{Model, Volts};
use crate::valve::{Fitted, Kind, VALVES, Valve, fitted};

/// The valve, its voltages from the cathode, and what is wanted of it.
pub struct IdlePoint {
    valve: &'static Valve,
    fitted: Option<&'static Fitted>,
    basis: Basis,
    anode: ElectricPotential,
    screen: ElectricPotential,
    wanted: Wanted,
    /// The average valve against the model.
    model_share: Ratio,
    /// This valve against the average one.
    valve_share: Ratio,
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

/// What was found; nothing for a valve whose sheet is not known well enough.
pub struct Found(Option<Point>);

struct Point {
    model: Model,
    volts: Volts,
    /// Of the model, before the shares.
    modelled: ElectricCurrent,
    anode_current: ElectricCurrent,
    screen_current: ElectricCurrent,
    cathode_current: ElectricCurrent,
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
        leaves_out: &[
            "A published valve model, fitted to a sheet’s rows: it knows the average valve of that sheet, new and warm.",
            "Grid current, gas, leakage, and the drop of HT and heater voltage under load.",
            "The anode’s knee and its kinks below about 50 V; curves there are drawn for orientation only.",
            "With distributed load the screen’s voltage moves with the anode’s; at idle that makes no difference.",
        ],
        sources: &[&KOREN, &REEFMAN, &PRACTICE, &MEMORY],
    };
    type Found = Found;

    fn ask(a: &mut Ask) -> Self {
        let listed = || VALVES.iter().map(|valve| (valve.name.to_owned(), valve.label())).collect();
        let at = a.one_of("valve", "Valve", "", "6L6GC", &listed);
        let valve = VALVES.get(at).unwrap_or(&VALVES[0]);
        let triode = valve.kind == Kind::Triode;
        let output = valve.limits.anode_power.is_some_and(|heat| heat.value().si() > 5.0);
        let measured = a.usual().choice(
            "basis",
            "Model fitted to",
            "",
            &[("sheet", "the rows of its sheet", false), ("measured", "points I measured on it", true)],
        );
        let fitted = fitted(valve.name);
        let basis = if measured { Basis::Measured(points::ask(a, triode)) } else { Basis::Sheet };
        let volts = |a: &mut Ask, id, symbol, name, default| -> ElectricPotential {
            a.quantity(id, symbol, name, default).within("1 V", "1500 V").tolerance("1 %").get()
        };
        let anode = volts(
            a,
            "anode-voltage",
            "V_a",
            "Anode, from the cathode",
            if output { "438 V" } else { "200 V" },
        );
        let screen = if triode {
            ElectricPotential::of(0.0)
        } else {
            let default = if output { "434 V" } else { "140 V" };
            volts(a, "screen-voltage", "V_g2", "Screen, from the cathode", default)
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
                    .hint("Of one valve; the cathode reading less the screen’s.")
                    .within("10 uA", "1 A")
                    .get(),
            )
        } else {
            let default = if output { "-46 V" } else { "-1.5 V" };
            let bias = a.quantity("bias", "V_g1", "Grid, from the cathode", default);
            Wanted::Current(bias.within("-300 V", "0 V").tolerance("1 %").get())
        };
        let model_share = a
            .usual()
            .quantity("model-share", "k_m", "Average valve, against the model", "100 %")
            .hint("How far the model lies from the rows it was fitted to.")
            .within("25 %", "400 %")
            .tolerance(fitted.map_or("15 %", |fitted| fitted.margin))
            .get();
        let valve_share = if measured {
            Ratio::of(1.0)
        } else {
            a.usual()
                .quantity("valve-share", "k_v", "This valve, against the average", "100 %")
                .hint("Real valves of a type spread by some 30 %. Common practice, no source.")
                .within("25 %", "400 %")
                .tolerance("30 %")
                .get()
        };
        Self { valve, fitted, basis, anode, screen, wanted, model_share, valve_share }
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
                let over = |grid: f64| share * model.currents(at(grid)).anode - target.si();
                root(LOWEST_GRID, 0.0, over).map_err(|_| out_of_reach(target, over(0.0)))?
            }
        };
        let volts = at(grid);
        let currents = model.currents(volts);
        // The bias was found to the last digit: what was asked for is what flows.
        let anode_current = match self.wanted {
            Wanted::Bias(target) => target,
            Wanted::Current(_) => ElectricCurrent::of(share * currents.anode),
        };
        if !(anode_current.si() >= CUT_OFF && anode_current.si().is_finite()) {
            let message = "There the valve is cut off: the model gives less than a microampere. Type a bias nearer zero.";
            return Err(Impossible { field: "bias", message: message.to_owned() });
        }
        let screen_current = ElectricCurrent::of(share * currents.screen);
        let cathode_current = anode_current + screen_current;
        let gm = ElectricalConductance::of(share * model.mutual_conductance(volts));
        let rise = share * model.anode_conductance(volts);
        Ok(Found(Some(Point {
            model,
            volts,
            modelled: ElectricCurrent::of(currents.anode),
            anode_current,
            screen_current,
            cathode_current,
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
            answers.push(Answer::new("screen-current", "I_g2", "Screen current", point.screen_current));
            answers.push(
                Answer::new("cathode-current", "I_k", "Cathode current", point.cathode_current)
                    .leaning_on_all(),
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
            answers.push(Answer::new("ra", "r_a", "Anode resistance", ra).leaning_on_all());
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
            "A bias is set by a reading of current, never by a model. Start at the most negative end, HT off until both grids \
             have read their bias."
                .to_owned(),
        );
        report.tables.extend(self.against_the_points(&point.model).map(Later::from));
        report.picture = Some(curves::picture(self.valve, &point.model, self.share(), point.volts));
    }
}

/// No bias gives the current: with none at all the model gives too little, or far beyond cut-off still too much.
fn out_of_reach(target: ElectricCurrent, over: f64) -> Impossible {
    let message = if over < 0.0 {
        let most = writing::nearest(target.si() + over, &AMPERE);
        format!(
            "At these voltages the model gives no more than {most}, and that without any bias. Type less current."
        )
    } else {
        "At these voltages no bias down to −300 V holds the current so low. Type more current.".to_owned()
    };
    Impossible { field: "target", message }
}

impl IdlePoint {
    fn share(&self) -> f64 {
        self.model_share.si() * self.valve_share.si()
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
